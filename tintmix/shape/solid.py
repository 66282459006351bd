"""A closed solid of triangles: what makes one, and what is wrong with a mesh that is none."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from tintmix.numerals import numeral
from tintmix.shape.errors import bad_mesh

Floats = NDArray[np.float64]
Faces = NDArray[np.int32]

MOST_TRIANGLES = 4_000_000
"""What is finer shows no more, and would take gigabytes."""
_CELLS = 2**21 - 1
"""Along the longest side: corners in one cell, half a millionth of it, are one. Single precision is a tenth of that."""
_THIN = 2e-5
"""Thickness by length: twenty times the step that a ray takes off a face."""
_FLAT = 1e-6
"""Volume by that of its box: less is a sheet, not a casting."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """A mesh whose triangles close: each edge belongs to two, which run along it in opposite ways, and look outwards.

    vertices_mm: (V, 3); faces: (F, 3), anticlockwise from outside. name: for errors. several: whether it may be more than one
    body, as inserts may. Hollows, closed surfaces that look inwards, are none. Raises FileProblem.

    >>> from tintmix.shape.bodies import block
    >>> round(block(length_mm=10, width_mm=20, height_mm=30).volume_mm3, 9)
    6000.0
    """

    vertices_mm: Floats
    faces: Faces
    name: str = "the mesh"
    several: bool = False
    volume_mm3: float = field(init=False)
    neighbours: Faces = field(init=False)

    def __post_init__(self) -> None:
        vertices, faces = _tidied(self.vertices_mm, self.faces, self.name)
        object.__setattr__(self, "vertices_mm", vertices)
        object.__setattr__(self, "faces", faces)
        object.__setattr__(self, "neighbours", _neighbours(vertices, faces, self.name))
        volumes = self._volumes()
        object.__setattr__(self, "volume_mm3", float(volumes.sum()))
        low, high = self.bounds_mm
        if abs(self.volume_mm3) <= _FLAT * float(np.prod(high - low)):
            raise bad_mesh(self.name, "its triangles hold no volume: it is flat, or half of it is inside out")
        bodies = int((volumes > 0).sum())
        if self.volume_mm3 < 0 or bodies == 0:
            inside_out = "it is inside out: its triangles look inwards"
            crossed = "it crosses itself, so far that more of it is inside out than not"
            raise bad_mesh(self.name, inside_out if self._looks_inwards() else crossed)
        if bodies > 1 and not self.several:
            raise bad_mesh(self.name, f"it holds {bodies} bodies, and a casting is one")

    @property
    def bounds_mm(self) -> tuple[Floats, Floats]:
        """The least and the greatest x, y, z."""
        return self.vertices_mm.min(axis=0), self.vertices_mm.max(axis=0)

    @property
    def diagonal_mm(self) -> float:
        """Of its box."""
        low, high = self.bounds_mm
        return float(np.linalg.norm(high - low))

    def normals(self) -> tuple[Floats, Floats]:
        """Unit normals (F, 3), outwards, zero where a triangle has no area; and twice the areas (F,)."""
        a, b, c = (self.vertices_mm[self.faces[:, i]] for i in range(3))
        cross = np.cross(b - a, c - a)
        size = np.linalg.norm(cross, axis=1)
        return cross / np.where(size > 0, size, 1.0)[:, None], size

    def is_convex(self) -> bool:
        """Whether light that left it never meets it again: at every edge the neighbour's far corner lies below."""
        if np.ptp(self.parts()) > 0:
            return False
        normals, _ = self.normals()
        corner = self.vertices_mm[self.faces[:, 0]]
        # Most that are not show it in the first thousand triangles.
        for some in (slice(0, 1000), slice(None)):
            other = self.neighbours[some]
            height = max(
                float(
                    np.max(
                        np.einsum(
                            "ij,ij->i", self.vertices_mm[self.faces[other[:, i], j]] - corner[some], normals[some]
                        )
                    )
                )
                for i in range(3)
                for j in range(3)
            )
            if height > 1e-9 * self.diagonal_mm:
                return False
        return True

    def parts(self) -> NDArray[np.int32]:
        """Which of the surfaces that hang together each triangle belongs to (F,)."""
        count = len(self.faces)
        rows = np.repeat(np.arange(count, dtype=np.int32), 3)
        graph = coo_matrix((np.ones(3 * count, np.int8), (rows, self.neighbours.ravel())), shape=(count, count))
        return np.asarray(connected_components(graph, directed=False)[1])

    def _looks_inwards(self) -> bool:
        """Whether its triangles look inwards wherever it reaches farthest along an axis. Nothing lies beyond these, so that the
        flattest triangle there tells which side is out; in a surface that crosses itself, not all of them look one way."""
        normals, size = self.normals()
        for axis in range(3):
            for way in (1, -1):
                farthest = np.argmax(way * self.vertices_mm[:, axis])
                around = (self.faces == farthest).any(axis=1) & (size > 0)
                facing = way * normals[around, axis]
                if facing[np.argmax(np.abs(facing))] > 0:
                    return False
        return True

    def _volumes(self) -> Floats:
        """Signed volume of each surface that hangs together, Σ a·(b × c)/6 about the middle of the box."""
        low, high = self.bounds_mm
        vertices = self.vertices_mm - (low + high) / 2
        a, b, c = (vertices[self.faces[:, i]] for i in range(3))
        return np.asarray(np.bincount(self.parts(), np.einsum("ij,ij->i", a, np.cross(b, c)) / 6), dtype=np.float64)


def _tidied(vertices: Floats, faces: Faces, name: str) -> tuple[Floats, Faces]:
    """Vertices of one place are one, triangles with two corners in one place go."""
    vertices, faces = np.asarray(vertices, dtype=np.float64), np.asarray(faces)
    if len(faces) == 0 or len(vertices) == 0:
        raise bad_mesh(name, "it holds no triangles")
    if len(faces) > MOST_TRIANGLES:
        raise bad_mesh(name, f"it holds {len(faces)} triangles; up to {numeral(MOST_TRIANGLES)} are read")
    if vertices.ndim != 2 or vertices.shape[1] != 3 or not np.all(np.isfinite(vertices)):
        raise bad_mesh(name, "it has corners that are no finite numbers")
    if faces.ndim != 2 or faces.shape[1] != 3 or faces.min() < 0 or faces.max() >= len(vertices):
        raise bad_mesh(name, "it has triangles whose corners are not there")
    extent = vertices.max(axis=0) - vertices.min(axis=0)
    if extent.max() == 0:
        raise bad_mesh(name, "all its corners are in one place")
    if extent.min() <= _THIN * extent.max():
        raise bad_mesh(name, "it is flat: in one direction it has no thickness that light could be traced in")
    # Corners that a program wrote twice with other last digits are one.
    grid = np.round((vertices - vertices.min(axis=0)) * (_CELLS / float(extent.max()))).astype(np.int64)
    key = (grid[:, 0] << 42) | (grid[:, 1] << 21) | grid[:, 2]
    _, first, same = np.unique(key, return_index=True, return_inverse=True)
    faces = same.reshape(-1)[faces].astype(np.int32)
    a, b, c = faces.T
    whole = (a != b) & (b != c) & (c != a)
    if not whole.any():
        raise bad_mesh(name, "none of its triangles has an area")
    return np.ascontiguousarray(vertices[first]), np.ascontiguousarray(faces[whole])


def _neighbours(vertices: Floats, faces: Faces, name: str) -> Faces:
    """The triangle across each edge (F, 3), edge i from corner i to the next. Raises FileProblem where it does not close."""
    count = np.int64(len(vertices))
    start = faces.astype(np.int64).ravel()
    end = np.roll(faces, -1, axis=1).astype(np.int64).ravel()
    forward, backward = start * count + end, end * count + start
    order = np.argsort(forward, kind="stable")
    ordered = forward[order]
    at = np.minimum(np.searchsorted(ordered, backward), len(ordered) - 1)
    paired = ordered[at] == backward
    twice = ordered[1:] == ordered[:-1]
    if not paired.all() or twice.any():
        undirected = np.minimum(forward, backward)
        _, inverse, shared = np.unique(undirected, return_inverse=True, return_counts=True)
        raise _does_not_close(vertices, faces, shared[inverse.reshape(-1)], name)
    return (order[at] // 3).reshape(-1, 3).astype(np.int32)


def _does_not_close(vertices: Floats, faces: Faces, shared: NDArray[np.integer], name: str) -> Exception:
    """Why: edges of one triangle alone, edges of more than two, or triangles that look in different ways."""

    def near(which: NDArray[np.bool_]) -> str:
        found = np.flatnonzero(which)[0]
        point = vertices[faces[found // 3, found % 3]]
        return ", ".join(numeral(value, 4) for value in point)

    if (lone := shared == 1).any():
        count = int(lone.sum())
        edges = "1 edge belongs" if count == 1 else f"{count} edges belong"
        return bad_mesh(name, f"it is open: {edges} to one triangle only, the first near {near(lone)} mm")
    if (more := shared > 2).any():
        what = f"its walls touch: more than two triangles meet in an edge near {near(more)} mm"
        return bad_mesh(name, what)
    what = "some of its triangles look inwards and others outwards, so that it has no inside"
    return bad_mesh(name, what)
