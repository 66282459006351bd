"""The cups of a plan on the scale: stock bottles, portions, and what is left of each part."""

from __future__ import annotations

import pytest

from tintmix.resin import Part, Resin
from tintmix.weighing.cups import Bench, carrier_part, cup_mass_g, weigh_out
from tintmix.weighing.scale import Scale

RESIN = Resin(
    "clear casting resin, invented",
    density_g_per_cm3=1.06,
    takes_pigment="B",
    parts=(Part("A", 100, "isocyanate"), Part("B", 90)),
)


def test_the_carrier_is_taken_off_its_part() -> None:
    # Physics §13: the carrier counts toward its part, so that the ratio by weight stays exact.
    doses = [(0.02, 0.0), (0.2, 0.1)]
    found = weigh_out(
        ["A1", "A2"], doses, [(12.0,), (12.0,)], ["azure", "emerald"], [0.02, 0.01], RESIN, Bench(Scale(0.01), Scale(0.01))
    )
    assert carrier_part(RESIN) == ("B", pytest.approx(90 / 190))
    for pour in found.pours:
        carrier = 0.0
        for weighing in pour.weigh:
            bottle = next(d.bottle for d in found.letdowns if d.name == weighing.letdown)
            carrier += weighing.grams * bottle.n / (1 + bottle.n)
        parts = dict(pour.parts)
        assert parts["A"] == pytest.approx(pour.resin_g * 100 / 190, abs=0.006)
        assert parts["B"] + carrier == pytest.approx(pour.resin_g * 90 / 190, abs=0.006)
        assert carrier <= 0.8 * pour.resin_g * 90 / 190


def test_the_fullest_cup_says_how_much_to_mix() -> None:
    small, large = (3.0,), (12.0, 50.0)
    bench = Bench(Scale(0.01), Scale(0.1), 50.0, 40.0)
    assert cup_mass_g([small], RESIN, bench) == 50.0
    # 62 mm × 40 mm × 40 mm = 99.2 cm³ at 1.06 g/cm³, 15 % over, up to the next 5 g.
    assert cup_mass_g([small, large], RESIN, bench) == 125.0


def test_a_coarse_scale_is_told_so() -> None:
    found = weigh_out(["A1"], [(0.001,)], [(12.0,)], ["azure"], [0.001], Resin(), Bench(Scale(0.1), Scale(0.1)))
    assert any("0.01 g would do better" in warning for warning in found.warnings)
    assert found.dose_spread > 0.02
    fine = weigh_out(["A1"], [(0.001,)], [(12.0,)], ["azure"], [0.001], Resin(), Bench(Scale(0.0001), Scale(0.1)))
    assert not fine.warnings


def test_what_can_be_weighed_as_it_is_needs_no_bottle() -> None:
    found = weigh_out(["A1"], [(4.0,)], [(12.0,)], ["azure"], [4.0], Resin(), Bench(Scale(0.01), Scale(0.1)))
    assert not found.letdowns
    assert found.pours[0].weigh[0].grams == 2.0
    assert found.pours[0].weigh[0].letdown == ""
