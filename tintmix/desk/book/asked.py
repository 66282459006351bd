"""Whether what was weighed for a pour can be what its recipe asks, or is a slip of the point, the unit or the line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from contextlib import suppress

from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.recipes.adjust.pot import stock_of
from tintmix.recipes.recipe_file import Recipe
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.weighed import part_named

FAR = 10.0
"""A weight this many times what is asked, or this part of it, is a slip: lots differ by less, and so do scales."""


def check_as_asked(
    recipe: Recipe,
    batch_g: float | None,
    weights_g: Mapping[str, float],
    bottles: Iterable[StockBottle] = (),
    strengths: Mapping[str, tuple[float, float]] | None = None,
) -> None:
    """Raises ValueProblem for a part or a pigment, neat and from bottles together, of which FAR times more or less was weighed.

    batch_g: None: as the weighed parts of the resin make it; where nothing tells it, nothing can be told. bottles: those of the
    book; others go by their names, as "azure 1+50" does. strengths: of the lots, by which a sheet divides the dose. What is
    neither a part nor a pigment of the recipe is not looked at.
    """
    known, shares = {bottle.name: bottle for bottle in bottles}, _shares(recipe)
    grams = dict.fromkeys(recipe.doses_phr, 0.0)
    said: dict[str, list[str]] = {}
    carried: dict[str, float] = {}
    takes = None if recipe.resin is None else recipe.resin.takes_pigment
    doubtful = set()
    for name, weight in weights_g.items():
        stock = known.get(name) or _by_name(name, recipe)
        if name in shares:
            # A part may be called like a pigment or a bottle: which it was, nobody says.
            if stock is not None or name in grams:
                doubtful.add(name)
            continue
        pigment, share = (name, 1.0) if stock is None else (stock.pigment, stock.share)
        if pigment in grams:
            grams[pigment] += weight * share
            said.setdefault(pigment, []).append(name)
            carrier = takes if stock is None or not stock.carrier else stock.carrier
            carried[carrier or ""] = carried.get(carrier or "", 0.0) + weight * (1 - share)
    parts = {
        part: weights_g[part] + carried.get(part, 0.0) for part in shares if part in weights_g and part not in doubtful
    }
    batch = batch_g or (math.fsum(parts.values()) / math.fsum(shares[part] for part in parts) if parts else 0.0)
    if not batch:
        return
    for part, weight in parts.items():
        check_near(part_named(part), weight, batch * shares[part])
    for pigment, names in said.items():
        factor = (strengths or {}).get(pigment, (1.0, 0.0))[0]
        where = pigment if names == [pigment] else f"{pigment} in {', '.join(names)}"
        check_near(plain(where), grams[pigment], batch * recipe.doses_phr[pigment] / 100 / factor)


def _by_name(name: str, recipe: Recipe) -> StockBottle | None:
    with suppress(ValueProblem):  # a ratio that is none
        return stock_of(name, [*recipe.doses_phr])
    return None


def _shares(recipe: Recipe) -> dict[str, float]:
    parts = () if recipe.resin is None else recipe.resin.parts
    total = math.fsum(part.parts_by_weight for part in parts)
    return {part.name: part.parts_by_weight / total for part in parts}


def check_near(what: str, weighed_g: float, asked_g: float) -> None:
    """Raises ValueProblem for one weight that is FAR from what was asked for; nothing asked: nothing to tell."""
    if asked_g > 0 and not asked_g / FAR <= weighed_g <= asked_g * FAR:
        raise ValueProblem(
            what=f"of {what} {numeral(weighed_g, 4)} g were weighed, and {numeral(asked_g, 4)} g are asked for in this batch",
            remedy=Remedy.SAY_AS_WEIGHED,
        )
