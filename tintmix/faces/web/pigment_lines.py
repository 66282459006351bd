"""Pigments as makers type them: by name, a line each, with a dose where one is known. A name may hold blanks."""

from __future__ import annotations

import re

from tintmix.faces.web import units
from tintmix.page.errors import not_typed
from tintmix.quantities import DOSE_PHR

_PARTED = re.compile(r"[;\n]|,(?=\s*[^\W\d])")
"""Between two pigments: a comma before a letter parts them too, one before a digit belongs to a dose."""
_DOSE = re.compile(r"[+-]?(\d+|\d*[.,].*)")
"""A word that is meant as a number. "2B" is none: it ends many a pigment's name."""
_DECIMAL = re.compile(r"\d*[.,]\d+")


def names_of(text: str) -> list[str]:
    """Pigments by name alone. Raises ValueProblem where a dose stands with them, or two have one name.

    >>> names_of("deep blue, deep red")
    ['deep blue', 'deep red']
    """
    found: dict[str, str] = {}
    for line in _lines(text):
        _put(found, line.strip(" ,"), "", "Type the names alone, such as azure, emerald; each cup has its doses.")
    return list(found)


def doses_of(text: str) -> dict[str, float | None]:
    """Pigments with the dose meant for the casting, where it is known. The dose is the last word, where it is a number, or
    stands behind an equals sign or a colon. Raises ValueProblem.

    >>> doses_of("deep blue 0,03\\ndeep red 0,02; smoke brown, azure = 0.02 phr")
    {'deep blue': 0.03, 'deep red': 0.02, 'smoke brown': None, 'azure': 0.02}
    """
    found: dict[str, str] = {}
    for line in _lines(text):
        said = re.sub(r"(?<=[\d ])phr$", "", line.rstrip(" ,"), flags=re.IGNORECASE).strip()
        name, sign, dose = re.sub(r"[=:]", "=", said).partition("=")
        if not sign:
            name, _, dose = said.rpartition(" ")
            if not name or not _DOSE.fullmatch(dose):
                name, dose = said, ""
        _put(found, name.strip(" ,"), dose, "Type each in a line of its own, its name first, such as azure 0.02.")
    if not found:
        raise not_typed("the pigments", "", "Type each in a line, such as azure, or azure 0.02.")
    return {
        name: units.number(dose, f"the dose of {name}", *DOSE_PHR.bounds) if dose else None
        for name, dose in found.items()
    }


def _lines(text: str) -> list[str]:
    return [line for part in _PARTED.split(text) if (line := " ".join(part.split()))]


def _put(found: dict[str, str], name: str, dose: str, wanted: str) -> None:
    if not name or any(_DECIMAL.fullmatch(word.strip(",")) for word in name.split()):
        raise not_typed("the pigments", name or dose, wanted)
    if name.casefold() in {other.casefold() for other in found}:
        raise not_typed("the pigments", name, "Two have this name; type it once, or give each its own.")
    found[name] = dose
