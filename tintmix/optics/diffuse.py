"""A plate in diffuse light: lit from everywhere and gathered from everywhere, as in a sphere, or behind an opal.

T_d(τ) = 2 ∫₀¹ T_p(μ; τ) μ dμ, T_p the plate's transmittance with both faces at the outside cosine μ, each polarisation
by itself, path 1/μ₁ inside (physics §2 at an angle). Where an opal touches the plate its light fills the resin from
everywhere: T(0°) 2 ∫₀¹ τ^(1/μ) μ dμ, T(0°) the clear plate's.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.absorption import LN10
from tintmix.optics.plate import external_transmittance, fresnel
from tintmix.optics.spectrum import Array

_ABSORBANCES = np.linspace(0.0, 6.0, 1201)
"""Decadic, of the table: linear between steps of 0.005 is right to 5e-5 in ln T, far below any reading's error."""
_NODES = 64
"""Gauss-Legendre over μ: τ^(1/μ) is smooth, and twice as many change T by less than 1e-6."""


@dataclass(frozen=True, slots=True)
class DiffuseLight:
    """Light from everywhere on a plate in air, or, where `in_contact`, from an opal that touches it.

    >>> light = DiffuseLight()
    >>> [round(float(light.factor(np.array(tau), 1.5)[0]), 4) for tau in (1.0, 0.5)]
    [0.8509, 0.3848]
    """

    in_contact: bool = False

    def factor(
        self, internal: Array, refractive_index: float, bands: NDArray[Any] | None = None
    ) -> tuple[Array, Array]:
        """T_d and dT_d/dτ for internal transmittance τ (…,) of the straight path. `bands` asks nothing: it is grey."""
        log, slope = _table(self.in_contact, refractive_index)
        # 1e-12: darker is beyond the table, and beyond any reading.
        tau = np.maximum(internal, 1e-12)
        absorbance = np.maximum(-np.log(tau) / LN10, 0.0)
        past = np.maximum(absorbance - _ABSORBANCES[-1], 0.0)
        along = np.interp(absorbance, _ABSORBANCES, slope)
        value = np.exp(np.interp(absorbance, _ABSORBANCES, log) + along * past)
        return value, -value * along / (LN10 * tau)

    def internal(self, factor: Array, refractive_index: float, bands: NDArray[Any] | None = None) -> Array:
        """τ of the straight path from what was read: the inverse, 1 where more was read than a clear plate gives.

        >>> light = DiffuseLight()
        >>> round(float(light.internal(light.factor(np.array(0.3), 1.5)[0], 1.5)), 4)
        0.3
        """
        log, _ = _table(self.in_contact, refractive_index)
        absorbance = np.interp(-np.log(np.maximum(factor, 1e-12)), -log, _ABSORBANCES)
        return np.asarray(10.0**-absorbance)


@lru_cache(maxsize=8)
def _table(in_contact: bool, refractive_index: float) -> tuple[Array, Array]:
    """ln T_d over _ABSORBANCES, and its slope by decadic absorbance."""
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    mu, weight = 0.5 * (nodes + 1), 0.5 * weights
    lit = 2 * mu * weight
    if in_contact:
        clear = float(external_transmittance(np.ones(()), refractive_index))
        seen = clear * (10.0 ** (-_ABSORBANCES[:, None] / mu)) @ lit
    else:
        inside = np.sqrt(1 - (1 - mu * mu) / refractive_index**2)
        tau = 10.0 ** (-_ABSORBANCES[:, None] / inside)
        faces = fresnel(mu, inside, refractive_index)[:, None]
        seen = ((1 - faces) ** 2 * tau / (1 - (faces * tau) ** 2)).mean(axis=0) @ lit
    log = np.log(seen)
    return log, np.gradient(log, _ABSORBANCES)
