from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest

from tests.faces.conftest import Call, Refused, undocumented
from tintmix.desk.demo import demo
from tintmix.faces.cli.commands import solve as face
from tintmix.pigments.model_file import load_model

PROPOSAL = {
    "doses_phr",
    "total_phr",
    "worst_delta_e00",
    "rms_delta_e00",
    "chance_within_tolerance",
    "sections",
    "delta_e00_per_5_percent",
    "under",
}
"""formats.md, `solve --json`."""
SECTION = {
    "name",
    "thickness_mm",
    "lab",
    "target_lab",
    "tolerance",
    "delta_e00",
    "delta_e00_95",
    "luminous_transmittance",
    "haze_percent",
}


def test_json_has_the_shape_of_the_contract(call: Call, model: Path, target: Path) -> None:
    said = call("solve", model, target, "--most", "3", "--json")
    assert said.status == 0
    assert said.err == ""
    body = said.json
    assert not undocumented("solve", body)
    assert set(body) >= {"outcome", "says", "binding", "proposals", "seconds"}
    assert body["outcome"] == "reached"
    assert 1 <= len(body["proposals"]) <= 3
    for one in body["proposals"]:
        assert set(one) >= PROPOSAL
        assert set(one["delta_e00_per_5_percent"]) == set(one["doses_phr"])
        assert set(one["under"]) == {"A", "LED-B3"}
        assert all(set(place) >= SECTION for place in one["sections"])
        assert one["total_phr"] == pytest.approx(sum(one["doses_phr"].values()))
        assert one["sections"][1]["luminous_transmittance"] >= 0.08 - 1e-6
    ratios = [max(p["delta_e00"] / p["tolerance"] for p in one["sections"]) for one in body["proposals"]]
    assert ratios == sorted(ratios)


def test_a_recipe_looks_as_solve_says(call: Call, model: Path, target: Path) -> None:
    best = call("solve", model, target, "--json").json["proposals"][0]
    doses = [part for name, dose in best["doses_phr"].items() for part in ("--dose", f"{name}={dose!r}")]
    look = call("look", model, *doses, "--at", "8", "--at", "60", "--json").json
    for here, there in zip(look["sections"], best["sections"], strict=True):
        np.testing.assert_allclose(here["lab"], there["lab"], atol=1e-6)
        assert here["luminous_transmittance"] == pytest.approx(there["luminous_transmittance"], abs=1e-9)


def test_one_that_cannot_be_is_an_answer(call: Call, model: Path) -> None:
    said = call("solve", model, demo("targets", "cannot-meet-both.toml"), "--json")
    assert said.status == 0
    assert said.json["outcome"] == "short"
    assert said.json["binding"]
    assert all(one["under"] is None for one in said.json["proposals"])


def test_no_dose_meets_the_limits(call: Call, model: Path, tmp_path: Path) -> None:
    target = tmp_path / "target.toml"
    target.write_text(
        "format = 1\n[[section]]\nthickness_mm = 60\nlab = [80, -10, 0]\n[limits]\nluminous_transmittance = 0.95\n"
    )
    said = call("solve", model, target, "--json")
    assert said.status == 0
    assert said.json["outcome"] == "none"
    assert said.json["proposals"] == []
    text = call("solve", model, target)
    assert text.status == 0
    assert "95 %" in text.out


def test_nothing_to_keep_where_there_is_no_recipe(call: Call, refused: Refused, model: Path, tmp_path: Path) -> None:
    target, kept = tmp_path / "target.toml", tmp_path / "recipe.json"
    target.write_text(
        "format = 1\n[[section]]\nthickness_mm = 60\nlab = [80, -10, 0]\n[limits]\nluminous_transmittance = 0.95\n"
    )
    assert "recipe.json" in refused("solve", model, target, "--keep", kept)
    assert not kept.exists()


def test_keep_and_picture(call: Call, model: Path, target: Path, tmp_path: Path) -> None:
    kept, drawn = tmp_path / "sea.json", tmp_path / "sea.png"
    said = call("solve", model, target, "--keep", kept, "--picture", drawn, "--json")
    assert said.status == 0, said
    recipe = json.loads(kept.read_text(encoding="utf-8"))
    best = said.json["proposals"][0]
    # formats.md, recipe.json.
    assert set(recipe) >= {
        "format",
        "name",
        "doses_phr",
        "resin",
        "target",
        "sections",
        "limits",
        "lots",
        "model",
        "chips",
        "model_file",
        "made_by",
        "made_at",
    }
    assert recipe["name"] == "sea"
    assert recipe["doses_phr"] == best["doses_phr"]
    assert recipe["model"] == load_model(model).digest()
    assert recipe["model_file"] == str(model)
    assert drawn.stat().st_size > 1000
    assert sorted(path.name for path in tmp_path.iterdir()) == ["sea.json", "sea.png"]


def test_the_same_question_has_the_same_answer(
    call: Call, model: Path, target: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        call("solve", model, target, "--keep", tmp_path / name / "recipe.json")
    assert (tmp_path / "one" / "recipe.json").read_bytes() == (tmp_path / "two" / "recipe.json").read_bytes()


def test_text(call: Call, model: Path, target: Path) -> None:
    said = call("solve", model, target, "--most", "2")
    assert said.status == 0
    assert said.err == ""
    for word in ("phr", "worst ΔE00", "chance", "flange", "point", "light through", "5 % wrong", "Under A", "Deepest"):
        assert word in said.out
    assert all(len(line) <= 100 for line in said.out.splitlines())
    short = call("solve", model, demo("targets", "cannot-meet-both.toml"))
    assert short.status == 0
    assert "cannot be reached" in short.out


def test_an_insert_section(call: Call, model: Path) -> None:
    said = call("solve", model, demo("targets", "brass-ring.toml"), "--json")
    assert said.status == 0
    assert [place["name"] for place in said.json["proposals"][0]["sections"]] == ["flange", "ring", "point"]
    # swatches/targets/README.md: the wanted colours are those of a tint of these pigments, so it can be reached.
    assert said.json["outcome"] == "reached"


def test_bar_comes_after_two_seconds_and_goes_away(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    seconds = [0.0]
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    bar = face.Bar("searching", lambda: seconds[0])
    bar.show(0.1)
    assert terminal.getvalue() == ""
    seconds[0] = 2.5
    bar.show(0.5)
    assert "50 %" in terminal.getvalue()
    bar.clear()
    assert terminal.getvalue().endswith("\r")
