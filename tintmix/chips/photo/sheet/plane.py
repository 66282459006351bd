"""A flat sheet seen by a camera: projective maps between its points and pixels."""

from __future__ import annotations

import numpy as np

from tintmix.optics.spectrum import Array

SQUARE: Array = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
"""The corners of a square round the origin, clockwise from the top left, y down, as corners are everywhere here."""
SQUARE.setflags(write=False)


def homography(page: Array, seen: Array) -> Array | None:
    """The projective map (3, 3) that takes page points (N, 2) nearest to the seen ones, the depth of the page's middle being 1.

    Direct linear transform on centred, scaled points (Hartley & Zisserman, Multiple View Geometry, 2nd ed., §4.4).
    """
    a, b = _centred(page), _centred(seen)
    p = np.column_stack([page, np.ones(len(page))]) @ a.T
    q = np.column_stack([seen, np.ones(len(seen))]) @ b.T
    zero = np.zeros_like(p)
    rows = np.concatenate(
        [np.column_stack([p, zero, -q[:, :1] * p]), np.column_stack([zero, p, -q[:, 1:2] * p])], axis=0
    )
    try:
        solved = np.linalg.svd(rows)[2][-1].reshape(3, 3)
        out = np.linalg.inv(b) @ solved @ a
        depth = out[2] @ np.array([*page.mean(axis=0), 1.0])
    except np.linalg.LinAlgError:
        return None
    if abs(depth) < 1e-12 or not np.all(np.isfinite(out)):
        return None
    return np.asarray(out / depth)


def _centred(points: Array) -> Array:
    middle = points.mean(axis=0)
    scale = np.sqrt(2) / max(float(np.sqrt(((points - middle) ** 2).sum(axis=1)).mean()), 1e-12)
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1.0]])


def project(to_pixels: Array, points: Array) -> Array:
    """Points (…, 2) through a projective map (3, 3)."""
    x, y = points[..., 0], points[..., 1]
    m = to_pixels
    with np.errstate(divide="ignore", invalid="ignore"):
        depth = m[2, 0] * x + m[2, 1] * y + m[2, 2]
        return np.stack(
            [(m[0, 0] * x + m[0, 1] * y + m[0, 2]) / depth, (m[1, 0] * x + m[1, 1] * y + m[1, 2]) / depth], axis=-1
        )
