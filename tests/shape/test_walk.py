"""The tracer against answers that are known exactly (light-paths.md, "Checks with an outside")."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from tests.shape.solids import corner_cube, of_trimesh, rays, sphere, wedge
from tintmix.errors import ValueProblem
from tintmix.optics.plate import external_transmittance, fresnel
from tintmix.shape.bodies import block, bowl, deck_prism, lens, ring
from tintmix.shape.picture import Tracing
from tintmix.shape.scene import scene_of
from tintmix.shape.solid import Solid
from tintmix.shape.view import View, frame_of
from tintmix.shape.walk import walk


def chance() -> np.random.Generator:
    return np.random.default_rng(7)


@pytest.mark.parametrize(
    ("solid", "insert", "direction"),
    [
        (deck_prism(), None, (0, 0, -1)),
        (deck_prism(), ring(across_mm=30, middle_mm=(0, 0, -15)), (0.3, 0.2, -1)),
        (lens(), None, (0, 0.2, -1)),
        (bowl(), None, (0, 1, -1)),
        (sphere(), None, (1, 0, 0)),
        (corner_cube(), None, (-1, -1, -1)),
    ],
    ids=["prism", "ring in prism", "lens", "bowl", "sphere", "corner"],
)
def test_a_clear_casting_cannot_be_seen_in_a_furnace(
    solid: Solid, insert: Solid | None, direction: tuple[float, ...]
) -> None:
    """Light of 1 from everywhere, a white insert: every pixel sees 1, with what was cut off."""
    view = View(direction=direction)
    tracing = Tracing(scene_of(solid, insert, 1.5), frame_of(solid.vertices_mm, view, 64), "even", again=1.0)
    for _ in range(3):
        tracing.go_on()
    picture = tracing.picture()
    clear = picture.clear()[picture.sees]
    assert clear.max() <= 1 + 1e-4
    mean = clear.mean()
    assert mean + tracing.lost / (picture.sees.sum() * tracing.samples) == pytest.approx(1, abs=1e-4)
    assert tracing.cut_off < 0.005


@pytest.mark.parametrize("index", [1.4, 1.5, 1.6])
@pytest.mark.parametrize("absorbance", [0.0, 0.02, 0.2])
def test_a_slab_is_the_plate_formula(index: float, absorbance: float) -> None:
    """physics §3: both faces, all inter-reflections. Both ways are followed, no bins."""
    scene = scene_of(block(length_mm=60, width_mm=40, height_mm=8), refractive_index=index)
    at = scene.own(np.array([[3.3, -7.1, 20.0], [20.0, 11.0, 9.0]]))
    ends = walk(scene, at, rays(at, (0, 0, -1)), chance(), both=True)
    through = ends.direction[:, 2] < 0
    light = ends.weight * 10 ** (-absorbance * ends.length_mm.astype(np.float64))
    expected = external_transmittance(np.array(10 ** (-absorbance * 8)), index)
    seen = np.bincount(ends.ray[through], light[through], 2)
    assert seen == pytest.approx(float(expected), abs=1e-6)


def test_a_tilted_slab_is_the_plate_formula_at_that_angle() -> None:
    """Hecht, *Optics*, §4.6 and 9.6, at 50°: unpolarised light loses its two polarisations apart, so that here, where each
    face mixes them anew, the reflectances are means."""
    index, tilt = 1.5, np.radians(50)
    inside = np.sqrt(1 - (np.sin(tilt) / index) ** 2)
    rho = fresnel(np.cos(tilt), inside, index).mean()
    scene = scene_of(block(length_mm=900, width_mm=900, height_mm=8), refractive_index=index)
    at = scene.own(np.array([[0.0, 0.0, 9.0]]))
    ends = walk(scene, at, rays(at, (np.sin(tilt), 0, -np.cos(tilt))), chance(), both=True)
    through = ends.direction[:, 2] < 0
    assert ends.weight[through].sum() == pytest.approx((1 - rho) ** 2 / (1 - rho**2), abs=1e-6)
    assert ends.length_mm[through].min() == pytest.approx(8 / inside, rel=1e-6)
    assert ends.direction[through][:, 0] == pytest.approx(np.sin(tilt), abs=1e-6)


def test_paths_through_a_sphere() -> None:
    """First pass at offset b: 2 √(R² − (b/n)²), within 0.2 % for 20 480 triangles."""
    radius, index = 30.0, 1.5
    scene = scene_of(sphere(radius), refractive_index=index)
    offset = np.linspace(0.02, 0.95, 200) * radius
    turn = np.arange(200) * 2.4
    at = scene.own(np.stack([offset * np.cos(turn), offset * np.sin(turn), np.full(200, 50.0)], axis=1))
    ends = walk(scene, at, rays(at, (0, 0, -1)), chance(), both=True, faces=2)
    # After two faces a path has come back from the first, or gone through the second.
    assert len(ends.ray) == 400
    inside = ends.length_mm > 0
    lengths = np.zeros(200)
    lengths[ends.ray[inside]] = ends.length_mm[inside]
    assert lengths == pytest.approx(2 * np.sqrt(radius**2 - (offset / index) ** 2), rel=2e-3)


def test_a_right_angle_prism_reflects_totally() -> None:
    """Into one leg, out of the other: the path is as long as a leg, and nothing goes through the long side."""
    leg = 30.0
    scene = scene_of(wedge(leg), refractive_index=1.5)
    down = np.array([[4.0, 3.0, -10.0], [11.3, -17.0, -10.0], [22.0, 8.0, -10.0]])
    at = scene.own(down)
    ends = walk(scene, at, rays(at, (0, 0, 1)), chance(), both=True)
    best = [np.flatnonzero(ends.ray == i)[np.argmax(ends.weight[ends.ray == i])] for i in range(3)]
    assert ends.direction[best] == pytest.approx(np.array([[-1, 0, 0]] * 3), abs=1e-6)
    assert ends.length_mm[best] == pytest.approx(leg, rel=1e-6)
    assert ends.weight[best] == pytest.approx(0.96**2, rel=1e-6)


def test_a_corner_cube_sends_light_back() -> None:
    """Straight into its face: three total reflections, back the way it came, twice the height long."""
    edge = 40.0
    scene = scene_of(corner_cube(edge), refractive_index=1.5)
    middle = np.full(3, edge / 3)
    aside = np.array([[1.0, -1, 0], [2, 1, -3], [-1, 3, -2]])
    normal = np.ones(3) / np.sqrt(3)
    at = scene.own(middle + aside + 20 * normal)
    ends = walk(scene, at, rays(at, (-1, -1, -1)), chance(), both=True)
    for i in range(3):
        mine = np.flatnonzero((ends.ray == i) & (ends.length_mm > 0))
        one = mine[np.argmax(ends.weight[mine])]
        assert ends.direction[one] == pytest.approx(normal, abs=1e-6)
        assert ends.length_mm[one] == pytest.approx(2 * edge / np.sqrt(3), rel=1e-6)


@pytest.mark.parametrize(
    ("mesh", "volume"),
    [
        (trimesh.creation.icosphere(subdivisions=5, radius=10), 4 / 3 * np.pi * 10**3),
        (trimesh.creation.box(extents=(10, 20, 30)), 6000),
        (trimesh.creation.cone(radius=10, height=30, sections=512), np.pi * 10**2 * 10),
        (
            trimesh.creation.torus(major_radius=20, minor_radius=5, major_sections=256, minor_sections=256),
            2 * np.pi**2 * 20 * 25,
        ),
    ],
    ids=["sphere", "box", "cone", "torus"],
)
def test_volumes(mesh: trimesh.Trimesh, volume: float) -> None:
    """Of the solid, within its tessellation; and to 1e-9 of the mesh's own, as trimesh has it (its sums are others)."""
    solid = of_trimesh(mesh)
    assert solid.volume_mm3 == pytest.approx(volume, rel=1e-3)
    assert solid.volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)


def test_a_view_from_inside_is_refused() -> None:
    scene = scene_of(block())
    at = scene.own(np.array([[0.0, 0.0, 10.0]] * 4))
    with pytest.raises(ValueProblem, match="begins inside"):
        walk(scene, at, rays(at, (0, 0, -1)), chance())


@pytest.mark.parametrize("sides", [128, 200, 256])
def test_rays_through_the_corners_of_a_cone_are_no_view_from_inside(sides: int) -> None:
    """Straight through its tip and its rim, where rounding chooses one of the triangles that meet there."""
    turn = 2 * np.pi * np.arange(sides) / sides
    rim = np.column_stack([20 * np.cos(turn), 20 * np.sin(turn), np.zeros(sides)])
    corners = np.vstack([rim, [[0, 0, 40], [0, 0, 0]]])
    i, j = np.arange(sides), (np.arange(sides) + 1) % sides
    tip, base = np.full(sides, sides), np.full(sides, sides + 1)
    faces = np.vstack([np.column_stack([i, j, tip]), np.column_stack([j, i, base])])
    for solid in (
        Solid(vertices_mm=corners, faces=faces),
        Solid(vertices_mm=corners * [1, 1, -1], faces=faces[:, ::-1]),
    ):
        tracing = Tracing(scene_of(solid), frame_of(solid.vertices_mm, View(), 32), "panel")
        tracing.go_on()
        straight = tracing.straight()
        assert tracing.cut_off < 0.01
        assert straight.depth_mm.sum() * tracing.frame.pixel_mm**2 == pytest.approx(solid.volume_mm3, rel=0.02)
        within = np.sqrt(chance().random(1000))[:, None] * 19 * np.tile(rim / 20, (8, 1))[:1000]
        through = tracing.scene.own(np.vstack([rim, within, [[0, 0, 0]]]) + [0, 0, 60])
        ends = walk(tracing.scene, through, rays(through, (0, 0, -1)), chance())
        assert ends.met[-1001:].all()
        assert sides / 4 < ends.faults < sides + 10
        alone = through[-1:]
        assert walk(tracing.scene, alone, rays(alone, (0, 0, -1)), chance()).met.all()


def test_the_same_seed_gives_the_same_picture() -> None:
    solid = lens()
    scene, frame = scene_of(solid), frame_of(solid.vertices_mm, View(direction=(0, 1, -1)), 48)
    pictures = []
    for seed in (3, 3, 4):
        tracing = Tracing(scene, frame, "panel", seed)
        tracing.go_on()
        tracing.go_on()
        pictures.append(tracing.picture())
    assert np.array_equal(pictures[0].weights, pictures[1].weights)
    assert np.array_equal(pictures[0].bins, pictures[1].bins)
    assert not np.array_equal(pictures[0].clear(), pictures[2].clear())


def test_an_insert_reflects_as_a_matt_ground_does() -> None:
    """A wide white ground in contact with resin, seen along the normal in light from all sides: physics §11's energy, 1 where
    nothing is lost; k meetings hold the shares of a geometric series, 0.596346 (Walsh, n = 1.5) of each coming back."""
    from tintmix.shape.walk import MEETINGS

    casting, insert = (
        block(length_mm=400, width_mm=400, height_mm=4),
        block(length_mm=399.9, width_mm=399.9, height_mm=1),
    )
    sunk = Solid(vertices_mm=insert.vertices_mm + [0, 0, 0.5], faces=insert.faces, several=True)
    scene = scene_of(casting, sunk, 1.5)
    rng = chance()
    at = scene.own(np.column_stack([rng.uniform(-5, 5, (20_000, 2)), np.full(20_000, 9.0)]))
    ends = walk(scene, at, rays(at, (0, 0, -1)), rng, again=1.0)
    total = np.bincount(ends.meetings, ends.weight, MEETINGS) / 20_000
    came = 1 - 0.596346
    assert total[0] == pytest.approx(0.04, abs=1e-6)
    assert total[1] == pytest.approx(0.96 * came, abs=0.01)
    assert total[2] == pytest.approx(0.96 * (1 - came), abs=0.01)
