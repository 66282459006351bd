"""A way to go on as weights: what goes on the scale, from which bottle, rounded so that the colour comes nearest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.recipes.adjust_choice import Sights, Way, smallest_top_up
from tintmix.recipes.adjust_pot import Stock
from tintmix.weighing.scale import BOTTLE_SPREAD, ROUGH_SPREAD, STEPS, Scale, bottle_spread

_MOST_ROUNDED = 6
"""So many weights are rounded together; beyond, each to its nearest step."""
_OF_ALL = 0.01
"""A top-up's weighing may be off by this part of all of that pigment in the pot: it corrects, and need not be finer."""
_OF_ITSELF = 0.15
"""But not by more than this part of itself."""
_NOTHING = 0.003
"""Less untinted part than this, of what is in the pot, is left out."""
_LEAST_BOTTLE_G = 15.0
"""So much of a new bottle can be stirred (common practice)."""
_HANDY = (20, 50)
"""n of a bottle that wastes little: stronger ones take grams of pigment before they can be stirred, weaker ones half a gram of
it and much carrier. Left only where scale or pot ask for it."""
_DROPS_G = 0.25
"""Less than this is a few drops, and none of them can be halved (common practice: 0.03 to 0.05 g a drop)."""
_SPARE = 1.5
"""How much more of a new bottle is made than is used."""
_GOOD_STEPS = 100
"""A resin part of fewer steps than this goes on the finer scale, where that holds it: below, rounding alone costs 0.5 %."""
_UNSAID_STEPS = 20_000
"""What the pigment scale is taken to hold, in its steps, where nobody says (common practice)."""


@dataclass(frozen=True, slots=True)
class Addition:
    """One thing to put on the scale. letdown: the bottle's name; "" where the pigment is weighed as it is. new: a bottle that
    is yet to be made, of new_pigment_g and new_carrier_g. pigment_g, carrier_g: what weigh_g brings. spread: relative."""

    pigment: str
    letdown: str
    weigh_g: float
    pigment_g: float
    carrier_g: float
    spread: float
    new_pigment_g: float = 0.0
    new_carrier_g: float = 0.0

    @property
    def is_new(self) -> bool:
        """Whether its bottle has to be made first."""
        return self.new_pigment_g > 0


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
class Bench:
    """What is at hand to weigh with and to top up from. room_g: how much more goes into the pot."""

    pigment_scale: Scale = field(default_factory=lambda: Scale(0.01))
    resin_scale: Scale = field(default_factory=lambda: Scale(0.1))
    stocks: tuple[Stock, ...] = ()
    room_g: float = math.inf

    @property
    def finest_g(self) -> float:
        """The finest step at hand."""
        return min(self.pigment_scale.readability_g, self.resin_scale.readability_g)

    @property
    def pigment_most_g(self) -> float:
        """The most that the pigment scale takes."""
        scale = self.pigment_scale
        return _UNSAID_STEPS * scale.readability_g if scale.capacity_g is None else scale.capacity_g

    def scale_for(self, grams: float) -> Scale:
        """Where so much of a resin part is weighed: on the scale for resin, or on the finer one what is little.

        >>> bench = Bench(Scale(0.01), Scale(0.1))
        >>> [bench.scale_for(grams).readability_g for grams in (120.0, 1.24)]
        [0.1, 0.01]
        """
        coarse, fine = self.resin_scale, self.pigment_scale
        little = grams < _GOOD_STEPS * coarse.readability_g and fine.readability_g < coarse.readability_g
        return fine if little and grams <= self.pigment_most_g else coarse


@dataclass(frozen=True, slots=True)
class _Source:
    stock: Stock | None
    new_pigment_g: float = 0.0
    new_carrier_g: float = 0.0

    @property
    def factor(self) -> float:
        return 1.0 if self.stock is None else 1.0 + self.stock.n


def weigh(view: Sights, pot: Array, way: Way, resin_g: float, part_share: float, bench: Bench) -> Weights:
    """The way in grams. resin_g: of the part that takes pigment in the pot; part_share: its share of the mix."""
    names = view.aim.model.pigments
    used = np.flatnonzero(way.top_up > 0).tolist()
    sources: Mapping[int, _Source] = {}
    for _ in range(3):
        after_g = resin_g / way.share
        grams = way.top_up * after_g / part_share / 100
        room = min(0.2 * resin_g + (after_g - resin_g), bench.room_g)
        there = pot * resin_g / part_share / 100
        sources = {
            p: _source(names[p], float(grams[p]), float(there[p]), room / max(len(used), 1), bench) for p in used
        }
        brought = sum(float(grams[p]) * (sources[p].factor - 1) for p in used)
        if brought <= after_g - resin_g + 1e-9 * resin_g:
            break
        # The letdowns themselves bring more untinted part than was meant: then that is in the pot, and counts.
        way = smallest_top_up(view, pot, resin_g / (resin_g + brought), used)
        used = np.flatnonzero(way.top_up > 0).tolist()
    after_g = resin_g / way.share
    ideal = [float(way.top_up[p]) * after_g / part_share / 100 * sources[p].factor for p in used]
    brought = sum(g * (1 - 1 / sources[p].factor) for g, p in zip(ideal, used, strict=True))
    plain = max(after_g - resin_g - brought, 0.0)
    plain = bench.scale_for(plain).rounded(plain) if plain > _NOTHING * resin_g else 0.0
    return _rounded(view, pot, [(p, sources[p]) for p in used], ideal, plain, resin_g, part_share, bench)


def _source(pigment: str, grams: float, there_g: float, room_g: float, bench: Bench) -> _Source:
    """Where so much pigment comes from: a bottle that is there, the pigment as it is, or a bottle to make. there_g: of this
    pigment in the pot already."""
    spread = bench.pigment_scale.spread_g
    fine = max(ROUGH_SPREAD * grams, min(_OF_ALL * (there_g + grams), _OF_ITSELF * grams))
    there = sorted((s for s in bench.stocks if s.pigment == pigment), key=lambda s: s.n)
    for stock in there:
        need = grams * (1 + stock.n)
        enough = stock.left_g is None or stock.left_g >= need + bench.pigment_scale.readability_g
        fits = need <= min(max(room_g, 1e-9), bench.pigment_most_g)
        if enough and fits and spread <= fine * (1 + stock.n):
            return _Source(stock)
    if spread <= fine:
        return _Source(None)
    return _new_bottle(pigment, grams, fine, room_g, bench) or _Source(None)


def _new_bottle(pigment: str, grams: float, fine: float, room_g: float, bench: Bench) -> _Source | None:
    """A bottle from which so much is weighed to ROUGH_SPREAD, or, where that would be a large one, to what will do; as little
    of it as can be weighed and stirred. Where none is fine enough, the weakest that still fits into the pot. fine: spread in
    grams of pigment that will do."""
    scale = bench.pigment_scale
    fitting = [n for n in STEPS if grams * (1 + n) <= min(room_g, bench.pigment_most_g)]
    if not fitting:
        return None
    well, will_do = (
        next((n for n in fitting if scale.spread_g <= spread * (1 + n) and least_g <= grams * (1 + n)), fitting[-1])
        for spread, least_g in ((ROUGH_SPREAD * grams, _DROPS_G), (fine, 0.0))
    )
    least, most = _HANDY
    n = min(max(will_do, min(max(well, least), most)), fitting[-1])
    step = max(0.1, scale.readability_g)
    enough = max(_SPARE * grams, scale.spread_g / BOTTLE_SPREAD, _LEAST_BOTTLE_G / (1 + n))
    pigment_g = float(f"{math.ceil(enough / step - 1e-9) * step:.10g}")
    return _Source(Stock(f"{pigment} 1+{n}", pigment, float(n), 0.0), pigment_g, float(f"{pigment_g * n:.10g}"))


def _rounded(
    view: Sights,
    pot: Array,
    sources: Sequence[tuple[int, _Source]],
    ideal: Sequence[float],
    plain_g: float,
    resin_g: float,
    part_share: float,
    bench: Bench,
) -> Weights:
    """Of all ways to round up or down, the one that leaves the best chance; where several do, the nearest to the target."""
    step = bench.pigment_scale.readability_g
    low = [np.floor(g / step + 1e-9) * step for g in ideal]
    corners = (
        product(*[(a, a + step) for a in low])
        if len(ideal) <= _MOST_ROUNDED
        else [tuple(bench.pigment_scale.rounded(g) for g in ideal)]
    )
    best: tuple[float, float, Weights] | None = None
    for corner in corners:
        weights = as_weights(view, pot, sources, corner, plain_g, resin_g, part_share, bench)
        worst = view.worst(weights.doses)
        rank = (weights.chance, -float(np.mean(worst**2)))
        if best is None or rank > best[:2]:
            best = (*rank, weights)
    assert best is not None
    return best[2]


def as_weights(
    view: Sights,
    pot: Array,
    sources: Sequence[tuple[int, _Source]],
    grams: Sequence[float],
    plain_g: float,
    resin_g: float,
    part_share: float,
    bench: Bench,
) -> Weights:
    """These very weights, and what comes of them with their own weighing errors."""
    names = view.aim.model.pigments
    additions, spreads = [], np.zeros(len(names))
    pigment_g = np.zeros(len(names))
    for (p, source), weight in zip(sources, grams, strict=True):
        if weight <= 0:
            continue
        weight = float(f"{weight:.10g}")
        own = bench.pigment_scale.spread_g / weight
        if source.new_pigment_g > 0:
            made = bottle_spread(source.new_pigment_g, source.new_carrier_g, bench.pigment_scale.spread_g)
            own = math.hypot(own, made)
        pigment_g[p], spreads[p] = weight / source.factor, own
        additions.append(
            Addition(
                names[p], "" if source.stock is None else source.stock.name, weight, weight / source.factor,
                weight - weight / source.factor, own, source.new_pigment_g, source.new_carrier_g,
            )
        )  # fmt: skip
    after = resin_g + plain_g + sum(one.carrier_g for one in additions)
    share = resin_g / after
    top_up = 100 * pigment_g * part_share / after
    plain_spread = bench.scale_for(plain_g).spread_g / after if plain_g else 0.0
    doses = view.doses(pot, share, top_up, np.minimum(spreads, 0.5), min(plain_spread, 0.5))
    return Weights(tuple(additions), plain_g, after, doses, view.chance(doses))


def untouched(view: Sights, pot: Array, resin_g: float) -> Weights:
    """Nothing added."""
    doses = view.doses(pot, 1.0, np.zeros(len(pot)))
    return Weights((), 0.0, resin_g, doses, view.chance(doses))
