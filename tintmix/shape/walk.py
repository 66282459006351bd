"""Light followed from the eye through a casting: refraction, partial and total reflection, face after face.

Unpolarised light, smooth faces (Fresnel; Hecht, *Optics*, §4.6), an insert that reflects alike in all directions. A path
is followed backwards, which changes nothing in its length and weight. A batch of rays at a time, in single precision.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.shape.errors import bad_mesh, bad_view
from tintmix.shape.scene import Scene

Floats = NDArray[np.float32]
Whole = NDArray[np.int32]

MOST_FACES = 32
"""Faces that a path meets at most; what is left then is counted."""
MEETINGS = 3
"""Paths are told apart by whether they met the insert never, once, or twice."""
MOST_FAULTS = 0.001
"""Part of the paths that may find themselves on the wrong side of a face, by rounding at an edge; more is a fault of the mesh."""
_FEW_FAULTS = 3
"""So many are none, however few the rays: one goes straight through a corner where many triangles meet."""
BATCH = 32_768
"""Rays at once: their arrays stay in the cache (measured: half and twice as many are slower)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ends:
    """Where paths ended: N of them.

    ray: (N,) which of the rays that were sent; length_mm: in resin; meetings: with the insert, 0, 1, or 2 and more; weight: what
    faces left of the light; direction: (N, 3), as they go away. lost: for each ray sent, the weight that the limit of faces, or
    an edge, swallowed. faults: paths lost at an edge; met: for each ray sent, whether it met the casting.
    """

    ray: Whole
    length_mm: Floats
    meetings: NDArray[np.int8]
    weight: Floats
    direction: Floats
    lost: NDArray[np.float64]
    faults: int
    met: NDArray[np.bool_]


class _State:
    """Paths under way."""

    __slots__ = ("along", "at", "inside", "last", "length", "meetings", "ray", "weight")

    def __init__(self, at: Floats, along: Floats, ray: Whole) -> None:
        count = len(at)
        self.at, self.along, self.ray = at, along, ray
        self.length = np.zeros(count, np.float32)
        self.weight = np.ones(count, np.float32)
        self.inside = np.zeros(count, np.bool_)
        self.meetings = np.zeros(count, np.int8)
        self.last = np.full(count, -1, np.int32)

    def only(self, which: NDArray[np.intp]) -> _State:
        made = _State.__new__(_State)
        for name in _State.__slots__:
            setattr(made, name, getattr(self, name).take(which, axis=0, mode="clip"))
        return made


def walk(
    scene: Scene,
    origins: Floats,
    directions: Floats,
    chance: np.random.Generator,
    both: bool = False,
    again: float = 0.5,
    faces: int = MOST_FACES,
) -> Ends:
    """Follow rays (N, 3) that begin outside, in the scene's axes, directions of length 1.

    At the first face both ways are followed with their weights, later one way by chance; both: always both ways. again: the
    insert's reflectance, taken for the third meeting with it and later ones. Raises ValueProblem where most rays begin inside.

    >>> from tintmix.shape.bodies import block
    >>> from tintmix.shape.scene import scene_of
    >>> scene = scene_of(block(length_mm=50, width_mm=50, height_mm=10))
    >>> down = np.array([[0, 0, -1]], dtype=np.float32)
    >>> ends = walk(scene, scene.own(np.array([[3.0, 2.0, 20.0]])), down, np.random.default_rng(0), both=True)
    >>> through = ends.direction[:, 2] < 0
    >>> round(float(ends.weight[through].sum()), 5), round(float(ends.length_mm[through].min()), 3)
    (0.92308, 10.0)
    """
    done: list[tuple[Floats, ...]] = []
    lost = np.zeros(len(origins))
    met = np.zeros(len(origins), np.bool_)
    faults = 0
    state = _State(
        np.array(origins, np.float32), np.asarray(directions, np.float32), np.arange(len(origins), dtype=np.int32)
    )
    for step in range(faces + 1):
        if not len(state.ray):
            break
        distance, triangle, u, v = scene.meet(state.at, state.along)
        gone = triangle < 0
        if gone.any():
            leaving = np.flatnonzero(gone & ~state.inside)
            done.append(_end(state, leaving))
            astray = np.flatnonzero(gone & state.inside)
            faults += len(astray)
            _lose(lost, state, astray)
            kept = np.flatnonzero(~gone)
            state = state.only(kept)
            distance, triangle, u, v = distance[kept], triangle[kept], u[kept], v[kept]
        if step == 0:
            met[state.ray] = True
        if step == faces:
            _lose(lost, state, np.arange(len(state.ray)))
            break
        state, out, wrong = _at_faces(scene, state, distance, triangle, u, v, chance, step == 0, both, again)
        if wrong is not None and len(wrong.ray):
            # Few are rays through a corner, or a fault of the mesh, as later on.
            if step == 0 and len(wrong.ray) > max(int(met.sum()) / 2, _FEW_FAULTS):
                raise bad_view("it begins inside the casting")
            faults += len(wrong.ray)
            _lose(lost, wrong, np.arange(len(wrong.ray)))
        done += [_end(part, slice(None)) for part in out]
    ray, length, meetings, weight, direction = (
        np.concatenate([one[i] for one in done]) if done else np.zeros((0, 3) if i == 4 else 0, np.float32)
        for i in range(5)
    )
    return Ends(
        ray=ray.astype(np.int32, copy=False),
        length_mm=length,
        meetings=meetings.astype(np.int8, copy=False),
        weight=weight,
        direction=direction,
        lost=lost,
        faults=faults,
        met=met,
    )


def check_faults(faults: int, rays: int, name: str) -> None:
    """Raises FileProblem where too many paths found themselves on the wrong side of a face."""
    if faults > max(MOST_FAULTS * rays, _FEW_FAULTS):
        what = f"of {rays} rays of light {faults} found no way out, or came from outside where inside should be"
        raise bad_mesh(name, f"{what}: its faces cross, or leave a gap")


def _joined(parts: list[_State]) -> _State:
    some = [part for part in parts if len(part.ray)] or parts[:1]
    if len(some) == 1:
        return some[0]
    made = _State.__new__(_State)
    for name in _State.__slots__:
        setattr(made, name, np.concatenate([getattr(part, name) for part in some]))
    return made


def _end(state: _State, which: NDArray[np.intp] | slice) -> tuple[Floats, ...]:
    return tuple(getattr(state, name)[which] for name in ("ray", "length", "meetings", "weight", "along"))


def _lose(lost: NDArray[np.float64], state: _State, which: NDArray[np.intp]) -> None:
    np.add.at(lost, state.ray[which], state.weight[which])


def _at_faces(
    scene: Scene,
    state: _State,
    distance: Floats,
    triangle: Whole,
    u: Floats,
    v: Floats,
    chance: np.random.Generator,
    first: bool,
    both: bool,
    again: float,
) -> tuple[_State, list[_State], _State | None]:
    """What becomes of paths at the faces that they meet: those that go on, those that left for good, those gone astray."""
    at, along = state.at, state.along
    at += along * distance[:, None]
    state.length += np.where(state.inside, distance, np.float32(0))
    face = scene.normals.take(triangle, axis=0, mode="clip")
    cosine = np.einsum("ij,ij->i", along, face)
    at_insert = triangle >= scene.first_of_insert
    # A flat triangle is never met twice running: rounding had left the ray on its old side.
    same = triangle == state.last
    wrong = ((cosine > 0) != state.inside) & ~same
    if scene.first_of_insert < len(scene.normals):
        wrong = np.where(at_insert, ~state.inside | (cosine > 0), wrong & ~at_insert) & ~same
    special = same | wrong | at_insert
    astray: _State | None = None
    slow: list[_State] = []
    if special.any():
        astray = state.only(np.flatnonzero(wrong))
        slow = _slow(scene, state, face, triangle, same, at_insert & ~wrong & ~same, chance, again)
        kept = np.flatnonzero(~special)
        state = state.only(kept)
        at, along, face, cosine = state.at, state.along, face[kept], cosine[kept]
        triangle, u, v = triangle[kept], u[kept], v[kept]
    normal, facing = face, cosine
    if scene.corners is not None:
        normal, facing = _smooth(scene.corners.take(triangle, axis=0, mode="clip"), u, v, along, face, cosine)
    reflectance, scale, bend = _fresnel(facing, state.inside, np.float32(scene.refractive_index))
    state.last = triangle
    two = 2 * facing
    index = scene.refractive_index
    if first or both:
        # Both ways: a copy reflected, and the rest refracted.
        other = state.only(np.arange(len(reflectance)))
        other.weight *= reflectance
        _turn(scene, other, normal, face, np.float32(1), -two, index)
        state.weight *= 1 - reflectance
        through = np.flatnonzero(reflectance < 1)
        if len(through) < len(reflectance):
            state, normal, face = state.only(through), normal[through], face[through]
            scale, bend = scale[through], bend[through]
        state.inside = ~state.inside
        _turn(scene, state, normal, face, scale, bend, index)
        parts = [state, other]
    else:
        goes_back = chance.random(len(reflectance), dtype=np.float32) < reflectance
        state.inside ^= ~goes_back
        scale[goes_back] = 1
        _turn(scene, state, normal, face, scale, np.where(goes_back, -two, bend), index)
        parts = [state]
    out = []
    if scene.convex:
        # What left a convex casting never meets it again.
        sides = [(part, part.inside.all(), part.inside.any()) for part in parts]
        out = [part.only(np.flatnonzero(~part.inside)) if some else part for part, every, some in sides if not every]
        parts = [part if every else part.only(np.flatnonzero(part.inside)) for part, every, some in sides if some]
    parts += slow
    return _joined(parts) if parts else state.only(np.zeros(0, np.intp)), out, astray


def _turn(
    scene: Scene, state: _State, normal: Floats, face: Floats, scale: Floats | np.float32, bend: Floats, index: float
) -> None:
    """New directions, scale · old + bend · normal, and a step away from the face."""
    along = state.along * (scale[:, None] if isinstance(scale, np.ndarray) else scale)
    along += normal * bend[:, None]
    if normal is not face:
        # An interpolated normal may send a ray to the other side of the flat triangle: there the triangle's own holds.
        side = np.einsum("ij,ij->i", along, face)
        astray = np.flatnonzero((side < 0) != state.inside)
        if len(astray):
            along[astray], state.inside[astray] = _by_face(
                state.along[astray], face[astray], state.inside[astray], index
            )
    state.along = along
    step = np.float32(scene.offset_mm)
    state.at += along * step
    state.length += np.where(state.inside, step, np.float32(0))


def _by_face(along: Floats, face: Floats, inside: NDArray[np.bool_], index: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Directions by the triangle's own normal, for rays that end up inside or not as said; but where it reflects totally."""
    cosine = np.einsum("ij,ij->i", along, face)
    came_inside = cosine > 0
    _, scale, bend = _fresnel(cosine, came_inside, np.float32(index))
    total = bend == 0
    reflected = (came_inside == inside) | total
    scale, bend = np.where(reflected, np.float32(1), scale), np.where(reflected, -2 * cosine, bend)
    made = along * scale[:, None] + face * bend[:, None]
    return np.asarray(made, dtype=np.float32), np.where(reflected, came_inside, inside)


def _smooth(
    corners: Floats, u: Floats, v: Floats, along: Floats, face: Floats, cosine: Floats
) -> tuple[Floats, Floats]:
    """Interpolated normals (N, 3), and their cosines with the rays; the triangle's where they look to its other side."""
    normal = corners[:, :3] * (1 - u - v)[:, None]
    normal += corners[:, 3:6] * u[:, None]
    normal += corners[:, 6:] * v[:, None]
    normal /= np.sqrt(np.einsum("ij,ij->i", normal, normal))[:, None]
    facing = np.einsum("ij,ij->i", along, normal)
    astray = np.flatnonzero(facing * cosine <= 0)
    if len(astray):
        normal[astray] = face[astray]
        facing[astray] = cosine[astray]
    return normal, facing


def _fresnel(cosine: Floats, inside: NDArray[np.bool_], index: np.float32) -> tuple[Floats, Floats, Floats]:
    """Reflectance for unpolarised light, and the refracted ray: scale · ray + bend · normal. cosine: of ray and outward normal.

    Where nothing goes through the reflectance is 1 and bend 0.
    """
    ratio = np.where(inside, index, 1 / index)
    size = np.abs(cosine)
    squared = 1 - ratio * ratio * (1 - size * size)
    total = squared <= 0
    beyond = np.sqrt(np.maximum(squared, 0))
    across, passed = ratio * size, ratio * beyond
    crosswise = (across - beyond) / (across + beyond)
    lengthwise = (size - passed) / (size + passed)
    reflectance = np.float32(0.5) * (crosswise * crosswise + lengthwise * lengthwise)
    reflectance[total] = 1
    bend = np.copysign(beyond, cosine) - ratio * cosine
    bend[total] = 0
    return reflectance, ratio, bend


def _slow(
    scene: Scene,
    state: _State,
    face: Floats,
    triangle: Whole,
    same: NDArray[np.bool_],
    at_insert: NDArray[np.bool_],
    chance: np.random.Generator,
    again: float,
) -> list[_State]:
    """Rays that only move on, and rays that the insert sends back in a direction of its own."""
    step = np.float32(scene.offset_mm)
    on = state.only(np.flatnonzero(same))
    on.at += on.along * step
    on.length += np.where(on.inside, step, np.float32(0))
    which = np.flatnonzero(at_insert)
    back = state.only(which)
    if len(which):
        # A point of the sphere that rests on the face, seen from where it rests, is a direction by the cosine law.
        sphere = chance.standard_normal((len(which), 3), dtype=np.float32)
        sphere /= np.sqrt(np.einsum("ij,ij->i", sphere, sphere))[:, None]
        along = sphere + face[which]
        size = np.sqrt(np.einsum("ij,ij->i", along, along))
        back.along = np.ascontiguousarray(along / np.maximum(size, np.float32(1e-6))[:, None])
        back.weight = np.where(back.meetings < MEETINGS - 1, back.weight, back.weight * np.float32(again))
        back.meetings = np.minimum(back.meetings + 1, MEETINGS - 1).astype(np.int8)
        back.last = triangle[which]
        back.at += back.along * step
        back.length += step
    return [on, back]
