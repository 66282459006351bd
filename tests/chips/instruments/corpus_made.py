"""Made-up exports in the shapes that instruments write, each with what must come out of it. All names and readings are invented.

A case is (what it shows, its bytes or text, what must come out). Of a spectrum: (name, quantity, level), where the file's
values are `share` of that level; of a colour: (name, L*a*b* or the like, {what is said of it}).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

STEM = "b7"
"""The name of every file here, less its ending."""
TEN = tuple(range(380, 731, 10))
FIVE = tuple(range(360, 751, 5))
FAR = tuple(range(190, 1101, 10))
Turn = Callable[[float], float]


def share(level: float, nm: float) -> float:
    """A smooth spectrum."""
    return level * (0.6 + 0.3 * (nm - 380) / 350)


def as_is(v: float) -> float:
    return v


def percent(v: float) -> float:
    return 100 * v


def absorbance(v: float) -> float:
    return -math.log10(max(v, 1e-6))


def down(
    head: str,
    *levels: float,
    sep: str = ",",
    dec: str = ".",
    nm: Iterable[float] = TEN,
    turn: Turn | Sequence[Turn] = as_is,
    digits: int = 5,
    end: str = "",
    tail: str = "",
    at: str = "{}",
) -> str:
    """A column a sample. at: how a wavelength is written; end: behind each line; tail: below the table."""
    turns = [turn] * len(levels) if callable(turn) else list(turn)
    lines = [head] if head else []
    for one in nm:
        values = [f"{how(share(level, one)):.{digits}f}" for level, how in zip(levels, turns, strict=True)]
        lines.append((sep if sep != "," else ",").join([at.format(one), *values]).replace(".", dec) + end)
    return "\n".join(lines) + "\n" + tail


def across(
    head: str,
    rows: dict[str, float],
    sep: str = ",",
    dec: str = ".",
    nm: Sequence[float] = TEN,
    wave: str = "{}",
    turn: Turn = as_is,
    digits: int = 5,
    tail: str = "",
) -> str:
    """A row a sample."""
    lines = [sep.join([head, *(wave.format(one) for one in nm)])]
    lines += [
        sep.join([name, *(f"{turn(share(level, one)):.{digits}f}".replace(".", dec) for one in nm)])
        for name, level in rows.items()
    ]
    return "\n".join(lines) + "\n" + tail


def pairs(head: str, *levels: float, sep: str = ",", nm: Sequence[float] = TEN, turn: Turn = as_is) -> str:
    """Pairs of columns."""
    return (
        head
        + "\n"
        + "".join(sep.join(f"{one}{sep}{turn(share(level, one)):.5f}" for level in levels) + "\n" for one in nm)
    )


def cgats(fields: str, rows: Sequence[str], said: str = "", sep: str = "\t", pad: str = "") -> str:
    """A CGATS text. pad: behind each line, as a spreadsheet saves it."""
    lines = ["CGATS.17", 'ORIGINATOR "tests"', *said.split("\n"), "BEGIN_DATA_FORMAT", fields.replace(" ", sep)]
    lines += [
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(rows)}",
        "BEGIN_DATA",
        *(row.replace("|", sep) for row in rows),
        "END_DATA",
    ]
    return "\n".join(line + pad for line in lines if line) + "\n"


def spectral(prefix: str, turn: Turn = as_is, said: str = "", pad: str = "") -> str:
    fields = "SAMPLE_NAME " + " ".join(f"{prefix}{nm}" for nm in TEN)
    rows = [
        f"{name}|" + "|".join(f"{turn(share(level, nm)):.4f}" for nm in TEN)
        for name, level in (("b1", 0.9), ("b2", 0.4))
    ]
    return cgats(fields, rows, said, pad=pad)


@dataclass(frozen=True)
class Case:
    """what: it shows. content: the file. expected: what must come out. asks: about what it asks. says: words of a refusal."""

    what: str
    content: str | bytes
    expected: tuple[tuple[Any, ...], ...] = ()
    asks: tuple[str, ...] = ()
    says: str = ""
    more: dict[str, Any] = field(default_factory=dict)

    @property
    def data(self) -> bytes:
        return self.content if isinstance(self.content, bytes) else self.content.encode()


T, A, R = "transmittance", "absorbance", "reflectance"
FIBRE = (
    "Spectral Data File\n++++++++++++++++\nDate: Mon Nov 02 10:00:00 2026\nUser: maker\nDark Spectrum Present: Yes\n"
    "Reference Spectrum Present: Yes\nIntegration Time (usec): 70000\nBoxcar Smoothing: 5\n"
    "Number of Pixels in Processed Spectrum: 36\n"
    ">>>>>Begin {}Spectral Data<<<<<\n"
)
