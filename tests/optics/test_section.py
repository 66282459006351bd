"""A section and what is behind it."""

import numpy as np
import pytest

from tintmix.optics.errors import GroundUnusable, SectionThickness
from tintmix.optics.insert import radiance_factor
from tintmix.optics.plate import external_transmittance
from tintmix.optics.section import DARK, PANEL, WHITE, Ground, Section, seen, seen_with_slope

TAU = np.linspace(0.01, 0.99, 41)


def test_before_the_panel():
    assert seen(TAU, Section("point", 60.0), 1.5) == pytest.approx(external_transmittance(TAU, 1.5), abs=0)


@pytest.mark.parametrize(("ground", "reflectance"), [(WHITE, 0.85), (DARK, 0.04)])
def test_before_a_ground(ground, reflectance):
    # formats.md: white is R 0.85, dark R 0.04.
    assert seen(TAU, Section("flange", 8.0, ground), 1.5) == pytest.approx(
        radiance_factor(TAU, reflectance, 1.5), abs=0
    )


def test_an_insert_narrower_than_four_thicknesses():
    colour = np.linspace(0.2, 0.7, 41)
    narrow, wide = (seen(TAU, Section("s", 8.0, Ground("insert", colour, width)), 1.5) for width in (31.9, 32.0))
    assert narrow == pytest.approx(radiance_factor(TAU, colour, 1.5, narrow=True), abs=0)
    assert wide == pytest.approx(radiance_factor(TAU, colour, 1.5), abs=0)
    assert seen(TAU, Section("s", 8.0, Ground("insert", colour)), 1.5) == pytest.approx(wide, abs=0)


@pytest.mark.parametrize("ground", [PANEL, WHITE, DARK, Ground("insert", np.linspace(0.2, 0.7, 41), 6.0)])
def test_slopes(ground):
    section = Section("s", 8.0, ground)
    value, slope = seen_with_slope(TAU, section, 1.5)
    assert value == pytest.approx(seen(TAU, section, 1.5), abs=1e-15)
    ahead = seen(TAU + 1e-6, section, 1.5) - seen(TAU - 1e-6, section, 1.5)
    assert slope == pytest.approx(ahead / 2e-6, rel=1e-5)


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
    with pytest.raises(SectionThickness, match="'point'"):
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
    with pytest.raises(GroundUnusable, match="'insert'"):
        Ground("insert", reflectance, width)
