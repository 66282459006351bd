"""What a maker should be told beside the weights, in whole sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tintmix.numerals import numeral
from tintmix.weighing.budget import WEIGHING_RESIN
from tintmix.weighing.letdown import Need
from tintmix.weighing.scales import Scale
from tintmix.weighing.weighed import BudgetLine, LetdownMade

GOOD_RATIO = 0.01
"""A mix ratio that is off by no more does a casting resin no harm (common practice; the data sheet says it)."""
MUCH_WASTE_G = 100.0
"""Left in new bottles: beyond this it is said what a finer scale would spare."""
_FINER = (1.0, 0.1, 0.01, 0.001, 0.0001)
"""Readabilities, g, of scales as they are sold (common practice)."""
LEAST_AT_HAND_G = 0.001
"""A finer scale than this is a laboratory's: it is named where nothing else keeps the aim, not to spare a bottle."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A finer scale for the pigments, and what it would lead to: ΔE00, bottles to make, grams left in them."""

    scale: Scale
    worst: float
    bottles: int
    waste_g: float


def finer(scale: Scale) -> Iterator[Scale]:
    """Bench as they are sold that show less than this one, the next first.

    >>> [one.readability_g for one in finer(Scale(0.05))]
    [0.01, 0.001, 0.0001]
    """
    for step in _FINER:
        if step < 0.99 * scale.readability_g:
            yield Scale(step)


def advise(
    worst: float,
    aim: float,
    bottles: int,
    waste_g: float,
    tried: Sequence[Tried],
    budget: Sequence[BudgetLine],
    ratio_spread: float,
    needs: Sequence[Need],
    letdowns: Sequence[LetdownMade],
) -> Iterator[str]:
    """The sentences, the weightiest first. worst, bottles, waste_g: as laid out; tried: the same with finer scales."""
    if worst > aim:
        yield _out_of_aim(worst, aim, tried, budget)
    else:
        spared = next((one for one in tried if one.worst <= aim and spares(one, bottles, waste_g)), None)
        if spared is not None and spared.bottles < bottles:
            fewer = bottles - spared.bottles
            yield (
                f"A scale that shows {spared.scale.readability_g:g} g for the pigments would spare you "
                f"{'a stock bottle' if fewer == 1 else f'{fewer} stock bottles'}."
            )
        elif spared is not None:
            yield (
                f"The stock bottles leave {waste_g:.0f} g over (keep them for the next batch); with a scale that shows "
                f"{spared.scale.readability_g:g} g for the pigments it would be {spared.waste_g:.0f} g."
            )
    if ratio_spread > GOOD_RATIO:
        yield (
            f"The scale for the resin leaves the mix ratio uncertain by {100 * ratio_spread:.1f} % (one standard deviation); "
            "weigh the smaller part on a finer scale, or make a larger batch. See what the data sheet allows."
        )
    yield from _about_bottles(needs, letdowns)


def spares(one: Tried, bottles: int, waste_g: float) -> bool:
    """Whether a scale that a workshop may have spares a bottle, or half of much waste."""
    less = one.bottles < bottles or (waste_g > MUCH_WASTE_G and one.waste_g < 0.5 * waste_g)
    return less and one.scale.readability_g >= LEAST_AT_HAND_G


def _out_of_aim(worst: float, aim: float, tried: Sequence[Tried], budget: Sequence[BudgetLine]) -> str:
    said = f"Weighing alone may move the colour by ΔE00 {numeral(worst, 2)}, more than the {numeral(aim)} aimed at"
    reaches = next((one for one in tried if one.worst <= aim), None)
    if reaches is not None:
        made = "no stock bottle" if not reaches.bottles else _count(reaches.bottles)
        return (
            f"{said}: get a scale that shows {reaches.scale.readability_g:g} g for the pigments; that brings it to "
            f"{numeral(reaches.worst, 2)}, with {made}."
        )
    best = min(tried, key=lambda one: one.worst, default=None)
    first = next((line for line in budget if line.from_weighing), None)
    if first is not None and first.what == WEIGHING_RESIN:
        return f"{said}. Most of it is weighing the resin: use a finer scale for it, or make a larger batch."
    most = f" Most of it is {first.what}." if first is not None else ""
    # A finer scale that takes off less than a fifth is not worth buying.
    if best is not None and best.worst < 0.8 * worst:
        return f"{said}; a scale that shows {best.scale.readability_g:g} g would bring it to {numeral(best.worst, 2)}.{most}"
    return f"{said}, and a finer scale for the pigments would hardly help: make a larger batch.{most}"


def _count(bottles: int) -> str:
    return "one stock bottle" if bottles == 1 else f"{bottles} stock bottles"


def _about_bottles(needs: Sequence[Need], letdowns: Sequence[LetdownMade]) -> Iterator[str]:
    used = {letdown.name for letdown in letdowns if letdown.existing}
    made = {letdown.pigment for letdown in letdowns if not letdown.existing}
    for need in needs:
        for bottle in need.shelf:
            if bottle.name in used and not bottle.is_measured and bottle.lot and need.lot and bottle.lot != need.lot:
                yield (
                    f"Stock bottle {bottle.name} was made of lot {bottle.lot}, and lot {need.lot} is in hand: it is taken to be "
                    "as strong as the model's pigment; cast a check chip from it to know."
                )
            if bottle.name not in used and need.pigment in made:
                yield (
                    f"Stock bottle {bottle.name} ({bottle.left_g:g} g left) is not used: there is too little in it, or it is "
                    "not what this batch needs."
                )
