"""Swatches, strength curves, misfits, and curves against thickness: right, and readable."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.colors import to_hex, to_rgb
from matplotlib.patches import Rectangle

from tests.pictures.stand_in import NAMES, assert_readable, axes_named, model, report, said
from tintmix.errors import NotThere, ValueProblem
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.difference import delta_e00
from tintmix.optics.section import DARK, Section
from tintmix.pictures import residuals_picture, strengths_picture, swatches_picture, thickness_picture, too_dark
from tintmix.pictures.style import PAPER
from tintmix.pictures.swatches import compare

DOSES = {"azure": 0.03, "emerald": 0.02}
SIX = [
    Section("the thin rim that runs round the brass collar", 2.0),
    Section("flange", 8.0),
    Section("inner step", 9.0),
    Section("foot", 10.0, DARK),
    Section("shoulder of the dome", 30.0),
    Section("point", 60.0),
]


# Swatches -------------------------------------------------------------------------------------------------------------


def test_target_and_prediction_have_their_own_colours() -> None:
    look = model().look(DOSES, SIX)
    targets = [lab + [2.0, 3.0, -1.0] for lab in look.lab]
    figure = swatches_picture(look, targets, [2.0] * 6)
    patches = figure.findobj(Rectangle)
    shown = [to_hex(patch.get_facecolor()) for patch in patches if patch.get_gid() == "target"]
    white = look.white_xyz
    assert shown == screen(xyz_of_lab(np.array(targets), white), white).hex
    predicted = [to_hex(patch.get_facecolor()) for patch in patches if patch.get_gid() == "prediction"]
    assert predicted == screen(xyz_of_lab(look.lab, white), white).hex
    assert sum(patch.get_gid() == "past tolerance" for patch in patches) == 6


def test_the_band_holds_the_draws() -> None:
    look = model(draws=200, spread=0.2).look(DOSES, [8.0])
    target = look.lab[0] + [1.0, 2.0, 0.0]
    one = compare(look, [target])[0]
    apart = delta_e00(target, look.lab_draws[:, 0])
    assert np.mean((apart >= one.least) & (apart <= one.most)) >= 0.94
    assert one.least <= one.delta_e00 <= one.most
    assert one.delta_e00 == pytest.approx(float(delta_e00(target, look.lab[0])))


@pytest.mark.parametrize("count", [1, 2, 6])
@pytest.mark.parametrize("with_tolerance", [True, False])
def test_swatches_are_readable(count: int, with_tolerance: bool) -> None:
    look = model(spread=0.2).look({"azure": 0.15, "rose": 0.1}, SIX[:count])
    targets = [None if s == 2 else lab + [1.0, -2.0, 2.0] for s, lab in enumerate(look.lab)]
    assert_readable(swatches_picture(look, targets, [1.5] * count if with_tolerance else None))


def test_a_part_without_targets_still_shows_its_prediction() -> None:
    figure = swatches_picture(model().look(DOSES, [8.0]), [None])
    assert_readable(figure)
    assert "no target here" in said(figure)
    assert "ΔE₀₀ between them" not in said(figure)


def test_a_dark_pair_is_shown_again_at_one_exposure() -> None:
    look = model().look({"azure": 0.2, "rose": 0.2}, [40.0])
    assert look.lab[0, 0] < 20
    assert "exposure +" in said(swatches_picture(look, [look.lab[0] + [1.0, 0.0, 0.0]]))
    # A light target beside a dark prediction: still labelled, never silently rescaled.
    assert "exposure +1 stop" in said(swatches_picture(look, [[60.0, 0.0, 0.0]]))


def test_swatches_refuse_what_does_not_match() -> None:
    look = model().look(DOSES, [8.0, 9.0])
    with pytest.raises(ValueProblem):
        swatches_picture(look, [None])
    with pytest.raises(ValueProblem):
        swatches_picture(look, [None, None], [2.0])
    many = model().look(DOSES, [float(t) for t in range(1, 20)])
    with pytest.raises(ValueProblem):
        swatches_picture(many, [None] * 19)


# Strength curves ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 8])
def test_strength_curves_are_readable(count: int) -> None:
    figure = strengths_picture(model((*NAMES[: count - 1], "a long name of a transparent oxide")))
    assert_readable(figure)
    assert "mm⁻¹ phr⁻¹" in said(figure)


def test_many_pigments_still_fit() -> None:
    assert_readable(strengths_picture(model(tuple(f"p{i}" for i in range(24)), draws=4)))


def test_curves_pass_through_the_absorptivities() -> None:
    tint = model()
    lines = axes_named(strengths_picture(tint), "all pigments").get_lines()
    assert [line.get_label() for line in lines] == list(tint.pigments)
    for p, line in enumerate(lines):
        np.testing.assert_allclose(np.interp(tint.wavelengths_nm, *line.get_data()), tint.absorptivity[p], rtol=1e-9)


def test_curves_can_be_told_apart_in_grey() -> None:
    lines = axes_named(strengths_picture(model(NAMES)), "all pigments").get_lines()
    assert len({(line.get_linestyle(), str(line._dash_pattern), line.get_linewidth()) for line in lines}) == 8
    ground = _luminance(PAPER)
    for line in lines:
        # 3 : 1 is what WCAG 2.2, 1.4.11 asks of the parts of a graph.
        assert (ground + 0.05) / (_luminance(to_hex(line.get_color())) + 0.05) > 3.0


def _luminance(colour: str) -> float:
    encoded = np.array(to_rgb(colour))
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


# Chips ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "doubted"), [(1, 0), (2, 1), (30, 1), (60, 3), (60, 12), (190, 2)])
def test_misfits_are_readable_and_name_the_doubted(count: int, doubted: int) -> None:
    figure = residuals_picture(report(count, doubted))
    assert_readable(figure)
    told = said(figure)
    assert ("Doubted: chip 1 of the set" in told) == (doubted > 0)
    assert ("No chip is doubted" in told) == (doubted == 0)


def test_misfits_are_the_reports() -> None:
    told = report(20, 0)
    figure = residuals_picture(told)
    for k, name in enumerate(("L*", "a*", "b*")):
        rings = next(line for line in axes_named(figure, f"residual {name}").get_lines() if line.get_marker() == "o")
        wanted = sorted(chip["fitted_lab"][k] - chip["measured_lab"][k] for chip in told["chips"])
        assert set(np.round(rings.get_ydata(), 9)) <= set(np.round(wanted, 9))
        assert len(rings.get_ydata()) >= 18


def test_no_chips_no_picture() -> None:
    with pytest.raises(NotThere):
        residuals_picture({})


# Against thickness ----------------------------------------------------------------------------------------------------


def test_the_light_curve_is_the_models_and_the_mark_stands_on_the_floor() -> None:
    tint = model()
    figure = thickness_picture(tint, DOSES, [8.0, 60.0], floor=0.4)
    axes = axes_named(figure, "light")
    curve = max(axes.get_lines(), key=lambda line: len(line.get_xdata()))
    at = curve.get_xdata()[100]
    assert curve.get_ydata()[100] == pytest.approx(100 * tint.look(DOSES, [at]).luminous_transmittance[0], rel=1e-9)
    mark = next(line for line in axes.get_lines() if line.get_gid() == "too dark mark")
    assert mark.get_xdata()[0] == pytest.approx(too_dark(tint, DOSES, 0.4).thickness_mm)
    assert mark.get_ydata()[0] == pytest.approx(40.0)


@pytest.mark.parametrize("count", [1, 2, 6])
@pytest.mark.parametrize("floor", [None, 0.08, 0.6])
def test_thickness_curves_are_readable(count: int, floor: float | None) -> None:
    tint = model(spread=0.15)
    look = tint.look(DOSES, SIX[:count])
    targets = [None if s == 2 else lab + [2.0, 1.0, -1.0] for s, lab in enumerate(look.lab)]
    assert_readable(thickness_picture(tint, DOSES, SIX[:count], targets, [2.0] * count, floor=floor))


@pytest.mark.parametrize("doses", [{}, {"azure": 0.2, "emerald": 0.2, "rose": 0.2}])
def test_thickness_curves_of_the_palest_and_the_darkest(doses: dict[str, float]) -> None:
    assert_readable(thickness_picture(model(), doses, [8.0, 9.0, 60.0], floor=0.08))


def test_a_glass_gives_a_curve_of_its_own() -> None:
    tint = model()
    glass = tint.dose_vector({"azure": 0.02, "emerald": 0.03})
    figure = thickness_picture(tint, DOSES, [8.0, 60.0], target_at=lambda t: tint.predict_lab(glass, t))
    assert_readable(figure)
    axes = axes_named(figure, "delta")
    curve = max(axes.get_lines(), key=lambda line: len(line.get_xdata()))
    at, told = curve.get_xdata()[40], curve.get_ydata()[40]
    wanted = delta_e00(tint.predict_lab(glass, [at])[0], tint.look(DOSES, [at]).lab[0])
    assert told == pytest.approx(float(wanted), rel=1e-6)
    with pytest.raises(ValueProblem):
        thickness_picture(tint, DOSES, [8.0], target_at=lambda t: np.zeros((2, 3)))
