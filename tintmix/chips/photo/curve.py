"""Tone curves: what light the codes of a rendered photo stand for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tintmix.chips.photo.errors import bad_tone_curve
from tintmix.files.table import number_of, read_sheet, say
from tintmix.files.text import load_text
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

CURVE_BYTES = 200_000
"""A curve is 256 rows of four numbers, some 10 kB: twenty times that."""


@dataclass(frozen=True, slots=True, eq=False)
class ToneCurve:
    """table: (levels, 3), linear light of each code in each channel; the curve of sRGB has its white at 1.

    lowest: the darkest light, as a part of the bare panel's, that was measured; below it the curve is a guess.
    """

    name: str
    table: Array
    lowest: float = 0.0

    def light(self, codes: NDArray[np.uint8] | NDArray[np.uint16]) -> Array:
        """Linear light of codes (…, 3), the same shape."""
        out = np.empty(codes.shape)
        for channel in range(3):
            # A third of the time of all three at once (measured).
            out[..., channel] = self.table[:, channel][codes[..., channel]]
        return out


@cache
def srgb_curve(levels: int = 256) -> ToneCurve:
    """The curve of sRGB (IEC 61966-2-1).

    >>> srgb_curve().table[[0, 10, 128, 255], 0].round(4).tolist()
    [0.0, 0.003, 0.2159, 1.0]
    """
    encoded = np.arange(levels) / (levels - 1)
    light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return ToneCurve("sRGB", np.repeat(light[:, None], 3, axis=1))


@cache
def straight_curve(levels: int = 256) -> ToneCurve:
    """No curve: light as the code has it, the most that fits 1."""
    return ToneCurve("linear", np.repeat(np.linspace(0.0, 1.0, levels)[:, None], 3, axis=1))


def curve_to_text(curve: ToneCurve) -> str:
    """The CSV text that `read_tone_curve` reads back."""
    lines = [f"# tone curve of a rendered photo; measured down to {curve.lowest:.4g} of the bare panel", "code,R,G,B"]
    lines += [f"{code},{r:.6g},{g:.6g},{b:.6g}" for code, (r, g, b) in enumerate(curve.table)]
    return "\n".join(lines) + "\n"


def read_tone_curve(path: str | Path) -> ToneCurve:
    """A tone curve that the stack check wrote. Raises FileProblem, and what `load_text` and `read_sheet` raise."""
    return parse_tone_curve(load_text(path, CURVE_BYTES, "a tone curve"), plain(str(path), 300))


def parse_tone_curve(text: str, where: str) -> ToneCurve:
    """The same from text.

    >>> round(float(parse_tone_curve(curve_to_text(srgb_curve()), "curve.csv").table[128, 1]), 4)
    0.2159
    """
    sheet = read_sheet(text, where, comments=True)
    if [name.lower() for name in sheet.header] != ["code", "r", "g", "b"]:
        raise bad_tone_curve(where, f"its columns are {say(', '.join(sheet.header))}")
    if len(sheet.rows) != 256:
        raise bad_tone_curve(where, f"it has {len(sheet.rows)} rows")
    table = np.empty((256, 3))
    for at, (row, cells) in enumerate(sheet.rows):
        values = [number_of(cell, sheet.decimal_comma) for cell in cells[:4]]
        if len(values) < 4 or any(value is None for value in values) or values[0] != at:
            raise bad_tone_curve(where, f"row {row} is not the code {at} and three numbers")
        table[at] = values[1:]
    if np.any(table < 0) or np.any(table > 1e3) or np.any(np.diff(table, axis=0) < 0) or np.any(table[-1] <= table[0]):
        raise bad_tone_curve(where, "its light does not rise with the code from zero on")
    said = re.match(r".*measured down to (\S+)", text)
    lowest = number_of(said[1], decimal_comma=False) if said else None
    return ToneCurve(where, table, min(1.0, max(0.0, lowest or 0.0)))
