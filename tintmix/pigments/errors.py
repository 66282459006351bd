"""What can be wrong with a model or a question put to it, and is found in more than one place."""

from __future__ import annotations

from collections.abc import Iterable

from tintmix.errors import ValueProblem


def unknown_pigment(pigment: str, known: Iterable[str]) -> ValueProblem:
    """A dose of a pigment that the model has never seen."""
    return ValueProblem(what=f"this model knows no pigment {pigment!r}; it knows {', '.join(known)}")
