from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.faces.conftest import Call, Refused, undocumented
from tintmix.desk.demo import demo
from tintmix.pigments.model_file import load_model

BODY = {
    "chips",
    "cups",
    "pigments",
    "fit_delta_e00",
    "left_out_delta_e00",
    "modes",
    "defaults_used",
    "warnings",
    "seconds",
}
"""formats.md, `fit --json`."""


def test_json_has_the_shape_of_the_contract(call: Call, tmp_path: Path) -> None:
    said = call("fit", demo("deck-prism"), "--model", tmp_path / "m.json", "--json")
    assert said.status == 0
    assert said.err == ""
    body = said.json
    assert not undocumented("fit", body)
    assert set(body) >= BODY
    assert all(set(chip) >= {"chip", "delta_e00", "doubted"} for chip in body["chips"])
    assert all(set(cup) >= {"cup", "dose_factor", "doubted"} for cup in body["cups"])
    for pigment in body["pigments"].values():
        assert set(pigment) >= {"highest_phr", "departure", "readings_that_would_help"}
        assert set(pigment["departure"]) == {"k", "log_evidence", "used"}
    for key in ("fit_delta_e00", "left_out_delta_e00"):
        assert set(body[key]) == {"median", "p95", "worst"}
    # swatches/deck-prism/README.md: v2-12 is the wrong one.
    assert [chip["chip"] for chip in body["chips"] if chip["doubted"]] == ["v2-12"]
    assert load_model(tmp_path / "m.json").pigments == ("azure", "emerald", "rose", "violet", "lemon")


def test_text_names_the_wrong_chip_and_the_defaults(call: Call, tmp_path: Path) -> None:
    said = call("fit", demo("deck-prism"), "--model", tmp_path / "m.json")
    assert said.status == 0
    for word in (
        "60 chips of 20 cups",
        "strongest chip",
        "Beer's law",
        "chip v2-12",
        "reading_spread 0.003",
        "Written:",
        "further cup",
    ):
        assert word in said.out
    assert all(len(line) <= 100 for line in said.out.splitlines())


def test_pictures(call: Call, tmp_path: Path) -> None:
    names = ("m.json", "strengths.svg", "chips.pdf")
    model, strengths, chips = (tmp_path / name for name in names)
    said = call("fit", demo("one-cup"), "--model", model, "--picture", strengths, "--residuals", chips)
    assert said.status == 0, said
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)


def test_two_sets_make_one_model(call: Call, tmp_path: Path) -> None:
    said = call("fit", demo("deck-prism"), demo("deck-prism-colours"), "--model", tmp_path / "m.json", "--json")
    assert said.status == 0, said
    assert len({chip["set"] for chip in said.json["chips"]}) == 2
    assert len(said.json["chips"]) > 60


def test_a_set_may_be_named_by_its_file(call: Call, tmp_path: Path) -> None:
    said = call("fit", demo("one-cup") / "set.toml", "--model", tmp_path / "m.json", "--json")
    assert said.status == 0, said


def test_the_same_chips_give_the_same_model(call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    models = []
    for name in ("one.json", "two.json"):
        call("fit", demo("one-cup"), "--model", tmp_path / name)
        models.append(load_model(tmp_path / name))
    assert models[0].digest() == models[1].digest()


def test_a_refit_replaces_the_model_and_a_failed_one_leaves_it(call: Call, refused: Refused, tmp_path: Path) -> None:
    where = tmp_path / "m.json"
    call("fit", demo("one-cup"), "--model", where)
    before = where.read_bytes()
    broken = tmp_path / "broken"
    shutil.copytree(demo("one-cup"), broken)
    (broken / "chips.csv").write_text("chip,thickness_mm,mix_phr,L,a,b\nm,3,1,80,nan,2\n")
    refused("fit", broken, "--model", where)
    assert where.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["broken", "m.json"]
    assert call("fit", demo("one-cup"), "--model", where).status == 0
