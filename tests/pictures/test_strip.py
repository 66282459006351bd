"""The numbers behind the strip."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from tests.pictures.stand_in import model
from tintmix.optics.colour import lab, screen
from tintmix.optics.section import DARK
from tintmix.pictures.strip import lifts, make_strip, outside_srgb, pixels, too_dark

DEEP = {"azure": 0.1, "emerald": 0.1, "rose": 0.05}


def test_a_strip_is_the_look_at_each_thickness() -> None:
    tint = model()
    strip = make_strip(tint, DEEP, 2.0, 30.0, samples=150)
    for i in (0, 63, 64, 149):
        look = tint.look(DEEP, [float(strip.thickness_mm[i])])
        np.testing.assert_allclose(strip.xyz[i], look.xyz[0], rtol=1e-12)
        assert strip.luminous[i] == pytest.approx(look.luminous_transmittance[0], rel=1e-12)


def test_lighter_and_darker_hold_nine_tenths_of_the_draws() -> None:
    tint = model(draws=400, spread=0.2)
    strip = make_strip(tint, DEEP, 10.0, 12.0, samples=3)
    draws = tint.look(DEEP, [11.0]).lab_draws[:, 0, 0]
    light, dark = lab(strip.lighter_xyz[1], strip.white_xyz)[0], lab(strip.darker_xyz[1], strip.white_xyz)[0]
    # A mean over the ranks from 2.5 to 7.5 %, so within a hundredth of the 5 % point.
    assert np.mean(draws > light) == pytest.approx(0.05, abs=0.01)
    assert np.mean(draws < dark) == pytest.approx(0.05, abs=0.01)


def test_a_strip_from_nothing_begins_as_the_bare_plate_over_its_ground() -> None:
    # 2n/(n² + 1) of a clear plate, n = 1.5.
    assert make_strip(model(), {}, 0.0, 10.0).luminous[0] == pytest.approx(0.923077, abs=1e-5)
    assert make_strip(model(), {}, 0.0, 10.0, ground=DARK).lightness[0] < 25


def test_pixels_are_screen_colours_at_the_samples() -> None:
    strip = make_strip(model(), DEEP, 0.0, 20.0, samples=50)
    half = 0.5 * (strip.xyz[:-1] + strip.xyz[1:])
    row = pixels(strip.xyz, strip.white_xyz, 49)
    assert row.shape == (1, 49, 3)
    np.testing.assert_array_equal(row[0], np.rint(screen(half, strip.white_xyz).rgb * 255))


def test_lifts_cover_the_dark_part_once_and_clip_nothing() -> None:
    strip = make_strip(model(), DEEP, 0.0, 100.0)
    found = lifts(strip)
    assert found
    dark = strip.lightness < 20
    assert found[0].first == int(np.argmax(dark))
    assert found[-1].last == len(dark)
    assert all(one.last == other.first for one, other in pairwise(found))
    for one in found:
        lifted = screen(strip.xyz[one.first : one.last] * 2.0**one.stops, strip.white_xyz).rgb
        assert lifted.max() < 1.0
    assert found[0].stops >= 1
    assert not lifts(make_strip(model(), {}, 0.0, 10.0))


def test_outside_srgb_counts_the_lifted_colours_too() -> None:
    strip = make_strip(model(), DEEP, 0.0, 100.0)
    plain, both = outside_srgb(strip, ()), outside_srgb(strip, lifts(strip))
    np.testing.assert_array_equal(plain, ~screen(strip.xyz, strip.white_xyz).inside_srgb)
    assert np.all(both >= plain)


def test_too_dark_agrees_with_the_light_through() -> None:
    tint = model(spread=0.15)
    for floor in (0.5, 0.08, 1e-3):
        found = too_dark(tint, DEEP, floor)
        look = tint.look(DEEP, [found.thinnest_mm, found.thickness_mm, found.thickest_mm])
        assert look.luminous_transmittance[1] == pytest.approx(floor, rel=1e-4)
        assert np.quantile(look.luminous_draws[:, 0], 0.05) == pytest.approx(floor, rel=1e-4)
        assert np.quantile(look.luminous_draws[:, 2], 0.95) == pytest.approx(floor, rel=1e-4)
