"""Wrong set-ups, a reduced sweep of tests/accuracy/set_up_rows.py."""

from __future__ import annotations

import numpy as np
import pytest

from tests.accuracy.set_up_rows import ROWS, named, sound
from tests.simulation import make_set, to_chipset
from tintmix.pigments.fit import fit

# The other observer alone, and another panel, hardly show in some sets.
_SURE = [row for row in ROWS if row[0] not in ("the other observer alone", "another panel than declared")]


@pytest.mark.parametrize(("name", "make", "kinds", "names"), _SURE, ids=[row[0] for row in _SURE])
def test_a_wrong_set_up_is_named(name, make, kinds, names) -> None:  # type: ignore[no-untyped-def]
    assert named(make, 5300, kinds[0]) in names


@pytest.mark.parametrize("kind", ["colour", "spectrum", "camera"])
def test_a_sound_set_is_not_accused(kind: str) -> None:
    assert not named(sound, 5300, kind)


def test_a_sound_set_of_many_chips_is_not_accused() -> None:
    """122 chips, which are worked in parts: also where it is asked whether two dose columns are exchanged."""
    doses = tuple(np.geomspace(0.02, 0.2, 19))
    sim = make_set(11, "colour", pairs=3, doses=doses, dose_error=0.02, thickness_error=0.05)
    assert fit(to_chipset(sim)).report["health"]["set_up"] == []
