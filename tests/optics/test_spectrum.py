"""Interpolation against polynomials it must reproduce and against colour-science; readings brought onto the grid."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference.slow import colour
from tintmix.errors import Remedy, ValueProblem
from tintmix.optics.spectrum import FINE_NM, GRID_NM, interpolation_matrix, to_grid


def bump(nm):
    return 0.2 + 1.4 * np.exp(-(((nm - 560.0) / 45.0) ** 2))


def test_grids():
    assert (len(GRID_NM), GRID_NM[0], GRID_NM[-1]) == (41, 380.0, 780.0)
    assert (len(FINE_NM), FINE_NM[0], FINE_NM[-1]) == (421, 360.0, 780.0)


def test_cubics_are_reproduced_inside_and_parabolas_at_the_ends():
    nodes = np.array([400.0, 407.0, 420.0, 433.0, 440.0, 462.0])
    onto = np.linspace(407.0, 440.0, 34)
    matrix = interpolation_matrix(nodes, onto)
    assert matrix @ ((nodes - 430) / 30) ** 3 == pytest.approx(((onto - 430) / 30) ** 3, abs=1e-12)
    ends = np.concatenate([np.linspace(400, 407, 8), np.linspace(440, 462, 8)])
    assert interpolation_matrix(nodes, ends) @ (nodes - 430) ** 2 == pytest.approx((ends - 430) ** 2, abs=1e-9)


def test_nodes_keep_their_values():
    nodes = np.array([400.0, 403.0, 411.0, 430.0])
    assert interpolation_matrix(nodes, nodes) == pytest.approx(np.eye(4), abs=0)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_few_nodes(count):
    nodes = np.array([500.0, 510.0, 530.0])[:count]
    matrix = interpolation_matrix(nodes, [nodes[0], nodes[-1]])
    assert matrix @ nodes == pytest.approx([nodes[0], nodes[-1]])


def test_the_lagrange_coefficients_are_those_of_e2022():
    # colour-science 0.4.7 prints ASTM E2022's coefficients for the inner and the end intervals of 10 nm.
    matrix = interpolation_matrix([0.0, 10.0, 20.0, 30.0], np.arange(1.0, 10.0) + 10)
    assert matrix == pytest.approx(colour.colorimetry.lagrange_coefficients_ASTME2022(10, "inner"), abs=1e-12)
    matrix = interpolation_matrix([0.0, 10.0, 20.0, 30.0], np.arange(1.0, 10.0))
    boundary = colour.colorimetry.lagrange_coefficients_ASTME2022(10, "boundary")
    assert matrix[:, :3] == pytest.approx(boundary, abs=1e-12)


@pytest.mark.parametrize("onto", [[399.0], [441.0], [420.0, 500.0]])
def test_never_beyond_the_ends(onto):
    with pytest.raises(ValueProblem, match="400 to 440 nm"):
        interpolation_matrix([400.0, 420.0, 440.0], onto)


@pytest.mark.parametrize("nm", [[400.0, 400.0], [420.0, 400.0], [400.0, np.nan]])
def test_wavelengths_rise(nm):
    with pytest.raises(ValueProblem) as caught:
        to_grid(nm, [0.1, 0.2])
    assert caught.value.remedy is Remedy.SORT_WAVELENGTHS


def test_shapes_agree():
    with pytest.raises(ValueProblem, match="3 wavelengths"):
        to_grid([400.0, 410.0, 420.0], [0.1, 0.2])


def test_readings_on_the_grid_are_picked():
    nm = np.arange(360.0, 740.0, 10.0)
    out = to_grid(nm, bump(nm))
    inside = GRID_NM <= 730
    assert out[inside] == pytest.approx(bump(GRID_NM[inside]), abs=1e-15)
    assert np.isnan(out[~inside]).all()


@pytest.mark.parametrize(
    # Tolerances: the error of a cubic on a band of 45 nm at that step, measured once and rounded up.
    ("nm", "within"),
    [
        (np.arange(380.0, 781.0, 20.0), 2e-2),
        (np.arange(385.0, 776.0, 10.0), 1e-3),
        (np.arange(380.0, 781.0, 5.0), 1e-3),
        (np.arange(300.0, 1101.0, 1.0), 1e-3),
        (np.arange(381.3, 779.0, 3.7), 2e-3),
    ],
)
def test_other_grids(nm, within):
    out = to_grid(nm, np.stack([bump(nm), 2 * bump(nm)]))
    known = np.isfinite(out[0])
    assert known.tolist() == ((nm[0] <= GRID_NM) & (nm[-1] >= GRID_NM)).tolist()
    assert out[0, known] == pytest.approx(bump(GRID_NM[known]), abs=within)
    assert out[1, known] == pytest.approx(2 * out[0, known], rel=1e-9)


def test_fine_readings_average_their_noise():
    # 1 nm readings, ten a band: picking would leave the noise whole, the fit leaves about √(1/10) of it.
    rng = np.random.default_rng(0)
    nm = np.arange(380.0, 781.0)
    noisy = bump(nm) + rng.normal(0, 0.01, (40, nm.size))
    left = to_grid(nm, noisy)[:, 2:-2] - to_grid(nm, bump(nm))[2:-2]
    assert 0.002 < left.std() < 0.0045


def test_weights_turn_the_fit_to_the_readings_that_count():
    nm = np.arange(500.0, 521.0)
    absorbance = np.where(nm % 2 == 0, 1.0, 2.0)
    out = to_grid(nm, absorbance, weight=np.where(nm % 2 == 0, 1.0, 1e-6))
    assert out[12:15] == pytest.approx([1.0, 1.0, 1.0], abs=0.01)


def test_a_dark_band_does_not_spoil_its_neighbours():
    # Weights T² over twelve decades in one spectrum.
    nm = np.arange(380.0, 781.0)
    absorbance = 6 * np.exp(-(((nm - 560) / 30) ** 2))
    out = to_grid(nm, absorbance, weight=10.0 ** (-2 * absorbance))
    assert np.isfinite(out).all()
    assert out == pytest.approx(6 * np.exp(-(((GRID_NM - 560) / 30) ** 2)), abs=0.05)


def test_nothing_covered():
    assert np.isnan(to_grid([381.0, 389.0], [0.1, 0.2])).all()


@given(st.lists(st.floats(0, 4), min_size=41, max_size=41))
def test_grid_readings_come_back_exactly(values):
    assert to_grid(GRID_NM, values).tolist() == pytest.approx(values, abs=1e-15)
