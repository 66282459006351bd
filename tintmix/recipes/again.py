"""A kept recipe laid onto its model again: the places on the casting, their light, and what is behind them.

The recipe holds what was wanted and what was predicted; files that the target named (a glass piece's curve) may be gone by
then, and are not needed to weigh, to look or to adjust. Only a light or an insert that stands in a file is read again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.errors import Note
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.optics.detector import Light
from tintmix.optics.difference import delta_e00, residuals_with_slope
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.recipes.casting import CastPlace, changed_since_kept, kept_place
from tintmix.recipes.errors import unreadable_recipe
from tintmix.recipes.recipe_file import Recipe
from tintmix.recipes.search.aim import lay
from tintmix.recipes.target import Target, Triple, triple
from tintmix.recipes.target_file import target_from_table

_STEP = 0.02
"""Relative step of a dose by which the colours' slope is measured: small against any weighing, large against rounding."""
CHANGED_DELTA_E00 = 0.5
"""The same doses in the same model give the same colour; versions of this program differ by less than a tenth of this (measured
on the recipe of an earlier one), and an eye sees no less side by side (common practice)."""


@dataclass(frozen=True, slots=True)
class Places:
    """Where a recipe is looked at. target_lab: None where a place is only reported."""

    sections: tuple[Section, ...]
    light: str | Light
    observer: int
    target_lab: tuple[tuple[float, float, float] | None, ...]
    tolerance: tuple[float, ...]


def places_of(recipe: Recipe, model: TintModel, folder: Path, where: object = "recipe") -> Places:
    """The recipe's places. folder: where files stand that the target names. Raises FileProblem, ValueProblem."""
    # Each place stands with its predicted colour, so that the glass piece that spoke for it need not be at hand.
    target = target_again(recipe, folder, where, lambda own: "lab", without=("limits", "also_under"))
    aim = lay(model, target)
    wanted = [None if own.get("target_lab") is None else _lab(own, "target_lab", where) for own in recipe.sections]
    tolerance = tuple(one.tolerance for one in target.sections)
    return Places(aim.sections, target.light, target.observer, tuple(wanted), tolerance)


def moves(model: TintModel, places: Places, doses_phr: dict[str, float]) -> Array:
    """How the colours answer to the doses: the derivative of CIEDE2000's three residuals by the logarithm of each dose.

    (S, 3, P), pigments in the order of doses_phr. Then ΔE00 at place s ≈ |moves[s] @ relative errors|: central differences of
    the posterior mean colour, and the slope of the residuals at equal colours.
    """
    base = model.dose_vector(doses_phr)
    columns = [model.pigments.index(name) for name in doses_phr]
    steps = np.zeros((len(columns), len(base)))
    steps[np.arange(len(columns)), columns] = _STEP
    doses = np.concatenate([base[None], base * np.exp(steps), base * np.exp(-steps)])
    lab = model.look_many(doses, places.sections, places.light, places.observer).lab
    count = len(columns)
    by_dose = (lab[1 : 1 + count] - lab[1 + count :]) / (2 * _STEP)
    slope = residuals_with_slope(lab[0], lab[0])[1]
    return np.asarray(np.einsum("sij,psj->sip", slope, by_dose))


def target_again(
    recipe: Recipe,
    folder: Path | None,
    where: object,
    key_of: Callable[[Mapping[str, Any]], str | None],
    without: Sequence[str] = (),
) -> Target:
    """The recipe's target without its glass and these keys, each place with the colour that the recipe has of it.

    key_of: of a place in the recipe, the key of that colour; None: it has none. Raises FileProblem, and what is wrong with the
    target.
    """
    stated: Any = recipe.target.get("section")
    is_list = isinstance(stated, list) and all(isinstance(one, dict) for one in stated)
    if not is_list or len(stated) != len(recipe.sections):
        raise unreadable_recipe(where, "its target and its places do not go together")
    places = []
    for said, own in zip(stated, recipe.sections, strict=True):
        place = {key: value for key, value in said.items() if key not in ("lab", "xyz", "srgb")}
        if (key := key_of(own)) is not None:
            lightness, *rest = _lab(own, key, where)
            place["lab"] = [min(max(lightness, 0.0), 100.0), *rest]
        places.append(place)
    table = {key: value for key, value in recipe.target.items() if key not in ("glass", *without)}
    kept = kept_places(recipe, where)
    if len(kept) != sum("on" in place for place in places):
        raise unreadable_recipe(where, "its target and its casting do not go together")
    return target_from_table(table | {"section": places}, folder, plain(str(where), 300), kept)


def kept_places(recipe: Recipe, where: object = "recipe") -> list[CastPlace]:
    """The places of shapes that a recipe was found for. Raises FileProblem."""
    return [kept_place(one, where) for one in recipe.casting]


def changed_shapes(recipe: Recipe, folder: Path, where: object = "recipe") -> list[Note]:
    """What has become of the recipe's shapes, where they are in this folder. Raises FileProblem."""
    return changed_since_kept(kept_places(recipe, where), folder)


def doses_changed(recipe: Recipe, model: TintModel, places: Places, where: object = "recipe") -> list[Note]:
    """Where the doses are others than those that the recipe's own colours were worked out for: somebody changed them in the
    file. model: that of the recipe. Raises FileProblem."""
    kept = np.array([_lab(own, "lab", where) for own in recipe.sections])
    doses = model.dose_vector(dict(recipe.doses_phr))
    now = model.look_many(doses[None], places.sections, places.light, places.observer).lab[0]
    off = delta_e00(kept, now)
    worst = int(np.argmax(off))
    if off[worst] <= CHANGED_DELTA_E00:
        return []
    is_now = ", ".join(numeral(round(float(value), 1)) for value in now[worst])
    was = ", ".join(numeral(round(float(value), 1)) for value in kept[worst])
    name = plain(str(recipe.sections[worst].get("name", "")))
    says = (
        f"The recipe's doses are not those that its colours were worked out for: at {name} they give L*a*b* {is_now}, and it "
        f"says {was}. Somebody changed them in the file; if that is not so on purpose, find the recipe again."
    )
    return [Note(says=says)]


def _lab(section: Mapping[str, Any], key: str, where: object) -> Triple:
    try:
        return triple(section[key])
    except (KeyError, TypeError, ValueError):
        raise unreadable_recipe(where, f"the {key} of a place is not three numbers") from None
