"""A way to go on as weights: what goes on the scale, from which bottle, rounded so that the colour comes nearest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.recipes.adjust.choice import Sights, Way, smallest_top_up
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.letdown import CARRIER_SHARE, Made, Need, Source, fill, new_letdown
from tintmix.weighing.scales import BOTTLE_SPREAD, ROUGH_SPREAD, STEPS, Bench

_MOST_ROUNDED = 6
"""So many weights are rounded together; beyond, each to its nearest step."""
_OF_ALL = 0.01
"""A top-up's weighing may be off by this part of all of that pigment in the pot: it corrects, and need not be finer."""
_OF_ITSELF = 0.15
"""But not by more than this part of itself."""
_NOTHING = 0.003
"""Less untinted part than this, of what is in the pot, is left out."""


@dataclass(frozen=True, slots=True)
class Addition:
    """One thing to put on the scale. letdown: the bottle's name; "" where the pigment is weighed as it is. pigment_g, carrier_g:
    what weigh_g brings. spread: relative. made: of a bottle that has to be made first."""

    pigment: str
    letdown: str
    weigh_g: float
    pigment_g: float
    carrier_g: float
    spread: float
    made: Made | None = None


@dataclass(frozen=True, slots=True)
class Weights:
    """What goes into the pot, and what comes of it. plain_g: of the untinted part, besides what the letdowns bring. resin_g:
    resin of that part, then. doses: true (D, P), by the belief. aside_g: tinted part that is taken out first."""

    additions: tuple[Addition, ...]
    plain_g: float
    resin_g: float
    doses: Array
    chance: float
    aside_g: float = 0.0

    @property
    def carrier_g(self) -> float:
        """All untinted part that goes in, the letdowns' with it."""
        return self.plain_g + sum(one.carrier_g for one in self.additions)

    @property
    def added_g(self) -> float:
        """All that goes in."""
        return self.plain_g + sum(one.weigh_g for one in self.additions)


@dataclass(frozen=True, slots=True)
class InPot:
    """A pot as it is believed to be. doses_phr: (P,), of its mix. resin_g: of the part that takes pigment, in it; part_share:
    that part's share of the mix."""

    view: Sights
    doses_phr: Array
    resin_g: float
    part_share: float


def weigh(pot: InPot, way: Way, bench: Bench, bottles: Sequence[StockBottle] = (), room_g: float = math.inf) -> Weights:
    """The way in grams. bottles: to top up from. room_g: how much more goes into the pot."""
    view, resin_g, part_share = pot.view, pot.resin_g, pot.part_share
    names = view.aim.model.pigments
    used = np.flatnonzero(way.top_up > 0).tolist()
    sources: Mapping[int, Source] = {}
    for _ in range(3):
        after_g = resin_g / way.share
        grams = way.top_up * after_g / part_share / 100
        # What may come with letdowns: as much as may be missing from a fresh part, and what is to thin the pot anyway.
        room = min((1 - CARRIER_SHARE) * resin_g + (after_g - resin_g), room_g)
        there = pot.doses_phr * resin_g / part_share / 100
        each = room / max(len(used), 1)
        sources = {p: _source(names[p], float(grams[p]), float(there[p]), each, bench, bottles) for p in used}
        brought = sum(float(grams[p]) * (1 / sources[p].share - 1) for p in used)
        if brought <= after_g - resin_g + 1e-9 * resin_g:
            break
        # The letdowns themselves bring more untinted part than was meant: then that is in the pot, and counts.
        way = smallest_top_up(view, pot.doses_phr, resin_g / (resin_g + brought), used)
        used = np.flatnonzero(way.top_up > 0).tolist()
    after_g = resin_g / way.share
    ideal = [float(way.top_up[p]) * after_g / part_share / 100 / sources[p].share for p in used]
    brought = sum(g * (1 - sources[p].share) for g, p in zip(ideal, used, strict=True))
    plain = max(after_g - resin_g - brought, 0.0)
    plain = bench.part_place(plain).rounded(plain) if plain > _NOTHING * resin_g else 0.0
    return _rounded(pot, [(p, sources[p]) for p in used], ideal, plain, bench)


def _source(
    pigment: str, grams: float, there_g: float, room_g: float, bench: Bench, bottles: Sequence[StockBottle]
) -> Source:
    """Where so much pigment comes from: a bottle that is there, the pigment as it is, or a bottle to make. there_g: of this
    pigment in the pot already."""
    fine = max(ROUGH_SPREAD * grams, min(_OF_ALL * (there_g + grams), _OF_ITSELF * grams))
    there = sorted((one for one in bottles if one.pigment == pigment), key=lambda one: one.n)
    for bottle in there:
        need = grams / bottle.share
        place = bench.for_pigment(need)
        if place is None or place.portions > 1 or need > max(room_g, 1e-9):
            continue
        if bottle.left_g >= need + place.step_g and place.spread_g <= fine / bottle.share:
            return Source(bottle.name, bottle.share, 1.0)
    neat, place = Source(None, 1.0, 1.0), bench.for_pigment(grams)
    if grams <= 0 or (place is not None and place.spread_g <= fine):
        return neat
    # What is left of it goes on the shelf: so it is made as well as a bottle for chips is.
    allowed = min(fine / grams, math.hypot(ROUGH_SPREAD, BOTTLE_SPREAD))
    option = new_letdown(Need(pigment, grams, 1.0, 0.0, ()), bench, allowed, room_g, in_one_step=True)
    made = _weakest(grams, allowed, room_g, bench) if option is None else option.source.made[0]
    return neat if made is None else Source(f"{pigment} 1+{made.n}", made.share, 1.0, made=(made,))


def _weakest(grams: float, allowed: float, room_g: float, bench: Bench) -> Made | None:
    """The weakest bottle that still fits, for less than a scale should be asked for: a few drops beat none, and it is told
    how rough they are."""
    fitting = [fill(n, grams * (1 + n), allowed, bench) for n in STEPS if grams * n <= room_g]
    return next((made for made in reversed(fitting) if made is not None), None)


def _rounded(
    pot: InPot, sources: Sequence[tuple[int, Source]], ideal: Sequence[float], plain_g: float, bench: Bench
) -> Weights:
    """Of all ways to round up or down, the one that leaves the best chance; where several do, the nearest to the target."""
    places = [bench.pigment_place(g) for g in ideal]
    low = [np.floor(g / place.step_g + 1e-9) * place.step_g for g, place in zip(ideal, places, strict=True)]
    corners = (
        product(*[(a, a + place.step_g) for a, place in zip(low, places, strict=True)])
        if len(ideal) <= _MOST_ROUNDED
        else [tuple(place.rounded(g) for g, place in zip(ideal, places, strict=True))]
    )
    ways = [as_weights(pot, sources, corner, plain_g, bench) for corner in corners]
    return max(ways, key=lambda way: (way.chance, -float(np.mean(pot.view.worst(way.doses) ** 2))))


def as_weights(
    pot: InPot, sources: Sequence[tuple[int, Source]], weights: Sequence[float], plain_g: float, bench: Bench
) -> Weights:
    """These very weights, and what comes of them with their own weighing errors."""
    view, names = pot.view, pot.view.aim.model.pigments
    additions, spreads = [], np.zeros(len(names))
    pigment_g = np.zeros(len(names))
    for (p, source), weight in zip(sources, weights, strict=True):
        if weight <= 0:
            continue
        weight = float(f"{weight:.10g}")
        made = next(iter(source.made), None)
        own = math.hypot(bench.pigment_place(weight).spread_g / weight, 0.0 if made is None else made.spread)
        grams = weight * source.share
        pigment_g[p], spreads[p] = grams, own
        additions.append(Addition(names[p], source.name or "", weight, grams, weight - grams, own, made))
    after = pot.resin_g + plain_g + sum(one.carrier_g for one in additions)
    share = pot.resin_g / after
    top_up = 100 * pigment_g * pot.part_share / after
    plain_spread = bench.part_place(plain_g).spread_g / after if plain_g else 0.0
    doses = view.doses(pot.doses_phr, share, top_up, np.minimum(spreads, 0.5), min(plain_spread, 0.5))
    return Weights(tuple(additions), plain_g, after, doses, view.chance(doses))


def untouched(pot: InPot) -> Weights:
    """Nothing added."""
    doses = pot.view.doses(pot.doses_phr, 1.0, np.zeros(len(pot.doses_phr)))
    return Weights((), 0.0, pot.resin_g, doses, pot.view.chance(doses))
