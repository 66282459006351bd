"""Colours for the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tintmix.errors import TintmixError
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import Light, eye
from tintmix.optics.display_p3 import wide_screen
from tintmix.optics.spectrum import Array


def hexes(labs: ArrayLike, white: Array) -> list[str]:
    """L*a*b* (…, 3) under a white (3,), flattened, as "#rrggbb" each."""
    return screen(xyz_of_lab(np.asarray(labs, dtype=np.float64).reshape(-1, 3), white), white).hex


def wide_colours(labs: ArrayLike, white: Array, inside_srgb: Sequence[bool]) -> list[dict[str, Any] | None]:
    """Colours beyond sRGB as CSS has them for a screen that shows Display P3, and whether that holds them; None within sRGB."""
    if all(inside_srgb):
        return [None] * len(inside_srgb)
    seen = wide_screen(xyz_of_lab(np.asarray(labs, dtype=np.float64).reshape(-1, 3), white), white)
    return [
        None if within else {"css": "color(display-p3 {:.4f} {:.4f} {:.4f})".format(*rgb), "inside": bool(inside)}
        for within, rgb, inside in zip(inside_srgb, seen.rgb, seen.inside_srgb, strict=True)
    ]


def wide_of(lab: Sequence[float] | Array | None, light: str | Light, observer: int) -> dict[str, Any] | None:
    """`wide_colours` of one colour; None for none, or under a light of the maker's own file.

    >>> wide_of((60.0, -90.0, 40.0), "D65", 10)["css"].split()[0]
    'color(display-p3'
    >>> wide_of((60.0, -9.0, 4.0), "D65", 10) is None
    True
    """
    if lab is None:
        return None
    try:
        white = eye(light, observer).bare
    except TintmixError:
        return None
    return wide_under(lab, white)[0]


def wide_under(labs: ArrayLike, white: Array) -> list[dict[str, Any] | None]:
    """`wide_colours` of L*a*b* (…, 3) under a white (3,), flattened."""
    flat = np.asarray(labs, dtype=np.float64).reshape(-1, 3)
    return wide_colours(flat, white, screen(xyz_of_lab(flat, white), white).inside_srgb.tolist())


def hex_of(lab: Sequence[float] | None, light: str, observer: int) -> str | None:
    """A colour; None for none, or under a light of the maker's own file."""
    if lab is None:
        return None
    try:
        return hexes(lab, eye(light, observer).bare)[0]
    except TintmixError:
        return None
