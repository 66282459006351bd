"""Normals at the corners of triangles: a curved face is smooth where its triangles meet at a small angle, an edge stays sharp.

Without them the triangles of a curved face would act as so many little mirrors.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from tintmix.shape.solid import Solid

CREASE_DEG = 30.0
"""Triangles that meet at more are an edge: above the 22.5° of a coarse round of sixteen sides, below the 45° of an octagon."""
_SAME = 1e-5
"""By how much a corner's normal may differ from its triangle's and both count as flat: 0.0006°, single precision of STL."""


def corner_normals(solid: Solid, crease_deg: float = CREASE_DEG) -> NDArray[np.float32] | None:
    """Unit normals (F, 3, 3) at each triangle's corners, or None where every face is flat.

    Corners that hang together by edges flatter than the crease share the mean of their triangles' normals, weighted by
    area, so that a wide flat face beside a narrow curved one stays flat.

    >>> from tintmix.shape.bodies import block
    >>> corner_normals(block()) is None
    True
    """
    normals, doubled = solid.normals()
    faces, across = solid.faces, solid.neighbours
    count = 3 * len(faces)
    cosine = np.einsum("fi,fei->fe", normals, normals[across])
    smooth = (cosine > np.cos(np.radians(crease_deg))) & (doubled > 0)[:, None] & (doubled[across] > 0)
    if not np.any(smooth & (cosine < 1 - _SAME**2 / 2)):
        return None
    # Edge e runs from corner e to the next: across it both of its ends are joined to those of the neighbour.
    face, edge = np.nonzero(smooth)
    other = across[face, edge]
    links = []
    for corner in (edge, (edge + 1) % 3):
        same = faces[other] == faces[face, corner][:, None]
        links.append((3 * face + corner, 3 * other + same.argmax(axis=1)))
    rows, columns = (np.concatenate([pair[i] for pair in links]).astype(np.int32) for i in (0, 1))
    graph = coo_matrix((np.ones(len(rows), np.int8), (rows, columns)), shape=(count, count))
    groups, group = connected_components(graph, directed=False)
    weighted = np.repeat(normals * doubled[:, None], 3, axis=0)
    summed = np.stack([np.bincount(group, weighted[:, i], groups) for i in range(3)], axis=1)
    size = np.linalg.norm(summed, axis=1)
    mean = (summed / np.where(size > 0, size, 1.0)[:, None])[group].reshape(-1, 3, 3)
    # Where a fold comes round to itself, as at the tip of a cone, the mean may look away from a triangle: it stays flat.
    own = normals[:, None, :]
    astray = np.einsum("fci,fci->fc", mean, np.broadcast_to(own, mean.shape)) < np.cos(np.radians(2 * crease_deg))
    return np.where(astray[..., None], own, mean).astype(np.float32)
