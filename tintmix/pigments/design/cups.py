"""Which cups to pour: doses, mixtures and thicknesses that best pin down the colour at the casting's places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from tintmix.errors import ValueProblem
from tintmix.numerals import listed, numeral
from tintmix.optics.detector import eye, luminous
from tintmix.optics.difference import residuals_with_slope
from tintmix.optics.light import light
from tintmix.optics.spectrum import Array
from tintmix.pigments.design.belief import Belief
from tintmix.pigments.design.fedorov_exchange import Aim, Indices, Pool, doubt, exchange, losses
from tintmix.pigments.design.forecast import aim_at, pool_of, typical
from tintmix.pigments.design.kept import Came, what_comes
from tintmix.pigments.design.sight import Sight, colorimeter, cup_spread, look_ahead, read_ahead
from tintmix.pigments.design.wish import Wish
from tintmix.pigments.model import TintModel

LEVELS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0)
"""Doses of one pigment that are weighed against each other, in parts of the dose meant for the casting: chips thinner than it
ask for stronger cups. With the coarser steps below the cups serve 1 % worse, in half the time."""
MIXED = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0)
"""Mixtures: their pigments' parts of the part's dose, summed."""
FEWER_LEVELS, FEWER_MIXED = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0), (1.0, 2.0, 4.0, 8.0)
"""The same where there is much to weigh up: steps of two."""
_MANY_PIGMENTS, _MANY_READINGS = 4, 150
"""Beyond so many pigments, or numbers that their chips could give, the coarser steps: with five pigments finer ones serve no
better."""
MOST_PIGMENTS = 12
"""In one plan: more than a maker measures in one go."""

_WANTED = 8
"""Mixtures in each world. With 4 or 16 the cups serve as well as with other seeds: within 1 % in the mean."""
_WANTED_OF_MODEL = 24
"""Mixtures where a model's draws judge: twice as many as its own advice is judged by."""
_WANTED_SPAN = (float(np.log(0.2)), float(np.log(2.0)))
"""Of the log of each dose of a wanted mixture, in parts of the part's."""
_LEAST_LIGHT_WANTED = 0.03
"""Luminous, through the thickest place: nobody wants it blacker. With 0.01 all cups stay as they are."""
_DARKEST, _PALEST = 0.015, 2.0
"""A chip tells nothing when, in the middle world, less light comes to the instrument or it differs less from an untinted
one (ΔE). With 0.005 or 0.04, and with 1, all cups stay as they are.
"""
_PASSES_ON_TILE = 2.0
"""Light goes through a chip on a white tile twice (at a slant rather more)."""
_MEDIAN_OF_RMS = 0.888
"""√(median of χ² with 3 degrees of freedom / 3) = √(2.366/3): from the root-mean-square doubt to the typical error."""
_SEED = 1
"""Any number: the same wish gives the same plan."""
_POOL_NUMBERS = 4_000_000
"""In all worlds together, 16 MB. With a quarter of it a plan takes a third of the time and its cups serve 1 % worse; with four
times as much they stay as they are."""
_FURTHER = 2
"""Cups beyond the plan that the forecast looks at: one would not show whether more help, three are another plan."""
_MOST_SETS = 8
"""Choices of thicknesses that a cup may have, spread over all there are: each is weighed up with every mixture."""
_LEAST_WORLDS = 12
"""However large the pool: with fewer, the cups suit the luck of the draw."""


@dataclass(frozen=True, slots=True)
class PlannedCup:
    """One cup to pour. why: what it is for. light: (k,), the part of the light that its chips are expected to let through."""

    doses_phr: tuple[float, ...]
    thicknesses_mm: tuple[float, ...]
    why: str
    light: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Forecast:
    """The typical error (ΔE00, median) expected for a mixture at one section. before: as things are, None where nothing is known.
    starter: after the untinted cup and one of each new pigment, None where that is no part of this plan. after: after
    the plan. further: after the best two cups more. half: between these `after` came for half of the simulated sets; None
    where a model knows all pigments."""

    section_mm: float
    before: float | None
    starter: float | None
    after: float
    further: float
    half: tuple[float, float] | None = None

    def as_it_comes(self, came: Came) -> Forecast:
        """The forecast of the search for pigments that nobody has measured, as such plans turned out."""
        after = came.middle * self.after
        # Where hardly anything is gained, the starter's own figure may fall short by chance.
        starter = None if self.starter is None else max(came.starter * self.starter, after)
        half = (came.low * self.after, came.high * self.after)
        return Forecast(self.section_mm, None, starter, after, came.middle * self.further, half)


@dataclass(frozen=True, slots=True)
class Plan:
    """The cups, the untinted one first, and what they are expected to give."""

    cups: tuple[PlannedCup, ...]
    forecasts: tuple[Forecast, ...]
    warnings: tuple[str, ...]


def least_cups(belief: Belief) -> int:
    """An untinted cup where the resin is not known, and one for each new pigment: fewer would leave a pigment unseen."""
    return max(1, int(belief.resin_unknown) + sum(belief.unknown))


def check_count(pigments: int) -> None:
    """That one plan holds so many pigments: to be asked before any work, whose memory grows with their square. Raises
    ValueProblem."""
    if pigments > MOST_PIGMENTS:
        raise ValueProblem(
            what=f"{pigments} pigments are too many for one plan; plan at most {MOST_PIGMENTS} at a time"
        )


def plan(belief: Belief, wish: Wish) -> Plan:
    """The cups that leave the least doubt about the colour of random wanted mixtures at the casting's places.

    Bayesian design: candidates are every pigment alone, in pairs and in threes, at many doses and at the thicknesses that can
    be cast; greedy, then exchanged one by one (`fedorov_exchange.exchange`). Where nobody has measured a pigment, one cup
    holds it alone, at least as deep as in the part: the linear update behind the search does not see that one colour has
    many spectra.
    Raises ValueProblem.
    """
    check_count(len(belief.pigments))
    if wish.cups < least_cups(belief):
        raise ValueProblem(
            what=f"{'1 cup' if wish.cups == 1 else f'{wish.cups} cups'} cannot do: it takes at least {least_cups(belief)}, "
            f"{'an untinted one and ' if belief.resin_unknown else ''}one for each pigment that nobody has measured"
        )
    belief = _fewer_worlds(belief, wish)
    pool, sight = _pool(belief, wish)
    slots, free, warnings = _slots(belief, wish, pool, sight)
    aim, typical_after = _judged_by(belief, wish, pool)
    chosen = exchange(pool, aim, slots)
    starter = chosen[: least_cups(belief)] if wish.cups > least_cups(belief) and any(belief.unknown) else None
    more = list(chosen)
    for _ in range(_FURTHER):
        more.append(int(free[losses(pool, aim, more, free).argmin()]))
    stages: tuple[list[int] | None, ...] = ((None if any(belief.unknown) else []), starter, chosen, more)
    nothing: list[Any] = [None] * len(wish.sections_mm)
    typical = [nothing if cups is None else typical_after(cups) for cups in stages]
    forecasts = [Forecast(*row) for row in zip(wish.sections_mm, *typical, strict=True)]
    if belief.model is None:
        thickest = max(wish.cast_mm)
        forecasts = [one.as_it_comes(what_comes(wish.instrument, one.section_mm, thickest)) for one in forecasts]
    light = np.median(sight.light, axis=0).reshape(len(pool.doses_phr), -1)
    held = {c: np.flatnonzero(pool.doses_phr[c]).tolist() for c in chosen}
    # By what is in them, weakest first: so they are named, and so they are found on a list.
    order = sorted(chosen, key=lambda c: (len(held[c]), held[c], pool.doses_phr[c].sum()))
    planned = [
        PlannedCup(
            tuple(pool.doses_phr[c].tolist()),
            tuple(pool.thicknesses_mm[c].tolist()),
            _why(belief, pool.doses_phr[c], wish.instrument.tile is not None),
            tuple(light[c].tolist()),
        )
        for c in order
    ]
    return Plan(tuple(planned), tuple(forecasts), tuple(warnings))


def _fewer_worlds(belief: Belief, wish: Wish) -> Belief:
    """So many worlds as the search has time for: many readings a cup, or many pigments, make each world dearer."""
    each = len(_mixtures(belief, wish)) * len(_thickness_sets(wish)) * _readings(wish) * belief.columns.shape[-1]
    worlds = int(np.clip(_POOL_NUMBERS // each, _LEAST_WORLDS, len(belief.spectra)))
    kept = np.linspace(0, len(belief.spectra) - 1, worlds).round().astype(int)
    return replace(belief, spectra=belief.spectra[kept])


def _readings(wish: Wish) -> int:
    return int(wish.instrument.weights.shape[1]) * min(wish.chips_per_cup, len(wish.cast_mm))


def _mixtures(belief: Belief, wish: Wish) -> Array:
    """Doses (C, P) in parts of the part's: alone, in pairs, in threes. Coarser where there would be too many to weigh up."""
    count = len(belief.pigments)
    many = count > _MANY_PIGMENTS or _readings(wish) * len(_thickness_sets(wish)) * count > _MANY_READINGS
    levels, mixed = (FEWER_LEVELS, FEWER_MIXED) if many else (LEVELS, MIXED)
    unit = np.eye(count)
    rows = [np.zeros(count)] + [level * unit[p] for p in range(count) for level in levels]
    for a, b in combinations(range(count), 2):
        rows += [
            total * (share * unit[a] + (1 - share) * unit[b])
            for total in mixed
            for share in ((0.5,) if many else (0.5, 1 / 3, 2 / 3))
        ]
    threes = (
        combinations(range(count), 3) if not many else [(p, (p + 1) % count, (p + 2) % count) for p in range(count)]
    )
    rows += [total / 3 * unit[list(three)].sum(axis=0) for three in threes for total in mixed]
    return np.array(rows)


def _thickness_sets(wish: Wish) -> list[tuple[float, ...]]:
    """Choices of so many thicknesses for a cup; closer together than 1.4 only where there are no others. One at least holds
    the block's."""
    cast = sorted(set(wish.cast_mm))
    size = min(wish.chips_per_cup, len(cast))
    sets = list(combinations(cast, size))
    apart = [s for s in sets if all(b / a >= 1.4 for a, b in pairwise(s))] or sets
    # 1.4, about √2: chips that are nearly as thick tell nearly the same.
    block = block_mm(wish)
    with_block = next((s for s in apart if block in s), next(s for s in sets if block in s))
    few = [apart[i] for i in np.unique(np.linspace(0, len(apart) - 1, min(len(apart), _MOST_SETS)).round().astype(int))]
    return few if any(block in s for s in few) else [*few, with_block]


def block_mm(wish: Wish) -> float:
    """Thickness of the untinted block: of those that can be cast, the nearest to the thickest section."""
    thickest = max(wish.sections_mm)
    return min(set(wish.cast_mm), key=lambda mm: (abs(mm - thickest), -mm))


def _pool(belief: Belief, wish: Wish) -> tuple[Pool, Sight]:
    relative = _mixtures(belief, wish)
    doses = np.array([[float(f"{dose:.2g}") for dose in row] for row in relative * wish.part_phr])
    allowed = np.ones(len(doses), dtype=bool)
    # 0.999: a least dose that is one of these doses, but for its last digit, can be weighed.
    if wish.least_phr is not None:
        allowed &= np.all((doses == 0) | (doses >= np.minimum(wish.least_phr, wish.part_phr) * 0.999), axis=1)
    if wish.max_phr is not None:
        allowed &= np.all(doses <= wish.max_phr, axis=1)
    if wish.max_total_phr is not None:
        allowed &= doses.sum(axis=1) <= wish.max_total_phr
    sets = np.array(_thickness_sets(wish))
    doses = np.repeat(doses[allowed], len(sets), axis=0)
    thicknesses = np.tile(sets, (int(allowed.sum()), 1))
    chips = sets.shape[1]
    if belief.model is not None:
        # Its draws tell what the readings do; the worlds only how light the chips are.
        belief = replace(belief, columns=belief.columns[..., :0])
    sight = look_ahead(
        wish.instrument, belief, np.repeat(doses, chips, axis=0), thicknesses.ravel(), wish.refractive_index
    )
    if belief.model is not None:
        return pool_of(belief.model, wish.reader, doses, thicknesses), sight
    return Pool(doses, thicknesses, _told(sight, thicknesses, wish)), sight


def _told(sight: Sight, thicknesses: Array, wish: Wish) -> Array:
    """Slopes of a cup's readings over their joint spread: each reading's own, the chip's thickness, the cup's dose."""
    joint = cup_spread(sight, thicknesses, wish.dose_spread, wish.thickness_spread_mm)
    slopes = sight.by_unknown.reshape(*joint.shape[:3], -1)
    told = np.linalg.inv(np.linalg.cholesky(joint)) @ slopes
    # Half precision of double: the search is twice as fast, and what is left to know is never a small difference here.
    return np.asarray(told, dtype=np.float32)


def _slots(belief: Belief, wish: Wish, pool: Pool, sight: Sight) -> tuple[list[Indices], Indices, list[str]]:
    """What each cup may hold: the untinted block, each new pigment alone, and anything that tells something (the free ones)."""
    warnings: list[str] = []
    thickest = max(wish.sections_mm)
    chips = pool.thicknesses_mm.shape[1]
    passes = 1.0 if wish.instrument.tile is None else _PASSES_ON_TILE
    light = np.median(sight.returned, axis=0).reshape(-1, chips)
    tinted = np.any(pool.doses_phr > 0, axis=1)
    telling = np.flatnonzero(tinted & _tells(belief, wish, pool, light))
    slots: list[Indices] = []
    if belief.resin_unknown:
        slots.append(np.flatnonzero(~tinted & np.any(pool.thicknesses_mm == block_mm(wish), axis=1)))
    alone = np.count_nonzero(pool.doses_phr, axis=1) == 1
    deepest = passes * pool.thicknesses_mm.max(axis=1)
    for p in np.flatnonzero(belief.unknown):
        mine = np.flatnonzero(alone & (pool.doses_phr[:, p] > 0))
        if not len(mine):
            raise ValueProblem(
                what=f"no dose of {belief.pigments[p]} within its limit could be poured: "
                f"the casting's is {numeral(wish.part_phr[p], 3)} phr; raise the limit or lower the dose"
            )
        depth = pool.doses_phr[mine, p] * deepest[mine]
        good = np.isin(mine, telling)
        # 0.99: doses are rounded to two digits.
        deep = depth >= 0.99 * wish.part_phr[p] * thickest
        kept = mine[good & deep] if np.any(good & deep) else mine[good] if np.any(good) else mine
        if not np.any(good & deep):
            warnings.append(
                f"no chip of {belief.pigments[p]} alone can be as deep as the casting; the plan takes what comes nearest."
            )
            kept = kept[[int((pool.doses_phr[kept, p] * deepest[kept]).argmax())]]
        slots.append(kept)
    free = telling if len(telling) else np.flatnonzero(tinted)
    if not len(free):
        raise ValueProblem(
            what="no tinted cup is within the limits of the resin and the pigments; raise a limit or lower the doses"
        )
    if not len(telling):
        warnings.append("every chip that could be cast is very pale or very dark; the plan takes the best of them.")
    slots += [free] * (wish.cups - len(slots))
    return slots, free, warnings


def _tells(belief: Belief, wish: Wish, pool: Pool, light: Array) -> Array:
    """Which cups (C,) have no chip so dark, and at least one not so pale, that it tells nothing."""
    chips = pool.thicknesses_mm.shape[1]
    detector = colorimeter(eye("D65", 10), tile=wish.instrument.tile)
    doses, thickness = np.repeat(pool.doses_phr, chips, axis=0), pool.thicknesses_mm.ravel()
    thicknesses, place = np.unique(thickness, return_inverse=True)
    tint = read_ahead(detector, belief, doses, thickness, wish.refractive_index)
    nothing = np.zeros((len(thicknesses), doses.shape[1]))
    clear = read_ahead(detector, belief, nothing, thicknesses, wish.refractive_index)
    apart = np.median(np.sqrt(((tint - clear[:, place]) ** 2).sum(axis=-1)), axis=0).reshape(-1, chips)
    return np.asarray((light.min(axis=1) >= _DARKEST) & (apart.max(axis=1) >= _PALEST))


def _judged_by(belief: Belief, wish: Wish, pool: Pool) -> tuple[Aim, Callable[[list[int]], list[float]]]:
    """The colours that matter, and how unsure those of each section typically are after some cups of the pool."""
    model = belief.model
    if model is None:
        aim = _aim(belief, wish)
        return aim, lambda cups: _typical(doubt(pool, aim, cups)).tolist()
    wanted = wanted_of_model(model, wish)
    asked = [model.lab_draws(wanted, mm) for mm in wish.sections_mm]
    return aim_at(np.concatenate(asked, axis=1), len(asked)), lambda cups: [
        typical(section, pool.told[0, cups]) for section in asked
    ]


def wanted_of_model(model: TintModel, wish: Wish) -> Array:
    """The wanted mixtures (W, P) by which a plan on a model is judged, none of them black."""
    resin = model.mean_resin
    doses = _wanted((1, _WANTED_OF_MODEL), wish, lambda doses, mm: light(resin, doses[0], mm, None)[None])
    return np.asarray(doses[0])


def _wanted(shape: tuple[int, int], wish: Wish, internal: Callable[[Array, float], Array]) -> Array:
    """Random wanted mixtures (S, W, P): up to three pigments about as strong as meant, none that leaves the part black."""
    rng, count = np.random.default_rng(_SEED), len(wish.part_phr)
    doses = np.exp(rng.uniform(*_WANTED_SPAN, (*shape, count))) * wish.part_phr
    order = rng.random(doses.shape).argsort(axis=-1)
    doses = np.where(order < rng.integers(1, min(count, 3) + 1, (*shape, 1)), doses, 0.0)
    # At most twelve steps of 0.7, a factor of 72 in dose.
    for _ in range(12):
        left = internal(doses, max(wish.sections_mm)) @ luminous("D65")
        doses = np.where((left < _LEAST_LIGHT_WANTED)[..., None], 0.7 * doses, doses)
    return doses


def _aim(belief: Belief, wish: Wish) -> Aim:
    worlds, leaning = len(belief.spectra), 0 if wish.instrument.lean is None else wish.instrument.lean.shape[-1]
    doses = _wanted((worlds, _WANTED), wish, belief.internal)
    colour = colorimeter(eye("D65", 10))
    rows = []
    for mm in wish.sections_mm:
        sight = look_ahead(colour, belief, doses, np.full(_WANTED, mm), wish.refractive_index)
        # A hair off: where two colours are one, ΔE00 has no derivative.
        _, metric = residuals_with_slope(sight.value, sight.value + 1e-6)
        rows.append((metric @ sight.by_unknown).reshape(worlds, -1, sight.by_unknown.shape[-1]) / np.sqrt(_WANTED))
    # The wanted colours do not hang on how the instrument leans.
    return Aim(np.asarray(np.pad(np.stack(rows, axis=1), [(0, 0)] * 3 + [(0, leaning)]), dtype=np.float32))


def _typical(variance: Array) -> Array:
    """The median error (G,) over worlds and mixtures, of variances (S, G, Q) with Q = 3 numbers of each mixture."""
    worlds, groups, _ = variance.shape
    each = np.sqrt(variance.reshape(worlds, groups, _WANTED, 3).sum(axis=-1) * _WANTED) * _MEDIAN_OF_RMS
    return np.asarray(np.median(each, axis=(0, 2)))


def _why(belief: Belief, doses: Array, on_tile: bool) -> str:
    names = [name for name, dose in zip(belief.pigments, doses, strict=True) if dose > 0]
    if not names and on_tile:
        return "untinted chip: the resin's own colour"
    if not names:
        return "untinted block: the resin's own colour, and whether it yellows"
    if len(names) == 1:
        return f"{names[0]} alone"
    return listed(names) + " together: parts what the single cups leave open"
