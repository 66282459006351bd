"""The casting's picture, traced coarse at once and then finer: for each pixel how much of what it sees has gone how far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.shape.histogram import length_bins, split
from tintmix.shape.light import Lit, surroundings
from tintmix.shape.scene import Scene
from tintmix.shape.values import PathPicture
from tintmix.shape.view import Frame, View, frame_of
from tintmix.shape.walk import BATCH, MEETINGS, MOST_FACES, Ends, check_faults, walk

Floats = NDArray[np.floating]

WIDTH = 256
COARSE = 64
"""Pixels of the longest side, of the fine picture and of the first one."""
SAMPLES = 16
_GRID = 4
"""Of a pixel's samples: each of the first sixteen lies in another sixteenth of the pixel."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Straight:
    """Straight lines along the view through the casting: resin (H, W) in mm, an insert ends it; whether each meets the casting;
    faults: lines that enter twice, or leave what they did not enter."""

    depth_mm: Floats
    meets: NDArray[np.bool_]
    faults: int


class Tracing:
    """A picture under way: `go_on` adds a sample to every pixel, `picture` is what there is so far.

    lit: "panel", "sky" or "even" (light of 1 from everywhere). seed: the same gives the same picture. bins_mm: of an earlier,
    coarser tracing. again: see `walk`.

    >>> from tintmix.shape.bodies import block
    >>> from tintmix.shape.scene import scene_of
    >>> solid = block(length_mm=50, width_mm=50, height_mm=10)
    >>> tracing = Tracing(scene_of(solid), frame_of(solid.vertices_mm, View(), 32), "panel")
    >>> tracing.go_on()
    >>> picture = tracing.picture()
    >>> round(float(picture.mean_path_mm()[16, 16]), 1), bool(abs(picture.clear()[16, 16] - 0.92) < 0.1)
    (10.0, True)
    """

    def __init__(
        self, scene: Scene, frame: Frame, lit: Lit, seed: int = 0, bins_mm: Floats | None = None, again: float = 0.5
    ) -> None:
        self.scene, self.frame, self.lit, self.seed, self.again = scene, frame, lit, seed, again
        self.bins_mm = bins_mm
        self.samples = self.rays = self.faults = 0
        self.lost = 0.0
        self._rows = 1 if scene.first_of_insert == len(scene.normals) else MEETINGS
        self._count = frame.width * frame.height
        self._weights: NDArray[np.float32] | None = None
        self._sum, self._squares, self._met = (np.zeros(self._count) for _ in range(3))
        self._straight: Straight | None = None

    def go_on(self) -> None:
        """One more sample for every pixel. Raises FileProblem where the mesh is at fault."""
        chance = np.random.Generator(np.random.SFC64([self.seed, self.samples]))
        order = np.random.Generator(np.random.SFC64([self.seed, 1 << 20, self.samples // _GRID**2])).permutation(
            _GRID**2
        )
        cell = int(order[self.samples % _GRID**2])
        light = np.zeros(self._count)
        for start in range(0, self._count, BATCH):
            pixel = np.arange(start, min(start + BATCH, self._count))
            within = chance.random((len(pixel), 2))
            if self.bins_mm is not None:
                within = (within + (cell % _GRID, cell // _GRID)) / _GRID
            across, down = pixel % self.frame.width + within[:, 0], pixel // self.frame.width + within[:, 1]
            ends = sent(self.scene, self.frame, across, down, chance, self.again)
            seen = surroundings(self.lit, ends.direction, self.frame.view) * ends.weight
            comes = np.flatnonzero(seen > 0)
            at, length, seen = ends.ray[comes] + start, ends.length_mm[comes], seen[comes]
            self._add(at, length, ends.meetings[comes], seen)
            light += np.bincount(at, seen, self._count)
            self._met[start : start + len(pixel)] += ends.met
            self.faults += ends.faults
            self.lost += float(ends.lost.sum())
        self.samples += 1
        self.rays += int(self._met.sum()) - self.rays
        check_faults(self.faults, self.rays, self.scene.name)
        self._sum += light
        self._squares += light * light

    def picture(self) -> PathPicture:
        """What was traced so far."""
        frame, straight = self.frame, self.straight()
        if self._weights is None or self.bins_mm is None:
            raise RuntimeError("go_on comes first")
        shape = (frame.height, frame.width)
        kept = np.flatnonzero(self._weights)
        pixel, bins = np.divmod(kept, self._rows * len(self.bins_mm))
        met = self._met > 0
        seen = met[pixel]
        n = max(self.samples, 1)
        spread = np.maximum(self._squares / n - (self._sum / n) ** 2, 0) / max(n - 1, 1)
        return PathPicture(
            width=frame.width,
            height=frame.height,
            pixel_mm=frame.pixel_mm,
            lengths_mm=self.bins_mm,
            pixels=pixel[seen].astype(np.int32),
            bins=bins[seen].astype(np.int16),
            weights=(self._weights[kept[seen]] / np.float32(n)).astype(np.float32),
            bare=float(surroundings(self.lit, np.array([frame.view.direction], np.float32), frame.view)[0]),
            sees=met.reshape(shape),
            straight_mm=straight.depth_mm.astype(np.float32),
            standard_error=(np.sqrt(spread) if n > 1 else np.full(self._count, np.nan)).reshape(shape),
            samples=self.samples,
            right=frame.view.right,
            down=_opposite(frame.view.up or (0.0, 0.0, 0.0)),
            corner_mm=(frame.left_mm, frame.top_mm),
        )

    def whole(self) -> NDArray[np.bool_]:
        """Pixels (H, W) of which every sample met the casting."""
        return np.asarray(self._met == self.samples).reshape(self.frame.height, self.frame.width)

    @property
    def cut_off(self) -> float:
        """Part of the light that was not followed to its end."""
        return self.lost / max(self.rays, 1)

    def straight(self) -> Straight:
        """Resin straight along the view at the middle of each pixel."""
        if self._straight is None:
            pixel = np.arange(self._count)
            across, down = pixel % self.frame.width + 0.5, pixel // self.frame.width + 0.5
            depth, meets, faults = straight_depth(self.scene, self.frame, across, down)
            check_faults(faults, int(meets.sum()), self.scene.name)
            shape = (self.frame.height, self.frame.width)
            self._straight = Straight(depth_mm=depth.reshape(shape), meets=meets.reshape(shape), faults=faults)
        return self._straight

    def _add(self, at: NDArray[np.integer], length: Floats, meetings: NDArray[np.integer], seen: Floats) -> None:
        if self.bins_mm is None:
            self.bins_mm = length_bins(length, seen, MOST_FACES * self.scene.diagonal_mm)
        bins = len(self.bins_mm)
        if self._weights is None:
            self._weights = np.zeros(self._count * self._rows * bins, np.float32)
        lower, part = split(length.astype(np.float64), self.bins_mm)
        key = (at.astype(np.int64) * self._rows + meetings) * bins + lower
        np.add.at(self._weights, key, (seen * (1 - part)).astype(np.float32))
        np.add.at(self._weights, key + 1, (seen * part).astype(np.float32))


def refine(
    scene: Scene, vertices_mm: Floats, view: View, lit: Lit, width: int = WIDTH, samples: int = SAMPLES, seed: int = 0,
    again: float = 0.5,
) -> Iterator[Tracing]:  # fmt: skip
    """The picture, coarse at once, then at full size after each sample; stop by asking for no more.

    >>> from tintmix.shape.bodies import block
    >>> from tintmix.shape.scene import scene_of
    >>> solid = block()
    >>> [(one.frame.width, one.samples) for one in refine(scene_of(solid), solid.vertices_mm, View(), "panel", 128, 2)]
    [(64, 1), (128, 1), (128, 2)]
    """
    coarse = Tracing(scene, frame_of(vertices_mm, view, min(COARSE, width)), lit, seed, again=again)
    coarse.go_on()
    yield coarse
    fine = Tracing(scene, frame_of(vertices_mm, view, width), lit, seed, coarse.bins_mm, again)
    for _ in range(samples):
        fine.go_on()
        yield fine


def sent(
    scene: Scene,
    frame: Frame,
    across: Floats,
    down: Floats,
    chance: np.random.Generator,
    again: float,
    both: bool = False,
) -> Ends:
    """Rays sent from places of the picture, in pixels."""
    origins = scene.own(frame.origins(np.asarray(across), np.asarray(down)))
    along = np.ascontiguousarray(np.broadcast_to(np.array(frame.view.direction, np.float32), origins.shape))
    return walk(scene, origins, along, chance, both, again)


def straight_depth(scene: Scene, frame: Frame, across: Floats, down: Floats) -> tuple[Floats, NDArray[np.bool_], int]:
    """Resin (N,) straight along the view, which lines meet the casting, and how many find its faces out of order."""
    depth, meets, faults = np.zeros(len(across)), np.zeros(len(across), np.bool_), 0
    for start in range(0, len(across), BATCH):
        part = slice(start, start + BATCH)
        found = _straight(scene, frame, np.asarray(across)[part], np.asarray(down)[part])
        depth[part], meets[part] = found[:2]
        faults += found[2]
    return depth, meets, faults


def _straight(scene: Scene, frame: Frame, across: Floats, down: Floats) -> tuple[Floats, NDArray[np.bool_], int]:
    at = scene.own(frame.origins(across, down))
    along = np.array(frame.view.direction, np.float32)
    depth, inside = np.zeros(len(at)), np.zeros(len(at), np.bool_)
    meets = np.zeros(len(at), np.bool_)
    last = np.full(len(at), -1, np.int32)
    ray = np.arange(len(at))
    faults, first = 0, True
    for _ in range(1000):
        distance, triangle, _, _ = scene.meet(at, np.ascontiguousarray(np.broadcast_to(along, at.shape)))
        hit = triangle >= 0
        faults += int((~hit & inside[ray]).sum())
        if first:
            meets, first = hit.copy(), False
        ray, at, distance, triangle = ray[hit], at[hit], distance[hit], triangle[hit]
        if not len(ray):
            break
        leaving = scene.normals[triangle] @ along > 0
        depth[ray] += np.where(inside[ray], distance, 0)
        same, insert = triangle == last[ray], triangle >= scene.first_of_insert
        wrong = (leaving != inside[ray]) & ~same & ~insert
        faults += int(wrong.sum())
        inside[ray] = np.where(same, inside[ray], ~leaving)
        last[ray] = triangle
        kept = ~(wrong | (insert & ~same))
        # Beyond an insert nothing is seen; beyond a fault nothing is known.
        inside[ray[~kept]] = False
        ray = ray[kept]
        at = at[kept] + along * (distance[kept] + np.float32(scene.offset_mm))[:, None]
        depth[ray] += np.where(inside[ray], scene.offset_mm, 0)
    return depth, meets, faults


def _opposite(axis: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, z = (-value + 0.0 for value in axis)
    return x, y, z
