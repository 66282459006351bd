"""`tintmix shape` as a user calls it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
import trimesh

from tests.faces.conftest import Call, Refused
from tintmix.shape.bodies import deck_prism, ring
from tintmix.shape.shape_file import read_shape
from tintmix.shape.solid import Solid


def written(path: Path, solid: Solid) -> Path:
    trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False).export(path)
    return path


@pytest.fixture
def prism(tmp_path: Path) -> Path:
    return written(tmp_path / "prism.stl", deck_prism())


@pytest.fixture(autouse=True)
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Quick: what is asked here is not how exact the picture is."""
    from tintmix.desk import shape

    whole = shape.traced
    monkeypatch.setattr(shape, "traced", lambda *args: whole(*args[:3], 48, 2, 0))


@pytest.fixture
def resin(tmp_path: Path) -> Path:
    path = tmp_path / "resin.toml"
    path.write_text('format = 1\nname = "clear"\nrefractive_index = 1.52\ndensity_g_per_cm3 = 1.06\n')
    return path


def test_json_has_the_shape_of_the_contract(call: Call, prism: Path, resin: Path, tmp_path: Path) -> None:
    out = tmp_path / "prism.shape.json"
    said = call(
        "shape", prism, "--unit", "mm", "--out", out, "--resin", resin, "--waste", "10 %", "--point", "hub=0,1,0", "--json"
    )  # fmt: skip
    assert said.status == 0, said
    assert said.err == ""
    body = said.json
    assert body["volume_cm3"] == pytest.approx(110.158431, rel=1e-6)
    assert body["resin_g"] == pytest.approx(110.158431 * 1.06 * 1.1, rel=1e-6)
    assert (body["watertight"], body["triangles"], body["lit"], body["view"]) == (True, 36, "panel", [0, 0, -1])
    assert body["bounds_mm"][0][2] == pytest.approx(-60, abs=1e-4)
    assert {"samples", "cut_off", "dark_by_shape", "places", "warnings"} <= set(body)
    assert [place["name"] for place in body["places"]] == ["palest", "typical", "deepest", "hub"]
    assert set(body["places"][0]) >= {"name", "path_mm", "straight_mm", "standard_error"}
    assert set(body["places"][0]["path_mm"]) == {"p5", "median", "mean", "p95"}
    shape = read_shape(out)
    assert shape.refractive_index == 1.52
    assert shape.place("deepest").straight_mm == body["places"][2]["straight_mm"]
    assert shape.mesh.file == "prism.stl"


def test_text_says_the_same(call: Call, prism: Path) -> None:
    said = call("shape", prism, "--unit", "mm", "--view", "0;0,0;-1", "--lit", "sky")
    assert said.status == 0, said
    assert "36 triangles, 103.9 × 90 × 60 mm, 110.2 cm³" in said.out
    assert "deepest" in said.out
    assert "dark by its shape" in " ".join(said.out.split())


def test_an_insert(call: Call, prism: Path, tmp_path: Path) -> None:
    inner = written(tmp_path / "ring.ply", ring(across_mm=30, middle_mm=(0, 0, -15)))
    out = tmp_path / "sub" / "p.shape.json"
    out.parent.mkdir()
    said = call(
        "shape", prism, "--unit", "mm", "--insert-mesh", inner, "--insert", "lab=62,8,45", "--out", out, "--json"
    )
    assert said.status == 0, said
    assert said.json["resin_cm3"] == pytest.approx(110.158 - 1.307, abs=0.01)
    insert = read_shape(out).insert
    assert insert is not None
    assert (insert.mesh.file, insert.colour) == ("../ring.ply", {"insert_lab": [62.0, 8.0, 45.0]})


def test_a_resin_without_density_tells_no_grams(call: Call, prism: Path, tmp_path: Path) -> None:
    path = tmp_path / "resin.toml"
    path.write_text('format = 1\nname = "clear"\n')
    body = call("shape", prism, "--unit", "mm", "--resin", path, "--json").json
    assert body["resin_g"] is None
    assert "no density" in body["warnings"][0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "does not say its unit. Say it with --unit mm, cm, m or inch."),
        (["--unit", "m"], "castings are 0.5 to 2000 mm"),
        (["--unit", "feet"], "'feet' is not one of"),
        (["--unit", "mm", "--view", "0,0,0"], "the view: its direction has no length"),
        (["--unit", "mm", "--view", "0,0"], "'0,0' is not three numbers"),
        (["--unit", "mm", "--point", "rim=80,0,0"], "point 'rim': it lies"),
        (["--unit", "mm", "--point", "rim=49,40,-4"], "beside the casting, as it is seen from there"),
        (["--unit", "mm", "--point", "a=0,0,0", "--point", "a=1,0,0"], "a is named twice"),
        (["--unit", "mm", "--point", "deepest=0,0,0"], "point 'deepest'"),
        (["--unit", "mm", "--insert", "#b08d3c"], "--insert goes with --insert-mesh"),
        (["--unit", "mm", "--waste", "-5"], "waste"),
        (["--unit", "mm", "--resin", "none.toml"], "no such file"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_one_sentence_and_nothing_is_written(
    refused: Refused, prism: Path, tmp_path: Path, arguments: list[str], said: str
) -> None:
    before = sorted(tmp_path.iterdir())
    assert said in refused("shape", prism, "--out", tmp_path / "a.shape.json", *arguments)
    assert sorted(tmp_path.iterdir()) == before


def test_bad_meshes(call: Call, refused: Refused, tmp_path: Path, prism: Path) -> None:
    out = tmp_path / "a.shape.json"
    said = refused("shape", tmp_path / "none.stl", "--unit", "mm", "--out", out)
    assert "no such file" in said
    broken = tmp_path / "broken.stl"
    broken.write_bytes(prism.read_bytes()[:700])
    assert "not an STL file" in refused("shape", broken, "--unit", "mm", "--out", out)
    solid = deck_prism()
    text = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False).export(file_type="stl_ascii")
    broken.write_text(text.replace("facet normal 0", "facet normal ?", 1))
    assert call("shape", broken, "--unit", "mm").err == ""  # its own normals are not needed
    broken.write_text(text.replace("vertex 0", "vertex ?", 3))
    assert "cannot be read as STL" in refused("shape", broken, "--unit", "mm", "--out", out)
    high = written(tmp_path / "ring.stl", ring(across_mm=30))
    said = refused("shape", prism, "--unit", "mm", "--insert-mesh", high, "--out", out)
    assert "sticks out of the casting" in said
    assert not out.exists()


def test_the_mesh_is_not_written_over(refused: Refused, prism: Path) -> None:
    assert "being read" in refused("shape", prism, "--unit", "mm", "--out", prism)


def test_without_embreex_it_says_what_is_missing(
    refused: Refused, prism: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "embreex.rtcore_scene", None)
    said = refused("shape", prism, "--unit", "mm")
    assert "embreex, and it is not installed here" in said
    assert "pip install embreex" in said


def test_without_trimesh_it_says_what_is_missing(
    refused: Refused, prism: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "trimesh", None)
    assert "trimesh, and it is not installed here" in refused("shape", prism, "--unit", "mm")
