"""What can be wrong with a question about a trial that came out off, or about a new lot, and is found in more than one place."""

from __future__ import annotations

from tintmix.errors import Remedy, ValueProblem


def not_one_reading_each(thicknesses: int, readings: int) -> ValueProblem:
    """No reading, or a number of them that does not go with the thicknesses."""
    return ValueProblem(
        what=f"{thicknesses} thickness{'es' if thicknesses != 1 else ''} and {readings} reading"
        f"{'s' if readings != 1 else ''} of a trial do not go together",
        remedy=Remedy.GIVE_ONE_READING_EACH,
    )


def one_cup_only() -> ValueProblem:
    """A model that knows the mix as a whole only."""
    return ValueProblem(
        what="this model knows one cup as a whole, not its pigments, so it cannot say which of them to add",
        remedy=Remedy.LEARN_EACH_PIGMENT,
    )
