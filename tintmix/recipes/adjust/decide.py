"""A trial that came out off: leave it, top it up, dilute it, start again, or, once it is mixed, what to change next time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.errors import FileProblem, Note
from tintmix.numerals import numeral, percent
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.tile import THICKEST_ON_TILE_MM
from tintmix.pigments.errors import unknown_pigment
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust import says
from tintmix.recipes.adjust.answer import Adjustment, Cost, Outcome, Place, place_of
from tintmix.recipes.adjust.belief import Belief, believe
from tintmix.recipes.adjust.choice import Sights, Way, best_top_up, least_dilution, sights, smallest_top_up
from tintmix.recipes.adjust.errors import one_cup_only
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.adjust.weigh import InPot, Weights, untouched, weigh
from tintmix.recipes.again import target_again
from tintmix.recipes.recipe_file import Recipe
from tintmix.recipes.search.aim import lay
from tintmix.recipes.target import Target, triple

WORTH = 0.05
"""Chance that an addition has to gain to be worth the risk of making it."""
_CLOSE = 0.98
"""Part of the pot's room that is counted on: what is full to the brim cannot be stirred (common practice)."""
_ROUGH = 0.1
"""Relative spread of a pigment weighed into mixed resin: past it the addition is as likely to harm as to help, and no time is
left to see."""
_THINNEST = 0.25
"""A pot four times too strong is no longer diluted with some of it taken out: it is nearly a fresh batch."""
_CAST_OVER = 1.15
"""Moulds for chips of 4 mm give some of 4.5: so much over is a mould's affair (common practice)."""
_SHORT = 0.005
"""Part of what the pour needs that may be missing without being made up: a scale's and a beaker's affair."""


def aimed(recipe: Recipe, folder: Path | None = None) -> Target:
    """What the adjustment aims at: the recipe's sections with the colours they were to have.

    A place that the recipe itself does not bring within tolerance is aimed at the colour that the recipe promised for it:
    an adjustment cannot do what the solve could not. folder: where files named by the target are. Raises FileProblem,
    and what is wrong with the target.
    """
    if all(one.get("target_lab") is None for one in recipe.sections):
        raise FileProblem(
            where=recipe.name, what="no place on the casting has a colour to come to, so nothing says what is off"
        )

    def key_of(told: Mapping[str, Any]) -> str | None:
        return None if told.get("target_lab") is None else "lab" if _is_short(told) else "target_lab"

    return target_again(recipe, folder, recipe.name, key_of)


def falls_short(recipe: Recipe) -> bool:
    """Whether the recipe itself leaves a place outside its tolerance."""
    return any(_is_short(one) for one in recipe.sections)


def _is_short(section: Mapping[str, Any]) -> bool:
    off, tolerance = section.get("delta_e00"), section.get("tolerance", 2.0)
    return isinstance(off, int | float) and isinstance(tolerance, int | float) and off > tolerance


def adjust(model: TintModel, target: Target, question: Question, promised: bool = False) -> Adjustment:
    """The smallest addition that brings every place as near to its target as any can, or what else to do.

    target: from `aimed`, or any whose sections have colours. promised: whether it aims at what the recipe promised. Raises
    ValueProblem, and what `believe` and `lay` raise. Deterministic.
    """
    if model.is_one_cup:
        raise one_cup_only()
    aim = lay(model, target)
    part, shares = question.part, question.shares
    pot = model.dose_vector(part.doses_phr)
    for name in question.also:
        if name not in model.pigments:
            raise unknown_pigment(name, model.pigments)
    columns = [p for p, name in enumerate(model.pigments) if pot[p] > 0 or name in question.also]
    belief = believe(model, question.trials, question.strengths, question.lot_spread, unusual=True)
    view = sights(belief, aim)
    in_pot = InPot(view, pot, shares.resin_g(part), shares.share)
    as_is = untouched(in_pot)
    fresh = best_top_up(view, np.zeros(len(pot)), 1.0, columns)
    mixed = part.mixed_minutes_ago is not None
    outcome, chosen = _decided(in_pot, question, columns, as_is, fresh)
    costs = _costs(model, question, None if outcome is Outcome.START_AGAIN else chosen, as_is, fresh)
    if outcome is Outcome.DILUTE and not mixed and _dearer(costs):
        # As much of it as the pour needs, and no more.
        thin = least_dilution(view, pot, _THINNEST, columns)
        # 1 % over: weights are rounded.
        needed = 1.0 if question.need_g is None else min(1.01 * question.need_g * shares.share / in_pot.resin_g, 1.0)
        less = _with_some_out(in_pot, question, thin, needed * part.left_g)
        if less is not None and less.chance > chosen.chance - WORTH:
            chosen = less
            costs = _costs(model, question, chosen, as_is, fresh)
    if outcome is Outcome.DILUTE and fresh.chance >= chosen.chance - WORTH and _dearer(costs):
        outcome, chosen = Outcome.START_AGAIN, as_is
    if mixed:
        outcome, chosen = _when_mixed(question, outcome, chosen, as_is)
    found = Adjustment(
        outcome=outcome,
        aside_g=chosen.aside_g,
        additions=chosen.additions,
        plain_g=chosen.plain_g,
        part=shares.takes,
        other_parts=() if mixed or outcome is Outcome.START_AGAIN else shares.other_parts(chosen.resin_g),
        tinted_g=part.left_g - chosen.aside_g + chosen.added_g,
        mixed_g=chosen.resin_g / shares.share,
        before=_places(view, as_is),
        after=_places(view, chosen),
        chance_before=as_is.chance,
        chance_after=chosen.chance,
        chance_fresh=fresh.chance,
        next_doses_phr={model.pigments[p]: float(fresh.top_up[p]) for p in columns if fresh.top_up[p] > 0},
        strengths={model.pigments[p]: belief.strength(p) for p in columns if pot[p] > 0},
        costs=costs,
        surprise=belief.surprise,
        contradicts=model.health.contradicts,
        slips=tuple(model.pigments[p] for p in belief.slips()),
    )
    warnings = tuple(_warnings(view, question, belief, chosen, found, promised))
    return says.with_words(found, question, warnings)


def _decided(
    in_pot: InPot, question: Question, columns: Sequence[int], as_is: Weights, fresh: Way
) -> tuple[Outcome, Weights]:
    good, room = question.good, question.part.room_g
    view, pot, resin_g = in_pot.view, in_pot.doses_phr, in_pot.resin_g
    if as_is.chance >= good:
        return Outcome.KEEP, as_is
    top_up = smallest_top_up(view, pot, 1.0, columns)
    best = _weighed(in_pot, question, top_up) or as_is
    if best.chance >= good:
        return Outcome.TOP_UP, best
    least = resin_g / (resin_g + _CLOSE * room)
    # Less than a thousandth of room is none.
    if least < 0.999:
        thinned = _weighed(in_pot, question, least_dilution(view, pot, least, columns))
        if thinned is not None and thinned.chance > best.chance + WORTH:
            best = thinned
    if best.chance < good - WORTH and question.part.mixed_minutes_ago is None:
        way = top_up if top_up.chance >= good else least_dilution(view, pot, _THINNEST, columns)
        full = max(_CLOSE * question.part.full_g, question.part.left_g)
        less = _with_some_out(in_pot, question, way, full)
        if less is not None and less.chance > best.chance + WORTH:
            best = less
    if fresh.chance > best.chance + WORTH and best.chance < good - WORTH:
        return Outcome.START_AGAIN, as_is
    if best.chance <= as_is.chance + WORTH or not best.added_g:
        return Outcome.KEEP, as_is
    return (Outcome.DILUTE if best.plain_g > 0 else Outcome.TOP_UP), best


def _weighed(in_pot: InPot, question: Question, way: Way, aside_g: float = 0.0) -> Weights | None:
    part = question.part
    room = part.room_g + aside_g
    rest = replace(in_pot, resin_g=in_pot.resin_g * (1 - aside_g / part.left_g))
    weights = weigh(rest, way, question.bench, question.bottles, room)
    return replace(weights, aside_g=aside_g) if weights.added_g <= room else None


def _with_some_out(in_pot: InPot, question: Question, way: Way, goal_g: float) -> Weights | None:
    """The way with so much of the tinted part taken out first that the rest, topped up and diluted, comes to goal_g."""
    part, bench = question.part, question.bench
    full = weigh(in_pot, way, bench, question.bottles)
    if not full.added_g:
        return None
    kept = goal_g / (part.left_g + full.added_g)
    # A step more than it takes: what goes in is rounded too.
    step = bench.part_place((1 - kept) * part.left_g).step_g
    aside = float(f"{(math.ceil((1 - kept) * part.left_g / step) + 1) * step:.10g}")
    return _weighed(in_pot, question, way, aside) if kept < 1 and aside < part.left_g else None


def _when_mixed(question: Question, outcome: Outcome, chosen: Weights, as_is: Weights) -> tuple[Outcome, Weights]:
    """Mixed: within the pot life only pigment as it is may still go in, weighed well enough; past it nothing."""
    if outcome is Outcome.KEEP:
        return outcome, chosen
    life, age = question.pot_life_min, question.part.mixed_minutes_ago
    assert age is not None
    neat = not chosen.plain_g and all(not one.letdown and one.spread <= _ROUGH for one in chosen.additions)
    if life is not None and age < life and outcome is Outcome.TOP_UP and neat:
        return outcome, chosen
    return Outcome.TOO_LATE, as_is


def _costs(model: TintModel, question: Question, chosen: Weights | None, as_is: Weights, fresh: Way) -> dict[str, Cost]:
    """What each way takes from the shelf for the pour; the other parts are the same either way."""
    share = question.shares.share
    need = question.need_g if question.need_g is not None else as_is.resin_g / share

    def fresh_g(grams: float) -> dict[str, float]:
        return {p: float(d) * grams / 100 for p, d in zip(model.pigments, fresh.top_up, strict=True) if d > 0}

    again = _cost(need * share, fresh_g(need), question.prices)
    if chosen is None:
        return {"start_again": again}
    short = max(need - chosen.resin_g / share, 0.0)
    added = fresh_g(short) if short > _SHORT * need else {}
    for one in chosen.additions:
        added[one.pigment] = added.get(one.pigment, 0.0) + one.pigment_g
    return {"adjust": _cost(chosen.carrier_g + short * share, added, question.prices), "start_again": again}


def _cost(resin_g: float, pigments_g: Mapping[str, float], prices: Mapping[str, float]) -> Cost:
    known = all(p in prices for p in (*pigments_g, *(["resin"] if resin_g > 0 else [])))
    money = resin_g * prices.get("resin", 0.0) + math.fsum(g * prices.get(p, 0.0) for p, g in pigments_g.items())
    return Cost(resin_g, pigments_g, money if known and prices else None)


def _dearer(costs: Mapping[str, Cost]) -> bool:
    """Whether adjusting takes more from the shelf than starting again: in money where every price is known, else in resin."""
    here, again = costs["adjust"], costs["start_again"]
    if here.money is not None and again.money is not None:
        return here.money > again.money
    return here.resin_g > again.resin_g


def _places(view: Sights, weights: Weights) -> tuple[Place, ...]:
    aim = view.aim
    draws = view.lab(weights.doses)
    mean = draws.mean(axis=0)
    off = delta_e00(mean, aim.target_lab)
    each = delta_e00(draws, aim.target_lab)
    within = np.mean(each <= aim.tolerance, axis=0)
    numbers = np.stack([off, within_95(each), within], axis=1).tolist()
    return tuple(
        place_of(
            place.section,
            target_lab=triple(wanted),
            tolerance=float(tolerance),
            lab=triple(colour),
            **dict(zip(("delta_e00", "delta_e00_95", "chance_within_tolerance"), told, strict=True)),
        )
        for place, wanted, tolerance, colour, told in zip(
            aim.places, aim.target_lab, aim.tolerance, mean, numbers, strict=True
        )
    )


def _warnings(
    view: Sights, question: Question, belief: Belief, chosen: Weights, found: Adjustment, promised: bool
) -> Iterator[str | Note]:
    aim = view.aim
    if found.is_doubtful:
        yield says.surprise(belief, question.trials[0].chips.reading.kind)
    for pigment, (weighed, strength) in belief.slips().items():
        yield says.slipped(aim.model.pigments[pigment], weighed, strength)
    if (unwell := aim.model.health.warning) is not None:
        yield unwell
    if promised:
        yield says.PROMISED
    yield from says.bench_warnings(found, question)
    if (total := math.fsum(question.part.doses_phr.values())) > aim.total_phr:
        yield (
            f"the pot holds {total:.3g} g of pigment to 100 g of mixed resin, more than the {numeral(aim.total_phr)} that "
            "the resin or the target allows: check what was weighed."
        )
    if aim.floor > 0 and (light := view.light(chosen.doses)) < aim.floor:
        yield (
            f"{aim.judged_at} {percent(light)} of the light come through, less than the "
            f"{numeral(100 * aim.floor)} % that the target asks for."
        )
    chips = [(chip, one.reading) for trial in question.trials for one in trial.sets for chip in one.chips]
    thickest = max(float(chip.thickness_mm) for chip, _ in chips)
    on_tile = max((float(chip.thickness_mm) for chip, reading in chips if reading.on_tile), default=0.0)
    limit = aim.model.health.thickest_on_tile_mm or THICKEST_ON_TILE_MM
    if on_tile > _CAST_OVER * limit:
        yield says.too_thick_for_tile(on_tile, limit)
    elif thickest < 0.5 * aim.judged_mm and not on_tile:
        yield (
            f"the trial chip is {numeral(thickest)} mm thick and the casting {aim.judged.depth}: what it tells of "
            "the thick places rests on the model. A thicker trial chip tells more."
        )
