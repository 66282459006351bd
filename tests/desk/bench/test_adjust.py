"""`adjust` and `lot` at the desk: recipe, model, book and files put together."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tintmix.book.book import open_book
from tintmix.desk.bench.adjust import History, Shop, _shelf, adjust_for
from tintmix.desk.bench.lot import lot_for
from tintmix.desk.bench.trial_reading import TrialReading
from tintmix.desk.demo import demo
from tintmix.desk.solve import solve_for
from tintmix.errors import FileProblem, NotThere, TintmixError, ValueProblem
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.recipes.recipe_file import Recipe, read_recipe, write_recipe
from tintmix.weighing.bottle import StockBottle

RESIN = Path(__file__).resolve().parents[3] / "swatches" / "resins" / "urethane.toml"
MM = 25.0


@pytest.fixture(autouse=True)
def no_book_of_ones_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory, fitted: Callable[[str], Path]) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    shutil.copy(fitted("deck-prism-colours"), folder / "model.json")
    solve_for(folder / "model.json", demo("targets", "sea-green-glass.toml"), 3, None, folder / "recipe.json")
    return folder


@pytest.fixture(scope="module")
def model(shelf: Path) -> TintModel:
    return load_model(shelf / "model.json")


@pytest.fixture(scope="module")
def recipe(shelf: Path) -> Recipe:
    return read_recipe(shelf / "recipe.json")


def read_of(model: TintModel, recipe: Recipe, factors: dict[str, float], mm: float = MM) -> tuple[float, float, float]:
    doses = {p: dose * factors.get(p, 1.0) for p, dose in recipe.doses_phr.items()}
    first, second, third = model.look(doses, [mm]).lab[0].tolist()
    return first, second, third


def advised(shelf: Path, lab: tuple[float, float, float], shop: Shop = Shop(), **history: object) -> dict[str, Any]:
    told = History(**{"left_g": 195.0, "pot_g": 400.0, **history})  # type: ignore[arg-type]
    return adjust_for(shelf / "recipe.json", TrialReading((MM,), (lab,)), told, shop, resin=RESIN)


def test_a_top_up_from_the_recipe_file(shelf: Path, model: TintModel, recipe: Recipe) -> None:
    done = advised(shelf, read_of(model, recipe, {"emerald": 0.82}))
    body = done
    assert body["outcome"] == "top-up"
    assert body["additions"][0]["pigment"] == "emerald"
    assert body["lot_strengths"]["emerald"]["factor"] == pytest.approx(0.82, rel=0.06)
    assert body["doses_in_pot_phr"] == pytest.approx(dict(recipe.doses_phr))
    # 100 parts A to 90 parts B.
    resin = body["mixed_resin_g"] * 90 / 190
    assert body["other_parts"] == [{"name": "A", "grams": pytest.approx(resin * 100 / 90, abs=1e-9)}]
    assert body["pot_life_min"] == 8
    assert any("asthma" in one for one in body["cautions"])


def test_what_was_really_weighed_counts(shelf: Path, model: TintModel, recipe: Recipe) -> None:
    """A pot in which emerald was overweighed by a fifth, and said so, tells of no stronger lot."""
    resin_g = 450 * 90 / 190
    grams = 1.2 * recipe.doses_phr["emerald"] * 450 / 100
    lab = read_of(model, recipe, {"emerald": 1.2})
    said = advised(shelf, lab, batch_g=450.0, weighed=(("emerald 1+50", 51 * grams),))
    unsaid = advised(shelf, lab, batch_g=450.0)
    assert said["doses_in_pot_phr"]["emerald"] == pytest.approx(1.2 * recipe.doses_phr["emerald"])
    assert said["lot_strengths"]["emerald"]["factor"] == pytest.approx(1.0, abs=0.04)
    assert unsaid["lot_strengths"]["emerald"]["factor"] == pytest.approx(1.2, abs=0.06)
    # The same told by the part as it was weighed, without the letdown's carrier.
    part = advised(shelf, lab, part_g=resin_g - 50 * grams, weighed=(("emerald 1+50", 51 * grams),))
    assert part["doses_in_pot_phr"]["emerald"] == pytest.approx(said["doses_in_pot_phr"]["emerald"])


def test_spectra_xyz_and_a_set_s_own_way_of_reading(
    shelf: Path, model: TintModel, recipe: Recipe, tmp_path: Path
) -> None:
    doses = {p: dose * (0.74 if p == "emerald" else 1.0) for p, dose in recipe.doses_phr.items()}
    look = model.look(doses, [MM])
    nm = [float(w) for w in model.wavelengths_nm if 400 <= w <= 700]
    values = [float(v) for w, v in zip(model.wavelengths_nm, look.transmittance[0], strict=True) if 400 <= w <= 700]
    (tmp_path / "trial.csv").write_text(
        "sample," + ",".join(f"{w:g}" for w in nm) + "\ntrial," + ",".join(f"{v:.5f}" for v in values) + "\n"
    )
    history = History(195.0, 400.0)
    first, second, third = look.xyz[0].tolist()
    for told in (
        TrialReading((MM,), spectrum=tmp_path / "trial.csv"),
        TrialReading((MM,), ((first, second, third),), "XYZ"),
        TrialReading((MM,), (read_of(model, recipe, {"emerald": 0.74}),), like=demo("deck-prism-colours")),
    ):
        done = adjust_for(shelf / "recipe.json", told, history, resin=RESIN)
        assert done["outcome"] == "top-up", told
        assert done["lot_strengths"]["emerald"]["factor"] == pytest.approx(0.74, rel=0.07)
    with pytest.raises(ValueProblem, match=r"1 spectrum "):
        adjust_for(
            shelf / "recipe.json", TrialReading((MM, 12.0), spectrum=tmp_path / "trial.csv"), history, resin=RESIN
        )
    with pytest.raises(ValueProblem, match=r"were read as"):
        adjust_for(
            shelf / "recipe.json",
            TrialReading((MM,), ((50.0, 0.0, 0.0),), like=demo("deck-prism")),
            history,
            resin=RESIN,
        )


def test_the_book_s_recipe_lots_and_bottles(shelf: Path, model: TintModel, recipe: Recipe) -> None:
    with open_book() as book:
        book.keep(replace(recipe, name="sea green", lots={"emerald": "G-2"}), model)
        book.set_lot_strength("emerald", "G-2", 1.25, 0.03)
        book.add_bottle(StockBottle("emerald 1+40", "emerald", "B", 1.0, 40.0, 30.0, lot="G-2"))
    # The sheet divided emerald by 1.25, so that the pot holds what was wanted, and it is just a bit weak.
    lab = read_of(model, recipe, {"emerald": 0.85})
    done = adjust_for("sea green", TrialReading((MM,), (lab,)), History(195.0, 400.0), resin=RESIN)
    assert done["doses_in_pot_phr"]["emerald"] == pytest.approx(recipe.doses_phr["emerald"] / 1.25)
    assert done["lots"] == {"emerald": "G-2"}
    assert 1.0 < done["lot_strengths"]["emerald"]["factor"] < 1.25
    assert "emerald 1+40" in {one["letdown"] for one in done["additions"]}
    with pytest.raises(ValueProblem, match="no pigment 'lilac'"):
        adjust_for("sea green", TrialReading((MM,), (lab,)), History(195.0), Shop(lots={"lilac": "L"}), resin=RESIN)


def test_what_was_weighed_from_a_bottle_is_of_the_bottle_s_lot(shelf: Path, recipe: Recipe) -> None:
    with open_book() as book:
        book.set_lot_strength("emerald", "G-2", 0.807, 0.02)
        book.add_bottle(StockBottle("emerald 1+75", "emerald", "B", 1.0, 75.0, 30.0, lot="G-1"))
        lots = {"emerald": "G-2"}
        # Not named: it stays on the shelf, as on the sheet.
        assert _shelf(book, recipe, lots, (), "B", "") == ((), {"emerald": (0.807, 0.02)})
        stocks, strengths = _shelf(book, recipe, lots, ("emerald 1+75",), "B", "")
    assert [one.name for one in stocks] == ["emerald 1+75"]
    assert strengths == {}
    assert lots == {"emerald": "G-1"}


def test_nothing_is_written(shelf: Path, model: TintModel, recipe: Recipe, tmp_path: Path) -> None:
    before = sorted(path.name for path in shelf.iterdir())
    advised(shelf, read_of(model, recipe, {"emerald": 0.82}))
    assert sorted(path.name for path in shelf.iterdir()) == before
    assert not (tmp_path / "book.db").exists()


def test_bad_input(
    shelf: Path, model: TintModel, recipe: Recipe, fitted: Callable[[str], Path], tmp_path: Path
) -> None:
    lab = read_of(model, recipe, {})
    with pytest.raises(ValueProblem, match=r"were made"):
        advised(shelf, lab, batch_g=300.0)
    with pytest.raises(ValueProblem, match=r"how much of part"):
        advised(shelf, lab, weighed=(("emerald", 0.1),))
    with pytest.raises(ValueProblem, match=r" g; it must be"):
        advised(shelf, lab, batch_g=-3.0)
    trial = TrialReading((MM,), (lab,))
    write_recipe(replace(recipe, resin=None), shelf / "no-resin.json")
    with pytest.raises(FileProblem, match=r"cannot be worked out"):
        adjust_for(shelf / "no-resin.json", trial, History(195.0))
    with pytest.raises(NotThere, match="no such file"):
        adjust_for("nowhere", trial, History(195.0), resin=RESIN)
    for bad in (TrialReading((), ()), TrialReading((MM,), ()), TrialReading((MM, 12.0), (lab,))):
        with pytest.raises(ValueProblem, match=r"reading"):
            adjust_for(shelf / "recipe.json", bad, History(195.0), resin=RESIN)
    with pytest.raises(ValueProblem, match=r"thickness is"):
        adjust_for(shelf / "recipe.json", TrialReading((0.0,), (lab,)), History(195.0), resin=RESIN)
    alone = tmp_path / "alone"
    alone.mkdir()
    write_recipe(replace(recipe, model_file="gone.json"), alone / "recipe.json")
    with pytest.raises(NotThere, match="neither there"):
        adjust_for(alone / "recipe.json", trial, History(195.0), resin=RESIN)
    with pytest.raises(ValueProblem, match="is not the model"):
        adjust_for(alone / "recipe.json", trial, History(195.0), model=fitted("deck-prism"), resin=RESIN)


# Lots ------------------------------------------------------------------------------------------------------------------


def read_of_doses(model: TintModel, doses: dict[str, float], mm: float) -> tuple[float, float, float]:
    first, second, third = model.look(doses, [mm]).lab[0].tolist()
    return first, second, third


def check_chip(model: TintModel, factor: float, dose: float = 0.08) -> TrialReading:
    return TrialReading((12.0,), (read_of_doses(model, {"emerald": dose * factor}, 12.0),))


def test_a_check_chip_tells_the_lot_and_a_second_refines_it(shelf: Path, model: TintModel) -> None:
    path = shelf / "model.json"
    first = lot_for(
        path, {"emerald": 0.08}, check_chip(model, 1.2), {"emerald": "E-9"}, keep=True, read_on="2025-03-01"
    )
    one = first["strengths"]["emerald"]
    assert one["factor"] == pytest.approx(1.2, rel=0.04)
    assert "stronger than the pigment of the chips" in first["says"]
    assert first["kept"] == ["emerald lot E-9"]
    second = lot_for(path, {"emerald": 0.08}, check_chip(model, 1.2), {"emerald": "E-9"}, keep=True)
    two = second["strengths"]["emerald"]
    assert two["spread"] < one["spread"]
    assert second["started_from"]["emerald"]["factor"] == pytest.approx(one["factor"])
    with open_book(create=False) as book:
        assert book.lot_strengths({"emerald": "E-9"}).get("emerald") == pytest.approx((two["factor"], two["spread"]))
        chips = book.check_chips("emerald", "E-9")
    assert len(chips) == 2
    assert chips[0].read_on == "2025-03-01"


def test_a_bottle_s_strength_is_kept(shelf: Path, model: TintModel) -> None:
    with open_book() as book:
        book.add_bottle(StockBottle("emerald 1+20", "emerald", "B", 2.0, 40.0, 30.0))
    done = lot_for(shelf / "model.json", {"emerald": 0.08}, check_chip(model, 0.9), bottle="emerald 1+20", keep=True)
    assert done["kept"] == ["emerald 1+20"]
    with open_book(create=False) as book:
        (bottle,) = book.bottles("emerald")
    assert bottle.strength == pytest.approx(0.9, rel=0.04)


def test_a_lot_as_strong_as_the_last_and_a_chip_that_tells_nothing(shelf: Path, model: TintModel) -> None:
    same = lot_for(shelf / "model.json", {"emerald": 0.08}, check_chip(model, 1.0))
    assert "weigh as before" in same["says"]
    pale = lot_for(shelf / "model.json", {"emerald": 0.0004}, check_chip(model, 1.0, 0.0004))
    assert any("hardly tells" in note for note in pale["notes"])
    assert "weigh" not in pale["says"]


@pytest.mark.parametrize(
    ("read", "cause"),
    [
        ([({"azure": 0.08}, 12.0)], "what differs most there is its hue"),
        ([({"emerald": 0.08, "rose": 0.01}, 12.0)], "what differs most there is how light it is"),
        ([({"emerald": 0.3}, 12.0)], "strengths far from what is known"),
        ([({"emerald": 0.08}, 6.0), ({"emerald": 0.08}, 20.0)], "chips of the cup contradict each other"),
    ],
)
def test_a_check_cup_that_no_likely_strength_explains_is_told_why_and_not_weighed_by(
    shelf: Path, model: TintModel, read: list[tuple[dict[str, float], float]], cause: str
) -> None:
    """Another pigment; a second one in it; four times the dose; the second chip is 20 mm thick, not 12."""
    labs = tuple(read_of_doses(model, doses, mm) for doses, mm in read)
    done = lot_for(shelf / "model.json", {"emerald": 0.08}, TrialReading((6.0, 12.0)[-len(labs) :], labs))
    assert cause in done["says"]
    assert "weigh its dose" not in done["says"]
    assert "weigh as before" not in done["says"]
    assert done["strengths"]["emerald"]["factor"] is None
    assert any(note.startswith("before you weigh by it, ") for note in done["notes"])


def test_sound_check_chips_are_weighed_by(shelf: Path, model: TintModel) -> None:
    """Lots of a spread of 30 %, weighed to 2 %, read to 0.3: of 20, at least 18 are (one in 17 should not be)."""
    rng = np.random.default_rng(5003)
    weighed = 0
    for _ in range(20):
        factor = float(np.exp(0.3 * rng.normal()) * (1 + 0.02 * rng.normal()))
        first, second, third = read_of_doses(model, {"emerald": 0.08 * factor}, 12.0)
        noise = 0.3 * rng.normal(size=3)
        lab = (first + noise[0], second + noise[1], third + noise[2])
        weighed += "weigh" in lot_for(shelf / "model.json", {"emerald": 0.08}, TrialReading((12.0,), (lab,)))["says"]
    assert weighed >= 18


def test_a_reading_that_nothing_explains_is_not_kept(shelf: Path, tmp_path: Path) -> None:
    odd = TrialReading((12.0,), ((60.0, 60.0, -40.0),))
    done = lot_for(shelf / "model.json", {"emerald": 0.08}, odd, {"emerald": "E-9"}, keep=True)
    assert done["kept"] == []
    assert done["notes"][0] == "nothing was kept in the book of this chip."
    assert not (tmp_path / "book.db").exists()


def test_a_bottle_s_second_chip_refines_the_first(shelf: Path, model: TintModel) -> None:
    path, name = shelf / "model.json", "emerald 1+20"
    with open_book() as book:
        book.add_bottle(StockBottle(name, "emerald", "B", 2.0, 40.0, 30.0))
    one, two = (lot_for(path, {"emerald": 0.08}, check_chip(model, 0.9), bottle=name, keep=True) for _ in range(2))
    assert two["started_from"]["emerald"]["factor"] == pytest.approx(one["strengths"]["emerald"]["factor"])
    assert two["strengths"]["emerald"]["spread"] < one["strengths"]["emerald"]["spread"]
    # What is known well is not called hardly known because the third chip adds little.
    three = lot_for(path, {"emerald": 0.08}, check_chip(model, 0.9), bottle=name, keep=True)
    assert three["notes"] == []


def test_bottles_of_another_strength_or_carrier_are_left_on_the_shelf(
    shelf: Path, model: TintModel, recipe: Recipe
) -> None:
    with open_book() as book:
        book.add_bottle(StockBottle("emerald 1+20", "emerald", "A", 2.0, 40.0, 30.0))
        book.add_bottle(StockBottle("emerald 1+30", "emerald", "B", 2.0, 60.0, 30.0))
        book.set_bottle_strength("emerald 1+30", 0.7, 0.02)
    done = advised(shelf, read_of(model, recipe, {"emerald": 0.82}))
    assert all(one["make_first"] for one in done["additions"])
    with open_book() as book:
        book.set_bottle_strength("emerald 1+30", 0.98, 0.02)
    done = advised(shelf, read_of(model, recipe, {"emerald": 0.82}))
    assert [one["letdown"] for one in done["additions"]] == ["emerald 1+30"]


def test_a_book_s_recipe_written_out_finds_its_model(
    shelf: Path, model: TintModel, recipe: Recipe, tmp_path: Path
) -> None:
    """As `book show --out sea.json` writes the two: sea.json and sea-model.json."""
    write_recipe(replace(recipe, model_file=""), tmp_path / "sea.json")
    (tmp_path / "sea-model.json").write_bytes((shelf / "model.json").read_bytes())
    trial = TrialReading((MM,), (read_of(model, recipe, {}),))
    assert adjust_for(tmp_path / "sea.json", trial, History(195.0), resin=RESIN)["outcome"] == "keep"


def test_bad_lots(shelf: Path, model: TintModel, tmp_path: Path) -> None:
    path = shelf / "model.json"
    with pytest.raises(ValueProblem, match=r"lot of emerald"):
        lot_for(path, {"emerald": 0.08}, check_chip(model, 1.0), keep=True)
    with pytest.raises(TintmixError, match="no pigment 'lilac'"):
        lot_for(path, {"lilac": 0.08}, check_chip(model, 1.0))
    for keep in (False, True):
        with pytest.raises(TintmixError):
            lot_for(path, {"emerald": 0.08}, check_chip(model, 1.0), bottle="no such", keep=keep)
    with pytest.raises(TintmixError):
        lot_for(path, {"emerald": 0.08}, check_chip(model, 1.0), {"emerald": "G"}, book=tmp_path / "no.db")
    for spread in (-0.03, 50.0, float("nan")):
        with pytest.raises(ValueProblem, match=r"strength|weighed"):
            lot_for(path, {"emerald": 0.08}, check_chip(model, 1.0), weigh_spread=spread)
    assert not (tmp_path / "book.db").exists()
    with open_book() as book:
        book.add_bottle(StockBottle("azure 1+20", "azure", "B", 2.0, 40.0, 30.0))
    with pytest.raises(ValueProblem, match="holds azure"):
        lot_for(path, {"emerald": 0.08}, check_chip(model, 1.0), bottle="azure 1+20", keep=True)
