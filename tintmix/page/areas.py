"""What the areas of the page's list are called, and what each holds: its shape, so that a list that was changed otherwise is
found to be damaged before any screen is made of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

WORDS = {
    "settings": "the settings",
    "part": "the places on the casting",
    "casting": "the casting",
    "chips": "the chip sets",
    "pigments": "what is known of the pigments",
    "tint": "the doses",
    "recipes": "the target and the recipes",
    "sheet": "the batch sheet",
    "trial": "the trial",
    "lot": "the check chip of a lot",
    "book": "the book",
    "resins": "the resins",
}
"""By area, as a sentence names it."""
_THING = (str, type(None))
"""The name of a kept thing, or nothing yet."""
_SHAPES: Mapping[str, Mapping[str, Any]] = {
    "part": {"places": ("name",), "light": str},
    "casting": {"body": dict, "insert": (dict, type(None)), "seen": dict, "shape": _THING, "notes": list},
    "chips": {
        "sets": ("id", "thing"), "active": _THING, "instrument": dict, "photos": dict, "plans": dict, "laid": dict,
    },
    "pigments": {"model": _THING, "from": dict, "names": list},
    "tint": {"doses": dict},
    "recipes": {"target": (dict, type(None)), "answer": _THING, "kept": ("name", "thing"), "chosen": _THING},
    "sheet": {
        "recipe": _THING, "model": _THING, "asked": dict, "sheet": _THING, "ticks": list, "weights": dict, "notes": dict,
        "shelved": ("name",), "book": (dict, type(None)),
    },
    "trial": {"asked": dict, "answer": _THING, "rounds": list, "kept_lots": dict},
    "lot": {"asked": dict, "answer": _THING, "kept": list},
    "resins": {"kept": ("name", "thing"), "newest": _THING},
}  # fmt: skip
"""By area and key the kinds of its value, or, of a list of tables, the texts that each of them has; what is not named here may be
anything, and what is not there is not there yet."""


def checked_area(name: str, area: Any) -> dict[str, Any]:
    """The area, where each value is of its kind. Raises TypeError.

    >>> checked_area("chips", {"sets": [{"id": "a", "thing": "a"}]})
    {'sets': [{'id': 'a', 'thing': 'a'}]}
    >>> checked_area("chips", {"sets": 5})
    Traceback (most recent call last):
    TypeError: chips: sets
    """
    if not isinstance(area, dict):
        raise TypeError(name)
    for key, shape in _SHAPES.get(name, {}).items():
        if key in area and not _is(area[key], shape):
            raise TypeError(f"{name}: {key}")
    return dict(area)


def _is(value: Any, shape: Any) -> bool:
    kinds = shape if isinstance(shape, tuple) else (shape,)
    if isinstance(kinds[0], str):
        return isinstance(value, list) and all(
            isinstance(row, dict) and all(isinstance(row.get(key), str) for key in kinds) for row in value
        )
    return isinstance(value, kinds)
