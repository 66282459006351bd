"""A photo as it is read: upright codes, the curve that makes light of them, and the bounds that all photos keep to."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.chips.photo.curve import ToneCurve
from tintmix.chips.photo.errors import photo_too_large
from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files import caps
from tintmix.optics.spectrum import Array

Codes = NDArray[np.uint8] | NDArray[np.uint16]

FEWEST_PIXELS = 64
"""Along the shorter side: below it there is no room for a chip and the panel beside it."""
LONGEST = 16
"""The longer side over the shorter one, at most: panoramas are 3 to 8."""
STACKED = b"FOVb"
"""The first bytes of raw files of sensors whose layers are stacked."""
_SETTINGS_FROM, _SETTINGS_TO = 1e-6, 1e8
"""Seconds, f numbers and ISO lie between; what is outside is damaged."""


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A photo, upright. codes: (H, W, 3), as the file has them. curve: codes to linear light, 1 the most that fits.

    rendered: whether a camera's own processing made it (JPEG and the like); raw channels otherwise. clipped_at: the code
    from which a channel is full. settings: exposure_s, f_number, iso, as far as the file tells. matrix: (3, 3), what brings the
    light to linear sRGB, where its own primaries are others. taken_with: camera and its software, as the file names them.
    tones_open: whether the file says nothing of its curve, so that what the photo shows may settle it (`tones`).
    """

    name: str
    codes: Codes
    rendered: bool
    curve: ToneCurve | None = None
    clipped_at: int = 65_535
    settings: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[Note | str, ...] = ()
    matrix: Array | None = None
    taken_with: str = ""
    tones_open: bool = False

    @property
    def height(self) -> int:
        """Rows of pixels."""
        return int(self.codes.shape[0])

    @property
    def width(self) -> int:
        """Columns of pixels."""
        return int(self.codes.shape[1])

    def light(self, codes: Codes) -> Array:
        """Linear light of codes (…, 3) of this photo, the same shape."""
        light = codes.astype(np.float64) / 65_535.0 if self.curve is None else self.curve.light(codes)
        return light if self.matrix is None else np.asarray(light @ self.matrix.T)

    def averaged(self, step: int, every: int = 1) -> Array:
        """Linear light (H // step, W // step, 3), averaged over step × step pixels, of their rows one in `every`."""
        rows, columns = self.height // step, self.width // step
        out = np.empty((rows, columns, 3))
        for row in range(rows):
            codes = self.codes[row * step : (row + 1) * step : every, : columns * step]
            across = self.light(codes).sum(axis=0).reshape(columns, step, 3)
            # A loop over the few: numpy's own sum along a short middle axis takes four times as long (measured).
            out[row] = sum(across[:, i] for i in range(step)) / (step * len(codes))
        return out

    @property
    def exposure(self) -> float | None:
        """Relative exposure, s · ISO / f², where the file tells all three."""
        s = self.settings
        if not {"exposure_s", "f_number", "iso"} <= set(s):
            return None
        return s["exposure_s"] * s["iso"] / s["f_number"] ** 2


def camera_settings(**told: Any) -> dict[str, float]:
    """Those of a camera's settings that are numbers; what is damaged is as good as not there."""
    settings = {}
    for key, value in told.items():
        with contextlib.suppress(TypeError, ValueError, ZeroDivisionError):
            if _SETTINGS_FROM < float(value) < _SETTINGS_TO:
                settings[key] = float(value)
    return settings


def check_shape(said: str, width: int, height: int) -> None:
    """That a picture is no speck, no strip, and no more than is read. Raises FileProblem."""
    what = f"it has {width} × {height} pixels"
    if width * height > caps.PHOTO_PIXELS:
        raise photo_too_large(said, what, f"{caps.PHOTO_PIXELS / 1e6:.0f} million")
    if min(width, height) < FEWEST_PIXELS:
        raise FileProblem(where=said, what=f"{what}, too few to hold chips", remedy=Remedy.PHOTO_AS_TAKEN)
    if max(width, height) > LONGEST * min(width, height):
        raise FileProblem(where=said, what=f"{what}, a strip that no camera takes", remedy=Remedy.PHOTO_AS_TAKEN)
