"""CIEDE2000 (ISO/CIE 11664-6) as three residuals whose squares sum to ΔE00², with their analytic Jacobian.

r₁ = ΔL'/S_L, r₂ = ΔC'/S_C + (R_T/2) ΔH'/S_H, r₃ = √(1 − R_T²/4) ΔH'/S_H: least squares then minimises ΔE00 itself.
Formulas as in Sharma, Wu, Dalal, Color Res. Appl. 30, 21 (2005). At a hue difference of 180° there is no derivative;
where a colour has no hue the derivative by hue is bounded, so that a colourless start gives finite steps.

The two hues enter only by their unit vectors: the mean hue is the bisector, sin ½Δh half the chord. That leaves one
arctangent, one exponential and one sine a pair, and this is the innermost loop of the solver.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from tintmix.optics.spectrum import Array

_25_7 = 25.0**7
"""In G and R_C of the formula (Sharma, Wu, Dalal)."""
_DEGREE = math.pi / 180.0
"""In radians, as sines and cosines take it."""
_CHROMA_FLOOR = 1e-2
"""Chroma below which derivatives take this value: ΔE00 hardly changes there, its derivative would run away."""
_TINY = 1e-300
"""Keeps a division by nothing finite; its result is multiplied by nothing."""
_OPPOSITE = 1e-24
"""|u₁ + u₂|² below which two hues are opposite: their bisector is rounding, and Sharma's rule for 180° decides."""
_COS30, _SIN30 = math.cos(30 * _DEGREE), math.sin(30 * _DEGREE)
"""Of h̄ − 30° in T of the formula."""
_COS6, _SIN6 = math.cos(6 * _DEGREE), math.sin(6 * _DEGREE)
"""Of 3 h̄ + 6°."""
_COS63, _SIN63 = math.cos(63 * _DEGREE), math.sin(63 * _DEGREE)
"""Of 4 h̄ − 63°."""


def delta_e00(first: ArrayLike, second: ArrayLike) -> Array:
    """ΔE00 of L*a*b* (…, 3) and (…, 3), broadcast against one another.

    >>> round(float(delta_e00([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485])), 4)
    2.0425
    """
    r = residuals(np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64))
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", r, r)))


def residuals(target: Array, sample: Array) -> Array:
    """r (…, 3) with r·r = ΔE00²; target and sample (…, 3) broadcast.

    >>> residuals(np.array([50.0, 10.0, 0.0]), np.array([50.0, 10.0, 0.0])).tolist()
    [0.0, 0.0, 0.0]
    """
    return _compute(target, sample, False)[0]


def residuals_with_slope(target: Array, sample: Array) -> tuple[Array, Array]:
    """r (…, 3) and dr/d(sample) (…, 3, 3); finite everywhere, also between greys and at opposite hues.

    >>> r, slope = residuals_with_slope(np.array([50.0, 10.0, 0.0]), np.array([52.0, 10.0, 0.0]))
    >>> slope.shape, round(float(slope[0, 0]), 4)
    ((3, 3), 0.9904)
    """
    return _compute(target, sample, True)


def _compute(target: Array, sample: Array, sloping: bool) -> tuple[Array, Array]:
    shape = np.broadcast_shapes(np.shape(target), np.shape(sample))
    l1, a1, b1 = _columns(target)
    l2, a2, b2 = _columns(sample)
    with np.errstate(under="ignore"):
        return _residuals(shape, l1, a1, b1, l2, a2, b2, sloping)


def _columns(lab: Array) -> Array:
    """Three contiguous rows of at least one number each, so that in-place arithmetic works on a single colour too."""
    values = np.asarray(lab, dtype=np.float64)
    return np.ascontiguousarray(np.moveaxis(values, -1, 0)) if values.ndim > 1 else values[:, None]


def _residuals(
    shape: tuple[int, ...], l1: Array, a1: Array, b1: Array, l2: Array, a2: Array, b2: Array, sloping: bool
) -> tuple[Array, Array]:
    bb1, bb2 = b1 * b1, b2 * b2
    star2 = np.sqrt(a2 * a2 + bb2)
    mean_star = 0.5 * (np.sqrt(a1 * a1 + bb1) + star2)
    star7 = _seventh(mean_star)
    star_rest = 1.0 / (star7 + _25_7)
    stretch = np.sqrt(star7 * star_rest)
    gain = 1.5 - 0.5 * stretch
    p1, p2 = gain * a1, gain * a2
    c1, c2 = np.sqrt(p1 * p1 + bb1), np.sqrt(p2 * p2 + bb2)
    # Unit vectors of the hues; where there is no hue, the null vector: ΔH' is 0 there whatever the bisector.
    over1, over2 = 1.0 / np.maximum(c1, _TINY), 1.0 / np.maximum(c2, _TINY)
    x1, y1, x2, y2 = p1 * over1, b1 * over1, p2 * over2, b2 * over2
    sum_x, sum_y = x1 + x2, y1 + y2
    chord_x, chord_y = x2 - x1, y2 - y1
    both2 = sum_x * sum_x + sum_y * sum_y
    cross = x1 * y2 - x2 * y1
    opposite = both2 < _OPPOSITE
    if opposite.any():
        # h̄ is the smaller hue plus 90°, and Δh is +180° where the first hue is the smaller.
        low1, low2 = (y1 > 0) | ((y1 == 0) & (x1 > 0)), (y2 > 0) | ((y2 == 0) & (x2 > 0))
        # Both below 180°, or neither, by less than rounding: then x tells which comes first.
        first = np.where(low1 == low2, (x1 > x2) == low1, low1)
        sum_x = np.where(opposite, np.where(first, -y1, -y2), sum_x)
        sum_y = np.where(opposite, np.where(first, x1, x2), sum_y)
        cross = np.where(opposite, np.where(first, 1.0, -1.0), cross)
    angle = np.arctan2(sum_y, sum_x)
    over_both = 1.0 / np.sqrt(np.maximum(sum_x * sum_x + sum_y * sum_y, _TINY))
    cos1, sin1 = sum_x * over_both, sum_y * over_both
    root = np.sqrt(c1 * c2)
    # 2 sin ½Δh, the chord with the sign of the turn.
    chord = np.copysign(np.sqrt(chord_x * chord_x + chord_y * chord_y), cross)
    dh = root * chord

    level = 0.5 * (l1 + l2) - 50.0
    level2 = level * level
    under = 1.0 / np.sqrt(20.0 + level2)
    over_l = 1.0 / (1.0 + 0.015 * level2 * under)
    chroma = 0.5 * (c1 + c2)
    over_c = 1.0 / (1.0 + 0.045 * chroma)
    cos2, sin2 = 2.0 * cos1 * cos1 - 1.0, 2.0 * sin1 * cos1
    cos3, sin3 = cos2 * cos1 - sin2 * sin1, sin2 * cos1 + cos2 * sin1
    cos4, sin4 = 2.0 * cos2 * cos2 - 1.0, 2.0 * sin2 * cos2
    t = (
        1.0
        - 0.17 * _COS30 * cos1 - 0.17 * _SIN30 * sin1
        + 0.24 * cos2
        + 0.32 * _COS6 * cos3 - 0.32 * _SIN6 * sin3
        - 0.20 * _COS63 * cos4 - 0.20 * _SIN63 * sin4
    )  # fmt: skip
    over_h = 1.0 / (1.0 + 0.015 * chroma * t)
    chroma7 = _seventh(chroma)
    chroma_rest = 1.0 / (chroma7 + _25_7)
    pull = 2.0 * np.sqrt(chroma7 * chroma_rest)
    # Degrees from 275, in units of 25; the hue of arctan2 runs from −180 to 180.
    away = angle * (1.0 / (25.0 * _DEGREE)) + np.where(angle < 0.0, (360.0 - 275.0) / 25.0, -275.0 / 25.0)
    theta = (60.0 * _DEGREE) * np.exp(-away * away)
    sin_theta = np.sin(theta)
    half_t = -0.5 * pull * sin_theta
    x, y = (c2 - c1) * over_c, dh * over_h
    lean = np.sqrt(1.0 - half_t * half_t)
    r = np.empty(shape)
    r[..., 0] = (l2 - l1) * over_l
    r[..., 1] = x + half_t * y
    r[..., 2] = lean * y
    if not sloping:
        return r, r

    slope = np.zeros((*shape, 3))
    # dS_L/dL2: S_L = 1 + .015 q/√(20 + q), q = level², dq/dL2 = level.
    slope[..., 0, 0] = over_l * (1.0 - r[..., 0] * (0.015 * level * under) * (1.0 - 0.5 * level2 * under * under))
    safe1, safe2 = 1.0 / np.maximum(c1, _CHROMA_FLOOR), 1.0 / np.maximum(c2, _CHROMA_FLOOR)
    # By the gain g of a*, which the sample's C* moves: d√u/dC̄ = √u · 3.5 · 25⁷/(C̄ (C̄⁷ + 25⁷)), g = 1.5 − ½√u, C̄ =
    # ½(C₁ + C₂).
    by_star = (
        (-0.875 * _25_7)
        * stretch
        * star_rest
        / (np.maximum(mean_star, _CHROMA_FLOOR) * np.maximum(star2, _CHROMA_FLOOR))
    )
    gain_a, gain_b = by_star * a2, by_star * b2
    # Polar partials: C₁' and h₁' by g, C₂' and h₂' by a* and b* at fixed g, and by g.
    c1_gain, h1_gain = p1 * a1 * safe1, -b1 * a1 * (safe1 * safe1)
    c2_a, c2_b = gain * p2 * safe2, b2 * safe2
    h2_a, h2_b = -gain * b2 * (safe2 * safe2), p2 * (safe2 * safe2)
    over_gain = a2 / gain
    # r by (C₁', C₂', h₁', h₂'), r = F(x, y, R_T): x by ΔC', y by ΔH', all by C̄' and h̄.
    t_hue = (
        0.17 * _COS30 * sin1 - 0.17 * _SIN30 * cos1
        - 0.48 * sin2
        - 0.96 * _COS6 * sin3 - 0.96 * _SIN6 * cos3
        + 0.80 * _COS63 * sin4 - 0.80 * _SIN63 * cos4
    )  # fmt: skip
    y_chroma = (-0.0075) * y * t * over_h
    y_hue = (-0.0075) * y * chroma * t_hue * over_h
    x_chroma = (-0.0225) * x * over_c
    half_chroma = (0.5 * 3.5 * _25_7) * half_t * chroma_rest / np.maximum(chroma, _CHROMA_FLOOR)
    half_hue = (0.5 / (25.0 * _DEGREE)) * pull * np.cos(theta) * theta * away
    # ΔH' = √(C₁'C₂') · chord: by C', by h' with cos ½Δh = ½|u₁ + u₂|; greys meet the floor of the chroma.
    turn = 0.5 * chord * over_h * np.sqrt(safe1 * safe2)
    y_c1, y_c2 = turn * c2 + y_chroma, turn * c1 + y_chroma
    swing = 0.5 * root * np.sqrt(both2) * over_h
    y_h1, y_h2 = y_hue - swing, y_hue + swing
    lean_half = -half_t / lean
    for row, by_x, by_y, by_half in ((1, 1.0, half_t, y), (2, 0.0, lean, lean_half * y)):
        chromatic, hued = by_half * half_chroma, by_half * half_hue
        if row == 1:
            chromatic = chromatic + x_chroma
        r_c1, r_c2 = by_y * y_c1 + chromatic, by_y * y_c2 + chromatic
        if row == 1:
            r_c1 -= over_c * by_x
            r_c2 += over_c * by_x
        r_h1, r_h2 = by_y * y_h1 + hued, by_y * y_h2 + hued
        fixed_a = r_c2 * c2_a + r_h2 * h2_a
        moved = r_c1 * c1_gain + r_h1 * h1_gain + fixed_a * over_gain
        slope[..., row, 1] = fixed_a + moved * gain_a
        slope[..., row, 2] = r_c2 * c2_b + r_h2 * h2_b + moved * gain_b
    return r, slope


def _seventh(value: Array) -> Array:
    square = value * value
    return np.asarray(square * square * square * value)


def within_95(differences: Array, axis: int = 0) -> Array:
    """The difference within which 95 % of the draws along `axis` lie, linear between draws.

    The same as `np.quantile`, which would bring in numpy's masked arrays: 10 ms on every cold start.

    >>> float(within_95(np.arange(101.0)))
    95.0
    """
    ordered = np.sort(differences, axis=axis)
    place = 0.95 * (ordered.shape[axis] - 1)
    low = int(place)
    first = np.take(ordered, low, axis=axis)
    return np.asarray(
        first + (place - low) * (np.take(ordered, min(low + 1, ordered.shape[axis] - 1), axis=axis) - first)
    )
