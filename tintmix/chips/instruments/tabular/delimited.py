"""Delimited text from an instrument: its tables as samples, by a row, by a column, or by a block each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from tintmix.chips.instruments.errors import no_samples, not_light
from tintmix.chips.instruments.errors import other_axis as on_other_axis
from tintmix.chips.instruments.meaning import Words, settled
from tintmix.chips.instruments.ordinates import other_axis
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.instruments.tabular.across import read_across
from tintmix.chips.instruments.tabular.cells import Row, rows_of, value_of
from tintmix.chips.instruments.tabular.down import read_down
from tintmix.chips.instruments.tabular.gathered import Found
from tintmix.chips.instruments.tabular.heads import LEAST_WAVES, heads_wavelengths, unread_colour
from tintmix.chips.instruments.tabular.keywords import keywords_of, lone_units
from tintmix.chips.instruments.tabular.listed import listed_colour
from tintmix.chips.instruments.tabular.tables import Table, tables_of
from tintmix.errors import Remedy
from tintmix.files.errors import BadCells
from tintmix.files.words import plain
from tintmix.numerals import counted

FORM = "delimited"
_START = re.compile(
    r"\b(?:start|first|from|begin\w*|anfang|von|inicio|debut|début|x0|first_?x)(?![a-z])", re.IGNORECASE
)
_STEP = re.compile(
    r"\b(?:step\w*|interval\w*|increment|delta|pitch|spacing|schritt\w*|pas|paso|passo|end|stop|last|ende|bis|points|npoints)(?![a-z])",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[0-9]")
_FEW = re.compile(r"[A-Za-z%]{0,6}\s*[3-7][0-9]{2}\s*nm.{0,12}")
"""A wavelength as a head, where it says so."""


def parse_csv(text: str, where: str, stem: str) -> SampleFile:
    """The samples of a delimited text. Raises FileProblem."""
    rows = rows_of(text, where)
    if not rows:
        raise no_samples(where, "it is empty")
    tables, below = tables_of(rows)
    found = Found(where, stem)
    name = where.replace("\\", "/").rpartition("/")[2]
    first = tables[0].above if tables else []
    tables = _without_peaks(tables, found)
    blocks = sum(table.columns for table in tables)
    block = 0
    for number, table in enumerate(tables):
        # What stands above the first table holds for all, and what stands below the last too, where they say nothing themselves.
        around = [table.above, *([first] if number else []), below]
        told = [row for part in around for row in part if not row.comment or ":" in row.text or "=" in row.text]
        lines = tuple(row.text[:300] for part in around for row in part)
        words = Words((*keywords_of(told), *lone_units([row for part in around for row in part])), lines, name)
        if table.columns:
            block += 1
            read_down(table, words, found, block if blocks > 1 else 0)
        else:
            read_across(table, words, found)
    if not found.samples and not found.bad:
        found.samples += listed_colour(rows, where, stem)
    if found.bad:
        raise BadCells(where, found.bad)
    if not found.samples:
        raise _refusal(rows, tables, found)
    return SampleFile(where, FORM, settled(found.samples, where), tuple(dict.fromkeys((*found.notes, *found.holes))))


def _without_peaks(tables: Sequence[Table], found: Found) -> list[Table]:
    """The tables without lists of a few wavelengths, such as peaks, that stand beside a spectrum."""
    few = [table for table in tables if table.columns and len(table.body) < LEAST_WAVES]
    if len(few) == sum(table.columns for table in tables):
        return [*tables]
    found.notes += [
        f"line {table.line} heads {counted(len(table.body), 'wavelength')}, which is no spectrum; passed over"
        for table in few
    ]
    return [table for table in tables if table not in few]


def _counted_off(rows: Sequence[Row]) -> Row | None:
    """The line that says where wavelengths start, where another, or the same, says by which step or to which end they go."""
    starts = [row for row in rows if _START.search(row.text) and _NUMBER.search(row.text)]
    goes_on = any(_STEP.search(row.text) and _NUMBER.search(row.text) for row in rows)
    return starts[0] if starts and goes_on else None


def _refusal(rows: Sequence[Row], tables: Sequence[Table], found: Found) -> Exception:
    """Why nothing was read: by what stands there, the surest first."""
    if found.none:
        return not_light(found.where, *found.none[0])
    if found.holes:
        return no_samples(found.where, found.holes[0], Remedy.CORRECT_AND_READ_AGAIN)
    for row, below in pairwise(rows):
        over = other_axis(row.cells[0]) if len(row.filled) > 1 else ""
        if over and value_of(row.cells[0]) is None and value_of(below.cells[0]) is not None:
            return on_other_axis(found.where, row.number, row.cells[0], over)
    for row in (
        row for row in rows if len(row.filled) > 1 and not any(value_of(cell) is not None for cell in row.filled)
    ):
        few = [cell for cell in row.filled if _FEW.fullmatch(cell)]
        if few and len(few) < LEAST_WAVES:
            reason = (
                f"line {row.number} heads {counted(len(few), 'wavelength')}, and a spectrum has {LEAST_WAVES} or more"
            )
            return no_samples(found.where, reason, Remedy.EXPORT_ALL_SEEN)
        if other := unread_colour(row.cells):
            reason = f"line {row.number} heads {other}, which are not read"
            return no_samples(found.where, reason, Remedy.EXPORT_COLOURS)
    begins = f"it begins, in line {rows[0].number}, with “{plain(rows[0].text, 40)}”"
    headed = next((row for row in rows if len(row.filled) > 1 and heads_wavelengths(row.cells)), None)
    if headed is not None:
        reason = f"line {headed.number} heads wavelengths, but no table of numbers stands below it"
        return no_samples(found.where, reason, Remedy.CORRECT_AND_READ_AGAIN)
    if (counted_off := _counted_off(rows)) is not None:
        reason = (
            f"line {counted_off.number} says from where the wavelengths are counted, and no value has its own beside it"
        )
        return no_samples(found.where, reason, Remedy.WRITE_THE_WAVELENGTHS)
    reason = f'no line heads columns by wavelengths, "nm", or L, a, b; {begins}'
    return no_samples(found.where, reason, Remedy.HEAD_THE_COLUMNS)
