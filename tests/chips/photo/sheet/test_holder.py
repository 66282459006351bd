"""The holder sheet's measures, and which chip lies in which window."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from tintmix.chips.photo.sheet import holder
from tintmix.errors import TintmixError, ValueProblem


def test_every_row_has_one_open_and_one_blocked_window() -> None:
    for row in range(1, 7):
        roles = Counter(one.role for one in holder.WINDOWS if one.row == row)
        assert roles["open"] == roles["blocked"] == 1
    assert Counter(one.role for one in holder.WINDOWS) == {"chip": 16, "check": 2, "open": 6, "blocked": 6}


def test_open_windows_pin_a_smooth_surface_of_second_order() -> None:
    at = np.array([[one.x_mm, one.y_mm] for one in holder.WINDOWS if one.role == "open"]) / 100
    x, y = at.T
    terms = np.column_stack([np.ones_like(x), x, y, x**2 + y**2])
    assert np.linalg.cond(terms) < 20


def test_the_sheet_fits_both_papers_with_the_white_that_printers_leave() -> None:
    # ISO 216: A4 is 210 × 297 mm; ANSI/ASME Y14.1: Letter is 8.5 × 11 inches. 6 mm: common practice.
    for wide, high in ((210.0, 297.0), (8.5 * 25.4, 11 * 25.4)):
        room = np.array([wide, high]) / 2 - np.abs(holder.EDGE_MM).max(axis=0)
        assert room.min() >= 6.0


def test_marks_are_told_apart_and_keep_clear_of_chips() -> None:
    for dots, places in holder.DOTS_MM.items():
        assert len(places) == dots
        apart = [np.hypot(*(np.subtract(a, b))) for i, a in enumerate(places) for b in places[:i]]
        assert min(apart, default=99.0) > holder.DOT_MM + 1.5
        assert max(np.hypot(*p) for p in places) + holder.DOT_MM / 2 < holder.RING_INNER_MM / 2
    half = holder.MARK_MM / 2
    for one in holder.CHIP_WINDOWS:
        gap = np.abs(holder.MARKS_MM - (one.x_mm, one.y_mm)) - half - holder.WINDOW_MM / 2
        assert gap.max(axis=1).min() > 0
    assert min(holder.PITCH_MM) > holder.LARGEST_CHIP_MM
    # No two marks change places when the sheet is turned by a half: each has its own number of dots.
    assert len({tuple(m) for m in holder.MARKS_MM}) == 4


def test_windows_by_name() -> None:
    assert holder.window(" c1 ").role == "chip"
    assert holder.window("K2").name == "5.3"
    with pytest.raises(ValueProblem, match="no window of the holder sheet has this name"):
        holder.window("G1")


def test_chips_are_laid_in_order_and_check_chips_in_every_photo() -> None:
    names = [f"b{i}" for i in range(30)]
    photos = holder.lay_out([*names, "k1", "k2", "k3"], ["k1", "k2", "k3"])
    assert [photo["2.3"] for photo in photos] == ["k1"] * len(photos)
    assert [photo["5.3"] for photo in photos] == ["k2"] * len(photos)
    assert [photo["1.2"] for photo in photos] == ["k3"] * len(photos)
    laid = [chip for photo in photos for chip in photo.values() if chip in names]
    assert laid == names
    assert all(holder.window(place).role in ("chip", "check") for photo in photos for place in photo)
    assert holder.lay_out([]) == ({},)


def test_far_too_many_check_chips_still_leave_room() -> None:
    photos = holder.lay_out(["b1", "b2", *(f"k{i}" for i in range(40))], [f"k{i}" for i in range(40)])
    assert {"b1", "b2"} <= {chip for photo in photos for chip in photo.values()}


def test_layouts_are_read_back() -> None:
    photos = holder.lay_out([f"b, {i}" for i in range(18)], ["b, 3"])
    assert holder.laid_from_text(holder.laid_to_text(photos), "holder.csv") == photos
    assert holder.laid_from_text("photo;window;chip\n1;k1;b1\n1;a2;\n", "h") == ({"2.3": "b1"},)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a,b\n1,2\n", "columns must be photo, window, chip"),
        ("photo,window,chip\n0,1.2,b1\n", "row 2: '0' is no number of a photo"),
        ("photo,window,chip\n999999999,1.2,b1\n", "is no number of a photo"),
        ("photo,window,chip\n1,Z9,b1\n", "no window of the holder sheet has this name"),
        ("photo,window,chip\n1,1.1,b1\n", "row 1, first, is the open window of its row"),
        ("photo,window,chip\n1,1.5,b1\n", "the blocked window"),
        ("photo,window,chip\n1,1.2,b1\n1,1.2,b2\n", "row 3: the window 1.2 or the chip b2 is named twice"),
        ("photo,window,chip\n1,1.2,b1\n1,1.3,b1\n", "named twice in photo 1"),
        ("photo,window,chip\n1\n", "no window"),
        ("", "empty"),
    ],
)
def test_bad_layouts_are_refused_in_a_sentence(text: str, says: str) -> None:
    with pytest.raises(TintmixError, match=says):
        holder.laid_from_text(text, "holder.csv")
