"""Type that is measured, and places that do not meet."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.pictures.style import INK, PAPER, SOFT, SURROUND, shortened, spread, width_of, wrapped


@given(st.lists(st.floats(-2, 12), min_size=1, max_size=8).map(sorted), st.floats(0.1, 1.2))
def test_spread_keeps_order_room_and_bounds(wanted: list[float], size: float) -> None:
    centres = np.array(spread(wanted, [size] * len(wanted), 0.0, 10.0))
    assert np.all(np.diff(centres) >= size - 1e-6)
    assert centres[0] >= size / 2 - 1e-6
    assert centres[-1] <= 10 - size / 2 + 1e-6
    apart = np.all(np.diff(wanted) >= size) and wanted[0] >= size / 2 and wanted[-1] <= 10 - size / 2
    if apart:
        np.testing.assert_allclose(centres, wanted, atol=1e-6)


def test_spread_without_room_sets_side_by_side() -> None:
    assert spread([5.0, 5.0, 5.0], [4.0, 4.0, 4.0], 0.0, 10.0) == [2.0, 6.0, 10.0]
    assert spread([], [], 0.0, 1.0) == []


@given(st.text(st.characters(codec="ascii", categories=["L", "N", "Zs"]), max_size=60), st.floats(0.4, 4.0))
def test_wrapped_lines_fit_and_lose_nothing(words: str, width: float) -> None:
    lines = wrapped(words, "small", width)
    assert all(width_of(line, "small") <= width + 1e-9 for line in lines)
    assert "".join("".join(lines).split()) == "".join(words.split())


def test_what_is_cut_says_so() -> None:
    assert shortened("short", "body", 2.0) == "short"
    assert shortened("a name much too long for its place", "body", 1.0).endswith("…")
    cut = wrapped("a name much too long for its place on the sheet", "body", 0.8, most=2)
    assert len(cut) == 2
    assert cut[1].endswith("…")


def test_the_surround_is_neutral_and_type_stands_out() -> None:
    def luminance(colour: str) -> float:
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        assert len(set(channels)) == 1
        return float(((channels[0] + 0.055) / 1.055) ** 2.4)

    # WCAG 2.2, 1.4.3: 4.5 : 1 for type. CIE L* of the surround by its formula, 116 ∛Y − 16.
    for ground in (SURROUND, PAPER):
        for ink in (INK, SOFT):
            assert (luminance(ground) + 0.05) / (luminance(ink) + 0.05) > 4.5
    assert 116 * luminance(SURROUND) ** (1 / 3) - 16 == pytest.approx(80, abs=0.5)
