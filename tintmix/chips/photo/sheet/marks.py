"""Finds the holder sheet in a photo by the square ring marks at its corners."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.sheet.extreme import extreme
from tintmix.chips.photo.sheet.holder import EDGE_MM, MARKS_MM, RING_INNER_MM, RING_OUTER_MM, WINDOW_MM, WINDOWS
from tintmix.chips.photo.sheet.plane import SQUARE, homography, project
from tintmix.errors import FileProblem, Remedy
from tintmix.numerals import listed
from tintmix.optics.spectrum import Array

Picture = NDArray[np.float32]

SEARCHED_PIXELS = 1600
"""The longer side of what is searched: larger photos are averaged down to it."""
_RING_FILL = (0.30, 0.78)
"""Dark part of a ring's outline, 0.50 as printed; blur and the threshold move it."""
_SQUARE = (0.72, 1.18)
"""A ring's outline over the quadrilateral of its corners: 1 as printed, less where blur rounds the corners."""
_DOT_PART = (0.003, 0.09)
"""A dot over the ring's outline, 0.029 as printed."""
_FIT = 0.03
"""Largest misfit of a ring's corners, in parts of its side, root mean square: twice the worst of 400 simulated photos."""
_MOST_CANDIDATES = 4
"""Of each number of dots: 256 ways to choose four marks are fitted in no time, and a page shows each once."""
_DIM, _DARK = 0.15, 0.9
"""Square roots of light: darker than this beside a ring is no lit paper, and less dark than that is no ink."""
_TOO_SLANTED = 0.866
"""The cosine of 30°: light goes 6 % farther through the chips (design notes, physics §2), and their edges hide the windows."""
_WINDOW_REACH_MM = 15.0
"""Round an open window's middle, what is looked at: its neighbours begin farther off."""
_CLOSINGS = (41, 25, 61, 15)
"""In pixels of a picture of 1600: a ring is 10 to 20 wide where the sheet fills the photo."""
_RING_HALF_MM, _RING_MIDDLE = (RING_OUTER_MM + RING_INNER_MM) / 4, (RING_OUTER_MM - RING_INNER_MM) / 4 / RING_OUTER_MM
"""The middle of the ring's line: its distance from the mark's middle, and from the outer edge in parts of the ring's side."""


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A ring with dots. centre: (2,); corners: (4, 2), in turn round it; x, y in pixels of the photo."""

    dots: int
    centre: Array
    corners: Array


@dataclass(frozen=True, slots=True, eq=False)
class FoundSheet:
    """The sheet in a photo. to_pixels: (3, 3), millimetres on the sheet to pixels. marks: how many of the four were found.

    slant: how much shorter one direction looks than the one across it, 1 when seen straight on. which: the marks, by their dots.
    """

    to_pixels: Array
    marks: int
    misfit: float
    slant: float
    which: tuple[int, ...] = ()

    @property
    def aslant_degrees(self) -> float:
        """How far from straight above the camera looks."""
        return float(np.degrees(np.arccos(np.clip(self.slant, -1.0, 1.0))))

    def pixels(self, points_mm: Array) -> Array:
        """Pixels (…, 2), x and y, of points on the page (…, 2)."""
        return project(self.to_pixels, points_mm)


def find_sheet(photo: Photo) -> FoundSheet:
    """The holder sheet in a photo, at any rotation. Raises FileProblem, which says what is wrong."""
    step = max(1, int(np.ceil(max(photo.width, photo.height) / SEARCHED_PIXELS)))
    grey = _grey(photo, step)
    best: FoundSheet | None = None
    seen: dict[int, list[Mark]] = {}
    mirrored = False
    for size in _CLOSINGS:
        for mark in _marks(grey, max(5, size * max(grey.shape) // SEARCHED_PIXELS) | 1):
            _keep(seen, mark)
        best, now_mirrored = _best(seen)
        mirrored |= now_mirrored
        if best is not None and best.marks == 4:
            break
    if best is None:
        raise _not_found(photo, seen, mirrored)
    if _another(seen, best):
        raise FileProblem(where=photo.name, what="two holder sheets are in the photo", remedy=Remedy.ONE_SHEET_A_PHOTO)
    if best.slant < _TOO_SLANTED:
        seen_from = f"the camera looks about {best.aslant_degrees:.0f}° aslant at the holder sheet"
        what = f"{seen_from}, so that light goes too far through the chips"
        raise FileProblem(where=photo.name, what=what, remedy=Remedy.HOLD_IT_STRAIGHT)
    if best.marks < 4:
        best = _by_windows(grey, best)
    shift = np.array([[step, 0, (step - 1) / 2], [0, step, (step - 1) / 2], [0, 0, 1.0]])
    return replace(best, to_pixels=shift @ best.to_pixels)


def _by_windows(grey: Picture, found: FoundSheet) -> FoundSheet:
    """The sheet with the open windows as further points: three marks alone tell its far corner to 2 mm only."""
    steps = np.arange(-_WINDOW_REACH_MM, _WINDOW_REACH_MM + 0.25, 0.5)
    offsets = np.stack(np.meshgrid(steps, steps), axis=-1)
    page = [MARKS_MM[dots - 1] + square * _RING_HALF_MM for dots in found.which for square in SQUARE]
    seen = list(found.pixels(np.array(page)))
    for middle in (np.array([one.x_mm, one.y_mm]) for one in WINDOWS if one.role == "open"):
        at = found.pixels(middle + offsets)
        light = ndimage.map_coordinates(grey, at[..., ::-1].transpose(2, 0, 1), order=1, mode="constant") ** 2
        labels, _ = ndimage.label(light > 0.5 * float(np.quantile(light, 0.95)))
        label = labels[tuple(n // 2 for n in labels.shape)]
        inside = labels == label
        whole = inside[1:-1, 1:-1].sum() == inside.sum()
        # As large as printed but for a rough cut, and whole within what was looked at.
        if label != 0 and whole and 0.7 < inside.sum() * 0.25 / WINDOW_MM**2 < 1.4:
            page.append(middle)
            seen.append(found.pixels(middle + offsets[inside].mean(axis=0)))
    to_pixels = homography(np.array(page), np.array(seen))
    return found if to_pixels is None else replace(found, to_pixels=to_pixels, slant=_slant(to_pixels))


def _not_found(photo: Photo, seen: dict[int, list[Mark]], mirrored: bool) -> FileProblem:
    what, remedy = "the holder sheet is seen mirrored", Remedy.PRINTED_SIDE_UP
    if not mirrored and len(seen) >= 3:
        what = "no holder sheet is found in it: marks like its own are there, but do not lie as on the sheet"
        remedy = Remedy.LAY_IT_FLAT
    elif not mirrored:
        dots = listed(f"{n} dot{'s' if n > 1 else ''}" for n in sorted(seen))
        marks, were = ("marks", "were") if len(seen) > 1 else ("mark", "was")
        found = f"only the {marks} of {dots} {were} seen" if seen else "no mark was seen"
        what = f"the holder sheet was not found: {found}, and three of the four are needed"
        remedy = Remedy.ALL_FOUR_CORNERS
    return FileProblem(where=photo.name, what=what, remedy=remedy)


def _grey(photo: Photo, step: int) -> Picture:
    """Square root of the light, a number a pixel, averaged over step × step pixels."""
    light = photo.brightness(step)
    bright = float(np.quantile(light[::4, ::4], 0.998)) or 1.0
    grey = np.asarray(light / bright, dtype=np.float32)
    return np.sqrt(np.clip(grey, 0.0, 1.0, out=grey), out=grey)


def _marks(grey: Picture, size: int) -> list[Mark]:
    """Rings with one to four dots. size: in pixels, a little more than a ring is wide.

    A closing fills what is dark and narrow; what it fills by more than half as much as the most near it is dark.
    """
    filled = extreme(extreme(grey, size, np.maximum), size, np.minimum)
    part = np.divide(grey, filled, out=np.ones_like(grey), where=filled >= _DIM)
    least = extreme(part, 2 * size + 1, np.minimum)
    dark = (part < 0.5 * (1.0 + least)) & (part < _DARK)
    labels, count = ndimage.label(dark, structure=np.ones((3, 3), dtype=int))
    if count == 0 or count > 200_000:
        return []
    longest = 0.35 * max(grey.shape)
    found = []
    for label, box in enumerate(ndimage.find_objects(labels), start=1):
        high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
        if min(high, wide) < 12 or max(high, wide) > longest or max(high, wide) > 2.6 * min(high, wide):
            continue
        mark = _mark(labels[box] == label, dark[box], part[box], box[1].start, box[0].start)
        if mark is not None:
            found.append(mark)
    return found


def _mark(ring: NDArray[np.bool_], dark: NDArray[np.bool_], part: Picture, left: int, top: int) -> Mark | None:
    outline = ndimage.binary_fill_holes(ring)
    area = int(outline.sum())
    if not _RING_FILL[0] * area < int(ring.sum()) < _RING_FILL[1] * area:
        return None
    dots, count = ndimage.label(outline & dark & ~ring)
    sizes = np.bincount(dots.ravel())[1:] / area
    dots_seen = int(np.sum(sizes >= _DOT_PART[0]))
    if not 1 <= dots_seen <= 4 or np.any(sizes > _DOT_PART[1]) or count > dots_seen + 3:
        return None
    rough = _rough_corners(outline)
    if rough is None or not _SQUARE[0] < area / max(_area(rough), 1e-9) < _SQUARE[1]:
        return None
    corners = _corners(rough, 1.0 - part)
    diagonals = None if corners is None else _crossing(corners)
    if corners is None or diagonals is None:
        return None
    return Mark(dots_seen, diagonals + (left, top), corners + (left, top))


def _rough_corners(outline: NDArray[np.bool_]) -> Array | None:
    """The corners of a quadrilateral's outline: the points farthest from its middle, from that one, and to either side."""
    padded = np.pad(outline, 1)
    points = np.argwhere(padded & ~ndimage.binary_erosion(padded))[:, ::-1].astype(np.float64) - 1.0
    first = points[np.argmax(((points - points.mean(axis=0)) ** 2).sum(axis=1))]
    third = points[np.argmax(((points - first) ** 2).sum(axis=1))]
    along = third - first
    off = along[0] * (points[:, 1] - first[1]) - along[1] * (points[:, 0] - first[0])
    if off.max() <= 0 or off.min() >= 0:
        return None
    return np.array([first, points[np.argmax(off)], third, points[np.argmin(off)]])


def _corners(rough: Array, darkness: Picture) -> Array | None:
    """Where the middle lines of a ring's four sides cross: lines through its darkness, which blur leaves where they are."""
    y, x = np.nonzero(darkness > 0.02)
    points = np.column_stack([x, y]).astype(np.float64)
    weights = darkness[y, x].astype(np.float64)
    middle = rough.mean(axis=0)
    lines = []
    for one, other in zip(rough, np.roll(rough, -1, axis=0), strict=True):
        side = other - one
        length = float(np.hypot(*side))
        if length < 8:
            return None
        normal = np.array([-side[1], side[0]]) / length
        normal = normal if (middle - one) @ normal > 0 else -normal
        along, inward = (points - one) @ side / length**2, (points - one) @ normal / length
        near = (along > 0.22) & (along < 0.78) & (np.abs(inward - _RING_MIDDLE) < 0.15)
        if near.sum() < 6:
            return None
        w, p = weights[near], points[near]
        centre = (w[:, None] * p).sum(axis=0) / w.sum()
        # A regression of "inward" on "along": the band is far longer than wide.
        u, v = (p - centre) @ side / length, (p - centre) @ normal
        slope = float((w * u * v).sum() / max((w * u * u).sum(), 1e-12))
        direction = side / length + slope * normal
        lines.append(np.cross([*centre, 1.0], [*(centre + direction), 1.0]))
    crossed = [np.cross(lines[i - 1], lines[i]) for i in range(4)]
    if any(abs(c[2]) < 1e-9 for c in crossed):
        return None
    corners = np.array([c[:2] / c[2] for c in crossed])
    return None if np.max(np.abs(corners - rough)) > 0.3 * max(darkness.shape) else corners


def _area(corners: Array) -> float:
    return 0.5 * abs(_signed(corners))


def _crossing(corners: Array) -> Array | None:
    """Where the diagonals cross: the middle of a square, seen from any side."""
    a, b, c, d = np.column_stack([corners, np.ones(4)])
    x, y, w = np.cross(np.cross(a, c), np.cross(b, d))
    return None if abs(w) < 1e-12 else np.array([x / w, y / w])


def _keep(seen: dict[int, list[Mark]], mark: Mark) -> None:
    """Adds a mark unless the same was found with another threshold."""
    size = np.sqrt(_area(mark.corners))
    for marks in seen.values():
        if any(np.hypot(*(mark.centre - other.centre)) < 0.25 * size for other in marks):
            return
    seen.setdefault(mark.dots, []).append(mark)


def _best(seen: dict[int, list[Mark]]) -> tuple[FoundSheet | None, bool]:
    """The sheet that fits the marks best, four of them before three; and whether one would fit that is seen mirrored."""
    mirrored = False
    for how_many in (4, 3):
        fits = []
        for dots in combinations(sorted(seen), how_many):
            for marks in product(*(seen[d][:_MOST_CANDIDATES] for d in dots)):
                if _turn(marks) < 0:
                    mirrored |= _fit(tuple(map(_in_a_mirror, marks))) is not None
                elif (found := _fit(marks)) is not None:
                    fits.append(found)
        if fits:
            return min(fits, key=lambda found: found.misfit), False
    return None, mirrored


def _another(seen: dict[int, list[Mark]], best: FoundSheet) -> bool:
    """Whether marks that are not those of the sheet make one more."""
    rest = {}
    for dots, marks in seen.items():
        away = [
            np.hypot(*(mark.centre - best.pixels(MARKS_MM[dots - 1]))) / np.sqrt(_area(mark.corners)) for mark in marks
        ]
        if left := [mark for mark, far in zip(marks, away, strict=True) if far > 0.5]:
            rest[dots] = left
    return len(rest) >= 3 and _best(rest)[0] is not None


def _turn(marks: tuple[Mark, ...]) -> float:
    """Above zero where the marks follow each other round as on the page, below where they do so in a mirror."""
    page = MARKS_MM[[mark.dots - 1 for mark in marks]]
    return _signed(page) * _signed(np.array([mark.centre for mark in marks]))


def _in_a_mirror(mark: Mark) -> Mark:
    """As a mirror shows it, left for right; its corners in the same turn as before."""
    flip = np.array([-1.0, 1.0])
    return Mark(mark.dots, mark.centre * flip, mark.corners[::-1] * flip)


def _signed(points: Array) -> float:
    """Twice the area of a polygon, by the shoelace formula; above zero where its corners run clockwise, y down."""
    x, y = points.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _fit(marks: tuple[Mark, ...]) -> FoundSheet | None:
    """Page to pixels from the middles and the ring corners of the marks; None where they do not lie as on this sheet."""
    which = tuple(mark.dots for mark in marks)
    middles = MARKS_MM[[dots - 1 for dots in which]]
    centres = np.array([mark.centre for mark in marks])
    # The map that takes page points nearest to the seen ones, but for the shift in its last row.
    turned = np.linalg.lstsq(np.column_stack([middles, np.ones(len(marks))]), centres, rcond=None)[0][:2]
    corners = np.array([_in_order(mark, SQUARE * _RING_HALF_MM @ turned) for mark in marks])
    seen = np.concatenate([centres, corners.reshape(-1, 2)])

    def page_of(half: float) -> Array:
        return np.concatenate([middles, (SQUARE * half + middles[:, None]).reshape(-1, 2)])

    page = page_of(_RING_HALF_MM)
    first = homography(page, seen)
    if first is None:
        return None
    # Blur makes all rings look a little smaller or larger: their size is taken from the photo.
    try:
        own = project(np.asarray(np.linalg.inv(first), dtype=np.float64), corners) - middles[:, None]
    except np.linalg.LinAlgError:
        return None
    page = page_of(_RING_HALF_MM * float(np.clip((own * SQUARE).mean() / _RING_HALF_MM, 0.85, 1.15)))
    to_pixels = homography(page, seen)
    if to_pixels is None:
        return None
    sizes = [np.sqrt(_area(mark.corners)) for mark in marks]
    rest = project(to_pixels, page) - seen
    misfit = float(np.sqrt((rest**2).sum(axis=1).mean()) / np.mean(sizes))
    depth = np.column_stack([EDGE_MM, np.ones(4)]) @ to_pixels[2]
    if not np.isfinite(misfit) or misfit > _FIT or np.any(depth <= 0.2) or np.any(depth > 5):
        return None
    return FoundSheet(to_pixels, len(marks), misfit, _slant(to_pixels), which)


def _in_order(mark: Mark, expected: Array) -> Array:
    """A ring's corners in the order of the page's: by the marks' middles, since a ring alone looks the same in four ways."""
    own = mark.corners - mark.centre
    own = own if _signed(own) * _signed(expected) > 0 else own[::-1]
    turns = [float(((np.roll(own, k, axis=0) - expected) ** 2).sum()) for k in range(4)]
    return np.asarray(np.roll(own, int(np.argmin(turns)), axis=0) + mark.centre)


def _slant(to_pixels: Array) -> float:
    steps = project(to_pixels, np.array([[0.5, 0], [-0.5, 0], [0, 0.5], [0, -0.5]]))
    sizes = np.linalg.svd(np.column_stack([steps[0] - steps[1], steps[2] - steps[3]]), compute_uv=False)
    return float(sizes[1] / sizes[0])
