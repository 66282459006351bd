"""Two revisions of a recipe side by side."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tintmix.book.book import open_book
from tintmix.desk.book.recipes import BookDone
from tintmix.errors import NotThere
from tintmix.files.words import plain
from tintmix.files.write import Where
from tintmix.numerals import length_mm
from tintmix.optics.difference import delta_e00

_WHERE = ("thickness_mm", "behind", "straight_mm", "path_mm")
"""What makes a place the same place."""


def compare(name: str, first: int | None = None, second: int | None = None, book: Where | None = None) -> BookDone:
    """Two revisions of a recipe, the last two where none are named: doses, ΔE00 at the places, and what else differs.

    The colours are those that each revision predicted, by its own model, and are compared where both did at the same thickness,
    or by the same paths, under the same light. Raises NotThere.
    """
    with open_book(book, create=False) as opened:
        known = opened.revisions(name)
        second = known[-1].revision if second is None else second
        if first is None:
            first = max((one.revision for one in known if one.revision < second), default=None)
            if first is None:
                what = f"recipe {plain(name)!r} has one revision, so there is nothing to compare it with"
                raise NotThere(what=what)
        one, other = opened.recipe(name, first), opened.recipe(name, second)
    a, b = one.recipe, other.recipe
    pigments = dict.fromkeys((*a.doses_phr, *b.doses_phr))
    doses = []
    for pigment in pigments:
        before, after = a.doses_phr.get(pigment, 0.0), b.doses_phr.get(pigment, 0.0)
        change = None if before == 0 else 100 * (after / before - 1)
        doses.append({"pigment": pigment, "first_phr": before, "second_phr": after, "change_percent": change})
    same_light = all(a.target.get(key) == b.target.get(key) for key in ("light", "observer"))
    told = ("resin", "target", "lots", "model", "chips")
    changed = [key for key in told if getattr(a, key) != getattr(b, key)]
    model = "The two come from different models, so part of the difference in colour is what was learnt in between."
    light = "The two were made for different lights or observers, so their colours are not compared."
    body = {
        "name": name,
        "first": one.stamp,
        "second": other.stamp,
        "doses": doses,
        "total_phr": {"first": a.total_phr, "second": b.total_phr},
        "sections": _sections(a.sections, b.sections, same_light),
        "changed": changed,
        "lots": {"first": dict(a.lots), "second": dict(b.lots)},
        "says": [model] * (a.model != b.model) + [light] * (not same_light),
    }
    return BookDone(body)


def _sections(first: Any, second: Any, same_light: bool) -> list[dict[str, Any]]:
    before: Mapping[str, Any] = {str(section["name"]): section for section in first}
    after: Mapping[str, Any] = {str(section["name"]): section for section in second}
    rows = []
    for name in dict.fromkeys((*before, *after)):
        a, b = before.get(name), after.get(name)
        apart = None
        if a and b and same_light and all(a.get(key) == b.get(key) for key in _WHERE):
            apart = float(delta_e00(np.array(a["lab"], dtype=np.float64), np.array(b["lab"], dtype=np.float64)))
        rows.append({
            "name": name,
            "first_mm": a and length_mm(a), "second_mm": b and length_mm(b),
            "first_lab": a and list(a["lab"]), "second_lab": b and list(b["lab"]),
            "delta_e00": apart,
        })  # fmt: skip
    return rows
