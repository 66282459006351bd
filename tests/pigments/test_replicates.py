"""Replicates that disagree are named, and those that agree are not; pigments that haze are named."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.pigments.fit import fit


def with_twin(seed: int, kind: str, off: float) -> ChipSet:
    """A ladder whose fourth chip was read twice, as two chips of one cup, the second one off by so many spreads."""
    chips = to_chipset(make_set(seed, kind, dose_error=0.02, thickness_error=0.05))
    one = chips.chips[3]
    rng = np.random.default_rng(seed)
    spread = chips.reading.reading_spread
    values = np.array(one.values) + spread * (rng.normal(0, 1, len(one.values)) + off)
    twin = replace(one, name=f"{one.name}-again", values=tuple(values))
    return replace(chips, chips=(*chips.chips, twin))


def unlike(chips: ChipSet) -> list[str]:
    return [w for w in fit(chips).report["warnings"] if "should read alike" in w]


@pytest.mark.parametrize("kind", ["colour", "spectrum"])
def test_sound_replicates_are_not_named(kind: str) -> None:
    assert [unlike(with_twin(seed, kind, 0.0)) for seed in range(3)] == [[], [], []]


@pytest.mark.parametrize(("kind", "off"), [("colour", 12.0), ("spectrum", 12.0)])
def test_replicates_that_disagree_are_named(kind: str, off: float) -> None:
    told = unlike(with_twin(1, kind, off))
    assert len(told) == 1
    assert "-again" in told[0]


def test_a_pigment_that_hazes_is_named() -> None:
    chips = to_chipset(make_set(1, "colour"))
    cloudy = [
        replace(chip, haze=float(1 - np.exp(-chip.thickness_mm * (0.0005 + 0.1 * chip.doses_phr[0]))))
        for chip in chips.chips
    ]
    told = [w for w in fit(replace(chips, chips=tuple(cloudy))).report["warnings"] if "hazes" in w]
    assert len(told) == 1
    assert told[0].startswith(chips.pigments[0].name)
