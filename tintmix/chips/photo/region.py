"""The light of one place in a photo: a rectangle that was named, or a window of the holder sheet, straightened."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tintmix.chips.photo.frame import Codes, Photo
from tintmix.chips.photo.sheet.plane import SQUARE, homography, project
from tintmix.errors import ValueProblem
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

INSET = 0.12
"""Of a rectangle's sides, left out all round: edges of chips are bright or dark, and rectangles are drawn by hand."""
FEWEST_PIXELS = 10
"""Along a side of what is read."""
TRIMMED = 0.10
"""Left out at each end before the mean: bubbles, dust, glints. A median would stick to one of 8-bit's steps."""
MOST_SAMPLES = 100
"""Along a side: 10 000 pixels tell the mean to a hundredth of their spread, itself 1 or 2 % of what is read; the time of a large
photo goes into them."""
_CELLS = 3
"""Along a side: enough to tell a wedge, a shadow or an edge, and each still holds a ninth of the pixels."""
_RIM = 0.04
"""Of a place's sides: the strips along them that are held against what lies next to them."""
_FAINT = 0.005
"""Of full light: JPEG's ripples and the steps of its darkest codes stay below it."""
_UNIT: Array = (SQUARE + 1) / 2
"""The corners of a square of side 1 from the origin: `SQUARE`, which is about it, moved and halved."""


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A place in pixels of the upright photo, from its top left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def sides(self) -> Array:
        """Width and height (2,)."""
        return np.array([self.width, self.height])

    @property
    def corners(self) -> Array:
        """The corners (4, 2), clockwise from the top left."""
        return np.asarray(_UNIT * self.sides + (self.x, self.y))

    @property
    def inner(self) -> Rectangle:
        """What is read of it."""
        x, y = (self.corners[0] + INSET * self.sides).tolist()
        return Rectangle(x, y, (1 - 2 * INSET) * self.width, (1 - 2 * INSET) * self.height)


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """What one place holds. All of linear light, per channel, 1 what just fits.

    mean: (3,) trimmed. spread: (3,) standard deviation of a pixel, as far as it was not trimmed. cells: (3, 3, 3) trimmed
    means of nine parts. clipped: (3,) the part of pixels that are full. bright, dark: the part of pixels that stand
    out. corners: (4, 2), in pixels of the photo. rim: how far the outermost strip along a side is off what lies next to it,
    relative, the largest of the four.
    """

    mean: Array
    spread: Array
    cells: Array
    clipped: Array
    bright: float
    dark: float
    corners: Array
    pixels: int
    rim: float

    @property
    def middle(self) -> Array:
        """The middle of the place (2,), x and y in pixels."""
        return np.asarray(self.corners.mean(axis=0))

    @property
    def cell_middles(self) -> Array:
        """The middles of its nine parts (3, 3, 2), but for the perspective."""
        part = (np.arange(_CELLS) + 0.5) / _CELLS
        v, u = np.meshgrid(part, part, indexing="ij")
        a, b, c, d = self.corners
        u, v = u[..., None], v[..., None]
        return np.asarray((1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * d + u * c))


_RECTANGLE = re.compile(r"\s*" + r"\s*[,;\s]\s*".join([r"(-?\d+(?:\.\d+)?)"] * 4) + r"\s*")


def rectangle(text: str) -> Rectangle:
    """A rectangle from x,y,w,h in pixels. Raises ValueProblem.

    >>> rectangle("10,20,300,200").corners[2].tolist()
    [310.0, 220.0]
    """
    where = plain(text, 60) or "nothing"
    found = _RECTANGLE.fullmatch(text)
    if not found:
        said = "is no place in a photo; write x,y,width,height in pixels, such as 1200,800,300,300"
        raise ValueProblem(where=where, what=said)
    box = Rectangle(*map(float, found.groups()))
    if max(abs(box.x), abs(box.y), box.width, box.height) > 1e6:
        raise ValueProblem(where=where, what="lies outside any photo")
    if box.width <= 0 or box.height <= 0:
        raise ValueProblem(where=where, what="is empty; its width and height are in pixels, and above zero")
    return box


def take(photo: Photo, corners: Array, where: str, inset: float = 0.0) -> Patch:
    """The light inside four corners (4, 2), x and y in pixels, clockwise from the top left. Raises ValueProblem."""
    codes = _codes(photo, corners, where, inset)
    planes = photo.planes(codes)
    flat = planes.reshape(3, -1)
    mean, spread = _trimmed(flat)
    height, width = planes.shape[1:]
    rows, columns = (np.linspace(0, n, _CELLS + 1).astype(int) for n in (height, width))
    cells = np.array(
        [
            [_mean(planes[:, top:bottom, left:right]) for left, right in pairwise(columns)]
            for top, bottom in pairwise(rows)
        ]
    )
    full = (codes >= photo.clipped_at).reshape(-1, 3)
    # Against the cell's own level: a gradient is told apart from spots.
    level = np.repeat(np.repeat(cells.transpose(2, 0, 1), np.diff(rows), axis=1), np.diff(columns), axis=2).reshape(
        3, -1
    )
    reach = np.maximum(np.maximum(5 * spread, 0.08 * mean), _FAINT)[:, None]
    off = flat - level
    return Patch(
        mean, spread, cells, full.mean(axis=0),
        float((off > reach).any(axis=0).mean()), float((off < -reach).any(axis=0).mean()),
        corners, flat.shape[1], _rim(planes, cells),
    )  # fmt: skip


def _rim(planes: Array, cells: Array) -> float:
    """How far the light (3, H, W) of the outermost strips is off that of the nine parts (3, 3, 3) beside them, relative.

    In a place that reaches over an edge by less than its parts show, the strip is another thing altogether; a slope of light
    differs by a sixth of itself.
    """
    down, across = (max(1, round(_RIM * n)) for n in planes.shape[1:])
    sides = (
        (planes[:, :down], cells[0]),
        (planes[:, -down:], cells[-1]),
        (planes[:, :, :across], cells[:, 0]),
        (planes[:, :, -across:], cells[:, -1]),
    )
    off = 0.0
    for strip, beside in sides:
        here, there = float(_mean(strip).sum()), float(beside.mean(axis=0).sum())
        if abs(here - there) > 3 * _FAINT:
            off = max(off, abs(here - there) / max(there, 1e-9))
    return off


def _mean(planes: Array) -> Array:
    return _kept(planes.reshape(3, -1)).mean(axis=1)  # type: ignore[no-any-return]


def trimmed(values: Array) -> tuple[Array, Array]:
    """Mean (C,) of what is left of (N, C) when a tenth is left out at each end, and the standard deviation that tells.

    The deviation is that of a Gaussian whose middle 80 % spread so: their standard deviation over 0.6614.
    """
    return _trimmed(np.ascontiguousarray(values.T))


def _trimmed(planes: Array) -> tuple[Array, Array]:
    """The same of (C, N)."""
    kept = _kept(planes)
    return np.asarray(kept.mean(axis=1)), np.asarray(kept.std(axis=1) / 0.6614)


def _kept(planes: Array) -> Array:
    """What is left of (C, N) when a tenth is left out at each end, in any order."""
    many = planes.shape[1]
    cut = int(TRIMMED * many)
    if cut:
        # Which are the outermost is all that matters: a fifth of the time of putting all in order (measured).
        planes = np.partition(planes, (cut, many - cut - 1), axis=1)
    return planes[:, cut : many - cut]


def _codes(photo: Photo, corners: Array, where: str, inset: float) -> Codes:
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = np.array([photo.width, photo.height])
    if np.any(low < -1) or np.any(high > size + 1):
        how = "outside" if np.any(low >= size) or np.any(high <= 0) else "partly outside"
        said = f"which has {photo.width} × {photo.height} pixels once it is upright"
        raise ValueProblem(where=where, what=f"lies {how} the photo, {said}")
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T) * (1 - 2 * inset)
    wide, high_px = float(max(sides[0], sides[2])), float(max(sides[1], sides[3]))
    if min(wide, high_px) < FEWEST_PIXELS:
        raise ValueProblem(
            where=where,
            what=f"has {max(0, int(wide))} × {max(0, int(high_px))} pixels once its edges are left out, and "
            f"{FEWEST_PIXELS} × {FEWEST_PIXELS} are needed; go nearer, or set the camera to a larger picture",
        )
    across, down = (min(MOST_SAMPLES, int(n)) for n in (wide, high_px))
    u = inset + (1 - 2 * inset) * (np.arange(across) + 0.5) / across
    v = inset + (1 - 2 * inset) * (np.arange(down) + 0.5) / down
    to_pixels = homography(_UNIT, corners)
    if to_pixels is None:
        raise ValueProblem(where=where, what="has no area in the photo")
    points = project(to_pixels, np.stack(np.meshgrid(u, v), axis=-1))
    # Nearest pixels: a blend of codes is no code, and would need the curve first.
    columns = np.clip(np.floor(points[..., 0]).astype(int), 0, photo.width - 1)
    rows = np.clip(np.floor(points[..., 1]).astype(int), 0, photo.height - 1)
    top, left = int(rows.min()), int(columns.min())
    here: Codes = photo.codes[top : int(rows.max()) + 1, left : int(columns.max()) + 1]
    picked: Codes = here[rows - top, columns - left]
    return picked
