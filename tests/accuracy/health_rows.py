"""Rows for issue 10's contradictory sets: `python -m tests.accuracy.health_rows [sets]`.

Colours of ladder and pairs with dose and thickness errors; then two dose columns are exchanged in half of the cups that hold
either pigment, or all readings are shuffled. Asked of mixtures at 36 to 60 mm.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.accuracy.scoring import Table, of_draws, table
from tests.simulation import REPORTING_SEEDS, make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.pigments.fit import fit

LEAST_LIGHT = 0.02
"""Of the light, through what is asked: darker is black."""


def sound(chips: ChipSet, seed: int) -> ChipSet:
    """As it is."""
    return chips


def shuffled(chips: ChipSet, seed: int) -> ChipSet:
    """Every chip has another's reading."""
    order = np.random.default_rng([seed, 7]).permutation(len(chips.chips))
    read = [chip.values for chip in chips.chips]
    mixed = tuple(replace(chip, values=read[k]) for chip, k in zip(chips.chips, order, strict=True))
    return replace(chips, chips=mixed)


def exchanged(chips: ChipSet, seed: int) -> ChipSet:
    """The first two dose columns are exchanged in half of the cups that hold either pigment."""
    cups = list(dict.fromkeys(chip.cup for chip in chips.chips if any(chip.doses_phr[:2])))
    wrong = set(np.random.default_rng([seed, 7]).permutation(cups)[: len(cups) // 2].tolist())
    mixed = tuple(
        replace(chip, doses_phr=(chip.doses_phr[1], chip.doses_phr[0], *chip.doses_phr[2:]))
        if chip.cup in wrong
        else chip
        for chip in chips.chips
    )
    return replace(chips, chips=mixed)


@dataclass(frozen=True, slots=True)
class HealthRow:
    """Errors and bands of some sets; how many of them say that their chips contradict each other, and tell no chance."""

    table: Table
    told: int
    sets: int

    def __str__(self) -> str:
        """As printed."""
        of = self.table
        return (
            f"{of.median:5.2f} / {of.p95:5.2f}  ellipsoid {of.ellipsoid:.2f} ± {of.error:.2f}  band {of.band:.2f}, median "
            f"{of.width:.1f}  no chance told {self.told} of {self.sets}"
        )


def health_row(seeds: range, fault: Callable[[ChipSet, int], ChipSet], family: str = "new film") -> HealthRow:
    """Some simulated sets with that fault."""
    scores, told = [], 0
    for seed in seeds:
        sim = make_set(seed, "colour", pairs=3, family=family, dose_error=0.02, thickness_error=0.05)
        model = fit(fault(to_chipset(sim), seed))
        told += model.health.contradicts
        rng = np.random.default_rng([seed, 99])
        doses, thickness = np.exp(rng.uniform(np.log(0.005), np.log(0.05), (60, 3))), rng.uniform(36, 60, 60)
        seen = sim.truth_luminous(doses, thickness) >= LEAST_LIGHT
        doses, thickness = doses[seen][:20], thickness[seen][:20]
        scores.append(of_draws(model.lab_draws(doses, thickness), sim.truth_lab(doses, thickness)))
    return HealthRow(table(scores), told, len(seeds))


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    for fault in (sound, exchanged, shuffled):
        print(f"{fault.__name__:10} {health_row(REPORTING_SEEDS[:count], fault)}", flush=True)
