"""`tintmix adjust` and `tintmix lot` as a maker calls them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tintmix.desk.demo import demo
from tintmix.desk.solve import solve_for
from tintmix.faces.cli.main import COMMANDS
from tintmix.pigments.model_file import load_model

Call = Callable[..., Any]
Refused = Callable[..., str]
RESIN = Path(__file__).resolve().parents[3] / "swatches" / "resins" / "urethane.toml"


@pytest.fixture(autouse=True)
def no_book_of_ones_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))


@pytest.fixture(scope="module")
def recipe(model: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("recipes") / "recipe.json"
    solve_for(model, demo("targets", "sea-green-glass.toml"), 3, None, path)
    return path


@pytest.fixture(scope="module")
def readings(model: Path, recipe: Path) -> Callable[..., str]:
    """L*a*b* at 25 mm of the recipe with a pigment so many times too strong, as it is typed."""
    learnt, doses = load_model(model), json.loads(recipe.read_text())["doses_phr"]

    def reading(mm: float = 25.0, **factors: float) -> str:
        lab = learnt.look({p: d * factors.get(p, 1.0) for p, d in doses.items()}, [mm]).lab[0]
        return ",".join(f"{v:.1f}" for v in lab)

    return reading


def test_the_commands_are_listed_after_the_sheet() -> None:
    names = list(COMMANDS)
    assert names.index("sheet") < names.index("adjust") < names.index("lot")


def test_a_top_up_reads_like_advice_at_the_bench(call: Call, recipe: Path, readings: Callable[..., str]) -> None:
    said = call("adjust", recipe, "--left", "195 g", "--pot", "400", "--resin", RESIN, "--at", "25mm",
                "--lab", readings(emerald=0.82))  # fmt: skip
    assert said.status == 0, said
    for words in (
        "Top it up. Stir", "of emerald", "1. Make the stock bottle emerald 1+", "Stir tinted part B to the bottom.", "Weigh in",
        "A trial opens part A: gloves and goggles on", "shut again at once", "Only then open part A for the pot",
        "flange", "60 mm", "Strength of the lots", "once part A is in, 8 minutes are left",
    ):  # fmt: skip
        assert " ".join(words.split()) in " ".join(said.out.split()), (words, said.out)


def test_json_and_every_outcome(call: Call, recipe: Path, readings: Callable[..., str]) -> None:
    basic = ("adjust", recipe, "--resin", RESIN, "--at", "25", "--json")
    keep = call(*basic, "--left", "195", "--lab", readings()).json
    assert keep["outcome"] == "keep"
    assert keep["additions"] == []
    thin = call(*basic, "--left", "195", "--pot", "400", "--lab", readings(emerald=1.2)).json
    assert thin["outcome"] == "dilute"
    assert thin["untinted_part"]["name"] == "B"
    assert thin["untinted_part"]["grams"] > 5
    assert thin["chance_within_tolerance"]["adjusted"] > 0.9
    full = call(*basic, "--left", "195", "--pot", "196", "--lab", readings(emerald=1.4)).json
    assert full["outcome"] == "dilute"
    assert full["set_aside_g"] > 5
    assert 190 < full["tinted_part_g"] <= 196
    again = call(
        *basic,
        "--left",
        "195",
        "--batch",
        "450",
        "--weighed",
        "emerald=1.06",
        "--as-weighed",
        "--lab",
        readings(emerald=8),
    ).json
    assert again["outcome"] == "start again"
    assert again["costs"]["start_again"]["resin_g"] > 190
    assert again["costs"]["adjust"] is None
    late = call(*basic, "--left", "195", "--mixed", "12", "--lab", readings(emerald=0.8)).json
    assert late["outcome"] == "too late"
    assert late["next_doses_phr"]["emerald"] > 0
    assert late["order"] == []
    assert set(keep) == set(thin) == set(full) == set(again) == set(late)


def test_text_of_the_other_outcomes(call: Call, recipe: Path, readings: Callable[..., str]) -> None:
    basic = ("adjust", recipe, "--resin", RESIN, "--at", "25", "--left", "195")
    far = (*basic, "--batch", "450", "--weighed", "emerald=1.06", "--lab", readings(emerald=8), "--price", "resin=0.02",
           "--price", "azure=0.2", "--price", "emerald=0.2", "--price", "rose=0.3")  # fmt: skip
    assert "say with --as-weighed" in call(*far).err
    again = call(*far, "--as-weighed")
    assert "start again" in again.out.lower()
    assert "in money" in again.out
    late = call(*basic, "--mixed", "12 min", "--lab", readings(emerald=0.8))
    assert late.out.startswith("Too late: mixed 12 minutes ago, and its pot life is 8.")
    keep = call(*basic, "--lab", readings())
    assert "Leave it: it is likely within tolerance" in keep.out
    out = " ".join(call(*basic, "--pot", "196", "--lab", readings(emerald=1.4)).out.split())
    assert "dilute it. Take " in out
    assert "of it out, into a closed jar with a label" in out
    assert "What it takes from the shelf, besides what it is mixed with: to adjust: " in out


def test_beside_a_reading_that_is_hardly_possible_no_chance_is_told(
    call: Call, recipe: Path, readings: Callable[..., str]
) -> None:
    """A chip of 12 mm that is said to be 25 mm thick, and one of quite another colour: what to do stands under the doubt."""
    basic = ("adjust", recipe, "--resin", RESIN, "--at", "25", "--left", "195", "--pot", "400", "--lab")
    for lab in (readings(12.0), "60,60,-40"):
        body = call(*basic, lab, "--json").json
        assert body["surprise"] > 2.5
        assert set(body["chance_within_tolerance"].values()) == {None}
        assert {one["chance_within_tolerance"] for one in body["sections_before"] + body["sections_after"]} == {None}
        assert body["says"].startswith("read the chip again first")
        assert not body["order"] or body["order"][0].startswith("Read the trial chip again. Only if")
        out = call(*basic, lab).out
        assert "in 100" not in out.replace("in g per 100 g", "")
        assert "Strength of the lots" not in out
    assert None not in call(*basic, readings(), "--json").json["chance_within_tolerance"].values()


def test_a_resin_of_one_part_and_one_of_a_hardener_by_the_drop(
    call: Call, recipe: Path, readings: Callable[..., str], tmp_path: Path
) -> None:
    """No other part is spoken of where there is none; what is little is weighed on the finer scale."""
    head = 'format = 1\nname = "r"\nrefractive_index = 1.5\ndensity_g_per_cm3 = 1.1\npot_life_min = 20\n'
    one, drops = tmp_path / "one.toml", tmp_path / "drops.toml"
    part = '[[part]]\nname = "{}"\nparts_by_weight = {}\nhazard = "{}"\n'
    one.write_text(head + 'takes_pigment = "all"\n' + part.format("all", 100, "epoxy resin"))
    drops.write_text(
        head + 'takes_pigment = "A"\n' + part.format("A", 100, "styrene") + part.format("B", 2, "peroxide")
    )
    basic = ("adjust", recipe, "--at", "25", "--left", "60", "--pot", "100", "--lab", readings(emerald=1.2))
    alone = " ".join(call(*basic, "--resin", one).out.split())
    assert "dilute it. Stir" in alone
    assert "then open" not in alone
    assert "minutes are left" not in alone
    assert "All of it takes" not in alone
    said = call(*basic, "--resin", drops, "--json").json
    assert said["other_parts"][0]["grams"] == pytest.approx(said["mixed_resin_g"] * 2 / 102, abs=1e-9)
    assert f"{said['other_parts'][0]['grams']:.2f} g of part B" in said["says"]


def test_a_forgotten_pigment_and_the_bottle_at_hand(call: Call, recipe: Path, readings: Callable[..., str]) -> None:
    """What the recipe holds may go in although none is in the pot; the bottle that the pot was tinted from comes first."""
    basic = ("adjust", recipe, "--resin", RESIN, "--at", "25", "--left", "195", "--batch", "450", "--json")
    forgotten = call(*basic, "--weighed", "emerald=0", "--lab", readings(emerald=0)).json
    assert forgotten["outcome"] == "top-up"
    assert "emerald" in {one["pigment"] for one in forgotten["additions"]}
    weak = call(*basic, "--weighed", "emerald 1+50=6.9", "--as-weighed", "--lab", readings(emerald=0.82)).json
    (one,) = [one for one in weak["additions"] if one["pigment"] == "emerald"]
    assert one["letdown"] == "emerald 1+50"
    assert one["make_first"] is None


def test_the_history_and_more_chips(call: Call, recipe: Path, readings: Callable[..., str]) -> None:
    said = call(
        "adjust", recipe, "--resin", RESIN, "--left", "195", "--batch", "450", "--weighed", "emerald 1+50=6,5",
        "--weighed", "rose=0.037", "--as-weighed", "--at", "25", "--lab", readings(), "--at", "12", "--lab", readings(12.0),
        "--scale", "pigment=0.001", "--strength", "emerald=1.0:5", "--also", "azure", "--need", "400", "--json",
    )  # fmt: skip
    body = said.json
    assert len(body["trial"]) == 2
    assert body["doses_in_pot_phr"]["emerald"] == pytest.approx(100 * 6.5 / 51 / 450)
    assert body["doses_in_pot_phr"]["rose"] == pytest.approx(100 * 0.037 / 450)


def test_a_lot(call: Call, model: Path) -> None:
    lab = ",".join(f"{v:.1f}" for v in load_model(model).look({"emerald": 0.08 * 1.2}, [12.0]).lab[0])
    said = call("lot", model, "--dose", "emerald=0.08", "--at", "12", "--lab", lab, "--lot", "emerald=E-9", "--keep")
    assert said.status == 0, said
    assert "Emerald lot E-9 is" in said.out
    assert "stronger than the pigment of the chips" in " ".join(said.out.split())
    assert "Kept in the book: emerald lot E-9." in said.out
    body = call("lot", model, "--dose", "emerald=0.08", "--at", "12", "--lab", lab, "--json").json
    assert body["strengths"]["emerald"]["factor"] == pytest.approx(1.2, rel=0.05)
    assert body["kept"] == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--at", "0", "--lab", "70,0,0", "--left", "195"), "thickness is"),
        (("--at", "-4", "--lab", "70,0,0", "--left", "195"), "thickness is"),
        (("--at", "2000", "--lab", "70,0,0", "--left", "195"), "thickness is"),
        (("--at", "12", "--lab", "170,0,0", "--left", "195"), "Read the chip again"),
        (("--at", "12", "--lab", "-1,-24,3", "--left", "195"), "L* lies from 0"),
        (("--at", "12", "--xyz", "0,40,30", "--left", "195"), "no light has such"),
        (("--at", "12", "--lab", "70,0", "--left", "195"), "three"),
        (("--at", "12", "--left", "195"), "Give one reading for each chip"),
        (("--at", "12", "--lab", "70,0,0", "--xyz", "40,40,40", "--left", "195"), "two ways"),
        (("--at", "12", "--lab", "70,0,0", "--left", "-5"), "must be from"),
        (("--at", "12", "--lab", "70,0,0", "--left", "a lot"), "is not a number"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--pot", "100"), "what it holds when full"),
        (("--at", "12", "--lab", "70,0,0", "--left", "500", "--batch", "450"), "Weigh the pot again"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--batch", "450", "--weighed", "emerald=-1"), "must be 0, or from"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--batch", "450", "--weighed", "lilac 1+9=1"), "no pigment"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--batch", "450", "--weighed", "emerald"), "names no weight"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--weighed", "emerald=0.1"), "--part"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--mixed", "-1"), "minutes"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--also", "lilac"), "lilac"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--lot", "lilac=L"), "lilac"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--strength", "emerald"), "azure=1.08:3"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--strength", "emerald=0"), "must be from 0.05 to 20"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--price", "emerald=-1"), "price"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--price", "lilac=1"), "lilac"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--price", "rose=1", "--price", "rose=2"), "rose is named twice"),
        (("--at", "12", "--lab", "70,0,0", "--left", "1e308"), "must be from"),
        (("--at", "12", "--lab", "70,0,0", "--left", "0.05"), "too little for a scale"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--batch", "450", "--part", "200"), "told twice"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--batch", "450", "--weighed", "emerald 1+1=600"), "brought 300 g"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--revision", "2"), "--revision"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--book", "nowhere.db"), "nowhere.db"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--light", "A", "--read-as", "{demo}"), "Leave out --light"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--lot-spread", "0"), "spread"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--light", "sunny"), "sunny"),
        (("--at", "12", "--spectrum", "nowhere.csv", "--left", "195"), "nowhere.csv"),
        (("--at", "12", "--camera", "0.5,0.5,0.5", "--left", "195"), "camera"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--model", "nowhere.json"), "nowhere.json"),
        (("--at", "12", "--lab", "70,0,0", "--left", "195", "--scale", "heavy"), "heavy"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence(refused: Refused, recipe: Path, options: tuple[str, ...], words: str) -> None:
    options = tuple(one.replace("{demo}", str(demo("deck-prism-colours"))) for one in options)
    assert words in refused("adjust", recipe, "--resin", RESIN, *options)


def test_bad_recipes(refused: Refused, tmp_path: Path, recipe: Path) -> None:
    basic = ("--at", "12", "--lab", "70,0,0", "--left", "195", "--resin", RESIN)
    refused("adjust", tmp_path / "nowhere.json", *basic)
    refused("adjust", "nowhere", *basic)
    table = json.loads(recipe.read_text())
    (tmp_path / "other.json").write_text(json.dumps({**table, "model": "0" * 48}))
    assert "model" in refused("adjust", tmp_path / "other.json", *basic)
    (tmp_path / "gone.json").write_text(json.dumps({**table, "model_file": "gone-model.json"}))
    assert "gone-model.json" in refused("adjust", tmp_path / "gone.json", *basic)
    (recipe.parent / "bare.json").write_text(json.dumps({**table, "resin": None}))
    assert "--resin" in refused("adjust", recipe.parent / "bare.json", *basic[:-2])


def test_bad_lots(refused: Refused, model: Path, cup: Path) -> None:
    refused("lot", model, "--dose", "emerald=0", "--at", "12", "--lab", "70,0,0")
    refused("lot", model, "--dose", "lilac=1", "--at", "12", "--lab", "70,0,0")
    refused("lot", model, "--dose", "emerald=0.1", "--at", "12", "--lab", "70,0,0", "--keep")
    refused("lot", model, "--dose", "emerald=0.1", "--at", "12", "--lab", "70,0,0", "--lot", "emerald")
    assert "one cup" in refused("lot", cup, "--dose", "mix=1", "--at", "12", "--lab", "70,0,0")
