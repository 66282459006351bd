"""What cups and chips are called: cups by what is in them, chips by their cup and thickness."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from tintmix.numerals import numeral

CLEAR = "clear"
"""The untinted cup."""
_LONGEST = 60
"""Letters of a cup's name: with its thickness a chip's is at most 80 (`chip_name_problem`)."""
_THICKNESS = re.compile(r" \d+(\.\d+)? mm$")


def chip_name(cup: str, thickness_mm: float) -> str:
    """A chip by its cup and thickness.

    >>> chip_name("azure+emerald-1", 12.5)
    'azure+emerald-1 12.5 mm'
    """
    return f"{cup} {numeral(thickness_mm)} mm"


def cup_in(chip: str) -> str:
    """The cup in a chip's name, or the name as it is.

    >>> cup_in("clear 3 mm"), cup_in("b1")
    ('clear', 'b1')
    """
    return _THICKNESS.sub("", chip)


def cup_names(
    pigments: Sequence[str], doses_phr: Sequence[Sequence[float]], taken: Collection[str] = ()
) -> tuple[str, ...]:
    """A name for each cup by the pigments in it, counted where there are several; none that is taken.

    Cups of one name would be taken for the same cup when their sets are fitted together. The untinted one has a number only
    where there is another.

    >>> cup_names(["azure", "rose"], [(0, 0), (0.02, 0), (0.04, 0), (0.02, 0.01)], taken=["azure-1"])
    ('clear', 'azure-2', 'azure-3', 'azure+rose-1')
    >>> cup_names(["azure"], [(0,)], taken=["clear"])
    ('clear-2',)
    """
    used, out = set(taken), []
    for doses in doses_phr:
        held = [pigment for pigment, dose in zip(pigments, doses, strict=True) if dose > 0]
        each = _LONGEST // max(1, len(held)) - 4
        stem = "+".join(name[:each].strip() for name in held) or CLEAR
        name, number = (f"{stem}-1", 1) if held else (stem, 1)
        while name in used:
            number += 1
            name = f"{stem}-{number}"
        used.add(name)
        out.append(name)
    return tuple(out)


def pigment_name_problem(name: str) -> str:
    """Why this cannot be a pigment's name; empty where it can. It heads a column, and stands before "="."""
    if not name or name != name.strip():
        return "must not be empty or end in spaces"
    if len(name) > 60:
        return "must not be longer than 60 characters"
    if not name.isprintable() or any(c in name for c in ",;=\"'"):
        return "must be printable and hold no comma, semicolon, quote or equals sign"
    return ""


def chip_name_problem(name: str) -> str:
    """Why this cannot be the name of a chip or a cup; empty where it can."""
    if not name or name != name.strip():
        return "must not be empty or end in spaces"
    if len(name) > 80 or not name.isprintable():
        return "must be printable and at most 80 characters"
    return ""
