"""Targets check themselves at birth, each cause with its own error and sentence."""

import math

import pytest

from tintmix.errors import FileProblem, TintmixError, ValueProblem
from tintmix.recipes.target import Curve, Glass, Insert, Limits, Target, TargetSection

CURVE = Curve((400.0, 550.0, 700.0), (0.5, 0.6, 0.7), "green.csv")
SECTION = TargetSection("point", 60.0, lab=(70.0, -20.0, 4.0))


@pytest.mark.parametrize(
    ("make", "error", "words"),
    [
        (lambda: TargetSection("a", 0.0), ValueProblem, "place 'a': its thickness is 0 mm"),
        (lambda: TargetSection("a", -8.0), ValueProblem, "from 0.001 to 1000 mm"),
        (lambda: TargetSection("a", math.nan), ValueProblem, "nan"),
        (lambda: TargetSection("a", 8.0, tolerance=0.0), ValueProblem, "tolerance is 0; it must be from 0.001 to 100"),
        (lambda: TargetSection("a", 8.0, weight=-1.0), ValueProblem, "weight"),
        (lambda: TargetSection("a", 8.0, lab=(120.0, 0.0, 0.0)), ValueProblem, "L\\* lies from 0 to 100"),
        (lambda: TargetSection("a", 8.0, lab=(50.0, 300.0, 0.0)), ValueProblem, "from -200 to 200"),
        (lambda: TargetSection("a", 8.0, lab=(math.inf, 0.0, 0.0)), ValueProblem, "L\\* lies from 0"),
        (lambda: TargetSection("a", 8.0, xyz=(-1.0, 5.0, 5.0)), ValueProblem, "none below 0"),
        (lambda: TargetSection("a", 8.0, xyz=(90.0, 110.0, 90.0)), ValueProblem, "Y of the bare light"),
        (lambda: TargetSection("a", 8.0, srgb="green"), ValueProblem, "#rrggbb"),
        (
            lambda: TargetSection("a", 8.0, lab=(50.0, 0.0, 0.0), srgb="#808080"),
            ValueProblem,
            "lab and as srgb",
        ),
        (lambda: TargetSection("a", 8.0, behind="wood"), ValueProblem, '"panel", "white", "dark" or "insert"'),
        (lambda: TargetSection("a", 8.0, behind="insert"), ValueProblem, "insert has no colour"),
        (lambda: TargetSection("a", 8.0, insert=Insert(srgb="#808080")), ValueProblem, "behind = 'panel'"),
        (lambda: Insert(), ValueProblem, "no colour"),
        (lambda: Insert(lab=(50.0, 0.0, 0.0), srgb="#808080"), ValueProblem, "insert_lab"),
        (lambda: Insert(srgb="#808080", width_mm=0.0), ValueProblem, "insert_width_mm"),
        (lambda: Insert(reflectance=Curve((400.0, 700.0), (50.0, 60.0), "i.csv")), FileProblem, "i.csv"),
        (lambda: Curve((400.0,), (1.0,), "x.csv"), FileProblem, "at least two"),
        (lambda: Curve((400.0, 400.0, 700.0), (1.0, 1.0, 1.0), "x.csv"), FileProblem, "rise"),
        (lambda: Curve((450.0, 700.0), (1.0, 1.0), "x.csv"), FileProblem, "400 to 700"),
        (lambda: Curve((400.0, 700.0), (1.0, math.nan), "x.csv"), FileProblem, "finite"),
        (lambda: Glass(thickness_mm=6.0), ValueProblem, "looks like"),
        (lambda: Glass(spectrum=CURVE), ValueProblem, "thickness_mm of the piece is missing"),
        (lambda: Glass(6.0, CURVE, lab=(50.0, 0.0, 0.0)), ValueProblem, "spectrum and as lab"),
        (lambda: Glass(-6.0, CURVE), ValueProblem, "glass"),
        (lambda: Glass(6.0, CURVE, refractive_index=0.9), ValueProblem, "refractive_index"),
        (lambda: Glass(6.0, CURVE, relative_to="untinted"), ValueProblem, "relative_to"),
        (lambda: Glass(6.0, camera=(0.5, 2.0, 0.5)), ValueProblem, "part of the bare panel"),
        (lambda: Glass(6.0, Curve((400.0, 700.0), (50.0, 60.0), "g.csv")), FileProblem, "percent: divide"),
        (lambda: Glass(absorption=Curve((400.0, 700.0), (-0.1, 0.1), "g.csv")), FileProblem, "below zero"),
        (lambda: Limits(pigments=0), ValueProblem, "leaves nothing to tint with"),
        (lambda: Limits(total_phr=0.0), ValueProblem, "total_phr is 0; it must be from 0.000001"),
        (lambda: Limits(luminous_transmittance=8.0), ValueProblem, "8 % is 0.08"),
        (lambda: Limits(haze_percent=-1.0), ValueProblem, "haze_percent"),
        (lambda: Target(()), FileProblem, "no place"),
        (lambda: Target((TargetSection("a", 8.0),)), FileProblem, "nothing to aim at"),
        (lambda: Target((SECTION, SECTION)), FileProblem, "'point'"),
        (lambda: Target((SECTION,), observer=5), ValueProblem, "2 or 10"),
        (lambda: Target((SECTION,), light="D66"), ValueProblem, "D65.*FL1 to FL12.*LED-B5"),
        (lambda: Target((SECTION,), also_under=("A", "moon")), ValueProblem, "moon"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(make, error, words):
    with pytest.raises(error, match=words) as caught:
        make()
    assert isinstance(caught.value, TintmixError)
    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")


def test_glass_speaks_for_sections_without_a_colour():
    target = Target((TargetSection("a", 8.0), TargetSection("b", 60.0)), glass=Glass(6.0, CURVE))
    assert not target.glass.is_estimated
    assert Glass(6.0, lab=(50.0, 0.0, 0.0)).is_estimated
