"""XYZ, L*a*b* and the screen: CIE 15 and ISO/CIE 11664-4, CAT16, IEC 61966-2-1."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.errors import ValueProblem
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

_EPSILON, _KAPPA = 216.0 / 24389.0, 24389.0 / 27.0
"""CIE 15:2018 §8.2.1: (6/29)³ and (29/3)³, where the cube root gives way to a straight line."""

SRGB_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1, linear sRGB to XYZ (Y of white = 1)."""
_XYZ_TO_RGB = np.linalg.inv(SRGB_TO_XYZ)
_SRGB_WHITE = SRGB_TO_XYZ.sum(axis=1)
"""XYZ of R = G = B = 1."""

_CAT16 = np.array([[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]])
"""Li et al., Color Res. Appl. 42, 703 (2017)."""

ADAPTATIONS = {
    "CAT16": _CAT16,
    "Bradford": np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]),
    "von Kries": np.array([[0.40024, 0.7076, -0.08081], [-0.2263, 1.16532, 0.0457], [0.0, 0.0, 0.91822]]),
    "XYZ scaling": np.eye(3),
}
"""XYZ to the responses that are scaled from one white to another, by name; Bradford: Lam (1985), von Kries: Hunt's cone
responses, both as in CIE 160:2004."""

_INSIDE = 5e-4
"""How far a linear channel may lie outside 0…1 and still be called inside: less than a step of eight bits."""
LIFT_BELOW = 20.0
"""L* below which a second, exposure-lifted swatch is shown: there a screen hardly shows a
colour, and ΔE00 hardly sees darkness (physics §7)."""
_LIFT_TO = 50.0
"""The middle of the lightness scale."""


@dataclass(frozen=True, slots=True)
class Screen:
    """Colours for a screen. rgb: (…, 3), encoded, clipped to 0…1. inside_srgb: (…), recorded before clipping."""

    rgb: Array
    inside_srgb: NDArray[np.bool_]

    @property
    def hex(self) -> list[str]:
        """The colours, flattened, as '#rrggbb'."""
        levels = np.rint(self.rgb.reshape(-1, 3) * 255).astype(int)
        return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in levels]


def lab(xyz: Array, white: Array) -> Array:
    """L*a*b* (…, 3) of XYZ (…, 3) against a white (3,). CIE 15:2018 §8.2.1, with the linear part near black.

    >>> lab(np.array([50.0, 50.0, 50.0]), np.array([100.0, 100.0, 100.0])).round(4).tolist()
    [76.0693, 0.0, 0.0]
    """
    ratio = xyz / white
    f = np.cbrt(ratio)
    dark = ratio <= _EPSILON
    if np.any(dark):
        np.copyto(f, (_KAPPA * ratio + 16.0) / 116.0, where=dark)
    return _lab_of_roots(f)


def _lab_of_roots(f: Array) -> Array:
    out = np.empty(f.shape)
    out[..., 0] = 116.0 * f[..., 1] - 16.0
    out[..., 1] = 500.0 * (f[..., 0] - f[..., 1])
    out[..., 2] = 200.0 * (f[..., 1] - f[..., 2])
    return out


def lab_with_slope(xyz: Array, white: Array) -> tuple[Array, Array]:
    """L*a*b* (…, 3) and its Jacobian (…, 3, 3) by XYZ."""
    ratio = xyz / white
    root = np.cbrt(np.maximum(ratio, _EPSILON))
    bright = ratio > _EPSILON
    f = np.where(bright, root, (_KAPPA * ratio + 16.0) / 116.0)
    slope = np.where(bright, 1.0 / (3.0 * root * root), _KAPPA / 116.0) / white
    jacobian = np.zeros((*f.shape, 3))
    jacobian[..., 0, 1] = 116.0 * slope[..., 1]
    jacobian[..., 1, 0] = 500.0 * slope[..., 0]
    jacobian[..., 1, 1] = -500.0 * slope[..., 1]
    jacobian[..., 2, 1] = 200.0 * slope[..., 1]
    jacobian[..., 2, 2] = -200.0 * slope[..., 2]
    return _lab_of_roots(f), jacobian


def xyz_of_lab(lab_values: Array, white: Array) -> Array:
    """The inverse of `lab`."""
    values = np.asarray(lab_values, dtype=np.float64)
    fy = (values[..., 0] + 16.0) / 116.0
    f = np.stack([fy + values[..., 1] / 500.0, fy, fy - values[..., 2] / 200.0], axis=-1)
    cube = f**3
    return white * np.where(cube > _EPSILON, cube, (116.0 * f - 16.0) / _KAPPA)


def screen(xyz: Array, white: Array) -> Screen:
    """XYZ (…, 3) under a light with this white, as a screen shows it: CAT16 with D = 1, the bare light as #ffffff.

    Clipped only after `inside_srgb` is recorded.

    >>> screen(np.array([95.047, 100.0, 108.883]), np.array([95.047, 100.0, 108.883])).hex
    ['#ffffff']
    """
    linear = np.asarray(xyz, dtype=np.float64) @ linear_srgb_matrix(white).T
    inside = np.all((linear >= -_INSIDE) & (linear <= 1.0 + _INSIDE), axis=-1)
    return Screen(encoded(np.clip(linear, 0.0, 1.0)), inside)


def lifted(xyz: Array, white: Array) -> tuple[Screen, int]:
    """The same colours with the exposure raised by whole stops, so that the lightest of them reaches about L* 50.

    For dark sections only (below L* 20); the number of stops must be written beside them. 0 stops where nothing is
    dark.
    """
    xyz = np.asarray(xyz, dtype=np.float64)
    lightest = float(np.max(lab(xyz, white)[..., 0]))
    if lightest >= LIFT_BELOW:
        return screen(xyz, white), 0
    wanted = float(xyz_of_lab(np.array([_LIFT_TO, 0.0, 0.0]), white)[1])
    stops = int(np.clip(np.floor(np.log2(wanted / max(float(np.max(xyz[..., 1])), 1e-9))), 1, 20))
    return screen(xyz * 2.0**stops, white), stops


def xyz_of_srgb(colour: str, white: Array) -> Array:
    """The XYZ (3,) under a light with this white that `screen` shows as '#rrggbb'; its exact inverse. Raises ValueProblem.

    >>> white = np.array([95.047, 100.0, 108.883])
    >>> screen(xyz_of_srgb("#cfe8dc", white), white).hex
    ['#cfe8dc']
    """
    if not isinstance(colour, str) or not re.fullmatch(r"#?[0-9a-fA-F]{6}", colour.strip()):
        raise ValueProblem(
            what=f'{plain(colour)!r} is not a screen colour; it is written "#rrggbb", two hexadecimal digits for each of red, '
            "green, blue"
        )
    digits = colour.strip().lstrip("#")
    encoded = np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255.0
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return np.asarray(np.linalg.solve(linear_srgb_matrix(white), linear), dtype=np.float64)


def linear_srgb_matrix(white: Array, adaptation: str = "CAT16") -> Array:
    """M (3, 3): linear sRGB = M @ XYZ, adapted by CAT16, or another of ADAPTATIONS, from this white, bare light = (1, 1, 1)."""
    cone = ADAPTATIONS[adaptation]
    gain = (cone @ _SRGB_WHITE) / (cone @ white)
    return _XYZ_TO_RGB @ np.linalg.solve(cone, gain[:, None] * cone)


def encoded(linear: Array) -> Array:
    """Channels of linear sRGB, of any shape, 0 to 1, as a screen takes them. IEC 61966-2-1.

    >>> round(float(encoded(np.array(0.5))), 4)
    0.7354
    """
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-12) ** (1 / 2.4) - 0.055)


def xyz_of_xyy(xyy: Array) -> Array:
    """XYZ (…, 3) of chromaticity x, y and luminance Y. CIE 15: X = x Y/y, Z = (1 − x − y) Y/y; black where y is zero.

    >>> xyz_of_xyy(np.array([0.3127, 0.3290, 100.0])).round(3).tolist()
    [95.046, 100.0, 108.906]
    """
    values = np.asarray(xyy, dtype=np.float64)
    x, y, luminance = values[..., 0], values[..., 1], values[..., 2]
    scale = np.where(y > 0, luminance / np.where(y > 0, y, 1.0), 0.0)
    return np.stack([x * scale, np.where(y > 0, luminance, 0.0), (1.0 - x - y) * scale], axis=-1)


def lab_of_lch(lch: Array) -> Array:
    """L*a*b* (…, 3) of lightness, chroma and hue angle in degrees. CIE 15: a* = C* cos h, b* = C* sin h.

    >>> lab_of_lch(np.array([50.0, 10.0, 90.0])).round(6).tolist()
    [50.0, 0.0, 10.0]
    """
    values = np.asarray(lch, dtype=np.float64)
    hue = np.radians(values[..., 2])
    return np.stack([values[..., 0], values[..., 1] * np.cos(hue), values[..., 1] * np.sin(hue)], axis=-1)


def xyz_of_lch(lch: Array, white: Array) -> Array:
    """XYZ (…, 3) of lightness, chroma and hue angle, against a white (3,)."""
    return xyz_of_lab(lab_of_lch(lch), white)
