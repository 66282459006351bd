"""What can be wrong with a model or a question put to it, and is found in more than one place."""

from __future__ import annotations

from collections.abc import Iterable

from tintmix.errors import FileProblem, Remedy, ValueProblem


def unknown_pigment(pigment: str, known: Iterable[str]) -> ValueProblem:
    """A dose of a pigment that the model has never seen."""
    return ValueProblem(what=f"this model knows no pigment {pigment!r}; it knows {', '.join(known)}")


def sets_disagree(what: str, first: object, second: object) -> FileProblem:
    """Two sets of one fit differ in what they must share."""
    return FileProblem(
        what=f"the chip sets of one fit must share the {what}, but one says {first} and another {second}",
        remedy=Remedy.FIT_SETS_APART,
    )


def unreadable_model(where: object, reason: str) -> FileProblem:
    """A file that is not a model of this program."""
    return FileProblem(where=where, what=f"not a tintmix model that can be read ({reason})", remedy=Remedy.FIT_AGAIN)
