"""Places of shapes in target and recipe files: read, kept without the mesh, and noticed when they have changed."""

import json
from dataclasses import replace

import numpy as np
import pytest

import tintmix as tm
from tests.recipes.seen import prism_paths, seen_place
from tests.recipes.shelf import make_model
from tintmix.errors import FileProblem, Remedy, TintmixError
from tintmix.files.write import write_file
from tintmix.recipes.again import changed_shapes, places_of
from tintmix.recipes.casting import read_places
from tintmix.recipes.recipe_file import make_recipe, read_recipe, write_recipe
from tintmix.recipes.search.aim import lay
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Insert
from tintmix.recipes.target_file import read_target, target_to_table
from tintmix.shape.shape_file import shape_to_text
from tintmix.shape.values import CastingShape, InsertOf, MeshOf, PathPicture, PathSpread, Place

TARGET = """format = 1
[[section]]
name = "flange"
thickness_mm = 8.0
lab = [80, -10, 2]
tolerance = 30
[[section]]
name = "point"
on = "prism.shape.json"
seen = "deepest"
"""
CLEAR = json.loads('{"p5": 60.0, "median": 60.1, "mean": 62.8, "p95": 137.0}')


def shape_of(mesh=b"solid prism", insert=None, samples=16):
    import hashlib

    paths, painted = prism_paths(), ((0.0,) * 4, (0.05, 0.0, 0.02, 0.0), (0.01, 0.0, 0.0, 0.0))
    place = Place(
        name="deepest", path_mm=PathSpread(**CLEAR), straight_mm=17.0, standard_error=0.002, of_clear=0.83, dark=False,
        lengths_mm=(*paths.lengths_mm, 300.0),
        weights=tuple((*row, 0.0) for row in (paths.weights[0], *(painted[1:] if insert is not None else painted[:1] * 2))),
    )  # fmt: skip
    box = ((0.0, 0.0, 0.0), (50.0, 50.0, 60.0))
    of = MeshOf(
        file="prism.stl", sha256=hashlib.sha256(mesh).hexdigest(), unit="mm", triangles=64, watertight=True,
        volume_cm3=97.0, bounds_mm=box,
    )  # fmt: skip
    picture = PathPicture(
        width=1, height=1, pixel_mm=1.0, lengths_mm=np.array([0.0, 8.0]), pixels=np.array([0], np.int32),
        bins=np.array([1], np.int16), weights=np.array([0.9], np.float32), bare=1.0, sees=np.array([[True]]),
        straight_mm=np.array([[8.0]]), standard_error=np.array([[0.0]]), samples=samples,
    )  # fmt: skip
    return CastingShape(
        mesh=of, view=(0.0, 0.0, -1.0), lit="panel", refractive_index=1.5,
        insert=None if insert is None else InsertOf(mesh=replace(of, file="ring.stl"), colour=insert or None),
        samples=samples, seed=0, cut_off=0.0, dark_by_shape=0.2, resin_cm3=97.0, resin_g=None, waste_percent=0.0,
        places=[place], picture=picture,
    )  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    write_file(tmp_path / "prism.shape.json", shape_to_text(shape_of()))
    (tmp_path / "target.toml").write_text(TARGET)
    return tmp_path


def kept_recipe(folder):
    model = make_model()
    target = read_target(folder / "target.toml")
    write_recipe(make_recipe(model, target, solve(model, target).proposals[0]), folder / "recipe.json")
    return model, read_recipe(folder / "recipe.json")


def test_a_target_names_a_place_of_a_shape(folder):
    target = read_target(folder / "target.toml")
    seen = target.sections[1].seen
    assert (seen.shape, seen.place, seen.straight_mm, seen.path_mm.mean) == ("prism.shape.json", "deepest", 17.0, 62.8)
    # The empty bin is left out.
    assert seen.paths == prism_paths()
    assert target.sections[1].length_mm == 62.8
    again = target_to_table(replace(target, table=None))["section"][1]
    assert (again["on"], again["seen"]) == ("prism.shape.json", "deepest")


def test_a_recipe_is_used_again_without_shape_and_mesh(folder):
    model, recipe = kept_recipe(folder)
    with_shape = places_of(recipe, model, folder)
    (folder / "prism.shape.json").unlink()
    alone = places_of(recipe, model, folder)
    assert alone == with_shape
    assert alone.sections[1] == lay(model, read_target_again(folder)).sections[1]
    assert changed_shapes(recipe, folder) == []
    assert recipe.casting[0]["digest"]


def read_target_again(folder):
    write_file(folder / "prism.shape.json", shape_to_text(shape_of()), replace=True)
    target = read_target(folder / "target.toml")
    (folder / "prism.shape.json").unlink()
    return target


def test_a_shape_or_mesh_that_has_changed_is_noticed(folder):
    (folder / "prism.stl").write_bytes(b"solid prism")
    model, recipe = kept_recipe(folder)
    assert read_target(folder / "target.toml").notes == ()
    assert changed_shapes(recipe, folder) == []
    (folder / "prism.stl").write_bytes(b"solid prism, longer")
    target = read_target(folder / "target.toml")
    notes = (*solve(model, target).warnings[:1], *changed_shapes(recipe, folder))
    assert [(note.remedy, "prism.stl has changed" in note.says) for note in notes] == [
        (Remedy.TRACE_IT_AGAIN, True)
    ] * 2
    traced = shape_of(b"solid prism, longer", samples=32)
    (folder / "prism.shape.json").write_text(shape_to_text(traced))
    notes = changed_shapes(recipe, folder)
    assert [note.remedy for note in notes] == [Remedy.FIND_THE_RECIPE_AGAIN]
    assert "prism.shape.json has changed" in notes[0].says


def test_an_insert_is_as_the_shape_has_it_or_as_the_target_says(folder):
    write_file(folder / "prism.shape.json", shape_to_text(shape_of(insert={"insert_srgb": "#b08d3c"})), replace=True)
    model, recipe = kept_recipe(folder)
    own = lay(model, read_target(folder / "target.toml")).sections[1].ground
    (folder / "target.toml").write_text(TARGET + 'insert_srgb = "#404040"\n')
    other = lay(model, read_target(folder / "target.toml")).sections[1].ground
    assert own.clear[30] > other.clear[30] > 0.83
    (folder / "prism.shape.json").unlink()
    assert places_of(recipe, model, folder).sections[1].ground == own
    (folder / "prism.shape.json").write_text(shape_to_text(shape_of(insert={})))
    (folder / "target.toml").write_text(TARGET)
    with pytest.raises(TintmixError, match="nobody has said its colour"):
        read_target(folder / "target.toml")


@pytest.mark.parametrize(
    ("change", "kind", "says"),
    [
        (('seen = "deepest"', 'seen = "depest"'), TintmixError, "did you mean deepest"),
        (('seen = "deepest"', ""), TintmixError, "has on alone"),
        (('on = "prism.shape.json"', ""), TintmixError, "has seen alone"),
        (('"prism.shape.json"', '"no.shape.json"'), TintmixError, "no.shape.json"),
        (('"prism.shape.json"', '"target.toml"'), TintmixError, "no traced casting"),
        (('seen = "deepest"', 'seen = "deepest"\nthickness_mm = 8'), TintmixError, "on a shape too"),
        (
            ('seen = "deepest"', 'seen = "deepest"\nbehind = "white"'),
            TintmixError,
            "cannot be said of a place that is seen",
        ),
    ],
)
def test_what_is_wrong_is_told(folder, change, kind, says):
    (folder / "target.toml").write_text(TARGET.replace(*change))
    with pytest.raises(kind, match=says):
        read_target(folder / "target.toml")


@pytest.mark.parametrize("key", ["lengths_mm", "weights", "path_mm"])
def test_a_recipe_whose_casting_was_spoilt_is_refused(folder, key):
    model, recipe = kept_recipe(folder)
    spoilt = replace(recipe, casting=[dict(recipe.casting[0]) | {key: [1.0]}])
    with pytest.raises(FileProblem, match="not a recipe that can be read"):
        places_of(spoilt, model, folder)
    with pytest.raises(FileProblem, match="do not go together"):
        places_of(replace(recipe, casting=()), model, folder)


def test_a_place_seen_by_nothing_is_still_a_place(folder):
    nothing = replace(shape_of().places[0], path_mm=None, of_clear=0.0, dark=True, weights=((0.0,) * 5,) * 3)
    write_file(folder / "prism.shape.json", shape_to_text(replace(shape_of(), places=[nothing])), replace=True)
    answer = solve(make_model(), read_target(folder / "target.toml"))
    assert answer.proposals[0].sections[1].luminous_transmittance == 0.0
    assert answer.proposals[0].sections[1].of_clear is None
    assert seen_place(prism_paths()).depth == "17 mm of resin, seen through 70.9 mm"


def test_a_shape_is_looked_at_from_python(folder):
    (point,) = tm.read_places(folder / "prism.shape.json").values()
    look = make_model().look({"p0": 0.01}, [8.0, point])
    assert [section.name for section in look.sections] == ["8 mm", "deepest"]
    shape = shape_of(insert={})
    write_file(folder / "ring.shape.json", shape_to_text(shape))
    with pytest.raises(TintmixError, match="nobody has said its colour"):
        tm.read_places(folder / "ring.shape.json")
    (ring,) = tm.read_places(folder / "ring.shape.json", Insert(srgb="#b08d3c")).values()
    wanted = make_model().look({"p0": 0.01}, [ring]).lab[0]
    assert tm.paint_for(make_model(), {"p0": 0.01}, ring, wanted).possible


def test_a_shape_traced_for_another_resin_is_told_by_the_resin_that_is_cast(folder):
    """The chips' resin has 1.5; the sheet's may have another."""
    model, point = make_model(), read_places(folder / "prism.shape.json")["deepest"]
    other = replace(point, seen=replace(point.seen, refractive_index=1.55))
    epoxy = tm.Resin(name="clear epoxy", refractive_index=1.55)

    def told(section, cast_in=None):
        warnings = model.look({}, [section], cast_in=cast_in).warnings
        return [said.partition("refractive index ")[2] for said in warnings if "was traced for" in said]

    assert told(point) == told(other, epoxy) == []
    assert told(other) == ["1.55, and the resin of the chips has 1.5: light bends otherwise in it."]
    assert told(point, epoxy) == ["1.5, and clear epoxy has 1.55: light bends otherwise in it."]
