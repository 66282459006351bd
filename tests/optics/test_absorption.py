"""Beer and Lambert forwards; volume, departure and haze; slopes against finite differences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.authorities.compared import compared
from tests.reference.absorbers import read_columns
from tintmix.optics.absorption import effective_dose_slopes, effective_doses, haze

VOLUME = np.array([0.01, 0.008, 0.003])
DEPARTURE = np.array([0.0, 0.4, -0.2])


def test_by_volume():
    # 1 phr of a pigment as dense as the resin: 1 part in 101.
    assert effective_doses([1.0], [0.01], [0.0]) == pytest.approx([1 / 1.01], abs=1e-15)
    # Pigment 1 dilutes pigment 2.
    assert effective_doses([1.0, 0.1], [0.01, 0.01], [0.0, 0.0])[1] == pytest.approx(0.1 / 1.011, abs=1e-15)


def test_departure():
    assert effective_doses([0.5], [0.0], [0.4]) == pytest.approx([0.5 / 1.2], abs=1e-15)


@pytest.mark.parametrize("band", ["A235", "A257", "A313", "A350"])
def test_dichromates_bend(band):
    """The series bends upwards: from its four weaker solutions the law c/(1 + k c) foretells the strongest, to the last figure
    printed. A straight line misses it by up to 0.009."""
    table = read_columns("potassium_dichromate.csv")
    dose, seen = table["mg_per_L"] / 100, table[band]

    def law(k, at):
        return effective_doses(at[:, None], [0.0], [k])[:, 0]

    weak, places = dose[:4], np.linspace(-0.05, 0.05, 2001)
    curves = np.array([law(k, weak) for k in places])
    strengths = curves @ seen[:4] / np.sum(curves**2, axis=1)
    best = int(np.argmin(np.sum((strengths[:, None] * curves - seen[:4]) ** 2, axis=1)))
    source = "typical values of a reference material; Burke and Mavrodineanu, J. Res. NBS 80A, 631 (1976)"
    foretold = strengths[best] * law(places[best], dose[4:])[0]
    compared("dichromate at 100 mg/l, from 20 to 80 mg/l", foretold, seen[4], within=1e-3, source=source)


@given(st.lists(st.floats(0, 2), min_size=3, max_size=3))
def test_dose_slopes(doses):
    doses = np.array(doses)
    step = 1e-6
    ahead = np.stack(
        [
            (
                effective_doses(doses + step * e, VOLUME, DEPARTURE)
                - effective_doses(doses - step * e, VOLUME, DEPARTURE)
            )
            / (2 * step)
            for e in np.eye(3)
        ],
        axis=-1,
    )
    assert effective_dose_slopes(doses, VOLUME, DEPARTURE) == pytest.approx(ahead, abs=1e-8)


def test_leading_dimensions_broadcast():
    doses = np.random.default_rng(0).uniform(0, 1, (5, 1, 3))
    departures = np.random.default_rng(1).uniform(-0.1, 0.1, (7, 3))
    out = effective_doses(doses, VOLUME, departures)
    assert out.shape == (5, 7, 3)
    assert out[2, 4] == pytest.approx(effective_doses(doses[2, 0], VOLUME, departures[4]), abs=0)
    slopes = effective_dose_slopes(doses, VOLUME, departures)
    assert slopes[2, 4] == pytest.approx(effective_dose_slopes(doses[2, 0], VOLUME, departures[4]), abs=0)


def test_haze():
    # H = 1 − (1 − h₀) exp(−t(s₀ + Σ c s)), physics §10, by hand.
    assert haze([0.1, 0.2], 3.0, 0.01, 0.002, [0.1, 0.0]) == pytest.approx(1 - 0.99 * np.exp(-3 * 0.012), abs=1e-15)
    assert haze(np.zeros((4, 2)), np.full(4, 5.0), 0.0, 0.0, [0.1, 0.1]).tolist() == [0, 0, 0, 0]
    # Physics §10: 8 % at 3 mm leaves 0.92²⁰ of the light unscattered at 60 mm.
    per_mm = -np.log(0.92) / 3
    assert 1 - haze([0.0], 60.0, 0.0, per_mm, [0.0]) == pytest.approx(0.92**20, rel=1e-12)
