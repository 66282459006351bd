"""Weights by which a spectrum on the working grid is summed as if it had been measured at every nanometre (ASTM E2022,
E308).

Σ at 1 nm of f(λ) · interpolated(λ) is linear in the grid values; the weights are Lᵀ f, L the Lagrange interpolation of
E2022. The grid runs from 360 nm; what falls below 380 nm is folded onto 380 (E308 §7.3.2.2).
"""

from __future__ import annotations

from functools import cache

import numpy as np

from tintmix.optics.spectrum import FINE_NM, GRID_NM, Array, interpolation_matrix

_WIDE_NM: Array = np.arange(360.0, 781.0, 10.0)
"""(43,): the grid with the two nodes below it, where the tables of E308 begin."""


@cache
def _interpolation() -> Array:
    """L (421, 43): grid values from 360 nm on to every nanometre."""
    matrix = interpolation_matrix(_WIDE_NM, FINE_NM)
    matrix.setflags(write=False)
    return matrix


def grid_weights(functional_1nm: Array) -> Array:
    """Weights (K, C) on the working grid of functionals (421, C) given from 360 to 780 nm at 1 nm."""
    wide = _interpolation().T @ functional_1nm
    missing = int(np.searchsorted(_WIDE_NM, GRID_NM[0]))
    folded: Array = wide[missing:].copy()
    folded[0] += wide[:missing].sum(axis=0)
    return folded


def tristimulus_weights(colour_matching: Array, power_1nm: Array) -> Array:
    """Weights (K, 3) so that T @ W = XYZ, Y of the bare light = 100. colour_matching: (421, 3); power_1nm: (421,)."""
    product = colour_matching * power_1nm[:, None]
    return np.asarray(grid_weights(product) * (100.0 / product[:, 1].sum()))
