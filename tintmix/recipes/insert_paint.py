"""The question of an insert turned round: which paint must it have, so that through the tint it looks as wanted?

A paint is sought that an eye sees as wanted at the model's mean, as `look` tells of an insert of that colour; of all spectra
that do, the smoothest. Gauss-Newton on ΔE00², each step the quadratic programme of `smoothest_reflectance` with the light
through the resin linear in the reflectance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tintmix.errors import ValueProblem
from tintmix.optics.colour import lab, lab_with_slope, screen, xyz_of_lab
from tintmix.optics.detector import Detector, Light, eye
from tintmix.optics.difference import delta_e00, residuals_with_slope, within_95
from tintmix.optics.insert import least_rough_reflectance, smoothest_reflectance
from tintmix.optics.light import through
from tintmix.optics.paths import LightPaths
from tintmix.optics.section import Ground, Section
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.model import TintModel

POSSIBLE = 1.0
"""ΔE00 that may be left: what is just seen side by side."""
_ROUNDS = 30
"""A bound: of the paints in the tests the hardest took 12."""
_STILL = 1e-5
"""Reflectance: below it nothing that anyone could measure moves."""
_NO_NEARER = 1e-3
"""ΔE00: a paint that cannot be is no longer sought where a step brings it no nearer than this."""
_TURNS = 4
"""Times that what the smoothest spectrum of the paint's colour misses is added to the aim; each leaves a tenth or less of it."""
_NUDGE = 1e-4
"""Of a reflectance, for slopes: small against 1, large against rounding."""
_DRAWS = 30
"""Of the posterior, each with a paint of its own: a band from so many is known to an eighth."""
_SCALE = 100.0
"""ΔE00 of about the white's size: what the quadratic programme weighs a missed colour by is meant for parts of the white."""


@dataclass(frozen=True, slots=True)
class Paint:
    """The paint that an insert needs. possible: whether it then looks as wanted, to ΔE00 1. lab: the paint's own colour, in air,
    under the look's light; of the nearest where it is not possible. lab_covariance, delta_e00_95: how far the model leaves it
    open. delta_e00_left: how far what is then seen is off what was wanted."""

    possible: bool
    lab: Array
    srgb: str
    lab_covariance: Array
    delta_e00_95: float
    delta_e00_left: float


@dataclass(frozen=True, slots=True)
class _View:
    """An insert of any paint as draws of a model show it. per_mm: (D, K)."""

    section: Section
    per_mm: Array
    refractive_index: float
    width_mm: float | None
    detector: Detector

    def factors(self, reflectance: Array) -> Array:
        """The part of the bare light (D, K) that comes from an insert of this reflectance (K,)."""
        ground = self.section.ground
        painted = tuple(reflectance.tolist())
        behind = (
            ground.with_insert(painted) if isinstance(ground, LightPaths) else Ground("insert", painted, self.width_mm)
        )
        return through(self.per_mm, self.section.thickness_mm, self.refractive_index, behind)

    def lab(self, reflectance: Array) -> Array:
        """What it looks like, the mean over the draws (3,)."""
        seen = lab(self.factors(reflectance) @ self.detector.weights, self.detector.bare)
        return np.asarray(seen.mean(axis=0))

    def lab_with_slope(self, reflectance: Array) -> tuple[Array, Array]:
        """The same and its slope (3, K) by the reflectance."""
        low, high = np.clip(reflectance - _NUDGE, 0.0, 1.0), np.clip(reflectance + _NUDGE, 0.0, 1.0)
        by_band = (self.factors(high) - self.factors(low)) / (high - low)
        seen, by_xyz = lab_with_slope(self.factors(reflectance) @ self.detector.weights, self.detector.bare)
        slope = np.einsum("dcx,dk,kx->ck", by_xyz, by_band, self.detector.weights) / len(seen)
        return np.asarray(seen.mean(axis=0)), slope


def paint_for(
    model: TintModel,
    doses_phr: Mapping[str, float],
    section: Section,
    wanted_lab: Array,
    light: str | Light = "D65",
    observer: int = 10,
    width_mm: float | None = None,
) -> Paint:
    """Which paint an insert must have under this section's resin, or in this casting, to look so. Raises ValueProblem."""
    ground = section.ground
    if isinstance(ground, LightPaths) and not ground.has_insert:
        raise ValueProblem(where=section.name, what="no insert is seen there, so that no paint of it would show")
    detector = eye(light, observer)
    wanted = np.asarray(wanted_lab, dtype=np.float64)
    resins = model.drawn_resins()
    per_mm = resins.at(resins.per_mm(model.dose_vector(doses_phr)[None]), section.thickness_mm)[:, 0]
    view = _View(section, per_mm, model.refractive_index, width_mm, detector)

    aim, found = wanted, np.full(len(GRID_NM), 0.5)
    best, colour, left = found, wanted, np.inf
    for _ in range(_TURNS):
        found, missed = _found(view, aim, found)
        paint = lab(found @ detector.weights, detector.bare)
        seen = view.lab(smoothest_reflectance(paint, light, observer))
        off = float(delta_e00(wanted, seen))
        if off < left:
            best, colour, left = found, paint, off
        if missed > POSSIBLE:
            break
        # The smoothest spectrum of that colour is another than the one that was found, and is seen a little otherwise.
        aim = aim + wanted - seen
    every = max(len(per_mm) // _DRAWS, 1)
    drawn = (_found(replace(view, per_mm=one[None]), aim, best)[0] for one in per_mm[::every])
    others = lab(np.stack([one @ detector.weights for one in drawn]), detector.bare)
    return Paint(
        possible=left <= POSSIBLE,
        lab=colour,
        srgb=screen(xyz_of_lab(colour, detector.bare), detector.bare).hex[0],
        lab_covariance=np.cov(others.T) if len(others) > 1 else np.zeros((3, 3)),
        delta_e00_95=float(within_95(delta_e00(others, colour))),
        delta_e00_left=left,
    )


def _found(view: _View, wanted: Array, start: Array) -> tuple[Array, float]:
    """The smoothest reflectance (K,) that is seen as wanted, or that comes nearest, and what ΔE00 is left."""
    at = start
    seen, slope = view.lab_with_slope(at)
    off = float(delta_e00(wanted, seen))
    for _ in range(_ROUNDS):
        residual, by_lab = residuals_with_slope(wanted, seen)
        part = (by_lab @ slope).T / _SCALE
        step = least_rough_reflectance(part, part.T @ at - residual / _SCALE) - at
        length = 1.0
        while length > 1e-3:
            trial = at + length * step
            fresh, fresh_slope = view.lab_with_slope(trial)
            nearer = float(delta_e00(wanted, fresh))
            if nearer < off or nearer < 1e-6:
                break
            length /= 2
        else:
            break
        moved, gained = float(np.abs(trial - at).max()), off - nearer
        at, seen, slope, off = trial, fresh, fresh_slope, nearer
        if moved < _STILL or (off > POSSIBLE and gained < _NO_NEARER):
            break
    return at, off
