"""Castings made here, for those who have no mesh: a deck prism, a block, a lens, a bowl, and a ring to cast in. In mm, z up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tintmix.numerals import numeral
from tintmix.quantities import BODY_MM
from tintmix.shape.errors import bad_size
from tintmix.shape.solid import Solid

Floats = NDArray[np.float64]

ROUND = 192
"""Sides of what is round: 1.9° each, of which the tracer makes a smooth face, 0.01 % short of the circle in area."""


def deck_prism(
    *, across_mm: float = 90.0, flange_mm: float = 8.0, point_across_mm: float = 60.0, depth_mm: float = 60.0
) -> Solid:
    """A hexagonal deck prism: a flange, its top at z = 0, and under it a pyramid.

    across_mm, point_across_mm: of flange and pyramid, from flat to flat; depth_mm: from the top to the point.

    >>> prism = deck_prism()
    >>> len(prism.faces), round(prism.volume_mm3 / 1000, 2)
    (36, 110.16)
    """
    _sizes(across_mm=across_mm, flange_mm=flange_mm, point_across_mm=point_across_mm, depth_mm=depth_mm)
    if point_across_mm >= across_mm:
        raise bad_size("the pyramid", f"{numeral(point_across_mm)} mm across", "narrower than the flange")
    if depth_mm <= flange_mm:
        raise bad_size("the depth", f"{numeral(depth_mm)} mm", "more than the flange's thickness")
    turn = np.arange(6) * np.pi / 3
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) / np.sqrt(3)
    wide, narrow = ring * across_mm, ring * point_across_mm
    corners = np.concatenate([
        _at(wide, 0.0), _at(wide, -flange_mm), _at(narrow, -flange_mm), [[0.0, 0.0, -depth_mm], [0.0, 0.0, 0.0]],
    ])  # fmt: skip
    faces: list[tuple[int, int, int]] = []
    for i in range(6):
        j = (i + 1) % 6
        faces += [(19, i, j), (i, 6 + i, 6 + j), (i, 6 + j, j)]
        faces += [(6 + i, 12 + i, 12 + j), (6 + i, 12 + j, 6 + j), (12 + i, 18, 12 + j)]
    return Solid(vertices_mm=corners, faces=np.array(faces, dtype=np.int32), name="the prism")


def block(*, length_mm: float = 60.0, width_mm: float = 40.0, height_mm: float = 20.0) -> Solid:
    """A block: x, y, z. Its base at z = 0.

    >>> block(length_mm=10, width_mm=10, height_mm=10).faces.shape
    (12, 3)
    """
    _sizes(length_mm=length_mm, width_mm=width_mm, height_mm=height_mm)
    x, y = length_mm / 2, width_mm / 2
    ring = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    corners = np.concatenate([_at(ring, 0.0), _at(ring, height_mm)])
    faces = [(0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)]
    for i in range(4):
        j = (i + 1) % 4
        faces += [(i, j, 4 + j), (i, 4 + j, 4 + i)]
    return Solid(vertices_mm=corners, faces=np.array(faces, dtype=np.int32), name="the block")


def lens(*, across_mm: float = 60.0, middle_mm: float = 15.0, edge_mm: float = 3.0, flat_below: bool = True) -> Solid:
    """A lens thicker in its middle, with spherical faces, or a flat one below (at z = 0) and a spherical one above.

    >>> flat = lens(across_mm=60.0, middle_mm=15.0, edge_mm=3.0)
    >>> cap = np.pi * 12 * (3 * 30**2 + 12**2) / 6
    >>> abs(flat.volume_mm3 / (cap + np.pi * 30**2 * 3) - 1) < 1e-3
    True
    """
    _sizes(across_mm=across_mm, middle_mm=middle_mm, edge_mm=edge_mm)
    if middle_mm <= edge_mm:
        raise bad_size("the lens's middle", f"{numeral(middle_mm)} mm", "thicker than its edge")
    rise = (middle_mm - edge_mm) / (1 if flat_below else 2)
    radius = across_mm / 2
    if rise > radius:
        raise bad_size("the lens's middle", f"{numeral(middle_mm)} mm", "less, or the lens wider")
    curve = (radius**2 + rise**2) / (2 * rise)
    # From the axis to the rim, evenly along the arc.
    reach = 2 * np.arctan2(rise, radius)
    angle = np.linspace(0.0, reach, max(12, int(np.ceil(reach / np.radians(1.5)))))
    out, up = curve * np.sin(angle), curve * (np.cos(angle) - np.cos(reach))
    out[-1], up[-1] = radius, 0.0
    top = np.stack([out, edge_mm + up], axis=1)
    below = np.array([[0.0, 0.0], [radius, 0.0]]) if flat_below else np.stack([out, -up], axis=1)
    return revolved(np.concatenate([below, top[::-1]]), name="the lens")


def bowl(*, across_mm: float = 100.0, height_mm: float = 50.0, wall_mm: float = 6.0) -> Solid:
    """A bowl, a half ellipsoid outside and inside, its rim at z = height.

    >>> half = bowl(across_mm=100.0, height_mm=50.0, wall_mm=6.0)
    >>> abs(half.volume_mm3 / (2 / 3 * np.pi * (50**3 - 44**3)) - 1) < 1e-3
    True
    """
    _sizes(across_mm=across_mm, height_mm=height_mm, wall_mm=wall_mm)
    if wall_mm >= 0.9 * min(across_mm / 2, height_mm):
        raise bad_size(
            "the bowl's wall", f"{numeral(wall_mm)} mm", "thinner than nine tenths of its height and half width"
        )
    angle = np.linspace(0.0, np.pi / 2, 61)
    sine, cosine = np.sin(angle), np.cos(angle)
    sine[-1], cosine[-1] = 1.0, 0.0
    outer = np.stack([across_mm / 2 * sine, height_mm * (1 - cosine)], axis=1)
    inner = np.stack([(across_mm / 2 - wall_mm) * sine, height_mm - (height_mm - wall_mm) * cosine], axis=1)
    return revolved(np.concatenate([outer, inner[::-1]]), name="the bowl")


def ring(
    *,
    across_mm: float = 40.0,
    wide_mm: float = 4.0,
    high_mm: float = 4.0,
    middle_mm: tuple[float, float, float] = (0, 0, 0),
) -> Solid:
    """A ring of rectangular section, to be cast in: across_mm from outside to outside, about its middle.

    >>> band = ring(across_mm=40.0, wide_mm=4.0, high_mm=4.0)
    >>> abs(band.volume_mm3 / (np.pi * (20**2 - 16**2) * 4) - 1) < 1e-3
    True
    """
    _sizes(across_mm=across_mm, wide_mm=wide_mm, high_mm=high_mm)
    if 2 * wide_mm >= across_mm:
        raise bad_size("the ring's band", f"{numeral(wide_mm)} mm wide", "less than half of the ring")
    outer, inner, half = across_mm / 2, across_mm / 2 - wide_mm, high_mm / 2
    section = [[inner, -half], [outer, -half], [outer, half], [inner, half], [inner, -half]]
    return revolved(np.array(section), middle_mm=middle_mm, name="the ring")


def revolved(
    section: ArrayLike, *, middle_mm: tuple[float, float, float] = (0, 0, 0), sides: int = ROUND, name: str = "the body"
) -> Solid:
    """A section (R, 2) of radius and z turned round the z axis: from the axis to the axis, or back to its first point,
    its inside on the left hand.

    >>> cone = revolved([[0, 0], [10, 0], [0, 20]])
    >>> abs(cone.volume_mm3 / (np.pi * 10**2 * 20 / 3) - 1) < 1e-3
    True
    """
    points = np.asarray(section, dtype=np.float64)
    turn = np.arange(sides) * 2 * np.pi / sides
    corners = np.empty((len(points), sides, 3))
    corners[..., 0] = points[:, :1] * np.cos(turn)
    corners[..., 1] = points[:, :1] * np.sin(turn)
    corners[..., 2] = points[:, 1:]
    at = np.arange(len(points) * sides).reshape(len(points), sides)
    a, b = at[:-1], at[1:]
    c, d = np.roll(b, -1, axis=1), np.roll(a, -1, axis=1)
    faces = np.concatenate([np.stack([a, c, b], axis=-1).reshape(-1, 3), np.stack([a, d, c], axis=-1).reshape(-1, 3)])
    return Solid(vertices_mm=corners.reshape(-1, 3) + np.asarray(middle_mm), faces=faces, name=name)


def _at(ring: Floats, height: float) -> Floats:
    return np.column_stack([ring, np.full(len(ring), height)])


def _sizes(**sizes_mm: float) -> None:
    for name, size in sizes_mm.items():
        if not BODY_MM.holds(size):
            raise bad_size(name.removesuffix("_mm").replace("_", " "), f"{numeral(float(size))} mm", "0.1 to 1000 mm")
