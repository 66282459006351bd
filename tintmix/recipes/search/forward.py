"""Colour, light and haze of many dose vectors at the sections of a target, with slopes; mean absorptivities only.

B problems, each with its own m pigments. Everything that has 41 wavelengths is worked in two matrix products and a
few passes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.absorption import effective_dose_slopes, effective_doses
from tintmix.optics.colour import lab_with_slope
from tintmix.optics.light import through_with_slope
from tintmix.optics.spectrum import Array
from tintmix.recipes.search.aim import Aim

Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]

TOTAL, FLOOR, HAZE = range(3)
"""The limits that join pigments, in the order in which they stand in `Sight.over`."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Arrays whose first axis counts the same problems."""

    def take(self, rows: Indices | Mask) -> Self:
        """Some of the problems."""
        return type(self)(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def put(self, rows: Indices | Mask, other: Rows, which: Indices | Mask) -> None:
        """The rows `which` of another in place of these rows."""
        for name in self.__dataclass_fields__:
            getattr(self, name)[rows] = getattr(other, name)[which]


def of_every_pigment(doses: Array, columns: Indices, pigments: int) -> Array:
    """The doses (B, P) of every pigment, from those (B, m) of these columns."""
    every = np.zeros((len(doses), pigments))
    np.put_along_axis(every, columns, doses, axis=1)
    return every


@dataclass(frozen=True, slots=True)
class Sight:
    """What B dose vectors look like, with slopes by dose.

    lab (B, C, 3), slope (B, C, 3, m). over (B, 3), slope (B, 3, m): by how much each joint limit is overstepped, in phr, in log
    light, in haze depth; minus infinity where the target does not set it.
    """

    lab: Array
    lab_slope: Array
    over: Array
    over_slope: Array


def sight(aim: Aim, doses: Array, columns: Indices) -> Sight:
    """What B dose vectors look like. doses: (B, m) phr; columns: (B, m), which pigment each is."""
    batch, width = doses.shape
    volume, departure = aim.model.volume_per_phr[columns], aim.model.departure_per_phr[columns]
    bent = bool(np.any(aim.model.volume_per_phr) or np.any(aim.model.departure_per_phr))
    effective = effective_doses(doses, volume, departure) if bent else doses
    turn = effective_dose_slopes(doses, volume, departure) if bent else None
    per_mm = of_every_pigment(effective, columns, len(aim.model.pigments)) @ aim.model.absorptivity
    per_mm += aim.model.base_per_mm

    resin, n = aim.model.mean_resin, aim.model.refractive_index
    xyz = np.empty((batch, len(aim.places), 3))
    slope = np.empty((batch, len(aim.places), 3, width))
    rows = np.arange(batch)[:, None, None]
    at = 3 * columns[:, None, :] + np.arange(3)[:, None]
    judged, seen_at_judged = aim.judged, None
    for s, place in enumerate(aim.places):
        section = place.section
        there = resin.at(per_mm, section.thickness_mm)
        factor, gain = through_with_slope(there, section.thickness_mm, n, section.ground)
        np.matmul(factor, aim.detector.weights, out=xyz[:, s])
        slope[:, s] = (gain @ place.into_slope)[rows, at]
        if aim.floor > 0 and (section.ground, section.thickness_mm) == (judged.ground, judged.thickness_mm):
            seen_at_judged = factor, gain

    over, over_slope = np.full((batch, 3), -np.inf), np.zeros((batch, 3, width))
    if aim.floor > 0:
        if seen_at_judged is None:
            there = resin.at(per_mm, judged.thickness_mm)
            seen_at_judged = through_with_slope(there, judged.thickness_mm, n, judged.ground)
        factor, gain = seen_at_judged
        light = np.maximum(factor @ aim.into_light, 1e-300)
        over[:, FLOOR] = np.log(aim.floor) - np.log(light)
        over_slope[:, FLOOR] = (gain @ aim.into_light_slope)[rows[..., 0], columns] / -light[:, None]
    if np.isfinite(aim.haze_room):
        over_slope[:, HAZE] = aim.haze_slope[columns]
        over[:, HAZE] = (over_slope[:, HAZE] * effective).sum(axis=1) - aim.haze_room
    if turn is not None:
        slope, over_slope = slope @ turn[:, None], over_slope @ turn
    over[:, TOTAL], over_slope[:, TOTAL] = doses.sum(axis=1) - aim.total_phr, 1.0
    lab, by_xyz = lab_with_slope(xyz, aim.detector.bare)
    return Sight(lab, by_xyz @ slope, over, over_slope)
