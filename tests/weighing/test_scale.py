"""What a scale is good for. Check values: design notes, physics §12 (GUM, JCGM 100:2008)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.weighing.errors import BadScale
from tintmix.weighing.scale import (
    BOTTLE_SPREAD,
    PORTION_SPREAD,
    STEPS,
    Bottle,
    Scale,
    bottle_for,
    bottle_spread,
    least_weighable_g,
    letdown_spread,
    scale_from_text,
    scale_spread_g,
)


def test_a_difference_of_two_readings() -> None:
    # Physics §12: d = s = 0.01 g gives u = 0.0147196 g.
    assert scale_spread_g(0.01) == pytest.approx(0.0147196, abs=5e-8)
    assert Scale(0.01).spread_g == scale_spread_g(0.01, 0.01)
    assert Scale(0.01, 0.0).spread_g == pytest.approx(0.01 / np.sqrt(6), rel=1e-12)


def test_a_letdown() -> None:
    # Physics §12: 0.4 + 20 g, 4.82 g used: 0.0362137.
    assert letdown_spread(0.4, 20.0, 4.82, scale_spread_g(0.01)) == pytest.approx(0.0362137, abs=1e-7)


def test_a_letdown_by_drawing_the_weighings() -> None:
    rng = np.random.default_rng(1)
    u, count = scale_spread_g(0.01), 200_000
    pigment, carrier, used = (mass + u * rng.standard_normal(count) for mass in (2.0, 40.0, 4.82))
    brought = used * pigment / (pigment + carrier)
    assert brought.std() / brought.mean() == pytest.approx(letdown_spread(2.0, 40.0, 4.82, u), rel=0.01)


@pytest.mark.parametrize(
    ("text", "scale"),
    [
        ("0.01", Scale(0.01)),
        ("0,01 g", Scale(0.01)),
        ("0.01:0.02", Scale(0.01, 0.02)),
        ("0.01::200", Scale(0.01, None, 200.0)),
        ("0.001:0.002:50", Scale(0.001, 0.002, 50.0)),
    ],
)
def test_scales_from_text(text: str, scale: Scale) -> None:
    assert scale_from_text(text) == scale


@pytest.mark.parametrize(
    "text", ["", "x", "0", "-1", "nan", "inf", "0.01:-1", "0.01:1:2:3", ":0.01", "1000", "0.1::0.5"]
)
def test_scales_that_are_none(text: str) -> None:
    with pytest.raises(BadScale, match="scale cannot be used"):
        scale_from_text(text)


@given(
    needs=st.lists(st.floats(1e-5, 5.0), min_size=1, max_size=12),
    step=st.sampled_from([0.001, 0.01, 0.1]),
    most=st.floats(2.0, 200.0),
)
def test_a_bottle_does_what_it_is_for(needs: list[float], step: float, most: float) -> None:
    scale = Scale(step)
    bottle = bottle_for(needs, scale, most)
    if bottle is None:
        assert scale.spread_g / min(needs) <= PORTION_SPREAD or max(needs) * (1 + STEPS[0]) > most
        return
    assert bottle.n in STEPS
    assert bottle.carrier_g == pytest.approx(bottle.n * bottle.pigment_g)
    used = [bottle.used_g(need) for need in needs]
    assert sum(used) <= (bottle.pigment_g + bottle.carrier_g) * 1.0001
    assert max(used) <= most
    tighter = [n for n in STEPS if n < bottle.n]
    # No weaker dilution would have weighed every portion well.
    assert all(min(needs) * (1 + n) < scale.spread_g / PORTION_SPREAD for n in tighter)


def test_bottles_for_the_part_too_and_not_too_large() -> None:
    assert bottle_for([0.02], Scale(0.01), 20.0, extra_pigment_g=1.0) == Bottle(50, 1.1, 55.0)
    coarse = bottle_for([0.005], Scale(0.1), 20.0)
    assert coarse is not None
    assert coarse.pigment_g + coarse.carrier_g <= 175
    fine = bottle_for([0.02, 0.1], Scale(0.01), 20.0)
    assert fine is not None
    assert bottle_spread(fine.pigment_g, fine.carrier_g, Scale(0.01).spread_g) <= BOTTLE_SPREAD
    assert bottle_for([0.0, 0.0], Scale(0.01), 20.0) is None


def test_the_least_that_can_be_weighed_is_weighed() -> None:
    scale = Scale(0.01)
    least = least_weighable_g(scale)
    assert scale.spread_g / (least * (1 + STEPS[-1])) == pytest.approx(0.03)
