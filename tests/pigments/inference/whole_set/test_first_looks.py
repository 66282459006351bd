"""First looks at what may be wrong with a whole set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.accuracy.set_up_rows import light
from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.posterior import posterior
from tintmix.pigments.inference.whole_set.first_looks import by_other_lights, changed_places


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


def test_an_untinted_chip_and_a_tinted_one_that_changed_places_are_seen() -> None:
    """Seed 317 exchanges them: by the search alone all resin would be tinted, and 16 sound chips doubted."""
    sim = make_set(317, pairs=3, dose_error=0.02, thickness_error=0.05, fault="swap")
    pair = changed_places(gather((to_chipset(sim),)).observations)
    assert pair is not None
    assert {sim.names[row] for row in pair} == set(sim.culprit_chips)
    report = fit(to_chipset(sim)).report
    assert {chip["chip"] for chip in report["chips"] if chip["doubted"]} == set(sim.culprit_chips)
    assert all("changed places" in chip["fault"] for chip in report["chips"] if chip["doubted"])
    assert report["health"]["set_up"] == []


@pytest.mark.parametrize("fault", [None, "dose"])
def test_no_others_are(fault: str | None) -> None:
    sim = make_set(317, pairs=3, dose_error=0.02, thickness_error=0.05, fault=fault)
    assert changed_places(gather((to_chipset(sim),)).observations) is None


def test_a_light_far_off_is_named_though_a_first_look_puts_it_low() -> None:
    """Read under LED-B4, declared FL11: 35 nats likelier, and 114 less likely at a first look."""
    sim = light(402, "colour")
    gathered = gather((to_chipset(sim),))
    assert by_other_lights([told(gathered.sets[0], "LED-B4", 10)], gathered, posterior(gathered.observations))[0] < -50
    (said,) = fit(to_chipset(sim)).report["health"]["set_up"]
    assert said["sure"]
    assert said["change"] == {"reading.light": "LED-B4"}
