"""The text of an instrument as rows of cells: by which sign they are parted, and how a cell says a number.

Nothing is thrown away: comments stay rows, since a header may stand behind "#".
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from tintmix.files.errors import not_a_table, too_many
from tintmix.files.table import LONGEST_ROW, MOST_CELLS, MOST_COLUMNS, MOST_ROWS, number_of

_SIGNS = ("\t", ";", ",", "|", ", ", " ")
"""Which may part cells, the surest first. ", " is a comma with a blank behind it, where another is the decimal comma."""
_ENOUGH = 0.7
"""Of the numbers that the best sign makes, those that a surer one must make to be taken."""
_LOOKED_AT = 600
"""Lines by which the sign is found: from all over the file."""
_LEAST_PARTED = 5
"""Wavelengths that make a column of their own, as in heads.py: fewer may be a time of day."""
_MISSING = re.compile(
    r"[^\w%]*|[-+]?\W?(?:nan|inf(?:inity)?)|#?n\W{0,2}[ad]\.?|na|null|nil|none|invalid|err(?:or)?|bad|missing|fehlt"
    r"|ou?ve?r[ -]?(?:fl?o?w?|range|load)?|ovfl?w?|sat(?:ur\w*|\.)?|out of range|o\.?r\.?|\W?(?:ol|low|high|div/0!?)"
    r"|[<>≤≥]{1,2}=?\s*[-+]?[0-9.,]+\s*%?",
    re.IGNORECASE,
)
"""What instruments write where they have no value: signs alone, words for too much or none, "more than 4"."""
_OPEN = re.compile(r'(?:^|[,;\t|])\s*"[^"]*$')
"""A cell whose quote is not closed in its line."""
_MOST_OF_A_CELL = 12
"""Lines that a quoted cell may go on: a head with its unit and a remark has two to four; more is a stray sign."""
_KEYED = re.compile(r"([^:=0-9]{1,40}?)\s*[:=]\s*[\[(]?\s*([-+]?[0-9.,]+)")
_COLON = re.compile(r"^(\s*[0-9]{3,4}(?:[.,][0-9]+)?\s*(?:nm)?)\s*[:=]\s*(?=[-+.]?[0-9])")
"""A wavelength and its value parted as a key from what it says."""
_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+")
_FORTRAN = re.compile(r"([0-9.])[dD]([+-]?[0-9]{1,3})")


@dataclass(frozen=True, slots=True)
class Row:
    """A line that holds something. number: of the line. comment: whether it stood behind "#"."""

    number: int
    cells: tuple[str, ...]
    text: str
    comment: bool = False

    def cell(self, column: int | None) -> str:
        """What stands in a column; nothing past the end."""
        return "" if column is None or not 0 <= column < len(self.cells) else self.cells[column]

    @property
    def filled(self) -> list[str]:
        """Its cells that hold something."""
        return [cell for cell in self.cells if cell]


def rows_of(text: str, where: str) -> list[Row]:
    """All lines that hold something, parted. Raises FileProblem past the limits of a table.

    >>> [row.cells for row in rows_of("# by hand\\nnm;b1\\n400;0,5\\n", "b1.csv")]
    [('by hand',), ('nm', 'b1'), ('400', '0,5')]
    """
    lines = _whole(unicodedata.normalize("NFC", text).splitlines())
    if sum(_COLON.match(line) is not None for line in lines[:_LOOKED_AT]) >= _LEAST_PARTED:
        lines = [_COLON.sub(r"\1\t", line) for line in lines]
    if len(lines) > 10 * MOST_ROWS:
        raise too_many(where, "rows", 10 * MOST_ROWS)
    sign = _sign([line for line in lines if line.strip()])
    joins = _decimal_commas(lines) if sign == "," else 0
    rows: list[Row] = []
    held = 0
    for number, line in enumerate(lines, 1):
        stripped = line.strip()
        if not stripped or (len(stripped) > 2 and not stripped.strip("-=+_*#~|: \t")):
            continue
        if len(line) > LONGEST_ROW:
            raise not_a_table(where, f"line {number} is longer than {LONGEST_ROW} characters")
        comment = stripped.startswith(("#", "%"))
        body = line.lstrip("#% ") if comment and not stripped.startswith("%T") else line
        cells = parted(body, sign)
        if joins and len(cells) in (2 * joins, 2 * joins - 1) and all(cell.lstrip("+-").isdigit() for cell in cells):
            cells = _joined(cells)
        if len(cells) >= _LEAST_PARTED and (keyed := _KEYED.fullmatch(cells[0])):
            # A list of numbers behind its key.
            cells = (keyed.group(1), keyed.group(2), *cells[1:-1], cells[-1].rstrip("])"))
        if len(cells) > MOST_COLUMNS:
            raise too_many(where, "columns", MOST_COLUMNS)
        held += len(cells)
        if held > MOST_CELLS:
            raise too_many(where, "cells", MOST_CELLS)
        if any(cells):
            rows.append(Row(number, cells, stripped, comment))
    return rows


def _whole(lines: list[str]) -> list[str]:
    """The lines, each with the rest of a quoted cell that goes on below it, whose own lines are left empty.

    >>> _whole(['nm,"azure', '(%T)"', "400,50"])
    ['nm,"azure (%T)"', '', '400,50']
    """
    done = [*lines]
    for at, line in enumerate(lines):
        if not done[at] or not _OPEN.search(line) or line.count('"') % 2 == 0:
            continue
        for end in range(at + 1, min(at + 1 + _MOST_OF_A_CELL, len(lines))):
            if sum(one.count('"') for one in lines[at : end + 1]) % 2 == 0:
                done[at] = " ".join(lines[at : end + 1])
                done[at + 1 : end + 1] = [""] * (end - at)
                break
    return done


def _decimal_commas(lines: Sequence[str]) -> int:
    """How many numbers a line holds where commas part them and are decimal too: a header has as many words, and every line below
    it twice as many whole numbers, or one less where wavelengths are whole; 0 where it is not so.

    >>> _decimal_commas(["nm,%T", "380,92,10", "390,92,25"]), _decimal_commas(["nm,b1,b2", "380,92,10", "390,92,25"])
    (2, 0)
    """
    words = 0
    for line in lines:
        cells = parted(line, ",")
        if not all(cell.lstrip("+-").isdigit() for cell in cells if cell) or len(cells) < 3:
            words = sum(bool(cell) for cell in cells)
        else:
            return words if words >= 2 and len(cells) in (2 * words, 2 * words - 1) else 0
    return 0


def _joined(cells: tuple[str, ...]) -> tuple[str, ...]:
    first = cells[:1] if len(cells) % 2 else ()
    rest = cells[len(first) :]
    return (*first, *(f"{whole}.{part}" for whole, part in zip(rest[::2], rest[1::2], strict=True)))


def parted(line: str, sign: str) -> tuple[str, ...]:
    """A line's cells, without the blanks and quotes around them.

    >>> parted('"b1, old";0,5; ', ";"), parted("380,5, 0,91", ", "), parted(" 380   0.91", " ")
    (('b1, old', '0,5', ''), ('380,5', '0,91'), ('380', '0.91'))
    """
    if sign == " ":
        cells = line.split()
    elif sign == ", ":
        cells = re.split(r",\s+", line)
    elif '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=sign, skipinitialspace=True))
        except (csv.Error, StopIteration):
            cells = line.split(sign)
    else:
        cells = line.split(sign)
    return tuple(cell.strip().strip('"').strip() for cell in cells)


def parted_into(text: str, count: int) -> tuple[str, ...] | None:
    """A header's cells, where another sign parts it into as many as the numbers below it have; None where none does.

    >>> parted_into("Wavelength (nm)   Abs", 2), parted_into("nm,b1", 2), parted_into("Wavelength (nm) T (%)", 2)
    (('Wavelength (nm)', 'Abs'), ('nm', 'b1'), ('Wavelength (nm)', 'T (%)'))
    """
    for pattern in (r"\t+", r"\s*;\s*", r"\s*,\s*", r"\s*\|\s*", r"\s{2,}", r"(?<=[\])])\s+", r"\s+"):
        cells = [cell.strip().strip('"') for cell in re.split(pattern, text.strip().lstrip("# ")) if cell.strip()]
        if len(cells) == count:
            return tuple(cells)
    return None


@lru_cache(maxsize=20_000)
def value_of(cell: str) -> float | None:
    """The number that a cell says, with a decimal point or comma, with "%" behind it or not; None for none.

    >>> value_of("0,25"), value_of("92.1 %"), value_of("1,234.5"), value_of("1.0D-01"), value_of("b1")
    (0.25, 92.1, 1234.5, 0.1, None)
    """
    try:
        value = float(cell)
    except ValueError:
        text = cell.rstrip("% ").replace("\u00a0", "")
        if _THOUSANDS.fullmatch(text):
            text = text.replace(",", "")
        return number_of(_FORTRAN.sub(r"\1e\2", text), decimal_comma=True)
    # What Python takes and people do not write ("1_000", "infinity", digits of other scripts) is none.
    return value if value - value == 0 and cell.isascii() and "_" not in cell and len(cell) <= 40 else None


@lru_cache(maxsize=20_000)
def is_missing(cell: str) -> bool:
    """Whether a cell says that there is no value.

    >>> [is_missing(cell) for cell in ("****", "OVER", ">4", "", "0.4", "o.4", "b1")]
    [True, True, True, True, False, False, False]
    """
    return len(cell) < 20 and _MISSING.fullmatch(cell) is not None


def _sign(lines: Sequence[str]) -> str:
    """The sign that makes the most numbers of the lines that are numbers for the most part; the surest of those near it."""
    step = max(1, len(lines) // _LOOKED_AT)
    looked = [line[:3000] for line in (*lines[: _LOOKED_AT // 2], *lines[_LOOKED_AT // 2 :: step])]
    scores = {sign: sum(_numbers(line, sign) for line in looked) for sign in _SIGNS}
    best = max(scores.values())
    if not best:
        return next((sign for sign in ("\t", ";", ",") if any(sign in line for line in looked)), "\t")
    # A comma that parts and one that is decimal make twice as many numbers as there are.
    if (
        scores[", "]
        and scores[", "] * 2 >= scores[","]
        and not any("." in line for line in looked if _numbers(line, ", "))
    ):
        return ", "
    return next(sign for sign in _SIGNS if scores[sign] >= _ENOUGH * best)


def _numbers(line: str, sign: str) -> int:
    if sign not in line.strip():
        return 0
    cells = [cell for cell in parted(line, sign) if cell]
    if sign == ", " and not all(re.fullmatch(r"\s*[+-]?[0-9]+,[0-9]+", cell) for cell in cells):
        return 0
    count = sum(value_of(cell) is not None for cell in cells)
    return count if len(cells) >= 2 and count >= 0.6 * len(cells) else 0
