"""What a scale is good for. Check values: design notes, physics §12 (GUM, JCGM 100:2008)."""

from __future__ import annotations

import numpy as np
import pytest

from tests.weighing.letdown import letdown_spread
from tintmix.errors import ValueProblem
from tintmix.weighing.scales import (
    STEPS,
    Scale,
    least_weighable_g,
    scale_from_text,
    scale_spread_g,
    shown,
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
    with pytest.raises(ValueProblem, match="scale cannot be used"):
        scale_from_text(text)


def test_the_least_that_can_be_weighed_is_weighed() -> None:
    scale = Scale(0.01)
    least = least_weighable_g(scale)
    assert scale.spread_g / (least * (1 + STEPS[-1])) == pytest.approx(0.03)


def test_as_the_scale_shows_it() -> None:
    # A scale of 0.25 g shows 1.25 g; one of 0.1 g shows 1.2 g.
    assert [shown(1.25, Scale(step)) for step in (0.25, 0.05, 0.01, 0.001)] == ["1.25 g", "1.25 g", "1.25 g", "1.250 g"]
    assert shown(240.0, Scale(1.0)) == "240 g"
