"""Doses as they colour and as they scatter. Physics §1, §5, §10. What light they let through: light.py.

Absorbance is decadic. Leading dimensions broadcast; wavelength is the last axis (K), pigment the last or the last but
one (P).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from tintmix.optics.spectrum import Array

MOST_BENT = -0.8
"""k v is held above this, where v/(1 + k v) would run away: five times as strong; so large a departure is another pigment."""
LN10 = math.log(10.0)
"""From decadic to natural logarithms."""


def effective_doses(doses_phr: ArrayLike, volume_per_phr: ArrayLike, departure_per_phr: ArrayLike) -> Array:
    """Doses (…, P) as they colour: by volume, and bent where Beer's law fails.

    v_p = c_p / (1 + Σ_j c_j w_j), w_j = ρ_resin/(100 ρ_j) (volume_per_phr (P,)), then v_p / (1 + k_p v_p), k of either
    sign (departure_per_phr (P,)), k v held at MOST_BENT. Physics §1 and §5.

    >>> effective_doses([0.5, 0.0], [0.01, 0.01], [0.0, 0.0]).round(6).tolist()
    [0.497512, 0.0]
    """
    doses = np.asarray(doses_phr, dtype=np.float64)
    by_volume = doses / (1.0 + (doses * np.asarray(volume_per_phr)).sum(axis=-1, keepdims=True))
    bend = np.maximum(np.asarray(departure_per_phr) * by_volume, MOST_BENT)
    return np.asarray(by_volume / (1.0 + bend), dtype=np.float64)


def effective_dose_slopes(doses_phr: ArrayLike, volume_per_phr: ArrayLike, departure_per_phr: ArrayLike) -> Array:
    """d effective_p / d dose_q of `effective_doses`, (…, P, P), p before q.

    >>> effective_dose_slopes([0.5], [0.01], [0.0]).round(6).tolist()
    [[0.990075]]
    """
    doses = np.asarray(doses_phr, dtype=np.float64)
    volume = np.asarray(volume_per_phr, dtype=np.float64)
    room = 1.0 + (doses * volume).sum(axis=-1, keepdims=True)
    by_volume = doses / room
    kv = np.asarray(departure_per_phr) * by_volume
    bend = np.where(kv > MOST_BENT, 1.0 / (1.0 + np.maximum(kv, MOST_BENT)) ** 2, 1.0 / (1.0 + MOST_BENT))
    turn = np.eye(doses.shape[-1]) - by_volume[..., :, None] * np.broadcast_to(volume, doses.shape)[..., None, :]
    return np.asarray(turn * (bend / room)[..., :, None], dtype=np.float64)


def haze(
    effective: ArrayLike,
    thickness_mm: ArrayLike,
    surface_haze: float,
    base_scatter_per_mm: float,
    scatter_per_mm_phr: ArrayLike,
) -> Array:
    """Haze (…) as a fraction: H = 1 − (1 − h₀) exp(−t (s₀ + Σ_p c_p s_p)), as ASTM D1003 measures it. Physics §10.

    effective: (…, P), phr. thickness_mm: (…). surface_haze h₀, a fraction. base_scatter_per_mm s₀, scatter_per_mm_phr
    (P,). Absorption lowers the effective s, so that in dark sections this is an upper bound.

    >>> round(float(haze([0.1], 10.0, 0.005, 0.001, [0.02])), 6)
    0.034407
    """
    loads = np.asarray(effective, dtype=np.float64)
    scatter = base_scatter_per_mm + loads @ np.asarray(scatter_per_mm_phr, dtype=np.float64)
    return np.asarray(1.0 - (1.0 - surface_haze) * np.exp(-np.asarray(thickness_mm) * scatter), dtype=np.float64)
