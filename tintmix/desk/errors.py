"""What can be wrong with where an answer should go, with an insert, and with the demo."""

from __future__ import annotations

from tintmix.errors import InUse, Remedy, ValueProblem


def not_ours(where: object) -> InUse:
    """A file in the tour's way that the tour did not write."""
    return InUse(
        where=where,
        what="is there already, and the tour did not write it as it is now, so it is left alone",
        remedy=Remedy.ANOTHER_FOLDER_FOR_THE_TOUR,
    )


def folder_taken(where: object, why: str) -> InUse:
    """A place for a new chip set where something is already."""
    return InUse(where=where, what=f"is taken ({why}), and a plan overwrites nothing", remedy=Remedy.NAME_A_NEW_FOLDER)


def bad_insert(insert: str, what: str = "it is no colour that an insert can have") -> ValueProblem:
    """An insert whose colour is none."""
    return ValueProblem(where=f"insert {insert}", what=what, remedy=Remedy.COLOUR_OF_AN_INSERT)
