"""The ways to bring one pigment: neat, from a bottle on the shelf, from a new stock bottle, or from one diluted twice.

Spreads are relative standard uncertainties (GUM, JCGM 100:2008, 5.1: variances of independent weighings add). Physics §12.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from tintmix.numerals import numeral
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import LARGEST_BOTTLE_G, LEAST_STEPS, STEPS, Bench, Place

LEAST_BOTTLE_G = 20.0
"""Less than 15 to 20 g cannot be stirred well (common practice)."""
LEFT_BEHIND = 1.1
"""More than is used: what clings to the bottle and the stick (common practice)."""
BOTTLE_STEP_G = 0.1
"""Pigment goes into a bottle in round tenths of a gram."""
BOTTLE_COST_G = 40.0
"""Making one more bottle counts as much as throwing so much away: its ten minutes are worth something too."""
_AS_GOOD = 1.25
"""Spreads within this factor count as alike where the one costs less."""
_TWICE = (
    (5, 5), (5, 10), (10, 10), (10, 20), (20, 20), (10, 50), (20, 50), (10, 100), (20, 100), (50, 50), (50, 100), (100, 100),
)  # fmt: skip
"""Two steps in a row, the weaker dilutions first."""
_ONCE_MORE = ((5,), (10,), (20,), (50,), (100,))
"""One more step from a bottle on the shelf, in the same n."""
_ONCE = tuple((n,) for n in STEPS)
CARRIER_SHARE = 0.8
"""At most this share of the tinted part comes with its letdowns: the rest stays to rinse the pot's sides down, and to make up
what rounding leaves (common practice)."""
_NEAR = 0.5
"""A bottle's own spread that is not worth bettering: this part of the spread of what is weighed from it."""


@dataclass(frozen=True, slots=True)
class Source:
    """Something that pigment can be weighed from. share: grams of pigment as supplied in a gram of it. steps: the bottles to
    make for it, in order. spread: relative, of its strength, from weighing; strength_spread: of what was measured."""

    name: str | None
    share: float
    strength: float
    spread: float = 0.0
    strength_spread: float = 0.0
    shelf: StockBottle | None = None
    made: tuple[Made, ...] = ()


@dataclass(frozen=True, slots=True)
class Made:
    """A bottle to make: first_g of what is let down, carrier_g put to it. used_g: of it, for the next step or the batch.
    spread: relative, of this step alone; first_spread and carrier_spread make it up."""

    n: int
    first_g: float
    carrier_g: float
    used_g: float
    first_spread: float
    carrier_spread: float
    carrier_place: Place

    @property
    def spread(self) -> float:
        """Relative spread of this step."""
        return math.hypot(self.first_spread, self.carrier_spread)

    @property
    def share(self) -> float:
        """What was let down, in one gram of it."""
        return self.first_g / (self.first_g + self.carrier_g)

    @property
    def waste_g(self) -> float:
        """What is left of it."""
        return self.first_g + self.carrier_g - self.used_g


@dataclass(frozen=True, slots=True)
class Option:
    """A way to bring a pigment. grams: of pigment as supplied. target_g: of the source, before rounding. carrier_g: what
    comes with it. portion_spread: relative, of the weighing itself; spread: with the bottles'. cost: in grams thrown away, see
    BOTTLE_COST_G."""

    source: Source
    grams: float
    target_g: float
    place: Place
    portion_spread: float
    spread: float
    cost: float

    @property
    def carrier_g(self) -> float:
        """What comes with it of the tinted part."""
        return self.target_g * (1.0 - self.source.share)


@dataclass(frozen=True, slots=True)
class Need:
    """A pigment to bring. model_g: grams of it, were it as strong as the model's. strength, strength_spread: of the lot in
    hand. shelf: its bottles that can be used, the oldest first; standing: the others, each with the reason."""

    pigment: str
    model_g: float
    strength: float
    strength_spread: float
    shelf: tuple[StockBottle, ...]
    lot: str = ""
    standing: tuple[tuple[StockBottle, str], ...] = ()


def neat(need: Need, scales: Bench) -> Option | None:
    """As supplied; None where no scale can weigh so little (or so much)."""
    return _option(need, Source(None, 1.0, need.strength, 0.0, need.strength_spread), scales, math.inf)


def from_shelf(need: Need, scales: Bench, most_carrier_g: float) -> Option | None:
    """From a bottle that holds enough: the oldest of those that are about as true as the truest, for it should be used up
    first. None where there is none."""
    tried = [(b, _option(need, shelf_source(need, b, scales), scales, most_carrier_g)) for b in need.shelf]
    options = [one for b, one in tried if one is not None and one.target_g + one.place.step_g <= b.left_g]
    truest = min((option.spread for option in options), default=0.0)
    return next((option for option in options if option.spread <= _AS_GOOD * truest), None)


def new_letdown(
    need: Need, scales: Bench, allowed: float, most_carrier_g: float, in_one_step: bool = False
) -> Option | None:
    """From a new stock bottle: the cheapest that is good enough; diluted twice only where one step is not, and where that may
    be; else the most accurate.

    allowed: relative spread that the weighing, bottles included, may have. most_carrier_g: of the tinted part, that may come with
    it. None where no bottle can do it.
    """
    tried: list[Option] = []
    for serial in (False,) if in_one_step else (False, True):
        options = _made(need, scales, allowed, most_carrier_g, serial)
        # Where any spread will do, so will the first: the strongest.
        found = list(islice(options, 1) if math.isinf(allowed) else options)
        best = min((option for option in found if option.spread <= allowed), key=_by_cost, default=None)
        if best is not None:
            return best
        tried += found
    truest = min((option.spread for option in tried), default=0.0)
    return min((option for option in tried if option.spread <= _AS_GOOD * truest), key=_by_cost, default=None)


def carrier_room(part_g: float, pigments: int, scales: Bench) -> float:
    """Grams of the tinted part that may come with letdowns: what stays to be weighed is a fifth, and can be weighed.

    part_g: the tinted part's resin. pigments: how many there are; each may round up by a step.
    """
    stays = max((1.0 - CARRIER_SHARE) * part_g, (LEAST_STEPS + pigments + 1) * scales.finest_g)
    return max(part_g - stays, 0.0)


def _by_cost(option: Option) -> tuple[float, float]:
    return option.cost, option.spread


def _option(
    need: Need, source: Source, scales: Bench, most_carrier_g: float, place: Place | None = None
) -> Option | None:
    grams = need.model_g / source.strength
    target = grams / source.share
    place = place or scales.for_pigment(target)
    if place is None or target * (1.0 - source.share) > most_carrier_g:
        return None
    portion = place.spread_g / target
    cost = math.fsum(BOTTLE_COST_G + made.waste_g for made in source.made)
    return Option(source, grams, target, place, portion, math.hypot(portion, source.spread), cost)


def shelf_source(need: Need, bottle: StockBottle, scales: Bench) -> Source:
    """A bottle on the shelf as a source: measured, it has its own strength, whatever its weights; the chips' own is as strong as
    the model's pigment; else it has that of the lot in hand."""
    strength, known_to, spread = need.strength, need.strength_spread, bottle.spread(scales.pigment.spread_g)
    if bottle.is_measured:
        strength, known_to, spread = bottle.strength, bottle.strength_spread, 0.0
    elif bottle.is_of_the_chips:
        strength, known_to = 1.0, 0.0
    return Source(bottle.name, bottle.share, strength, spread, known_to, bottle)


def _made(need: Need, scales: Bench, allowed: float, most_carrier_g: float, serial: bool) -> Iterator[Option]:
    """A new bottle of each ratio; serial: a weak one from a stronger, new or on the shelf."""
    plain = Source(None, 1.0, need.strength, 0.0, need.strength_spread)
    ways: list[tuple[Source, Sequence[tuple[int, ...]]]] = [(plain, _TWICE if serial else _ONCE)]
    if serial:
        enough = LEAST_STEPS * scales.pigment.readability_g
        ways += [(shelf_source(need, bottle, scales), _ONCE_MORE) for bottle in need.shelf if bottle.left_g > enough]
    for source, chains in ways:
        for ratios in chains:
            share = source.share / math.prod(1 + n for n in ratios)
            used = need.model_g / source.strength / share
            if used * (1 - share) > most_carrier_g:
                break
            place = scales.for_pigment(used)
            if place is None:
                continue
            left = _left(math.sqrt(max(allowed**2 - source.spread**2, 0.0)), place.spread_g / used)
            let_down = _let_down(source, ratios, used, left / math.sqrt(len(ratios)), scales)
            option = None if let_down is None else _option(need, let_down, scales, most_carrier_g, place)
            if option is not None:
                yield option


def _let_down(source: Source, ratios: Sequence[int], used: float, each: float, scales: Bench) -> Source | None:
    """A source let down in one step after another, of which used grams of the last are needed. each: spread of a step."""
    steps: list[Made] = []
    for n in reversed(ratios):
        made = fill(n, steps[0].first_g if steps else used, each, scales)
        if made is None:
            return None
        steps.insert(0, made)
    if source.shelf is not None and steps[0].first_g + scales.pigment.readability_g > source.shelf.left_g:
        return None
    share = source.share * math.prod(made.share for made in reversed(steps))
    spread = math.hypot(source.spread, *(made.spread for made in steps))
    name = f"1+{numeral(1 / share - 1, 4)}"
    return Source(name, share, source.strength, spread, source.strength_spread, source.shelf, tuple(steps))


def _left(allowed: float, portion: float) -> float:
    """What the bottle's own spread may be where its portion has spread already; never finer than is worth it."""
    return max(math.sqrt(max(allowed * allowed - portion * portion, 0.0)), _NEAR * portion)


def fill(n: int, used_g: float, allowed: float, scales: Bench, spare: float = LEFT_BEHIND) -> Made | None:
    """The smallest bottle of 1 + n that can be stirred, holds enough, and is as true as allowed where that can be had.

    used_g: of it; spare: so many times that is made. allowed: relative spread of its strength. None where no scale can.

    >>> from tintmix.weighing.scales import Scale
    >>> made = fill(50, 4.82, 0.04, Bench(Scale(0.1), Scale(0.01)))
    >>> made.first_g, made.carrier_g
    (0.4, 20.0)
    """
    bench = scales.on_pigment
    step, spread = max(BOTTLE_STEP_G, bench.scale.readability_g), bench.once.spread_g
    least = max(max(LEAST_BOTTLE_G, spare * used_g) / (1 + n), bench.least_g)
    most = max(LARGEST_BOTTLE_G, 1.2 * spare * used_g) / (1 + n)
    least_place = _carrier_place(least * n, scales)
    if least > most or least > bench.most_g or least_place is None:
        return None
    wanted = n / (1 + n) * math.hypot(spread, least_place.spread_g / n) / allowed if allowed > 0 else most
    first = float(f"{math.ceil(min(max(least, wanted), most) / step - 1e-9) * step:.10g}")
    carrier_place = _carrier_place(first * n, scales)
    if first > bench.most_g or carrier_place is None:
        return None
    carrier = carrier_place.rounded(first * n)
    by_carrier = carrier / (first + carrier)
    first_spread, carrier_spread = by_carrier * spread / first, by_carrier * carrier_place.spread_g / carrier
    return Made(n, first, carrier, used_g, first_spread, carrier_spread, carrier_place)


def _carrier_place(grams: float, scales: Bench) -> Place | None:
    place = scales.for_pigment(grams)
    return place if place is None or place.portions == 1 else scales.for_part(grams) or place


def with_shelf(need: Need, shelf: Sequence[StockBottle], carrier: str, resin: str, is_other_resin: bool) -> Need:
    """A need with the bottles of its pigment, the oldest first, those without a date last; and those that have to stand.

    carrier, resin: the tinted part, and the name of its resin. is_other_resin: than the recipe's; then a bottle whose resin
    nobody says stands too.
    """
    own = [bottle for bottle in shelf if bottle.pigment == need.pigment and bottle.left_g > 0]
    own.sort(key=lambda bottle: (bottle.made_on or "9999", bottle.name))
    told = [(bottle, _why_it_stands(bottle, need, carrier, resin, is_other_resin)) for bottle in own]
    usable = tuple(bottle for bottle, why in told if not why)
    return replace(need, shelf=usable, standing=tuple((bottle, why) for bottle, why in told if why))


def _why_it_stands(bottle: StockBottle, need: Need, carrier: str, resin: str, is_other_resin: bool) -> str:
    """Why a bottle is not for this batch, whatever is in it; empty where it is."""
    if bottle.carrier != carrier:
        return f"it was made with {bottle.carrier or 'nobody says what'}, and {carrier} takes the pigment"
    if bottle.resin and resin and bottle.resin != resin:
        return f"it was made with another resin, {bottle.resin}"
    if not bottle.resin and is_other_resin:
        return "the resin is not the recipe's, and nobody says which one it was made with"
    if need.lot and bottle.lot and bottle.lot != need.lot:
        return f"it was made of lot {bottle.lot}, and lot {need.lot} is in hand"
    known = (need.strength, need.strength_spread) != (1.0, 0.0)
    if need.lot and known and not bottle.lot and bottle.is_of_the_chips:
        return f"it was made of what the chips were dosed with, and lot {need.lot} is in hand"
    if need.lot and known and not bottle.lot and not bottle.knows_its_strength:
        return f"nobody says which lot it was made of, and lot {need.lot} is in hand"
    return ""


def why_not_taken(need: Need, bottle: StockBottle, scales: Bench, most_carrier_g: float, is_new_made: bool) -> str:
    """Why a bottle that could be used is not. is_new_made: whether a new one is made of its pigment."""
    if not is_new_made:
        return "it is not needed"
    option = _option(need, shelf_source(need, bottle, scales), scales, math.inf)
    if option is None:
        return "it is too strong: no scale at hand weighs the little that is needed of it"
    if option.target_g + option.place.step_g > bottle.left_g:
        return f"there is too little left in it, {option.target_g:.3g} g would be needed"
    if option.carrier_g > most_carrier_g:
        return "it is so weak that it would bring more of its resin part than the batch has room for"
    return "what is made new keeps the colour nearer"
