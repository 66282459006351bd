"""Whether what was weighed for a pour can be what its recipe asks, or is a slip of the point, the unit or the line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from contextlib import suppress

from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import listed, numeral
from tintmix.recipes.adjust.pot import stock_of
from tintmix.recipes.recipe_file import Recipe
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.slip import FAR, Put, check_near, check_of_one_batch, factor_of
from tintmix.weighing.weighed import part_named


def check_as_asked(
    recipe: Recipe,
    batch_g: float | None,
    weights_g: Mapping[str, float],
    bottles: Iterable[StockBottle] = (),
    strengths: Mapping[str, tuple[float, float]] | None = None,
) -> None:
    """Raises ValueProblem for a part or a pigment, neat and from bottles together, of which far more or less was weighed.

    batch_g: None: each is held against what the others make; of one weight alone nothing can be told. bottles: those of the
    book; others go by their names, as "azure 1+50" does. strengths: of the lots, by which a sheet divides the dose. `check_known`
    looks at what is neither.
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
    puts = []
    for part, share in shares.items():
        if part in weights_g and part not in doubtful:
            puts.append(Put(part_named(part), weights_g[part] + carried.get(part, 0.0), share))
    for pigment, names in said.items():
        factor = (strengths or {}).get(pigment, (1.0, 0.0))[0]
        where = pigment if names == [pigment] else f"{pigment} in {', '.join(names)}"
        puts.append(Put(plain(where), grams[pigment], recipe.doses_phr[pigment] / 100 / factor))
    if batch_g is None:
        check_of_one_batch(puts)
        return
    puts = [put._replace(asked_g=put.asked_g * batch_g) for put in puts]
    larger = factor_of(puts)
    if not 1 / FAR <= larger <= FAR:
        raise ValueProblem(
            what=f"what was weighed makes a batch of {numeral(larger * batch_g, 3)} g, and the batch is said to have had "
            f"{numeral(batch_g)} g",
            remedy=Remedy.SAY_AS_WEIGHED,
        )
    for put in puts:
        check_near(put)


def check_known(recipe: Recipe, names: Iterable[str], bottles: Iterable[StockBottle] = ()) -> None:
    """Raises ValueProblem for what is no part of the recipe's resin, no pigment of it and no bottle of one, to the letter: "a"
    for "A" would be weighed of nothing that anybody knows. Where the resin does not say its parts, nobody can tell."""
    known, shares = {bottle.name: bottle for bottle in bottles}, _shares(recipe)
    for name in names if shares else ():
        stock = known.get(name) or _by_name(name, recipe)
        if name not in shares and (name if stock is None else stock.pigment) not in recipe.doses_phr:
            of = "" if stock is None else f", a bottle of {plain(stock.pigment)},"
            what = (
                f"{plain(name)!r}{of} is neither a part of the recipe's resin ({listed(map(plain, shares))}) nor a pigment of it "
                f"({listed(map(plain, recipe.doses_phr)) or 'it is untinted'}), nor a stock bottle of one"
            )
            raise ValueProblem(what=what, remedy=Remedy.WRITE_AS_THE_RECIPE)


def _by_name(name: str, recipe: Recipe) -> StockBottle | None:
    with suppress(ValueProblem):  # a ratio that is none
        return stock_of(name, [*recipe.doses_phr])
    return None


def _shares(recipe: Recipe) -> dict[str, float]:
    parts = () if recipe.resin is None else recipe.resin.parts
    total = math.fsum(part.parts_by_weight for part in parts)
    return {part.name: part.parts_by_weight / total for part in parts}
