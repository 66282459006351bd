"""Where things stand in the page's pictures, per cent of their width and height; templates/svg.html draws them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tintmix.faces.web.units import Units, shown

NARROW_PIXELS, WIDE_PIXELS, LETTER_PIXELS = 320.0, 720.0, 8.0
"""How wide a strip is at least on a phone and on a wider screen, and a letter of its words at most."""
_LEAST_EXPONENT = -300
"""Of a scale's power of ten: below, a float has no steps left to divide by."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on a strip. css: of its words; empty where there is no room for them."""

    at: float
    anchor: str
    text: str
    css: str


def along(value: float, low: float, high: float) -> float:
    """How far along a scale a value is."""
    return min(max(100 * (value - low) / (high - low), 0.0), 100.0)


def marks(
    thicknesses_mm: Iterable[float], low: float, high: float, units: Units, small: bool, share: float = 1.0
) -> list[Mark]:
    """Each place, and its thickness where there is room for it: on a phone, on a wide screen only, or not at all. share: of the
    width, what the strip has where something stands beside it."""
    words = []
    for mm in sorted(set(thicknesses_mm)):
        at = along(mm, low, high)
        anchor = "start" if at < 12 else "end" if at > 88 else "middle"
        words.append((at, anchor, f"{units.length(mm, 3)} {units.length_unit}"))
    narrow = _with_room(words, share * NARROW_PIXELS)
    wide = narrow if small else _with_room(words, share * WIDE_PIXELS)
    css = ["tick-word" if i in narrow else "tick-word wide-only" if i in wide else "" for i in range(len(words))]
    return [Mark(*one, its) for one, its in zip(words, css, strict=True)]


def _with_room(words: Sequence[tuple[float, str, str]], pixels: float) -> set[int]:
    """Which of the words stand clear of each other in so many pixels; both ends first."""
    taken: list[tuple[float, float]] = []
    kept = set()
    ends = [0, len(words) - 1] if words else []
    for i in dict.fromkeys([*ends, *range(len(words))]):
        at, anchor, text = words[i]
        wide = 100 * LETTER_PIXELS * (len(text) + 1) / pixels
        start = at - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        if all(start >= end or start + wide <= begin for begin, end in taken):
            taken.append((start, start + wide))
            kept.add(i)
    return kept


def points(x: Sequence[float], values: Sequence[float], top: float) -> list[str]:
    """A curve from the first of x to the last, and from zero to `top`, as the points of a polygon."""
    return [
        f"{along(at, x[0], x[-1]):.2f},{100 - 96 * min(max(v, 0.0), top) / top:.2f}"
        for at, v in zip(x, values, strict=True)
    ]


def rulings(top: float) -> list[float]:
    """Round values from zero on, below `top`, at which a scale is ruled; top is above zero.

    >>> rulings(1.3), rulings(0.07), rulings(9.0)
    ([0.0, 0.5, 1.0], [0.0, 0.02, 0.04, 0.06], [0.0, 5.0])
    """
    exponent = max(math.floor(math.log10(top)), _LEAST_EXPONENT)
    step = next(part for part in (0.2, 0.5, 1.0, 2.0, 5.0) if top < 4 * part * 10.0**exponent) * 10.0**exponent
    return [float(f"{at * step:.3g}") for at in range(math.ceil(top / step))]


def chart(told: Mapping[str, Any]) -> tuple[list[tuple[str, float, str]], list[tuple[float, float, bool]]]:
    """An individuals chart: its lines (which, how low, the value in words), and its dots (x, y, whether it breaks a rule)."""
    values = [float(value) for value in told["values"]]
    lines = [(key, float(told[key])) for key in ("middle", "low", "high") if told[key] is not None]
    every = [*values, *(value for _, value in lines)]
    low, high = min(every), max(every)
    room = 0.12 * (high - low) or max(abs(high), 1.0) * 0.1
    marked = {at for signal in told["signals"] for at in signal["at"]}

    def y(value: float) -> float:
        return 84 - 76 * (value - low + room) / (high - low + 2 * room)

    def words(value: float) -> str:
        return shown(value, 3 if abs(value) >= 1 else 2) if abs(value) >= 0.005 else "0"

    xs = [13 + 84 * i / (len(values) - 1) for i in range(len(values))] if len(values) > 1 else [55.0]
    dots = [(x, y(value), i in marked) for i, (x, value) in enumerate(zip(xs, values, strict=True))]
    return [(key, y(value), words(value)) for key, value in lines], dots
