"""The same stock bottle for chips, trial and casting: plan, shelf, sheet, adjustment, pour, and the sheet of next year."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tintmix.chips.folder import read_chips, write_chips
from tintmix.desk.bench.adjust import History, Shop, adjust_for
from tintmix.desk.bench.sheet import Amount, SheetDone, sheet_for
from tintmix.desk.bench.trial_reading import TrialReading
from tintmix.desk.book.pours import Weighed, record
from tintmix.desk.book.recipes import keep
from tintmix.desk.book.shelf import bottles, shelve_plan
from tintmix.desk.fit import fit_sets
from tintmix.desk.plan.plan import Order, Planned, plan_chips
from tintmix.desk.solve import solve_for
from tintmix.errors import FileProblem, InUse, NotThere
from tintmix.optics.difference import delta_e00
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model

RESIN = Path(__file__).resolve().parents[3] / "swatches" / "resins" / "urethane.toml"
PLACES_MM = (8.0, 40.0)
REALLY = (1.25, 0.8)
"""What each bottle holds of its pigment, against its label: somebody read the scale wrong when it was made."""
BATCH_G = 450.0
THIS_YEAR, NEXT_YEAR = "1790000000", "1821500000"
"""SOURCE_DATE_EPOCH: 2026-09-21 and 2027-09-21."""


@dataclass(frozen=True)
class Made:
    """What came of the first steps. truth: what the pigments really do; wanted: L*a*b* at the places."""

    folder: Path
    plan: Planned
    truth: TintModel
    off: Mapping[str, float]
    wanted: np.ndarray[Any, Any]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, fitted: Callable[[str], Path]) -> Made:
    folder = tmp_path_factory.mktemp("one-bottle")
    truth = load_model(fitted("deck-prism-colours"))
    names = truth.pigments[:2]
    off = dict(zip(names, REALLY, strict=True))
    doses = {names[0]: 0.02, names[1]: 0.015}
    order = Order(doses, PLACES_MM, (3.0, 12.0, 25.0), cups=6)
    plan = plan_chips(folder / "chips", replace(order, moulds=replace(order.moulds, batch_g=3 * BATCH_G)), None, RESIN)
    assert {one.pigment for one in plan.pours.letdowns} == set(names)
    chips = read_chips(folder / "chips")
    read = []
    for chip in chips.chips:
        held = {name: dose * off[name] for name, dose in zip(names, chip.doses_phr, strict=True)}
        colour = truth.look(held, [chip.thickness_mm]).lab[0]
        read.append(replace(chip, values=tuple(float(v) for v in colour)))
    write_chips(replace(chips, chips=tuple(read)), folder / "chips")
    fit_sets([folder / "chips"], folder / "model.json")
    wanted = truth.look(doses, list(PLACES_MM)).lab
    sections = "".join(
        f'[[section]]\nname = "{mm:g} mm"\nthickness_mm = {mm}\ntolerance = 2.0\nlab = {lab.tolist()}\n'
        for mm, lab in zip(PLACES_MM, wanted, strict=True)
    )
    (folder / "target.toml").write_text("format = 1\n" + sections, encoding="utf-8")
    solve_for(folder / "model.json", folder / "target.toml", keep=folder / "recipe.json")
    return Made(folder, plan, truth, off, wanted)


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", THIS_YEAR)
    return tmp_path / "book.db"


def cast(made: Made, sheet: SheetDone, from_bottle: bool = True) -> float:
    """How far off the casting really is (ΔE00, the worst place), weighed as the sheet asks. from_bottle: with the error that the
    planned bottles have; else as if they were what their labels say."""
    off = made.off if from_bottle else dict.fromkeys(made.off, 1.0)
    held = {name: dose * off[name] for name, dose in sheet.sheet.weighed.achieved_phr.items()}
    return float(delta_e00(made.truth.look(held, list(PLACES_MM)).lab, made.wanted).max())


def left_of(book: Path) -> dict[str, float]:
    return {one["name"]: one["left_g"] for one in bottles(book=book).body["bottles"]}


def test_one_bottle_all_the_way(made: Made, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    planned = {one.pigment: one for one in made.plan.pours.letdowns}
    done = shelve_plan(made.folder / "chips", book=book)
    for pigment, one in planned.items():
        # What the cups took is gone from it.
        assert left_of(book)[one.name] == pytest.approx(one.total_g - one.used_g, abs=1e-6)
        assert one.name in done.body["says"]
        assert one.used_g == pytest.approx(
            sum(w.grams for pour in made.plan.pours.pours for w in pour.weigh if w.pigment == pigment)
        )
    keep(made.folder / "recipe.json", book, name="sea", model=made.folder / "model.json")

    # The sheet takes the pigment from the bottles of the chips, and says so.
    sheet = sheet_for("sea", Amount(batch_g=BATCH_G), book=book)
    weighed = {one["pigment"]: one["weigh"] for one in sheet.body["pigments"]}
    assert {name: one["letdown"] for name, one in weighed.items()} == {p: one.name for p, one in planned.items()}
    assert all(one["existing"] for one in sheet.body["letdowns"])
    assert not any("how bottle" in line["what"] and line["delta_e00"] > 1e-3 for line in sheet.body["budget"])
    # Their own error, 25 % and 20 %, cancels; from other bottles it would not.
    assert cast(made, sheet) < 1.0
    assert cast(made, sheet, from_bottle=False) > 2.0

    # A tinted part that came out pale is topped up from the same bottles.
    held = {name: 0.75 * dose * made.off[name] for name, dose in sheet.sheet.weighed.achieved_phr.items()}
    read = made.truth.look(held, [12.0]).lab[0]
    history = History(left_g=180.0, pot_g=400.0)
    trial = TrialReading((12.0,), (tuple(read.tolist()),))
    adjusted = adjust_for("sea", trial, history, Shop(book=book))
    assert adjusted["outcome"] == "top-up"
    used = {one["letdown"]: one["weigh_g"] for one in adjusted["additions"]}
    assert used
    assert set(used) <= set(left_of(book))
    assert all(one["existing"] and one["make_first"] is None for one in adjusted["additions"])
    assert any("the bottle that is there already" in step for step in adjusted["order"])

    # What was taken is gone when the pour is recorded.
    before = left_of(book)
    taken = {one["letdown"]: one["grams"] for one in weighed.values()}
    record("sea", Weighed(BATCH_G, from_bottles=taken), book=book)
    after = left_of(book)
    assert after == pytest.approx({name: grams - taken[name] for name, grams in before.items()})

    # Next year the same bottles still serve, as old as they are, with what is left in them; then they are empty.
    monkeypatch.setenv("SOURCE_DATE_EPOCH", NEXT_YEAR)
    again = sheet_for("sea", Amount(batch_g=BATCH_G), book=book)
    for one in again.body["letdowns"]:
        assert one["existing"]
        assert 364 <= one["age_days"] <= 366
        assert one["left_g"] == pytest.approx(after[one["name"]] - one["used_g"])
    assert cast(made, again) == pytest.approx(cast(made, sheet), abs=1e-9)
    record("sea", Weighed(BATCH_G, from_bottles=after), book=book, as_weighed=True)
    assert left_of(book) == {}
    fresh = sheet_for("sea", Amount(batch_g=BATCH_G), book=book)
    assert not any(one["existing"] for one in fresh.body["letdowns"])


def test_all_bottles_or_none_and_only_once(made: Made, book: Path) -> None:
    shelve_plan(made.folder / "chips", book=book)
    held = left_of(book)
    with pytest.raises(InUse, match="on the shelf already"):
        shelve_plan(made.folder / "chips", book=book)
    assert left_of(book) == held


def test_what_is_no_plan_or_says_too_little_is_refused(tmp_path: Path, book: Path) -> None:
    with pytest.raises(NotThere, match="no stock bottles are planned"):
        shelve_plan(tmp_path, book=book)
    head = "bottle,pigment,lot,carrier,pigment_g,carrier_g,used_g\n"
    for text, problem in (
        ("a,b\n1,2\n", "columns"),
        (head + "azure 1+50,azure,,,0.4,20,3\n", "is diluted in is not said"),
        (head + "azure 1+50,azure,,B,much,20,3\n", "row 2"),
        (head + 2 * "azure 1+50,azure,,B,0.4,20,3\n", "twice"),
    ):
        (tmp_path / "bottles.csv").write_text(text, encoding="utf-8")
        with pytest.raises(FileProblem, match=problem):
            shelve_plan(tmp_path, book=book)
    (tmp_path / "bottles.csv").write_text(head + "azure 1+50,azure,,,0.4,20,3\n", encoding="utf-8")
    shelve_plan(tmp_path, "B", book=book)
    assert left_of(book) == {"azure 1+50": pytest.approx(17.4)}
