"""One reading of one sample, as an instrument's file has it: plain values with what the file says of them.

A sample is not a chip yet: matching, units and lights are convert.py's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from tintmix.chips.instruments.errors import broken, not_seen, too_many_samples, two_values
from tintmix.errors import Note

MOST_SAMPLES = 2_000
"""Ten times a large set of 200 chips."""
MOST_VALUES = 2_000_000
"""An export of 200 chips at 801 wavelengths has 160 000: twelve times that."""
MOST_POINTS = 100_000
"""Of one spectrum: over a hundred times the 801 of a fine one."""

Space = Literal["Lab", "XYZ", "xyY", "LCh", "sRGB"]
Quantity = Literal["transmittance", "absorbance", "reflectance"]
Geometry = Literal["total", "regular", "45/0", "d/8", "gloss included"]


TWICE_APART = 0.05
"""Of a spectrum's highest value, what readings of one wavelength may differ by: detectors that change over do so by a percent or
two (common practice); two samples under one head differ by more somewhere."""
SEEN_NM = (360.0, 830.0)
"""Of the CIE's standard observers (ISO/CIE 11664-1)."""
VISIBLE_NM = (400.0, 700.0)
"""Where a lamp and a detector are at their best, and where a clear resin lets light through: here values are judged by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What the file leaves open, or says against its own values. about: "quantity" or "unit", which a maker may say; or
    "values", which nothing said puts right. note: the question in one sentence, with what settles it."""

    about: Literal["quantity", "unit", "values"]
    note: Note


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading of one sample. None, or empty: the file does not say.

    values: of a spectrum one a wavelength (rising, nm), of a colour three in `space`. other_name: a second name by
    which it may be known. source: where in which file it stands, line: in which line. read_from: of quantity, unit, light,
    observer and geometry, what said so ("column head", "keyword", "preamble", "values" …). asks: what is left open.
    relative_to: an untinted chip, where the file says that one was set to 100 %.
    """

    name: str
    kind: Literal["spectrum", "colour"]
    values: tuple[float, ...]
    space: Space | None = None
    wavelengths_nm: tuple[float, ...] | None = None
    quantity: Quantity | None = None
    unit: Literal["fraction", "percent"] | None = None
    light: str | None = None
    observer: int | None = None
    geometry: Geometry | None = None
    source: str = ""
    other_name: str = ""
    line: int = 0
    read_from: Mapping[str, str] = field(default_factory=dict, hash=False)
    asks: tuple[Ask, ...] = field(default=(), hash=False)
    relative_to: Literal["untinted"] | None = None


@dataclass(frozen=True, slots=True)
class SampleFile:
    """What a file held. form: "delimited", "CGATS", "CxF3", "JCAMP-DX". notes: what to know of it. Raises FileProblem past
    limits."""

    where: str
    form: str
    samples: tuple[Sample, ...]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        bounded(self.samples, self.where)


def spectrum(form: str, source: str, name: str, nm: Sequence[float], values: Sequence[float], **said: Any) -> Sample:
    """A spectrum sample, its wavelengths set to rise; one that stands there again with about the same value, as where detectors
    change, gets the mean.

    form: of the file, as "a CxF3 file". Raises FileProblem."""
    at, read = np.asarray(nm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(at) != len(read) or len(at) < 2:
        raise broken(source, form, "it has fewer than two wavelengths with a value")
    if not (np.isfinite(at).all() and np.isfinite(read).all() and np.abs(read).max() < 1e9):
        raise broken(source, form, "it holds values that are no numbers")
    order = np.argsort(at, kind="stable")
    at, read = at[order], read[order]
    if at[0] <= 0 or at[-1] > 1e6:
        raise broken(source, form, "its wavelengths are no wavelengths in nm")
    first = np.flatnonzero(np.diff(at, prepend=-1.0) > 0)
    if len(first) < len(at):
        low, high = np.minimum.reduceat(read, first), np.maximum.reduceat(read, first)
        seen = (at[first] >= VISIBLE_NM[0]) & (at[first] <= VISIBLE_NM[1])
        # At the ends noise may be as large as the reading, and what is not seen is not read.
        off = np.flatnonzero(seen & (high - low > TWICE_APART * max(float(np.abs(read).max()), 1e-9)))
        if len(off):
            raise two_values(source, float(at[first][off[0]]), float(low[off[0]]), float(high[off[0]]))
        read = np.add.reduceat(read, first) / np.diff(first, append=len(at))
        at = at[first]
    if at[0] > SEEN_NM[1] or at[-1] < SEEN_NM[0]:
        raise not_seen(source, float(at[0]), float(at[-1]))
    kept = (at >= 300) & (at <= 1100)
    if np.count_nonzero(kept) < 2:
        raise broken(source, form, "it has fewer than two wavelengths with a value")
    wavelengths_nm = tuple(at[kept].tolist())
    return Sample(name, "spectrum", tuple(read[kept].tolist()), None, wavelengths_nm, source=source, **said)


def bounded(samples: Sequence[Sample], where: str) -> None:
    """Raises FileProblem past the limits. A colour and a spectrum of one set are one sample."""
    for kind in ("spectrum", "colour"):
        if sum(sample.kind == kind for sample in samples) > MOST_SAMPLES:
            raise too_many_samples(where, "samples", MOST_SAMPLES)
    if sum(len(sample.values) for sample in samples) > MOST_VALUES:
        raise too_many_samples(where, "values", MOST_VALUES)
