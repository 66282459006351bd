"""Several chip sets as one fit: what they lack together, and cups of one name that cannot be one cup."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tintmix.chips.checks import lacking
from tintmix.chips.chip import Chip, ChipSet
from tintmix.errors import FileProblem, Remedy
from tintmix.numerals import numeral

_ROUNDED = 0.005
"""Relative difference of two doses that are one dose, once typed and once worked out of weights to three digits."""
_WEIGHED = 3.0
"""Standard deviations of two weighings up to which unlike doses may be two pours of one recipe under one name."""


def warnings_of(sets: Sequence[ChipSet]) -> list[str]:
    """What the sets' readers warned of, but for what one lacks and another holds: that is judged over all. Each once."""
    own = [said for chips in sets for said in chips.warnings if said not in lacking([chips])]
    return list(dict.fromkeys([*own, *lacking(sets), *unlike_cups(sets)]))


def unlike_cups(sets: Sequence[ChipSet]) -> list[str]:
    """Cups of one name whose doses differ by no more than two weighings do.

    Raises FileProblem where they differ by more: a cup's chips share its dose errors, so that one name for two cups, like a
    dose mistyped, would falsify every strength, and nothing in the readings tells which of the two it is.
    """
    told: dict[str, str] = {}
    for s, other in enumerate(sets):
        first = {chip.cup: (chips, chip) for chips in reversed(sets[:s]) for chip in reversed(chips.chips) if chip.use}
        for chip in other.chips:
            if chip.cup not in first or not chip.use or chip.cup in told:
                continue
            chips, before = first[chip.cup]
            for name in dict.fromkeys(p.name for p in (*chips.pigments, *other.pigments)):
                (a, spread_a), (b, spread_b) = _dose(chips, before, name), _dose(other, chip, name)
                away = abs(a - b)
                if away <= _ROUNDED * max(a, b):
                    continue
                doses = f"{numeral(a)} phr of {name} in {_called(chips, 0)} and {numeral(b)} in {_called(other, s)}"
                if away > _WEIGHED * np.hypot(a * spread_a, b * spread_b) or not a * b:
                    raise FileProblem(
                        what=f"cup {chip.cup} holds {doses}, but a cup is one mix, and has one name in all sets of a fit",
                        remedy=Remedy.NAME_THE_CUPS_APART,
                    )
                told[chip.cup] = (
                    f"cup {chip.cup} holds {doses}: taken as one cup; if it was poured twice, give the second another name, for "
                    "it then tells more"
                )
                break
    return list(told.values())


def _dose(chips: ChipSet, chip: Chip, pigment: str) -> tuple[float, float]:
    """The dose in phr, and its relative spread; (0, 0) where the set does not know the pigment."""
    names = [one.name for one in chips.pigments]
    at = names.index(pigment) if pigment in names else None
    return (0.0, 0.0) if at is None else (chip.doses_phr[at], chip.dose_spreads[at])


def _called(chips: ChipSet, place: int) -> str:
    return str(chips.folder or chips.title or f"set {place + 1}")
