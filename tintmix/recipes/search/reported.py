"""From the point model to what is reported: the posterior's mean colour and light, as a shift that is carried along.

The search runs on mean absorptivities; `look` and `solve` report means over the posterior's draws, and these differ
where a pigment is badly known. Near a dose vector the difference is nearly linear, so that a few rounds of measuring
it make the search end exactly where the report is right, at a small part of the cost of searching over all the draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.optics.colour import lab
from tintmix.optics.light import through
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.search.forward import FLOOR, Indices, Rows, Sight, sight

_NUDGE = 1e-3
"""Relative step of a dose for the shift's slope, which is needed to a tenth only: with ten times as much
answers move by 1e-4 ΔE00."""
_TOGETHER = 8
"""Dose vectors worked at once: 8 × 300 draws × 41 numbers are 0.8 MB, near the core."""
_JUST_ABOVE = 1e-12
"""The floor is met with this to spare, so that a last digit does not break it."""


@dataclass(frozen=True, slots=True)
class Shift(Rows):
    """Reported minus point values of N dose vectors: lab (N, C, 3), log light (N,); their slopes about `at` (N, P)."""

    at: Array
    lab: Array
    lab_slope: Array
    log_light: Array
    log_light_slope: Array

    def apply(self, seen: Sight, doses: Array, columns: Indices) -> Sight:
        """The point model's sight of doses (N, m) of these columns (N, m), made into the reported one."""
        moved = doses - np.take_along_axis(self.at, columns, axis=1)
        slope = np.take_along_axis(self.lab_slope, columns[:, None, None, :], axis=3)
        colour = seen.lab + self.lab + (slope @ moved[:, None, :, None])[..., 0]
        by_dose = np.take_along_axis(self.log_light_slope, columns, axis=1)
        over, over_slope = seen.over.copy(), seen.over_slope.copy()
        over[:, FLOOR] -= self.log_light + (by_dose * moved).sum(axis=1)
        over_slope[:, FLOOR] -= by_dose
        return Sight(colour, seen.lab_slope + slope, over, over_slope)


def every_pigment(aim: Aim, count: int) -> Indices:
    """Columns (count, P) for dose vectors that name every pigment."""
    return np.broadcast_to(np.arange(len(aim.model.pigments)), (count, len(aim.model.pigments)))


def measure(aim: Aim, doses: Array, support: Array | None = None, every: int = 1) -> Shift:
    """The shift at N dose vectors (N, P); with its slope by the doses that `support` (N, P) marks, else slope zero."""
    shift, light = _difference(aim, doses, every)
    lab_slope = np.zeros((*shift.shape, doses.shape[1]))
    light_slope = np.zeros(doses.shape)
    if support is not None:
        who, which = np.nonzero(support)
        # A dose near zero is nudged as if it were a twentieth of the largest.
        size = _NUDGE * np.maximum(doses[who, which], 0.05 * doses.max(axis=1)[who] + 1e-9)
        nudged = doses[who].copy()
        nudged[np.arange(len(who)), which] += size
        # A slope is needed to a tenth only: a quarter of the draws, the same at both ends, gives it.
        shift0, light0 = _difference(aim, doses, 4 * every)
        shift1, light1 = _difference(aim, nudged, 4 * every)
        lab_slope[who, :, :, which] = (shift1 - shift0[who]) / size[:, None, None]
        light_slope[who, which] = (light1 - light0[who]) / size
    return Shift(doses.copy(), shift, lab_slope, light, light_slope)


def _difference(aim: Aim, doses: Array, every: int) -> tuple[Array, Array]:
    point = sight(aim, doses, every_pigment(aim, len(doses)))
    colour, light = means(aim, doses, tuple(aim.sections[s] for s in aim.coloured), every)
    if aim.floor <= 0:
        return colour - point.lab, light
    return colour - point.lab, np.log(np.maximum(light, 1e-300)) - np.log(aim.floor) + point.over[:, FLOOR]


def means(aim: Aim, doses: Array, sections: Sequence[Section], every: int = 1) -> tuple[Array, Array]:
    """Mean L*a*b* (N, len(sections), 3), and mean light through the thickest section (N,), over the model's draws.

    The same means as `look_many` gives, without its draws, in a form that stays in the cache. every: use each
    so-manieth draw. The light is zero where the target has no floor.
    """
    model, detector = aim.model, aim.detector
    resins = model.drawn_resins(every)
    lab_mean = np.empty((len(doses), len(sections), 3))
    light_mean = np.zeros(len(doses))
    judged = aim.judged
    for start in range(0, len(doses), _TOGETHER):
        part = slice(start, min(start + _TOGETHER, len(doses)))
        per_mm, through_judged = resins.per_mm(doses[part]), None
        for s, section in enumerate(sections):
            there = resins.at(per_mm, section.thickness_mm)
            factor = through(there, section.thickness_mm, model.refractive_index, section.ground)
            lab_mean[part, s] = lab(factor @ detector.weights, detector.bare).mean(axis=0)
            if section == judged:
                through_judged = factor
        if aim.floor > 0:
            if through_judged is None:
                there = resins.at(per_mm, judged.thickness_mm)
                through_judged = through(there, judged.thickness_mm, model.refractive_index, judged.ground)
            light_mean[part] = (through_judged @ aim.into_light).mean(axis=0)
    return lab_mean, light_mean


def retract(aim: Aim, doses: Array) -> Array:
    """Dose vectors (N, P) drawn towards zero until every joint limit holds in the reported values.

    Every limit lets less through with more pigment, so that along the ray to zero each is met from some scale
    downwards. The scale is found by secants in the logarithm of the light, nearly a straight line along the ray.
    """
    total = doses.sum(axis=1)
    scale = np.where(total > aim.total_phr, (1 - 4e-16) * aim.total_phr / np.maximum(total, 1e-300), 1.0)
    scale = np.minimum(scale, np.min(np.where(doses > aim.upper, aim.upper / np.maximum(doses, 1e-300), 1.0), axis=1))
    if np.isfinite(aim.haze_room):
        scale = _haze_scale(aim, doses, scale)
    if aim.floor > 0:
        scale = _light_scale(aim, doses, scale)
    return doses * scale[:, None]


def _haze_scale(aim: Aim, doses: Array, scale: Array) -> Array:
    low, high = np.zeros(len(doses)), scale.copy()
    over = haze_depth(aim, doses * scale[:, None]) > aim.haze_room
    if not over.any():
        return scale
    for _ in range(60):
        middle = 0.5 * (low + high)
        breaks = haze_depth(aim, doses * middle[:, None]) > aim.haze_room
        low, high = np.where(breaks, low, middle), np.where(breaks, middle, high)
    return np.where(over, low, scale)


def haze_depth(aim: Aim, doses: Array) -> Array:
    """t·Σ e s (N,) of dose vectors (N, P), the part of the haze law that pigment adds."""
    return np.asarray(aim.model.effective(doses) @ aim.haze_slope)


def _light_scale(aim: Aim, doses: Array, scale: Array) -> Array:
    """Scales at which the reported light through is the floor or more; those that are light enough keep theirs."""
    light = reported_light(aim, doses * scale[:, None])
    goal = np.log(aim.floor)
    open_ = np.flatnonzero((light < aim.floor) & (scale > 0) & np.any(doses > 0, axis=1))
    if not open_.size:
        return scale
    scale = scale.copy()
    rays = doses[open_]
    low, high = np.zeros(len(open_)), scale[open_].copy()
    value = np.log(np.maximum(light[open_], 1e-300))
    # The point model's slope along the ray starts the secants: it is right to a few percent.
    seen = sight(aim, rays * high[:, None], every_pigment(aim, len(rays)))
    steep = np.minimum(-(seen.over_slope[:, FLOOR] * rays).sum(axis=1), -1e-12)
    at, guess = high.copy(), high + (goal - value) / steep
    for _ in range(60):
        guess = np.where((guess > low) & (guess < high), guess, 0.5 * (low + high))
        told = np.log(np.maximum(reported_light(aim, rays * guess[:, None]), 1e-300)) - _JUST_ABOVE
        meets = told >= goal
        low, high = np.where(meets, guess, low), np.where(meets, high, guess)
        if np.all((np.abs(told - goal) < 1e-10) & meets | (high - low < 1e-14 * high)):
            break
        moved = np.where(np.abs(guess - at) > 1e-300, guess - at, 1.0)
        secant = (told - value) / moved
        steep = np.where((secant < 0.3 * steep) & (secant > 3.0 * steep), secant, steep)
        at, value = guess, told
        guess = guess + (goal + 2e-11 - told) / steep
    scale[open_] = low
    return scale


def reported_light(aim: Aim, doses: Array) -> Array:
    """Mean luminous transmittance (N,) at the thickest section."""
    return means(aim, doses, ())[1]
