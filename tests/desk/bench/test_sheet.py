"""From a recipe file to a batch sheet: files, models, resins, the book's bottles and lots, and the JSON body."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tintmix.book.book import open_book
from tintmix.desk.bench.sheet import Amount, sheet_for
from tintmix.desk.demo import demo
from tintmix.errors import CannotWrite, FileProblem, InUse, NotThere, TintmixError, ValueProblem
from tintmix.optics.difference import delta_e00
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model, save_model
from tintmix.recipes.again import moves, places_of
from tintmix.recipes.recipe_file import Recipe, make_recipe, read_recipe, write_recipe
from tintmix.recipes.solve import solve
from tintmix.recipes.target_file import read_target
from tintmix.resin import Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.errors import CannotBeWeighed, MeasureMissing

Place = Callable[..., Path]
BATCH = Amount(450.0)


@pytest.fixture(autouse=True)
def no_book(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No test looks into the user's own book."""
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "no-book.db"))


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, fitted: Callable[[str], Path]) -> Path:
    """A folder with a model and a recipe of the demo."""
    folder = tmp_path_factory.mktemp("kept")
    shutil.copy(fitted("deck-prism"), folder / "model.json")
    model = load_model(folder / "model.json")
    target = read_target(demo("targets", "sea-green-glass.toml"))
    best = solve(model, target, most=1).proposals[0]
    write_recipe(make_recipe(model, target, best, "sea-green", "model.json"), folder / "recipe.json")
    return folder


@pytest.fixture
def recipe(kept: Path) -> Recipe:
    return read_recipe(kept / "recipe.json")


@pytest.fixture
def model(kept: Path) -> TintModel:
    return load_model(kept / "model.json")


@pytest.fixture
def place(tmp_path: Path, recipe: Recipe, model: TintModel) -> Place:
    """Writes a recipe with some things changed, and the model beside it; the recipe's path."""

    def writing(beside: TintModel | None = model, **changes: Any) -> Path:
        write_recipe(replace(recipe, **changes), tmp_path / "r.json")
        if beside is not None:
            save_model(beside, tmp_path / "model.json")
        return tmp_path / "r.json"

    return writing


def test_the_body_is_that_of_formats(kept: Path) -> None:
    body = sheet_for(kept / "recipe.json", BATCH, ["0.01"]).body
    # Every key that formats.md names, in the shape that stands there.
    assert body["batch_g"] == 450.0
    assert [part["name"] for part in body["parts"]] == ["A", "B"]
    for part in body["parts"]:
        assert {"name", "grams_total", "grams_to_weigh"} <= set(part)
    for pigment in body["pigments"]:
        assert {"pigment", "dose_phr", "grams", "weigh"} <= set(pigment)
        assert {"letdown", "grams"} <= set(pigment["weigh"])
    for made in body["letdowns"]:
        assert {"name", "pigment", "pigment_g", "carrier", "carrier_g", "used_g"} <= set(made)
    assert set(body["achieved_phr"]) == {pigment["pigment"] for pigment in body["pigments"]}
    assert abs(body["mix_ratio_error"]) < 1e-3
    assert 0 < body["delta_e00_95_from_weighing"] <= 0.5
    assert all(isinstance(said, str) for key in ("order", "cautions") for said in body[key])
    assert "100 g of mixed resin" in body["basis"]
    json.dumps(body, allow_nan=False)


def test_masses_balance_and_bottles_name_their_uses(kept: Path) -> None:
    """C₁V₁ = C₂V₂ by mass: what is drawn of a bottle brings the pigment's grams; the carrier counts toward its part."""
    body = sheet_for(kept / "recipe.json", BATCH, ["0.01"]).body
    assert sum(part["grams_total"] for part in body["parts"]) == pytest.approx(450.0, abs=1e-9)
    bottles = {made["name"]: made for made in body["letdowns"]}
    carried = 0.0
    for pigment in body["pigments"]:
        drawn, name = pigment["weigh"]["grams"], pigment["weigh"]["letdown"]
        share = 1.0
        if name is not None:
            made = bottles[name]
            share = made["pigment_g"] / (made["pigment_g"] + made["carrier_g"])
            assert made["used_g"] == pytest.approx(drawn, abs=1e-9)
            carried += drawn * (1 - share)
        assert body["achieved_phr"][pigment["pigment"]] == pytest.approx(100 * drawn * share / 450.0, rel=2e-4)
        assert body["achieved_phr"][pigment["pigment"]] == pytest.approx(pigment["dose_phr"], rel=0.01)
    tinted = next(part for part in body["parts"] if part["name"] == "B")
    assert tinted["grams_to_weigh"] + carried == pytest.approx(tinted["grams_total"], abs=0.005 + 1e-9)


def test_the_colours_are_those_of_look(kept: Path, model: TintModel) -> None:
    body = sheet_for(kept / "recipe.json", BATCH, ["0.01"]).body
    look = model.look(body["achieved_phr"], [8.0, 60.0])
    np.testing.assert_allclose([one["lab"] for one in body["sections"]], look.lab, atol=1e-9)
    np.testing.assert_allclose([one["delta_e00_95"] for one in body["sections"]], look.delta_e00_95, atol=1e-9)
    tinted = body["tinted_part"]
    # physics §14: total over part is 190/90 for this resin.
    assert tinted["times_stronger"] == pytest.approx(190 / 90)
    strong = model.look({name: dose * 190 / 90 for name, dose in body["achieved_phr"].items()}, [10.0, 20.0])
    np.testing.assert_allclose([one["lab"] for one in tinted["looks"]], strong.lab, atol=1e-9)
    assert [one["depth_mm"] for one in tinted["looks"]] == [10.0, 20.0]


def test_moves_foretell_what_a_slip_of_a_dose_does(kept: Path, recipe: Recipe, model: TintModel) -> None:
    """Against `look` itself: 1 % more of one pigment, and 1 % more of one with 1 % less of another."""
    places = places_of(recipe, model, kept)
    doses = dict(recipe.doses_phr)
    found = moves(model, places, doses)
    assert found.shape == (2, 3, len(doses))
    before = model.look(doses, places.sections).lab
    for errors in (np.eye(len(doses))[0], np.eye(len(doses))[-1], np.array([1.0, -1.0, 0.5])):
        slipped = {name: dose * np.exp(0.01 * e) for (name, dose), e in zip(doses.items(), errors, strict=True)}
        seen = delta_e00(before, model.look(slipped, places.sections).lab)
        told = np.linalg.norm(found @ (0.01 * errors), axis=-1)
        np.testing.assert_allclose(told, seen, rtol=0.03, atol=1e-3)


def test_by_volume_and_by_water(kept: Path) -> None:
    """By hand: 400 cm³ × 1.06 g/cm³ × 1.1; 400 g of water at 20 °C are 400.72 cm³ (0.998207 g/cm³)."""
    path = kept / "recipe.json"
    assert sheet_for(path, Amount(volume_cm3=400.0)).body["batch_g"] == pytest.approx(400 * 1.06 * 1.1)
    bare = sheet_for(path, Amount(water_g=400.0, waste_percent=0.0)).body["batch_g"]
    assert bare == pytest.approx(400 / 0.998207 * 1.06, rel=1e-5)


@pytest.mark.parametrize(
    ("amount", "error"),
    [
        (Amount(), ValueProblem),
        (Amount(450.0, 400.0), ValueProblem),
        (Amount(volume_cm3=400.0, water_g=400.0), ValueProblem),
        (Amount(450.0, waste_percent=10.0), ValueProblem),
        (Amount(0.002), ValueProblem),
        (Amount(0.1), CannotBeWeighed),
    ],
)
def test_amounts_that_cannot_be(kept: Path, amount: Amount, error: type[TintmixError]) -> None:
    with pytest.raises(error):
        sheet_for(kept / "recipe.json", amount)


@pytest.mark.parametrize("value", [0.0, -450.0, float("nan"), 1e12])
@pytest.mark.parametrize("key", ["batch_g", "volume_cm3", "water_g"])
def test_amounts_that_are_none(kept: Path, key: str, value: float) -> None:
    with pytest.raises(TintmixError, match=r"it must be from 0\.1 to 1000000"):
        sheet_for(kept / "recipe.json", Amount(**{key: value}))


def test_the_glass_that_was_aimed_at_need_not_be_at_hand(kept: Path, recipe: Recipe) -> None:
    assert "glass" in recipe.target
    assert not list(kept.glob("*.csv"))
    body = sheet_for(kept / "recipe.json", BATCH).body
    assert [one["target_lab"] for one in body["sections"]] == [one["target_lab"] for one in recipe.sections]


def test_the_model_is_found_beside_the_recipe_or_where_it_is_named(kept: Path, tmp_path: Path, place: Place) -> None:
    alone = place(beside=None)
    with pytest.raises(NotThere, match="neither there"):
        sheet_for(alone, BATCH)
    assert sheet_for(alone, BATCH, model=kept / "model.json").body["batch_g"] == 450.0


def test_another_model_is_refused(model: TintModel, tmp_path: Path, place: Place) -> None:
    changed = replace(model, draws_base=model.draws_base * 1.01)
    path = place(beside=changed)
    with pytest.raises(ValueProblem, match="is not the model"):
        sheet_for(path, BATCH)
    with pytest.raises(ValueProblem, match="is not the model"):
        sheet_for(path, BATCH, model=tmp_path / "model.json")


def test_a_recipe_without_resin_asks_for_one(place: Place, tmp_path: Path) -> None:
    path = place(resin=None)
    with pytest.raises(NotThere, match="does not hold its resin"):
        sheet_for(path, BATCH)
    (tmp_path / "resin.toml").write_text(
        'format = 1\nname = "another, invented"\ntakes_pigment = "X"\n[[part]]\nname = "X"\nparts_by_weight = 1\n'
        '[[part]]\nname = "Y"\nparts_by_weight = 1\nhazard = "epoxy resin"\n',
        encoding="utf-8",
    )
    done = sheet_for(path, BATCH, resin=tmp_path / "resin.toml")
    assert [part["grams_total"] for part in done.body["parts"]] == [225.0, 225.0]
    assert any("skin allergy" in said for said in done.body["cautions"])
    assert not any("sentence" in said for said in done.body["cautions"])


def test_another_resin_than_the_recipes_is_told(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "resin.toml").write_text(
        'format = 1\nname = "another, invented"\ntakes_pigment = "X"\nmax_total_phr = 0.01\n'
        '[[part]]\nname = "X"\nparts_by_weight = 1\n[[part]]\nname = "Y"\nparts_by_weight = 1\n',
        encoding="utf-8",
    )
    notes = " ".join(sheet_for(kept / "recipe.json", BATCH, resin=tmp_path / "resin.toml").body["notes"])
    assert "'clear casting resin, invented'; this sheet is for 'another, invented'" in notes
    assert "more than the 0.01 phr" in notes


@pytest.mark.parametrize(
    ("resin", "error"),
    [
        (Resin(), NotThere),
        (Resin(takes_pigment=None), NotThere),
    ],
)
def test_a_resin_that_cannot_be_weighed(place: Place, resin: Resin, error: type[TintmixError]) -> None:
    with pytest.raises(error):
        sheet_for(place(resin=resin), BATCH)


def test_a_resin_that_does_not_say_what_is_tinted(place: Place, recipe: Recipe) -> None:
    assert recipe.resin is not None
    with pytest.raises(NotThere, match="takes_pigment is missing"):
        sheet_for(place(resin=replace(recipe.resin, takes_pigment=None)), BATCH)
    with pytest.raises(MeasureMissing):
        sheet_for(place(resin=replace(recipe.resin, density_g_per_cm3=None)), Amount(volume_cm3=400.0))


def test_a_one_cup_recipe_has_nothing_to_weigh(tmp_path: Path, fitted: Callable[[str], Path]) -> None:
    shutil.copy(fitted("one-cup"), tmp_path / "cup.json")
    model = load_model(tmp_path / "cup.json")
    (tmp_path / "t.toml").write_text("format = 1\n[[section]]\nthickness_mm = 12\nlab = [80, -10, 0]\n")
    target = read_target(tmp_path / "t.toml")
    found = make_recipe(model, target, solve(model, target, most=1).proposals[0], "cup", "cup.json")
    write_recipe(found, tmp_path / "r.json")
    with pytest.raises(ValueProblem, match="whole mix of a cup"):
        sheet_for(tmp_path / "r.json", BATCH)


@pytest.mark.parametrize(
    "changes",
    [
        {"sections": []},
        {"sections": [{"name": "flange"}, {"name": "point"}]},
        {"sections": [{"lab": [1, 2]}, {"lab": "x"}]},
        {"target": {}},
        {"target": {"format": 1, "section": "none"}},
    ],
)
def test_a_recipe_that_does_not_hold_together(place: Place, changes: Mapping[str, Any]) -> None:
    with pytest.raises(FileProblem, match=r"not a recipe"):
        sheet_for(place(**changes), BATCH)


def test_a_light_that_stood_in_a_file_is_asked_for(place: Place, recipe: Recipe) -> None:
    path = place(target={**recipe.target, "light": "lamp.csv"})
    with pytest.raises(TintmixError, match=r"lamp\.csv"):
        sheet_for(path, BATCH)


def test_names_that_are_nowhere(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="no recipe of that name"):
        sheet_for("sea-green", BATCH)
    with pytest.raises(TintmixError, match=r"gone\.json"):
        sheet_for(tmp_path / "gone.json", BATCH)
    with pytest.raises(TintmixError, match="there is no recipe book"):
        sheet_for("sea-green", BATCH, book=tmp_path / "gone.db")


def test_lots(kept: Path) -> None:
    with pytest.raises(ValueProblem, match="emerald"):
        sheet_for(kept / "recipe.json", BATCH, lots={"grene": "A-18"})
    body = sheet_for(kept / "recipe.json", BATCH, lots={"azure": "A-18"}).body
    assert body["lots"]["azure"] == "A-18"
    assert any("lot A-18" in note and "check chip" in note for note in body["notes"])


def test_the_book_gives_recipes_bottles_and_lots(kept: Path, recipe: Recipe, model: TintModel, tmp_path: Path) -> None:
    where = tmp_path / "book.db"
    with open_book(where) as book:
        book.keep(recipe, model)
        book.add_bottle(
            StockBottle("old azure", "azure", "B", 0.5, 20.0, 15.0, "2026-01-01", recipe.lots["azure"], 0.9, 0.01)
        )
        book.set_lot_strength("emerald", recipe.lots["emerald"], None)
        book.set_lot_strength("emerald", recipe.lots["emerald"], 1.25, 0.02)
    done = sheet_for("sea-green", BATCH, ["0.01"], book=where)
    assert done.body["recipe"]["revision"] == 1
    bottle = next(one for one in done.body["letdowns"] if one["pigment"] == "azure")
    assert bottle["existing"]
    assert bottle["name"] == "old azure"
    weights = {one["pigment"]: one for one in done.body["pigments"]}
    # A lot a quarter stronger asks for dose/1.25.
    assert weights["emerald"]["grams"] == pytest.approx(450 * recipe.doses_phr["emerald"] / 100 / 1.25, rel=1e-9)
    assert weights["emerald"]["strength"] == 1.25
    # The file is found in the book too; and the shelf may be left alone.
    again = sheet_for(kept / "recipe.json", BATCH, ["0.01"], book=where, new_bottles=True)
    assert again.body["recipe"]["revision"] == 1
    assert not any(one["existing"] for one in again.body["letdowns"])


def test_a_file_is_written_whole_or_not_at_all(kept: Path, tmp_path: Path) -> None:
    def broken(*_: Any) -> bytes:
        raise MemoryError

    path = kept / "recipe.json"
    with pytest.raises(MemoryError):
        sheet_for(path, BATCH, out=tmp_path / "a.pdf", render=broken)
    with pytest.raises(ValueProblem, match="by the ending of its name"):
        sheet_for(path, BATCH, out=tmp_path / "a.doc", render=broken)
    with pytest.raises(CannotWrite):
        sheet_for(path, BATCH, out=tmp_path / "gone" / "a.pdf", render=broken)
    assert not list(tmp_path.iterdir())
    done = sheet_for(path, BATCH, out=tmp_path / "a.txt", render=lambda sheet, _: sheet.title.encode())
    assert done.written == (str(tmp_path / "a.txt"),)
    assert (tmp_path / "a.txt").read_text() == "sea-green"


def test_what_is_read_is_not_written_over(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "r.txt").write_bytes((kept / "recipe.json").read_bytes())
    with pytest.raises(InUse):
        sheet_for(tmp_path / "r.txt", BATCH, model=kept / "model.json", out=tmp_path / "r.txt", render=lambda _: b"")


def test_what_a_poor_scale_does_is_told_at_the_head(kept: Path) -> None:
    poor = sheet_for(kept / "recipe.json", Amount(300.0), ["0.1"])
    assert not poor.body["meets_aim"]
    assert "0.01 g" in poor.body["notes"][0]
    assert poor.body["advice"][0][1:] == poor.body["notes"][0][1:]


def test_the_same_twice(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    first, second = (sheet_for(kept / "recipe.json", BATCH, ["0.01"]) for _ in range(2))
    assert first.sheet == second.sheet
    assert json.dumps(first.body) == json.dumps(second.body)
    assert first.sheet.made_on == "2026-09-21"
