"""A trial that came out off: what to do about the tinted part."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tintmix.book.book import Book, book_to_ask
from tintmix.desk.bench.kept_recipe import find_recipe, lot_of_the_chips, lots_in_hand, model_for
from tintmix.desk.bench.trial_reading import TrialReading, read_trial
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.write import Where
from tintmix.pigments.model import TintModel
from tintmix.quantities import BATCH_G
from tintmix.recipes.adjust.belief import LOT_SPREAD, Trial, lots_of
from tintmix.recipes.adjust.decide import adjust, aimed, falls_short
from tintmix.recipes.adjust.pot import (
    Shares,
    TintedPart,
    as_weighed,
    check_left,
    shares_of,
    stock_of,
)
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import read_resin
from tintmix.sheet.cautions import cautions_for, cautions_table, hazards_unsaid
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import USUAL, Bench, scales_from_text
from tintmix.weighing.slip import Put, check_near

_AS_STRONG = 0.05
"""A bottle whose measured strength is within this of the lot's may top it up."""


@dataclass(frozen=True, slots=True)
class History:
    """What was done. left_g: tinted part in the pot now. pot_g: what the pot holds. weighed: a pigment or a letdown, and
    grams; what is not named was weighed as the batch sheet asks. part_g: of the part that takes pigment, weighed besides the
    letdowns; batch_g: or the batch that the sheet was made for. mixed_minutes_ago: None: not mixed yet. stocks: bottles that the
    pot was tinted from, as they were really made; they count before those of the book and what their names say. as_weighed: it
    was weighed so, though it is far from what the recipe asks. used: taken from bottles of the book since the book was told last,
    in g."""

    left_g: float
    pot_g: float | None = None
    weighed: tuple[tuple[str, float], ...] = ()
    part_g: float | None = None
    batch_g: float | None = None
    mixed_minutes_ago: float | None = None
    stocks: tuple[StockBottle, ...] = ()
    as_weighed: bool = False
    used: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Shop:
    """What is known beside the recipe. strengths: of lots, pigment → (factor, relative spread), over what the book says.
    prices: per gram, by pigment, and "resin"."""

    scales: tuple[str, ...] = ()
    strengths: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    lot_spread: float = LOT_SPREAD
    lots: Mapping[str, str] = field(default_factory=dict)
    also: tuple[str, ...] = ()
    prices: Mapping[str, float] = field(default_factory=dict)
    need_g: float | None = None
    book: Where | None = None


def adjust_for(
    recipe: Where,
    trial: TrialReading,
    history: History,
    shop: Shop = Shop(),
    model: Where | None = None,
    resin: Where | None = None,
    revision: int | None = None,
) -> dict[str, Any]:
    """What to do about a tinted part whose trial is off, as formats.md has its JSON.

    recipe: a file, or the name of a recipe in the book. Writes nothing. Raises what is wrong with the recipe, its model, the
    resin, the weights, the reading.
    """
    with book_to_ask(shop.book) as book:
        asked_of = find_recipe(recipe, revision, book)
        kept, path = asked_of.recipe, asked_of.path
        learnt = model_for(asked_of, model, book)
        lots = lots_in_hand(kept, shop.lots)
        own = kept.resin if resin is None else read_resin(resin)
        shares = shares_of(own)
        own_bottles = {one.name for one in history.stocks}
        named = {name for name, _ in history.weighed} - own_bottles
        stocks, strengths = _shelf(book, kept, lots, named, shares.takes, "" if own is None else own.name)
    used = dict(history.used)
    stocks = tuple(replace(one, left_g=max(one.left_g - used.get(one.name, 0.0), 0.0)) for one in stocks)
    stocks = (*history.stocks, *(one for one in stocks if one.name not in own_bottles))
    strengths |= shop.strengths
    for name in shop.prices:
        if name != "resin" and name not in learnt.pigments:
            raise ValueProblem(
                what=f"a price is given for {name!r}; prices are of 'resin' and of {', '.join(learnt.pigments)}"
            )
    scales = scales_from_text(shop.scales or USUAL)
    lots_of(learnt, strengths, shop.lot_spread)
    # The book's strengths are those that the sheet divided by.
    asked = {p: dose / strengths[p][0] if p in strengths else dose for p, dose in kept.doses_phr.items() if dose > 0}
    doses, spreads, made = _history(learnt, shares, history, asked, stocks, scales)
    if not any(doses.values()):
        raise ValueProblem(
            where=kept.name,
            what="this recipe is the untinted resin, so there is no pigment in the pot to adjust",
            remedy=Remedy.TINT_BY_A_RECIPE,
        )
    part = TintedPart(doses, history.left_g, history.pot_g, spreads, history.mixed_minutes_ago)
    if made is not None:
        check_left(part, made)
    told = read_trial(trial, doses, learnt)
    question = Question(
        part=part,
        trials=(Trial(doses, told.chips, spreads, beside=told.beside),),
        shares=shares,
        bench=scales,
        bottles=(*stocks, *_at_hand(learnt, history.weighed, stocks)),
        strengths=strengths,
        lot_spread=shop.lot_spread,
        # What the recipe holds may go in, also where it was forgotten.
        also=(*asked, *shop.also),
        need_g=shop.need_g,
        prices={**told.prices, **shop.prices},
        pot_life_min=None if own is None else own.pot_life_min,
    )
    found = adjust(learnt, aimed(kept, None if path is None else path.parent), question, falls_short(kept))
    found = replace(found, warnings=(*hazards_unsaid(own), *found.warnings, *told.notes))
    body: dict[str, Any] = finite(
        {
            "recipe": kept.name,
            "resin": "" if own is None else own.name,
            "lots": {p: lots[p] for p in kept.doses_phr if lots.get(p)},
            "doses_in_pot_phr": dict(doses),
            "left_g": history.left_g,
            "pot_g": history.pot_g,
            "pot_life_min": None if own is None else own.pot_life_min,
            "trial": [{"thickness_mm": chip.thickness_mm, "reading": list(chip.values)} for chip in told.chips.chips],
            "beside": [
                {"thickness_mm": chip.thickness_mm, "lab": list(chip.values)}
                for one in told.beside
                for chip in one.chips
            ],
            **found.as_table(),
            **cautions_table(cautions_for(own)),
        }
    )
    return body


def _history(
    model: TintModel,
    shares: Shares,
    history: History,
    asked: Mapping[str, float],
    stocks: Sequence[StockBottle],
    bench: Bench,
) -> tuple[Mapping[str, float], Mapping[str, float], float | None]:
    if history.batch_g is not None:
        BATCH_G.check("the batch", history.batch_g)
        if history.part_g is not None:
            raise ValueProblem(
                what=f"how much of part {shares.takes} there was is told twice", remedy=Remedy.KEEP_PART_OR_BATCH
            )
    if history.part_g is None and history.batch_g is None:
        if history.weighed:
            raise ValueProblem(
                what=f"what was weighed is told, but not into how much of part {shares.takes}",
                remedy=Remedy.SAY_INTO_HOW_MUCH,
            )
        return asked, {}, None
    with_carriers = history.part_g is None
    part_g = history.part_g if history.part_g is not None else (history.batch_g or 0.0) * shares.share
    done = as_weighed(model.pigments, shares, part_g, history.weighed, bench, asked, stocks, with_carriers)
    if not history.as_weighed:
        resin_g = done.made_g / (1 + math.fsum(done.doses_phr.values()) / (100 * shares.share))
        for pigment in done.weigh_spreads:
            of_phr = resin_g / (100 * shares.share)
            # None of it: it was forgotten, and no digit slipped.
            asked_g = asked.get(pigment, 0.0) * of_phr if done.doses_phr[pigment] else 0.0
            check_near(Put(pigment, done.doses_phr[pigment] * of_phr, asked_g))
    # What other letdowns brought is not said with the part alone: then more may be left than these weights add up to.
    known = with_carriers or not [p for p in asked if p not in done.weigh_spreads]
    return done.doses_phr, done.weigh_spreads, done.made_g if known else None


def _at_hand(
    model: TintModel, weighed: Sequence[tuple[str, float]], stocks: Sequence[StockBottle]
) -> list[StockBottle]:
    """Stock bottles that the pot was tinted from and that the book does not know: what is left of them tops it up best,
    since its own error is in the pot already."""
    names = dict.fromkeys(name for name, _ in weighed if name not in {one.name for one in stocks})
    return [stock for name in names if (stock := stock_of(name, model.pigments)) is not None]


def _shelf(
    book: Book | None, recipe: Recipe, lots: dict[str, str], named: Collection[str], carrier: str, resin: str
) -> tuple[tuple[StockBottle, ...], dict[str, tuple[float, float]]]:
    """The book's stock bottles in this carrier, and how strong what was weighed is: the bottle's own strength where it was
    measured. A bottle that is of another strength than what is in the pot, or of another resin, is left on the shelf. named:
    what was weighed. lots: in hand; those of named bottles are put in their place."""
    if book is None:
        return (), {}
    strengths = book.lot_strengths({p: lots[p] for p in recipe.doses_phr if lots.get(p)})
    bottles = tuple(lot_of_the_chips(one, recipe.lots) for one in book.bottles())
    for bottle in bottles:
        if bottle.name in named and bottle.lot and lots.get(bottle.pigment, bottle.lot) != bottle.lot:
            # What is in a bottle is of its own lot, whatever lot is in hand.
            lots[bottle.pigment] = bottle.lot
            strengths.pop(bottle.pigment, None)
            strengths |= book.lot_strengths({bottle.pigment: bottle.lot})
        if bottle.is_measured and bottle.name in named:
            strengths[bottle.pigment] = bottle.strength, bottle.strength_spread or 0.02
        elif bottle.is_of_the_chips and bottle.name in named:
            strengths.pop(bottle.pigment, None)  # what is in the pot is the chips' pigment, not the lot in hand

    def fits(bottle: StockBottle) -> bool:
        lot = strengths.get(bottle.pigment, (1.0, 0.0))[0]
        if bottle.lot and lots.get(bottle.pigment) and bottle.lot != lots[bottle.pigment]:
            as_strong = False
        elif bottle.knows_its_strength:
            as_strong = abs(bottle.strength / lot - 1) <= _AS_STRONG
        elif bottle.pigment in strengths and lots.get(bottle.pigment):
            as_strong = bottle.lot == lots[bottle.pigment]
        else:
            as_strong = True
        suits = (
            bottle.carrier in ("", carrier) and as_strong and (not bottle.resin or not resin or bottle.resin == resin)
        )
        return bottle.name in named or suits

    return tuple(one for one in bottles if fits(one)), strengths
