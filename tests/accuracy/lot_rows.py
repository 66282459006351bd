"""Check chips of new lots: whether the strength is told with its ±, and whether a chip of another pigment is told from one.

`python -m tests.accuracy.lot_rows [sets]` prints the table.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.simulation import REPORTING_SEEDS, SimSet, make_set, to_chipset
from tintmix.chips.chip import Reading
from tintmix.desk.bench.lot import NOT_KEPT
from tintmix.pigments.fit import fit
from tintmix.recipes.adjust.belief import SURPRISE, LotStrength, Trial, recalibrate, trial_set

DOSE, MM = 0.06, 12.0
SPREAD = {"lot": 0.2, "weighing": 0.02, "mm": 0.05, "reading": 0.3}
"""Standard deviations: of the lots' log strengths, of the weighing, of the thickness, of each of L*, a*, b*."""


@dataclass(frozen=True, slots=True)
class Found:
    """Over sets: the part whose ± times 1.96 holds the true strength, that is doubted, and of which nothing is told."""

    held: float
    doubted: float
    refused: float
    sets: int


def _alike(doses: np.ndarray) -> np.ndarray:
    return doses


def _another(doses: np.ndarray) -> np.ndarray:
    return np.roll(doses, 1, axis=1)


def _soiled(doses: np.ndarray) -> np.ndarray:
    return doses + 0.3 * np.roll(doses, 1, axis=1)


CASES: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "a new lot of the pigment": _alike,
    "another pigment in its place": _another,
    "three tenths as much of another pigment in it": _soiled,
}


def check(sim: SimSet, seed: int, really: Callable[[np.ndarray], np.ndarray]) -> tuple[float, LotStrength]:
    """The true strength of a lot of the first pigment, and what a check chip of it tells."""
    rng = np.random.default_rng([seed, 91])
    model = fit(to_chipset(sim))
    factor = float(np.exp(SPREAD["lot"] * rng.normal()))
    true = np.zeros((1, len(sim.pigments)))
    true[0, 0] = DOSE * factor * (1 + SPREAD["weighing"] * rng.normal())
    lab = sim.truth_lab(really(true), np.array([MM + SPREAD["mm"] * rng.normal()]))[0]
    read = tuple((lab + SPREAD["reading"] * rng.normal(size=3)).tolist())
    pigment = model.pigments[0]
    chips = trial_set(Reading("colour", geometry="total"), [(MM, read)], {pigment: DOSE}, model.refractive_index)
    trial = Trial({pigment: DOSE}, chips, {pigment: SPREAD["weighing"]})
    return factor, recalibrate(model, [trial], {}, 0.3)[pigment]


def rows(seeds: range, case: str) -> Found:
    """The case over some sets."""
    held, doubted, refused = [], [], []
    for seed in seeds:
        sim = make_set(seed, "colour", pairs=3, dose_error=0.02, thickness_error=0.05, family="new film")
        factor, one = check(sim, seed, CASES[case])
        held.append(abs(np.log(one.factor / factor)) <= 1.96 * one.spread)
        doubted.append(one.surprise > SURPRISE)
        refused.append(one.surprise > NOT_KEPT)
    return Found(float(np.mean(held)), float(np.mean(doubted)), float(np.mean(refused)), len(seeds))


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    for case in CASES:
        found = rows(range(REPORTING_SEEDS.start, REPORTING_SEEDS.start + count), case)
        held = f"the ± holds {100 * found.held:.0f} %, " if case == next(iter(CASES)) else ""
        print(
            f"{case}: {held}doubted {100 * found.doubted:.0f} %, not told {100 * found.refused:.0f} % of {found.sets}"
        )


if __name__ == "__main__":
    main()
