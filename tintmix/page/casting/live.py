"""Castings at hand: meshes read, scenes built, and pictures under way, so that a turn of the hand is answered at once."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

import numpy as np

from tintmix.desk import shape as desk
from tintmix.page.casting.wish import Body, Casting, Insert, Seen
from tintmix.page.values import to_table
from tintmix.page.workspace import Workspace
from tintmix.shape import bodies
from tintmix.shape.mesh_file import Mesh, mesh_from
from tintmix.shape.picture import SAMPLES, Tracing
from tintmix.shape.solid import Solid
from tintmix.shape.values import MeshOf, PathPicture
from tintmix.shape.view import View

KEEP_CASTINGS, KEEP_VIEWS = 2, 3
"""At hand at once: a mesh of a million triangles takes some hundred megabytes, a picture ten."""
_MAKERS: Mapping[str, Callable[..., Solid]] = {
    "prism": bodies.deck_prism,
    "block": bodies.block,
    "lens": bodies.lens,
    "bowl": bodies.bowl,
}


@dataclass(slots=True)
class Picture:
    """A picture under way, from one view; for many threads."""

    key: str
    casting: desk.Casting
    tracing: Tracing
    _steps: Iterator[Tracing]
    _is_coarse: bool = True
    _mutex: threading.Lock = field(default_factory=threading.Lock)

    @property
    def samples(self) -> int:
        """A pixel of the fine picture; 0 while it is the coarse one."""
        return 0 if self._is_coarse else self.tracing.samples

    def shown(self) -> PathPicture:
        """What there is so far."""
        with self._mutex:
            return self.tracing.picture()

    def step(self, samples: int) -> bool:
        """One more sample, where it has fewer than these; whether it has them now. Raises FileProblem."""
        with self._mutex:
            if self.samples < min(samples, SAMPLES):
                self.tracing = next(self._steps)
                self._is_coarse = False
            return self.samples >= min(samples, SAMPLES)


class Castings:
    """The last few castings and views of a page; for many threads.

    >>> from tintmix.page.casting.wish import DEFAULT
    >>> import tempfile, pathlib
    >>> castings = Castings()
    >>> picture = castings.picture(Workspace(pathlib.Path(tempfile.mkdtemp())), DEFAULT, DEFAULT.seen, 1.5)
    >>> picture.tracing.frame.width, picture.samples
    (64, 0)
    """

    def __init__(self) -> None:
        self._mutex = threading.Lock()
        self._castings: dict[str, desk.Casting] = {}
        self._pictures: dict[str, Picture] = {}
        self._newest = ""

    def casting(self, workspace: Workspace, wish: Casting, refractive_index: float) -> desk.Casting:
        """A casting ready to be traced. Raises what is wrong with its mesh, its sizes or its insert, and LibraryMissing."""
        key = _key(wish.body, wish.insert, refractive_index)
        with self._mutex:
            found = self._castings.get(key)
        if found is None:
            insert = wish.insert
            found = desk.casting_of(
                mesh_of(workspace, wish.body),
                None if insert is None else insert_mesh_of(workspace, insert, mesh_of(workspace, wish.body).solid),
                None if insert is None else insert.srgb,
                refractive_index,
            )
        with self._mutex:
            _put(self._castings, key, found, KEEP_CASTINGS)
        return found

    def picture(self, workspace: Workspace, wish: Casting, seen: Seen, refractive_index: float) -> Picture:
        """Its picture from a view, the coarse one at first; no other is refined any further. Raises what `casting` raises, and
        FileProblem."""
        key = _key(wish.body, wish.insert, refractive_index, seen)
        with self._mutex:
            self._newest = key
            found = self._pictures.get(key)
        if found is None:
            casting = self.casting(workspace, wish, refractive_index)
            looks, up = seen.axes
            steps = desk.traced(casting, View(direction=looks, up=up), seen.lit)
            found = Picture(key, casting, next(steps), steps)
        with self._mutex:
            _put(self._pictures, key, found, KEEP_VIEWS)
        return found

    def rest(self) -> None:
        """Refine no picture any further."""
        self._newest = ""

    def refined(
        self, workspace: Workspace, wish: Casting, seen: Seen, refractive_index: float, samples: int
    ) -> Picture:
        """The same with so many samples, or fewer where another view was asked for meanwhile."""
        found = self.picture(workspace, wish, seen, refractive_index)
        while not found.step(samples) and self._newest == found.key:
            pass
        return found


def mesh_of(workspace: Workspace, body: Body) -> Mesh:
    """The mesh of a body that is made here, or that was uploaded. Raises what is wrong with it."""
    if body.kind == "mesh":
        return mesh_from(workspace.file(body.thing).read_bytes(), body.name, body.unit)
    return _made(_MAKERS[body.kind](**(body.sizes_mm or {})))


def insert_mesh_of(workspace: Workspace, insert: Insert, casting: Solid) -> Mesh:
    """The mesh of what is cast in; a ring lies level about the middle of the casting's box. Raises what is wrong with it."""
    body = insert.body
    if body.kind == "mesh":
        return mesh_from(workspace.file(body.thing).read_bytes(), body.name, body.unit, several=True)
    sizes = dict(body.sizes_mm or {})
    low, high = casting.bounds_mm
    x, y = (low[:2] + high[:2]) / 2
    middle = (float(x), float(y), float(high[2]) - sizes.pop("under_mm"))
    return _made(bodies.ring(**sizes, middle_mm=middle))


def _made(solid: Solid) -> Mesh:
    low, high = solid.bounds_mm
    of = MeshOf(
        file=solid.name,
        sha256=sha256(solid.vertices_mm.tobytes() + solid.faces.tobytes()).hexdigest(),
        unit="mm",
        triangles=len(solid.faces),
        watertight=True,
        volume_cm3=solid.volume_mm3 / 1000,
        bounds_mm=(_three(low), _three(high)),
    )
    return Mesh(solid=solid, of=of)


def _three(values: np.ndarray[Any, Any]) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _key(*parts: Any) -> str:
    return json.dumps([to_table(part) for part in parts], sort_keys=True)


def _put(kept: dict[str, Any], key: str, value: Any, most: int) -> None:
    """Newest last."""
    kept.pop(key, None)
    kept[key] = value
    while len(kept) > most:
        del kept[next(iter(kept))]
