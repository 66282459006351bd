"""Solve from end to end: recovery of known doses, limits kept, outcomes told, proposals that differ."""

import json
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from tests.accuracy.why_rows import case, held
from tests.recipes.shelf import known_problem, make_model
from tintmix.errors import ValueProblem
from tintmix.files.plain import finite
from tintmix.numerals import numeral
from tintmix.optics.difference import delta_e00
from tintmix.optics.section import Section
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.health import health
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.recipes.missing import FURTHER, colourless_resin, nearest_further, with_pigments
from tintmix.recipes.proposals import USUAL
from tintmix.recipes.says import short
from tintmix.recipes.search.aim import lay
from tintmix.recipes.search.choice import ALIKE, _without_nil
from tintmix.recipes.search.descend import search
from tintmix.recipes.solve import Outcome, solve
from tintmix.recipes.target import Glass, Limits, Target, TargetSection
from tintmix.recipes.why import Reasons, best_supports
from tintmix.resin import Resin

TWO = (TargetSection("flange", 8.0, lab=(85.0, -14.0, 3.0)), TargetSection("point", 60.0, lab=(50.0, -40.0, 12.0)))


@pytest.mark.parametrize("seed", range(40))
def test_known_doses_come_back(seed):
    """measures.md, row "solve": doses to 1 % where well conditioned, ΔE00 < 0.01. The 200 are in tests/accuracy."""
    problem = known_problem(seed)
    answer = solve(problem.model, problem.target)
    assert answer.outcome is Outcome.REACHED
    best = answer.proposals[0]
    assert best.worst_delta_e00 < 0.01
    if problem.conditioning > 1:
        truth = {problem.model.pigments[p]: problem.doses[p] for p in np.flatnonzero(problem.doses)}
        same = [one for one in answer.proposals if set(one.doses_phr) == set(truth)]
        assert min(max(abs(one.doses_phr[p] / dose - 1) for p, dose in truth.items()) for one in same) < 0.01


@pytest.mark.parametrize("seed", range(12))
def test_limits_are_never_broken(seed):
    """measures.md: never by more than 1e-6. Judged by `look`, at which the maker reads them."""
    problem = known_problem(seed, pigments=6)
    model = replace(make_model(6, seed, haze=True), resin=Resin())
    truth = model.look_many(problem.doses[None], [Section(s.name, s.thickness_mm) for s in problem.target.sections])
    clear = model.look_many(0 * problem.doses[None], [Section("t", problem.target.sections[1].thickness_mm)])
    floor = float(np.sqrt(truth.luminous[0, 1] * clear.luminous[0, 0]))
    limits = Limits(
        pigments=3,
        luminous_transmittance=floor,
        total_phr=float(problem.doses.sum()),
        haze_percent=float(100 * (0.3 * clear.haze[0, 0] + 0.7 * truth.haze[0, 1])),
    )
    answer = solve(model, replace(problem.target, limits=limits))
    assert answer.proposals
    for one in answer.proposals:
        look = model.look(one.doses_phr, [s.thickness_mm for s in problem.target.sections])
        assert look.luminous_transmittance[1] >= floor - 1e-9
        assert sum(one.doses_phr.values()) <= limits.total_phr + 1e-12
        assert 100 * look.haze[1] <= limits.haze_percent + 1e-9
        np.testing.assert_allclose([s.lab for s in one.sections], look.lab, atol=1e-9)
    assert answer.deepest is None or answer.deepest.luminous_transmittance[1] >= floor - 1e-9


def test_short_names_the_floor_in_words():
    model = make_model(6, 3)
    deep = TargetSection("point", 60.0, lab=(15.0, -12.0, 4.0))
    answer = solve(model, Target((TWO[0], deep), limits=Limits(pigments=3, luminous_transmittance=0.08)))
    assert answer.outcome is Outcome.SHORT
    # Without the floor it comes from 5.5 to 4.2, not within its tolerance of 2: the floor is not the cause.
    assert answer.binding == ("sections",)
    assert "without the least light of 8 % at 60 mm it would come nearer, to ΔE00 4.2" in answer.says
    assert answer.proposals[0].sections[1].luminous_transmittance == pytest.approx(0.08, abs=1e-6)


@pytest.mark.parametrize(
    ("limits", "key", "words"),
    [
        ({"total_phr": 0.002}, "total_phr", "would be without the limit of 0.002 phr of pigment;"),
        ({"haze_percent": 1.2}, "haze_percent", "would be without the limit of 1.2 % haze at 60 mm;"),
    ],
)
def test_short_names_other_limits(limits, key, words):
    model = make_model(6, 3, haze=True)
    doses = np.full((1, 6), 0.004)
    lab = model.look_many(doses, [Section("a", 8.0), Section("b", 60.0)]).lab[0]
    sections = tuple(TargetSection(n, t, lab=tuple(c)) for n, t, c in zip("ab", (8.0, 60.0), lab.tolist(), strict=True))
    answer = solve(model, Target(sections, limits=Limits(**limits)))
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == (key,)
    assert words in answer.says


def test_short_names_a_pigments_own_limit_and_the_resins():
    problem = known_problem(2, pigments=5)
    weak = replace(problem.model, max_phr=0.5 * np.where(problem.doses > 0, problem.doses, np.inf))
    answer = solve(weak, problem.target)
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == ("max_phr",)
    assert "without the pigments' own limits (p" in answer.says
    full = replace(problem.model, resin=Resin(max_total_phr=float(0.1 * problem.doses.sum())))
    answer = solve(full, problem.target)
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == ("max_total_phr",)
    assert "the most pigment that the resin takes" in answer.says


def test_short_names_the_number_of_pigments_and_what_is_left_out():
    problem = known_problem(14, pigments=5)
    answer = solve(problem.model, replace(problem.target, limits=Limits(pigments=1)))
    assert answer.outcome is Outcome.SHORT
    assert "pigments" in answer.binding
    assert "without the limit of 1 pigment" in answer.says
    used = problem.model.pigments[int(np.argmax(problem.doses))]
    answer = solve(problem.model, replace(problem.target, limits=Limits(pigments=3, leave_out=(used,))))
    if answer.outcome is Outcome.SHORT:
        assert "leave_out" in answer.binding
        assert used in answer.says
    assert all(used not in one.doses_phr for one in answer.proposals)


def test_short_says_that_sections_cannot_both_be_met():
    problem = known_problem(3, pigments=5)
    thin, thick = problem.target.sections
    # The thin section much deeper than the thick one: Beer's law forbids it.
    turned = (replace(thin, lab=thick.lab), replace(thick, lab=thin.lab))
    answer = solve(problem.model, Target(turned, limits=Limits(pigments=3)))
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == ("sections",)
    assert "can be met alone" in answer.says


def test_what_the_chips_do_not_tell_is_not_called_out_of_reach():
    """Missed by 3 at a place where the prediction may itself be off by more; surely, where the draws are all alike."""
    model = make_model(3, 5, draws=60, spread=0.25)
    doses = {"p0": 0.03, "p1": 0.02}
    thin, thick = model.look(doses, [4.0, 40.0]).lab
    off = (float(thick[0]) + 6.0, float(thick[1]), float(thick[2]))
    sections = (TargetSection("thin", 4.0, lab=tuple(map(float, thin))), TargetSection("thick", 40.0, lab=off))
    told = solve(model, Target(sections), most=3)
    assert told.outcome is Outcome.SHORT
    worst = max(told.proposals[0].sections, key=lambda one: one.delta_e00_95)
    assert 2.0 < worst.delta_e00 <= worst.delta_e00_95
    assert told.says.startswith("whether the target can be reached these chips do not tell")
    assert "40 mm thick, would tell" in told.says
    assert told.binding == ("chips",)
    tight = solve(model, Target(sections, limits=Limits(total_phr=0.01)), most=3)
    assert tight.binding == ("chips",)
    assert "cannot be reached within the limits; the nearest tint" in tight.says
    assert "whether it can be reached without the limits these chips do not tell" in tight.says
    same = replace(
        model,
        draws_base=np.tile(model.base_per_mm, (60, 1)),
        draws_absorptivity=np.tile(model.absorptivity, (60, 1, 1)),
    )
    assert solve(same, Target(sections), most=3).says.startswith("by the model the target cannot be reached")
    known = solve(replace(same, thickest_mm=40.0), Target(sections), most=3)
    assert known.says.startswith("the target cannot be reached")


@pytest.mark.parametrize(
    ("report", "words"),
    [
        (health([True, True, False]).as_table(), "which do not fit together"),
        (
            health([], set_up=[{"what": "base", "says": "thick pours are yellow."}]).as_table(),
            "otherwise thick than thin",
        ),
    ],
)
def test_suspected_chips_blame_no_pigments(report, words):
    """A colour that this model does not make: by chips that may be at fault, that is no word of the pigments."""
    model = replace(azure_alone(), report={"health": report})
    answer = solve(model, Target((TargetSection("rim", 8.0, lab=(50.0, 60.0, 30.0)),)))
    assert (answer.binding, answer.missing) == (("chips",), None)
    assert answer.says.startswith("by these chips, wh")
    assert words in answer.says
    assert "cannot be reached" not in answer.says
    assert "mixture" not in answer.says


def test_a_chip_would_tell_only_of_the_place_that_decides():
    model = make_model(3, 5, draws=60, spread=0.25)
    target = Target(
        (TargetSection("thin", 4.0, lab=(60.0, 10.0, 5.0)), TargetSection("thick", 40.0, lab=(20.0, 9.0, 5.0)))
    )
    aim, best = lay(model, target), solve(model, target).proposals[0]
    thin, thick = (
        replace(one, delta_e00=off, delta_e00_95=3.0) for one, off in zip(best.sections, (2.5, 4.5), strict=True)
    )
    reasons = Reasons(("chips",), (), {}, None, is_open=True)
    said = short(aim, [replace(best, sections=(thin, thick))], reasons)
    assert "off by ΔE00 4.5 at thick (40 mm)" in said
    assert "would tell" not in said
    said = short(aim, [replace(best, sections=(thin, replace(thick, delta_e00_95=5.0)))], reasons)
    assert said.endswith("40 mm thick, would tell.")


def test_no_recipe_is_far_worse_than_the_best_and_none_holds_a_trace():
    """A pigment of 1 phr that takes away a millionth of the light is of no use, however little it brings it nearer."""
    model = make_model(3, 5)
    aim = lay(model, Target((TargetSection("a", 8.0, lab=(60.0, 10.0, 5.0)),)))
    faint = 1e-4 / 8.0 / float(model.absorptivity[2].max())
    doses = _without_nil(aim, np.array([[0.02, 0.03, faint], [0.02, 0.03, 1000 * faint], [0.0, 0.0, faint]]))
    assert doses[:, 2].tolist() == [0.0, 1000 * faint, 0.0]
    worst = [one.worst_ratio for one in solve(model, known_problem(0, pigments=3).target).proposals]
    assert max(worst) <= 3.0 * max(worst[0], 1.0)


def test_short_says_that_the_resin_is_too_dark_and_that_pigments_cannot():
    model = make_model(4, 1)
    answer = solve(model, Target((TargetSection("a", 60.0, lab=(100.0, 0.0, 0.0), tolerance=0.5),)))
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == ("resin",)
    assert "lighter than the untinted resin" in answer.says
    grey = replace(model, absorptivity=np.ones((4, 41)), draws_absorptivity=np.ones((60, 4, 41)))
    answer = solve(grey, Target((TargetSection("a", 10.0, lab=(50.0, 60.0, 30.0)),)))
    assert answer.binding == ("gamut",)


def azure_alone() -> TintModel:
    """A pigment that takes away no light below 560 nm, in a resin that takes a little of all."""
    azure = np.where(GRID_NM > 560.0, 1.0, 0.0)[None]
    base = np.full(41, 1e-3)
    spectra = {"absorptivity": azure, "draws_absorptivity": np.tile(azure, (60, 1, 1))}
    resin = {"base_per_mm": base, "draws_base": np.tile(base, (60, 1))}
    return replace(make_model(1), pigments=("azure",), **spectra, **resin)


@pytest.mark.parametrize(
    ("lab", "binding", "words"),
    [
        # Yellower than the resin, and only azure at hand: red light is what no dose may touch.
        ((94.0, -2.0, 12.0), ("gamut",), "a further pigment that is yellow, one that takes away light around"),
        # Lighter than its two faces alone let through (n = 1.5: 92.3 %, L* 97): no resin is light enough.
        ((100.0, 0.0, 0.0), ("resin",), "would come notably nearer: the target would have to be darker"),
    ],
)
def test_the_untinted_resin_is_nearest_and_what_would_come_nearer_is_told(lab, binding, words):
    """Issue 9, fault 1: every descent ends at no pigment."""
    model = azure_alone()
    if binding == ("resin",):
        model = replace(model, base_per_mm=np.zeros(41), draws_base=np.zeros((60, 41)))
    answer = solve(model, Target((TargetSection("rim", 8.0, lab=lab, tolerance=1.0),)))
    assert answer.outcome is Outcome.SHORT
    assert answer.binding == binding
    best = answer.proposals[0]
    assert (dict(best.doses_phr), best.total_phr, dict(best.delta_e00_per_5_percent)) == ({}, 0.0, {})
    np.testing.assert_allclose(best.sections[0].lab, answer.lightest.lab[0], atol=1e-9)
    assert "the untinted resin is nearest, off by" in answer.says
    assert words in answer.says


def test_what_would_come_nearer_does():
    """The claim is put to the test: with the pigment that is named at hand it is as near as told; and in a colourless resin."""
    model = azure_alone()
    target = Target((TargetSection("rim", 8.0, lab=(94.0, -2.0, 12.0), tolerance=0.5),))
    answer = solve(model, target)
    aim = lay(model, target)
    row, _, off = nearest_further(aim, best_supports(search(aim), 64))
    assert (answer.missing.delta_e00, answer.missing.srgb) == (off, "#ffe243")
    other = solve(with_pigments(model, FURTHER[[row]]), target)
    assert other.proposals[0].worst_delta_e00 == pytest.approx(off, abs=0.01)
    light = Target((TargetSection("rim", 40.0, lab=(96.0, 0.0, 0.2), tolerance=0.5),))
    clear = replace(model, base_per_mm=np.zeros(41), draws_base=np.zeros((60, 41)))
    told = numeral(solve(clear, light).proposals[0].worst_delta_e00, 2)
    colourless = f"a resin without colour of its own would bring it to ΔE00 {told}"
    assert colourless == colourless_resin(lay(model, light), 100.0)
    assert colourless in solve(model, light).says


@pytest.mark.parametrize("seed", [5, 13, 29])
def test_reasons_are_reasons(seed):
    """Issue 10: of 72 targets that named limits as the cause, lifting these reached 7. Whole: `tests.accuracy.why_rows`."""
    one = held(case(seed))
    assert one is None or (one.reached is not False and not one.fewer and not one.beyond)
    assert one is None or max((*one.nearer, one.missing or 0.0), default=0.0) <= 0.05


def test_a_limit_that_only_brings_it_nearer_is_not_named_as_the_cause():
    """A colour that no pigment makes, with too little pigment allowed for the nearest."""
    model = azure_alone()
    light, a, b = model.look({"azure": 0.05}, 8.0).lab[0]
    target = Target((TargetSection("rim", 8.0, lab=(light, a + 15.0, b)),), limits=Limits(total_phr=0.002))
    answer = solve(model, target)
    assert answer.binding == ("gamut",)
    freed = solve(model, replace(target, limits=Limits())).proposals[0].worst_delta_e00
    assert answer.nearer == {"total_phr": pytest.approx(freed, abs=1e-6)}
    assert f"without the limit of 0.002 phr of pigment it would come nearer, to ΔE00 {numeral(freed, 2)}" in answer.says


def test_a_pigment_left_out_is_named_where_nothing_else_tints():
    model = make_model(2, 5)
    lemon, azure = np.where(GRID_NM < 490.0, 1.0, 0.0), np.where(GRID_NM > 560.0, 1.0, 0.0)
    both = np.stack([lemon, azure])
    model = replace(model, absorptivity=both, draws_absorptivity=np.tile(both, (60, 1, 1)))
    target = Target((TargetSection("rim", 8.0, lab=(94.0, -2.0, 12.0)),), limits=Limits(leave_out=("p0",)))
    answer = solve(model, target)
    assert answer.binding == ("leave_out",)
    assert dict(answer.proposals[0].doses_phr) == {}
    assert "would be without leaving out p0; the untinted resin is nearest" in answer.says


def test_the_untinted_resin_can_be_the_answer():
    model = azure_alone()
    clear = solve(model, Target((TargetSection("rim", 8.0, lab=(94.0, -2.0, 12.0)),))).lightest.lab[0]
    answer = solve(model, Target((TargetSection("rim", 8.0, lab=tuple(clear)),)))
    assert answer.outcome is Outcome.REACHED
    assert "the best, the untinted resin, is off by" in answer.says


def test_none_where_even_the_untinted_resin_breaks_a_limit():
    model = make_model(4, 1, haze=True)
    answer = solve(model, Target(TWO, limits=Limits(luminous_transmittance=0.93)))
    assert answer.outcome is Outcome.NONE
    assert answer.binding == ("luminous_transmittance",)
    assert answer.proposals == ()
    assert answer.deepest is None
    assert "the untinted resin itself lets only" in answer.says
    answer = solve(model, Target(TWO, limits=Limits(luminous_transmittance=0.93, haze_percent=0.1)))
    assert answer.binding == ("luminous_transmittance", "haze_percent")


def test_haze_that_nobody_measured_is_said_not_claimed():
    problem = known_problem(1, pigments=4)
    answer = solve(problem.model, replace(problem.target, limits=Limits(pigments=3, haze_percent=1.0)))
    assert answer.outcome is Outcome.REACHED
    assert any("haze cannot be predicted" in told for told in answer.warnings)
    assert answer.proposals[0].sections[0].haze_percent is None


@pytest.mark.parametrize("seed", range(6))
def test_proposals_are_ranked_and_differ(seed):
    problem = known_problem(seed, pigments=7, draws=20)
    loose = tuple(replace(s, tolerance=1.0 + i) for i, s in enumerate(problem.target.sections))
    answer = solve(problem.model, replace(problem.target, sections=loose), most=12)
    ranks = [max(s.delta_e00 / s.tolerance for s in one.sections) for one in answer.proposals]
    assert ranks == sorted(ranks)
    for i, one in enumerate(answer.proposals):
        for other in answer.proposals[:i]:
            if set(one.doses_phr) == set(other.doses_phr):
                apart = delta_e00([s.lab for s in one.sections], [s.lab for s in other.sections])
                assert np.max(apart) >= ALIKE
        assert min(one.doses_phr.values(), default=1.0) > 0
        rms = np.sqrt(np.mean([s.delta_e00**2 for s in one.sections]))
        assert one.rms_delta_e00 == pytest.approx(rms)
        assert one.total_phr == pytest.approx(sum(one.doses_phr.values()))


def test_most_and_determinism():
    problem = known_problem(4)
    first = solve(problem.model, problem.target, most=3)
    again = solve(problem.model, problem.target, most=3)
    assert len(first.proposals) <= 3
    assert len(solve(problem.model, problem.target, most=1).proposals) == 1
    assert [one.doses_phr for one in first.proposals] == [one.doses_phr for one in again.proposals]


def test_the_largest_error_is_made_smallest_before_it_is_called_short():
    """Two sections pull apart; the minimax tint is nearer at its worst section than the least-squares one."""
    problem = known_problem(8, pigments=4, used=2, draws=1)
    thin, thick = problem.target.sections
    pulled = (replace(thin, lab=(thin.lab[0] - 4, thin.lab[1], thin.lab[2] + 6)), thick)
    answer = solve(problem.model, replace(problem.target, sections=pulled))
    best = answer.proposals[0]
    least_rms = min(one.rms_delta_e00 for one in answer.proposals)
    assert best.rms_delta_e00 >= least_rms
    ratios = [s.delta_e00 / s.tolerance for s in best.sections]
    assert answer.outcome is not Outcome.SHORT or ratios[0] == pytest.approx(ratios[1], rel=0.02)


def test_chance_and_bands_are_those_of_the_draws():
    problem = known_problem(6, pigments=5, draws=400)
    tight = replace(problem.target, sections=tuple(replace(one, tolerance=0.9) for one in problem.target.sections))
    best = solve(problem.model, tight).proposals[0]
    look = problem.model.look(best.doses_phr, [s.thickness_mm for s in problem.target.sections])
    goal = [s.lab for s in problem.target.sections]
    middle = look.lab_draws.mean(axis=0)
    usual = middle + USUAL * (look.lab_draws - middle)
    within = np.all(delta_e00(usual, np.array(goal)) <= 0.9, axis=1)
    assert best.chance_within_tolerance == pytest.approx(within.mean())
    np.testing.assert_allclose([s.delta_e00_95 for s in best.sections], look.delta_e00_95, rtol=1e-9)
    np.testing.assert_allclose([s.lab_covariance for s in best.sections], look.lab_covariance, rtol=1e-6, atol=1e-9)


def test_five_percent_is_told_by_pigment():
    problem = known_problem(6, pigments=5, draws=1)
    best = solve(problem.model, problem.target).proposals[0]
    thickness = [s.thickness_mm for s in problem.target.sections]
    plain = problem.model.look(best.doses_phr, thickness).lab
    for pigment, told in best.delta_e00_per_5_percent.items():
        more = {p: dose * (1.05 if p == pigment else 1) for p, dose in best.doses_phr.items()}
        less = {p: dose * (0.95 if p == pigment else 1) for p, dose in best.doses_phr.items()}
        moved = [delta_e00(problem.model.look(d, thickness).lab, plain).max() for d in (more, less)]
        assert told == pytest.approx(max(moved), rel=1e-6)


def test_a_badly_known_pigment_is_aimed_at_by_its_mean():
    """Reported colour is the posterior's mean, well away from that of the mean curve; solve must hit the report."""
    model = make_model(4, 5, draws=100, spread=0.5)
    doses = np.array([[0.01, 0.0, 0.02, 0.0]])
    told = model.look_many(doses, [Section("a", 8.0), Section("b", 30.0)])
    point = model.predict_lab(np.repeat(doses, 2, axis=0), np.array([8.0, 30.0]))
    assert delta_e00(told.lab[0], point).max() > 0.5
    sections = tuple(
        TargetSection(n, t, lab=tuple(c)) for n, t, c in zip("ab", (8.0, 30.0), told.lab[0].tolist(), strict=True)
    )
    answer = solve(model, Target(sections, limits=Limits(pigments=2, luminous_transmittance=0.01)))
    assert answer.proposals[0].worst_delta_e00 < 0.01


@pytest.mark.parametrize("departure", [-0.5, 0.5])
def test_departure_from_beer_and_volume(departure):
    model = make_model(4, 9, draws=10, departure=departure)
    doses = np.array([[0.0, 0.2, 0.1, 0.0]])
    thickness = (1.0, 3.0)
    told = model.look_many(doses, [Section("a", t) for t in thickness])
    sections = tuple(
        TargetSection(n, t, lab=tuple(c)) for n, t, c in zip("ab", thickness, told.lab[0].tolist(), strict=True)
    )
    best = solve(model, Target(sections, limits=Limits(pigments=2))).proposals[0]
    assert best.worst_delta_e00 < 0.01


def test_grounds_and_inserts_can_be_solved():
    model = make_model(4, 9, draws=20)
    doses = np.array([[0.004, 0.0, 0.006, 0.0]])
    from tintmix.optics.section import DARK, WHITE

    sections = [Section("a", 4.0, WHITE), Section("b", 20.0, DARK), Section("c", 30.0)]
    told = model.look_many(doses, sections)
    target = Target(
        (
            TargetSection("a", 4.0, lab=tuple(told.lab[0, 0].tolist()), behind="white"),
            TargetSection("b", 20.0, lab=tuple(told.lab[0, 1].tolist()), behind="dark"),
            TargetSection("c", 30.0),
        ),
        limits=Limits(pigments=2, luminous_transmittance=0.01),
    )
    best = solve(model, target).proposals[0]
    assert best.worst_delta_e00 < 0.01
    assert best.sections[2].target_lab is None
    assert best.sections[2].delta_e00 is None
    assert set(best.doses_phr) == {"p0", "p2"}


def test_one_cup():
    model = replace(make_model(1, 4, volume=0.0), pigments=("mix",))
    told = model.look({"mix": 0.5}, [12.0])
    answer = solve(model, Target((TargetSection("a", 12.0, lab=tuple(told.lab[0].tolist())),)))
    assert answer.proposals[0].doses_phr["mix"] == pytest.approx(0.5, rel=1e-4)


def test_one_place_is_not_at_odds_with_another(fitted):
    """The one-cup set, asked for a shade lighter than its resin: near enough for the search, not as reported."""
    model = load_model(fitted("one-cup"))
    for lightness in (95.5, 96.0, 96.5):
        answer = solve(model, Target((TargetSection("rim", 8.0, lab=(lightness, 0.0, 0.0)),)))
        assert "sections" not in answer.binding


def test_deepest_and_lightest():
    problem = known_problem(5, pigments=4)
    answer = solve(problem.model, replace(problem.target, limits=Limits(pigments=3, luminous_transmittance=0.02)))
    assert answer.deepest.luminous_transmittance[1] == pytest.approx(0.02, abs=1e-6)
    assert answer.deepest.stopped_by == ("luminous_transmittance",)
    assert answer.lightest.doses_phr == {}
    best = answer.proposals[0].doses_phr
    grown = {p: answer.deepest.doses_phr[p] / dose for p, dose in best.items()}
    assert max(grown.values()) == pytest.approx(min(grown.values()))
    assert solve(problem.model, replace(problem.target, limits=Limits(pigments=3))).deepest is None


def test_answer_as_json_has_the_contracts_keys():
    problem = known_problem(5, pigments=4)
    table = json.loads(json.dumps(finite(solve(problem.model, problem.target)), allow_nan=False))
    assert {"outcome", "says", "binding", "proposals", "seconds"} <= set(table)
    assert {
        "doses_phr", "total_phr", "worst_delta_e00", "rms_delta_e00", "chance_within_tolerance", "sections",
        "delta_e00_per_5_percent", "under",
    } <= set(table["proposals"][0])  # fmt: skip
    assert {
        "name", "thickness_mm", "lab", "target_lab", "tolerance", "delta_e00", "delta_e00_95", "luminous_transmittance",
        "haze_percent",
    } <= set(table["proposals"][0]["sections"][0])  # fmt: skip
    assert table["outcome"] == "reached"
    assert table["proposals"][0]["under"] is None


def test_bad_questions():
    model: TintModel = make_model(2, 1, draws=2)
    with pytest.raises(ValueProblem, match="no pigment 'rose'; it knows p0, p1"):
        solve(model, Target(TWO, limits=Limits(leave_out=("rose",))))
    with pytest.raises(ValueProblem, match="nothing is left to tint with"):
        solve(model, Target(TWO, limits=Limits(leave_out=("p0", "p1"))))
    for most in (0, -1, True, 2.5, 10_000):
        with pytest.raises(ValueProblem, match=r"whole number"):
            solve(model, Target(TWO), most=most)


def test_a_glass_is_met_where_the_model_holds_it():
    """The glass has the resin's index and a recipe's own absorbance: every section can be met, under every light."""
    from tintmix.optics.spectrum import GRID_NM
    from tintmix.recipes.target import Curve

    model = make_model(4, 9, draws=1)
    per_mm = model.base_per_mm + model.effective(np.array([0.004, 0.0, 0.006, 0.0])) @ model.absorptivity
    curve = Curve(tuple(GRID_NM.tolist()), tuple(per_mm.tolist()), "f.csv")
    glass = Glass(absorption=curve, refractive_index=1.5)
    sections = (TargetSection("a", 5.0), TargetSection("b", 40.0))
    answer = solve(model, Target(sections, also_under=("A", "FL11"), glass=glass, limits=Limits(pigments=2)))
    best = answer.proposals[0]
    assert best.doses_phr == pytest.approx({"p0": 0.004, "p2": 0.006}, rel=1e-4)
    assert set(best.under) == {"A", "FL11"}
    assert best.under["A"].worst_delta_e00 < 1e-3
    assert not best.under["A"].estimated
    other = [one for one in answer.proposals if set(one.doses_phr) != {"p0", "p2"}]
    assert all(one.under["A"].worst_delta_e00 > 0.05 for one in other)


def test_nothing_heavy_is_imported_on_the_way():
    """No scipy, colour-science or matplotlib, from the target file to the answer: they cost more than the solve."""
    code = """
import sys
import numpy as np
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.model import TintModel
from tintmix.recipes import recipe_file
from tintmix.recipes.solve import solve
from tintmix.recipes.target_file import target_from_table
bands = np.exp(-0.5 * ((GRID_NM - np.array([[450.0], [620.0]])) / 40) ** 2)
model = TintModel(
    pigments=("a", "b"), wavelengths_nm=GRID_NM, base_per_mm=0.001 + 0 * GRID_NM, absorptivity=bands,
    draws_base=0.001 + np.zeros((1, 41)), draws_absorptivity=bands[None], draws_departure=np.zeros((1, 2)),
    departure_per_phr=np.zeros(2), volume_per_phr=np.zeros(2), refractive_index=1.5, highest_phr=np.ones(2),
    thickest_mm=12.0, max_phr=np.full(2, np.inf),
)
sections = [{"thickness_mm": 8.0, "lab": [60, -5, 5]}, {"thickness_mm": 60.0, "lab": [20, 9, 2]}]
solve(model, target_from_table({"format": 1, "section": sections, "limits": {"luminous_transmittance": 0.1}}))
print([name for name in ("scipy", "colour", "matplotlib") if name in sys.modules])
"""
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


def test_where_chips_contradict_each_other_no_dose_is_beyond_them_and_none_is_a_trace():
    """Draws that hold a clear and an opaque pigment: the mean has no dose at which all is black, and a billionth colours."""
    model, told = make_model(3, 5), health([True, True, False]).as_table()
    spread = np.geomspace(1e-6, 1e6, len(model.draws_absorptivity))[:, None, None]
    wild = replace(model, draws_absorptivity=model.draws_absorptivity * spread, report={"health": told})
    target = Target((TargetSection("a", 30.0, lab=(35.0, 2.0, 6.0), tolerance=2.0),))
    beyond = solve(replace(wild, report={}), target).proposals
    assert max(max(dose / model.highest_phr.max() for dose in one.doses_phr.values()) for one in beyond) > 1
    answer = solve(wild, target)
    assert answer.says.endswith("look at the chips first, as they may be the reason.")
    for one in answer.proposals:
        parts = [dose / model.highest_phr[model.pigments.index(name)] for name, dose in one.doses_phr.items()]
        assert all(1e-3 <= part <= 1 for part in parts)
