"""The batch sheet as a value: order of work, weights in their places, what is told of bottles, scales and parts."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import Part, Resin
from tintmix.sheet.lines import Blank, Kind, Line, Step, shown
from tintmix.sheet.looks import CupLook, Looks, PlaceLook, stronger
from tintmix.sheet.sheet import FINGERPRINT, Sheet, make_sheet, matters
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import Scale, scales_from_text
from tintmix.weighing.weigh import weigh_out
from tintmix.weighing.weighed import WeighOut

URETHANE = Resin(
    name="clear casting resin, invented",
    density_g_per_cm3=1.06,
    takes_pigment="B",
    pot_life_min=8,
    demould_h=24,
    cure="24 h at 23 °C",
    parts=(Part("A", 100, "isocyanate"), Part("B", 90, "none")),
)
LOTS = {"azure": "A-17", "emerald": "E-04"}
PLACE = PlaceLook("flange", 8.0, "panel", (80, -10, 2), "#aaccbb", 0.6, 0.3, 0.2, (81, -10, 2), "#abcdba", 2.0, 0.7)
LOOKS = Looks(
    "D65",
    10,
    (PLACE,),
    tuple(CupLook(depth, (70, -20, 3), "#88bbaa", 0.4, False, False) for depth in (10.0, 20.0)),
    ((4.0, "#ddeedd"), (8.6, "#aaccbb")),
    (),
)


def recipe(doses: dict[str, float], resin: Resin = URETHANE) -> Recipe:
    return Recipe("sea-green", doses, resin, {}, [], {}, LOTS, "m" * 64, "c" * 64, "model.json")


def sheet_of(
    doses: dict[str, float] | None = None,
    resin: Resin = URETHANE,
    batch_g: float = 450.0,
    scales: Sequence[str] = ("0.01",),
    shelf: Sequence[StockBottle] = (),
    looks: Looks = LOOKS,
) -> tuple[Sheet, WeighOut]:
    doses = {"azure": 0.021, "emerald": 0.034} if doses is None else doses
    moves = 8.0 * np.ones((1, 3, len(doses)))
    weighed = weigh_out(
        doses, resin, batch_g, scales_from_text(scales), moves=moves, shelf=shelf, today="2026-12-01", lots=LOTS
    )
    made = make_sheet(recipe(doses, resin), resin, weighed, looks, LOTS, "2026-12-01", "tintmix 0", revision=3)
    return made, weighed


def steps(sheet: Sheet) -> list[Step]:
    return [step for stage in sheet.stages for step in stage.steps]


def step(sheet: Sheet, words: str) -> Step:
    found = [one for one in steps(sheet) if words in one.title]
    assert len(found) == 1, (words, [one.title for one in steps(sheet)])
    return found[0]


def test_it_says_what_it_is_of() -> None:
    sheet, _ = sheet_of()
    assert (sheet.title, sheet.revision, sheet.made_on) == ("sea-green", 3, "2026-12-01")
    assert recipe({"azure": 0.021, "emerald": 0.034}).digest().startswith(sheet.fingerprint)
    assert len(sheet.fingerprint) == FINGERPRINT
    assert sheet.headline == "450 g of mixed clear casting resin, invented"
    assert {one.hazard for one in sheet.cautions} == {"isocyanate", "all"}


def test_the_order_of_work_is_that_of_common_practice() -> None:
    """Issue 4, item 2: tint first, look, trial, then the clock and the moisture-sensitive part, mix, degas, pour."""
    titles = [one.title for one in steps(sheet_of()[0])]
    words = ["Get ready", "Make the stock bottle", "Stock bottle azure", "Weigh part B", "Add the pigment to part B", "Stir",
             "Look at tinted part B", "trial chip", "Lay everything out", "Add part A", "Mix", "Degas", "Pour",
             "Cure"]  # fmt: skip
    places = [next(i for i, title in enumerate(titles) if word in title) for word in words]
    assert places == sorted(places)
    clock = [stage for stage in sheet_of()[0].stages if stage.clock]
    assert [stage.title for stage in clock] == ["CLOCK STARTS: 8 minutes"]
    assert clock[0].steps[0].title == "Add part A"


def test_every_weight_is_on_a_line_as_its_scale_shows_it() -> None:
    sheet, weighed = sheet_of(scales=("resin=0.1", "pigment=0.01"))
    lines = [line for one in steps(sheet) if "trial" not in one.title for line in one.lines]
    weights = [one.grams_to_weigh for one in weighed.parts] + [one.weigh_g for one in weighed.pigments]
    for made in weighed.letdowns:
        weights += [made.first_g, made.carrier_g]
    assert sorted(line.grams for line in lines) == sorted(weights)
    for line in lines:
        assert float(line.shown.removesuffix(" g")) == pytest.approx(line.grams, abs=1e-9)


def test_a_trial_for_the_white_tile_is_no_thicker_than_the_chips_were() -> None:
    told = [" ".join(map(str, step(sheet_of(looks=replace(LOOKS, thickest_trial_mm=mm))[0], "trial chip").says))
            for mm in (None, 4.0)]  # fmt: skip
    assert "8 mm thick" in told[0]
    assert "tile" not in told[0]
    assert "4 mm thick" in told[1]
    assert "No thicker" in told[1]


def test_the_mass_of_the_parts_is_whole() -> None:
    """What is weighed of a part and what its stock bottles bring make its share, within half a step (measures.md)."""
    sheet, weighed = sheet_of()
    tinted = weighed.tinted_part
    told = step(sheet, "Weigh part B")
    assert told.lines[0].grams == tinted.grams_to_weigh
    assert tinted.grams_to_weigh + tinted.carrier_g == pytest.approx(450 * 90 / 190, abs=0.005 + 1e-9)
    assert f"{tinted.carrier_g:.2f} g of part B. That is taken off" in " ".join(told.says)


def test_what_belongs_to_a_gram_of_tinted_part() -> None:
    """Part A over part B with its pigment: by hand, 450·100/190 over 450·90/190 + 450·0.055/100 (no lot strengths)."""
    sheet, _ = sheet_of()
    by_hand = (450 * 100 / 190) / (450 * 90 / 190 + 450 * 0.055 / 100)
    assert sheet.per_tinted == {"A": pytest.approx(by_hand, abs=1e-12)}
    add = step(sheet, "Add part A")
    assert f"part A = this × {by_hand:.4f}" in " ".join(add.says)
    assert add.blanks == (Blank("tinted part B in the pot"), Blank(f"× {by_hand:.4f} = part A"))


def test_a_trial_is_mixed_as_the_batch_is() -> None:
    sheet, _ = sheet_of()
    sample, other = step(sheet, "trial chip").lines
    assert other.grams / sample.grams == pytest.approx(sheet.per_tinted["A"], rel=0.002)
    assert sample.grams + other.grams == pytest.approx(20.0, abs=0.02)


def test_a_trial_has_enough_for_a_chip_as_thick_as_it_says() -> None:
    """A tenth of the batch at most: of 450 g a chip as the thin place is, of 5000 g one as the thick place."""
    for batch_g in (450.0, 5000.0):
        sheet, _ = sheet_of(batch_g=batch_g, scales=("0.1",))
        places = [place.length_mm for place in sheet.looks.places]
        trial = step(sheet, "trial chip")
        thick = float(re.search(r"30 mm square and (\S+) mm thick", trial.says[0])[1])  # type: ignore[index]
        assert thick == (min(places) if batch_g < 1000 else max(places))
        chip_g = 3.0 * 3.0 * thick / 10 * (sheet.resin.density_g_per_cm3 or 1.1)
        assert 1.1 * chip_g < sum(line.grams for line in trial.lines) < 0.101 * batch_g


def test_a_small_batch_gives_no_trial_away() -> None:
    sheet, _ = sheet_of({"azure": 0.3}, batch_g=40.0, scales=("0.001",))
    trial = step(sheet, "trial chip")
    assert trial.lines == ()
    assert "too small" in trial.says[0]


def test_the_tinted_part_is_stronger_by_total_over_part() -> None:
    """physics §14: total mass over part mass; for a 1 : 1 resin about 2."""
    assert stronger(Resin(parts=(Part("A", 1), Part("B", 1)), takes_pigment="B"), "B") == 2.0
    sheet, _ = sheet_of()
    look = step(sheet, "Look at tinted part B")
    assert look.shows_cups
    assert f"{190 / 90:.2f} times as strong" in look.says[0]
    assert "coarse check" in " ".join(look.says)


def test_a_bottle_of_the_shelf_is_told_with_age_and_strength() -> None:
    old = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 18.0, "2026-11-02", "A-17", 0.94, 0.01)
    sheet, weighed = sheet_of({"azure": 0.021}, shelf=[old])
    assert weighed.letdowns[0].existing
    taken = step(sheet, "Take the stock bottle azure 1+50")
    told = " ".join(taken.says)
    assert "2026-11-02" in told
    assert "29 days old" in told
    assert "94 % as strong" in told
    assert taken.lines == ()
    assert not any("Make the stock bottle" in one.title for one in steps(sheet))


def test_a_serial_bottle_is_made_from_the_stronger_one() -> None:
    sheet, weighed = sheet_of({"azure": 0.00002}, batch_g=300.0, scales=("resin=0.1", "pigment=0.01"))
    serial = [one for one in weighed.letdowns if one.from_letdown]
    assert serial, "this dose asks for two steps"
    made = step(sheet, f"Stock bottle {serial[0].name}")
    assert made.lines[0].what == f"stock bottle {serial[0].from_letdown}"
    titles = [one.title for one in steps(sheet)]
    assert titles.index(f"Stock bottle {serial[0].from_letdown}") < titles.index(f"Stock bottle {serial[0].name}")


def test_the_part_that_minds_moisture_goes_in_last() -> None:
    three = Resin(
        parts=(Part("A", 100, "isocyanate"), Part("B", 90, "none"), Part("C", 5.0, "amine hardener")), takes_pigment="B"
    )
    sheet, _ = sheet_of({"azure": 0.3}, three)
    add = step(sheet, "Add part C and part A")
    assert [line.what for line in add.lines] == ["part C", "part A"]
    assert "Moisture spoils part A" in " ".join(step(sheet, "Lay everything out").says)
    assert {one.hazard for one in sheet.cautions} == {"isocyanate", "amine hardener", "all"}
    clock = next(stage for stage in sheet.stages if stage.clock)
    assert clock.title == "CLOCK STARTS"
    assert "data sheet" in clock.says


def test_several_parts_go_in_one_after_another() -> None:
    """Peroxide meets no accelerator: that is stirred in before (European Organic Peroxide Safety Group, safe handling)."""
    parts = (Part("resin", 100, "styrene"), Part("hardener", 2, "peroxide"), Part("accelerator", 0.5))
    add = step(sheet_of({"azure": 0.3}, Resin(parts=parts, takes_pigment="resin", pot_life_min=1))[0], "Add the accel")
    assert add.title == "Add the accelerator and the hardener"
    assert "each stirred in to the last streak before the next" in add.says[0]
    assert [line.what for line in add.lines] == ["accelerator", "hardener"]
    clock = sheet_of({"azure": 0.3}, Resin(parts=parts, takes_pigment="resin", pot_life_min=1))[0].stages[2]
    assert clock.title == "CLOCK STARTS: 1 minute"


def test_a_coarse_scale_gives_no_trial_away_either() -> None:
    resin = Resin(parts=(Part("A", 98), Part("B", 2)), takes_pigment="A")
    told = step(sheet_of({"azure": 2.0}, resin, 5000.0, ("1",))[0], "trial chip").says[0]
    assert "scale is too coarse" in told


def test_a_tinted_part_that_minds_moisture_is_not_left_over_night() -> None:
    turned = Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90)), takes_pigment="A")
    stage = sheet_of({"azure": 0.3}, turned)[0].stages[0]
    assert "day before" not in stage.title + stage.says
    assert "shortly before the pour" in stage.says
    assert "can be done the day before" not in stage.says
    assert "can be done the day before" in sheet_of()[0].stages[0].says


def test_a_resin_of_one_part_has_no_clock() -> None:
    one = Resin(parts=(Part("only", 1.0),))
    sheet, _ = sheet_of({"azure": 0.3}, one)
    assert not any(stage.clock for stage in sheet.stages)
    assert not any("trial" in title.title for title in steps(sheet))
    assert sheet.per_tinted == {}


def test_the_untinted_resin_has_a_sheet_too() -> None:
    sheet, _ = sheet_of({})
    assert step(sheet, "Add no pigment").lines == ()
    told = " ".join([*sheet.order, *(stage.says for stage in sheet.stages)])
    told += " ".join(str(said) for one in steps(sheet) for said in one.says)
    assert not re.search(r"tinted part|holds the whole batch's pigment|times as strong|trial|pigment settles", told)
    assert "part B in the pot" in [blank.what for blank in step(sheet, "Add part A").blanks]
    assert sheet.weighed.delta_e00_95_worst == pytest.approx(0.0, abs=1e-9)


def test_weights_beyond_the_scale_are_parted() -> None:
    sheet, weighed = sheet_of({"azure": 0.3}, batch_g=900.0, scales=("0.01:0.01:200",))
    note = step(sheet, "Add part A").lines[0].note
    part = next(one for one in weighed.parts if one.name == "A")
    assert note.startswith(f"in {len(part.portions)} goes: ")
    numbers = [float(number) for number in re.findall(r"\d+\.\d+", note)]
    assert math.fsum(numbers) == pytest.approx(part.grams_to_weigh, abs=1e-9)
    assert max(numbers) <= 200.0


@pytest.mark.parametrize(
    ("scales", "says"),
    [(("resin=0.1", "pigment=0.01"), "one decimal go on the one that shows 0.1 g"), (("0.01",), None)],
)
def test_two_scales_are_told_apart_by_their_decimals(scales: Sequence[str], says: str | None) -> None:
    told = " ".join(step(sheet_of(scales=scales)[0], "Get ready").says)
    assert (says in told) if says else ("Two scales" not in told)


def test_two_scales_of_as_many_decimals_are_named_on_each_line() -> None:
    sheet, _ = sheet_of(scales=("resin=0.05", "pigment=0.01"))
    assert step(sheet, "Weigh part B").lines[0].note == "on the 0.05 g scale"


def test_only_weighings_that_count_are_told() -> None:
    sheet, _ = sheet_of()
    told = matters(sheet)
    assert 0 < len(told) <= 4
    assert [one.delta_e00 for one in told] == sorted((one.delta_e00 for one in told), reverse=True)
    assert all(one.delta_e00 >= 0.02 for one in told)


def test_shown_has_the_decimals_of_the_scale() -> None:
    assert [shown(3.0, Scale(step)) for step in (5.0, 0.5, 0.02, 0.001)] == ["5 g", "3.0 g", "3.00 g", "3.000 g"]


def test_a_step_in_a_line() -> None:
    lines = tuple(Line(kind=Kind.OTHER, of=name, grams=g, scale=Scale(0.01)) for name, g in (("A", 1.0), ("C", 2.0)))
    assert Step("Add", (), lines).told == "Add: part A 1.00 g; part C 2.00 g"
    assert Step("Mix").told == "Mix"


def test_the_carriers_part_is_told_in_all() -> None:
    sheet, weighed = sheet_of({"azure": 0.021})
    [made] = weighed.letdowns
    whole = weighed.tinted_part.grams_to_weigh + made.carrier_g
    assert f"You need {whole:.2f} g of part B in all, the new stock bottle included." in step(sheet, "Get ready").says
