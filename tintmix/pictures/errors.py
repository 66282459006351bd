"""What can be wrong with what a picture is asked to show."""

from __future__ import annotations

from tintmix.errors import NotThere, Remedy, ValueProblem


def nothing_to_show(picture: str, missing: str) -> NotThere:
    """A picture of nothing."""
    return NotThere(where=picture, what=f"there is nothing to show, since {missing}")


def too_many_sections(picture: str, count: int, limit: int) -> ValueProblem:
    """More sections than fit side by side."""
    what = f"{count} places do not fit side by side, {limit} do"
    return ValueProblem(where=picture, what=what, remedy=Remedy.DRAW_TWO_PICTURES)


def not_one_each(what: str, given: int, sections: int) -> ValueProblem:
    """Targets or tolerances that are not one for each section."""
    return ValueProblem(
        what=f"{given} {what} are given for {sections} places; give one for each, none where a place has none"
    )
