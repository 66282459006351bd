"""The wedge says what the model says, at the right places, and can be read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.image import imread
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from tests.pictures.stand_in import NAMES, assert_readable, axes_named, boxes, model, pixel, said
from tintmix.errors import NotThere, ValueProblem
from tintmix.optics.section import DARK, WHITE, Ground, Section
from tintmix.pictures import save_picture, too_dark, wedge_picture

PALE = {"azure": 0.002, "emerald": 0.001}
DEEP = {"azure": 0.03, "rose": 0.03}
NEARLY_BLACK = {"azure": 0.15, "emerald": 0.15, "rose": 0.15}
CLOSE = [
    Section("the thin rim that runs round the brass collar", 2.0),
    Section("flange", 8.0),
    Section("inner step", 9.0),
    Section("Schulterzwischenstück", 10.0),
    Section("shoulder of the dome", 30.0),
    Section("point", 60.0),
]
BRASS = Ground("insert", tuple(np.linspace(0.1, 0.9, 41).tolist()), 10.0)


def test_the_strip_has_the_models_screen_colours_at_the_sections(tmp_path: Path) -> None:
    tint, at = model(), [2.0, 8.0, 9.0, 30.0, 60.0]
    figure = wedge_picture(tint, DEEP, at)
    image = np.rint(imread(save_picture(figure, tmp_path / "wedge.png")) * 255).astype(np.uint8)
    wanted = np.rint(tint.look(DEEP, at).screen.rgb * 255)
    for thickness, colour in zip(at, wanted, strict=True):
        # A pixel is 0.05 mm wide: the colour moves by less than two steps of 255 from one side of it to the other.
        assert np.max(np.abs(np.array(pixel(image, figure, "mean strip", thickness)) - colour)) <= 2


def test_a_cards_swatch_is_exactly_the_screen_colour() -> None:
    tint, at = model(), [2.0, 8.0, 60.0]
    figure = wedge_picture(tint, DEEP, at)
    cards = [patch for patch in figure.findobj(Rectangle) if patch.get_gid() == "card"]
    assert [to_hex(card.get_facecolor()) for card in cards] == tint.look(DEEP, at).screen.hex


def test_the_outer_strips_are_lighter_and_darker_than_the_middle(tmp_path: Path) -> None:
    figure = wedge_picture(model(spread=0.3), DEEP, [8.0, 40.0])
    image = np.rint(imread(save_picture(figure, tmp_path / "wedge.png")) * 255).astype(np.uint8)
    light, middle, dark = (sum(pixel(image, figure, f"{name} strip", 20.0)) for name in ("lighter", "mean", "darker"))
    assert light > middle + 5 > dark + 10


@pytest.mark.parametrize("doses", [DEEP, NEARLY_BLACK, {"emerald": 0.01}])
def test_the_too_dark_mark_stands_where_the_light_crosses_the_floor(doses: dict[str, float]) -> None:
    tint, floor = model(), 0.3
    figure = wedge_picture(tint, doses, [8.0, 60.0], floor=floor)
    low, high = 0.01, 900.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        passes = tint.look(doses, [middle]).luminous_transmittance[0] >= floor
        low, high = (middle, high) if passes else (low, middle)
    hatched = next((patch for patch in figure.findobj(Rectangle) if patch.get_gid() == "too dark"), None)
    if low > 65.0:
        assert hatched is None
        assert "light enough at every thickness shown" in said(figure)
        return
    assert hatched is not None
    x = hatched.get_x() * figure.bbox.width
    thickness = axes_named(figure, "mean strip").transData.inverted().transform((x, 0.0))[0]
    assert thickness == pytest.approx(low, rel=1e-3)
    marks = [line for line in figure.findobj(Line2D) if line.get_gid() == "too dark mark"]
    assert all(np.asarray(line.get_xdata())[0] == pytest.approx(hatched.get_x()) for line in marks)
    assert marks
    assert "too dark from" in said(figure)


def test_too_dark_at_no_thickness_and_at_every_one() -> None:
    tint = model()
    assert too_dark(tint, PALE, 0.95).thickness_mm == 0.0
    assert too_dark(tint, {}, 0.3).thickness_mm == np.inf
    assert "too dark at every thickness shown" in said(wedge_picture(tint, PALE, [8.0], floor=0.95))
    known = too_dark(tint, DEEP, 0.2)
    assert known.thinnest_mm < known.thickness_mm < known.thickest_mm


def test_what_is_dark_is_shown_again_at_a_labelled_exposure() -> None:
    figure = wedge_picture(model(), NEARLY_BLACK, [8.0, 60.0])
    told = said(figure)
    assert "exposure +" in told
    assert "longer exposure" in told
    assert "exposure +" not in said(wedge_picture(model(), PALE, [8.0, 60.0]))
    lifted = [patch for patch in figure.findobj(Rectangle) if patch.get_gid() == "lifted card"]
    assert len(lifted) == int(np.sum(model().look(NEARLY_BLACK, [8.0, 60.0]).lab[:, 0] < 20))


def test_a_colour_outside_srgb_is_owned_up_to() -> None:
    assert not np.all(model().look({"azure": 0.05}, [60.0]).screen.inside_srgb)
    assert "outside sRGB" in said(wedge_picture(model(), {"azure": 0.05}, [60.0]))
    assert "outside sRGB" not in said(wedge_picture(model(), {}, [8.0]))


def test_what_lies_beyond_the_chips_is_said() -> None:
    told = said(wedge_picture(model(), {"azure": 0.3}, [60.0]))
    assert "Stronger than any chip" in told
    assert "Thicker than any chip" in told


@pytest.mark.parametrize(
    ("doses", "sections", "floor"),
    [
        (PALE, [8.0], None),
        (PALE, [8.0, 60.0], 0.08),
        (DEEP, [8.0, 9.0], 0.3),
        (DEEP, CLOSE, 0.3),
        (NEARLY_BLACK, CLOSE, 0.08),
        (NEARLY_BLACK, [0.5, 1.0, 60.0], 0.9),
        ({}, [Section("flange", 8.0), Section("foot", 20.0, DARK), Section("a brass ring, inside", 20.0, BRASS)], 0.08),
        (DEEP, [3.0, 3.0, 3.0], None),
        (DEEP, [*range(1, 17)], 0.5),
        (DEEP, [0.03, 0.04], 0.5),
        (DEEP, [700.0, 900.0], 0.5),
    ],
)
def test_words_are_neither_cut_off_nor_on_each_other(
    doses: dict[str, float], sections: list[float] | list[Section], floor: float | None
) -> None:
    assert_readable(wedge_picture(model(), doses, sections, floor=floor))


def test_eight_pigments_and_odd_names_fit() -> None:
    names = (*NAMES[:6], "$x_2$ <b>&amp;", "a pigment with a name as long as sixty characters may be, so")
    figure = wedge_picture(model(names), dict.fromkeys(names, 0.0123), CLOSE, floor=0.08)
    assert_readable(figure)
    assert "$x_2$ <b>&amp;" in said(figure)


def test_one_cup_is_told_in_cups() -> None:
    cup = model(("mix",), volume_per_phr=np.zeros(1))
    assert "0.5 × the cup as poured" in said(wedge_picture(cup, {"mix": 0.05 * 10}, [8.0]))


def test_sections_on_one_ground_give_a_strip_on_it(tmp_path: Path) -> None:
    tint = model()
    figure = wedge_picture(tint, PALE, [3.0, 12.0], behind=WHITE)
    assert "on white" in said(figure)
    image = np.rint(imread(save_picture(figure, tmp_path / "wedge.png")) * 255).astype(np.uint8)
    wanted = np.rint(tint.look(PALE, [12.0], behind=WHITE).screen.rgb[0] * 255)
    assert np.max(np.abs(np.array(pixel(image, figure, "mean strip", 12.0)) - wanted)) <= 2


def test_sections_come_in_order_of_thickness() -> None:
    told = [words for words, _ in boxes(wedge_picture(model(), DEEP, [60.0, 8.0]))]
    assert told.index("8 mm") < told.index("60 mm")


def test_bad_questions_are_refused() -> None:
    tint = model()
    with pytest.raises(NotThere):
        wedge_picture(tint, DEEP, [])
    with pytest.raises(ValueProblem):
        wedge_picture(tint, DEEP, [float(t) for t in range(1, 30)])
    with pytest.raises(ValueProblem):
        wedge_picture(tint, DEEP, [990.0])
    with pytest.raises(ValueProblem):
        wedge_picture(tint, DEEP, [8.0], floor=8.0)
    with pytest.raises(ValueProblem, match=r"thickness is"):
        wedge_picture(tint, DEEP, [-1.0])
    with pytest.raises(ValueProblem, match=r"no pigment"):
        wedge_picture(tint, {"ochre": 0.1}, [8.0])
