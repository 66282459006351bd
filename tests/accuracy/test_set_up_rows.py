"""Wrong set-ups, a reduced sweep of tests/accuracy/set_up_rows.py."""

from __future__ import annotations

import pytest

from tests.accuracy.set_up_rows import ROWS, named, sound

# The other observer alone, and another panel, hardly show in some sets.
_SURE = [row for row in ROWS if row[0] not in ("the other observer alone", "another panel than declared")]


@pytest.mark.parametrize(("name", "make", "kinds", "names"), _SURE, ids=[row[0] for row in _SURE])
def test_a_wrong_set_up_is_named(name, make, kinds, names) -> None:  # type: ignore[no-untyped-def]
    assert named(make, 5300, kinds[0]) in names


@pytest.mark.parametrize("kind", ["colour", "spectrum", "camera"])
def test_a_sound_set_is_not_accused(kind: str) -> None:
    assert not named(sound, 5300, kind)
