"""The truth behind swatches/: five invented pigments, an invented resin, and an invented sea-green glass, on 1 nm.

Nothing here is measured and nothing stands for a product. The curves have the shapes such things have: bands of
unequal width with a shoulder, long tails, a resin that yellows toward the violet, a glass whose red-absorbing band
reaches in from the infrared.
"""

from __future__ import annotations

import numpy as np

from tests.reference import batched, slow
from tests.reference.absorbers import band
from tests.reference.slow import NM, Array

PIGMENTS = ("azure", "emerald", "rose", "violet", "lemon")
INDEX = 1.50
GLASS_INDEX = 1.52


def absorptivity() -> Array:
    """Decadic absorbance per mm and phr (5, 421), in the order of PIGMENTS."""
    azure = (
        band(618, 33, 1.35, (1.8, 1.6)) + 0.50 * band(678, 21, 1.15, (2.0, 1.5)) + 0.18 * band(346, 30, 1.1, (1.5, 1.5))
    )
    emerald = (
        band(658, 33, 1.25, (1.9, 1.5)) + 0.92 * band(421, 27, 1.05, (1.5, 1.7)) + 0.40 * band(607, 28, 1.1, (1.7, 1.5))
    )
    rose = (
        band(536, 20, 1.25, (2.1, 1.5)) + 0.66 * band(500, 22, 1.15, (1.9, 1.5)) + 0.16 * band(372, 28, 1.0, (1.6, 1.5))
    )
    violet = (
        band(572, 22, 1.35, (2.1, 1.5)) + 0.45 * band(531, 21, 1.1, (1.8, 1.4)) + 0.12 * band(388, 26, 1.0, (1.6, 1.5))
    )
    lemon = band(414, 25, 1.15, (2.2, 1.6)) + 0.50 * band(448, 14, 1.05, (2.3, 1.7))
    peaks = (1.00, 0.85, 0.90, 0.95, 0.65)
    floors = (0.0022, 0.0028, 0.0025, 0.0030, 0.0008)
    curves = (azure, emerald, rose, violet, lemon)
    return np.array([peak * (c / c[40:].max() + floor) for peak, c, floor in zip(peaks, curves, floors, strict=True)])


def resin_base() -> Array:
    """Absorption of the untinted resin per mm (421,), decadic."""
    return np.asarray(0.00035 + 0.0016 * np.exp(-(NM - 400) / 38), dtype=np.float64)


def sea_green_glass() -> Array:
    """Absorption of the sea-green glass per mm (421,), decadic."""
    infrared = band(790, 85, 0.80, (2.4, 2.6))
    shoulder = band(638, 40, 1.2, (1.5, 1.5))
    violet_edge = np.exp(-(NM - 380) / 30)
    return np.asarray(0.0045 + 0.022 * infrared + 0.0132 * shoulder + 0.015 * violet_edge, dtype=np.float64)


def internal(doses_phr: Array, thickness_mm: float) -> Array:
    """Internal transmittance (421,) of a section with doses (5,), by the slow reference."""
    return slow.internal_transmittance(slow.internal_absorbance(doses_phr, thickness_mm, resin_base(), absorptivity()))


def factor(doses_phr: Array, thickness_mm: float) -> Array:
    """External transmittance (421,) of the same."""
    return slow.through_plate(internal(doses_phr, thickness_mm), INDEX)


def glass_factor(thickness_mm: float) -> Array:
    """External transmittance (421,) of the sea-green glass."""
    return slow.through_plate(slow.internal_transmittance(thickness_mm * sea_green_glass()), GLASS_INDEX)


def insert_factor(doses_phr: Array, thickness_mm: float, reflectance: Array, *, narrow: bool) -> Array:
    """Radiance factor (421,) of an insert behind a section, light at 45 degrees."""
    internal = slow.internal_transmittance(
        slow.internal_absorbance(doses_phr, thickness_mm, resin_base(), absorptivity())
    )
    pairs = zip(internal, reflectance, strict=True)
    return np.array([slow.insert_radiance_factor(float(t), float(r), INDEX, narrow=narrow) for t, r in pairs])


def doses(**phr: float) -> Array:
    """Doses (5,) by name."""
    return np.array([phr.get(name, 0.0) for name in PIGMENTS])


def brass() -> Array:
    """An invented satin brass: reflectance (421,), low in the blue, rising steeply near 510 nm."""
    return np.asarray(0.17 + 0.43 / (1 + np.exp(-(NM - 515) / 22)) + 0.05 * (NM - 550) / 200, dtype=np.float64)


def best_recipe(sections_mm: tuple[float, ...], wanted_lab: Array, chosen: tuple[str, ...]) -> tuple[Array, float]:
    """Doses (5,) of the chosen pigments whose worst CIEDE2000 over the sections is about least, and that worst.

    By the true absorbers: what a perfect fit and a perfect search would find.
    """
    from scipy.optimize import least_squares

    thickness = np.array(sections_mm)
    base, strengths = resin_base(), absorptivity()
    columns = [PIGMENTS.index(name) for name in chosen]

    def mixture(log_doses: Array) -> Array:
        mix = np.zeros(len(PIGMENTS))
        mix[columns] = np.exp(log_doses)
        return mix

    def apart(log_doses: Array, power: float) -> Array:
        internal = batched.internal(np.tile(mixture(log_doses), (len(thickness), 1)), thickness, base, strengths)
        return slow.delta_e00(wanted_lab, batched.lab(batched.plate(internal, INDEX))) ** power

    at = np.log(np.full(len(chosen), 0.01))
    for power in (1.0, 2.0, 4.0):
        at = np.asarray(least_squares(apart, at, args=(power,)).x)
    return mixture(at), float(apart(at, 1.0).max())
