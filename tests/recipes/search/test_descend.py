"""The batched descent against a general least-squares solver, one problem at a time."""

from dataclasses import replace
from math import comb

import numpy as np
import pytest
from scipy.optimize import least_squares

from tests.recipes.shelf import known_problem, make_model
from tintmix.optics.colour import xyz_of_lab
from tintmix.optics.difference import residuals
from tintmix.recipes.search.aim import lay
from tintmix.recipes.search.descend import _subsets, projected_levenberg_marquardt, search
from tintmix.recipes.search.forward import sight
from tintmix.recipes.search.starts import STARTS, starts
from tintmix.recipes.target import Limits, Target, TargetSection


def off_target(seed, pigments=5, used=2, limits=None):
    """A target some ΔE00 away from what known doses give: sums of squares that are not zero at the end."""
    problem = known_problem(seed, pigments=pigments, used=used, draws=1)
    rng = np.random.default_rng([seed, 9])
    sections = tuple(
        replace(s, lab=tuple((np.array(s.lab) + rng.normal(size=3) * 2).clip([5, -99, -99], [95, 99, 99]).tolist()))
        for s in problem.target.sections
    )
    return problem.model, replace(problem.target, sections=sections, limits=limits or Limits(pigments=used))


def by_scipy(model, target, subset, start):
    thickness = np.array([s.thickness_mm for s in target.sections])
    goal = np.array([s.lab for s in target.sections])
    share = np.array([np.sqrt(0.5) / s.tolerance for s in target.sections])

    def fall_short(x):
        doses = np.zeros((len(thickness), len(model.pigments)))
        doses[:, subset] = x
        return (residuals(goal, model.predict_lab(doses, thickness)) * share[:, None]).ravel()

    return 2 * least_squares(fall_short, start, bounds=(0, 100), x_scale="jac", xtol=1e-12, ftol=1e-12).cost


@pytest.mark.parametrize("seed", range(4))
def test_no_subset_ends_above_a_general_solver(seed):
    model, target = off_target(seed)
    aim = lay(model, target)
    for part in search(aim):
        for subset in sorted({tuple(row) for row in part.columns.tolist()}):
            mine = part.cost[np.all(part.columns == subset, axis=1)].min()
            begins = starts(aim, np.array([subset]))
            best = min(by_scipy(model, target, list(subset), np.maximum(start, 1e-6)) for start in begins)
            # Hopeless ends are left a little early: a thousandth of themselves.
            assert np.sqrt(mine) <= np.sqrt(best) * 1.001 + 1e-3, subset


def test_ends_stay_in_the_box_and_costs_are_those_of_their_doses():
    model, target = off_target(7)
    model = replace(model, max_phr=np.full(5, 0.004))
    aim = lay(model, target)
    for part in search(aim):
        assert np.all((part.doses >= 0) & (part.doses <= 0.004))
        seen = sight(aim, part.doses, part.columns)
        ratio = np.linalg.norm(residuals(aim.target_lab, seen.lab), axis=-1) / aim.tolerance
        np.testing.assert_allclose(part.ratio, ratio, atol=1e-12)
        np.testing.assert_allclose(part.cost, (ratio**2).mean(axis=1), atol=1e-12)


@pytest.mark.parametrize("limits", [{"luminous_transmittance": 0.3}, {"total_phr": 0.01}, {"haze_percent": 3.0}])
def test_hinges_keep_joint_limits_nearly(limits):
    model = make_model(5, 4, draws=1, haze=True)
    sections = (TargetSection("a", 8.0, lab=(60, -20, 10)), TargetSection("b", 40.0, lab=(20, -10, 5)))
    aim = lay(model, Target(sections, limits=Limits(pigments=3, **limits)))
    part = search(aim)[-1]
    best = np.argsort(part.cost)[:10]
    seen = sight(aim, part.doses[best], part.columns[best])
    (limit,) = aim.joint
    room = (aim.total_phr, 1.0, aim.haze_room)[limit]
    assert np.all(seen.over[:, limit] < 0.1 * room)


@pytest.mark.parametrize("m", [1, 2, 3, 5])
def test_starts_are_as_light_as_the_target(m):
    """All but the spread of one-pigment starts reach the target's Y at the thickest coloured section."""
    model, target = off_target(11, pigments=6)
    aim = lay(model, target)
    subsets = np.array([[*range(m)], [*range(6 - m, 6)]])
    begins = starts(aim, subsets)
    assert begins.shape == (2 * STARTS, m)
    seen = sight(aim, begins, np.repeat(subsets, STARTS, axis=0))
    light = xyz_of_lab(seen.lab, aim.detector.bare)[:, 1, 1]
    goal = xyz_of_lab(aim.target_lab, aim.detector.bare)[1, 1]
    begun = light if m > 1 else light[::STARTS]
    np.testing.assert_allclose(begun, goal, rtol=0.05)


def test_a_black_target_and_a_target_lighter_than_the_resin_can_be_searched():
    model = make_model(4, 2, draws=1)
    for lab in [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (3.0, 40.0, -60.0)]:
        aim = lay(model, Target((TargetSection("a", 10.0, lab=lab),), limits=Limits(pigments=2)))
        assert all(np.isfinite(part.cost).all() for part in search(aim))


def test_every_subset_is_tried():
    model, target = off_target(1, pigments=6)
    aim = lay(model, replace(target, limits=Limits(pigments=4, leave_out=("p2",))))
    for m in range(1, 5):
        rows = np.concatenate(list(_subsets(aim, m, [], 2)))
        assert len({tuple(row) for row in rows.tolist()}) == comb(5, m)
        assert 2 not in rows


def test_large_sizes_grow_from_the_best_smaller_ones(monkeypatch):
    monkeypatch.setattr("tintmix.recipes.search.descend._EXHAUSTIVE", 20)
    problem = known_problem(5, pigments=8, used=3, draws=1)
    parts = search(lay(problem.model, problem.target))
    assert len({tuple(row) for row in parts[2].columns.tolist()}) < comb(8, 3) + 1
    assert min(part.cost.min() for part in parts) < 1e-4


def test_progress_rises_to_one():
    model, target = off_target(2)
    told = []
    search(lay(model, target), told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_descent_alone_keeps_the_order_given():
    model, target = off_target(3)
    aim = lay(model, target)
    columns = np.array([[0, 1], [2, 3], [0, 1]])
    ends = projected_levenberg_marquardt(aim, np.full((3, 2), 0.002), columns)
    np.testing.assert_array_equal(ends.columns, columns)
    np.testing.assert_allclose(ends.doses[0], ends.doses[2])
