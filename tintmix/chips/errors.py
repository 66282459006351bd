"""What can be wrong with a chip-set folder, and with putting readings into it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from tintmix.errors import FileProblem, NotThere, Remedy, ValueProblem
from tintmix.files.errors import BadCells, BadTable
from tintmix.files.words import plain


def some(items: Sequence[str], most: int = 8) -> str:
    """The first few of many, for a sentence.

    >>> some(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


def no_folder(path: object, reason: str) -> NotThere:
    """A chip set that is not there."""
    return NotThere(where=plain(str(path), 300), what=reason, remedy=Remedy.NAME_A_SET)


def pigments_disagree(where: object, without_table: Sequence[str], without_column: Sequence[str]) -> FileProblem:
    """The columns of the table and the tables of set.toml name different pigments."""
    said = []
    if without_table:
        said.append(
            f"chips.csv doses {some(without_table)}, but set.toml has no table for it: add "
            f"{_tables(without_table)} (it may be empty), or correct the column's name"
        )
    if without_column:
        said.append(
            f"set.toml has {_tables(without_column)}, but chips.csv has no column for it: "
            f"add {some([p + '_phr' for p in without_column])}, or take the table out"
        )
    return BadTable(where, said)


def pigment_refused(where: object, pigment: str, reason: str) -> FileProblem:
    """A pigment that the straight-through model cannot describe, or the resin cannot take."""
    return FileProblem(where=where, what=f"pigment {pigment} is refused: {reason}")


class ChipsExchanged(ValueProblem):
    """Chips that look exchanged in a photo. pairs: their names."""

    def __init__(self, where: str, pairs: Sequence[tuple[str, str]]) -> None:
        self.pairs = tuple(pairs)
        told = some([f"{plain(one, 50)} and {plain(other, 50)}" for one, other in self.pairs], 1)
        what = f"{told} look exchanged: each reads about as the other should"
        super().__init__(where=plain(where, 60), what=what, remedy=Remedy.SAY_HOW_THEY_LIE)


@contextmanager
def or_refused(where: str, stood: Mapping[int, str] | None = None) -> Iterator[None]:
    """Problems inside are told as those of readings with which the set could not be read any more: ValueProblem. stood: where
    the reading of each row of the set's table came from, as whoever brought it knows it."""
    try:
        yield
    except (FileProblem, ValueProblem) as problem:
        said, remedy = str(problem).rstrip("."), problem.remedy
        cells = problem.cells if isinstance(problem, BadCells) else ()
        if stood and cells and all(cell.row in stood for cell in cells):
            said = some([f"{stood[cell.row]}, {cell.column}: {cell.problem}" for cell in cells], 2)
            remedy = Remedy.CORRECT_THE_READING
        what = f"these readings cannot be put into the set, and nothing was changed: {said}"
        refused = ValueProblem(where=where, what=what, remedy=remedy)
        refused.facts = problem.facts
        refused.longest = problem.longest
        raise refused from None


def _tables(pigments: Sequence[str]) -> str:
    return some([f"[pigments.{_key(p)}]" for p in pigments])


def _key(name: str) -> str:
    return name if name.isascii() and name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
