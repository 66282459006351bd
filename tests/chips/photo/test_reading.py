"""Chips read from photos: against simulated photos with a known truth, and everything that makes a reading wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests import photo_simulation as sim
from tests.accuracy import photo_rows as rows
from tests.chips.photo.holder_read import read_holder
from tests.simulation import REPORTING_SEEDS
from tintmix.chips.photo import errors, judge
from tintmix.chips.photo.curve import ToneCurve, srgb_curve
from tintmix.chips.photo.load import Photo, open_photo
from tintmix.chips.photo.reading import PhotoReading, gather_holder, gather_rectangles, read_gathered
from tintmix.chips.photo.region import Rectangle, rectangle, take, trimmed
from tintmix.errors import FileProblem, TintmixError, ValueProblem

CHIP = Rectangle(200, 150, 120, 120)
OPEN = (Rectangle(20, 20, 60, 60), Rectangle(560, 20, 60, 60), Rectangle(20, 400, 60, 60), Rectangle(560, 400, 60, 60))
CARD = Rectangle(340, 150, 60, 120)
LEVEL = 0.7


def scene(through: Any, glare: float = 0.0, uneven: float = 0.2, card: bool = False) -> Any:
    """Light (480, 640, 3) of one chip on an uneven panel, with level glare. through: (3,) or a picture of the chip."""
    y, x = np.mgrid[-1:1:480j, -1:1:640j]
    lit = np.repeat((1 - uneven * (x**2 + y**2) / 2 + 0.05 * x)[..., None], 3, axis=2)
    lit[150:270, 200:320] *= through
    if card:
        lit[150:270, 340:400] = 0.0
    return LEVEL * (lit + glare)


def raw(light: Any, name: str = "chips.dng", noise: float = 0.0, **more: Any) -> Photo:
    light = light + noise * np.random.default_rng(3).standard_normal(light.shape)
    return Photo(name, np.round(np.clip(light, 0, 1) * 65_535).astype(np.uint16), False, clipped_at=64_800, **more)


def rendered(light: Any, name: str = "chips.jpg", **more: Any) -> Photo:
    codes = np.round(sim.srgb_encoded(light) * 255).astype(np.uint8)
    return Photo(name, codes, True, srgb_curve(), 254, **more)


BARE = raw(scene(1.0), "bare.dng")
THROUGH = np.array([0.62, 0.35, 0.24])


def refusal(kind: type[TintmixError], call: Any, *inputs: Any, **named: Any) -> str:
    with pytest.raises(kind) as error:
        call(*inputs, **named)
    said = str(error.value)
    assert "\n" not in said
    assert said.endswith(".")
    assert 20 < len(said) < 900
    return said


def read_rectangles(*places: Any, **more: Any) -> PhotoReading:
    return read_gathered(gather_rectangles(*places, **more))


# Accuracy. What issue 3 asks for, and the simulation of tests/photo_simulation.py, which shares nothing with the reader.


def test_raw_photos_of_the_holder_come_within_what_is_promised() -> None:
    found = rows.Errors()
    for seed in REPORTING_SEEDS[:2]:
        rng = np.random.default_rng([seed, 61])
        shot = sim.random_shot(rng, turn=float(rng.uniform(-3, 3)), tilt=5.0, blur=1.0)
        # Deep chips, so that some channels are dark.
        photo = sim.photographed(rng, shot, pieces=sim.random_pieces(rng, 18, 2.2))
        chips = sim.open_raw(photo.chips, photo.camera, shot, rng)
        bare = sim.open_raw(photo.bare, photo.camera, shot, rng, "bare.dng")
        rows.each(found, photo.truth, gather_holder(chips, bare, {name: name for name in photo.truth}))
    assert found.refused <= 2
    assert len(found.bright) > 22
    assert len(found.dark) > 6
    assert rows.quantiles(found.bright)[1] < 0.015
    assert rows.quantiles(found.dark)[1] < 0.03


# By rectangles.


def test_a_chip_on_an_uneven_panel_with_a_second_photo() -> None:
    reading = read_rectangles(raw(scene(THROUGH)), {"b1": CHIP}, BARE, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=3e-4)
    assert reading.glare is None
    assert reading.warnings == ()


def test_exposure_and_white_balance_that_changed_cancel_in_the_open_windows() -> None:
    changed = raw(scene(THROUGH) * (0.8, 0.9, 1.05))
    reading = read_rectangles(changed, {"b1": CHIP}, BARE, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=5e-4)
    assert any("exposure or panel changed" in str(said) for said in reading.warnings)


def test_without_open_windows_the_panel_around_ties_both_photos() -> None:
    reading = read_rectangles(raw(scene(THROUGH) * 0.8), {"b1": CHIP}, BARE)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=5e-4)


def test_without_a_second_photo_a_surface_around_the_chips_stands_for_the_panel() -> None:
    reading = read_rectangles(raw(scene(THROUGH)), {"b1": CHIP})
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=5e-3)
    assert "smooth surface" in reading.warnings[0]


def test_with_open_places_only_a_surface_goes_through_them() -> None:
    reading = read_rectangles(raw(scene(THROUGH)), {"b1": CHIP}, opened=[*OPEN, Rectangle(120, 180, 60, 60)])
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=1.5e-2)
    few = read_rectangles(raw(scene(THROUGH, uneven=0.02)), {"b1": CHIP}, opened=OPEN[:2])
    assert any("fewer than four places" in str(said) for said in few.warnings)


def test_glare_is_taken_off_by_the_dark_reference() -> None:
    deep = np.array([0.4, 0.05, 0.02])
    reading = read_rectangles(
        raw(scene(deep, glare=0.02, card=True)), {"b1": CHIP}, raw(scene(1.0, glare=0.02, card=True)), OPEN, [CARD]
    )
    # One card alone tells little of how glare falls off: within 1 % here.
    assert reading.places["b1"].values == pytest.approx(deep, rel=1e-2)
    assert reading.glare == pytest.approx([0.02] * 3, rel=0.2)


def test_much_glare_is_told() -> None:
    lit = raw(scene(THROUGH, glare=0.1, card=True))
    reading = read_rectangles(lit, {"b1": CHIP}, raw(scene(1.0, glare=0.1, card=True)), OPEN, [CARD])
    assert any("glare was" in str(said) for said in reading.warnings)


def test_nothing_below_a_fifth_without_a_dark_reference() -> None:
    said = refusal(errors.BadRegions, read_rectangles, raw(scene([0.5, 0.19, 0.3])), {"b1": CHIP}, BARE, OPEN)
    assert "reads 19 % in green, and below 20 % glare must be taken off" in said
    read_rectangles(raw(scene([0.5, 0.21, 0.3])), {"b1": CHIP}, BARE, OPEN)


def test_a_rendered_photo_is_rendered_and_its_dark_channels_are_not_below_nought() -> None:
    light = scene([0.5, 0.3, 0.0], card=True)
    light[150:270, 340:400] = 0.002
    reading = read_rectangles(rendered(light), {"b1": CHIP}, rendered(scene(1.0, card=True), "bare.jpg"), OPEN, [CARD])
    assert reading.rendered
    assert reading.places["b1"].values[2] == 0.0
    # 8 bits: half a step of 255 is 1 % of light at this level.
    assert reading.places["b1"].values[:2] == pytest.approx([0.5, 0.3], rel=0.012)


def test_below_what_the_tone_curve_was_measured_to_is_told() -> None:
    curve = ToneCurve("curve.csv", srgb_curve().table, lowest=0.06)
    light = scene([0.5, 0.3, 0.03], card=True)
    photo = Photo("chips.jpg", rendered(light).codes, True, curve, 254)
    bare = Photo("bare.jpg", rendered(scene(1.0, card=True)).codes, True, curve, 254)
    reading = read_rectangles(photo, {"b1": CHIP}, bare, OPEN, [CARD])
    assert "in blue, and the tone curve was measured only down to 6.0 %" in reading.places["b1"].notes[0]


def test_bubbles_dust_and_glints_are_trimmed() -> None:
    chip = np.ones((120, 120, 1)) * THROUGH
    rng = np.random.default_rng(1)
    for spots, level in ((40, 0.0), (40, 1.4)):
        for row, column in rng.integers(15, 102, (spots, 2)):
            chip[row : row + 3, column : column + 3] = level * THROUGH
    reading = read_rectangles(raw(scene(chip), noise=0.002), {"b1": CHIP}, BARE, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=3e-3)
    assert any("bright spots" in note for note in reading.places["b1"].notes)
    assert any("dark spots" in note for note in reading.places["b1"].notes)


def test_a_lamp_in_the_face_is_refused() -> None:
    chip = np.ones((120, 120, 1)) * THROUGH
    chip[20:100, 50:64] = 0.95
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(chip)), {"b1": CHIP}, BARE, OPEN)
    assert "bright spots" in said or "brighter on one side" in said


def test_the_mean_and_spread_are_those_of_a_gaussian_when_it_is_one() -> None:
    values = np.random.default_rng(2).normal(0.4, 0.03, (40_000, 3))
    mean, spread = trimmed(values)
    assert mean == pytest.approx([0.4] * 3, abs=6e-4)
    assert spread == pytest.approx([0.03] * 3, rel=0.02)


def test_edges_of_a_rectangle_are_left_out() -> None:
    chip = np.ones((120, 120, 1)) * THROUGH
    for edge in (slice(0, 10), slice(110, 120)):
        chip[edge] = 0.02
        chip[:, edge] = 0.02
    reading = read_rectangles(raw(scene(chip)), {"b1": CHIP}, BARE, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=5e-4)


def test_a_gradient_is_noted_and_an_edge_refused() -> None:
    wedge = np.linspace(0.55, 0.65, 120)[None, :, None] * np.ones((120, 1, 3))
    reading = read_rectangles(raw(scene(wedge)), {"b1": CHIP}, BARE, OPEN)
    assert "falls off by" in reading.places["b1"].notes[0]
    beside = Rectangle(CHIP.x + 60, CHIP.y, 120, 120)
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH)), {"b1": beside}, BARE, OPEN)
    assert "as over an edge; keep to the even middle" in said


@pytest.mark.parametrize("more", [22, 30, 40])
def test_a_place_a_little_larger_than_the_chip_is_refused(more: int) -> None:
    # 12 % of each side is left out: at 22 pixels more round a chip of 120 the strip that is left of the panel is 2 wide.
    larger = Rectangle(CHIP.x - more, CHIP.y - more, 120 + 2 * more, 120 + 2 * more)
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH), noise=0.01), {"b1": larger}, BARE, OPEN)
    assert "as over an edge" in said


@pytest.mark.parametrize(("through", "words"), [
    (1.6, "are overexposed; take the photo with a shorter exposure"),
    (1.2, "of the bare panel; no chip is brighter"),
    (0.001, "too dark to read"),
])  # fmt: skip
def test_what_is_too_bright_or_too_dark(through: float, words: str) -> None:
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(through, card=True)), {"b1": CHIP}, BARE, OPEN, [CARD])
    assert words in said
    assert "b1: " in said


def test_a_chip_too_dark_says_to_pour_it_thinner() -> None:
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(0.001, card=True)), {"b1": CHIP}, BARE, OPEN, [CARD])
    assert "thinner chip" in said


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(errors.BadRegions) as error:
        read_rectangles(raw(scene(0.1)), {"b1": CHIP, "b2": CHIP}, BARE, OPEN)
    assert len(error.value.problems) == 2


def test_a_panel_that_is_overexposed_or_hardly_exposed() -> None:
    full = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH) * 2), {"b1": CHIP}, BARE, OPEN)
    assert "the bare panel is overexposed" in full
    dim = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH) * 0.05), {"b1": CHIP}, BARE, OPEN)
    assert "longer exposure" in dim


def test_a_dark_reference_that_is_not_dark() -> None:
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, BARE, OPEN, [CARD])
    assert "too bright for a dark reference" in said


def test_no_panel_to_be_seen() -> None:
    dark = scene(THROUGH)
    dark[:, :190], dark[:, 330:], dark[:140], dark[280:] = 0.001, 0.001, 0.001, 0.001
    said = refusal(errors.NoPanel, read_rectangles, raw(dark), {"b1": CHIP})
    assert "is no bare panel" in said


# The photo of the panel.


def test_a_panel_photo_of_another_size() -> None:
    small = raw(scene(1.0)[::2, ::2], "bare.dng")
    said = refusal(FileProblem, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, small, OPEN)
    assert "320 × 240 pixels and the photo of the chips 640 × 480" in said


def test_a_panel_photo_of_another_kind() -> None:
    said = refusal(FileProblem, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, rendered(scene(1.0)), OPEN)
    assert "the photo of the chips is raw and that of the panel is a JPEG or the like" in said


def exposed(factor: float) -> dict[str, Any]:
    return {"settings": {"exposure_s": 0.02 * factor, "f_number": 8.0, "iso": 100.0}}


def test_a_panel_photo_of_another_exposure() -> None:
    chips = raw(scene(THROUGH) * 0.7, **exposed(0.7))
    bare = raw(scene(1.0), "bare.dng", **exposed(1.0))
    reading = read_rectangles(chips, {"b1": CHIP}, bare, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=5e-4)
    assert any("exposed differently (by a factor 1.43)" in str(said) for said in reading.warnings)


def test_a_panel_photo_that_is_black() -> None:
    black = raw(0.0 * scene(1.0), "bare.dng")
    assert "longer exposure" in refusal(
        errors.BadRegions, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, black, OPEN
    )
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, black)
    assert "b1 in bare.dng: the bare panel reaches only 0 % of full light" in said


def test_a_panel_photo_that_is_overexposed_where_nothing_else_shows_the_panel() -> None:
    # 2.5 times the light: all of it full, so without this the chip would have read two thirds of what it lets through.
    full = raw(2.5 * scene(1.0), "bare.dng")
    said = refusal(errors.BadRegions, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, full)
    assert "b1 in bare.dng: the bare panel is overexposed; take" in said


def test_what_is_wrong_with_several_places_alike_is_said_once() -> None:
    left, right = Rectangle(CHIP.x, CHIP.y, 60, 120), Rectangle(CHIP.x + 60, CHIP.y, 60, 120)
    with pytest.raises(errors.BadRegions) as error:
        read_rectangles(raw(scene(THROUGH)), {"b1": left, "b2": right}, raw(2.5 * scene(1.0), "bare.dng"))
    assert "2 places cannot be read: b1 in bare.dng, b2 in bare.dng: the bare panel is overexposed" in str(error.value)
    assert str(error.value).count("overexposed") == 1
    assert [problem[:3] for problem in error.value.problems] == ["b1 ", "b2 "]


def test_a_panel_photo_of_another_view() -> None:
    turned = raw(scene(1.0)[:, ::-1] * np.linspace(1.0, 0.8, 640)[None, :, None], "bare.dng")
    said = refusal(FileProblem, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, turned, OPEN)
    assert "disagree by" in said
    said = refusal(FileProblem, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, turned)
    assert "is lit otherwise" in said
    on_a_chip = (*OPEN, CHIP)
    refusal(FileProblem, read_rectangles, raw(scene(THROUGH)), {"b1": CHIP}, BARE, on_a_chip)


def test_an_open_place_that_is_not_open_in_a_single_photo() -> None:
    light = scene(THROUGH)
    light[20:80, 20:80] *= 0.3
    said = refusal(errors.BadRegions, read_rectangles, raw(light), {"b1": CHIP}, None, OPEN)
    assert "open place 1: is" in said


def test_glare_is_taken_off_the_panel_around_the_chips_too() -> None:
    # The panel around stands for the bare one, with a photo of its own and without: 5 % of glare would be 5 % of the reading.
    photo = raw(scene(THROUGH, glare=0.05, card=True, uneven=0.05))
    carded = raw(scene(1.0, glare=0.05, uneven=0.05, card=True), "bare.dng")
    for panel in (carded, None):
        reading = read_rectangles(photo, {"b1": CHIP}, panel, (), [CARD])
        assert reading.places["b1"].values == pytest.approx(THROUGH, rel=1e-2)


def masked(light: Any) -> Any:
    """Nothing but the chip to be seen."""
    out = np.full_like(light, 0.001)
    out[140:280, 190:330] = light[140:280, 190:330]
    return out


def test_another_exposure_where_nothing_shows_the_panel() -> None:
    chips, bare = masked(scene(THROUGH) * 0.7), raw(scene(1.0), "bare.dng", **exposed(1.0))
    said = refusal(FileProblem, read_rectangles, raw(chips, **exposed(0.7)), {"b1": CHIP}, bare)
    assert "exposed differently" in said
    alike = read_rectangles(raw(masked(scene(THROUGH)), **exposed(1.0)), {"b1": CHIP}, bare)
    assert alike.places["b1"].values == pytest.approx(THROUGH, rel=5e-4)
    untold = read_rectangles(raw(masked(scene(THROUGH))), {"b1": CHIP}, BARE)
    assert any("nothing shows that both photos were exposed alike" in str(said) for said in untold.warnings)


# Places.


@pytest.mark.parametrize(("box", "words"), [
    (Rectangle(700, 10, 50, 50), "lies outside the photo, which has 640 × 480 pixels"),
    (Rectangle(-400, 10, 50, 50), "lies outside"),
    (Rectangle(600, 440, 80, 80), "lies partly outside"),
    (Rectangle(10, 10, 12, 12), "and 10 × 10 are needed"),
    (Rectangle(10, 10, 300, 2), "are needed"),
])  # fmt: skip
def test_places_that_are_not_there(box: Rectangle, words: str) -> None:
    assert words in refusal(ValueProblem, read_rectangles, raw(scene(THROUGH)), {"b1": box}, BARE, OPEN)


@pytest.mark.parametrize(("text", "words"), [
    ("", "no place in a photo"), ("1,2,3", "no place"), ("a,b,c,d", "no place"),
    ("nan,1,2,3", "no place"), ("1,2,0,4", "is empty"), ("1,2,3,-4", "is empty"), ("", "nothing: is no place"),
    ("1,2,3,4,5", "no place"), ("1e9,2,3,4", "no place"),
    ("99999999,1,9,9", "lies outside any photo"),
])  # fmt: skip
def test_rectangles_that_are_none(text: str, words: str) -> None:
    assert words in refusal(ValueProblem, rectangle, text)


@pytest.mark.parametrize("text", ["10,20,30,40", "10 20 30 40", " 10; 20; 30; 40 ", "10.0, 20.0, 30.0, 40.0"])
def test_ways_to_write_a_rectangle(text: str) -> None:
    assert rectangle(text) == Rectangle(10, 20, 30, 40)


def test_a_window_seen_aslant_is_straightened() -> None:
    codes = np.zeros((300, 300, 3), np.uint16)
    codes[..., 0] = 20_000 + 100 * np.arange(300)
    corners = np.array([[100.0, 50], [220, 90], [180, 210], [60, 170]])
    patch = take(Photo("p", codes, False), corners, "here")
    # Corners in the order of the place: its own left is at (60..100), its right at (180..220).
    assert patch.cells[1, 0, 0] < patch.cells[1, 2, 0]
    assert patch.mean[0] * 65_535 == pytest.approx(20_000 + 100 * corners[:, 0].mean(), rel=5e-3)


# The holder.

SMALL = sim.Shot(width=1000, height=750, turn=93.0, glare=0.02, blur=0.6)


@pytest.fixture(scope="module")
def holder() -> tuple[sim.Photographed, Photo, Photo]:
    rng = np.random.default_rng(11)
    found = sim.photographed(rng, SMALL, pieces=sim.random_pieces(rng, 18, 0.8))
    chips = sim.open_raw(found.chips, found.camera, SMALL, rng)
    return found, chips, sim.open_raw(found.bare, found.camera, SMALL, rng, "bare.dng")


Holder = tuple[sim.Photographed, Photo, Photo]


def test_the_holder_is_read_without_any_clicking(holder: Holder) -> None:
    found, chips, bare = holder
    reading = read_holder(chips, bare)
    assert set(reading.places) == set(found.truth)
    for name, place in reading.places.items():
        assert place.values == pytest.approx(found.truth[name], rel=0.02)
    assert reading.glare is not None
    assert 0.005 < reading.glare.mean() < 0.04


def test_chips_by_window_and_by_check_place(holder: Holder) -> None:
    found, chips, bare = holder
    reading = read_holder(chips, bare, {"b1": "1.2", "check": "K1"})
    assert reading.places["b1"].values == pytest.approx(found.truth["1.2"], rel=0.02)
    assert reading.places["check"].values == pytest.approx(found.truth["2.3"], rel=0.02)


def test_empty_windows_are_passed_over_unless_they_are_asked_for(holder: Holder) -> None:
    _, _, bare = holder
    again = replace(bare, codes=bare.codes ^ 1)
    assert read_holder(again, bare).places == {}
    asked = read_holder(again, bare, {"b1": "1.2"})
    assert asked.places["b1"].empty


def test_one_photo_of_the_holder_will_do(holder: Holder) -> None:
    found, chips, _ = holder
    reading = read_holder(chips)
    assert judge.BETWEEN_OPEN in reading.warnings
    for name, place in reading.places.items():
        assert place.values == pytest.approx(found.truth[name], rel=0.04)


def test_a_second_photo_of_another_size_in_which_the_sheet_is(holder: Holder) -> None:
    found, chips, bare = holder
    half = Photo("bare.dng", np.ascontiguousarray(bare.codes[:, 40:]), False, clipped_at=bare.clipped_at)
    reading = read_holder(chips, half, {"b1": "3.1"})
    assert reading.places["b1"].values == pytest.approx(found.truth["3.1"], rel=0.02)


def test_windows_that_hold_no_chip_and_that_are_none(holder: Holder) -> None:
    _, chips, bare = holder
    assert "is the open window of its row" in refusal(ValueProblem, read_holder, chips, bare, {"b1": "1.1"})
    assert "is the blocked window" in refusal(ValueProblem, read_holder, chips, bare, {"b1": "1.5"})
    assert "no window of the holder sheet" in refusal(ValueProblem, read_holder, chips, bare, {"b1": "Z9"})


def test_no_sheet_in_the_photo_of_the_panel(holder: Holder) -> None:
    _, chips, _ = holder
    said = refusal(FileProblem, read_holder, chips, raw(scene(1.0), "bare.dng"))
    assert "the holder sheet was not found in the photo of the panel" in said


def test_no_sheet_in_the_photo() -> None:
    assert "three of the four are needed" in refusal(FileProblem, read_holder, BARE)


def test_a_reading_is_the_same_in_any_order(holder: Holder) -> None:
    _, chips, bare = holder
    gathered = gather_holder(chips, bare)
    one = read_gathered(gathered)
    other = read_gathered(gather_holder(chips, bare, dict(reversed([(name, name) for name in gathered.chips]))))
    for name, place in one.places.items():
        assert other.places[name].values == pytest.approx(place.values)


def test_gathered_rectangles_hold_the_panel_beside(holder: Holder) -> None:
    gathered = gather_rectangles(raw(scene(THROUGH)), {"b1": CHIP}, BARE, OPEN, [CARD])
    assert set(gathered.chips) == {"b1"}
    assert len(gathered.opened) == 4
    assert gathered.dark["dark place 1"][1] is not None


def test_a_file_reads_as_the_picture_in_memory() -> None:
    from tests.chips.photo import photo_files as files

    picture = raw(scene(THROUGH))
    photo = open_photo(files.png(picture.codes), "chips.png", linear=True)
    bare = open_photo(files.tiff(BARE.codes, compression=8), "bare.tif", linear=True)
    reading = read_rectangles(photo, {"b1": CHIP}, bare, OPEN)
    assert reading.places["b1"].values == pytest.approx(THROUGH, rel=3e-4)
    assert not reading.rendered
