"""The picture's bins, its progress, its places and its file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.shape.solids import sphere
from tintmix.desk.shape import casting_of, notes_of, shape_casting, shape_of, traced
from tintmix.errors import FileProblem, NotThere, TintmixError, ValueProblem
from tintmix.files.errors import BadTable
from tintmix.optics.plate import external_transmittance
from tintmix.shape.bodies import block, bowl, deck_prism, lens, ring
from tintmix.shape.histogram import histogram, length_bins
from tintmix.shape.light import surroundings
from tintmix.shape.mesh_file import mesh_of
from tintmix.shape.picture import Tracing, refine, sent
from tintmix.shape.places import point_place, usual_places
from tintmix.shape.scene import scene_of
from tintmix.shape.shape_file import changed_since, read_shape, shape_digest, shape_from_text, shape_to_text
from tintmix.shape.solid import Solid
from tintmix.shape.values import CastingShape
from tintmix.shape.view import View, frame_of


def tracing_of(solid: Solid, view: View | None = None, width: int = 64, samples: int = 4, **more: object) -> Tracing:
    scene = scene_of(solid)
    *_, last = refine(scene, solid.vertices_mm, view or View(), "panel", width, samples, **more)  # type: ignore[arg-type]
    return last


@pytest.fixture(scope="module")
def prism() -> CastingShape:
    casting = casting_of(mesh_of(deck_prism(), "prism"))
    *_, tracing = traced(casting, width=96, samples=8)
    return shape_of(casting, tracing, {"hub": (0.0, 1.0, 0.0)})


@pytest.mark.parametrize(
    ("solid", "view"),
    [
        (deck_prism(), View()),
        (deck_prism(), View(direction=(0.4, 0.3, -1))),
        (lens(), View()),
        (bowl(), View(direction=(0, 1, -1))),
        (sphere(), View()),
        (block(), View(direction=(1, 2, -2))),
    ],
    ids=["prism", "prism aslant", "lens", "bowl", "sphere", "block aslant"],
)
def test_bins_hold_the_light_to_a_thousandth(solid: Solid, view: View) -> None:
    """Each pixel's T against the exact sum over the same paths (light-paths.md: 0.001), in absorptions from 89 to 1 % at the mean
    path. The bins are those of a coarse picture, as always."""
    scene, frame = scene_of(solid), frame_of(solid.vertices_mm, view, 40)
    coarse = Tracing(scene, frame_of(solid.vertices_mm, view, 64), "panel")
    coarse.go_on()
    bins = coarse.picture().lengths_mm
    count = frame.width * frame.height
    pixel = np.tile(np.arange(count), 8)
    rng = np.random.default_rng(5)
    within = rng.random((len(pixel), 2))
    ends = sent(scene, frame, pixel % frame.width + within[:, 0], pixel // frame.width + within[:, 1], rng, 0.5)
    weight = surroundings("panel", ends.direction, view) * ends.weight / 8
    length, at = ends.length_mm.astype(np.float64), pixel[ends.ray]
    made = histogram(length, at, weight, bins, count)
    assert made.sum(axis=1) == pytest.approx(np.bincount(at, weight, count), abs=1e-6)
    assert made @ bins == pytest.approx(np.bincount(at, weight * length, count), rel=1e-6)
    middle = np.average(length, weights=weight)
    for absorbance in np.geomspace(0.05, 2, 7) / middle:
        exact = np.bincount(at, weight * 10 ** (-absorbance * length), count)
        assert made @ 10 ** (-absorbance * bins) == pytest.approx(exact, abs=1e-3)


def test_a_block_is_a_plate() -> None:
    tracing = tracing_of(block(length_mm=60, width_mm=60, height_mm=8), samples=16)
    picture = tracing.picture()
    inner = np.zeros_like(picture.sees)
    inner[8:-8, 8:-8] = True
    tau = 10.0 ** (-0.03 * picture.lengths_mm)
    light = picture.product(np.concatenate([tau, tau, tau])[:, None])[..., 0]
    assert light[inner].mean() == pytest.approx(float(external_transmittance(np.array(10**-0.24), 1.5)), abs=1e-3)
    assert picture.straight_mm[inner] == pytest.approx(8.0, abs=1e-4)


def test_progress_is_coarse_then_finer_and_can_be_stopped() -> None:
    solid = lens()
    steps = refine(scene_of(solid), solid.vertices_mm, View(), "panel", 96, 16)
    coarse = next(steps)
    assert (coarse.frame.width, coarse.samples) == (64, 1)
    assert np.isnan(coarse.picture().standard_error).all()
    first, second, third = (next(steps).picture() for _ in range(3))
    steps.close()  # type: ignore[attr-defined]
    assert first.width == 96
    assert [one.samples for one in (first, second, third)] == [3, 3, 3] or third.samples == 3


def test_the_standard_error_is_that_of_the_scatter() -> None:
    """Of sixteen seeds' pictures the spread is what one picture says of itself."""
    solid = lens()
    scene, frame = scene_of(solid), frame_of(solid.vertices_mm, View(), 20)
    bins = length_bins([10.0], [1.0], 2000.0)
    clear, told = [], []
    for seed in range(16):
        tracing = Tracing(scene, frame, "panel", seed, bins)
        for _ in range(16):
            tracing.go_on()
        picture = tracing.picture()
        clear.append(picture.clear())
        told.append(picture.standard_error)
    inner = tracing.whole()
    scatter = np.sqrt(np.var(clear, axis=0, ddof=1)[inner].mean())
    assert np.sqrt(np.mean(np.square(told), axis=0)[inner].mean()) == pytest.approx(scatter, rel=0.15)


def test_places_of_the_deck_prism(prism: CastingShape) -> None:
    """light-paths.md: flange 8 mm, and 60 mm wherever a face reflects totally, whatever lies straight below."""
    palest, typical, deepest, hub = prism.places
    assert [one.name for one in prism.places] == ["palest", "typical", "deepest", "hub"]
    for one in (palest, typical):
        assert one.path_mm is not None
        assert one.path_mm.median == pytest.approx(8.0, abs=0.01)
        assert one.of_clear == pytest.approx(12 / 13, abs=0.01)
    assert deepest.path_mm is not None
    assert deepest.path_mm.median == pytest.approx(60.0, abs=0.05)
    assert 8 < deepest.straight_mm < 58
    assert hub.point_mm == (0.0, 1.0, 0.0)
    assert 0.1 < prism.dark_by_shape < 0.35
    assert prism.cut_off < 0.001


def test_a_place_is_its_mixture(prism: CastingShape) -> None:
    for place in prism.places:
        weights, lengths = np.array(place.weights), np.array(place.lengths_mm)
        assert weights.sum() == pytest.approx(place.of_clear)
        assert place.path_mm is not None
        assert weights.sum(axis=0) @ lengths / weights.sum() == pytest.approx(place.path_mm.mean, rel=1e-6)
        assert place.standard_error < 0.005
        assert not weights[1:].any()
        assert place.dark == (place.of_clear < 0.2)


def test_a_place_is_known_as_well_as_it_says() -> None:
    """A point, traced with eight seeds."""
    solid = deck_prism()
    frame = frame_of(solid.vertices_mm, View(), 64)
    scene = scene_of(solid)
    places = [point_place(Tracing(scene, frame, "panel", seed), "p", (12.0, 3.0, 0.0)) for seed in range(8)]
    told = np.sqrt(np.mean([one.standard_error**2 for one in places]))
    assert 0.5 < np.std([one.of_clear for one in places], ddof=1) / told < 1.6


def test_points_beside_the_casting() -> None:
    tracing = tracing_of(deck_prism(), samples=1)
    with pytest.raises(ValueProblem, match="'a': it lies beside the casting, as it is seen"):
        point_place(tracing, "a", (51.0, 44.0, -4.0))
    with pytest.raises(ValueProblem, match="'a': it lies 40 mm beside the box"):
        point_place(tracing, "a", (0.0, 0.0, 40.0))
    for name in ("12", "12,5", "12 mm", "a\nb"):
        with pytest.raises(ValueProblem, match="a number is a thickness in mm"):
            point_place(tracing, name, (12.0, 3.0, 0.0))
    with pytest.raises(ValueProblem, match="three finite numbers"):
        point_place(tracing, "a", (float("nan"), 0.0, 40.0))


def test_where_all_is_dark_by_the_shape_there_are_no_places(
    prism: CastingShape, monkeypatch: pytest.MonkeyPatch
) -> None:
    tracing = tracing_of(deck_prism(), samples=1)
    monkeypatch.setattr("tintmix.shape.places.DARK", 2.0)
    assert usual_places(tracing) == []
    assert "no place is palest" in notes_of(replace(prism, places=()))[0].says


def test_an_insert_is_met() -> None:
    casting = casting_of(
        mesh_of(deck_prism(), "prism"), mesh_of(ring(across_mm=30, middle_mm=(0, 0, -15)), "ring"), "#b08d3c"
    )
    *_, tracing = traced(casting, width=64, samples=4)
    shape = shape_of(casting, tracing, {"on the ring": (13.0, 0.0, -13.0)})
    place = shape.place("on the ring")
    assert sum(place.weights[1]) > 0.05
    assert shape.resin_cm3 == pytest.approx(110.158431 - np.pi * (15**2 - 11**2) * 4 / 1000, rel=1e-4)
    assert shape.insert is not None
    assert shape.insert.colour == {"insert_srgb": "#b08d3c"}
    again = shape_from_text(shape_to_text(shape))
    assert again.insert == shape.insert
    assert again.picture.bins.max() >= len(again.picture.lengths_mm)
    assert again.digest == shape.digest


@pytest.mark.parametrize("direction", [(0, 0, 0), (float("nan"), 0, 1), (float("inf"), 0, 0)])
def test_views_that_are_none(direction: tuple[float, float, float]) -> None:
    with pytest.raises(ValueProblem, match="the view"):
        View(direction=direction)


@pytest.mark.parametrize("direction", [(0, 0, -1), (0, 0, 1), (1, 0, 0), (0, -1, 0), (0.3, -0.5, 0.2)])
def test_the_frame_holds_the_casting(direction: tuple[float, float, float]) -> None:
    view = View(direction=direction)
    assert np.linalg.det(view.axes()) == pytest.approx(1.0)
    solid = deck_prism()
    frame = frame_of(solid.vertices_mm, view, 100)
    at = np.array([frame.place_of(tuple(corner)) for corner in solid.vertices_mm])
    assert at.min() > 1
    assert np.all(at.max(axis=0) < [frame.width - 1, frame.height - 1])
    assert max(frame.width, frame.height) == 100
    # Up in the picture is up in the mesh.
    if abs(direction[2]) < 0.9:
        assert frame.place_of((0, 0, 10))[1] < frame.place_of((0, 0, 0))[1]


def test_sky_and_panel() -> None:
    view = View(direction=(0, 1, 0))
    ways = np.array([[0, 1, 0.01], [0, -1, 0.01], [0, 1, -0.01]], np.float32)
    assert surroundings("panel", ways, view).tolist() == [1, 0, 1]
    assert surroundings("sky", ways, view) == pytest.approx([1, 1, 0.2])
    assert surroundings("even", ways, view).tolist() == [1, 1, 1]


def test_the_file_comes_back_as_it_was(prism: CastingShape, tmp_path: Path) -> None:
    path = tmp_path / "prism.shape.json"
    path.write_text(shape_to_text(prism), encoding="utf-8")
    again = read_shape(path)
    assert again.places == prism.places
    assert again.mesh == prism.mesh
    assert again.digest == prism.digest == shape_digest(again)
    for name in ("pixels", "bins", "weights", "sees", "lengths_mm"):
        assert np.array_equal(getattr(again.picture, name), getattr(prism.picture, name))
    assert np.array_equal(again.picture.clear(), prism.picture.clear())
    assert again.place("Deepest").name == "deepest"
    with pytest.raises(NotThere, match="no place 'depest'; did you mean deepest"):
        again.place("depest")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda table: table.pop("view"), "has no view"),
        (lambda table: table["places"][0]["paths"]["weights"].pop(), "must hold 3"),
        (lambda table: table["places"][0]["paths"]["lengths_mm"].pop(), "not one weight for each length"),
        (lambda table: table["places"].append(table["places"][0]), "two of its places have one name"),
        (lambda table: table["picture"].update(weights="AAAA"), "its picture cannot be read"),
        (lambda table: table["picture"].update(pixels="%%%"), "its picture cannot be read"),
        (lambda table: table["picture"].update(width=5000, height=5000), "larger than"),
        (lambda table: table["picture"].update(rows=10**12), "larger than"),
        (lambda table: table.update(lit="moon"), 'must be "panel" or "sky"'),
        (lambda table: table.update(format=99), "reads up to format 1"),
        (lambda table: table["mesh"].update(volume_cm3=-1), "volume_cm3"),
        (lambda table: table["places"][0].update(of_clear=0.5), "changed after it was traced"),
        (
            lambda table: table.pop("digest") and table["places"][0]["path_mm"].update(mean=500.0),
            "not the one of its paths",
        ),
        (
            lambda table: table["places"][0]["paths"].update(lengths_mm=[], weights=[[], [], []]),
            "not the one of its paths",
        ),
        (lambda table: table["places"][0].update(path_mm=None), "not the one of its paths"),
    ],
)
def test_files_that_are_wrong(prism: CastingShape, change: object, said: str) -> None:
    table = json.loads(shape_to_text(prism))
    change(table)  # type: ignore[operator]
    with pytest.raises((FileProblem, BadTable), match=said):
        shape_from_text(json.dumps(table), "a.shape.json")


@pytest.mark.parametrize("said", ["", "[]", "{", '{"format": 1}', "[" * 100_000])
def test_no_shape_at_all(said: str) -> None:
    with pytest.raises(TintmixError, match="no traced casting"):
        shape_from_text(said)


def test_a_mesh_that_has_changed_is_noticed(tmp_path: Path) -> None:
    from tests.shape.test_mesh_file import exported

    mesh = tmp_path / "lens.stl"
    mesh.write_bytes(exported(lens(), "stl"))
    out = tmp_path / "lens.shape.json"
    shape_casting(mesh, "mm", out, width=32, samples=1)
    shape = read_shape(out)
    assert shape.mesh.file == "lens.stl"
    assert changed_since(shape) is None
    mesh.write_bytes(exported(lens(middle_mm=16.0), "stl"))
    note = changed_since(shape)
    assert note is not None
    assert str(note) == "lens.stl has changed since lens.shape.json was traced from it."
    mesh.unlink()
    assert changed_since(replace(shape)) is None
