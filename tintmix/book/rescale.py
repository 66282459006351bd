"""A kept recipe for another mixing ratio or another lot: a new value; the recipe that is kept stays as it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tintmix.book.errors import cannot_be, pigment_not_in_recipe
from tintmix.book.values import check_text
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import numeral

if TYPE_CHECKING:
    from tintmix.recipes.recipe_file import Recipe
    from tintmix.resin import Resin


@dataclass(frozen=True, slots=True)
class Rescaled:
    """A recipe for another ratio or lot.

    recipe: the new value; its doses stand, since they are in g per 100 g of *mixed* resin, of the pigment of the chips.
    weighed_phr: what to weigh of each pigment's lot for that, dose/strength. says: what changed, a sentence each.
    """

    recipe: Recipe
    weighed_phr: Mapping[str, float]
    says: tuple[str, ...]


def rescaled(
    recipe: Recipe,
    resin: Resin | None = None,
    lots: Mapping[str, str] | None = None,
    strengths: Mapping[str, float] | None = None,
) -> Rescaled:
    """A recipe for another resin ratio and for other lots.

    A lot of strength s (1: as the pigment of the chips) is weighed as dose/s: C₁V₁ = C₂V₂ by mass. strengths: of each
    pigment's lot in use; 1 where it is not named. Raises ValueProblem.
    """
    lots, strengths = dict(lots or {}), dict(strengths or {})
    if resin is None and not lots:
        raise ValueProblem(
            where=f"recipe {plain(recipe.name)!r}",
            what="neither another resin nor another lot is given, so nothing would change",
            remedy=Remedy.SAY_WHAT_CHANGES,
        )
    for pigment in (*lots, *strengths):
        if pigment not in recipe.doses_phr:
            raise pigment_not_in_recipe(recipe.name, pigment, recipe.doses_phr)
    says = []
    new = recipe
    if resin is not None:
        new = replace(new, resin=resin)
        says += _of_resin(recipe, resin)
    weighed = {}
    for pigment, dose in recipe.doses_phr.items():
        strength = strengths.get(pigment, 1.0)
        if not (math.isfinite(strength) and strength > 0):
            raise cannot_be(f"the strength of {pigment}", strength, "above 0")
        weighed[pigment] = dose / strength
    for pigment, lot in lots.items():
        check_text("lot", lot, 1, 120)
        dose, known = recipe.doses_phr[pigment], strengths.get(pigment)
        before = recipe.lots.get(pigment, "")
        was = f" instead of {before}" if before and before != lot else ""
        asked = numeral(dose, 4)
        told = f". The book knows no strength of it, so it is weighed as it stands, {asked} phr; pour its check chip first."
        if known is not None:
            told = (
                f", strength {numeral(known, 4)}. Weigh {asked}/{numeral(known, 4)} = {numeral(weighed[pigment], 4)} phr of "
                f"it, which colours like {asked} phr of the chips' pigment."
            )
        says.append(f"{pigment}: lot {lot}{was}{told}")
    if lots:
        new = replace(new, lots={**recipe.lots, **lots})
    return Rescaled(new, weighed, tuple(says))


def _of_resin(recipe: Recipe, resin: Resin) -> list[str]:
    says = ["The doses stay as they are: they are g per 100 g of mixed resin, all parts, whatever the ratio."]
    total = math.fsum(part.parts_by_weight for part in resin.parts)
    for part in resin.parts:
        if part.name == resin.takes_pigment:
            share = part.parts_by_weight / total
            each = ", ".join(f"{pigment} {numeral(dose / share, 4)}" for pigment, dose in recipe.doses_phr.items())
            says.append(
                f"Part {part.name}, which takes the pigment, is {100 * share:.4g} g of each 100 g mixed; "
                f"for 100 g of part {part.name} alone: {each} g."
            )
    old = recipe.resin
    if old is not None and (old.name, old.refractive_index) != (resin.name, resin.refractive_index):
        says.append(
            f"The chips were poured in {old.name}, refractive index {numeral(old.refractive_index)}; this is {resin.name}, "
            f"{numeral(resin.refractive_index)}. Another resin has its own colour: pour a trial chip before you "
            "trust the prediction."
        )
    if resin.max_total_phr is not None and recipe.total_phr > resin.max_total_phr:
        says.append(
            f"The recipe holds {numeral(recipe.total_phr, 4)} phr in all, and this resin takes at most "
            f"{numeral(resin.max_total_phr)}: "
            "do not pour it so."
        )
    return says
