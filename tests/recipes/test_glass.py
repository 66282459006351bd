"""A glass piece: the same look from its spectrum, from its absorption, and from published body-tinted glass."""

from dataclasses import replace

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tests.reference.absorbers import read_columns
from tintmix.errors import ValueProblem
from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab
from tintmix.optics.detector import camera, camera_sensitivities, light
from tintmix.optics.difference import delta_e00
from tintmix.optics.plate import external_transmittance
from tintmix.optics.section import WHITE, Section
from tintmix.optics.spectrum import GRID_NM
from tintmix.recipes.glass import look_at_glass
from tintmix.recipes.search.aim import lay
from tintmix.recipes.solve import _how_glass_is_known, solve
from tintmix.recipes.target import Curve, Glass, Target, TargetSection

MODEL = make_model(3, 1, draws=2)
SODA_LIME = read_columns("soda_lime_glass.csv")
"""Natural absorption per mm of soda-lime glasses; source and licence stand at the head of the file."""
TINTED = next(name for name in SODA_LIME if "green" in name)


def target(glass):
    return Target((TargetSection("thin", 6.0), TargetSection("thick", 40.0)), glass=glass)


def published():
    inside = (SODA_LIME["nm"] >= 300) & (SODA_LIME["nm"] <= 1100)
    return SODA_LIME["nm"][inside], SODA_LIME[TINTED][inside]


def as_absorption():
    nm, ln = published()
    return Glass(absorption=Curve(tuple(nm), tuple(ln), "g"), absorption_unit="ln_per_mm", refractive_index=1.525)


@pytest.mark.parametrize("relative_to", ["air", "faces removed"])
def test_spectrum_and_absorption_are_the_same_glass(relative_to):
    known = as_absorption()
    nm, ln = published()
    internal = np.exp(-6.0 * ln)
    read = external_transmittance(internal, 1.525) if relative_to == "air" else internal
    piece = Glass(6.0, Curve(tuple(nm), tuple(read), "g"), relative_to, 1.525)
    first, second = lay(MODEL, target(known)), lay(MODEL, target(piece))
    np.testing.assert_allclose(first.target_lab, second.target_lab, atol=0.02)
    assert first.speaking == (True, True)


def test_a_piece_looks_like_itself_at_its_own_thickness():
    nm, ln = published()
    read = external_transmittance(np.exp(-6.0 * ln), 1.525)
    aim = lay(MODEL, target(Glass(6.0, Curve(tuple(nm), tuple(read), "g"), "air", 1.525)))
    grid = np.interp(GRID_NM, nm, read)
    direct = lab(grid @ aim.detector.weights, aim.detector.bare)
    assert delta_e00(aim.target_lab[0], direct) < 0.05


def test_log10_is_not_ln():
    nm, ln = published()
    decadic = Glass(absorption=Curve(tuple(nm), tuple(ln / LN10), "g"), refractive_index=1.525)
    np.testing.assert_allclose(
        lay(MODEL, target(decadic)).target_lab, lay(MODEL, target(as_absorption())).target_lab, atol=1e-9
    )


def test_a_section_with_its_own_colour_is_not_overruled():
    both = replace(
        target(as_absorption()), sections=(TargetSection("thin", 6.0, lab=(50.0, 1.0, 2.0)), TargetSection("t", 9.0))
    )
    aim = lay(MODEL, both)
    assert aim.speaking == (False, True)
    np.testing.assert_allclose(aim.target_lab[0], [50.0, 1.0, 2.0])


def test_ends_that_were_not_measured_are_held():
    nm = np.arange(400.0, 701.0, 10.0)
    curve = Curve(tuple(nm), tuple(np.linspace(0.02, 0.05, len(nm))), "g")
    look = look_at_glass(Glass(absorption=curve), target(Glass(absorption=curve)), MODEL)
    assert look.absorbance_per_mm[0] == pytest.approx(0.02)
    assert look.absorbance_per_mm[-1] == pytest.approx(0.05)
    assert look.factor(Section("a", 5.0, WHITE)).shape == GRID_NM.shape


def test_noise_at_the_dark_end_and_above_the_clear_plate_is_borne():
    nm = np.arange(380.0, 781.0, 10.0)
    values = np.linspace(-0.002, 0.925, len(nm))
    aim = lay(MODEL, target(Glass(6.0, Curve(tuple(nm), tuple(values), "g"))))
    assert np.isfinite(aim.target_lab).all()


def test_known_by_its_colour_only_the_piece_still_looks_like_itself():
    """The spectrum is estimated, but at the piece's own thickness the colour is the one given."""
    known = lay(MODEL, target(as_absorption()))
    guessed = target(Glass(6.0, lab=tuple(known.target_lab[0].tolist()), refractive_index=1.525))
    aim = lay(MODEL, guessed)
    assert delta_e00(aim.target_lab[0], known.target_lab[0]) < 0.1
    assert delta_e00(aim.target_lab[1], known.target_lab[1]) < 6
    best = solve(MODEL, replace(guessed, also_under=("A",))).proposals[0]
    assert best.under["A"].estimated


def test_the_match_under_another_light_is_given_only_where_the_target_has_a_spectrum():
    plain = Target((TargetSection("a", 6.0, lab=(80.0, -5.0, 3.0)),), also_under=("A",))
    answer = solve(MODEL, plain)
    assert answer.proposals[0].under is None
    assert any("under A is not told" in str(said) for said in answer.warnings)
    assert solve(MODEL, target(as_absorption())).proposals[0].under == {}


def test_what_a_reading_leaves_open_of_the_glass_is_in_the_chance():
    known = lay(MODEL, target(as_absorption()))
    seen = target(Glass(6.0, lab=tuple(known.target_lab[0].tolist()), refractive_index=1.525))
    sure, unsure = (solve(MODEL, one).proposals[0] for one in (target(as_absorption()), seen))
    assert [one.target_delta_e00_95 for one in sure.sections] == [None, None]
    near, far = (one.target_delta_e00_95 for one in unsure.sections)
    assert near < 1.5 < 3 < far
    assert unsure.chance_within_tolerance < 0.7


def test_a_second_thickness_by_camera_tells_how_the_glass_goes_on():
    weights = camera(*camera_sensitivities("Nikon 5100 (NPL)"), light("LED-B3")).weights
    model = replace(MODEL, camera_weights=weights)
    nm, ln = published()
    per_mm = np.interp(GRID_NM, nm, ln)

    def read(mm):
        return tuple((external_transmittance(np.exp(-mm * per_mm), 1.525) @ weights).tolist())

    def off(glass):
        aim = lay(model, target(glass))
        wanted = lab(external_transmittance(np.exp(-40.0 * per_mm), 1.525) @ aim.detector.weights, aim.detector.bare)
        return float(delta_e00(aim.target_lab[1], wanted))

    one = Glass(6.0, camera=read(6.0), refractive_index=1.525)
    both = replace(one, second_thickness_mm=30.0, second_camera=read(30.0))
    assert off(both) < min(1.5, off(one))
    assert "known by its colour only;" in _how_glass_is_known(None, 40.0, 3.0)
    assert "A second piece of it" in _how_glass_is_known(one, 40.0, 3.0)
    assert "known by what a camera read at 6 and 30 mm;" in _how_glass_is_known(both, 40.0, 3.0)
    assert ["would tell it better" in _how_glass_is_known(both, mm, 3.0) for mm in (40.0, 60.0, 70.0)] == [
        False,
        False,
        True,
    ]
    for wrong in ({"second_thickness_mm": 30.0}, {"second_camera": read(30.0)}):
        with pytest.raises(ValueProblem, match="second"):
            replace(one, **wrong)
