"""From where a casting is looked at, and the frame of the picture."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.shape.errors import bad_view

Floats = NDArray[np.float64]
MARGIN = 2
"""Pixels left free round the casting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A parallel view. direction: the way that one looks, kept at length 1; (0, 0, −1) is from above. up: what points up in
    the picture; None: z, or y where one looks along z. Raises ValueProblem.

    >>> View(direction=(0, 0, -5)).direction, View(direction=(0, 0, -1)).right
    ((0.0, 0.0, -1.0), (1.0, 0.0, 0.0))
    """

    direction: tuple[float, float, float] = (0.0, 0.0, -1.0)
    up: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        along = np.asarray(self.direction, dtype=np.float64)
        if along.shape != (3,) or not np.all(np.isfinite(along)):
            raise bad_view("its direction is three finite numbers X,Y,Z")
        size = float(np.linalg.norm(along)) if np.abs(along).max() < 1e9 else math.inf
        if not size < 1e9:
            raise bad_view("its direction has numbers that are too large; such as 0,0,-1 looks down from above")
        if not size > 1e-9:
            raise bad_view("its direction has no length; such as 0,0,-1 looks down from above")
        along = along / size
        object.__setattr__(self, "direction", _plain(along))
        up = np.asarray((0.0, 0.0, 1.0) if self.up is None else self.up, dtype=np.float64)
        if up.shape != (3,) or not np.all(np.isfinite(up)):
            raise bad_view("what points up is three finite numbers X,Y,Z")
        across = np.cross(along, up)
        if np.linalg.norm(across) < 1e-6 * max(float(np.linalg.norm(up)), 1e-300):
            across = np.cross(along, np.array([0.0, 1.0, 0.0] if abs(along[1]) < 0.9 else [0.0, 0.0, 1.0]))
        across /= np.linalg.norm(across)
        object.__setattr__(self, "up", _plain(np.cross(across, along)))

    @property
    def right(self) -> tuple[float, float, float]:
        """What points to the right in the picture."""
        return _plain(np.cross(np.array(self.direction), np.array(self.up)))

    def axes(self) -> Floats:
        """Right, down and along, (3, 3): a point of the mesh times this, transposed, lies in the picture's own axes."""
        return np.array([self.right, -np.array(self.up), self.direction])


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A picture's pixels over a casting. left_mm, top_mm: its corner in the view's axes; start_mm: where rays begin along it.

    >>> from tintmix.shape.view import View, frame_of
    >>> frame = frame_of(np.array([[0, 0, 0], [100.0, 50.0, 10.0]]), View(), 64)
    >>> frame.width, frame.height
    (64, 34)
    """

    view: View
    width: int
    height: int
    pixel_mm: float
    left_mm: float
    top_mm: float
    start_mm: float

    def origins(self, across: NDArray[Any], down: NDArray[Any]) -> Floats:
        """Where rays begin, (N, 3) in the mesh's axes, at places of the picture in pixels, from its left and top edges."""
        own = np.empty((len(across), 3))
        own[:, 0] = self.left_mm + across * self.pixel_mm
        own[:, 1] = self.top_mm + down * self.pixel_mm
        own[:, 2] = self.start_mm
        return np.asarray(own @ self.view.axes())

    def place_of(self, point_mm: tuple[float, float, float]) -> tuple[float, float]:
        """Where a point of the mesh lies in the picture, in pixels from its left and top edges."""
        own = self.view.axes() @ np.asarray(point_mm, dtype=np.float64)
        return float((own[0] - self.left_mm) / self.pixel_mm), float((own[1] - self.top_mm) / self.pixel_mm)


def frame_of(vertices_mm: NDArray[np.floating], view: View, longest: int) -> Frame:
    """The picture of a casting from there, its longest side so many pixels."""
    own = np.asarray(vertices_mm, dtype=np.float64) @ view.axes().T
    low, high = own.min(axis=0), own.max(axis=0)
    extent = high - low
    pixel = float(max(extent[:2])) / (longest - 2 * MARGIN)
    size = [int(min(longest, np.ceil(extent[i] / pixel - 1e-9) + 2 * MARGIN)) for i in (0, 1)]
    middle = (low + high) / 2
    return Frame(
        view=view,
        width=size[0],
        height=size[1],
        pixel_mm=pixel,
        left_mm=float(middle[0] - size[0] * pixel / 2),
        top_mm=float(middle[1] - size[1] * pixel / 2),
        start_mm=float(low[2] - 0.05 * max(extent)),
    )


def _plain(values: Floats) -> tuple[float, float, float]:
    x, y, z = (float(value) + 0.0 for value in values)
    return x, y, z
