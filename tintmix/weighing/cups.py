"""Planned cups as grams: the stock bottle of each pigment, and what goes on the scale for each cup."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tintmix.numerals import listed
from tintmix.quantities import BATCH_G_OR_NONE, CUP_G, EDGE_MM
from tintmix.resin import Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.convert import part_share
from tintmix.weighing.layout import part_totals, tinted_part
from tintmix.weighing.letdown import Made, carrier_room, fill
from tintmix.weighing.scales import BOTTLE_SPREAD, FINER, LEAST_STEPS, PORTION_SPREAD, STEPS, Bench, Place, Scale
from tintmix.weighing.weighed import LetdownMade

DENSITY_G_PER_CM3 = 1.1
"""Of a casting resin whose file does not say (common practice: 1.0 to 1.2)."""
SPILL = 1.15
"""More than the moulds hold: what stays in the cup and on the stick (common practice)."""
SPARE = 1.5
"""A stock bottle holds so many times what the cups take: a cup that went wrong is poured again from the same bottle."""
_LEFT_OVER = 1.1
"""A bottle at hand holds so many times what the cups take: some stays on its walls."""
_CUP_STEP_G = 5.0
"""Resin is weighed out for a cup in whole fives of grams: a round number for the label."""
_UNKNOWN_SHARE = 0.4
"""The smallest share that a resin part usually has of the mix: taken where the resin's parts are not given."""
_ROUGH = 0.05
"""Relative spread that is told: more than twice the 2 % that a dose is taken to be good for (formats.md)."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """One thing on the scale. letdown: the bottle's name, empty where the pigment is weighed as it is. spread: relative.
    shown: the grams as the scale shows them. asked_g: before rounding."""

    pigment: str
    letdown: str
    grams: float
    spread: float
    place: Place
    shown: str
    asked_g: float


@dataclass(frozen=True, slots=True)
class CupPart:
    """A part of the resin in a cup, the carrier of the stock bottles already taken off; shown: as the scale shows it."""

    name: str
    grams: float
    shown: str


@dataclass(frozen=True, slots=True)
class Pour:
    """One cup at the bench. doses_phr: as they come of what is weighed, rounded to the scale's steps."""

    name: str
    doses_phr: tuple[float, ...]
    resin_g: float
    weigh: tuple[Weighing, ...]
    parts: tuple[CupPart, ...]


@dataclass(frozen=True, slots=True)
class PourPlan:
    """All of it, with what a maker should be told. letdowns: the stock bottles to make up, for all cups; their spread cancels
    where all is dosed from them, and their carrier is "" where the resin does not say which part takes pigment. from_shelf: the
    bottles at hand that serve, by pigment, and the grams that the cups take of each."""

    letdowns: tuple[LetdownMade, ...]
    pours: tuple[Pour, ...]
    dose_spread: float
    warnings: tuple[str, ...]
    from_shelf: Mapping[str, tuple[StockBottle, float]]


@dataclass(frozen=True, slots=True)
class _Bottle:
    """What a pigment is dosed from. share: pigment of the model in a gram of it; carrier: of the resin part."""

    name: str
    share: float
    carrier: float
    made: Made | None = None
    shelf: StockBottle | None = None


@dataclass(frozen=True, slots=True)
class Moulds:
    """What the cups are cast for. cup_g: the least resin that can be mixed well. chip_mm: edge of a chip. batch_g: the casting's
    resin, where the bottles shall hold enough for it too. Raises ValueProblem."""

    cup_g: float = 50.0
    chip_mm: float = 30.0
    batch_g: float = 0.0

    def __post_init__(self) -> None:
        CUP_G.check("the resin of a cup", self.cup_g)
        EDGE_MM.check("the edge of a chip", self.chip_mm)
        BATCH_G_OR_NONE.check("the batch of the casting", self.batch_g)


def weigh_cups(
    names: Sequence[str],
    doses_phr: Sequence[Sequence[float]],
    cast_mm: Sequence[Sequence[float]],
    pigments: Sequence[str],
    part_phr: Sequence[float],
    resin: Resin,
    bench: Bench,
    moulds: Moulds = Moulds(),
    shelf: Sequence[StockBottle] = (),
    new_bottles: bool = False,
) -> PourPlan:
    """The bottles and weights of some cups. doses_phr: of each cup, by pigment; cast_mm: thicknesses poured from each. shelf:
    bottles at hand; one that serves is taken before a new one is made, unless new_bottles; no new one is called as they are."""
    mass = cup_mass_g(cast_mm, resin, moulds)
    carrier, share = carrier_part(resin)
    needs = [[mass * doses[p] / 100 for doses in doses_phr] for p in range(len(pigments))]
    at_hand = [
        [b for b in shelf if b.pigment == pigment and carrier == b.carrier and b.resin in ("", resin.name)]
        if carrier and not new_bottles
        else []
        for pigment in pigments
    ]
    found = _bottles(needs, [moulds.batch_g * dose / 100 for dose in part_phr], mass * share, bench, at_hand)
    taken = {one.name for one in shelf}
    bottles = {
        pigment: one
        if isinstance(one, _Bottle) or one is None
        else _Bottle(_free(f"{pigment} 1+{one.n}", taken), one.share, 1 - one.share, made=one)
        for pigment, one in zip(pigments, found, strict=True)
    }
    pours = tuple(_pour(name, doses, bottles, resin, mass, bench) for name, doses in zip(names, doses_phr, strict=True))
    used = {name: math.fsum(w.grams for pour in pours for w in pour.weigh if w.pigment == name) for name in pigments}
    letdowns = tuple(
        LetdownMade(
            name=one.name,
            pigment=name,
            n=one.made.n,
            pigment_g=one.made.first_g,
            carrier=carrier,
            carrier_g=one.made.carrier_g,
            used_g=used[name],
            spread=one.made.spread,
            carrier_scale=one.made.carrier_place.scale,
        )
        for name, one in bottles.items()
        if one is not None and one.made is not None
    )
    from_shelf = {
        name: (one.shelf, used[name]) for name, one in bottles.items() if one is not None and one.shelf is not None
    }
    spreads = [weighing.spread for pour in pours for weighing in pour.weigh]
    typical = math.sqrt(sum(s * s for s in spreads) / len(spreads)) if spreads else 0.0
    return PourPlan(
        letdowns,
        pours,
        max(0.02, float(f"{typical:.1g}")),
        tuple(_warnings(pours, letdowns, resin, bench)),
        from_shelf,
    )


def cup_mass_g(cast_mm: Sequence[Sequence[float]], resin: Resin, moulds: Moulds) -> float:
    """Mixed resin for each cup: the least that can be mixed well, or what the fullest cup's moulds hold."""
    density = resin.density_g_per_cm3 or DENSITY_G_PER_CM3
    fullest = max(map(sum, cast_mm)) * moulds.chip_mm**2 / 1000 * density * SPILL
    return math.ceil(max(moulds.cup_g, fullest) / _CUP_STEP_G - 1e-9) * _CUP_STEP_G


def carrier_part(resin: Resin) -> tuple[str, float]:
    """The part that takes pigment, and its share of the mix; "" and a small share where the resin does not say."""
    if not resin.parts or (resin.takes_pigment is None and len(resin.parts) > 1):
        return "", _UNKNOWN_SHARE
    name = tinted_part(resin).name
    return name, part_share(resin, name)


def _bottles(
    needs: Sequence[Sequence[float]],
    extra: Sequence[float],
    part_g: float,
    bench: Bench,
    shelf: Sequence[Sequence[StockBottle]],
) -> list[Made | _Bottle | None]:
    """A bottle for each pigment that needs one, such that no cup gets more carrier than its part has room for. shelf: by
    pigment, those at hand."""
    room = carrier_room(part_g, len(needs), bench)
    most = room
    while True:
        bottles = [
            _from_shelf(need, bench, most, own) or bottle_for(need, bench, most, more)
            for need, more, own in zip(needs, extra, shelf, strict=True)
        ]
        # Carrier in a gram of pigment, by what is weighed of each bottle.
        per_g = [0.0 if one is None else one.n if isinstance(one, Made) else one.carrier / one.share for one in bottles]
        brought = [sum(need[c] * n for n, need in zip(per_g, needs, strict=True)) for c in range(len(needs[0]))]
        # Stronger bottles, by 0.7 a time, down to a fiftieth of the part: what is less no bottle of these can keep to.
        if max(brought) <= room or most < 0.02 * part_g:
            return bottles
        most *= 0.7


def _from_shelf(
    pigment_g: Sequence[float], bench: Bench, most_carrier_g: float, shelf: Sequence[StockBottle]
) -> _Bottle | None:
    """The oldest bottle at hand that holds enough, from which every portion weighs well; None where none is needed or serves."""
    needs = [grams for grams in pigment_g if grams > 0]
    least = bench.pigment.spread_g / PORTION_SPREAD
    if not needs or min(needs) >= least:
        return None
    for one in sorted(shelf, key=lambda bottle: (bottle.made_on or "9999", bottle.name)):
        share = one.share * one.strength
        weighs, fits = min(needs) / share >= least, max(needs) / share * (1 - one.share) <= most_carrier_g
        if weighs and fits and _LEFT_OVER * sum(needs) / share <= one.left_g:
            return _Bottle(one.name, share, 1 - one.share, shelf=one)
    return None


def _free(name: str, taken: Collection[str]) -> str:
    """The name, with a number where a bottle at hand is called so."""
    return next(one for one in (name, *(f"{name} ({count})" for count in range(2, 100))) if one not in taken)


def bottle_for(
    pigment_g: Sequence[float], bench: Bench, most_carrier_g: float, extra_pigment_g: float = 0.0
) -> Made | None:
    """The stock bottle from which these amounts of neat pigment are dosed; None where the scale weighs them well as
    they are, or where even the strongest bottle would bring more carrier than a cup takes.

    The weakest dilution that brings every portion within PORTION_SPREAD, as far as none brings more than most_carrier_g; where
    none does, the strongest that still fits. extra_pigment_g: pigment for the casting, dosed from the same bottle.

    >>> from tintmix.weighing.scales import Scale
    >>> made = bottle_for([0.02, 0.12], Bench(Scale(0.1), Scale(0.01)), 12.0)
    >>> made.n, made.first_g, made.carrier_g
    (50, 0.5, 25.0)
    """
    needs = [grams for grams in pigment_g if grams > 0]
    least = bench.pigment.spread_g / PORTION_SPREAD
    if not needs or min(needs) >= least:
        return None
    whole, spare = sum(needs), SPARE + extra_pigment_g / sum(needs)
    ratios = [n for n in STEPS if max(needs) * n <= most_carrier_g]
    made = [fill(n, whole * (1 + n), BOTTLE_SPREAD, bench, spare) for n in ratios]
    fitting = [one for one in made if one is not None]
    return next((one for one in fitting if min(needs) * (1 + one.n) >= least), fitting[-1] if fitting else None)


def _pour(
    name: str,
    doses_phr: Sequence[float],
    bottles: Mapping[str, _Bottle | None],
    resin: Resin,
    mass: float,
    bench: Bench,
) -> Pour:
    weigh, doses, carrier_g = [], [], 0.0
    for (pigment, bottle), dose in zip(bottles.items(), doses_phr, strict=True):
        if dose <= 0:
            doses.append(0.0)
            continue
        share = 1.0 if bottle is None else bottle.share
        asked = mass * dose / 100 / share
        place = bench.pigment_place(asked)
        grams = max(place.rounded(asked), place.step_g)
        letdown = "" if bottle is None else bottle.name
        weigh.append(Weighing(pigment, letdown, grams, place.spread_g / grams, place, bench.shown(grams, place), asked))
        doses.append(float(f"{100 * grams * share / mass:.4g}"))
        carrier_g += 0.0 if bottle is None else grams * bottle.carrier
    parts = []
    for part, whole in part_totals(resin, mass).items():
        exact = whole - (carrier_g if part == resin.takes_pigment else 0.0)
        place = bench.part_place(exact)
        parts.append(CupPart(part, place.rounded(exact), bench.shown(exact, place)))
    return Pour(name, tuple(doses), mass, tuple(weigh), tuple(parts))


def _warnings(pours: Sequence[Pour], letdowns: Sequence[LetdownMade], resin: Resin, bench: Bench) -> Iterator[str]:
    rough = [
        (pour, w) for pour in pours for w in pour.weigh if w.spread > _ROUGH or w.asked_g < LEAST_STEPS * w.place.step_g
    ]
    if rough:
        said = [
            f"{w.shown} of {w.letdown or w.pigment} for cup {pour.name} only to {100 * w.spread:.0f} %"
            for pour, w in rough
        ]
        # A portion grows with its cup. Half a step is for rounding.
        least = min(w.asked_g for _, w in rough)
        times = max(_least_g(w.place.step_g, w.place.spread_g) / w.asked_g for _, w in rough)
        finer = next((one for one in FINER if _least_g(one, Scale(one).spread_g) <= least), None)
        cup_g = math.ceil(pours[0].resin_g * times / _CUP_STEP_G) * _CUP_STEP_G
        scale = "" if finer is None else f"a scale that shows {finer:g} g, or "
        yield (
            f"a scale that shows {rough[0][1].place.step_g:g} g weighs {listed(said)}; to know them all to "
            f"{100 * _ROUGH:.0f} % takes {scale}cups of {cup_g:g} g of resin."
        )
    if resin.parts and resin.takes_pigment is None:
        yield (
            "the resin does not say which part takes pigment (takes_pigment), so the carrier in the stock bottles is not taken "
            "off any part: take it off the one that you make the bottles with."
        )
    for letdown in letdowns:
        if letdown.spread > _ROUGH:
            yield (
                f"the stock bottle {letdown.name} is itself uncertain by {100 * letdown.spread:.0f} %: tint the casting from the "
                "same bottle, then that cancels."
            )
    capacity = bench.resin.capacity_g
    if capacity is not None and pours and pours[0].resin_g > capacity:
        yield (
            f"a cup of {pours[0].resin_g:g} g is more than the scale takes ({capacity:g} g): weigh the parts one by one."
        )


def _least_g(step_g: float, spread_g: float) -> float:
    """The least portion that a scale weighs within _ROUGH and in LEAST_STEPS, before it is rounded."""
    return max(spread_g / _ROUGH, LEAST_STEPS * step_g) + step_g / 2
