"""What can be wrong with a target or a recipe's file, and is found in more than one place."""

from __future__ import annotations

from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.files.words import plain


def no_place(where: str) -> FileProblem:
    """A target without a place on the casting."""
    return FileProblem(where=where, what="it has no place", remedy=Remedy.GIVE_A_PLACE)


def unplaced(where: str, both: bool) -> ValueProblem:
    """A place that says neither how thick it is nor where on a shape, or both."""
    odd = "it has a thickness_mm, and is on a shape too" if both else "nothing says how thick it is"
    return ValueProblem(where=where, what=f"{odd}; a place has thickness_mm, or on (a shape) and seen (a place of it)")


def half_placed(where: str, on_a_shape: bool) -> ValueProblem:
    """A place that names a shape and no place of it, or the other way round."""
    says = 'on names the shape\'s file, such as "prism.shape.json", and seen a place of it, such as "deepest"'
    return ValueProblem(where=where, what=f"it has {'on' if on_a_shape else 'seen'} alone; {says}")


def insert_unpainted(where: str, shape: str) -> ValueProblem:
    """A place before a shape's insert of which nobody said the colour."""
    what = f"an insert is seen there, and nobody has said its colour, not in {shape} either"
    return ValueProblem(where=where, what=what, remedy=Remedy.SAY_THE_INSERTS_COLOUR)


def impossible_colour(where: str, colour: str, reason: str) -> ValueProblem:
    """A target colour that no transmitted light can have."""
    return ValueProblem(where=where, what=f"{colour} is no colour that it can have ({reason})")


def incomplete_insert(where: str, reason: str) -> ValueProblem:
    """A place before an insert whose colour is not given, or an insert without a section before it."""
    says = 'a place before an insert says behind = "insert" and one of insert_lab, insert_srgb, insert_spectrum'
    return ValueProblem(where=where, what=f"{reason}; {says}")


def incomplete_glass(reason: str) -> ValueProblem:
    """A glass piece that says too little about itself."""
    has = "thickness_mm and one of spectrum, lab, camera, or it has absorption (nm, and log10_per_mm or ln_per_mm)"
    return ValueProblem(where="glass", what=f"{reason}; a glass piece has {has}")


def limits_contradict(where: str, reason: str) -> ValueProblem:
    """Limits that leave nothing to choose from."""
    return ValueProblem(where=where, what=f"the limits contradict each other: {reason}")


def unreadable_recipe(where: object, reason: str) -> FileProblem:
    """A file that is not a recipe of this program."""
    what = f"not a recipe that can be read ({reason})"
    return FileProblem(where=plain(str(where), 300), what=what, remedy=Remedy.MAKE_RECIPE_AGAIN)
