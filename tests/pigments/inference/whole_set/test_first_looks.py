"""First looks at what may be wrong with a whole set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.posterior import posterior
from tintmix.pigments.inference.whole_set.first_looks import by_other_lights


def told(chips: ChipSet, light: str, observer: int) -> tuple[ChipSet, ...]:
    """The same chips, read under another light."""
    return (replace(chips, reading=replace(chips.reading, light=light, observer=observer)),)


@pytest.mark.parametrize("declared", [("D65", 10), ("LED-B1", 2)])
def test_another_light_than_the_declared_one(declared: tuple[str, int]) -> None:
    """Of X, Y, Z, whose white tells the light: two pigments' worth of readings are not needed."""
    chips = to_chipset(make_set(7, pigments=1, thickness_error=0.05))
    white = eye("D65", 10).bare
    read = tuple(replace(c, values=tuple(xyz_of_lab(np.array(c.values), white).tolist())) for c in chips.chips)
    chips = replace(chips, chips=read, reading=replace(chips.reading, space="XYZ"))
    gathered = gather(told(chips, *declared))
    others = (("A", 2), ("D50", 2), ("D65", 10), ("LED-B1", 2))
    gains = by_other_lights([told(chips, *other) for other in others], gathered, posterior(gathered.observations))
    # Itself told again gains nothing.
    assert gains[others.index(declared)] == pytest.approx(0.0, abs=1e-9)
    assert gains.argmax() == others.index(("D65", 10))
