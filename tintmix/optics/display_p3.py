"""Display P3, for screens that show more than sRGB: SMPTE EG 432-1 primaries, the white and the curve of IEC 61966-2-1."""

from __future__ import annotations

import struct

import numpy as np

from tintmix.optics.colour import ADAPTATIONS, SRGB_TO_XYZ, Screen, encoded, linear_srgb_matrix
from tintmix.optics.spectrum import Array

P3_TO_XYZ = np.array(
    [[0.4865709, 0.2656677, 0.1982173], [0.2289746, 0.6917385, 0.0792869], [0.0, 0.0451134, 1.0439444]]
)
"""Linear Display P3 to XYZ (Y of white = 1): x, y of red 0.680 0.320, green 0.265 0.690, blue 0.150 0.060, white D65."""
P3_OF_SRGB = np.linalg.solve(P3_TO_XYZ, SRGB_TO_XYZ)
_INSIDE = 5e-4
"""As of sRGB: less than a step of eight bits."""
_D50 = np.array([0.9642, 1.0, 0.8249])
"""The white of a profile's connection space (ICC.1:2022, 7.2.16)."""
_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
"""The screen's curve as a parametric curve of type 3 (ICC.1:2022, 10.18): g, a, b, c, d."""


def wide_screen(xyz: Array, white: Array) -> Screen:
    """XYZ (…, 3) under a light with this white as a Display P3 screen shows it; `inside_srgb` tells of P3 there.

    >>> white = np.array([95.047, 100.0, 108.883])
    >>> wide_screen(white, white).rgb.round(4).tolist()
    [1.0, 1.0, 1.0]
    """
    linear = np.asarray(xyz, dtype=np.float64) @ linear_srgb_matrix(white).T @ P3_OF_SRGB.T
    inside = np.all((linear >= -_INSIDE) & (linear <= 1.0 + _INSIDE), axis=-1)
    return Screen(encoded(np.clip(linear, 0.0, 1.0)), inside)


def profile() -> bytes:
    """Display P3 as an ICC profile, for a picture to carry: ICC.1:2022, a matrix and a curve.

    >>> profile()[36:40]
    b'acsp'
    """
    cone = ADAPTATIONS["Bradford"]
    chad = np.linalg.solve(cone, (cone @ _D50 / (cone @ P3_TO_XYZ.sum(axis=1)))[:, None] * cone)
    colorants = chad @ P3_TO_XYZ
    tags = {b"desc": _text("Display P3"), b"cprt": _text("No copyright"), b"wtpt": _xyz(_D50)}
    tags |= {name: _xyz(column) for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), colorants.T, strict=True)}
    curve = b"para" + bytes(4) + struct.pack(">HH", 3, 0) + _fixed(*_CURVE)
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    tags[b"chad"] = b"sf32" + bytes(4) + _fixed(*chad.ravel())
    head, body, at = struct.pack(">I", len(tags)), b"", 132 + 12 * len(tags)
    for name, content in tags.items():
        head += name + struct.pack(">II", at + len(body), len(content))
        body += content + bytes(-len(content) % 4)
    size = at + len(body)
    header = struct.pack(">I", size) + bytes(4) + bytes([4, 0x40, 0, 0]) + b"mntrRGB XYZ "
    header += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + _fixed(*_D50)
    return header + bytes(128 - len(header)) + head + body


def _fixed(*values: float) -> bytes:
    return b"".join(struct.pack(">i", round(65536 * float(value))) for value in values)


def _xyz(values: Array) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(*values)


def _text(words: str) -> bytes:
    said = words.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II", 1, 12) + b"enUS" + struct.pack(">II", len(said), 28) + said
