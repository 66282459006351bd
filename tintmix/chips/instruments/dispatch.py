"""Instrument files as samples: plain values with what the file says of them. Which file it is, its first lines tell.

A sample is not a chip yet: matching, units and lights are convert.py's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from tintmix.chips.instruments.errors import NoSamples, TooManySamples
from tintmix.files.errors import FileMissing, FileTooLarge, FileUnreadable, NotText
from tintmix.files.words import plain
from tintmix.numerals import numeral

FILE_BYTES = 20_000_000
"""Ten characters for each of as many values as a file may hold."""
MOST_SAMPLES = 2_000
"""Ten times a large set of 200 chips."""
MOST_VALUES = 2_000_000
"""An export of 200 chips at 801 wavelengths has 160 000: twelve times that."""
MOST_POINTS = 100_000
"""Of one spectrum: over a hundred times the 801 of a fine one."""

Space = Literal["Lab", "XYZ", "xyY", "LCh", "sRGB"]
Quantity = Literal["transmittance", "absorbance", "reflectance"]
Geometry = Literal["total", "regular", "45/0", "d/8", "gloss included"]


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading of one sample. None, or empty: the file does not say.

    values: of a spectrum one a wavelength (rising, nm), of a colour three in `space`. other_name: a second name by
    which it may be known. source: where in which file it stands.
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


@dataclass(frozen=True, slots=True)
class SampleFile:
    """What a file held. form: "CSV", "CGATS", "CxF3" or "JCAMP-DX". notes: what the maker should know of it."""

    where: str
    form: str
    samples: tuple[Sample, ...]
    notes: tuple[str, ...] = ()


def read_samples(path: str | Path) -> SampleFile:
    """All samples of an instrument's file. Raises FileMissing, FileUnreadable, and what `parse_samples` raises."""
    try:
        if not Path(path).is_file():
            raise FileMissing(plain(str(path), 300), "an instrument's file")
        with open(path, "rb") as stream:
            data = stream.read(FILE_BYTES + 1)
    except OSError as error:
        raise FileUnreadable(plain(str(path), 300), error.strerror or type(error).__name__) from None
    except ValueError:
        raise FileMissing(plain(str(path), 300), "an instrument's file") from None
    return parse_samples(data, plain(str(path), 300), Path(path).stem)


def parse_samples(data: bytes, where: str, stem: str) -> SampleFile:
    """The same from bytes; stem names a sample that has no name.

    Raises NoSamples, BadInstrumentFile, TooManySamples, LibraryMissing, NotATable, BadCells, FileTooLarge, NotText.
    """
    if len(data) > FILE_BYTES:
        raise FileTooLarge(where, FILE_BYTES)
    form = form_of(data)
    if form == "CxF3":
        from tintmix.chips.instruments.cxf import parse_cxf

        found = parse_cxf(data, where)
    else:
        text = text_of(data, where)
        if form == "JCAMP-DX":
            from tintmix.chips.instruments.jcamp import parse_jcamp

            found = parse_jcamp(text, where, stem)
        elif form == "CGATS":
            from tintmix.chips.instruments.cgats import parse_cgats

            found = parse_cgats(text, where)
        else:
            from tintmix.chips.instruments.delimited import parse_csv

            found = parse_csv(text, where, stem)
    if not found.samples:
        raise NoSamples(where, f"it is {form}, but holds no spectrum and no colour")
    return found


def form_of(data: bytes) -> str:
    """Which format the first lines are in.

    >>> form_of(b"##TITLE=b1"), form_of(b"CGATS.17"), form_of(b"<?xml"), form_of(b"nm;b1")
    ('JCAMP-DX', 'CGATS', 'CxF3', 'CSV')
    """
    head = data[:4096].lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n")
    if head.startswith(b"<"):
        return "CxF3"
    if head.startswith((b"##", b"$$")):
        return "JCAMP-DX"
    if head[:5].upper() == b"CGATS" or head[:8].upper() == b"ISO28178" or b"BEGIN_DATA_FORMAT" in data.upper():
        return "CGATS"
    return "CSV"


def text_of(data: bytes, where: str) -> str:
    """An instrument's text: UTF-8, UTF-16 where it is marked as such, else Windows-1252. Raises NotText.

    >>> text_of("b1 10°".encode("cp1252"), "f")
    'b1 10°'
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise NotText(where, 1) from None
    zero = data.find(b"\0")
    if zero >= 0:
        raise NotText(where, data.count(b"\n", 0, zero) + 1)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def spectrum(name: str, nm: Sequence[float], values: Sequence[float], **said: object) -> Sample | str:
    """A spectrum sample with its wavelengths set to rise, or what is wrong with it in a few words."""
    at, read = np.asarray(nm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(at) != len(read) or len(at) < 2:
        return "it has fewer than two wavelengths with a value"
    if not (np.isfinite(at).all() and np.isfinite(read).all() and np.abs(read).max() < 1e9):
        return "it holds values that are no numbers"
    order = np.argsort(at, kind="stable")
    at, read = at[order], read[order]
    if at[0] <= 0 or at[-1] > 1e6:
        return "its wavelengths are no wavelengths in nm"
    if np.any(np.diff(at) <= 0):
        return f"the wavelength {numeral(at[np.flatnonzero(np.diff(at) <= 0)[0]])} nm stands there twice"
    kept = (at >= 300) & (at <= 1100)
    if np.count_nonzero(kept) < 2:
        return f"it covers {numeral(at[0])} to {numeral(at[-1])} nm, which is not light that is seen"
    return Sample(
        name,
        "spectrum",
        tuple(read[kept].tolist()),
        wavelengths_nm=tuple(at[kept].tolist()),
        **said,  # type: ignore[arg-type]
    )


def bounded(samples: Sequence[Sample], where: str) -> None:
    """Raises TooManySamples past the limits."""
    if len(samples) > MOST_SAMPLES:
        raise TooManySamples(where, "samples", MOST_SAMPLES)
    if sum(len(sample.values) for sample in samples) > MOST_VALUES:
        raise TooManySamples(where, "values", MOST_VALUES)
