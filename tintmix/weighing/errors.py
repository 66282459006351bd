"""What can go wrong when a recipe meets a scale: scales, batches, bottles, dose bases."""

from __future__ import annotations

from typing import Any

from tintmix.errors import FileProblem, NotThere, Remedy, ValueProblem
from tintmix.files.words import number_plain, plain
from tintmix.numerals import numeral


class MeasureMissing(ValueProblem):
    """A number that a conversion needs and nobody gave."""


class CannotBeWeighed(ValueProblem):
    """An amount that no scale at hand can weigh."""


# Scales ---------------------------------------------------------------------------------------------------------------


def bad_scale(what: str) -> ValueProblem:
    """A scale that cannot be."""
    return ValueProblem(where="the scale cannot be used", what=what, remedy=Remedy.WRITE_THE_SCALE)


def bad_scales(text: str, reason: str) -> ValueProblem:
    """Scales that are not told as resin and pigment."""
    return ValueProblem(what=f"the scale {plain(text)!r} {reason}", remedy=Remedy.WRITE_ONE_SCALE_OR_TWO)


def too_little(
    what: str, grams: float, batch_g: float, finest_g: float, enough_g: float | None, diluted: bool = False
) -> CannotBeWeighed:
    """An amount below what the finest scale can weigh. enough_g: a batch for which it would do."""
    not_even = ", not even from a stock bottle diluted twice" if diluted else ""
    return CannotBeWeighed(
        what=f"a batch of {batch_g:g} g asks for {grams:.3g} g of {plain(what)}, which a scale that shows {finest_g:g} g "
        f"cannot weigh{not_even} (ten of its steps are the least that is asked of it)",
        **make_more(enough_g if enough_g is not None and enough_g > batch_g else None),
    )


def make_more(enough_g: float | None) -> dict[str, Any]:
    """The remedy for too little. enough_g: a batch for which it would do."""
    if enough_g is None:
        return {"remedy": Remedy.USE_A_FINER_SCALE}
    return {"remedy": Remedy.MAKE_MORE, "enough": f"{enough_g:.0f}" if enough_g >= 10 else f"{enough_g:.2g}"}


# Bottles --------------------------------------------------------------------------------------------------------------


def bad_bottle(name: object, problem: str) -> ValueProblem:
    """A stock bottle that cannot be."""
    return ValueProblem(where=f"stock bottle {plain(name)!r}", what=problem, remedy=Remedy.CORRECT_THE_BOTTLE)


def bad_bottle_table(where: str, problem: str) -> FileProblem:
    """A table of a plan's stock bottles that cannot be used."""
    return FileProblem(where=where, what=problem, remedy=Remedy.CORRECT_AND_READ_AGAIN)


# Amounts --------------------------------------------------------------------------------------------------------------


def out_of_bounds(
    what: str, value: object, unit: str, least: float, most: float, at_least: bool = False
) -> ValueProblem:
    """A batch, a waste allowance, a density, a drop's mass or a temperature that cannot be."""
    lowest = "at least" if at_least else "above"
    return ValueProblem(
        what=what,
        found=f"{number_plain(value)} {unit}".strip(),
        limit=f"{lowest} {numeral(least)} and at most {number_plain(most)} {unit}".strip(),
    )


def bad_dose(pigment: str, dose: object, unit: str = "phr", most: float = 1000.0) -> ValueProblem:
    """A dose that is no amount."""
    return ValueProblem(
        what=f"the dose of {plain(pigment)}",
        found=f"{number_plain(dose)} {unit}",
        limit=f"a number from 0 to {number_plain(most)}",
    )


# The resin and the bases of a dose ------------------------------------------------------------------------------------


def no_density(resin: str, why: str) -> MeasureMissing:
    """A batch by volume of a resin whose density nobody told."""
    return MeasureMissing(
        where=f"resin {plain(resin)!r}",
        what=f"{why} needs its density, and neither density_g_per_cm3 of the resin nor of every part is given",
        remedy=Remedy.WRITE_THE_DENSITY,
    )


def no_parts(resin: str) -> NotThere:
    """A resin that does not say what it is mixed from."""
    return NotThere(
        where=f"resin {plain(resin)!r}", what="its parts and their weights are not given", remedy=Remedy.WRITE_THE_PARTS
    )
