"""A casting's picture for the browser: the sparse weights of its paths once, and for each dose a colour for each length.

The browser adds up and applies the screen's curve: a dose is then a few kilobytes on the way and milliseconds on the screen.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tintmix.desk.seen import insert_ground
from tintmix.optics.colour import Screen, encoded, linear_srgb_matrix
from tintmix.optics.detector import eye
from tintmix.optics.display_p3 import P3_OF_SRGB
from tintmix.optics.display_p3 import profile as display_p3
from tintmix.optics.paths import MEETINGS
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.model import TintModel
from tintmix.pigments.painted import colours_of_lengths
from tintmix.shape.values import PathPicture, Place

DRAWS = 75
"""The picture is painted from a quarter of the posterior, as the strip is: no eye sees the difference."""
BEYOND = 5e-4
"""How far a linear channel lies below zero in a colour that is called outside sRGB: less than a step of eight bits."""
SEES = 0x8000
"""In a pixel's count of weights: that it sees the casting."""


def packed(picture: PathPicture, head: Mapping[str, Any]) -> bytes:
    """A picture as the browser takes it: the length of a table (JSON, UTF-8, padded to four bytes), the table, and little-endian
    arrays. weights (R,) 32-bit floats; straight (H · W,) depths in mm, 32-bit; counts (H · W,) of each pixel's weights, 16-bit,
    `SEES` where it sees the casting; bins (R,), 16-bit."""
    pixels = picture.width * picture.height
    counts = np.bincount(picture.pixels, minlength=pixels).astype(np.uint16)
    counts[picture.sees.ravel()] |= SEES
    table = {
        "width": picture.width, "height": picture.height, "pixel_mm": picture.pixel_mm, "bare": picture.bare,
        "lengths_mm": [round(float(one), 4) for one in picture.lengths_mm], "rows": len(picture.weights),
        "samples": picture.samples, **head,
    }  # fmt: skip
    said = json.dumps(table).encode()
    said += b" " * (-len(said) % 4)
    return b"".join([
        np.uint32(len(said)).astype("<u4").tobytes(), said, picture.weights.astype("<f4").tobytes(),
        picture.straight_mm.astype("<f4").tobytes(), counts.astype("<u2").tobytes(), picture.bins.astype("<u2").tobytes(),
    ])  # fmt: skip


def colours(
    model: TintModel | None,
    doses_phr: Mapping[str, float],
    lengths_mm: ArrayLike,
    reflectance: Any,
    light: str,
    observer: int,
) -> list[list[float]]:
    """Linear sRGB of bare light that went each length and met the insert never, once, twice: (3 B, 3), or (B, 3) without one.

    The bare light is 1, 1, 1. Without a model, of clear resin. reflectance: of the insert, None where none is cast in.
    """
    detector, bins = eye(light, observer), np.size(lengths_mm)
    painted = 0.0 if reflectance is None else reflectance
    if model is None:
        met = np.broadcast_to(painted, GRID_NM.shape) ** np.arange(MEETINGS)[:, None]
        xyz = np.repeat(met @ detector.weights, bins, axis=0)
    else:
        every = max(1, len(model.draws_base) // DRAWS)
        xyz = colours_of_lengths(model, doses_phr, lengths_mm, painted, light, observer, every)
    xyz = xyz[:bins] if reflectance is None else xyz
    linear: list[list[float]] = np.round(xyz @ linear_srgb_matrix(detector.bare).T, 5).tolist()
    return linear


def insert_reflectance(srgb: str | None, light: str, observer: int) -> tuple[float, ...] | None:
    """The smoothest reflectance of an insert's colour; None without one. Raises ValueProblem."""
    if srgb is None:
        return None
    found = insert_ground(srgb, None, light, observer).reflectance
    return tuple(np.broadcast_to(np.asarray(found, dtype=np.float64), GRID_NM.shape).tolist())


def png(picture: PathPicture, shades: Sequence[Sequence[float]]) -> bytes:
    """A picture in the colours of `colours`, in sRGB with its profile, or in Display P3 where it has colours beyond; where the
    casting is not, the bare light."""
    from PIL import Image, ImageCms  # here: the slider's frame needs neither

    flat = np.array(shades)
    lengths = len(picture.lengths_mm)
    flat = flat if len(flat) > lengths else np.tile(flat, (MEETINGS, 1))
    light = np.where(picture.sees[..., None], picture.product(flat), picture.bare)
    # What is as dark or as light as a screen can be is no colour beyond it.
    beyond = bool(np.any(light < -BEYOND))
    light = light @ P3_OF_SRGB.T if beyond else light
    levels = np.rint(255 * encoded(np.clip(light, 0.0, 1.0))).astype(np.uint8)
    out = io.BytesIO()
    profile = display_p3() if beyond else ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    Image.fromarray(levels).save(out, "PNG", icc_profile=profile)
    return out.getvalue()


def hexes_of_places(
    places: Sequence[Place],
    model: TintModel | None,
    doses_phr: Mapping[str, float],
    reflectance: Any,
    light: str,
    observer: int,
) -> list[str]:
    """What each place shows, as "#rrggbb"."""
    shown = []
    for place in places:
        linear = np.array(colours(model, doses_phr, place.lengths_mm, reflectance, light, observer))
        weights = np.array(place.weights)[: len(linear) // max(len(place.lengths_mm), 1)]
        shown.append(np.clip(weights.ravel() @ linear.reshape(-1, 3), 0.0, 1.0))
    return Screen(encoded(np.array(shown).reshape(-1, 3)), np.ones(len(shown), np.bool_)).hex
