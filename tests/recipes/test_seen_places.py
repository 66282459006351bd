"""Places as they are seen, in `look` and `solve`: a slab by its paths is the slab, and paths are what counts of a place."""

from dataclasses import replace

import numpy as np
import pytest

from tests.recipes.seen import prism_paths, seen_place, slab_paths
from tests.recipes.shelf import known_problem, make_model
from tintmix.errors import ValueProblem
from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye, luminous
from tintmix.optics.paths import LightPaths, PathLength
from tintmix.optics.section import Section, seen_section
from tintmix.recipes.proposals import SeenMatch
from tintmix.recipes.search.aim import lay
from tintmix.recipes.solve import Outcome, solve
from tintmix.recipes.target import Curve, Glass, Insert, Limits, Target, TargetSection

PROBLEM = known_problem(21, pigments=5, used=2, limits=Limits(pigments=2))
DOSES = {"p0": 0.02, "p3": 0.05}


def as_paths(target):
    return replace(
        target,
        sections=tuple(
            TargetSection(
                s.name, lab=s.lab, seen=seen_place(slab_paths(s.thickness_mm, 1.5), straight_mm=s.thickness_mm)
            )
            for s in target.sections
        ),
    )


def test_a_look_through_paths_is_the_sum_of_its_ways():
    model, seen = make_model(haze=True), seen_place(prism_paths())
    look = model.look(DOSES, [Section("flange", 8.0), seen_section("point", seen)])
    absorptions = model.drawn_resins().per_mm(model.dose_vector(DOSES))
    light = sum(
        w * np.exp(-LN10 * absorptions * length)
        for length, w in zip(seen.paths.lengths_mm, seen.paths.weights[0], strict=True)
    )
    detector = eye("D65", 10)
    assert look.lab[1] == pytest.approx(lab(light @ detector.weights, detector.bare).mean(axis=0), abs=2e-4)
    through = float((light @ luminous("D65")).mean())
    assert look.luminous_transmittance[1] == pytest.approx(through, abs=1.1e-6)
    assert look.of_clear == (None, pytest.approx(through / 0.83, rel=1e-4))
    assert look.thickness_extrapolated == (False, True)
    assert any("17 mm of resin, seen through 70.9 mm" in said and "any chip" in said for said in look.warnings)
    # 1 − (1 − h₀) exp(−s L) is concave in L: the haze on the mean path is at most what is on all of them.
    effective = model.effective(model.dose_vector(DOSES))
    parts = np.array(seen.paths.weights[0]) / 0.83
    assert look.haze[1] >= parts @ model.haze.at(effective, np.array(seen.paths.lengths_mm)[:, None])[:, 0]


def test_slabs_by_their_paths_are_solved_as_slabs():
    for floor in (None, 0.05):
        target = replace(PROBLEM.target, limits=Limits(pigments=2, luminous_transmittance=floor))
        slabs, paths = solve(PROBLEM.model, target), solve(PROBLEM.model, as_paths(target))
        assert paths.outcome is slabs.outcome
        assert paths.binding == slabs.binding
        want = slabs.proposals[0].doses_phr
        assert paths.proposals[0].doses_phr == pytest.approx(want, rel=2e-4)


def test_a_recipe_for_seen_places_is_found_and_looks_as_told():
    target = as_paths(PROBLEM.target)
    prism = seen_place(prism_paths(40.0))
    wanted = PROBLEM.model.look_many(PROBLEM.doses[None], [seen_section("point", prism)]).lab[0, 0]
    target = replace(
        target, sections=(target.sections[0], TargetSection("point", lab=tuple(wanted.tolist()), seen=prism))
    )
    answer = solve(PROBLEM.model, target)
    best = answer.proposals[0]
    assert answer.outcome is Outcome.REACHED
    assert best.worst_delta_e00 < 1e-3
    match = best.sections[1]
    assert isinstance(match, SeenMatch)
    assert (match.thickness_mm, match.behind, match.straight_mm) == (None, None, 17.0)
    look = PROBLEM.model.look(best.doses_phr, [seen_section("point", prism)])
    assert match.lab == pytest.approx(look.lab[0], abs=1e-9)
    assert (match.luminous_transmittance, match.of_clear) == pytest.approx(
        (look.luminous_transmittance[0], look.of_clear[0])
    )


def test_the_floor_is_kept_where_the_path_is_longest():
    # Straight down there are 17 mm, fewer than in the slab beside it; the light goes 71 on average.
    prism = seen_place(prism_paths())
    dark = TargetSection("rim", 20.0, lab=(30.0, 0.0, 0.0), tolerance=40.0)
    target = Target((dark, TargetSection("point", seen=prism)), limits=Limits(pigments=2, luminous_transmittance=0.3))
    answer = solve(make_model(), target)
    assert answer.binding == ("luminous_transmittance",)
    assert answer.proposals[0].sections[1].luminous_transmittance == pytest.approx(0.3, rel=1e-6)
    assert "point (as seen)" in answer.says


def test_what_its_shape_makes_dark_is_said_to_be():
    prism = seen_place(prism_paths(), of_clear=0.1, dark=True)
    target = Target((TargetSection("rim", 8.0, lab=(80.0, 0.0, 0.0)), TargetSection("point", seen=prism)))
    assert any("dark by its shape" in said for said in solve(make_model(), target).warnings)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"thickness_mm": 8.0}, "on a shape too"),
        ({"seen": None}, "nothing says how thick"),
        ({"behind": "white"}, "cannot be said of a place that is seen"),
        ({"insert": Insert(srgb="#b08d3c")}, "none is seen"),
    ],
)
def test_a_place_that_contradicts_itself_is_refused(more, says):
    with pytest.raises(ValueProblem, match=says):
        TargetSection(**{"name": "point", "seen": seen_place(prism_paths())} | more)


def test_a_glass_speaks_along_the_same_paths():
    nm = tuple(map(float, range(380, 790, 10)))
    per_mm = np.linspace(0.002, 0.02, 41)
    glass = Glass(absorption=Curve(nm, tuple(per_mm.tolist())))
    prism = seen_place(prism_paths())
    aim = lay(make_model(), Target((TargetSection("point", seen=prism),), glass=glass))
    light = sum(
        w * 10 ** (-per_mm * way) for way, w in zip(prism.paths.lengths_mm, prism.paths.weights[0], strict=True)
    )
    assert aim.target_lab[0] == pytest.approx(lab(light @ aim.detector.weights, aim.detector.bare), abs=2e-4)


def test_a_place_that_gets_no_light_is_answered():
    nothing = LightPaths(lengths_mm=(8.0,), weights=((0.0,),) * 3)
    black = replace(
        seen_place(prism_paths()), paths=nothing, path_mm=PathLength(p5=0, median=0, mean=0, p95=0), of_clear=0.0
    )
    sections = (
        TargetSection("rim", 8.0, lab=(80.0, 0.0, 0.0)),
        TargetSection("point", lab=(50.0, 0.0, 0.0), seen=black),
    )
    assert solve(make_model(), Target(sections)).outcome is Outcome.SHORT
    floor = Target(
        (replace(sections[1], seen=replace(black, straight_mm=60.0)),), limits=Limits(luminous_transmittance=0.1)
    )
    answer = solve(make_model(), floor)
    assert answer.outcome is Outcome.NONE
    assert "0 % of the light" in answer.says
