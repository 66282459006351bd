"""Beer and Lambert forwards; volume, departure and haze; slopes against finite differences."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

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
