"""What can be wrong with what a picture is asked to show."""

from __future__ import annotations

from collections.abc import Sized

from tintmix.errors import NotThere, Remedy, ValueProblem


def check_count(picture: str, sections: Sized, most: int) -> None:
    """That there is a place to show, and not more than fit side by side. Raises NotThere, ValueProblem."""
    if not len(sections):
        raise nothing_to_show(picture, "no place is given")
    if len(sections) > most:
        what = f"{len(sections)} places do not fit side by side, {most} do"
        raise ValueProblem(where=picture, what=what, remedy=Remedy.DRAW_TWO_PICTURES)


def nothing_to_show(picture: str, missing: str) -> NotThere:
    """A picture of nothing."""
    return NotThere(where=picture, what=f"there is nothing to show, since {missing}")


def not_one_each(what: str, given: int, sections: int) -> ValueProblem:
    """Targets or tolerances that are not one for each section."""
    return ValueProblem(
        what=f"{given} {what} are given for {sections} places; give one for each, none where a place has none"
    )
