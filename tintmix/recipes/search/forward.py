"""Colour, light and haze of many dose vectors at the sections of a target, with slopes; mean absorptivities only.

B problems, each with its own m pigments. Everything that has 41 wavelengths is worked in two matrix products and a
few passes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.absorption import effective_dose_slopes, effective_doses
from tintmix.optics.colour import lab_with_slope
from tintmix.optics.light import through_with_slope
from tintmix.optics.section import PANEL
from tintmix.optics.spectrum import Array
from tintmix.recipes.search.aim import Aim

Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sight:
    """What B dose vectors look like, with slopes by dose.

    lab (B, C, 3), slope (B, C, 3, m); log light through (B,), slope (B, m); haze depth (B,), slope (B, m).

    Light is None where the target sets no floor, haze where it sets no ceiling.
    """

    lab: Array
    lab_slope: Array
    log_light: Array | None
    log_light_slope: Array | None
    haze: Array | None
    haze_slope: Array | None


def sight(aim: Aim, doses: Array, columns: Indices) -> Sight:
    """What B dose vectors look like. doses: (B, m) phr; columns: (B, m), which pigment each is."""
    batch, width = doses.shape
    pigments = len(aim.model.pigments)
    volume, departure = aim.model.volume_per_phr[columns], aim.model.departure_per_phr[columns]
    bent = bool(np.any(aim.model.volume_per_phr) or np.any(aim.model.departure_per_phr))
    effective = effective_doses(doses, volume, departure) if bent else doses
    turn = effective_dose_slopes(doses, volume, departure) if bent else None
    loads = np.zeros((batch, pigments))
    np.put_along_axis(loads, columns, effective, axis=1)
    per_mm = loads @ aim.model.absorptivity
    per_mm += aim.model.base_per_mm

    n = aim.model.refractive_index
    xyz = np.empty((batch, len(aim.places), 3))
    slope = np.empty((batch, len(aim.places), 3, width))
    rows = np.arange(batch)[:, None, None]
    at = 3 * columns[:, None, :] + np.arange(3)[:, None]
    light = light_slope = None
    for s, place in enumerate(aim.places):
        section = place.section
        factor, gain = through_with_slope(per_mm, section.thickness_mm, n, section.ground)
        np.matmul(factor, place.into_xyz, out=xyz[:, s])
        slope[:, s] = (gain @ place.into_slope)[rows, at]
        if aim.floor > 0 and section.ground == PANEL and section.thickness_mm == aim.judged_mm:
            light, light_slope = factor @ aim.into_light, (gain @ aim.into_light_slope)[rows[..., 0], columns]
    if aim.floor > 0 and light is None:
        factor, gain = through_with_slope(per_mm, aim.judged_mm, n)
        light, light_slope = factor @ aim.into_light, (gain @ aim.into_light_slope)[rows[..., 0], columns]

    lab, by_xyz = lab_with_slope(xyz, aim.detector.bare)
    if turn is not None:
        slope = slope @ turn[:, None]
    log_light = log_light_slope = None
    if light is not None and light_slope is not None:
        light = np.maximum(light, 1e-300)
        log_light, log_light_slope = np.log(light), light_slope / light[:, None]
        if turn is not None:
            log_light_slope = (log_light_slope[:, None] @ turn)[:, 0]
    haze = haze_slope = None
    if np.isfinite(aim.haze_room):
        haze_slope = aim.haze_slope[columns]
        haze = (haze_slope * effective).sum(axis=1)
        if turn is not None:
            haze_slope = (haze_slope[:, None] @ turn)[:, 0]
    return Sight(lab, by_xyz @ slope, log_light, log_light_slope, haze, haze_slope)
