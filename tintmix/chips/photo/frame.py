"""A photo as it is read: upright codes, the curve that makes light of them, and the bounds that all photos keep to."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tintmix.chips.photo.curve import ToneCurve
from tintmix.chips.photo.errors import photo_too_large
from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files import caps
from tintmix.optics.spectrum import Array

Codes = NDArray[np.uint8] | NDArray[np.uint16]


class Pixels:
    """The codes of a decoded picture, upright, which become an array only as far as they are asked for: to unpack all of a photo
    of 12 million pixels takes as long as to decode it (measured). Indexed as an array is. orientation: 1 to 8, of the picture.
    """

    dtype, ndim = np.dtype(np.uint8), 3

    def __init__(self, picture: Image.Image, orientation: int = 1) -> None:
        self._picture, self._orientation = picture, orientation
        wide, high = picture.size
        self.shape = (wide, high, 3) if orientation in (5, 6, 7, 8) else (high, wide, 3)
        self.nbytes = wide * high * 3
        self._whole: NDArray[np.uint8] | None = None
        self._small: dict[int, NDArray[np.uint8]] = {}

    def __getitem__(self, key: Any) -> NDArray[np.uint8]:
        if self._whole is None and isinstance(key, tuple) and all(isinstance(one, slice) for one in key):
            rows, columns = (range(n)[one] for n, one in zip(self.shape, key, strict=False))
            if len(rows) and len(columns) and rows.step > 0 and columns.step > 0:
                box = self._box(rows[0], rows[-1] + 1, columns[0], columns[-1] + 1)
                part = upright(np.asarray(self._picture.crop(box)), self._orientation)
                return np.asarray(part[:: rows.step, :: columns.step], dtype=np.uint8)
        if self._whole is None:
            self._whole = np.asarray(upright(np.asarray(self._picture), self._orientation), dtype=np.uint8)
        return np.asarray(self._whole[key])

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[np.uint8]:
        return np.array(self[...], dtype=dtype)

    def _box(self, top: int, bottom: int, left: int, right: int) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of the same in the picture as it was decoded."""
        high, wide, _ = self.shape
        if self._orientation in (2, 3, 6, 7):
            left, right = wide - right, wide - left
        if self._orientation in (3, 4, 7, 8):
            top, bottom = high - bottom, high - top
        return (top, left, bottom, right) if self._orientation in (5, 6, 7, 8) else (left, top, right, bottom)

    def shrunk(self, step: int) -> NDArray[np.uint8]:
        """Means of step × step codes (H // step, W // step, 3)."""
        if step not in self._small:
            high, wide = self.shape[0] // step, self.shape[1] // step
            box = self._box(0, high * step, 0, wide * step)
            small = self._picture.reduce(step, box) if step > 1 else self._picture.crop(box)
            self._small = {step: np.asarray(upright(np.asarray(small), self._orientation), dtype=np.uint8)}
        return self._small[step]


def upright(codes: Any, orientation: int) -> Codes:
    """Codes (H, W, 3) turned and mirrored as EXIF orientation 1 to 8 asks (CIPA DC-008, tag 274)."""
    turned: Any = codes.transpose(1, 0, 2) if orientation in (5, 6, 7, 8) else codes
    if orientation in (2, 3, 6, 7):
        turned = turned[:, ::-1]
    if orientation in (3, 4, 7, 8):
        turned = turned[::-1]
    out: Codes = np.ascontiguousarray(turned)
    return out


FEWEST_PIXELS = 64
"""Along the shorter side: below it there is no room for a chip and the panel beside it."""
LONGEST = 16
"""The longer side over the shorter one, at most: panoramas are 3 to 8."""
STACKED = b"FOVb"
"""The first bytes of raw files of sensors whose layers are stacked."""
_INNER = 3
"""Along a side: of codes that are averaged before the curve; a photo of 12 million pixels is searched at a third of its size."""
_SETTINGS_FROM, _SETTINGS_TO = 1e-6, 1e8
"""Seconds, f numbers and ISO lie between; what is outside is damaged."""


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A photo, upright. codes: (H, W, 3), as the file has them. curve: codes to linear light, 1 the most that fits.

    rendered: whether a camera's own processing made it (JPEG and the like); raw channels otherwise. clipped_at: the code
    from which a channel is full. settings: exposure_s, f_number, iso, as far as the file tells. matrix: (3, 3), what brings the
    light to linear sRGB, where its own primaries are others. taken_with: camera and its software, as the file names them.
    tones_open: whether the file says nothing of its curve, so that what the photo shows may settle it (`tones`).
    together: pixels of the file along a side that are one here.
    """

    name: str
    codes: Codes | Pixels
    rendered: bool
    curve: ToneCurve | None = None
    clipped_at: int = 65_535
    settings: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[Note | str, ...] = ()
    matrix: Array | None = None
    taken_with: str = ""
    tones_open: bool = False
    together: int = 1

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
        if isinstance(self.codes, Pixels):
            return self._averaged_of(self.codes, step, every)
        rows, columns = self.height // step, self.width // step
        out = np.empty((rows, columns, 3))
        for row in range(rows):
            codes = self.codes[row * step : (row + 1) * step : every, : columns * step]
            across = self.light(codes).sum(axis=0).reshape(columns, step, 3)
            # A loop over the few: numpy's own sum along a short middle axis takes four times as long (measured).
            out[row] = sum(across[:, i] for i in range(step)) / (step * len(codes))
        return out

    def _averaged_of(self, codes: Pixels, step: int, every: int) -> Array:
        """The same, the nearest codes averaged before the curve: of 8 bits, and of what is many pixels wide, that is as good."""
        inner = min(step, _INNER)
        small = codes.shrunk(inner)
        if inner == step:
            return self.light(small)
        rows, columns = self.height // step, self.width // step
        # As much is left out as where rows are: half of it down, half across.
        apart = min(math.isqrt(every), step // inner)
        light = self.light(small[: rows * step // inner : apart, ::apart])
        down, across = (np.arange(n) * step // (inner * apart) for n in (rows, columns))
        sums = np.add.reduceat(np.add.reduceat(light, down, axis=0), across, axis=1)
        many = np.add.reduceat(np.ones(light.shape[0]), down)[:, None] * np.add.reduceat(
            np.ones(light.shape[1]), across
        )
        return np.asarray(sums / many[..., None])

    def brightness(self, step: int) -> NDArray[np.float32] | Array:
        """All channels of `averaged` together (H // step, W // step)."""
        if isinstance(self.codes, Pixels) and step <= _INNER and self.curve is not None and self.matrix is None:
            # Of single precision, which 8 bits do not fill: half of the time goes into the memory (measured).
            small, table = self.codes.shrunk(step), self.curve.table.astype(np.float32)
            light = table[:, 0].take(small[..., 0])
            for channel in (1, 2):
                light += table[:, channel].take(small[..., channel])
            return light
        # Of three rows two, the outer ones: what is looked for is many pixels wide.
        return np.asarray(self.averaged(step, every=2 if step == 3 else 1).sum(axis=2))

    def planes(self, codes: Codes) -> Array:
        """The light of codes (H, W, 3), a plane for each channel (3, H, W)."""
        if self.curve is None or self.matrix is not None:
            return np.ascontiguousarray(np.moveaxis(self.light(codes), -1, 0))
        return np.stack([self.curve.table[:, c].take(codes[..., c]) for c in range(3)])

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
