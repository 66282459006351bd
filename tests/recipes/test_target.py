"""Targets check themselves at birth, each cause with its own error and sentence."""

import math

import pytest

from tintmix.errors import TintmixError, ValueProblem
from tintmix.recipes import errors
from tintmix.recipes.target import Curve, Glass, Insert, Limits, Target, TargetSection

CURVE = Curve((400.0, 550.0, 700.0), (0.5, 0.6, 0.7), "green.csv")
SECTION = TargetSection("point", 60.0, lab=(70.0, -20.0, 4.0))


@pytest.mark.parametrize(
    ("make", "error", "words"),
    [
        (lambda: TargetSection("a", 0.0), errors.ThicknessOutOfSense, "section 'a': a thickness of 0 mm cannot be"),
        (lambda: TargetSection("a", -8.0), errors.ThicknessOutOfSense, "above 0"),
        (lambda: TargetSection("a", math.nan), errors.ThicknessOutOfSense, "nan"),
        (lambda: TargetSection("a", 8.0, tolerance=0.0), errors.NumberOutOfSense, "tolerance must be above 0, it is 0"),
        (lambda: TargetSection("a", 8.0, weight=-1.0), errors.NumberOutOfSense, "weight"),
        (lambda: TargetSection("a", 8.0, lab=(120.0, 0.0, 0.0)), errors.ColourOutOfSense, "L\\* lies from 0 to 100"),
        (lambda: TargetSection("a", 8.0, lab=(50.0, 300.0, 0.0)), errors.ColourOutOfSense, "within 200"),
        (lambda: TargetSection("a", 8.0, lab=(math.inf, 0.0, 0.0)), errors.ColourOutOfSense, "finite"),
        (lambda: TargetSection("a", 8.0, xyz=(-1.0, 5.0, 5.0)), errors.ColourOutOfSense, "none below 0"),
        (lambda: TargetSection("a", 8.0, xyz=(90.0, 110.0, 90.0)), errors.ColourOutOfSense, "Y of the bare light"),
        (lambda: TargetSection("a", 8.0, srgb="green"), errors.ColourOutOfSense, "#rrggbb"),
        (
            lambda: TargetSection("a", 8.0, lab=(50.0, 0.0, 0.0), srgb="#808080"),
            errors.ColourGivenTwice,
            "lab and as srgb",
        ),
        (lambda: TargetSection("a", 8.0, behind="wood"), errors.GroundUnknown, '"panel", "white", "dark", "insert"'),
        (lambda: TargetSection("a", 8.0, behind="insert"), errors.InsertIncomplete, "insert has no colour"),
        (lambda: TargetSection("a", 8.0, insert=Insert(srgb="#808080")), errors.InsertIncomplete, "behind = 'panel'"),
        (lambda: Insert(), errors.InsertIncomplete, "no colour"),
        (lambda: Insert(lab=(50.0, 0.0, 0.0), srgb="#808080"), errors.ColourGivenTwice, "insert_lab"),
        (lambda: Insert(srgb="#808080", width_mm=0.0), errors.NumberOutOfSense, "insert_width_mm"),
        (lambda: Insert(reflectance=Curve((400.0, 700.0), (50.0, 60.0), "i.csv")), errors.CurveOutOfSense, "i.csv"),
        (lambda: Curve((400.0,), (1.0,), "x.csv"), errors.CurveOutOfSense, "at least two"),
        (lambda: Curve((400.0, 400.0, 700.0), (1.0, 1.0, 1.0), "x.csv"), errors.CurveOutOfSense, "rise"),
        (lambda: Curve((450.0, 700.0), (1.0, 1.0), "x.csv"), errors.CurveOutOfSense, "400 to 700"),
        (lambda: Curve((400.0, 700.0), (1.0, math.nan), "x.csv"), errors.CurveOutOfSense, "finite"),
        (lambda: Glass(thickness_mm=6.0), errors.GlassIncomplete, "looks like"),
        (lambda: Glass(spectrum=CURVE), errors.GlassIncomplete, "thickness_mm of the piece is missing"),
        (lambda: Glass(6.0, CURVE, lab=(50.0, 0.0, 0.0)), errors.ColourGivenTwice, "spectrum and as lab"),
        (lambda: Glass(-6.0, CURVE), errors.ThicknessOutOfSense, "glass"),
        (lambda: Glass(6.0, CURVE, refractive_index=0.9), errors.NumberOutOfSense, "refractive_index"),
        (lambda: Glass(6.0, CURVE, relative_to="untinted"), errors.GlassIncomplete, "relative_to"),
        (lambda: Glass(6.0, camera=(0.5, 2.0, 0.5)), errors.ColourOutOfSense, "part of the bare panel"),
        (lambda: Glass(6.0, Curve((400.0, 700.0), (50.0, 60.0), "g.csv")), errors.CurveOutOfSense, "percent: divide"),
        (lambda: Glass(absorption=Curve((400.0, 700.0), (-0.1, 0.1), "g.csv")), errors.CurveOutOfSense, "below zero"),
        (lambda: Limits(pigments=0), errors.LimitsContradict, "leaves nothing to tint with"),
        (lambda: Limits(total_phr=0.0), errors.LimitOutOfSense, "total_phr must be above 0"),
        (lambda: Limits(luminous_transmittance=8.0), errors.LimitOutOfSense, "8 % is 0.08"),
        (lambda: Limits(haze_percent=-1.0), errors.LimitOutOfSense, "haze_percent"),
        (lambda: Target(()), errors.NoSection, "no section"),
        (lambda: Target((TargetSection("a", 8.0),)), errors.NothingToAimAt, "nothing to aim at"),
        (lambda: Target((SECTION, SECTION)), errors.SectionNamedTwice, "'point'"),
        (lambda: Target((SECTION,), observer=5), errors.ObserverUnknown, "2 or 10"),
        (lambda: Target((SECTION,), light="D66"), ValueProblem, "D65.*FL11.*LED-B3"),
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
    assert target.thickest.name == "b"
    assert not target.glass.is_estimated
    assert Glass(6.0, lab=(50.0, 0.0, 0.0)).is_estimated
