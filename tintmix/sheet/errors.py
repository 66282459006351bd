"""What can be wrong on the way to a batch sheet, beyond what scales and bottles say in weighing/errors.py."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tintmix.errors import NotThere, Remedy, ValueProblem
from tintmix.files.words import did_you_mean, plain
from tintmix.numerals import listed, numeral


def batch_not_said() -> ValueProblem:
    """A sheet without the size of its batch."""
    return ValueProblem(what="how much resin is not said", remedy=Remedy.SAY_THE_BATCH)


def batch_said_twice(given: Sequence[str]) -> ValueProblem:
    """A batch told in two ways."""
    many = "both" if len(given) == 2 else "all"
    return ValueProblem(what=f"{listed(given)} {many} say how much resin", remedy=Remedy.GIVE_ONE_OF_THEM)


def waste_of_batch() -> ValueProblem:
    """A waste allowance on a batch that is told in grams."""
    return ValueProblem(
        what="waste is allowed for beside a batch in grams, which is mixed as it stands",
        remedy=Remedy.LEAVE_OUT_THE_WASTE,
    )


def no_resin(where: object) -> NotThere:
    """A recipe that does not hold its resin."""
    return NotThere(
        where=where,
        what="the recipe does not hold its resin, so its parts are not known",
        remedy=Remedy.GIVE_THE_RESIN,
    )


def one_cup_recipe(where: object, dose_phr: float) -> ValueProblem:
    """A recipe of a one-cup model: nobody knows what was in the cup."""
    return ValueProblem(
        where=plain(str(where), 300),
        what="its one pigment is the whole mix of a cup, which no bottle holds",
        remedy=Remedy.TAKE_THE_CUP_AS_UNIT,
        times=numeral(dose_phr, 4),
    )


def sheet_ending(where: object) -> ValueProblem:
    """A sheet whose kind the file's ending does not tell."""
    return ValueProblem(where=where, what="a batch sheet is written as .pdf or .txt, by the ending of its name")


def lot_of_nothing(pigment: str, known: Iterable[str]) -> ValueProblem:
    """A lot of a pigment that the recipe does not use."""
    known = list(known)
    told = f"; {did_you_mean(pigment, known)}" if known else ", which has none"
    return ValueProblem(
        where=f"the lot of {plain(pigment)}", what=f"the recipe uses no pigment {plain(pigment)!r}{told}"
    )


def revision_of_file(where: object) -> ValueProblem:
    """A revision asked of a recipe file, which is one."""
    return ValueProblem(
        where=where, what="is a recipe file, which has no revisions", remedy=Remedy.LEAVE_OUT_THE_REVISION
    )


def recipe_nowhere(name: object) -> NotThere:
    """A recipe that is neither a file nor in the book."""
    return NotThere(
        where=plain(str(name), 300),
        what="there is no such file, and no recipe of that name in the book",
        remedy=Remedy.NAME_A_KEPT_RECIPE,
    )
