"""What can be wrong with a chip-set folder or a file of curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tintmix.errors import TintmixError

_SHOWN = 20


def _some(items: Sequence[str], most: int = 8) -> str:
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that cannot be used. row counts as a spreadsheet does: the header is row 1. column: its header."""

    row: int
    column: str
    problem: str

    def __str__(self) -> str:
        return f"row {self.row}, {self.column}: {self.problem}"


class BadChips(TintmixError):
    """Cells of a table that cannot be used, all of them at once."""

    def __init__(self, where: object, cells: Iterable[Cell]) -> None:
        self.cells = tuple(cells)
        count = len(self.cells)
        shown = "; ".join(str(cell) for cell in self.cells[:_SHOWN])
        more = f"; and {count - _SHOWN} more" if count > _SHOWN else ""
        many = "1 cell" if count == 1 else f"{count} cells"
        super().__init__(f"{where}: {many} cannot be used: {shown}{more}. Correct the file and read it again.")


class BadColumns(TintmixError):
    """A header row that is not a chip table's."""

    def __init__(self, where: object, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        more = f"; and {len(self.problems) - _SHOWN} more" if len(self.problems) > _SHOWN else ""
        super().__init__(f"{where}: row 1, the header: {'; '.join(self.problems[:_SHOWN])}{more}.")


class NotATable(TintmixError):
    """A file that is no table with rows and columns."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: not a table that can be read ({reason}). "
            "Save it as CSV: comma, semicolon or tab, a header row first."
        )


class TableTooLarge(TintmixError):
    """More rows, columns or cells than a chip set has."""

    def __init__(self, where: object, what: str, limit: int) -> None:
        super().__init__(f"{where}: more than {limit} {what}, the most that is read. Split the file in several sets.")


class NoChips(TintmixError):
    """A table with a header and nothing below it."""

    def __init__(self, where: object) -> None:
        super().__init__(f"{where}: no chip is listed. Add a row for each chip below the header.")


class NoFolder(TintmixError):
    """A chip set that is not there."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: {reason}; a chip set is a folder that holds set.toml and chips.csv. Name such a folder."
        )


class PigmentsDisagree(TintmixError):
    """The columns of the table and the tables of set.toml name different pigments."""

    def __init__(self, where: object, without_table: Sequence[str], without_column: Sequence[str]) -> None:
        said = []
        if without_table:
            said.append(
                f"chips.csv doses {_some(without_table)}, but set.toml has no table for it: add "
                f"{_tables(without_table)} (it may be empty), or correct the column's name"
            )
        if without_column:
            said.append(
                f"set.toml has {_tables(without_column)}, but chips.csv has no column for it: "
                f"add {_some([p + '_phr' for p in without_column])}, or take the table out"
            )
        super().__init__(f"{where}: {'; '.join(said)}.")


class PigmentRefused(TintmixError):
    """A pigment that the straight-through model cannot describe, or the resin cannot take."""

    def __init__(self, where: object, pigment: str, reason: str) -> None:
        super().__init__(f"{where}: pigment {pigment} is refused: {reason}.")


class LooksLikePercent(TintmixError):
    """Fractions that are percents."""

    def __init__(self, where: object, middle: float) -> None:
        super().__init__(
            f'{where}: set.toml says unit = "fraction", but most readings are above 1.5 '
            f'(the middle one is {middle:.3g}): they look like percent. Write unit = "percent" under [reading].'
        )


class BadCurve(TintmixError):
    """A file of curves over wavelength that cannot be used."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: {reason}.")


class BadChip(TintmixError):
    """A chip, a reading or a set that cannot be, made in code."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what}.")


class NotCanonical(TintmixError):
    """A value that JSON cannot hold."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what} cannot be written as JSON; it holds text, finite numbers, lists and tables with text keys."
        )


class BadEpoch(TintmixError):
    """SOURCE_DATE_EPOCH is no time."""

    def __init__(self, found: str) -> None:
        super().__init__(
            f"the environment says SOURCE_DATE_EPOCH={found!r}, which is no count of seconds since 1970. "
            "Correct or unset it."
        )


class CannotWrite(TintmixError):
    """A path that does not exist or is not writable."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: cannot be written ({reason}). Name a folder that exists and that you may write to.")


def _tables(pigments: Sequence[str]) -> str:
    return _some([f"[pigments.{_key(p)}]" for p in pigments])


def _key(name: str) -> str:
    return name if name.isascii() and name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
