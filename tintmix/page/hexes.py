"""Colours for the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tintmix.errors import TintmixError
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
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


def hex_of(lab: Sequence[float] | None, light: str, observer: int) -> str | None:
    """A colour; None for none, or under a light of the maker's own file."""
    if lab is None:
        return None
    try:
        return hexes(lab, eye(light, observer).bare)[0]
    except TintmixError:
        return None
