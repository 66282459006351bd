"""Readings of any kind as L*a*b*, to say in ΔE00 how far two readings of a chip lie apart. Not for fitting."""

from __future__ import annotations

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import SRGB_TO_XYZ, lab
from tintmix.optics.detector import Detector, eye, light_from_spectrum
from tintmix.optics.spectrum import GRID_NM, Array


def eye_of(chips: ChipSet) -> Detector:
    """The eye that a set's colours are for; D65/10° where it holds no colours."""
    reading = chips.reading
    if reading.kind != "colour":
        return eye("D65", 10)
    under = reading.light if chips.light_curve is None else light_from_spectrum(reading.light, *chips.light_curve)
    return eye(under, reading.observer)


def as_lab(chips: ChipSet, values: Array) -> Array:
    """L*a*b* (N, 3) of readings (N, M) of this set; a spectrum's ends are held where it stops early."""
    reading = chips.reading
    if reading.kind == "camera":
        # Camera channels as if they were linear sRGB.
        return lab(np.clip(values, 0.0, None) @ SRGB_TO_XYZ.T, SRGB_TO_XYZ.sum(axis=1))
    detector = eye_of(chips)
    if reading.kind == "colour":
        return lab(values, detector.bare) if reading.space == "XYZ" else np.asarray(values, dtype=np.float64)
    nm = np.asarray(reading.wavelengths_nm)
    grid = np.stack([np.interp(GRID_NM, nm, row) for row in values])
    return lab(grid @ detector.weights, detector.bare)
