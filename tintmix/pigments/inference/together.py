"""Several chip sets as one fit: what they lack together, and cups and chips of one name that cannot be one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

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
    return list(dict.fromkeys([*own, *lacking(sets), *unlike_cups(sets), *unlike_chips(sets).values()]))


def each_once(sets: Sequence[ChipSet]) -> tuple[ChipSet, ...]:
    """The sets without the chips of which another holds the same reading, of the same cup as thick, to the last digit: the same
    file, copied, and no second reading. They are left out, and the set's warnings say so.

    Raises FileProblem for a set of which nothing else is left: counted twice, its readings would narrow every band.
    """
    unlike_cups(sets)  # for what it refuses
    first: dict[tuple[object, ...], int] = {}
    told = []
    for s, chips in enumerate(sets):
        twice: dict[str, int] = {}
        others = 0
        for chip in chips.chips:
            # Whatever is read relative to the untinted block, the block itself reads 1.
            if not chip.use or not chip.is_read or (chip.is_blank and chips.reading.relative_to == "untinted"):
                continue
            read = (chip.cup, chip.thickness_mm, chips.reading.by(chip.camera).kind, chip.values)
            before = first.setdefault(read, s)
            others += before == s
            if before != s:
                twice[chip.name] = before
        if twice:
            there = _where(sets, min(twice.values()))
            if not others:
                what = f"it holds the same readings as {there}, to the last digit, which would count twice"
                raise FileProblem(where=_where(sets, s), what=what, remedy=Remedy.NAME_EACH_SET_ONCE)
            said = (
                f"left out of {_where(sets, s)}: {', '.join(twice)}; their readings stand in {there} too, the same to the last "
                "digit, and would count twice"
            )
            kept = tuple(replace(one, use=False) if one.name in twice else one for one in chips.chips)
            chips = replace(chips, chips=kept, warnings=(*chips.warnings, said))
        told.append(chips)
    return tuple(told)


def unlike_cups(sets: Sequence[ChipSet]) -> list[str]:
    """Cups of one name whose doses differ by no more than two weighings do.

    Raises FileProblem where they differ by more: a cup's chips share its dose errors, so that one name for two cups, like a
    dose mistyped, would falsify every strength, and nothing in the readings tells which of the two it is.
    """
    told: dict[str, str] = {}
    seen: dict[str, list[tuple[int, Chip]]] = {}
    for s, chips in enumerate(sets):
        for chip in [one for one in chips.chips if one.use]:
            # Unlike doses of a cup within one set its reader has told already.
            before = seen.setdefault(chip.cup, [])
            unlike = [_unlike(sets, there, (s, chip)) for there in before]
            before.append((s, chip))
            if before[0][0] == s or None in unlike or chip.cup in told:
                continue
            doses, weighed = unlike[0] or ("", False)
            if not weighed:
                raise FileProblem(
                    what=f"cup {chip.cup} holds {doses}, but a cup is one mix, and has one name in all sets of a fit",
                    remedy=Remedy.NAME_THE_CUPS_APART,
                )
            told[chip.cup] = (
                f"cup {chip.cup} holds {doses}: taken as one cup; if it was poured twice, give the second another name, for it "
                "then tells more"
            )
    return list(told.values())


def unlike_chips(sets: Sequence[ChipSet]) -> dict[str, str]:
    """Chips of one name in several sets that are no one chip, and what is said of each: their thicknesses differ by more than two
    callipers do, so that they do not share a thickness error."""
    told: dict[str, str] = {}
    seen: dict[str, tuple[int, Chip]] = {}
    for s, chips in enumerate(sets):
        for chip in [one for one in chips.chips if one.use]:
            first, before = seen.setdefault(chip.name, (s, chip))
            spread = np.hypot(chips.reading.thickness_spread_mm, sets[first].reading.thickness_spread_mm)
            apart = abs(chip.thickness_mm - before.thickness_mm)
            if first != s and apart > max(_WEIGHED * float(spread), _ROUNDED * chip.thickness_mm):
                told[chip.name] = (
                    f"chip {chip.name} is {numeral(before.thickness_mm)} mm thick in {_where(sets, first)} and "
                    f"{numeral(chip.thickness_mm)} in {_where(sets, s)}: taken as two chips; if it is one, one thickness is wrong"
                )
    return told


def _where(sets: Sequence[ChipSet], s: int) -> str:
    return str(sets[s].folder or sets[s].title or f"set {s + 1}")


def _unlike(sets: Sequence[ChipSet], one: tuple[int, Chip], other: tuple[int, Chip]) -> tuple[str, bool] | None:
    """The first pigment whose doses differ, told with both sets, and whether two weighings may differ so; None: all alike."""
    for name in dict.fromkeys(p.name for s, _ in (one, other) for p in sets[s].pigments):
        (a, spread_a), (b, spread_b) = (_dose(sets[s], chip, name) for s, chip in (one, other))
        if abs(a - b) > _ROUNDED * max(a, b):
            told = f"{numeral(a)} phr of {name} in {_where(sets, one[0])} and {numeral(b)} in {_where(sets, other[0])}"
            return told, a * b > 0 and abs(a - b) <= _WEIGHED * float(np.hypot(a * spread_a, b * spread_b))
    return None


def _dose(chips: ChipSet, chip: Chip, pigment: str) -> tuple[float, float]:
    """The dose in phr, and its relative spread; (0, 0) where the set does not know the pigment."""
    names = [one.name for one in chips.pigments]
    at = names.index(pigment) if pigment in names else None
    return (0.0, 0.0) if at is None else (chip.doses_phr[at], chip.dose_spreads[at])
