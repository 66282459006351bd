"""Inserts through the resin: the published check values, quadrature, energy, slopes; the smoothest reflectance of a
colour.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.authorities.compared import compared
from tests.reference import slow
from tintmix.errors import ValueProblem
from tintmix.optics.colour import lab, xyz_of_srgb
from tintmix.optics.detector import eye, light
from tintmix.optics.difference import delta_e00
from tintmix.optics.insert import _place, _tables, radiance_factor, radiance_factor_with_slope, smoothest_reflectance

TAU = np.array([1.0, 0.999, 0.9, 0.5, 0.1, 1e-2, 1e-4, 1e-6])


@pytest.mark.parametrize(
    # design/physics.md §11.
    ("internal", "reflectance", "at_45", "diffuse"),
    [
        (1, 0.9, 0.787215, 0.752786),
        (0.8, 0.9, 0.287918, 0.275137),
        (0.5, 0.5, 0.047286, 0.045184),
        (0.1, 0.9, 0.002681, 0.002596),
    ],
)
def test_check_values(internal, reflectance, at_45, diffuse):
    tau = np.array([float(internal)])
    found = [radiance_factor(tau, reflectance, 1.5, diffuse=way)[0] for way in (False, True)]
    source = "Williams and Clapper, J. Opt. Soc. Am. 43, 595 (1953), their integral evaluated apart (design notes, physics §11)"
    compared("insert seen through the resin", found, (at_45, diffuse), within=1e-6, source=source)


def test_narrow_inserts():
    # Physics §11: a factor of 0.46 at τ = 1, 0.79 at 0.8, R = 0.9.
    tau = np.array([1.0, 0.8])
    part = radiance_factor(tau, 0.9, 1.5, narrow=True) / radiance_factor(tau, 0.9, 1.5)
    assert part == pytest.approx([0.46, 0.79], abs=0.005)


def test_no_energy_though_above_one():
    assert radiance_factor(np.array([1.0]), 1.0, 1.5) == pytest.approx([1.0039], abs=5e-5)


@pytest.mark.parametrize(("index", "expected"), [(1.49, 0.590247), (1.50, 0.596346), (1.55, 0.625001)])
def test_walsh(index, expected):
    # design/physics.md §11, and the slow reference's quadrature.
    assert walsh(index) == pytest.approx(expected, abs=1e-6)
    assert walsh(index) == pytest.approx(slow.diffuse_return(1.0, index), abs=1e-9)
    assert _tables(index).back.at(_place(np.array([1.0]))) == pytest.approx([walsh(index)], abs=1e-9)


# n = 1 / 0.70, 1 / 0.65, 1 / 0.60: what the face reflects of diffuse light from outside; 0.001 is the table's own accuracy.
@pytest.mark.parametrize(("index_ratio", "expected"), [(0.70, 0.081), (0.65, 0.097), (0.60, 0.116)])
def test_the_published_table_of_diffuse_reflection(index_ratio, expected):
    index = 1 / index_ratio
    inside = float(_tables(index).back.at(_place(np.array([1.0])))[0])
    source = "Prahl, thesis (1988), table B.1, https://omlc.org"
    compared("diffuse light at a face", 1 - index**2 * (1 - inside), expected, within=1e-3, source=source)


def walsh(n: float) -> float:
    """Internal diffuse reflectance of the resin's face towards air: 1 − (1 − r_e)/n², r_e by J. W. T. Walsh (1926)."""
    square, fourth = n * n, n**4
    outer = (
        0.5
        + (n - 1) * (3 * n + 1) / (6 * (n + 1) ** 2)
        + square * (square - 1) ** 2 / (square + 1) ** 3 * math.log((n - 1) / (n + 1))
        - 2 * n**3 * (square + 2 * n - 1) / ((square + 1) * (fourth - 1))
        + 8 * fourth * (fourth + 1) / ((square + 1) * (fourth - 1) ** 2) * math.log(n)
    )
    return 1.0 - (1.0 - outer) / square


@pytest.mark.parametrize("index", [1.47, 1.5, 1.6])
@pytest.mark.parametrize("rule", [{}, {"diffuse": True}, {"narrow": True}, {"narrow": True, "diffuse": True}])
def test_against_quadrature(index, rule):
    expected = [slow.insert_radiance_factor(float(t), 0.9, index, **rule) for t in TAU]
    # Relative: also where next to nothing comes back.
    assert radiance_factor(TAU, 0.9, index, **rule) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("rule", [{}, {"diffuse": True}, {"narrow": True}])
def test_slopes(rule):
    tau = np.concatenate([np.linspace(0.02, 0.999, 60), [1e-3, 1e-6]])
    value, slope = radiance_factor_with_slope(tau, 0.8, 1.5, **rule)
    assert value == pytest.approx(radiance_factor(tau, 0.8, 1.5, **rule), abs=0)
    h = 1e-4 * np.minimum(tau, 1.0001 - tau)
    ahead = radiance_factor(tau + h, 0.8, 1.5, **rule) - radiance_factor(tau - h, 0.8, 1.5, **rule)
    assert slope == pytest.approx(ahead / (2 * h), rel=1e-5)


@pytest.mark.parametrize("rule", [{}, {"diffuse": True}])
def test_the_slope_of_clear_resin(rule):
    # At τ = 1, where r(τ) bends as x² ln x: one-sided differences of the slow reference, accurate to about 2e-4 there.
    h = 1e-4
    at = [slow.insert_radiance_factor(1.0 - k * h, 0.9, 1.5, **rule) for k in range(3)]
    expected = (3 * at[0] - 4 * at[1] + at[2]) / (2 * h)
    assert radiance_factor_with_slope(np.ones(1), 0.9, 1.5, **rule)[1] == pytest.approx([expected], rel=5e-4)


def test_black_resin_shows_nothing():
    value, slope = radiance_factor_with_slope(np.zeros(41), 0.9, 1.5)
    assert (value == 0).all()
    assert np.abs(slope).max() < 1e-20


def test_shapes():
    tau, ground = np.random.default_rng(0).uniform(0, 1, (5, 3, 41)), np.linspace(0.1, 0.9, 41)
    value, slope = radiance_factor_with_slope(tau, ground, 1.5)
    assert value.shape == slope.shape == (5, 3, 41)
    assert value[2, 1, 7] == pytest.approx(float(radiance_factor(tau[2, 1, 7], ground[7], 1.5)), rel=1e-13)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(1.3, 1.8))
def test_more_light_from_clearer_resin_and_brighter_grounds(tau, reflectance, index):
    here = float(radiance_factor(np.float64(tau), reflectance, index))
    assert 0 <= here < 1.05
    assert float(radiance_factor(np.float64(tau * 0.9), reflectance, index)) <= here + 1e-15
    assert float(radiance_factor(np.float64(tau), reflectance * 0.9, index)) <= here + 1e-15


@pytest.mark.parametrize("index", [1.0, 0.5, 3.5, np.nan])
def test_refractive_index(index):
    with pytest.raises(ValueProblem):
        radiance_factor(np.ones(41), 0.5, index)


@pytest.mark.parametrize(
    "text", ["#3060a0", "#e01020", "#f0f020", "#103008", "#ffffff", "#000000", "#808080", "#00ff00"]
)
@pytest.mark.parametrize("observer", [2, 10])
def test_the_smoothest_reflectance_has_the_colour(text, observer):
    detector = eye("D65", observer)
    wanted = lab(xyz_of_srgb(text, detector.bare), detector.bare)
    found = smoothest_reflectance(wanted, "D65", observer)
    assert found.shape == (41,)
    assert found.min() >= 0
    assert found.max() <= 1
    # 1e-3: pure sRGB primaries lie next to what a surface can do.
    assert delta_e00(wanted, lab(found @ detector.weights, detector.bare)) < (1e-3 if text != "#00ff00" else 0.05)


def test_the_smoothest_is_the_smoothest():
    # An independent solver of the same programme.
    from scipy.optimize import minimize

    detector = eye("D65", 10)
    xyz = xyz_of_srgb("#e01020", detector.bare)
    found = smoothest_reflectance(lab(xyz, detector.bare), "D65", 10)
    step = np.diff(np.eye(41), axis=0)
    other = minimize(
        lambda r: ((step @ r) ** 2).sum(),
        np.full(41, 0.5),
        jac=lambda r: 2 * step.T @ (step @ r),
        bounds=[(0, 1)] * 41,
        constraints={
            "type": "eq",
            "fun": lambda r: (r @ detector.weights - xyz) / 100,
            "jac": lambda r: detector.weights.T / 100,
        },
        method="SLSQP",
        options={"maxiter": 300, "ftol": 1e-13},
    )
    assert ((step @ found) ** 2).sum() == pytest.approx(other.fun, rel=1e-4)
    assert found == pytest.approx(other.x, abs=1e-3)


def test_grey_is_flat():
    assert smoothest_reflectance([50.0, 0.0, 0.0]) == pytest.approx(np.full(41, 0.18418651851), abs=1e-6)


def test_a_light_of_ones_own():
    by_name, by_spectrum = (smoothest_reflectance([40.0, 10.0, -20.0], lit, 10) for lit in ("A", light("A")))
    assert by_spectrum == pytest.approx(by_name, abs=1e-6)


def test_no_surface_glows():
    with pytest.raises(ValueProblem, match="no surface has the colour"):
        smoothest_reflectance([95.0, 80.0, 0.0], "D65", 10)
