"""A delimited text that is not understood by itself, read as its maker says: from which line on, which column is what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tintmix.chips.instruments.errors import no_samples
from tintmix.chips.instruments.meaning import settled
from tintmix.chips.instruments.sample import Quantity, SampleFile, spectrum
from tintmix.chips.instruments.tabular.cells import Row, is_missing, rows_of, value_of
from tintmix.chips.instruments.tabular.heads import wave_of
from tintmix.files.errors import BadCells, Cell
from tintmix.files.table import no_number
from tintmix.files.words import plain

SAID = "as said"
SHOWN_ROWS = 12
"""First lines of a file that is not understood: preamble, head and some rows fit onto a screen."""
SHOWN_COLUMNS = 12
"""As many as fit beside each other; the wavelength and what was read stand among the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What its maker said of a file. name: how the layout is called. first_line: of the numbers. wave: the column of wavelengths
    in nm, values: those of readings, counted from 0. quantity, unit: None where the values tell."""

    name: str
    first_line: int
    wave: int
    values: tuple[int, ...]
    quantity: Quantity | None = None
    unit: str | None = None


def first_rows(text: str, where: str) -> list[Row]:
    """The first lines of a text as cells, to be shown beside the question which column is what. Raises FileProblem."""
    return rows_of(text, where)[:SHOWN_ROWS]


def parse_laid_out(text: str, where: str, stem: str, layout: Layout) -> SampleFile:
    """The samples of a delimited text as a layout has them. Raises FileProblem."""
    rows = rows_of(text, where)
    body = [row for row in rows if row.number >= layout.first_line]
    ends = next((i for i, row in enumerate(body) if wave_of(row.cell(layout.wave)) is None), len(body))
    if ends < 2:
        raise no_samples(where, f"column {layout.wave + 1} has no wavelengths from line {layout.first_line} on")
    above = [row for row in rows if row.number < layout.first_line]
    samples = []
    for column in layout.values:
        head = above[-1].cell(column) if above and len(layout.values) > 1 else ""
        name = plain(head, 80) or (stem if len(layout.values) == 1 else f"column {column + 1}")
        nm, values = _read(body[:ends], layout.wave, column, where)
        told = {key: SAID for key in ("quantity", "unit") if getattr(layout, key)}
        source = f"{where}, line {layout.first_line}, column {column + 1}"
        said: dict[str, Any] = {
            "quantity": layout.quantity,
            "unit": layout.unit,
            "read_from": told,
            "line": layout.first_line,
        }
        samples.append(spectrum("a table of spectra", source, name, nm, values, **said))
    return SampleFile(where, f"delimited, as {layout.name}", settled(samples, where))


def _read(rows: Sequence[Row], wave: int, column: int, where: str) -> tuple[list[float], list[float]]:
    nm: list[float] = []
    values: list[float] = []
    for row in rows:
        at, cell = wave_of(row.cell(wave)), row.cell(column)
        if at is None or is_missing(cell):
            continue
        value = value_of(cell)
        if value is None:
            raise BadCells(where, [Cell(row.number, f"column {column + 1}", no_number(cell))])
        nm.append(at)
        values.append(value)
    return nm, values
