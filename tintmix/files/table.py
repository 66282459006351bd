"""Delimited text as rows of cells: which delimiter, which row, and how a cell says a number."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from tintmix.files.errors import not_a_table, too_many
from tintmix.files.words import plain

MOST_ROWS = 20_000
MOST_COLUMNS = 2_000
MOST_CELLS = 2_000_000
LONGEST_ROW = 500_000
"""Limits of a table; a set of 100 chips read at 801 wavelengths has 80 000 cells."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_LONGEST_NUMBER = 40
_TOO_LONG = f"a row is longer than {LONGEST_ROW} characters"
_CSV_REASONS = {
    "unexpected end of data": "a quote is opened and never closed; the file may be cut short",
    "field larger": "a cell is longer than 131 072 characters",
    "expected after": "text follows a closing quote",
}
"""What the csv module says, in other words."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table's header and rows as they stand, cells without the spaces around them.

    header: row 1. rows: (row, cells), rows counted as a spreadsheet does, blank ones left out. decimal_comma: whether a
    comma may stand in a number, since the delimiter is none.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    decimal_comma: bool


def read_sheet(text: str, where: object, key: str | None = None, comments: bool = False) -> Sheet:
    """Delimited text as a sheet. key: a header by which the delimiter is known. comments: whether lines that begin with
    "#" are left out. Raises FileProblem.

    >>> read_sheet("chip;thickness_mm\\nb1;3,0\\n", "chips.csv", key="chip").rows
    ((2, ('b1', '3,0')),)
    """
    skipped = 0
    if comments:
        text, skipped = _without_comments(text)
    first = next((line for line in io.StringIO(text, newline="") if line.strip()), "")
    if not first:
        raise not_a_table(where, "it is empty")
    if len(first) > LONGEST_ROW:
        raise not_a_table(where, _TOO_LONG)
    delimiter = _best(lambda one: _columns(first, one, key))
    rows: list[tuple[int, tuple[str, ...]]] = []
    for number, cells in _records(text, delimiter, where):
        if len(cells) > MOST_COLUMNS:
            raise too_many(where, "columns", MOST_COLUMNS)
        if len(rows) > MOST_ROWS and any(cells):
            raise too_many(where, "rows", MOST_ROWS)
        if any(cells):
            rows.append((number + skipped, cells))
    if not rows:
        raise not_a_table(where, "it is empty")
    return Sheet(rows[0][1], tuple(rows[1:]), delimiter != ",")


def table_text(rows: Iterable[Sequence[str]], delimiter: str = ",") -> str:
    """Rows of cells, the header first, as the text that `read_sheet` reads.

    >>> table_text([("chip", "note"), ("b1", "pale, clear")])
    'chip,note\\nb1,"pale, clear"\\n'
    """
    stream = io.StringIO()
    csv.writer(stream, delimiter=delimiter, lineterminator="\n").writerows(rows)
    return stream.getvalue()


def number_of(cell: str, decimal_comma: bool = False, hundredths: bool = False) -> float | None:
    """The finite number that a cell says, None where it says none. hundredths: it is percent, and a fraction is wanted.

    A fraction is made by shifting the decimal point in the text, so that it is the nearest float to what stands there.

    >>> number_of("0,25", decimal_comma=True), number_of("7.1", hundredths=True), number_of("nan"), number_of("1e999")
    (0.25, 0.071, None, None)
    """
    text = cell.replace("−", "-")
    if decimal_comma and "." not in text:
        text = text.replace(",", ".", 1)
    if len(text) > _LONGEST_NUMBER or not _NUMBER.fullmatch(text):
        return None
    value = float(_shifted(text, -2)) if hundredths else float(text)
    return value if math.isfinite(value) else None


def cell_of(value: float | None, hundredths: bool = False) -> str:
    """The shortest text that `number_of` reads back as the same float; empty for None.

    >>> cell_of(0.071, hundredths=True), cell_of(3.0), cell_of(None)
    ('7.1', '3', '')
    """
    if value is None:
        return ""
    text = repr(float(value))
    if not hundredths:
        return text.removesuffix(".0")
    shifted = Decimal(text).scaleb(2)
    plain_text = f"{shifted:f}"
    if "." in plain_text:
        plain_text = plain_text.rstrip("0").rstrip(".")
    return plain_text if len(plain_text) <= _LONGEST_NUMBER else str(shifted)


def say(cell: str) -> str:
    """A cell as an error quotes it."""
    return f'"{plain(cell, 40)}"'


def no_number(cell: str, empty: str = "is empty, though the rest of the reading is there") -> str:
    """What is wrong with a cell that is no number; empty: where nothing stands in it."""
    return f"{say(cell)} is not a finite number" if cell else empty


def _shifted(text: str, places: int) -> str:
    mantissa, _, exponent = text.lower().partition("e")
    return f"{mantissa}e{int(exponent or 0) + places}"


def _best(score: Callable[[str], float]) -> str:
    """The delimiter with the highest score; a comma where none has any."""
    scores = {delimiter: score(delimiter) for delimiter in ("\t", ";", ",")}
    best = max(scores, key=scores.__getitem__)
    return best if scores[best] else ","


def _columns(first: str, delimiter: str, key: str | None) -> float:
    try:
        cells = [cell.strip() for cell in next(csv.reader([first], delimiter=delimiter))]
    except csv.Error:
        cells = first.split(delimiter)
    return 0 if len(cells) == 1 else math.inf if key in cells else len(cells)


def _records(text: str, delimiter: str, where: object) -> Iterator[tuple[int, tuple[str, ...]]]:
    since_last_row = number = cells_seen = 0

    def lines() -> Iterator[str]:
        # A row may span lines, in quotes; without a limit one row could hold the whole file as cells.
        nonlocal since_last_row
        for line in io.StringIO(text, newline=""):
            since_last_row += len(line)
            if since_last_row > LONGEST_ROW:
                raise not_a_table(where, _TOO_LONG)
            yield line

    reader = csv.reader(lines(), delimiter=delimiter, strict=True)
    try:
        for number, cells in enumerate(reader, 1):
            since_last_row = 0
            cells_seen += len(cells)
            if cells_seen > MOST_CELLS:
                raise too_many(where, "cells", MOST_CELLS)
            yield number, tuple(cell.strip() for cell in cells)
    except csv.Error as error:
        told = str(error)
        reason = next((words for found, words in _CSV_REASONS.items() if found in told), plain(told, 100))
        raise not_a_table(where, f"row {number + 1}: {reason}") from None


def _without_comments(text: str) -> tuple[str, int]:
    """The text without its comment lines, and how many stood before the header."""
    lines = list(io.StringIO(text, newline=""))
    comments = [line.lstrip().startswith("#") for line in lines]
    header = next((i for i, line in enumerate(lines) if line.strip() and not comments[i]), len(lines))
    return "".join(line for line, comment in zip(lines, comments, strict=True) if not comment), sum(comments[:header])
