"""One reading of one sample, as an instrument's file has it: plain values with what the file says of them.

A sample is not a chip yet: matching, units and lights are convert.py's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from tintmix.chips.instruments.errors import broken, too_many_samples
from tintmix.errors import Note
from tintmix.numerals import numeral

MOST_SAMPLES = 2_000
"""Ten times a large set of 200 chips."""
MOST_VALUES = 2_000_000
"""An export of 200 chips at 801 wavelengths has 160 000: twelve times that."""
MOST_POINTS = 100_000
"""Of one spectrum: over a hundred times the 801 of a fine one."""

Space = Literal["Lab", "XYZ", "xyY", "LCh", "sRGB"]
Quantity = Literal["transmittance", "absorbance", "reflectance"]
Geometry = Literal["total", "regular", "45/0", "d/8", "gloss included"]


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
    """A spectrum sample, its wavelengths set to rise; one that stands there twice, as where detectors change, gets the mean.

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
    same = np.diff(at) <= 0
    if np.any(same[1:] & same[:-1]):
        raise broken(source, form, f"the wavelength {numeral(at[:-1][same][0])} nm stands there three times")
    if same.any():
        twice = np.flatnonzero(same)
        read[twice] = 0.5 * (read[twice] + read[twice + 1])
        at, read = np.delete(at, twice + 1), np.delete(read, twice + 1)
    kept = (at >= 300) & (at <= 1100)
    if np.count_nonzero(kept) < 2:
        what = f"it covers {numeral(at[0])} to {numeral(at[-1])} nm, which is not light that is seen"
        raise broken(source, form, what)
    wavelengths_nm = tuple(at[kept].tolist())
    return Sample(name, "spectrum", tuple(read[kept].tolist()), None, wavelengths_nm, source=source, **said)


def bounded(samples: Sequence[Sample], where: str) -> None:
    """Raises FileProblem past the limits. A colour and a spectrum of one set are one sample."""
    for kind in ("spectrum", "colour"):
        if sum(sample.kind == kind for sample in samples) > MOST_SAMPLES:
            raise too_many_samples(where, "samples", MOST_SAMPLES)
    if sum(len(sample.values) for sample in samples) > MOST_VALUES:
        raise too_many_samples(where, "values", MOST_VALUES)
