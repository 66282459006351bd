"""What can be wrong with a file: it is not there, it is no text, it says what cannot be, it cannot be written."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterable
from dataclasses import dataclass

from tintmix.errors import LONGEST, CannotReach, CannotWrite, FileProblem, NotThere, Remedy, ValueProblem, in_short
from tintmix.files.words import plain
from tintmix.numerals import counted, numeral

_SHOWN, _LONGEST_PROBLEM = 20, LONGEST
_LONGEST_LIST = (_SHOWN + 2) * _LONGEST_PROBLEM
_LISTED_CELLS = 240
"""Letters of cells that are listed: with the file's name and what to do, such a sentence is about as long as any other. What
befell one cell, as when a table was pasted twice, befell hundreds alike."""
_LONGEST_PATH = 300
_LONGEST_FIRST = LONGEST // 2
"""The other half is for the file's name and for what to do."""
_FULL = {os.strerror(code).lower() for code in (errno.ENOSPC, errno.EDQUOT)}


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with a table. where: the place in it, as in "[reading]" or "part B"; what: the clause after it.

    >>> str(Problem("[reading]", "has no kind; add it"))
    '[reading] has no kind; add it'
    """

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where} {self.what}" if self.where else self.what


class BadTable(FileProblem):
    """A table with keys or values that cannot be used; all of them at once. A problem that is text is one of the whole table."""

    longest = _LONGEST_LIST

    def __init__(self, where: object, problems: Iterable[Problem | str]) -> None:
        self.problems = tuple(one if isinstance(one, Problem) else Problem("", one) for one in problems)
        super().__init__(where=where, what=_some(self.problems))

    @property
    def first(self) -> str:
        """The first of what is wrong, and how much else is: of a file that no hand wrote, all of it would tell no more."""
        more = f"; and {len(self.problems) - 1} more" if len(self.problems) > 1 else ""
        return f"{in_short(str(self.problems[0]), _LONGEST_FIRST)}{more}"


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that cannot be used. row counts as a spreadsheet does: the header is row 1. column: its header."""

    row: int
    column: str
    problem: str

    def __str__(self) -> str:
        return f"row {self.row}, {self.column}: {self.problem}"


class BadCells(FileProblem):
    """Cells of a table that cannot be used: all of them in `cells`, as many in its sentence as it has room for."""

    longest = _LONGEST_LIST

    def __init__(self, where: object, cells: Iterable[Cell]) -> None:
        self.cells = tuple(cells)
        what = f"{counted(len(self.cells), 'cell')} cannot be used: {_some(self.cells, _LISTED_CELLS)}"
        super().__init__(where=where, what=what, remedy=Remedy.CORRECT_AND_READ_AGAIN)


class FormatMissing(FileProblem):
    """A file that does not say which format it is in."""

    def __init__(self, where: object, found: object, known: int) -> None:
        said = f"says format = {plain(found)}, which is no format number"
        what = "does not say its format" if found is None else said
        super().__init__(where=where, what=what, remedy=Remedy.SAY_THE_FORMAT, known=known)


def no_file(path: object, wanted: str, is_there: bool = False) -> NotThere:
    """A file that is not there, or is no ordinary file, such as a folder or a device."""
    what = f"{'this is no ordinary file' if is_there else 'there is no such file'}, and {wanted} is needed there"
    return NotThere(where=plain(str(path), _LONGEST_PATH), what=what, remedy=Remedy.CHECK_THE_NAME)


def unreadable(path: object, reason: str) -> CannotReach:
    """A file that the system does not let us read."""
    what = f"cannot be read ({reason})"
    return CannotReach(where=plain(str(path), _LONGEST_PATH), what=what, remedy=Remedy.CHECK_THE_RIGHTS)


def too_large(where: object, limit_bytes: int, but_for: str = "") -> FileProblem:
    """A file beyond what is sensible for its kind. but_for: what of it does not count, as "without its photos, "."""
    what = f"{but_for}larger than {numeral(limit_bytes / 1e6)} MB, the most that is read of such a file"
    return FileProblem(where=where, what=what, remedy=Remedy.CHECK_OR_SPLIT)


def too_many_values(where: object, most: int) -> FileProblem:
    """A JSON file of more values than are sensible for its kind."""
    what = f"it holds more than {numeral(most)} values, the most that is read of such a file"
    return FileProblem(where=where, what=what, remedy=Remedy.CHECK_OR_SPLIT)


def not_text(where: object, line: int) -> FileProblem:
    """Bytes that are no UTF-8 text."""
    return FileProblem(where=where, what=f"line {line} is not UTF-8 text", remedy=Remedy.SAVE_AS_TEXT)


def not_toml(where: object, reason: str) -> FileProblem:
    """Text that is no TOML."""
    what = f"not a TOML file that can be read ({plain(reason, 160)})"
    return FileProblem(where=where, what=what, remedy=Remedy.CORRECT_THAT_LINE)


def too_new(where: object, found: int, known: int, kind: str) -> FileProblem:
    """A file written for a later version."""
    what = f"in {kind} format {plain(found)}, and this version reads up to format {known}; it was left as it is"
    return FileProblem(where=where, what=what, remedy=Remedy.BRING_UP_TO_DATE)


def not_a_table(where: object, reason: str) -> FileProblem:
    """A file that is no table with rows and columns."""
    what = f"not a table that can be read ({reason})"
    return FileProblem(where=where, what=what, remedy=Remedy.SAVE_AS_CSV)


def too_many(where: object, what: str, limit: int) -> FileProblem:
    """More rows, columns, cells or readings than any set needs."""
    what = f"more than {limit} {what}, the most that is read"
    return FileProblem(where=where, what=what, remedy=Remedy.SPLIT_THE_FILE)


def bad_curve(where: object, what: str) -> FileProblem:
    """A file of curves over wavelength that cannot be used."""
    return FileProblem(where=where, what=what)


def not_json(what: str) -> ValueProblem:
    """A value that JSON cannot hold."""
    said = "it holds text, finite numbers, lists and tables with text keys"
    return ValueProblem(what=f"{what} cannot be written as JSON; {said}")


def cannot_write(where: object, reason: str) -> CannotWrite:
    """An output that cannot be written where it should go."""
    what = f"cannot be written ({reason})"
    remedy = Remedy.MAKE_ROOM if reason.lower() in _FULL else Remedy.WRITE_ELSEWHERE
    return CannotWrite(where=plain(str(where), _LONGEST_PATH), what=what, remedy=remedy, reason=reason)


def _some(problems: tuple[Problem, ...] | tuple[Cell, ...], most: int = _LONGEST_LIST) -> str:
    """The first, those after it that stay within so many letters, and how many are left."""
    told = [in_short(str(one), _LONGEST_PROBLEM) for one in problems[:_SHOWN]]
    while len(told) > 1 and len("; ".join(told)) > most:
        told.pop()
    more = f"; and {len(problems) - len(told)} more" if len(problems) > len(told) else ""
    return "; ".join(told) + more
