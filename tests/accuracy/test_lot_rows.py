"""`python -m tests.accuracy.lot_rows` at full length; here a few sets, so that the figures cannot drift unseen."""

from __future__ import annotations

from tests.accuracy.lot_rows import rows


def test_sound_lots_are_told_and_another_pigment_is_not() -> None:
    sound = rows(range(5100, 5104), "a new lot of the pigment")
    assert sound.held >= 0.75
    assert sound.doubted <= 0.25
    assert rows(range(5100, 5102), "another pigment in its place").refused == 1
