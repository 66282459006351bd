"""What a phone does to the codes of a JPEG beyond sRGB's own curve: its contrast."""

from __future__ import annotations

import numpy as np

from tintmix.optics.spectrum import Array

_KNEE, _SLOPE, _FOOT, _POWER = 0.0031308, 12.92, 0.055, 2.4
"""IEC 61966-2-1: v = 12.92 x below the knee, 1.055 x^(1/2.4) - 0.055 above."""


def toned(light: Array, contrast: Array, level: Array) -> tuple[Array, Array, Array, Array]:
    """What codes read as sRGB's say of linear channels, as parts of the bare panel, and the slopes by light, contrast, level.

    A phone writes g(v) = v + c v (1 - v)(2 v - 1) where sRGB asks for v: c > 0 is an S, c < 0 its reverse; straight on past
    0 and 1. level: the bare panel's linear channels, 1 where it is as bright as codes go. contrast and level are of light's
    dimensions, or broadcast to them.

    >>> toned(np.array([0.05, 1.0]), np.array(0.3), np.array(1.0))[0].round(4).tolist()
    [0.0395, 1.0]
    """
    value, by_value, by_contrast = _bent(level * light, contrast)
    bare, by_bare, bare_by_contrast = _bent(level * np.ones(1), contrast)
    ratio = value / bare
    return (
        ratio,
        by_value * level / bare,
        (by_contrast - ratio * bare_by_contrast) / bare,
        (by_value * light - ratio * by_bare) / bare,
    )


def _bent(x: Array, contrast: Array) -> tuple[Array, Array, Array]:
    """Linear light x through the curve, the contrast and the curve's inverse; slopes by x and by contrast."""
    root = np.maximum(x, _KNEE) ** (1 / _POWER)
    curved = x > _KNEE
    v = np.where(curved, (1 + _FOOT) * root - _FOOT, _SLOPE * x)
    v_slope = np.where(curved, (1 + _FOOT) / _POWER * root / np.maximum(x, _KNEE), _SLOPE)
    inside = np.clip(v, 0.0, 1.0)
    shape = inside * (1 - inside) * (2 * inside - 1)
    # h = v (1 - v)(2 v - 1) has slope -1 at both ends; past them it goes on along it.
    shape = shape - (v - inside)
    shape_slope = np.where(v == inside, -1 + 6 * inside - 6 * inside**2, -1.0)
    code, code_slope = v + contrast * shape, 1 + contrast * shape_slope
    above = np.maximum(code, _SLOPE * _KNEE)
    bent = code > _SLOPE * _KNEE
    base = (above + _FOOT) / (1 + _FOOT)
    back = np.where(bent, base**_POWER, code / _SLOPE)
    back_slope = np.where(bent, _POWER / (1 + _FOOT) * base ** (_POWER - 1), 1 / _SLOPE)
    return back, back_slope * code_slope * v_slope, back_slope * shape
