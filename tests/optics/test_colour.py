"""XYZ, L*a*b* and sRGB against colour-science and published values; inverses; slopes against finite differences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.authorities.compared import compared
from tests.reference import slow
from tests.reference.slow import colour
from tintmix.errors import ValueProblem
from tintmix.optics.colour import lab, lab_with_slope, lifted, linear_srgb_matrix, screen, xyz_of_lab, xyz_of_srgb
from tintmix.optics.detector import eye

WHITE = eye("D65", 10).bare
RNG = np.random.default_rng(0)
XYZ = WHITE * RNG.uniform(0, 1, (400, 1)) ** 4 * RNG.uniform(0.5, 1, (400, 3))


def test_lab_against_colour_science():
    expected = colour.XYZ_to_Lab(XYZ / 100, colour.XYZ_to_xy(WHITE / 100))
    compared(
        "L*a*b* from XYZ", lab(XYZ, WHITE), expected, within=1e-10, source="colour-science, an independent library"
    )
    assert lab(WHITE, WHITE) == pytest.approx((100, 0, 0), abs=1e-12)


def test_the_linear_part_joins_the_cube_root():
    # CIE 15: (6/29)³ is where they meet, in value and in slope.
    edge = (6 / 29) ** 3
    at = WHITE * np.array([[edge * (1 - 1e-9)], [edge * (1 + 1e-9)]])
    low, high = lab(at, WHITE)
    assert high == pytest.approx(low, abs=1e-5)
    assert high[0] == pytest.approx(8.0, abs=1e-6)
    slopes = lab_with_slope(at, WHITE)[1]
    assert slopes[1] == pytest.approx(slopes[0], rel=1e-6)


def test_no_light_is_black():
    assert lab(np.zeros(3), WHITE) == pytest.approx((0, 0, 0), abs=1e-12)


def test_lab_slopes():
    value, slope = lab_with_slope(XYZ, WHITE)
    assert value == pytest.approx(lab(XYZ, WHITE), abs=1e-12)
    step = 1e-5
    ahead = np.stack(
        [(lab(XYZ + step * e, WHITE) - lab(XYZ - step * e, WHITE)) / (2 * step) for e in np.eye(3)], axis=-1
    )
    near_edge = (np.abs(XYZ / WHITE - (6 / 29) ** 3) < 1e-6).any(axis=1)
    assert slope[~near_edge] == pytest.approx(ahead[~near_edge], rel=1e-6, abs=1e-7)


@given(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))
def test_lab_round_trip(light, a, b):
    values = np.array([light, a, b])
    assert lab(xyz_of_lab(values, WHITE), WHITE) == pytest.approx(values, abs=1e-9)


@given(st.tuples(*[st.floats(0, 120)] * 3))
def test_xyz_round_trip(xyz):
    assert xyz_of_lab(lab(np.array(xyz), WHITE), WHITE) == pytest.approx(xyz, abs=1e-9)


@pytest.mark.parametrize(("name", "observer"), [("D65", 2), ("D65", 10), ("A", 10), ("LED-B1", 2)])
def test_the_bare_light_is_white(name, observer):
    shown = screen(eye(name, observer).bare, eye(name, observer).bare)
    assert shown.hex == ["#ffffff"]
    assert shown.inside_srgb


def test_adaptation_against_colour_science():
    white = eye("A", 10).bare
    target = linear_srgb_matrix(white)
    srgb_white = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]).sum(axis=1)
    adapted = colour.adaptation.chromatic_adaptation_VonKries(XYZ / 100, white / 100, srgb_white, transform="CAT16")
    expected = adapted @ np.linalg.inv(colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ).T
    source = "colour-science, an independent library"
    compared("adaptation (CAT16) to the screen's white", XYZ @ target.T, expected, within=1e-6, source=source)
    assert XYZ[7] @ target.T == pytest.approx(slow.linear_srgb(XYZ[7], white), abs=1e-12)


def test_encoding():
    # IEC 61966-2-1: 128/255 is 0.21586 linear (data README).
    grey = 0.21586 * WHITE
    assert screen(grey, WHITE).hex == ["#808080"]
    assert xyz_of_srgb("#808080", WHITE) == pytest.approx(grey, rel=1e-4)


@given(st.tuples(*[st.integers(0, 255)] * 3), st.sampled_from(["D65", "A", "FL11", "LED-B1"]))
def test_srgb_round_trip(levels, name):
    text = "#{:02x}{:02x}{:02x}".format(*levels)
    white = eye(name, 10).bare
    shown = screen(xyz_of_srgb(text, white), white)
    assert shown.hex == [text]
    assert shown.inside_srgb
    assert shown.rgb * 255 == pytest.approx(levels, abs=1e-9)


def test_outside_srgb_is_said_before_clipping():
    shown = screen(xyz_of_lab(np.array([[60.0, -90.0, 0.0], [60.0, -10.0, 0.0]]), WHITE), WHITE)
    assert shown.inside_srgb.tolist() == [False, True]
    assert shown.rgb.min() >= 0
    assert shown.rgb.max() <= 1
    assert len(shown.hex) == 2


@pytest.mark.parametrize("text", ["#fff", "cfe8dg", "#cfe8dc00", "", None, 0xFFFFFF, "#cfe8d "])
def test_bad_colours(text):
    with pytest.raises(ValueProblem, match="#rrggbb"):
        xyz_of_srgb(text, WHITE)


def test_dark_colours_are_lifted_by_whole_stops():
    dark = xyz_of_lab(np.array([8.0, -4.0, 2.0]), WHITE)
    shown, stops = lifted(dark, WHITE)
    assert stops >= 1
    assert shown.hex == screen(dark * 2**stops, WHITE).hex
    assert 35 < lab(dark * 2**stops, WHITE)[0] <= 50
    light = xyz_of_lab(np.array([20.0, 0.0, 0.0]), WHITE) * (1 + 1e-9)
    assert lifted(light, WHITE)[1] == 0
    assert lifted(light, WHITE)[0].hex == screen(light, WHITE).hex
    assert lifted(np.zeros(3), WHITE)[0].hex == ["#000000"]
