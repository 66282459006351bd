"""What can go wrong when a recipe meets a scale: scales, batches, bottles, dose bases."""

from __future__ import annotations

from tintmix.errors import NotThere, Remedy, ValueProblem
from tintmix.files.words import plain


class MeasureMissing(ValueProblem):
    """A number that a conversion needs and nobody gave."""


class CannotBeWeighed(ValueProblem):
    """An amount that no scale at hand can weigh."""


def no_parts(resin: str) -> NotThere:
    """A resin that does not say what it is mixed from."""
    return NotThere(
        where=f"resin {plain(resin)!r}", what="its parts and their weights are not given", remedy=Remedy.WRITE_THE_PARTS
    )
