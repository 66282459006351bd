"""Delimited text from an instrument: a row a sample, or a column a sample; what stands above the header is passed over."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from tintmix.chips.instruments.errors import no_samples, too_many_samples
from tintmix.chips.instruments.sample import MOST_SAMPLES, Sample, SampleFile, Space, spectrum
from tintmix.chips.instruments.words import geometry_in, light_in, observer_in, quantity_in, unit_in
from tintmix.files.errors import BadCells, Cell
from tintmix.files.table import no_number, number_of, read_rows
from tintmix.files.words import plain

_FORM = "a table of spectra"
_HEADER_WITHIN = 60
"""Rows: instruments write their settings above the table, and some twenty of them are common (common practice)."""
_NAMES = ("chip", "sample", "name", "sample name", "samplename", "sample id", "sampleid", "sample_name", "sample_id",
          "id", "label", "title", "no", "no.", "data name")  # fmt: skip
_WAVE_HEADS = ("nm", "wavelength", "wavelength nm", "wavelength_nm", "lambda", "wl", "wave length", "λ", "x")
_WAVE = re.compile(
    r"(?:[A-Za-z%][A-Za-z%_]*[ _]?)?\[?([0-9]{3,4}(?:[.,][0-9]{1,3})?)\]?\s*(?:nm)?\s*(?:\[?[%A-Za-z]*\]?)?",
    re.IGNORECASE,
)
_SPACES: dict[Space, tuple[str, str, str]] = {
    "Lab": ("L", "a", "b"),
    "XYZ": ("X", "Y", "Z"),
    "xyY": ("x", "y", "Y"),
    "LCh": ("L", "C", "h"),
}


@dataclass(frozen=True, slots=True)
class _Row:
    number: int
    cells: tuple[str, ...]

    def cell(self, column: int | None) -> str:
        return "" if column is None or column >= len(self.cells) else self.cells[column]


def parse_csv(text: str, where: str, stem: str) -> SampleFile:
    """The samples of a delimited text. Raises FileProblem."""
    found, comma = read_rows(text, where)
    rows = [_Row(number, cells) for number, cells in found]
    if not rows:
        raise no_samples(where, "it is empty")
    for at, row in enumerate(rows[:_HEADER_WITHIN]):
        above = " ".join(cell for r in rows[:at] for cell in r.cells)[:2000]
        samples = _by_row(rows, at, comma, where, above)
        if not samples and _is_wave_head(row.cells[0]):
            samples = _by_column(rows, at, comma, where, stem, above)
        if samples:
            return SampleFile(where, "CSV", tuple(samples))
    bare = _bare_pairs(rows, comma, where, stem)
    if bare:
        return SampleFile(where, "CSV", (bare,), ("it has no header; its two columns are taken as nm and the value",))
    raise no_samples(where, 'no header row has wavelengths, or "nm", or L, a, b or the like')


def _is_wave_head(cell: str) -> bool:
    return re.sub(r"[\[\]()]", "", cell).strip().lower() in _WAVE_HEADS


def _letter(cell: str) -> str:
    """A header's colour letter: "L*(10°/D65)" is L.

    >>> _letter("L*(10°/D65)"), _letter("CIE a*"), _letter("azure")
    ('L', 'a', '')
    """
    text = re.sub(r"\(.*?\)|\[.*?\]|\*|°|CIE", "", cell).strip()
    return text if text in ("L", "a", "b", "X", "Y", "Z", "x", "y", "C", "h") else {"H": "h", "c": "C"}.get(text, "")


def _by_row(rows: Sequence[_Row], at: int, comma: bool, where: str, above: str) -> list[Sample]:
    """A row a sample, under a header of wavelengths or of colour letters; none where this row is no such header."""
    heads = rows[at].cells
    waves = [(float(m.group(1).replace(",", ".")), i) for i, head in enumerate(heads) if (m := _WAVE.fullmatch(head))]
    nm = [wavelength for wavelength, _ in waves]
    rising = sorted(set(nm))
    is_spectral = len(nm) >= 5 and nm in (rising, rising[::-1]) and 250 < rising[0] < 1200
    letters = {letter: i for i, head in reversed(list(enumerate(heads))) if (letter := _letter(head))}
    space = next((s for s, needed in _SPACES.items() if all(c in letters for c in needed)), None)
    name_at, light_at, observer_at = (
        next((i for i, head in enumerate(heads) if head.strip().lower() in words), None)
        for words in (_NAMES, ("light", "illuminant"), ("observer",))
    )
    unnamed = name_at is None and number_of(heads[0], comma) is not None
    if unnamed or (not is_spectral and space is None):
        return []
    text = f"{above} {' '.join(heads)}"[:2000]
    said: dict[str, Any] = {"quantity": quantity_in(text), "geometry": geometry_in(text)}
    samples: list[Sample] = []
    bad: list[Cell] = []
    for row in rows[at + 1 :]:
        name = plain(row.cell(name_at or 0), 80)
        if not name:
            continue
        if len(samples) >= 2 * MOST_SAMPLES:
            raise too_many_samples(where, "samples", MOST_SAMPLES)
        said["source"] = f"{where}, row {row.number}"
        if space is not None and (read := _cells(row, [letters[c] for c in _SPACES[space]], heads, comma, bad)):
            light, observer = row.cell(light_at), row.cell(observer_at)
            under = light_in(f"light {light}" if light else text)
            seen_by = observer_in(f"{observer}°" if observer else text)
            samples.append(Sample(name, "colour", tuple(read), space, light=under, observer=seen_by, **said))
        if is_spectral and (read := _cells(row, [i for _, i in waves], heads, comma, bad)):
            samples.append(spectrum(_FORM, name=name, nm=nm, values=read, unit=unit_in(text), **said))
    if bad:
        raise BadCells(where, bad)
    return samples


def _cells(row: _Row, columns: Sequence[int], heads: Sequence[str], comma: bool, bad: list[Cell]) -> list[float] | None:
    """The numbers in these columns; None where all are empty, or one is bad."""
    texts = [row.cell(c) for c in columns]
    if not any(texts):
        return None
    values = [number_of(text, comma) for text in texts]
    for text, value, c in zip(texts, values, columns, strict=True):
        if value is None or abs(value) > 1e9:
            bad.append(Cell(row.number, plain(heads[c], 30), no_number(text)))
            return None
    return [v for v in values if v is not None]


def _by_column(rows: Sequence[_Row], at: int, comma: bool, where: str, stem: str, above: str) -> list[Sample]:
    """A column a sample, the wavelength first; or pairs of columns, wavelength and value, with the names a row above."""
    heads = rows[at].cells
    waves = [i for i, head in enumerate(heads) if _is_wave_head(head)]
    # Below the spectra some instruments write what they were set to: the first row without a wavelength ends them.
    body = list(takewhile(lambda row: number_of(row.cells[0], comma) is not None, rows[at + 1 :]))
    if len(body) < 2:
        return []
    names = rows[at - 1] if at and len(waves) > 1 else _Row(0, ())
    bad: list[Cell] = []
    samples: list[Sample] = []
    for c, head in enumerate(heads):
        wave = max((w for w in waves if w < c), default=0)
        used = [row for row in body if row.cell(c) and row.cell(wave)]
        if c in waves or not used:
            continue
        if len(samples) >= MOST_SAMPLES:
            raise too_many_samples(where, "samples", MOST_SAMPLES)
        pairs = [pair for row in used if (pair := _cells(row, [wave, c], heads, comma, bad)) is not None]
        if bad:
            continue
        name = plain(names.cell(wave) or names.cell(c) or head, 80)
        name = stem if not name or (quantity_in(name) and len(heads) == 2) else name
        text = f"{above} {head} {heads[0]}"
        said: dict[str, Any] = {"quantity": quantity_in(text), "unit": unit_in(text), "geometry": geometry_in(above)}
        samples.append(spectrum(_FORM, f"{where}, column {c + 1}", name, *zip(*pairs, strict=True), **said))
    if bad:
        raise BadCells(where, bad)
    return samples


def _bare_pairs(rows: Sequence[_Row], comma: bool, where: str, stem: str) -> Sample | None:
    """Two columns of numbers and nothing else, as many small programs write them."""
    pairs = [[number_of(cell, comma) for cell in row.cells if cell] for row in rows]
    if len(pairs) < 5 or any(len(p) != 2 or None in p for p in pairs):
        return None
    return spectrum(_FORM, where, stem, [p[0] or 0.0 for p in pairs], [p[1] or 0.0 for p in pairs])
