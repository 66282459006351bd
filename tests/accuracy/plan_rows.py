"""What a plan buys: eight planned chips against the ladder of readings.md, through the whole fit, on sets nobody tuned on.

`python -m tests.accuracy.plan_rows [SETS]` prints the table; `rows()` gives it.
The ladder: two doses of each pigment at 6 mm and two
blanks; its doses are those of the ladder that did best of several when the plan was made (2 and 12 times the part's), so
that the plan is not flattered. L*a*b* noise 0.3, 2 % dose error a cup, 0.05 mm. Wanted mixtures: one to three pigments at
0.2 to 2 times the casting's dose, at least 3 % of the light through 60 mm. The planner is told names, the part's dose and the
sections, nothing of the pigments.

PART_PHR is the dose meant for the part: 0.005 phr of each of three lets about a third of the light through 60 mm, in the
middle set. `off` multiplies the dose that the planner is told: a maker who is wrong about the strength.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests import simulation
from tests.reference import absorbers
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, to_chipset
from tintmix.optics.difference import delta_e00
from tintmix.pigments.design.belief import nothing_known
from tintmix.pigments.design.cups import plan
from tintmix.pigments.design.wish import Wish
from tintmix.pigments.fit import fit

PART_PHR = 0.005
SECTIONS_MM = (8.0, 60.0)
NAMES = ("p1", "p2", "p3")
QUESTIONS = 40
Design = Sequence[tuple[Array, float]]
"""Doses (P,) in phr and a thickness in mm: one chip, one cup, each."""


@dataclass(frozen=True, slots=True)
class Row:
    """Ratios of median ΔE00, ladder over plan: over both sections, and at the thickest. least_*: what must be reached."""

    name: str
    both: float
    thickest: float
    least_both: float
    least_thickest: float
    ladder: float
    planned: float
    sets: int

    @property
    def met(self) -> bool:
        """Whether both ratios are reached."""
        return self.both >= self.least_both and self.thickest >= self.least_thickest


def ladder(low: float = 2.0, high: float = 12.0, thickness_mm: float = 6.0) -> Design:
    """Two doses of each pigment, in parts of the casting's, and two untinted, all of one thickness."""
    unit = PART_PHR * np.eye(len(NAMES))
    cups = [(times * unit[p], thickness_mm) for p in range(len(NAMES)) for times in (low, high)]
    return [*cups, (np.zeros(len(NAMES)), thickness_mm), (np.zeros(len(NAMES)), thickness_mm)]


def rule(thick_mm: float = 25.0, middle_mm: float = 12.0) -> Design:
    """The simple rule of readings.md: of each pigment 2× thick and 12× in the middle, one of all three 3× thick, one untinted."""
    unit = PART_PHR * np.eye(len(NAMES))
    cups = [(2 * unit[p], thick_mm) for p in range(3)] + [(12 * unit[p], middle_mm) for p in range(3)]
    return [*cups, (3 * unit.sum(axis=0), thick_mm), (np.zeros(3), thick_mm)]


def planned(cast_mm: tuple[float, ...], off: float = 1.0) -> Design:
    """Eight cups of one chip, from a planner that knows nothing of the pigments."""
    part = np.full(len(NAMES), PART_PHR * off)
    found = plan(
        nothing_known(NAMES, part, max(SECTIONS_MM)), Wish(part, SECTIONS_MM, cast_mm, cups=8, chips_per_cup=1)
    )
    return [(np.array(cup.doses_phr), cup.thicknesses_mm[0]) for cup in found.cups]


def pour(
    seed: int, design: Design, noise: float = 0.3, dose_error: float = 0.02, thickness_error: float = 0.05
) -> SimSet:
    """The design poured with the set's own pigments and resin, read as L*a*b*."""
    truth_rng, rng = np.random.default_rng([seed, 1]), np.random.default_rng([seed, 6])
    absorptivity, families = absorbers.draw(truth_rng, len(NAMES))
    base = absorbers.random_resin(truth_rng)
    doses = np.array([cup for cup, _ in design])
    thickness = np.array([mm for _, mm in design])
    names = tuple(f"c{c + 1}" for c in range(len(design)))
    sim = SimSet(
        seed=seed, kind="colour", pigments=NAMES, families=families, absorptivity=absorptivity, base=base,
        names=names, cups=names,
        doses_phr=doses, thickness_mm=thickness,
        true_doses=doses * np.exp(rng.normal(0, dose_error, len(design)))[:, None],
        true_thickness=thickness + rng.normal(0, thickness_error, len(design)),
        readings=np.empty((0, 0)), noise=0.0, declared_noise=0.0, dose_error=dose_error, thickness_error=thickness_error,
    )  # fmt: skip
    return simulation._read(simulation._instrument(sim, "colour", "D65", 10, None, None, None), noise, rng)


def wanted(sim: SimSet) -> Array:
    """Mixtures (QUESTIONS, P) that a maker might want."""
    rng = np.random.default_rng([sim.seed, 99])
    kept: list[Array] = []
    while len(kept) < QUESTIONS:
        doses = PART_PHR * np.exp(rng.uniform(np.log(0.2), np.log(2.0), (400, len(NAMES))))
        order = rng.random(doses.shape).argsort(axis=1)
        doses = np.where(order < rng.integers(1, len(NAMES) + 1, 400)[:, None], doses, 0.0)
        kept += list(doses[sim.truth_luminous(doses, np.full(400, max(SECTIONS_MM))) >= 0.03])
    return np.array(kept[:QUESTIONS])


def errors(seed: int, design: Design) -> Array:
    """ΔE00 (sections, QUESTIONS) of the fitted model."""
    sim = pour(seed, design)
    model = fit(to_chipset(sim))
    doses = wanted(sim)
    found = []
    for mm in SECTIONS_MM:
        thickness = np.full(len(doses), mm)
        found.append(delta_e00(sim.truth_lab(doses, thickness), model.lab_draws(doses, thickness).mean(axis=0)))
    return np.array(found)


def medians(design: Design, seeds: Sequence[int]) -> tuple[float, float]:
    """Median over sets of the per-set median ΔE00: over both sections, and at the thickest."""
    found = np.array([errors(seed, design) for seed in seeds])
    both = float(np.median(np.median(found.reshape(len(found), -1), axis=1)))
    return both, float(np.median(np.median(found[:, -1], axis=1)))


def rows(seeds: Sequence[int] = REPORTING_SEEDS[:60]) -> list[Row]:
    """The rows of the plan, each against the same ladder on the same sets."""
    against = medians(ladder(), seeds)
    asked = [
        ("8 chips, castable to 25 mm", planned((3.0, 6.0, 12.0, 25.0)), 1.5, 1.8),
        ("8 chips, castable to 12 mm", planned((3.0, 6.0, 12.0)), 1.15, 1.15),
        ("25 mm, strength guessed 2.5 times too low", planned((3.0, 6.0, 12.0, 25.0), 2.5), 1.0, 1.0),
        ("25 mm, strength guessed 2.5 times too high", planned((3.0, 6.0, 12.0, 25.0), 0.4), 1.0, 1.0),
        ("the simple rule, 25 and 12 mm", rule(), 1.0, 1.0),
    ]
    out = []
    for name, design, least_both, least_thickest in asked:
        both, thickest = medians(design, seeds)
        out.append(
            Row(
                name, against[0] / both, against[1] / thickest, least_both, least_thickest, against[0], both, len(seeds)
            )
        )
    return out


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print("ladder / plan, median ΔE00         both  needed   at 60 mm  needed   (ladder, plan: both)")
    for row in rows(REPORTING_SEEDS[:count]):
        print(
            f"{row.name:44s} {row.both:5.2f}  {row.least_both:5.2f}   {row.thickest:5.2f}  {row.least_thickest:5.2f}   "
            f"({row.ladder:.3f}, {row.planned:.3f}; {row.sets} sets){'' if row.met else '   NOT REACHED'}"
        )


if __name__ == "__main__":
    main()
