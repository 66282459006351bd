"""The cups of a plan on the scale: stock bottles, portions, and what is left of each part."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import CANCELS, StockBottle
from tintmix.weighing.cups import SPARE, Moulds, PourPlan, bottle_for, carrier_part, cup_mass_g, weigh_cups
from tintmix.weighing.letdown import CARRIER_SHARE, LEAST_BOTTLE_G
from tintmix.weighing.scales import LEAST_STEPS, PORTION_SPREAD, STEPS, Bench, Scale

RESIN = Resin(
    "clear casting resin, invented",
    density_g_per_cm3=1.06,
    takes_pigment="B",
    parts=(Part("A", 100, "isocyanate"), Part("B", 90)),
)


def test_the_carrier_is_taken_off_its_part() -> None:
    # Physics §13: the carrier counts toward its part, so that the ratio by weight stays exact.
    doses = [(0.02, 0.0), (0.2, 0.1)]
    found = weigh_cups(
        ["A1", "A2"],
        doses,
        [(12.0,), (12.0,)],
        ["azure", "emerald"],
        [0.02, 0.01],
        RESIN,
        Bench(Scale(0.01), Scale(0.01)),
    )
    assert carrier_part(RESIN) == ("B", pytest.approx(90 / 190))
    for pour in found.pours:
        carrier = 0.0
        for weighing in pour.weigh:
            bottle = next(d for d in found.letdowns if d.name == weighing.letdown)
            carrier += weighing.grams * bottle.n / (1 + bottle.n)
        parts = {one.name: one.grams for one in pour.parts}
        assert parts["A"] == pytest.approx(pour.resin_g * 100 / 190, abs=0.006)
        assert parts["B"] + carrier == pytest.approx(pour.resin_g * 90 / 190, abs=0.006)
        assert carrier <= 0.8 * pour.resin_g * 90 / 190


def test_a_bottle_on_the_shelf_serves_where_it_can() -> None:
    """A second plan: as strong a bottle as the first made, of the same resin, with enough in it."""

    def planned(bottle: StockBottle, new_bottles: bool = False) -> PourPlan:
        doses = [(0.04,), (0.2,)]
        bench = Bench(Scale(0.01), Scale(0.01))
        return weigh_cups(
            ["a", "b"], doses, [(12.0,)] * 2, ["azure"], [0.02], RESIN, bench, shelf=[bottle], new_bottles=new_bottles
        )

    bottle = StockBottle("azure 1+50", "azure", "B", 0.5, 25.0, 20.0, strength_spread=CANCELS, resin=RESIN.name)
    found = planned(bottle)
    assert found.letdowns == ()
    assert found.from_shelf["azure"][0] is bottle
    # 50 g × 0.24 phr, one part in 51: 6.12 g.
    assert found.from_shelf["azure"][1] == pytest.approx(0.5 * 0.24 * 51, abs=0.011)
    weak = planned(replace(bottle, strength=0.9))
    assert weak.pours[1].weigh[0].grams == pytest.approx(found.pours[1].weigh[0].grams / 0.9, abs=0.01)
    assert weak.pours[1].doses_phr == pytest.approx(found.pours[1].doses_phr, rel=2e-3)
    for pour in weak.pours:
        carrier = pour.weigh[0].grams * 50 / 51
        assert pour.parts[1].grams + carrier == pytest.approx(pour.resin_g * 90 / 190, abs=0.006)
    for other in (
        replace(bottle, left_g=6.0), replace(bottle, carrier="A"), replace(bottle, resin="another"),
        replace(bottle, pigment="rose"),
    ):  # fmt: skip
        assert not planned(other).from_shelf
    # A new one is called otherwise than the one that stands there.
    assert [one.name for one in planned(bottle, new_bottles=True).letdowns] == ["azure 1+50 (2)"]


def test_the_fullest_cup_says_how_much_to_mix() -> None:
    small, large = (3.0,), (12.0, 50.0)
    moulds = Moulds(50.0, 40.0)
    assert cup_mass_g([small], RESIN, moulds) == 50.0
    # 62 mm × 40 mm × 40 mm = 99.2 cm³ at 1.06 g/cm³, 15 % over, up to the next 5 g.
    assert cup_mass_g([small, large], RESIN, moulds) == 125.0


def test_a_coarse_scale_is_told_so() -> None:
    found = weigh_cups(["A1"], [(0.001,)], [(12.0,)], ["azure"], [0.001], Resin(), Bench(Scale(0.1), Scale(0.1)))
    [said] = [warning for warning in found.warnings if "to know them all" in warning]
    scale, cup = re.search(r"a scale that shows (\S+) g, or cups of (\S+) g of resin", said).groups()  # type: ignore[union-attr]
    more = [((0.001,),), ((12.0,),), ["azure"], [0.001], Resin()]
    finer = weigh_cups(["A1"], *more, Bench(Scale(0.1), Scale(float(scale))))  # type: ignore[arg-type]
    larger = weigh_cups(["A1"], *more, Bench(Scale(0.1), Scale(0.1)), Moulds(cup_g=float(cup)))  # type: ignore[arg-type]
    assert not any("to know them all" in warning for warning in (*finer.warnings, *larger.warnings))
    assert found.dose_spread > 0.02
    fine = weigh_cups(["A1"], [(0.001,)], [(12.0,)], ["azure"], [0.001], Resin(), Bench(Scale(0.1), Scale(0.0001)))
    assert not fine.warnings


def test_what_can_be_weighed_as_it_is_needs_no_bottle() -> None:
    found = weigh_cups(["A1"], [(4.0,)], [(12.0,)], ["azure"], [4.0], Resin(), Bench(Scale(0.1), Scale(0.01)))
    assert not found.letdowns
    assert found.pours[0].weigh[0].grams == 2.0
    assert found.pours[0].weigh[0].letdown == ""


@given(
    needs=st.lists(st.floats(1e-5, 5.0), min_size=1, max_size=12),
    step=st.sampled_from([0.001, 0.01, 0.1]),
    most=st.floats(2.0, 200.0),
)
def test_a_bottle_does_what_it_is_for(needs: list[float], step: float, most: float) -> None:
    bench = Bench(Scale(0.1), Scale(step))
    least = bench.pigment.spread_g / PORTION_SPREAD
    made = bottle_for(needs, bench, most)
    if made is None:
        # Weighed well as it is, or too much carrier, or more of it than the scales can put together.
        assert min(needs) >= least or max(needs) * STEPS[0] > most or sum(needs) > bench.on_pigment.most_g / SPARE / 2
        return
    assert made.n in STEPS
    assert made.carrier_g == pytest.approx(made.n * made.first_g, abs=0.051)
    assert made.first_g >= LEAST_STEPS * step - 1e-9
    assert made.first_g + made.carrier_g >= LEAST_BOTTLE_G - 0.06
    assert sum(needs) * (1 + made.n) <= (made.first_g + made.carrier_g) * 1.0001
    assert max(needs) * made.n <= most


def test_bottles_for_the_casting_too_and_not_too_large() -> None:
    bench = Bench(Scale(0.1), Scale(0.01))
    both = bottle_for([0.02], bench, 20.0, extra_pigment_g=1.0)
    assert both is not None
    assert both.first_g >= 1.0 + SPARE * 0.02
    coarse = bottle_for([0.005], Bench(Scale(0.1), Scale(0.1)), 20.0)
    assert coarse is None or coarse.first_g + coarse.carrier_g <= 210
    assert bottle_for([0.0, 0.0], bench, 20.0) is None


def test_no_cup_takes_more_carrier_than_a_batch_would() -> None:
    """One limit for cups and batches: a fifth of the tinted part stays to be weighed."""
    found = weigh_cups(
        ["A1"], [(0.5, 0.5)], [(12.0,)], ["azure", "emerald"], [0.5, 0.5], RESIN, Bench(Scale(0.1), Scale(0.1))
    )
    carrier = sum(w.grams for w in found.pours[0].weigh) - 0.5
    assert 0.0 < carrier <= CARRIER_SHARE * 50.0 * 90 / 190 + 0.2
