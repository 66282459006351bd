"""What a maker should be told beside the weights, in whole sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from tintmix.numerals import numeral
from tintmix.weighing.budget import WEIGHING_RESIN
from tintmix.weighing.layout import Job, Laid, lay
from tintmix.weighing.letdown import why_not_taken
from tintmix.weighing.scales import FINER, Bench, Scale
from tintmix.weighing.weighed import BudgetLine, LetdownMade

GOOD_RATIO = 0.01
"""A mix ratio that is off by no more does a casting resin no harm (common practice; the data sheet says it)."""
MUCH_WASTE_G = 100.0
"""Left in new bottles: beyond this it is said what a finer scale would spare."""
LEAST_AT_HAND_G = 0.001
"""A finer scale than this is a laboratory's: it is named where nothing else keeps the aim, not to spare a bottle."""


def advise(
    job: Job, laid: Laid, aim: float, budget: Sequence[BudgetLine], ratio_spread: float, letdowns: Sequence[LetdownMade]
) -> Iterator[str]:
    """The sentences, the weightiest first. laid: as it is weighed out; what finer scales would lead to is tried here."""
    tried = _finer(job, laid, aim)
    if laid.worst > aim:
        yield _out_of_aim(laid.worst, aim, tried, budget)
    elif spares := next((one for one in tried if one[1].worst <= aim and _spares(*one, laid)), None):
        scale, spared = spares
        if fewer := max(laid.bottles - spared.bottles, 0):
            yield (
                f"A scale that shows {scale.readability_g:g} g for the pigments would spare you "
                f"{'a stock bottle' if fewer == 1 else f'{fewer} stock bottles'}."
            )
        else:
            yield (
                f"The stock bottles leave {laid.waste_g:.0f} g over (keep them for the next batch); with a scale that shows "
                f"{scale.readability_g:g} g for the pigments it would be {spared.waste_g:.0f} g."
            )
    if ratio_spread > GOOD_RATIO:
        yield (
            f"The scale for the resin leaves the mix ratio uncertain by {100 * ratio_spread:.1f} % (one standard deviation); "
            "weigh the smaller part on a finer scale, or make a larger batch. See what the data sheet allows."
        )
    yield from _about_bottles(job, letdowns)


def _finer(job: Job, laid: Laid, aim: float) -> list[tuple[Scale, Laid]]:
    """What scales for the pigments would lead to that show less than this one, the next first, as far as one helps."""
    tried: list[tuple[Scale, Laid]] = []
    is_serial = any(len(option.source.made) > 1 for option in laid.options)
    if not (laid.worst > aim or is_serial or laid.waste_g > MUCH_WASTE_G):
        return tried
    for scale in (Scale(step) for step in FINER if step < 0.99 * job.scales.pigment.readability_g):
        better = lay(replace(job, scales=Bench(job.scales.resin, scale)), aim, (1.0,))
        if not isinstance(better, str):
            tried.append((scale, better))
            if better.worst <= aim and _spares(scale, better, laid):
                break
    return tried


def _spares(scale: Scale, better: Laid, laid: Laid) -> bool:
    """Whether a scale that a workshop may have spares a bottle, or half of much waste."""
    less = better.bottles < laid.bottles or (laid.waste_g > MUCH_WASTE_G and better.waste_g < 0.5 * laid.waste_g)
    return less and scale.readability_g >= LEAST_AT_HAND_G


def _out_of_aim(worst: float, aim: float, tried: Sequence[tuple[Scale, Laid]], budget: Sequence[BudgetLine]) -> str:
    said = f"Weighing alone may move the colour by ΔE00 {numeral(worst, 2)}, more than the {numeral(aim)} aimed at"
    reaches = next((one for one in tried if one[1].worst <= aim), None)
    if reaches is not None:
        scale, better = reaches
        told = {0: "no new stock bottle", 1: "one new stock bottle"}
        made = told.get(better.bottles, f"{better.bottles} new stock bottles")
        return (
            f"{said}: get a scale that shows {scale.readability_g:g} g for the pigments; that brings it to "
            f"{numeral(better.worst, 2)}, with {made}."
        )
    first = next((line for line in budget if line.from_weighing), None)
    if first is not None and first.what == WEIGHING_RESIN:
        return f"{said}. Most of it is weighing the resin: use a finer scale for it, or make a larger batch."
    most = f" Most of it is {first.what}." if first is not None else ""
    best = min(tried, key=lambda one: one[1].worst, default=None)
    if best is not None and best[1].worst < 0.8 * worst:
        scale, better = best
        return (
            f"{said}; a scale that shows {scale.readability_g:g} g would bring it to {numeral(better.worst, 2)}.{most}"
        )
    return f"{said}, and a finer scale for the pigments would hardly help: make a larger batch.{most}"


def _about_bottles(job: Job, letdowns: Sequence[LetdownMade]) -> Iterator[str]:
    used = {letdown.name for letdown in letdowns if letdown.existing}
    made = {letdown.pigment for letdown in letdowns if not letdown.existing}
    for need in job.needs:
        for bottle, why in need.standing:
            yield f"Stock bottle {bottle.name} ({bottle.left_g:.4g} g left) is not used: {why}."
        for bottle in need.shelf:
            if bottle.name not in used:
                why = why_not_taken(need, bottle, job.scales, job.room_g, need.pigment in made)
                yield f"Stock bottle {bottle.name} ({bottle.left_g:.4g} g left) is not used: {why}."
