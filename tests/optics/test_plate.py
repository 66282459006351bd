"""The plate in air: published values, a published closed form, the series of its inter-reflections, and its inverse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.authorities.compared import compared
from tintmix.errors import ValueProblem
from tintmix.optics.plate import (
    external_transmittance,
    external_with_slope,
    face_reflectance,
    internal_transmittance,
)

INDICES = [1.47, 1.5, 1.52, 1.55, 1.7]


@pytest.mark.parametrize(
    # 2n/(n² + 1) by hand, and as rounded in the data's README (shared facts for tests).
    ("index", "published"),
    [(1.49, 0.92544), (1.50, 0.92308), (1.52, 0.91832), (1.55, 0.91109)],
)
def test_clear_plate(index, published):
    clear = external_transmittance(1.0, index)
    assert clear == pytest.approx(2 * index / (index**2 + 1), abs=1e-9)
    compared("clear plate in air", clear, published, within=5e-6, source="2n/(n² + 1), as rounded in public tables")


@pytest.mark.parametrize(("external", "internal"), [(0.325, 0.35447), (0.60, 0.65405), (0.88, 0.95842)])
def test_published_inverse_values(external, internal):
    # Data README.
    source = "a published calculation of glass, n = 1.52"
    compared("plate, inside from outside", internal_transmittance(external, 1.52), internal, within=5e-6, source=source)


def test_published_closed_form():
    # n = 1.52: tau = (sqrt(0.8402528435 + 0.0072522239 T²) − 0.9166530661)/(0.0036261119 T), good to 1e-6 for T >
    # 0.014 (data README).
    seen = np.linspace(0.0141, 0.918, 500)
    published = (np.sqrt(0.8402528435 + 0.0072522239 * seen**2) - 0.9166530661) / (0.0036261119 * seen)
    source = "the published closed form for glass, n = 1.52"
    compared("plate, closed form", internal_transmittance(seen, 1.52), published, within=1e-6, source=source)


@pytest.mark.parametrize("index", INDICES)
def test_against_the_series(index):
    rho = ((index - 1) / (index + 1)) ** 2
    for tau in (1.0, 0.5, 0.01):
        through = sum((1 - rho) ** 2 * tau * (rho * tau) ** (2 * k) for k in range(60))
        assert external_transmittance(tau, index) == pytest.approx(through, abs=1e-15)


@given(st.floats(1e-12, 1.0), st.floats(1.0, 2.5))
def test_round_trip(tau, index):
    assert internal_transmittance(external_transmittance(tau, index), index) == pytest.approx(tau, rel=1e-13)


@given(st.floats(1e-300, 0.9), st.floats(1.0, 2.5))
def test_round_trip_the_other_way(seen, index):
    assert external_transmittance(internal_transmittance(seen, index), index) == pytest.approx(seen, rel=1e-13)


def test_no_light_and_below():
    assert internal_transmittance(0.0, 1.5) == 0.0
    # Noise of a black chip: odd in T, nothing breaks.
    assert internal_transmittance(-0.001, 1.5) == -internal_transmittance(0.001, 1.5)


def test_slope():
    tau = np.linspace(0.0, 1.0, 41)
    index = np.linspace(1.48, 1.53, 41)
    value, slope = external_with_slope(tau, index)
    assert value == pytest.approx(external_transmittance(tau, index), abs=1e-15)
    ahead = external_transmittance(tau + 1e-6, index) - external_transmittance(tau - 1e-6, index)
    assert slope == pytest.approx(ahead / 2e-6, rel=1e-8)


def test_the_arguments_are_left_alone():
    tau = np.full((3, 41), 0.5)
    external_with_slope(tau, 1.5)
    assert (tau == 0.5).all()


@pytest.mark.parametrize("index", [0.9, 3.5, np.nan, -1.5, np.array([1.5, 0.5])])
def test_refractive_index(index):
    with pytest.raises(ValueProblem, match="refractive index"):
        face_reflectance(index)
