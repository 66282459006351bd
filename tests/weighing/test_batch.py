"""How much resin a mould takes."""

from __future__ import annotations

import math

import pytest

from tintmix.errors import ValueProblem
from tintmix.resin import Part, Resin
from tintmix.weighing.batch import WATER_G_PER_CM3, batch_from_volume, batch_from_water, mixed_density
from tintmix.weighing.errors import MeasureMissing

CLEAR = Resin(density_g_per_cm3=1.06)


def kell(t: float) -> float:
    """Density of air-free water in g/cm³, Kell, J. Chem. Eng. Data 20, 97 (1975); the numerator also as printed in Jones and
    Harris, J. Res. Natl. Inst. Stand. Technol. 97, 335 (1992), eq. 1, the denominator's 16.879850 from memory. Another formula
    than ours, fitted to other measurements."""
    top = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )
    return top / (1 + 16.879850e-3 * t) / 1000


def test_density_of_water() -> None:
    # Kell's formula is on the temperature scale of 1968, which is up to 0.01 K off.
    assert pytest.approx(kell(20.0), rel=1e-5) == WATER_G_PER_CM3


def test_batch_by_volume_by_hand() -> None:
    # 400 cm³ × 1.06 g/cm³ = 424 g; a tenth more is 466.4 g.
    assert batch_from_volume(400.0, CLEAR) == pytest.approx(424.0, rel=1e-12)
    assert batch_from_volume(400.0, CLEAR, 10.0) == pytest.approx(466.4, rel=1e-12)


def test_batch_by_water_by_hand() -> None:
    # A litre of water at 20 °C weighs 998.2 g, so 399.28 g of it are 400 cm³.
    assert batch_from_water(399.2827, CLEAR) == pytest.approx(424.0, rel=1e-5)


def test_density_of_the_parts_stands_in() -> None:
    # 100 g at 1.10 and 90 g at 1.02 fill 90.909 + 88.235 cm³: 190/179.144 = 1.0606 g/cm³.
    resin = Resin(parts=(Part("A", 100, density_g_per_cm3=1.10), Part("B", 90, density_g_per_cm3=1.02)))
    assert mixed_density(resin, "a batch") == pytest.approx(1.0606, abs=5e-5)
    by_volume = Resin(parts=(Part("A", 0, "none", 1.15, 2), Part("B", 0, "none", 0.95, 1)))
    assert mixed_density(by_volume, "a batch") == pytest.approx((2 * 1.15 + 0.95) / 3, rel=1e-12)


@pytest.mark.parametrize("resin", [Resin(), Resin(parts=(Part("A", 1, density_g_per_cm3=1.1), Part("B", 1)))])
def test_no_density(resin: Resin) -> None:
    with pytest.raises(MeasureMissing, match="density_g_per_cm3"):
        batch_from_volume(100.0, resin)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, 1e7])
def test_bad_amounts(bad: float) -> None:
    with pytest.raises(ValueProblem, match="the volume of the mould"):
        batch_from_volume(bad, CLEAR)
    with pytest.raises(ValueProblem, match="the water"):
        batch_from_water(bad, CLEAR)


@pytest.mark.parametrize("bad", [-1.0, math.nan, 300.0])
def test_bad_waste(bad: float) -> None:
    with pytest.raises(ValueProblem, match="the waste allowance"):
        batch_from_volume(100.0, CLEAR, bad)
