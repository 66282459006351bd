"""Two revisions of a recipe side by side."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tintmix.book.recipes import KeptRecipe
from tintmix.optics.difference import delta_e00


def compared(one: KeptRecipe, other: KeptRecipe) -> dict[str, Any]:
    """The body of the answer. ΔE00 of the colours that each predicted, where both did at the same thickness under
    the same light; None elsewhere."""
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
    return {
        "name": one.name,
        "first": one.stamp,
        "second": other.stamp,
        "doses": doses,
        "total_phr": {"first": a.total_phr, "second": b.total_phr},
        "sections": _sections(a.sections, b.sections, same_light),
        "changed": changed,
        "lots": {"first": dict(a.lots), "second": dict(b.lots)},
        "says": _says(a.model == b.model, same_light),
    }


def _sections(first: Any, second: Any, same_light: bool) -> list[dict[str, Any]]:
    before: Mapping[str, Any] = {str(section["name"]): section for section in first}
    after: Mapping[str, Any] = {str(section["name"]): section for section in second}
    rows = []
    for name in dict.fromkeys((*before, *after)):
        a, b = before.get(name), after.get(name)
        apart = None
        if a and b and same_light and a["thickness_mm"] == b["thickness_mm"] and a.get("behind") == b.get("behind"):
            apart = float(delta_e00(np.array(a["lab"], dtype=np.float64), np.array(b["lab"], dtype=np.float64)))
        rows.append({
            "name": name,
            "first_mm": a and a["thickness_mm"], "second_mm": b and b["thickness_mm"],
            "first_lab": a and list(a["lab"]), "second_lab": b and list(b["lab"]),
            "delta_e00": apart,
        })  # fmt: skip
    return rows


def _says(same_model: bool, same_light: bool) -> list[str]:
    model = "The two come from different models, so part of the difference in colour is what was learnt in between."
    light = "The two were made for different lights or observers, so their colours are not compared."
    return [model] * (not same_model) + [light] * (not same_light)
