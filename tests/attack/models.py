"""Model files that somebody edited: one value anywhere in them is another, of its kind or of none."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

from tests.attack.inputs import Chance

VALUES: tuple[Any, ...] = (
    0,
    -1,
    1,
    0.0,
    1e-300,
    1e300,
    -1e300,
    10**400,
    float("nan"),
    "",
    "x",
    "a" * 3000,
    "\ud800",
    None,
    True,
    [],
    {},
    [[]],
    [1, 2],
)
LINES = (
    ("look", "model.json", "--dose=azure=0.02", "--at=8", "--at=60", "--json"),
    ("solve", "model.json", "target.toml", "--json"),
    ("plan", "out/plan", "--model=model.json", "--at=8", "--at=60", "--cups=2", "--json"),
    ("lot", "model.json", "--dose=azure=0.06", "--at=12", "--lab=72,-10,-12", "--json"),
)  # fmt: skip


def changed(table: dict[str, Any], chance: Chance) -> tuple[str, str]:
    """The file's text with one value changed, and what was changed."""
    other = copy.deepcopy(table)
    places = list(_places(other))
    # As often at the top as in the long lists of numbers.
    depth = chance.draw.choice(sorted({len(path) for path, _, _ in places}))
    path, owner, key = chance.draw.choice([one for one in places if len(one[0]) == depth])
    was, value = owner[key], chance.draw.choice(VALUES)
    if isinstance(was, str) and chance.happens(0.3):
        value = was[: len(was) // 2] + "A" + was[len(was) // 2 + 1 :]
    if isinstance(was, float) and chance.happens(0.5):
        value = was * chance.draw.choice((-1, 10, 1e3, 1e6, 1e-6, 1e12, 1e-12))
    if isinstance(owner, dict) and chance.happens(0.1):
        del owner[key]
    else:
        owner[key] = value
    return json.dumps(other), f"{'.'.join(map(str, path))} = {str(value)[:40]!r}"


def _places(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any, Any]]:
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield (*path, key), value, key
        yield from _places(value[key], (*path, key))
