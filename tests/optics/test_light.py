"""The one function from doses and thickness to light: by hand, and held against the two that are faster."""

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tests.reference import slow
from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye, luminous
from tintmix.optics.insert import radiance_factor
from tintmix.optics.light import TintedResin, light, through, through_with_slope
from tintmix.optics.plate import external_transmittance
from tintmix.optics.section import DARK, PANEL, WHITE, Ground
from tintmix.optics.tile import Tile
from tintmix.pigments.thickness_strip import strip_colours

PER_MM = np.linspace(0.001, 0.25, 41)
TAU = 10 ** (-8.0 * PER_MM)
COLOUR = np.linspace(0.2, 0.7, 41)


def resin_of(draws=(), departure=0.0):
    rng = np.random.default_rng(0)
    return TintedResin(
        base_per_mm=rng.uniform(0, 0.01, (*draws, 41)),
        absorptivity=rng.uniform(0, 3, (*draws, 3, 41)),
        volume_per_phr=np.array([0.01, 0.006, 0.0]),
        departure_per_phr=np.full((*draws, 3), departure),
        refractive_index=1.5,
    )


def test_absorbances_add():
    # Beer and Lambert, physics §1, a band and a pigment at a time.
    resin = resin_of()
    doses = np.array([[0.0, 0.05, 0.2], [0.1, 0.0, 0.0], [0.0, 0.0, 0.0]])
    for got, c in zip(resin.per_mm(doses), doses, strict=True):
        shrink = 1 + c @ resin.volume_per_phr
        want = resin.base_per_mm + sum(c[p] / shrink * resin.absorptivity[p] for p in range(3))
        assert got == pytest.approx(want, rel=1e-14)
    assert resin.per_mm(doses[0]) == pytest.approx(resin.per_mm(doses)[0], rel=1e-14)


def test_a_departure_bends_the_dose():
    # physics §5: c/(1 + k c).
    resin = resin_of(departure=2.0)
    volume = 0.1 / (1 + 0.1 * 0.01)
    want = resin.base_per_mm + volume / (1 + 2.0 * volume) * resin.absorptivity[0]
    assert resin.per_mm([0.1, 0.0, 0.0]) == pytest.approx(want, rel=1e-14)


def test_draws_are_so_many_resins():
    draws = resin_of((5,), departure=0.3)
    doses = np.array([[0.0, 0.05, 0.2], [0.1, 0.0, 0.3]])
    out = light(draws, doses, [8.0, 40.0])
    assert out.shape == (5, 2, 41)
    one = TintedResin(
        base_per_mm=draws.base_per_mm[3],
        absorptivity=draws.absorptivity[3],
        volume_per_phr=draws.volume_per_phr,
        departure_per_phr=draws.departure_per_phr[3],
        refractive_index=1.5,
    )
    assert out[3] == pytest.approx(light(one, doses, [8.0, 40.0]), rel=1e-13)


def test_as_the_slow_reference_has_it():
    resin = resin_of()
    for dose, mm in (([0.02, 0.0, 0.01], 8.0), ([0.0, 0.0, 0.0], 60.0)):
        plain = TintedResin(
            base_per_mm=resin.base_per_mm,
            absorptivity=resin.absorptivity,
            volume_per_phr=np.full(3, 0.01),
            departure_per_phr=np.zeros(3),
            refractive_index=1.5,
        )
        inside = slow.internal_transmittance(slow.internal_absorbance(dose, mm, resin.base_per_mm, resin.absorptivity))
        assert light(plain, [dose], mm, None)[0] == pytest.approx(np.asarray(inside), rel=1e-12)


def test_two_plates_are_one():
    # Lambert: absorbances of thicknesses add.
    assert through(PER_MM, 8.0, 1.5, None) ** 7.5 == pytest.approx(through(PER_MM, 60.0, 1.5, None), rel=1e-12)


def test_before_the_panel_and_inside():
    assert through(PER_MM, 8.0, 1.5) == pytest.approx(external_transmittance(TAU, 1.5), rel=1e-14)
    assert through(PER_MM, 8.0, 1.5, None) == pytest.approx(TAU, rel=1e-14)


@pytest.mark.parametrize(("ground", "reflectance"), [(WHITE, 0.85), (DARK, 0.04)])
def test_before_a_ground(ground, reflectance):
    # formats.md: white is R 0.85, dark R 0.04.
    assert through(PER_MM, 8.0, 1.5, ground) == pytest.approx(radiance_factor(TAU, reflectance, 1.5), rel=1e-12)


def test_an_insert_narrower_than_four_thicknesses():
    narrow, wide = (through(PER_MM, 8.0, 1.5, Ground("insert", COLOUR, width)) for width in (31.9, 32.0))
    assert narrow == pytest.approx(radiance_factor(TAU, COLOUR, 1.5, narrow=True), rel=1e-12)
    assert wide == pytest.approx(radiance_factor(TAU, COLOUR, 1.5), rel=1e-12)
    assert through(PER_MM, 8.0, 1.5, Ground("insert", COLOUR)) == pytest.approx(wide, abs=0)


@pytest.mark.parametrize(
    "behind", [PANEL, WHITE, DARK, Ground("insert", COLOUR, 6.0), Tile(np.full(41, 0.9)), Tile(COLOUR, "wetted"), None]
)
def test_slopes(behind):
    value, slope = through_with_slope(PER_MM, 8.0, 1.5, behind)
    assert value == pytest.approx(through(PER_MM, 8.0, 1.5, behind), abs=1e-15)
    step = 1e-6 / (LN10 * 8.0)
    ahead = through(PER_MM - step, 8.0, 1.5, behind) - through(PER_MM + step, 8.0, 1.5, behind)
    assert slope == pytest.approx(ahead / 2e-6, rel=1e-5)


def test_the_fast_prediction_is_this_one():
    model = make_model(5, seed=3, draws=1, departure=0.3)
    rng = np.random.default_rng(1)
    doses, mm = rng.uniform(0.0, 0.1, (5000, 5)), rng.uniform(1.0, 60.0, 5000)
    detector = eye("D65", 10)
    want = lab(light(model.mean_resin, doses, mm) @ detector.weights, detector.bare)
    assert model.predict_lab(doses, mm) == pytest.approx(want, abs=1e-9)


def test_the_fast_strip_is_this_one():
    # 32 bits: 1e-3 of L*a*b* and 1e-6 of the light are below all that a screen shows.
    model = make_model(5, seed=3, draws=60, departure=0.3)
    doses = dict(zip(model.pigments, (0.02, 0.0, 0.03, 0.0, 0.01), strict=True))
    mm = np.array([1.0, 8.0, 60.0])
    detector = eye("A", 2)
    seen = light(model.drawn_resins(), np.tile(model.dose_vector(doses), (3, 1)), mm)
    colours, through_mean = strip_colours(model, doses, mm, "A", 2)
    assert colours == pytest.approx(lab(seen @ detector.weights, detector.bare).mean(axis=0), abs=1e-3)
    assert through_mean == pytest.approx((seen @ luminous("A")).mean(axis=0), rel=1e-5, abs=1e-6)
