"""What to add to a tinted part, given what is believed of it: the smallest top-up that does, and the dilution where none can.

All in doses, g per 100 g of the mixed resin that the tinted part will make. A share r of that resin was there before
(r = 1: nothing untinted is added), so that the pot's doses c become r·c and a top-up adds t: a draw d of the belief sees
r·c·exp(pot_d) + t·exp(strength_d). Dilution by mass is C₁V₁ = C₂V₂ with masses for volumes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from tintmix.optics.colour import lab
from tintmix.optics.difference import delta_e00, residuals
from tintmix.optics.light import through
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.observations import Index
from tintmix.recipes.adjust.belief import Belief
from tintmix.recipes.search.aim import Aim

GOOD = 0.95
"""The chance that every place is within tolerance, from which on nothing more is asked."""
NEARLY = 0.02
"""Chance that a smaller addition may cost against the best one."""
ALIKE = 0.1
"""ΔE00 by which a smaller addition may end further from the target than the best one: no eye sees it, and a scale's step moves a
colour as far. Who opens the pot at all wants the target, and not the edge of its tolerance."""
HARDLY = 0.005
"""The same that a pigment less to weigh may cost, once the dilution is chosen."""
_MAY_WIN = 0.2
"""A cause that is believed less is not topped up for by itself: no top-up that is right for it alone has the best chance."""
_ALONE = 0.98
"""A cause that is believed so much is as good as the only one."""
_TOP_UP_SPREAD = 0.015
"""Relative spread of a top-up's weighing while it is chosen; the real one is told once the weights are known."""
_FEW = 3
"""Each so-manieth draw is enough to descend by: with all of them 24 simulated pots end no nearer (`python -m
tests.accuracy.constants adjusts`). Chances are told with all."""
_ENOUGH = 1e-4
"""A descent ends when a step gains less than this part."""
_STEPS = 15
"""This only bounds one that creeps. With 60, 24 simulated pots end no nearer."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way to go on. share: r, the part of the resin that was there. top_up: (P,) phr. chance: by the belief. off: ΔE00 of the
    place whose mean colour ends furthest from the target."""

    share: float
    top_up: Array
    chance: float
    off: float

    def does_as_well_as(self, best: Way, less_sure: float = NEARLY) -> bool:
        """Whether nobody would see, or miss, what the best way brings more."""
        return self.chance >= best.chance - less_sure and self.off <= best.off + ALIKE


@dataclass(frozen=True, slots=True)
class Sights:
    """The belief looked at through the sections that are aimed at. error (D, P), plain_error (D,): of weighing each pigment
    and the untinted part, in standard deviations, the same in every comparison."""

    belief: Belief
    aim: Aim
    error: Array
    plain_error: Array
    rows: Index
    """Which of the model's draws these are (D,)."""

    def doses(
        self,
        pot: Array,
        way_share: float,
        top_up: Array,
        spread: Array | float = _TOP_UP_SPREAD,
        plain_spread: float = 0.0,
    ) -> Array:
        """True doses (D, P), phr as the model counts them. plain_spread: of all the resin, from the untinted part's weighing."""
        added = top_up * np.exp(self.belief.log_strength + spread * self.error)
        mixed = way_share * pot * np.exp(self.belief.log_pot) + added
        return np.asarray(mixed * np.exp(-plain_spread * self.plain_error)[:, None])

    def lab(self, doses: Array) -> Array:
        """L*a*b* (D, C, 3) of the sections with a colour."""
        aim = self.aim
        factors = self._factors(doses[:, None], tuple(aim.sections[s] for s in aim.coloured), 1)[:, 0]
        return lab(factors @ aim.detector.weights, aim.detector.bare)

    def few_lab(self, pot: Array, way_share: float, top_ups: Array) -> Array:
        """The same (N, D / _FEW, C, 3) of N top-ups (N, P) at once, by some of the draws."""
        aim, belief = self.aim, self.belief
        strength = np.exp(belief.log_strength[::_FEW] + _TOP_UP_SPREAD * self.error[::_FEW])
        doses = (way_share * pot * np.exp(belief.log_pot[::_FEW]))[:, None] + top_ups * strength[:, None]
        factors = self._factors(doses, tuple(aim.sections[s] for s in aim.coloured), _FEW)
        return np.swapaxes(lab(factors @ aim.detector.weights, aim.detector.bare), 0, 1)

    def light(self, doses: Array) -> float:
        """Mean luminous transmittance at the thickest section, before the bare light."""
        return float((self._factors(doses[:, None], (self.aim.judged,), 1) @ self.aim.into_light).mean())

    def _factors(self, doses: Array, sections: Sequence[Section], every: int) -> Array:
        """Light (D, N, C, K) of N dose vectors (D, N, P) for each so-manieth draw, at C sections."""
        belief, model = self.belief, self.aim.model
        resins = replace(
            model.drawn_resins(of=self.rows[::every]),
            base_per_mm=belief.base[::every],
            absorptivity=belief.absorptivity[::every],
            departure_per_phr=belief.departure[::every],
        )
        # Every draw is a resin of its own, with doses of its own.
        per_mm, n = resins.per_mm(doses), model.refractive_index
        seen = [through(resins.at(per_mm, s.thickness_mm), s.thickness_mm, n, s.ground) for s in sections]
        return np.stack(seen, axis=2)

    def of_cause(self, by: int) -> Sights:
        """The draws of one cause alone."""
        rows = np.flatnonzero(self.belief.by_cause == by)
        cut = {name: getattr(self, name)[rows] for name in ("error", "plain_error", "rows")}
        return replace(self, belief=self.belief.take(rows), **cut)

    def worst(self, doses: Array) -> Array:
        """The largest ΔE00/tolerance (D,) of each draw."""
        return self._worst(self.lab(doses))

    def chance(self, doses: Array) -> float:
        """The part of the draws for which every section is within its tolerance."""
        return float(np.mean(self.worst(doses) <= 1.0))

    def way(self, pot: Array, share: float, top_up: Array) -> Way:
        """This way, with its chance and how far off it ends."""
        seen = self.lab(self.doses(pot, share, top_up))
        off = delta_e00(seen.mean(axis=0), self.aim.target_lab).max()
        return Way(share, top_up, float(np.mean(self._worst(seen) <= 1.0)), float(off))

    def _worst(self, seen: Array) -> Array:
        ratio = delta_e00(seen, self.aim.target_lab) / self.aim.tolerance
        return np.asarray(ratio.max(axis=1))


def sights(belief: Belief, aim: Aim) -> Sights:
    """With weighing errors for each draw."""
    rng, draws = np.random.default_rng(20240613), len(belief.base)
    half = rng.standard_normal(((draws + 1) // 2, belief.log_strength.shape[1]))
    return Sights(belief, aim, np.concatenate([half, -half])[:draws], rng.standard_normal(draws), np.arange(draws))


def best_top_up(view: Sights, pot: Array, share: float, columns: Sequence[int], near: Array | None = None) -> Way:
    """The top-up of these pigments with the best chance; where something may have been weighed wrong, of such that do alike the
    least, for more can be added later.

    Tried are the one that brings all draws nearest to the target, and, where more than one cause may have made the pot so (see
    `causes`), what is right by each: what lies between may be right by none. near: a top-up (P,) to begin from, of a like
    question.
    """
    ways = [view.way(pot, share, _nearest_top_up(view, pot, share, columns, near))]
    believed = [cause.belief for cause in view.belief.causes]
    causes = [by for by, belief in enumerate(believed) if belief >= _MAY_WIN]
    if max(believed) < _ALONE:
        alone = (_nearest_top_up(view.of_cause(by), pot, share, columns, near) for by in causes)
        ways += [view.way(pot, share, top_up) for top_up in alone]
    best = max(way.chance for way in ways) - NEARLY * any(cause.is_to_ask for cause in view.belief.causes)
    return min((way for way in ways if way.chance >= best), key=lambda way: float(way.top_up.sum()))


def _nearest_top_up(view: Sights, pot: Array, share: float, columns: Sequence[int], near: Array | None = None) -> Array:
    """The top-up (P,) of these pigments that brings the draws nearest to the target: least mean (ΔE00/tolerance)⁴, 0 ≤ t.

    Levenberg-Marquardt within bounds on finite differences; the pigments' own limits and the loading limit hold.
    """
    aim, width = view.aim, len(columns)
    which = np.asarray(columns, dtype=np.intp)
    top = np.zeros(len(pot))
    if not width:
        return top
    upper = np.maximum(aim.upper[which] - share * pot[which], 0.0)
    room = max(aim.total_phr - share * float(pot.sum()), 0.0)
    # A step that colours: what makes 0.02 of absorbance at the thickest section.
    unit = 0.02 / np.maximum(aim.judged_mm * aim.model.absorptivity[which].mean(axis=1), 1e-12)
    goal, tolerance = aim.target_lab, aim.tolerance[:, None]

    # 1e4: a hundredth of the room too much costs a hundred tolerances.
    def misfits(x: Array, power: int) -> Array:
        top_ups = np.zeros((len(x), len(pot)))
        top_ups[:, which] = x * unit
        miss = residuals(goal, view.few_lab(pot, share, top_ups)) / tolerance
        if power > 1:
            miss = miss * np.sqrt((miss**2).sum(axis=-1, keepdims=True))
        over = np.maximum((x * unit).sum(axis=1, keepdims=True) - room, 0.0)
        return np.concatenate([miss.reshape(len(x), -1), 1e4 * over / max(room, 1e-9)], axis=1)

    x, limit = np.zeros(width), upper / unit
    if near is not None:
        x = np.clip(near[which] / unit, 0.0, limit)
    # From least squares, which has one valley, to the fourth power, which minds the worst.
    for power in (1, 2) if near is None else (2,):
        x = _descend(misfits, x, limit, power)
    top[which] = x * unit
    return top


def _descend(misfits: Callable[[Array, int], Array], x: Array, limit: Array, power: int) -> Array:
    """misfits: of N points (N, X), (N, R)."""
    value = misfits(x[None], power)[0]
    cost, damping = float(value @ value), 1e-2
    for _ in range(_STEPS):
        size = np.maximum(1e-3 * x, 1e-3)
        slope = ((misfits(x + np.diag(size), power) - value) / size[:, None]).T
        hessian, gradient = slope.T @ slope, slope.T @ value
        # Six times stiffer by 8 is five decades: no such step that helps is left.
        for _ in range(6):
            trial = _bounded(hessian, gradient, x, limit, damping)
            told = misfits(trial[None], power)[0]
            found = float(told @ told)
            if found < cost:
                break
            damping = max(damping * 8, 1e-3)
        else:
            break
        gain, x, value, cost = cost - found, trial, told, found
        damping = max(damping * 0.2, 1e-7)
        if gain < _ENOUGH * cost:
            break
    return x


def _bounded(hessian: Array, gradient: Array, x: Array, limit: Array, damping: float) -> Array:
    """A damped step that stays within 0 ≤ x ≤ limit: what would leave stops at its bound and the others step again."""
    damped = hessian + damping * np.diag(np.diag(hessian)) + 1e-12 * np.trace(hessian) * np.eye(len(x))
    free = ~(((x <= 0) & (gradient > 0)) | ((x >= limit) & (gradient < 0)))
    step = np.zeros(len(x))
    for _ in range(len(x)):
        if not free.any():
            break
        right = -gradient[free] - damped[np.ix_(free, ~free)] @ step[~free]
        step[free] = np.linalg.solve(damped[np.ix_(free, free)], right)
        leaves = free & ((x + step < 0) | (x + step > limit))
        if not leaves.any():
            break
        step[leaves] = np.where(x[leaves] + step[leaves] < 0, -x[leaves], limit[leaves] - x[leaves])
        free &= ~leaves
    return np.clip(x + step, 0.0, limit)


def smallest_top_up(view: Sights, pot: Array, share: float, columns: Sequence[int]) -> Way:
    """The fewest pigments, and of these the least of them, that do as well as any top-up can."""
    best = best_top_up(view, pot, share, columns)
    way = _fewest(view, pot, best, columns)
    return _as_little(lambda part: view.way(pot, share, part * way.top_up), way, (1.0, 0.0), best)


def _as_little(way_at: Callable[[float], Way], kept: Way, ends: tuple[float, float], best: Way) -> Way:
    """As much as it takes, in seven halvings: to a hundredth of the top-up, finer than it is weighed. kept: the way at the
    first end, which does; nearer to the second is less."""
    does, less = ends
    for _ in range(7):
        middle = 0.5 * (does + less)
        way = way_at(middle)
        if way.does_as_well_as(best):
            does, kept = middle, way
        else:
            less = middle
    return kept


def _fewest(view: Sights, pot: Array, best: Way, columns: Sequence[int], less_sure: float = NEARLY) -> Way:
    for size in range(len(columns)):
        ways = (best_top_up(view, pot, best.share, some, best.top_up) for some in combinations(columns, size))
        found = [way for way in ways if way.does_as_well_as(best, less_sure)]
        if found:
            return min(found, key=lambda way: (-way.chance, way.off))
    return best


def least_dilution(view: Sights, pot: Array, least_share: float, columns: Sequence[int]) -> Way:
    """The least untinted part that does as well as the pot's whole room would, with its top-ups."""
    best = best_top_up(view, pot, least_share, columns)
    near = best.top_up
    least = _as_little(lambda share: best_top_up(view, pot, share, columns, near), best, (least_share, 1.0), best)
    return _fewest(view, pot, least, columns, HARDLY)
