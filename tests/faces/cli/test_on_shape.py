"""Places of a traced casting from `look` to the book, and the question of an insert turned round, at the shell."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.faces.conftest import Call, Refused
from tests.recipes.test_casting import TARGET, shape_of
from tintmix.pigments.model_file import load_model
from tintmix.shape.shape_file import shape_to_text

RESIN = Path(__file__).resolve().parents[3] / "swatches" / "resins" / "urethane.toml"
DOSES = ("--dose", "azure=0.02", "--dose", "emerald=0.01")
SEEN = {"name", "straight_mm", "path_mm", "of_clear"}
"""formats.md: what a seen section has besides."""


@pytest.fixture
def shape(tmp_path: Path) -> Path:
    path = tmp_path / "prism.shape.json"
    path.write_text(shape_to_text(shape_of()))
    return path


def test_a_place_of_a_shape_stands_where_a_thickness_stands(call: Call, model: Path, shape: Path) -> None:
    said = call("look", model, *DOSES, "--on", shape, "--at", "8", "--at", "Deepest", "--json")
    flange, deepest = said.json["sections"]
    assert set(deepest) == set(flange) | SEEN
    assert (deepest["thickness_mm"], deepest["behind"], deepest["straight_mm"]) == (None, None, 17.0)
    assert deepest["path_mm"] == {"p5": 60.0, "median": 60.1, "mean": 62.8, "p95": 137.0}
    assert deepest["of_clear"] == pytest.approx(deepest["luminous_transmittance"] / 0.83, rel=1e-4)
    assert deepest["extrapolated"]["thickness"]
    (every,) = call("look", model, *DOSES, "--on", shape, "--json").json["sections"]
    assert (every["name"], every["lab"]) == ("deepest", pytest.approx(deepest["lab"]))
    told = call("look", model, *DOSES, "--on", shape).out
    assert "17 mm of resin, seen through 62.8 mm" in " ".join(told.split())


def test_the_mesh_is_missed_when_it_has_changed(call: Call, model: Path, shape: Path) -> None:
    shape.with_name("prism.stl").write_bytes(b"another")
    said = call("look", model, "--on", shape, "--json")
    assert said.json["warnings"][0].startswith("prism.stl has changed since prism.shape.json was traced")
    assert "with `tintmix shape`" in " ".join(call("look", model, "--on", shape).out.split())


def test_the_paint_of_an_insert_makes_it_look_as_wanted(call: Call, model: Path) -> None:
    asked = call("look", model, *DOSES, "--at", "3", "--insert-should-look", "lab=45,10,20", "--json").json
    paint = asked["sections"][0]["insert_paint"]
    assert paint["possible"]
    colour = "lab=" + ",".join(f"{value:.6f}" for value in paint["lab"])
    there = call("look", model, *DOSES, "--at", "3", "--behind", "insert", "--insert", colour, "--json").json
    assert there["sections"][0]["lab"] == pytest.approx([45, 10, 20], abs=0.02)
    assert np.linalg.eigvalsh(paint["lab_covariance"]).min() >= -1e-9
    told = " ".join(call("look", model, *DOSES, "--at", "3", "--insert-should-look", "lab=45,10,20").out.split())
    assert f"3 mm: {paint['srgb']}" in told
    assert f"lighter by L* {paint['lab'][0] - 45:.0f} and" in told
    told = call("look", model, *DOSES, "--at", "30", "--insert-should-look", "#ffffff").out
    assert "30 mm: no paint does. The nearest" in " ".join(told.split())


def test_a_paint_is_told_wherever_the_insert_is_seen(call: Call, model: Path, shape: Path) -> None:
    """Of two places one shows the insert; and black stays black, no paler."""
    made = shape_of(insert={"insert_srgb": "#b08d3c"})
    (deepest,) = made.places
    bare = replace(deepest, name="palest", weights=(deepest.weights[0], *([0.0] * len(deepest.lengths_mm),) * 2))
    shape.write_text(shape_to_text(replace(made, places=(bare, deepest))))
    told = call("look", model, *DOSES, "--on", shape, "--insert-should-look", "#000000", "--json")
    assert [place["name"] for place in told.json["sections"]] == ["deepest"]
    black = call("look", model, "--at", "3", "--insert-should-look", "#000000").out
    assert "by L* 0 and" not in " ".join(black.split())


def test_an_insert_in_a_shape_is_painted_as_asked(call: Call, model: Path, shape: Path) -> None:
    shape.write_text(shape_to_text(shape_of(insert={"insert_srgb": "#b08d3c"})))
    brass = call("look", model, "--on", shape, "--json").json["sections"][0]
    black = call("look", model, "--on", shape, "--insert", "#000000", "--json").json["sections"][0]
    assert brass["luminous_transmittance"] > black["luminous_transmittance"]
    wanted = "lab=" + ",".join(f"{value:.6f}" for value in brass["lab"])
    asked = call("look", model, "--on", shape, "--insert-should-look", wanted, "--json").json["sections"][0]
    assert asked["insert_paint"]["delta_e00_left"] < 0.01
    shape.write_text(shape_to_text(shape_of(insert={})))
    assert "nobody has said its colour" in call("look", model, "--on", shape).err


def test_solve_and_keep_a_recipe_for_a_seen_place(call: Call, model: Path, shape: Path, tmp_path: Path) -> None:
    target = shape.with_name("target.toml")
    target.write_text(TARGET)
    kept = tmp_path / "recipe.json"
    body = call("solve", model, target, "--keep", kept, "--json").json
    point = body["proposals"][0]["sections"][1]
    assert set(point) >= SEEN
    assert point["thickness_mm"] is None
    assert json.loads(kept.read_text())["casting"][0]["shape"] == "prism.shape.json"
    assert "17 mm, seen through 62.8 mm" in call("solve", model, target).out
    pages = [tmp_path / "with.pdf", tmp_path / "without.pdf"]
    for page in pages:
        assert call("sheet", kept, "--model", model, "--batch", "450", "--out", page).status == 0
        shape.unlink(missing_ok=True)
    # The picture of the casting, where its shape is at hand.
    assert [page.read_bytes().count(b"/Subtype /Image") for page in pages] == [1, 0]
    target.write_text(
        TARGET + TARGET.removeprefix("format = 1").replace('"point"', '"other"').replace('"flange"', '"rim"')
    )
    assert call("solve", model, target).err.count("there is no such file") == 1
    sheet = call("sheet", kept, "--model", model, "--batch", "450", "--json")
    assert sheet.json["sections"][1]["path_mm"]["mean"] == 62.8
    told = call("sheet", kept, "--model", model, "--batch", "450").out
    digest = json.loads(kept.read_text())["casting"][0]["digest"]
    assert sheet.json["sections"][1]["shape_digest"] == digest
    assert all(words in told for words in ("seen through 62.8 mm", f"prism.shape.json, fingerprint {digest[:12]}"))
    shape.write_text(shape_to_text(shape_of(samples=64)))
    notes = call("sheet", kept, "--model", model, "--batch", "450", "--json").json["notes"]
    assert any("prism.shape.json has changed since this recipe was made" in note for note in notes)


def test_a_recipe_for_a_seen_place_is_adjusted_and_kept(
    call: Call, model: Path, shape: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    monkeypatch.chdir(tmp_path)
    target, kept = shape.with_name("target.toml"), tmp_path / "recipe.json"
    target.write_text(TARGET + "lab = [60, -50, -5]\ntolerance = 30\n")
    call("solve", model, target, "--keep", kept)
    shape.unlink()
    doses = json.loads(kept.read_text())["doses_phr"]
    trial = load_model(model).look({p: 1.2 * d for p, d in doses.items()}, [12.0]).lab[0]
    basic = ("adjust", kept, "--model", model, "--resin", RESIN, "--left", "195", "--pot", "400", "--at", "12",
             "--lab", ",".join(f"{value:.1f}" for value in trial))  # fmt: skip
    said = call(*basic, "--json")
    assert said.status == 0, said
    before = said.json["sections_before"][1]
    assert (before["thickness_mm"], before["straight_mm"], before["path_mm"]["mean"]) == (None, 17.0, 62.8)
    assert "17 mm, seen through 62.8 mm" in call(*basic).out
    assert call("book", "keep", kept, "--model", model).status == 0
    shape.write_text(shape_to_text(shape_of(samples=64)))
    shown = call("book", "show", "recipe", "--json").json
    assert shown["sections"][1]["path_mm"]["mean"] == 62.8
    assert any("prism.shape.json has changed" in said for said in shown["warnings"])
    told = call("book", "show", "recipe").out
    assert "17 mm, seen through 62.8 mm" in told
    assert f"Shape prism.shape.json, fingerprint {shown['casting'][0]['digest'][:12]}, traced from prism.stl." in told
    assert call("book", "pour", "recipe", "--reading", "point=60,-50,-5").status == 0
    (point,) = (one for one in call("book", "history", "recipe", "--json").json["places"] if one["place"] == "point")
    assert point["against"]["path_mm"]["mean"] == 62.8
    assert "point, 17 mm, seen through 62.8 mm" in call("book", "history", "recipe").out
    # The same places: what was kept again from the same file says nothing new, and another revision compares.
    assert call("solve", model, target, "--keep", kept).status == 0
    assert "as revision 2" in call("book", "keep", kept, "--model", model).out
    compared = call("book", "compare", "recipe", "--json").json["sections"][1]
    assert compared["delta_e00"] < 0.01
    assert (compared["first_mm"], compared["second_mm"]) == (62.8, 62.8)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("--at", "deepest"), "is not a number"),
        ((), "--at"),
        (("--on", "SHAPE", "--at", "depest"), "did you mean deepest"),
        (("--on", "MODEL", "--at", "deepest"), "no traced casting"),
        (("--on", "SHAPE", "--at", "deepest", "--behind", "white"), "--behind white"),
        (("--on", "SHAPE", "--behind", "white"), "--behind white"),
        (("--on", "BARE"), "no place was named, and it has none"),
        (("--on", "SHAPE", "--insert", "#b08d3c"), "no insert is seen"),
        (("--on", "SHAPE", "--insert-should-look", "#b08d3c"), "no insert is seen"),
        (("--at", "8", "--insert-should-look", "brass"), "no colour"),
        (("--at", "8", "--insert-should-look", "#b08d3c", "--behind", "white"), "--insert-should-look"),
    ],
)
def test_what_cannot_be_is_told_in_a_sentence(refused: Refused, model: Path, shape: Path, asked, says) -> None:
    bare = shape.with_name("bare.shape.json")
    bare.write_text(shape_to_text(replace(shape_of(), places=())))
    said = [str({"SHAPE": shape, "MODEL": model, "BARE": bare}.get(one, one)) for one in asked]
    assert says in refused("look", model, *said)
