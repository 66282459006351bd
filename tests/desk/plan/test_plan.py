"""A plan as a folder: what is written, what is weighed, and that the readers take it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.desk.fit import fit_sets
from tintmix.desk.plan.folder import alone_in_new
from tintmix.desk.plan.plan import Order, Planned, plan_chips, planned
from tintmix.errors import CannotWrite, InUse, Remedy, ValueProblem
from tintmix.faces.cli.commands.plan import told
from tintmix.pigments.design.advice import NOT_WHILE_AT_ODDS
from tintmix.pigments.fit import fit
from tintmix.pigments.health import health
from tintmix.pigments.model_file import load_model, save_model
from tintmix.resin import Part, Resin
from tintmix.weighing.cups import _ROUGH

RESIN = Resin(
    "clear casting resin, invented",
    density_g_per_cm3=1.06,
    takes_pigment="B",
    parts=(Part("A", 100, "isocyanate"), Part("B", 90)),
)
ORDER = Order({"azure": 0.02, "emerald": 0.01}, (8.0, 60.0), (3.0, 12.0))


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Planned, Path]:
    folder = tmp_path_factory.mktemp("plan") / "chips"
    return plan_chips(folder, ORDER), folder


@pytest.fixture(scope="module")
def cup_model(fitted: Callable[[str], Path]) -> Path:
    return fitted("one-cup")


@pytest.fixture(scope="module")
def model(fitted: Callable[[str], Path]) -> Path:
    return fitted("deck-prism-colours")


def test_the_folder_is_a_chip_set_without_readings(done: tuple[Planned, Path]) -> None:
    plan, folder = done
    assert sorted(path.name for path in folder.iterdir()) == ["README.md", "bottles.csv", "chips.csv", "set.toml"]
    chips = read_chips(folder)
    assert chips.chips == plan.chips.chips
    assert not any(chip.is_read for chip in chips.chips)
    assert chips.reading.kind == "colour"
    assert {pigment.name: pigment.stock for pigment in chips.pigments}["azure"].startswith("1+")
    assert len({chip.cup for chip in chips.chips}) == 6
    assert len(chips.chips) == 12


def test_the_folder_survives_being_filled_in_and_fitted(done: tuple[Planned, Path], tmp_path: Path) -> None:
    _, folder = done
    filled = tmp_path / "filled"
    filled.mkdir()
    (filled / "set.toml").write_bytes((folder / "set.toml").read_bytes())
    lines = (folder / "chips.csv").read_text().splitlines()
    at = lines[0].split(",").index("L")
    out = [lines[0]]
    for number, line in enumerate(lines[1:]):
        cells = line.split(",", at + 3)
        cells[at : at + 3] = [str(85 - 2 * number), str(-number), str(number / 2)]
        out.append(",".join(cells))
    (filled / "chips.csv").write_text("\n".join(out) + "\n")
    fitted = fit_sets([filled], tmp_path / "m.json")
    assert fitted.model.pigments == ("azure", "emerald")


def test_the_page_holds_what_the_bench_needs(done: tuple[Planned, Path]) -> None:
    plan, folder = done
    page = (folder / "README.md").read_text(encoding="utf-8")
    for words in (
        "allergic",
        "heats itself",
        "data sheet is right",
        "Stock bottles",
        "by difference",
        "meniscus",
        "check chips",
        "post-cure",
        "Then fit chips.",
    ):
        assert words in page, words
    for cup in plan.body["cups"]:
        assert f"| {cup['cup']} |" in page
        for weighing in cup["weigh"]:
            assert f"{weighing['shown']} {weighing['letdown'] or weighing['pigment']}" in page
            assert float(weighing["shown"].removesuffix(" g")) == weighing["grams"]


def test_what_is_weighed_gives_the_dose_that_is_written(done: tuple[Planned, Path]) -> None:
    plan, _ = done
    bottles = {d["name"]: d for d in plan.body["letdowns"]}
    for cup in plan.body["cups"]:
        for weighing in cup["weigh"]:
            pigment = weighing["grams"]
            if weighing["letdown"]:
                bottle = bottles[weighing["letdown"]]
                pigment *= bottle["pigment_g"] / (bottle["pigment_g"] + bottle["carrier_g"])
            assert cup["doses_phr"][weighing["pigment"]] == pytest.approx(100 * pigment / cup["resin_g"], rel=1e-3)
            assert weighing["grams"] == pytest.approx(round(weighing["grams"] / 0.01) * 0.01)
            # Rougher ones are told of; here nothing is.
            assert weighing["relative_spread"] <= _ROUGH
    assert not plan.pours.warnings


def test_a_guess_says_that_it_is_one() -> None:
    found = planned(Order({"azure": None, "emerald": 0.02}, (8.0, 60.0)), None, Resin())
    assert list(found.body["defaults_used"]["part_phr"]) == ["azure"]
    assert any("guess" in str(warning) for warning in found.warnings)
    assert found.body["defaults_used"]["cast_mm"] == [3.0, 6.0, 12.0, 25.0]


def test_any_thickness_up_to_one(tmp_path: Path) -> None:
    found = planned(Order({"azure": 0.01}, (8.0, 60.0), cast_to_mm=25.0), None, Resin())
    thick = {chip["thickness_mm"] for cup in found.body["cups"] for chip in cup["chips"]}
    assert max(thick) == 25.0
    assert thick <= {25.0, 12.0, 6.0, 3.0}


def test_a_trial_cup_brings_the_strength(cup_model: Path, tmp_path: Path) -> None:
    order = Order({"a": 0.01, "b": 0.02}, (8.0, 60.0), (12.0,))
    found = plan_chips(tmp_path / "chips", order, cup_model)
    assert found.body["new_pigments"] == ["a", "b"]
    with pytest.raises(ValueProblem, match="dose of b"):
        plan_chips(tmp_path / "other", Order({"a": 0.01, "b": None}, (8.0,)), cup_model)
    with pytest.raises(ValueProblem, match="no pigment is named") as caught:
        plan_chips(tmp_path / "other", Order({}, (8.0,)), cup_model)
    assert caught.value.remedy == Remedy.NAME_THE_PIGMENTS_OF_THE_CUP


def test_more_cups_for_a_model(model: Path, tmp_path: Path) -> None:
    found = plan_chips(tmp_path / "more", Order({}, (8.0, 60.0), (3.0, 12.0)), model)
    assert len(found.body["cups"]) == 2
    for one in found.body["expected"]:
        typical = one["typical_delta_e00"]
        assert 0 < typical["two_cups_more"] <= typical["after"] < typical["before"]
        assert typical["starter_set"] is None
        assert one["half_of_sets"] is None
    # The fit's own advice and the plan judge by one function.
    overall, told = found.body["overall"], load_model(model).report
    assert overall["before"] == pytest.approx(told["forecast"]["typical_delta_e00"], rel=1e-6)
    assert f"now about {overall['before']:.1f} ΔE00" in overall["says"]
    # Its own places are told instead, where they can be.
    assert overall["says"] not in found.readme
    assert overall["after"] < overall["before"]
    assert "together with the chips" in found.readme
    chips: ChipSet = found.chips
    for cup in found.body["cups"]:
        assert cup["cup"].rpartition("-")[0] == "+".join(cup["doses_phr"])
    assert [chip.name for chip in chips.chips][:2] == [f"{chips.chips[0].cup} {mm} mm" for mm in (3, 12)]


def test_an_unknown_camera_is_planned_for_as_the_models_own_is(tmp_path: Path) -> None:
    sim = make_set(3, "camera", camera="drawn", panel_known=False, doses=(0.06,), dose_error=0.02)
    save_model(fit(to_chipset(sim)), tmp_path / "m.json")
    read = load_model(tmp_path / "m.json")
    assert read.camera_latents is not None
    order = Order({}, (12.0, 30.0), kind="camera", light="unknown")
    same = planned(order, read, Resin()).body
    other = planned(order, dataclasses.replace(read, camera_latents=None), Resin()).body
    # Another camera would err otherwise, and so tell more of the pigments: the same one is not promised to.
    assert same["overall"]["before"] == other["overall"]["before"] == read.report["forecast"]["typical_delta_e00"]
    assert other["overall"]["after"] < same["overall"]["after"] < same["overall"]["before"]
    assert same["defaults_used"]["cast_mm"] == [3.0, 12.0]


def test_cups_of_a_second_plan_are_not_taken_for_the_firsts(model: Path) -> None:
    named = load_model(model)
    order = Order({}, (8.0, 60.0), (3.0, 12.0))
    first = [cup["cup"] for cup in planned(order, named, Resin()).body["cups"]]
    named = dataclasses.replace(named, report={**named.report, "cups": [{"cup": name} for name in first]})
    second = [cup["cup"] for cup in planned(order, named, Resin()).body["cups"]]
    assert not set(first) & set(second)
    assert [name.rpartition("-")[0] for name in first] == [name.rpartition("-")[0] for name in second]


@pytest.mark.parametrize("kind", ["camera", "spectrum"])
def test_other_readings(kind: str, tmp_path: Path) -> None:
    order = Order({"azure": 0.02}, (4.0, 20.0), (3.0, 10.0), kind=kind)  # type: ignore[arg-type]
    plan_chips(tmp_path / "chips", order)
    chips = read_chips(tmp_path / "chips")
    assert chips.reading.kind == kind
    assert len(chips.chips) == (4 if kind == "spectrum" else 8)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "chips.csv").write_text("mine")
    with pytest.raises(InUse):
        plan_chips(tmp_path / "taken", ORDER)
    assert (tmp_path / "taken" / "chips.csv").read_text() == "mine"
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InUse):
        plan_chips(tmp_path / "file", ORDER)
    with pytest.raises(CannotWrite):
        plan_chips(tmp_path / "no" / "such", ORDER)
    (tmp_path / "empty").mkdir()
    plan_chips(tmp_path / "empty", ORDER)


@pytest.mark.parametrize(
    ("order", "problem"),
    [
        (Order({}, (8.0,)), ValueProblem),
        (Order({"mix": 1.0}, (8.0,)), ValueProblem),
        (Order({"azure": 0.0}, (8.0,)), ValueProblem),
        (Order({"azure": float("nan")}, (8.0,)), ValueProblem),
        (Order({"azure": 0.01}, ()), ValueProblem),
        (Order({"azure": 0.01}, (0.0,)), ValueProblem),
        (Order({"azure": 0.01}, (8.0,), cast_to_mm=0.0), ValueProblem),
        (Order({"azure": 0.01}, (8.0,), cast_mm=(3.0,), cast_to_mm=12.0), ValueProblem),
        (Order({"azure": 0.01}, (8.0,), cups=1), ValueProblem),
        (Order({f"p{n}": 0.01 for n in range(13)}, (8.0,)), ValueProblem),
        (Order({"a,b": 0.01}, (8.0,)), ValueProblem),
        (Order({"azure": 0.01}, (8.0,), light="nowhere"), ValueProblem),
        (Order({"azure": 0.01}, (8.0,), kind="camera", camera="other.csv"), ValueProblem),
    ],
)
def test_orders_that_cannot_be(order: Order, problem: type[Exception], tmp_path: Path) -> None:
    with pytest.raises(problem):
        plan_chips(tmp_path / "chips", order)
    assert not (tmp_path / "chips").exists()


def test_of_chips_that_contradict_each_other_no_figure_is_promised(model: Path) -> None:
    sound = load_model(model)
    doubts = health([True, True, False], set_up=[])
    at_odds = dataclasses.replace(sound, report=sound.report | {"health": doubts.as_table()})
    done = planned(Order({}, (8.0, 30.0), cups=2), at_odds, Resin())
    assert doubts.says in done.warnings
    assert done.body["expected"] == []
    assert done.body["overall"] == {"before": None, "after": None, "says": NOT_WHILE_AT_ODDS}
    for page in (told(done.body | {"folder": "two", "files": [], "holder": None}), done.readme):
        assert NOT_WHILE_AT_ODDS in " ".join(page.split())
        assert "ΔE00" not in page.split("What to expect")[-1]


def test_of_two_plans_for_one_new_folder_one_is_written(tmp_path: Path) -> None:
    def second() -> None:
        with alone_in_new(tmp_path / "new"):
            raise AssertionError("both are in it")

    with ThreadPoolExecutor(1) as pool:
        with alone_in_new(tmp_path / "new"):
            told = pool.submit(second)
            (tmp_path / "new" / "set.toml").write_text("", encoding="utf-8")
        with pytest.raises(InUse):
            told.result()
    with pytest.raises(ZeroDivisionError), alone_in_new(tmp_path / "other"):
        raise ZeroDivisionError
    assert [path.name for path in tmp_path.iterdir()] == ["new"]
