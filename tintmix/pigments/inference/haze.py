"""How much the resin and each pigment scatter, from the chips whose haze was read (physics §10, ASTM D1003)."""

from __future__ import annotations

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.model import HazeLaw


def fit_haze(effective: Array, thickness_mm: Array, haze: Array) -> HazeLaw | None:
    """Scatter per mm of the resin, and per mm and phr of each pigment, none below zero; None where no chip told.

    −ln(1 − H) = −ln(1 − h₀) + t (s₀ + Σ cₚ sₚ), linear in the unknowns: non-negative least squares. effective: (N, P),
    haze: (N,), NaN where it was not read. Each row counts by its own precision, since d(−ln(1 − H)) = dH/(1 − H).

    >>> t = np.array([3.0, 12.0, 3.0, 12.0]); c = np.array([[0.0], [0.0], [0.1], [0.1]])
    >>> law = fit_haze(c, t, 1 - np.exp(-t * (0.001 + 0.05 * c[:, 0])))
    >>> round(law.base_per_mm, 6), round(float(law.per_mm_phr[0]), 6)
    (0.001, 0.05)
    """
    told = np.isfinite(haze)
    if not np.any(told):
        return None
    # Imported here: scipy takes some 0.3 s, and only chips whose haze was read need it.
    from scipy.optimize import nnls

    h, t, c = haze[told], thickness_mm[told], effective[told]
    design = np.column_stack([np.ones(len(h)), t, t[:, None] * c])
    weight = 1.0 - h
    found, _ = nnls(design * weight[:, None], -np.log1p(-h) * weight)
    return HazeLaw(float(1 - np.exp(-found[0])), float(found[1]), found[2:])
