"""A section and what is behind it."""

import numpy as np
import pytest

from tintmix.errors import ValueProblem
from tintmix.optics.section import PANEL, WHITE, Ground, Section


def test_grounds_compare_and_hash():
    one, same, other = (Ground("insert", np.full(41, r), 6.0) for r in (0.5, 0.5, 0.6))
    assert one == same
    assert one != other
    assert len({one, same, other, PANEL, WHITE}) == 4
    assert Section("a", 8.0, one) == Section("a", 8.0, same)
    assert Ground("insert", tuple([0.5] * 41), 6.0) == one
    assert PANEL.is_panel
    assert not one.is_panel


def test_a_ground_keeps_its_own_numbers():
    colour = np.full(41, 0.5)
    ground = Ground("insert", colour)
    colour[:] = 0.9
    assert ground == Ground("insert", np.full(41, 0.5))


@pytest.mark.parametrize("thickness", [0.0, -1.0, np.nan, np.inf])
def test_thickness(thickness):
    with pytest.raises(ValueProblem, match="'point'"):
        Section("point", thickness)


@pytest.mark.parametrize(
    ("reflectance", "width"),
    [
        (1.2, None),
        (-0.1, None),
        (np.nan, None),
        (np.full(40, 0.5), None),
        (np.full((1, 41), 0.5), None),
        (0.5, 0.0),
        (0.5, np.nan),
    ],
)
def test_grounds_that_will_not_do(reflectance, width):
    with pytest.raises(ValueProblem, match="'insert'"):
        Ground("insert", reflectance, width)
