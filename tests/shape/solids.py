"""Solids whose answers are known, for the tests."""

from __future__ import annotations

import numpy as np
import trimesh

from tintmix.shape.solid import Solid


def of_trimesh(mesh: trimesh.Trimesh, name: str = "the mesh") -> Solid:
    return Solid(vertices_mm=np.array(mesh.vertices), faces=np.array(mesh.faces), name=name)


def sphere(radius_mm: float = 30.0, subdivisions: int = 5) -> Solid:
    """20 · 4^subdivisions triangles: 20 480 for 5."""
    return of_trimesh(trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius_mm))


def wedge(leg_mm: float = 30.0, long_mm: float = 60.0) -> Solid:
    """A right-angle prism: legs along x and z from the edge at the origin, long in y, about y = 0."""
    half = long_mm / 2
    corners = np.array(
        [[0, -half, 0], [leg_mm, -half, 0], [0, -half, leg_mm], [0, half, 0], [leg_mm, half, 0], [0, half, leg_mm]]
    )
    faces = np.array([[0, 1, 2], [3, 5, 4], [0, 3, 4], [0, 4, 1], [0, 2, 5], [0, 5, 3], [1, 4, 5], [1, 5, 2]])
    return Solid(vertices_mm=corners, faces=faces)


def corner_cube(edge_mm: float = 40.0) -> Solid:
    """Three legs along the axes from the origin, and the face across."""
    corners = np.array([[0, 0, 0], [edge_mm, 0, 0], [0, edge_mm, 0], [0, 0, edge_mm]])
    return Solid(vertices_mm=corners, faces=np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))


def rays(origins: np.ndarray, direction: tuple[float, float, float]) -> np.ndarray:
    along = np.array(direction, dtype=np.float64)
    along /= np.linalg.norm(along)
    return np.ascontiguousarray(np.broadcast_to(along.astype(np.float32), origins.shape))
