"""The castings of a batch in its tint, as its sheet shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tintmix.errors import TintmixError
from tintmix.optics.colour import screen
from tintmix.optics.detector import Light, eye
from tintmix.pigments.model import TintModel
from tintmix.pigments.painted import painted
from tintmix.recipes.again import Places
from tintmix.recipes.casting import insert_on
from tintmix.shape.shape_file import read_shape
from tintmix.shape.values import PathPicture


@dataclass(frozen=True, slots=True, eq=False)
class CastingDrawn:
    """A casting in a tint. levels: (H, W, 3), sRGB of eight bits; says: which, from where it is seen, and by which light."""

    levels: NDArray[np.uint8]
    says: str


def casting_drawn(
    model: TintModel,
    doses_phr: Mapping[str, float],
    picture: PathPicture,
    reflectance: ArrayLike,
    says: str,
    light: str | Light = "D65",
    observer: int = 10,
) -> CastingDrawn:
    """A traced picture in a tint. reflectance: of what is cast in."""
    xyz = painted(model, doses_phr, picture, reflectance, light, observer)
    shown = screen(xyz, eye(light, observer).bare).rgb
    return CastingDrawn(np.rint(255 * shown).astype(np.uint8), says)


def castings_drawn(
    model: TintModel, places: Places, doses_phr: Mapping[str, float], folder: Path
) -> tuple[CastingDrawn, ...]:
    """Each casting that the places are seen on, where its shape's file is in the folder and is still the same; a sheet without
    its picture is a sheet all the same."""
    digests = {one.seen.shape: one.seen.digest for one in places.sections if one.seen is not None}
    drawn = []
    for file, digest in digests.items():
        try:
            shape = read_shape(folder / file)
            reflectance = insert_on(shape, places.light, places.observer)
        except (TintmixError, OSError, ValueError):
            continue
        if shape.digest == digest:
            says = f"{file}, {shape.seen_words}."
            drawn.append(
                casting_drawn(model, doses_phr, shape.picture, reflectance, says, places.light, places.observer)
            )
    return tuple(drawn)
