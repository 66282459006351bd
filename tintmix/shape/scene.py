"""What rays meet: the casting and what is cast into it, as Embree holds them. The only module that knows embreex."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.shape.errors import no_tracer
from tintmix.shape.smooth import CREASE_DEG, corner_normals
from tintmix.shape.solid import Solid

Floats = NDArray[np.float32]

OFFSET = 1e-6
"""How far along its way a ray begins anew after a face, by the diagonal: ten last digits of single precision. A fifth of it puts
rays back behind their own face; ten times it sends four times as many astray at edges (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scene:
    """A casting as rays see it. Lengths are in mm, places are from the middle of the casting's box, whose half is half_mm.

    name: of the casting, for errors. normals: of all triangles (F, 3), the casting's first, then the insert's, from number
    `first_of_insert` on. corners: (F, 9), of their corners, None where every face is flat. offset_mm: see OFFSET. convex:
    whether light that left never comes back.
    """

    embree: Any
    name: str
    normals: Floats
    corners: Floats | None
    first_of_insert: int
    middle_mm: NDArray[np.float64]
    half_mm: NDArray[np.float64]
    diagonal_mm: float
    offset_mm: float
    refractive_index: float
    convex: bool

    def meet(self, origins: Floats, directions: Floats) -> tuple[Floats, NDArray[np.int32], Floats, Floats]:
        """Distance, triangle (−1: none), and the two coordinates in it, of the first thing that each ray meets."""
        found = self.embree.run(origins, directions, output=1)
        return found["tfar"], found["primID"], found["u"], found["v"]

    def own(self, places_mm: NDArray[np.floating]) -> Floats:
        """Places of the mesh as the scene has them."""
        return np.ascontiguousarray(places_mm - self.middle_mm, dtype=np.float32)


def scene_of(
    casting: Solid, insert: Solid | None = None, refractive_index: float = 1.5, crease_deg: float = CREASE_DEG
) -> Scene:
    """The scene of a casting. Raises LibraryMissing where there is no embreex.

    >>> from tintmix.shape.bodies import block
    >>> scene = scene_of(block(length_mm=10, width_mm=10, height_mm=10))
    >>> at, along = scene.own(np.array([[1.0, 2.0, 20.0]])), np.array([[0, 0, -1]], dtype=np.float32)
    >>> scene.meet(at, along)[0].round(3).tolist()
    [10.0]
    """
    try:
        from embreex.mesh_construction import TriangleMesh  # here: none for some systems
        from embreex.rtcore_scene import EmbreeScene
    except ImportError:
        raise no_tracer() from None
    low, high = casting.bounds_mm
    middle = (low + high) / 2
    solids = [casting] if insert is None else [casting, insert]
    embree = EmbreeScene(robust=True)
    counts = np.cumsum([0] + [len(solid.vertices_mm) for solid in solids])
    vertices = np.concatenate([solid.vertices_mm - middle for solid in solids]).astype(np.float32)
    faces = np.concatenate([solid.faces + np.int32(counts[i]) for i, solid in enumerate(solids)])
    TriangleMesh(embree, vertices, faces)
    normals = np.concatenate([solid.normals()[0] for solid in solids]).astype(np.float32)
    corners = corner_normals(casting, crease_deg)
    if corners is not None:
        flat = np.repeat(normals[len(casting.faces) :, None, :], 3, axis=1)
        corners = np.concatenate([corners, flat]).reshape(-1, 9)
    return Scene(
        embree=embree,
        name=casting.name,
        normals=np.ascontiguousarray(normals),
        corners=corners,
        first_of_insert=len(casting.faces),
        middle_mm=middle,
        half_mm=(high - low) / 2,
        diagonal_mm=casting.diagonal_mm,
        offset_mm=OFFSET * casting.diagonal_mm,
        refractive_index=float(refractive_index),
        convex=insert is None and casting.is_convex(),
    )
