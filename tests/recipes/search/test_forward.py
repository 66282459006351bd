"""The batched point model of the search: against the plain optics, and its slopes against differences."""

from dataclasses import replace

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tintmix.recipes.search.aim import lay
from tintmix.recipes.search.forward import FLOOR, HAZE, sight
from tintmix.recipes.search.reported import every_pigment, means, measure
from tintmix.recipes.target import Insert, Limits, Target, TargetSection

SECTIONS = {
    "panel": TargetSection("thick", 40.0, lab=(60.0, -10.0, 5.0)),
    "white": TargetSection("thick", 12.0, lab=(60.0, -10.0, 5.0), behind="white"),
    "dark": TargetSection("thick", 12.0, lab=(20.0, -2.0, 1.0), behind="dark"),
    "insert": TargetSection("thick", 12.0, lab=(50.0, -2.0, 1.0), behind="insert", insert=Insert(srgb="#c08040")),
    "narrow insert": TargetSection(
        "thick", 12.0, lab=(50.0, -2.0, 1.0), behind="insert", insert=Insert(lab=(70.0, 10.0, 30.0), width_mm=20.0)
    ),
}


def aim_for(ground, departure=0.0, volume=0.01, draws=1):
    model = make_model(5, seed=3, draws=draws, haze=True, departure=departure, volume=volume)
    target = Target(
        (TargetSection("thin", 6.0, lab=(80.0, -8.0, 3.0)), SECTIONS[ground]),
        limits=Limits(luminous_transmittance=0.05, haze_percent=8.0, total_phr=1.0),
    )
    return lay(model, target)


@pytest.mark.parametrize("ground", SECTIONS)
@pytest.mark.parametrize(("departure", "volume"), [(0.0, 0.0), (0.4, 0.01)])
def test_slopes_against_differences(ground, departure, volume):
    aim = aim_for(ground, departure, volume)
    rng = np.random.default_rng(5)
    doses = rng.uniform(0.005, 0.03, (7, 3))
    columns = np.array([rng.permutation(5)[:3] for _ in range(7)])
    seen = sight(aim, doses, columns)
    for j in range(3):
        step = np.zeros(3)
        step[j] = 1e-6
        above, below = sight(aim, doses + step, columns), sight(aim, doses - step, columns)
        np.testing.assert_allclose(seen.lab_slope[..., j], (above.lab - below.lab) / 2e-6, rtol=2e-5, atol=2e-4)
        np.testing.assert_allclose(seen.over_slope[..., j], (above.over - below.over) / 2e-6, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("ground", SECTIONS)
def test_with_a_single_draw_it_is_what_look_reports(ground):
    aim = aim_for(ground, departure=0.3)
    doses = np.random.default_rng(1).uniform(0.0, 0.03, (4, 5))
    seen = sight(aim, doses, every_pigment(aim, 4))
    told = aim.model.look_many(doses, aim.sections, "D65", 10)
    np.testing.assert_allclose(seen.lab, told.lab, atol=1e-10)
    np.testing.assert_allclose(0.05 / np.exp(seen.over[:, FLOOR]), told.luminous[:, 1], rtol=1e-12)
    room = np.exp(seen.over[:, HAZE])
    np.testing.assert_allclose((1 - told.haze[:, 1]) * room, 1 - 0.08, rtol=1e-12)


@pytest.mark.parametrize("ground", SECTIONS)
def test_means_are_those_of_look(ground):
    aim = aim_for(ground, departure=0.3, draws=40)
    doses = np.random.default_rng(2).uniform(0.0, 0.03, (11, 5))
    doses[0] = 0.0
    lab, light = means(aim, doses, aim.sections)
    told = aim.model.look_many(doses, aim.sections, "D65", 10)
    np.testing.assert_allclose(lab, told.lab, atol=1e-10)
    np.testing.assert_allclose(light, told.luminous[:, 1], rtol=1e-12)


def test_the_shift_carries_the_point_model_to_the_report():
    aim = aim_for("panel", draws=40)
    doses = np.random.default_rng(3).uniform(0.005, 0.02, (3, 5))
    shift = measure(aim, doses, support=np.ones((3, 5), dtype=bool))
    moved = doses * 1.05
    columns = every_pigment(aim, 3)
    carried = shift.apply(sight(aim, moved, columns), moved, columns)
    lab, light = means(aim, moved, aim.sections)
    np.testing.assert_allclose(carried.lab, lab, atol=0.005)
    np.testing.assert_allclose(0.05 / np.exp(carried.over[:, FLOOR]), light, rtol=1e-4)
    bare = replace(shift, lab=0 * shift.lab, lab_slope=0 * shift.lab_slope)
    assert np.abs(bare.apply(sight(aim, moved, columns), moved, columns).lab - lab).max() > 0.003
