"""The colour of an insert, as a target has it, as a reflectance."""

from __future__ import annotations

import numpy as np

from tintmix.optics.colour import lab, xyz_of_srgb
from tintmix.optics.detector import Detector, Light, eye
from tintmix.optics.insert import smoothest_reflectance
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.recipes.target import Insert


def reflectance_of(insert: Insert, light: str | Light, observer: int) -> Array:
    """The insert's reflectance (K,): its own, or the smoothest of its colour under this light. Raises ValueProblem."""
    if insert.reflectance is not None:
        # Linear between its points, its end values held beyond them.
        return np.clip(np.interp(GRID_NM, insert.reflectance.nm, insert.reflectance.values), 0.0, 1.0)
    colour: Array = np.array(insert.lab, dtype=np.float64)
    if insert.srgb is not None:
        colour = lab_of_srgb(insert.srgb, eye(light, observer))
    return smoothest_reflectance(colour, light, observer)


def lab_of_srgb(srgb: str, detector: Detector) -> Array:
    """L*a*b* (3,) of a colour of a screen on which the bare light is white."""
    return lab(xyz_of_srgb(srgb, detector.bare), detector.bare)
