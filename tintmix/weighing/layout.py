"""One way to weigh all of a batch: options, weights rounded together, the parts that are left to weigh; or why there is none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.errors import NotThere, Remedy
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array
from tintmix.quantities import BATCH_G
from tintmix.resin import Part, Resin
from tintmix.weighing.budget import delta_e00_95, sources_of
from tintmix.weighing.choice import choose
from tintmix.weighing.errors import CannotBeWeighed, no_parts
from tintmix.weighing.letdown import Need, Option, carrier_room
from tintmix.weighing.rounding import rounded_together
from tintmix.weighing.scales import FILLED, LEAST_STEPS, MOST_PORTIONS, Bench, Place
from tintmix.weighing.weighed import PartWeight

MARGINS = (1.2, 1.0, 0.85, 0.65)
"""What the weighings are laid out for, in parts of the aim: their quadratic sum overstates what several pigments do, and rounding
adds to it. The first that keeps the aim as it truly is, is taken."""
_HOPELESS = 1.6
"""Times the aim: what the widest margin misses by more than 1.2/0.65 = 1.85 no narrower one can mend; a little before that."""


@dataclass(frozen=True, slots=True)
class Job:
    """All that is asked. moves (sections, 3, pigments); moved_by: their lengths (sections, pigments)."""

    doses_phr: dict[str, float]
    needs: tuple[Need, ...]
    moves: Array
    moved_by: list[list[float]]
    resin: Resin
    tinted: str
    batch_g: float
    scales: Bench

    @property
    def totals_g(self) -> dict[str, float]:
        """Of each part, exact."""
        return part_totals(self.resin, self.batch_g)

    @property
    def room_g(self) -> float:
        """How much of the tinted part may come with letdowns."""
        return carrier_room(self.totals_g[self.tinted], len(self.needs), self.scales)

    def options(self, aim: float, room_g: float) -> list[Option] | str:
        """A way to bring each pigment, or the name of the one for which there is none."""
        return choose(self.needs, self.moved_by, self.scales, aim, room_g)


@dataclass(frozen=True, slots=True)
class Laid:
    """One way to weigh it all, rounded. errors: relative, of the doses as rounded. worst: of delta_e00."""

    options: list[Option]
    weights: tuple[float, ...]
    parts: tuple[PartWeight, ...]
    places: tuple[Place, ...]
    errors: Array
    delta_e00: Array

    @property
    def worst(self) -> float:
        """The section that weighing moves most."""
        return float(self.delta_e00.max(initial=0.0))

    @property
    def weighed_g(self) -> float:
        """The resin as the rounded weights give it."""
        return math.fsum(part.grams_to_weigh + part.carrier_g for part in self.parts)

    @property
    def bottles(self) -> int:
        """How many are to be made."""
        return sum(len(option.source.made) for option in self.options)

    @property
    def waste_g(self) -> float:
        """What is left in them."""
        return math.fsum(made.waste_g for option in self.options for made in option.source.made)

    @property
    def resin_spread_g(self) -> float:
        """Standard uncertainty of the resin parts together, in grams."""
        return math.sqrt(math.fsum(place.spread_g**2 for place in self.places))

    def moved(self, moves: Array, with_lots: bool = False) -> Array:
        """ΔE00 within which 95 % lies at each section. with_lots: the spread of the strengths counted too."""
        spreads = [math.hypot(o.source.spread, o.source.strength_spread * with_lots) for o in self.options]
        portions = [(o.place.spread_g, w, o.source.share) for o, w in zip(self.options, self.weights, strict=True)]
        sources = sources_of(spreads, portions, self.weighed_g, self.resin_spread_g)
        return delta_e00_95(moves, self.errors, sources)


def tinted_part(resin: Resin) -> Part:
    """The part that takes pigment. Raises NotThere."""
    if not resin.parts:
        raise no_parts(resin.name)
    if len(resin.parts) == 1:
        return resin.parts[0]
    if resin.takes_pigment is None:
        raise NotThere(
            where=f"resin {plain(resin.name)!r}",
            what="takes_pigment is missing, so the part that pigment goes into is not known",
            remedy=Remedy.WRITE_WHAT_TAKES_PIGMENT,
            parts=", ".join(plain(part.name, 30) for part in resin.parts),
        )
    return next(part for part in resin.parts if part.name == resin.takes_pigment)


def lay(job: Job, aim: float, margins: Sequence[float] = MARGINS) -> Laid | str:
    """The first laying-out that keeps the aim, or the best of those tried; the pigment's name where there is none."""
    tried: list[Laid] = []
    for margin in margins:
        options = job.options(margin * aim, job.room_g)
        if isinstance(options, str):
            return options
        if tried and options == tried[-1].options:
            break
        tried.append(_round(job, options))
        if not aim < tried[-1].worst <= _HOPELESS * aim:
            break
    return min(tried, key=lambda laid: laid.worst)


def _round(job: Job, options: list[Option]) -> Laid:
    targets = [option.target_g for option in options]
    steps = [option.place.step_g for option in options]
    brought = np.array([option.source.share * option.source.strength for option in options])
    wanted = np.array(list(job.doses_phr.values()))
    offset = 0.0
    for _ in range(2):
        weights = rounded_together(targets, steps, job.moves, offset) if options else ()
        carrier = math.fsum(weight * (1.0 - o.source.share) for weight, o in zip(weights, options, strict=True))
        parts, places = _parts(job, carrier)
        weighed = math.fsum(part.grams_to_weigh + part.carrier_g for part in parts)
        offset = math.log(job.batch_g / weighed)
        # 2e-5: hundreds of times below what any scale does to a dose.
        if abs(offset) < 2e-5 or not options:
            break
    errors = np.array(weights) * brought * (100.0 / weighed) / wanted - 1.0
    laid = Laid(options, weights, parts, places, errors, np.zeros(0))
    return replace(laid, delta_e00=laid.moved(job.moves))


def part_totals(resin: Resin, batch_g: float) -> dict[str, float]:
    """Grams of each part in a batch, exact: they sum to it within 1e-9 g."""
    whole = math.fsum(part.parts_by_weight for part in resin.parts)
    return {part.name: batch_g * (part.parts_by_weight / whole) for part in resin.parts}


def _parts(job: Job, carrier_g: float) -> tuple[tuple[PartWeight, ...], tuple[Place, ...]]:
    parts, places = [], []
    for part, total in zip(job.resin.parts, job.totals_g.values(), strict=True):
        is_tinted = part.name == job.tinted
        comes = carrier_g if is_tinted else 0.0
        place = job.scales.for_part(total - comes)
        if place is None:
            raise no_scale(f"part {part.name}", total - comes, job)
        grams = place.rounded(total - comes)
        portions = place.split(grams)
        parts.append(PartWeight(part.name, total, grams, comes, portions, place.scale, part.hazard, is_tinted))
        places.append(place)
    return tuple(parts), tuple(places)


def unplaced(job: Job) -> tuple[str, float] | None:
    """The first part that no scale can weigh, and its grams."""
    totals = job.totals_g.items()
    return next(((f"part {name}", grams) for name, grams in totals if job.scales.for_part(grams) is None), None)


def no_scale(what: str, grams: float, job: Job, diluted: bool = False) -> CannotBeWeighed:
    """No scale can weigh it: too little for the finest, or too much for the largest. diluted: bottles were tried too."""
    finest = job.scales.finest_g
    if grams < LEAST_STEPS * finest:
        not_even = ", not even from a stock bottle diluted twice" if diluted else ""
        return CannotBeWeighed(
            what=f"a batch of {job.batch_g:g} g asks for {grams:.3g} g of {plain(what)}, which a scale that shows {finest:g} g "
            f"cannot weigh{not_even} (ten of its steps are the least that is asked of it)",
            **_make_more(job),
        )
    most = max(job.scales.on_resin.most_g, job.scales.on_pigment.most_g)
    return CannotBeWeighed(
        what=f"{grams:.6g} g of {plain(what)} would take more than {MOST_PORTIONS} weighings on a scale that holds "
        f"{most / FILLED:g} g, the vessel included",
        remedy=Remedy.MAKE_LESS,
    )


def refusal(job: Job, pigment: str) -> CannotBeWeighed:
    """Why there is no way to weigh this pigment."""
    need = next(need for need in job.needs if need.pigment == pigment)
    grams, finest = need.model_g / need.strength, job.scales.finest_g
    if grams >= LEAST_STEPS * finest or job.options(math.inf, math.inf) == pigment:
        return no_scale(pigment, grams, job, diluted=True)
    part_g = job.totals_g[job.tinted]
    return CannotBeWeighed(
        what=f"{plain(pigment)} is too little to be weighed neat on a scale that shows {finest:g} g, and every stock "
        f"bottle of it would bring more of part {plain(job.tinted)} than there is room for ({part_g:.4g} g in all)",
        **_make_more(job),
    )


def _enough(job: Job) -> float | None:
    """About the smallest larger batch that can be weighed, to two figures, rounded up; None where none is found."""
    low, high = job.batch_g, job.batch_g
    while not _is_weighable(job, high):
        low, high = high, 2.0 * high
        if high > BATCH_G.most:
            return None
    for _ in range(5):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if _is_weighable(job, middle) else (middle, high)
    unit = 10.0 ** (math.floor(math.log10(high)) - 1)
    rounded = math.ceil(high / unit - 1e-9) * unit
    return rounded if _is_weighable(job, rounded) else 1.1 * rounded


def _is_weighable(job: Job, batch_g: float) -> bool:
    needs = tuple(replace(need, model_g=need.model_g * batch_g / job.batch_g) for need in job.needs)
    job = replace(job, batch_g=batch_g, needs=needs)
    return unplaced(job) is None and not isinstance(job.options(math.inf, job.room_g), str)


def _make_more(job: Job) -> dict[str, Any]:
    enough_g = _enough(job)
    if enough_g is None or enough_g <= job.batch_g:
        return {"remedy": Remedy.USE_A_FINER_SCALE}
    return {"remedy": Remedy.MAKE_MORE, "enough": f"{enough_g:.0f}" if enough_g >= 10 else f"{enough_g:.2g}"}
