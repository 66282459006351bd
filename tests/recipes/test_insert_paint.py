"""The paint of an insert, held against the insert model forwards, and against a general minimiser where no paint does."""

import numpy as np
import pytest
from scipy.optimize import minimize

from tests.recipes.seen import seen_place
from tests.recipes.shelf import make_model
from tintmix.errors import ValueProblem
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.insert import radiance_factor, smoothest_reflectance
from tintmix.optics.paths import LightPaths
from tintmix.optics.section import Ground, Section, seen_section
from tintmix.recipes.insert_paint import paint_for

MODEL = make_model(draws=60)
DOSES = {"p0": 0.005, "p3": 0.01}
D65 = eye("D65", 10)


def painted(section, colour, width_mm=None):
    reflectance = smoothest_reflectance(colour)
    if isinstance(section.ground, LightPaths):
        return Section(section.name, section.thickness_mm, section.ground.with_insert(reflectance), section.seen)
    return Section(section.name, section.thickness_mm, Ground("insert", reflectance, width_mm))


def in_shape():
    weights = ((0.02, 0.0, 0.1), (0.0, 0.5, 0.1), (0.0, 0.02, 0.1))
    return seen_section("ring", seen_place(LightPaths(lengths_mm=(0.0, 12.0, 30.0), weights=weights)))


@pytest.mark.parametrize(
    "section", [Section("ring", 2.0), Section("ring", 12.0), in_shape()], ids=["thin", "thick", "shape"]
)
@pytest.mark.parametrize("colour", [(60.0, 20.0, 30.0), (40.0, -20.0, 10.0), (85.0, 2.0, 5.0)])
def test_a_paint_that_was_looked_at_is_found_again(section, colour):
    there = MODEL.look(DOSES, [painted(section, colour)])
    paint = paint_for(MODEL, DOSES, section, there.lab[0])
    assert paint.possible
    assert paint.delta_e00_left < 0.01
    again = MODEL.look(DOSES, [painted(section, paint.lab)])
    assert delta_e00(again.lab[0], there.lab[0]) == pytest.approx(paint.delta_e00_left, abs=1e-6)
    assert delta_e00(paint.lab, np.array(colour)) < 0.05


def test_the_band_is_how_the_draws_paints_differ():
    section = Section("ring", 8.0)
    wanted = MODEL.look(DOSES, [painted(section, (60.0, 20.0, 30.0))]).lab[0]
    paint = paint_for(MODEL, DOSES, section, wanted)
    # The implicit function: what is seen moves with the draws by its covariance C, with the paint by J, the paint by J⁻¹ C J⁻ᵀ.
    steps = [(MODEL.look(DOSES, [painted(section, paint.lab + d)]).lab[0] - wanted) / 0.5 for d in 0.5 * np.eye(3)]
    back = np.linalg.inv(np.array(steps).T)
    linear = back @ MODEL.look(DOSES, [painted(section, paint.lab)]).lab_covariance[0] @ back.T
    assert np.sqrt(np.diag(paint.lab_covariance)) == pytest.approx(np.sqrt(np.diag(linear)), rel=0.35)


@pytest.mark.parametrize("wanted", [(95.0, 0.0, 0.0), (50.0, 60.0, 20.0)])
def test_where_no_paint_does_the_nearest_is_told(wanted):
    model, section = make_model(draws=1), Section("ring", 8.0)
    paint = paint_for(model, DOSES, section, wanted)
    assert not paint.possible
    tau = 10.0 ** -(8.0 * model.drawn_resins().per_mm(model.dose_vector(DOSES))[0])

    def off(reflectance):
        seen = lab(radiance_factor(tau, reflectance, 1.5) @ D65.weights, D65.bare)
        return float(delta_e00(seen, np.array(wanted)))

    # Seven levels, linear in between: a general minimiser over coarser spectra comes hardly nearer.
    levels = np.linspace(0, 40, 7)
    spread = np.array([np.interp(np.arange(41), levels, unit) for unit in np.eye(7)])
    tries = [
        minimize(lambda x: off(x @ spread), start, bounds=[(0, 1)] * 7, method="L-BFGS-B").fun
        for start in (np.full(7, 0.5), np.linspace(0.1, 0.9, 7), np.full(7, 0.95))
    ]
    assert paint.delta_e00_left <= min(tries) + 0.3


def test_nothing_that_is_seen_asks_for_no_paint():
    nothing = seen_section("rim", seen_place(LightPaths(lengths_mm=(8.0,), weights=((0.9,), (0.0,), (0.0,)))))
    with pytest.raises(ValueProblem, match="no insert is seen"):
        paint_for(MODEL, DOSES, nothing, (50.0, 0.0, 0.0))
