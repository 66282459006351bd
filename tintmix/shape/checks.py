"""Whether a solid's faces cross each other, and whether an insert lies within the casting: edges sent as rays against faces."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tintmix.numerals import numeral
from tintmix.shape.errors import bad_insert, bad_mesh
from tintmix.shape.scene import Scene
from tintmix.shape.solid import Solid
from tintmix.shape.walk import BATCH

Floats = NDArray[np.float64]

_TRIES = 6
"""Faces that an edge may touch before the one that it goes through."""
_SHARE = 1e-4
"""Of an edge, and of a face: what is nearer to an end or a rim than that touches, and does not cross."""

_UNDER = 1e-5
"""Of the casting's diagonal: so far under an insert's faces it is asked whether they lie in the casting; ten times rounding."""


def check_uncrossed(solid: Solid, scene: Scene) -> None:
    """Raises FileProblem where an edge goes through a face that it does not touch. scene: of it alone."""
    at = _crossing(solid, solid, scene)
    if at is not None:
        raise bad_mesh(solid.name, f"it crosses itself, first near {_told(at)} mm")


def check_within(insert: Solid, casting: Solid, insert_scene: Scene, casting_scene: Scene) -> None:
    """Raises FileProblem where an insert sticks out of the casting. The scenes: of each alone."""
    low, high = casting.bounds_mm
    at = _crossing(insert, casting, casting_scene)
    at = _crossing(casting, insert, insert_scene) if at is None else at
    beyond = (insert.vertices_mm < low) | (insert.vertices_mm > high)
    if at is None and beyond.any():
        at = insert.vertices_mm[np.flatnonzero(beyond.any(axis=1))[0]]
    what = "it sticks out of the casting, or touches its faces"
    if at is None:
        # Nothing crosses, but faces may lie in each other, as where an insert fills a hollow: just under each of its faces there
        # must be casting, and no hollow may lie within it.
        under = _under_faces(insert, _UNDER * casting.diagonal_mm)
        without = np.flatnonzero(~_are_inside(under, casting_scene))
        hollows = casting.vertices_mm[_one_of_each(casting)]
        within = np.flatnonzero(_are_inside(hollows, insert_scene))
        if len(without):
            at = under[without[0]]
        elif len(within):
            at = hollows[within[0]]
        what = "it lies beside the casting, or in a hollow of its mesh"
    if at is not None:
        raise bad_insert(insert.name, f"{what}, near {_told(at)} mm")


def _crossing(of: Solid, through: Solid, scene: Scene) -> Floats | None:
    """Where an edge of one solid goes through a face of another, or of itself, of which the scene is; None where none does."""
    face, edge = np.nonzero(of.neighbours > np.arange(len(of.faces))[:, None])
    start, end = of.faces[face, edge], of.faces[face, (edge + 1) % 3]
    for begin in range(0, len(face), 4 * BATCH):
        part = slice(begin, begin + 4 * BATCH)
        a, b = of.vertices_mm[start[part]], of.vertices_mm[end[part]]
        along = b - a
        length = np.linalg.norm(along, axis=1)
        some = length > 1e-9 * of.diagonal_mm
        away = along / np.where(some, length, 1.0)[:, None]
        ray, begins = np.flatnonzero(some), np.full(int(some.sum()), _SHARE)
        for _ in range(_TRIES):
            origins = scene.own(a[ray] + along[ray] * begins[:, None])
            distance, triangle, _, _ = scene.meet(origins, np.ascontiguousarray(away[ray], dtype=np.float32))
            at = begins + distance / length[ray]
            hit = (triangle >= 0) & (at < 1)
            ray, at, met = ray[hit], at[hit], triangle[hit]
            crosses = _goes_through(a[ray], b[ray], through.vertices_mm[through.faces[met]])
            if of is through:
                own = through.faces[met]
                ends = start[part][ray][:, None], end[part][ray][:, None]
                crosses &= ~((own == ends[0]).any(axis=1) | (own == ends[1]).any(axis=1))
            if crosses.any():
                found = np.flatnonzero(crosses)[0]
                return np.asarray(a[ray[found]] + along[ray[found]] * at[found])
            # What it met it only touches, most often its own two faces: on from there.
            begins = at + _SHARE
            if not len(ray):
                break
    return None


def _goes_through(a: Floats, b: Floats, corners: Floats) -> NDArray[np.bool_]:
    """Whether segments go through triangles (N, 3, 3), in double precision, and not just to their rims (Möller and Trumbore,
    *J. Graphics Tools* 2, 21, 1997)."""
    along = b - a
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    across = np.cross(along, second)
    determinant = np.einsum("ij,ij->i", first, across)
    safe = np.where(determinant == 0, 1.0, determinant)
    from_corner = a - corners[:, 0]
    u = np.einsum("ij,ij->i", from_corner, across) / safe
    turned = np.cross(from_corner, first)
    v = np.einsum("ij,ij->i", along, turned) / safe
    t = np.einsum("ij,ij->i", second, turned) / safe
    inner = np.stack([u, v, 1 - u - v, t, 1 - t]).min(axis=0)
    return np.asarray((determinant != 0) & (inner > _SHARE))


def _are_inside(points: Floats, scene: Scene) -> NDArray[np.bool_]:
    """Whether points lie inside: the first face that is met, in a direction that no axis has, is met from behind.

    Of two directions one is enough: a ray through an edge may be told the wrong one of its two faces.
    """
    inside = np.zeros(len(points), np.bool_)
    for along in np.array([[0.36, 0.48, 0.8], [-0.8, 0.36, -0.48]], dtype=np.float32):
        left = np.flatnonzero(~inside)
        directions = np.ascontiguousarray(np.broadcast_to(along, (len(left), 3)))
        _, triangle, _, _ = scene.meet(scene.own(points[left]), directions)
        inside[left] = (triangle >= 0) & (scene.normals[triangle] @ along > 0)
    return inside


def _under_faces(solid: Solid, depth_mm: float) -> Floats:
    """A point so far under the middle of each face that has an area."""
    normals, size = solid.normals()
    middles = solid.vertices_mm[solid.faces].mean(axis=1)
    return np.asarray((middles - depth_mm * normals)[size > 0])


def _one_of_each(solid: Solid) -> NDArray[np.intp]:
    """A corner of each surface that hangs together."""
    return np.asarray(solid.faces[np.unique(solid.parts(), return_index=True)[1], 0])


def _told(at: Floats) -> str:
    return ", ".join(numeral(round(float(value), 3) + 0.0, 4) for value in at)
