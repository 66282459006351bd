"""A picture's colour profile (ICC): whether it is sRGB, whether it has no curve at all, and what brings its light to sRGB."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from PIL import Image, ImageCms

from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

_BAD = (ImageCms.PyCMSError, OSError, TypeError, ValueError)
"""What the library raises for one that is damaged."""
_STRAIGHT = 0.02
"""Of full light: how far a grey ramp may lie from a straight line; the curve of sRGB lies 0.28 from it."""
_SRGB_IN_PCS: Array = np.array([[0.4361, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]])
"""Linear sRGB to XYZ under D50, columns a primary: the colorants of its ICC profile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """given: as the library holds it. is_straight: light goes with the code. to_srgb: (3, 3), its linear light to that of sRGB;
    None where the two are one, or where it says no primaries."""

    given: ImageCms.ImageCmsProfile
    is_srgb: bool
    is_straight: bool
    to_srgb: Array | None


def profile_of(picture: Image.Image, said: str, told: list[Note | str]) -> Profile | None:
    """The picture's own; None where it has none, or a damaged one, which is told. Raises FileProblem."""
    data = picture.info.get("icc_profile")
    if not data:
        return None
    try:
        given = ImageCms.ImageCmsProfile(io.BytesIO(data))
        space = given.profile.xcolor_space.strip()
        if space != "RGB":
            what = f"its colour profile is for {plain(space)}, not for RGB"
            raise FileProblem(where=said, what=what, remedy=Remedy.PHOTO_AS_TAKEN)
        steps = np.arange(0, 256, 17, dtype=np.uint8)
        cube = np.stack(np.meshgrid(steps, steps, steps[::5], indexing="ij"), axis=-1).reshape(16, -1, 3)
        off = np.asarray(_converted(Image.fromarray(cube), given)).astype(int) - cube
        return Profile(
            given=given, is_srgb=int(np.abs(off).max()) <= 2, is_straight=_is_straight(given), to_srgb=_matrix(given)
        )
    except _BAD:
        told.append("its colour profile is damaged; it was read as sRGB")
        return None


def in_srgb(picture: Image.Image, profile: Profile) -> Image.Image:
    """The picture, 8 bits a channel, in sRGB."""
    return picture if profile.is_srgb else _converted(picture, profile.given)


def _converted(picture: Image.Image, given: ImageCms.ImageCmsProfile) -> Image.Image:
    # Relative colorimetric: the panel divides out, so the profile's white must not be moved.
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    done = ImageCms.profileToProfile(picture, given, ImageCms.createProfile("sRGB"), intent, outputMode="RGB")
    return picture if done is None else done


def _is_straight(given: ImageCms.ImageCmsProfile) -> bool:
    ramp = np.arange(256, dtype=np.uint8)
    greys = np.repeat(ramp[None, :, None], 3, axis=2)
    encoded = np.asarray(_converted(Image.fromarray(greys), given))[0, :, 1] / 255.0
    light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return bool(np.abs(light - ramp / 255.0).max() < _STRAIGHT)


def _matrix(given: ImageCms.ImageCmsProfile) -> Array | None:
    colorants: list[Any] = [getattr(given.profile, f"{name}_colorant", None) for name in ("red", "green", "blue")]
    if any(one is None for one in colorants):
        return None
    matrix = np.linalg.inv(_SRGB_IN_PCS) @ np.array([one[0] for one in colorants]).T
    return None if np.abs(matrix - np.eye(3)).max() < 0.005 else np.asarray(matrix)
