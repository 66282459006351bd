"""CIEDE2000 and its three residuals against the published pairs and colour-science; slopes by differences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.authorities.compared import compared
from tests.reference.absorbers import read_columns
from tests.reference.slow import colour
from tintmix.optics.difference import delta_e00, residuals, residuals_with_slope


def colours(rng, count):
    return np.stack([rng.uniform(0, 100, count), *rng.uniform(-128, 128, (2, count))], axis=-1)


def test_published_pairs():
    # Four decimals are printed.
    source = "Sharma, Wu, Dalal, Color Res. Appl. 30, 21 (2005), table 1"
    table = read_columns("ciede2000_pairs.csv")
    pairs = np.stack([table[name] for name in ("L1", "a1", "b1", "L2", "a2", "b2")], axis=-1)
    assert len(pairs) == 34
    found = np.stack([delta_e00(pairs[:, :3], pairs[:, 3:]), delta_e00(pairs[:, 3:], pairs[:, :3])])
    compared("CIEDE2000, published pairs, both ways round", found, table["dE00"], within=1e-4, source=source)


def test_a_hundred_thousand_pairs_against_colour_science():
    rng = np.random.default_rng(20)
    one, other = colours(rng, 100_000), colours(rng, 100_000)
    other[:40_000] = one[:40_000] + rng.normal(0, 3, (40_000, 3))  # neighbours
    other[40_000:45_000, 1:] = 0  # greys
    one[44_000:46_000, 1:] = 0
    one[:1000] *= [1, 1e-3, 1e-3]
    theirs = colour.difference.delta_E_CIE2000(one, other)
    source = "colour-science, an independent library"
    compared("CIEDE2000, random pairs", delta_e00(one, other), theirs, within=1e-9, source=source)


def test_residuals_are_the_difference():
    rng = np.random.default_rng(1)
    one, other = colours(rng, 500), colours(rng, 500)
    r = residuals(one, other)
    assert np.sqrt((r**2).sum(axis=-1)) == pytest.approx(colour.difference.delta_E_CIE2000(one, other), abs=1e-9)
    assert residuals_with_slope(one, other)[0] == pytest.approx(r, abs=0)


@pytest.mark.parametrize("spread", [0.3, 5.0, 60.0])
def test_slopes(spread):
    rng = np.random.default_rng(2)
    one = colours(rng, 4000) * [1, 0.7, 0.7]
    other = one + rng.normal(0, spread, one.shape)
    # Where a hue is defined; 180° of hue apart there is no derivative (physics §7), and none of these straddles it in
    # a step.
    kept = (np.hypot(one[:, 1], one[:, 2]) > 1) & (np.hypot(other[:, 1], other[:, 2]) > 1)
    one, other = one[kept], other[kept]
    h = 1e-5
    ahead = np.stack(
        [(residuals(one, other + h * e) - residuals(one, other - h * e)) / (2 * h) for e in np.eye(3)], axis=-1
    )
    smooth = np.abs(ahead).max(axis=(1, 2)) < 100
    assert smooth.sum() > len(one) - 3
    assert residuals_with_slope(one, other)[1][smooth] == pytest.approx(ahead[smooth], abs=1e-6)


def test_exactly_opposite_hues_and_greys_are_finite():
    points = np.array(
        [[50, 0, 0], [50, 1e-9, 0], [50, 1e-160, 0], [0, 0, 0], [100, 0, 0], [50, 40, 0], [50, -40, 0], [50, 0, 40],
        [50, 0, -40], [50, -3, 4]], dtype=float,
    )  # fmt: skip
    r, slope = residuals_with_slope(points[:, None], points[None])
    assert np.isfinite(r).all()
    assert np.isfinite(slope).all()
    assert np.abs(slope).max() < 100
    expected = colour.difference.delta_E_CIE2000(np.repeat(points, 10, axis=0), np.tile(points, (10, 1)))
    assert delta_e00(points[:, None], points[None]).ravel() == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("b1", [-2e-212, 0.0, 2e-212])
@pytest.mark.parametrize("b2", [-2e-212, 0.0, 2e-212])
def test_opposite_hues_to_less_than_rounding(b1, b2):
    # Found by hypothesis: hues of 0° or just below 360°, and 180° or next to it.
    one, other = np.array([0.0, 1.0, b1]), np.array([0.0, -1.0, b2])
    expected = colour.difference.delta_E_CIE2000(one, other)
    assert delta_e00(one, other) == pytest.approx(expected, abs=1e-9)
    assert delta_e00(other, one) == pytest.approx(colour.difference.delta_E_CIE2000(other, one), abs=1e-9)


def test_a_colourless_start_moves_off():
    # Physics §7: the natural start has no hue; its finite slope still points somewhere.
    _, slope = residuals_with_slope(np.array([60.0, -20.0, 5.0]), np.array([90.0, 0.0, 0.0]))
    assert slope[0, 0] > 0.4


@given(st.tuples(*[st.floats(0, 100)] * 2), st.lists(st.floats(-120, 120), min_size=4, max_size=4))
def test_symmetric_and_zero_at_home(light, chroma):
    one, other = np.array([light[0], *chroma[:2]]), np.array([light[1], *chroma[2:]])
    assert delta_e00(one, other) == pytest.approx(delta_e00(other, one), rel=1e-6, abs=1e-6)
    assert delta_e00(one, one) == pytest.approx(0.0, abs=1e-12)


def test_shapes_broadcast():
    rng = np.random.default_rng(3)
    one, other = colours(rng, 4), colours(rng, 24).reshape(6, 4, 3)
    r, slope = residuals_with_slope(one, other)
    assert (r.shape, slope.shape, delta_e00(one, other).shape) == ((6, 4, 3), (6, 4, 3, 3), (6, 4))
    single, its_slope = residuals_with_slope(one[2], other[5, 2])
    assert r[5, 2] == pytest.approx(single, abs=1e-13)
    assert slope[5, 2] == pytest.approx(its_slope, abs=1e-13)
