"""What can be wrong with a chip-set folder or a file of curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tintmix.errors import TintmixError
from tintmix.numerals import numeral

_SHOWN = 20
"""Problems that are told at once: a screenful."""


def _some(items: Sequence[str], most: int = 8) -> str:
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


class BadColumns(TintmixError):
    """A header row that is not a chip table's."""

    def __init__(self, where: object, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        more = f"; and {len(self.problems) - _SHOWN} more" if len(self.problems) > _SHOWN else ""
        super().__init__(f"{where}: row 1, the header: {'; '.join(self.problems[:_SHOWN])}{more}.")


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
            f'(the middle one is {numeral(middle, 3)}): they look like percent. Write unit = "percent" under [reading].'
        )


class BadChip(TintmixError):
    """A chip, a reading or a set that cannot be, made in code."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what}.")


def _tables(pigments: Sequence[str]) -> str:
    return _some([f"[pigments.{_key(p)}]" for p in pigments])


def _key(name: str) -> str:
    return name if name.isascii() and name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
