"""The rows "solve" and "its growth" of measures.md, one core: run with OPENBLAS_NUM_THREADS=1.

    OPENBLAS_NUM_THREADS=1 python -m pytest -n 0 tests/benchmarks/test_solve_speed.py -s

Processor time, not wall time, so that another program on the machine does not count. The general solver would take a
quarter of a minute over all subsets; it is timed on every twelfth subset, in order of size, and its time is scaled up.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import least_squares

from tests.recipes.seen import prism_paths, seen_place
from tests.recipes.shelf import known_problem
from tintmix.optics.difference import residuals
from tintmix.optics.paths import LightPaths
from tintmix.optics.section import seen_section
from tintmix.pigments.model import TintModel
from tintmix.recipes.solve import Outcome, solve
from tintmix.recipes.target import Limits, Target, TargetSection

DRAWS = 300
STARTS = 4
EVERY = 12


def seconds(work: Callable[[], object], times: int) -> float:
    """Least processor time of several runs."""
    taken = []
    for _ in range(times):
        started = time.process_time()
        work()
        taken.append(time.process_time() - started)
    return min(taken)


def by_general_solver(model: TintModel, target: Target) -> tuple[float, int]:
    """Processor seconds of scipy over all subsets, scaled up from every twelfth, and how many subsets there are."""
    thickness = np.array([s.thickness_mm for s in target.sections])
    goal = np.array([s.lab for s in target.sections])
    strength = model.absorptivity.mean(axis=1) * thickness.max()
    subsets = [list(s) for m in (1, 2, 3) for s in combinations(range(len(model.pigments)), m)]
    sample = subsets[::EVERY]
    rng = np.random.default_rng(1)

    def solve_sample() -> None:
        for columns in sample:

            def away(x: np.ndarray, columns: list[int] = columns) -> np.ndarray:
                doses = np.zeros((len(thickness), len(strength)))
                doses[:, columns] = x / strength[columns]
                return residuals(goal, model.predict_lab(doses, thickness)).ravel()

            for _ in range(STARTS):
                start = rng.dirichlet(np.ones(len(columns))) * rng.uniform(0.2, 1.0)
                least_squares(away, start, bounds=(0, 50))

    return seconds(solve_sample, 1) * len(subsets) / len(sample), len(subsets)


REACHABLE = known_problem(21, pigments=12, draws=DRAWS, limits=Limits(pigments=3, luminous_transmittance=0.01))
CONTRARY = Target(
    (TargetSection("flange", 8.0, lab=(50.0, 40.0, 0.0)), TargetSection("point", 60.0, lab=(60.0, -20.0, 0.0))),
    limits=Limits(pigments=3),
)


@pytest.mark.parametrize("target", [REACHABLE.target, CONTRARY], ids=["reached", "short"])
def test_forty_times_a_general_solver(target):
    model = REACHABLE.model
    outcome = solve(model, target).outcome
    mine = seconds(lambda: solve(model, target), 5)
    reference, subsets = by_general_solver(model, target)
    times = f"ours {mine:.3f} s, scipy {reference:.1f} s: {reference / mine:.0f}×"
    print(f"\n{outcome.value}: {subsets} subsets × {STARTS} starts, {times}")
    assert (outcome is Outcome.SHORT) == (target is CONTRARY)
    assert reference >= 40 * mine


def test_growth_to_forty_pigments():
    """10 700 subsets: time no faster than their number; progress is told."""
    few, many = (
        REACHABLE,
        known_problem(21, pigments=40, draws=DRAWS, limits=Limits(pigments=3, luminous_transmittance=0.01)),
    )
    solve(few.model, few.target)
    small = seconds(lambda: solve(few.model, few.target), 3)
    told: list[float] = []
    large = seconds(lambda: solve(many.model, many.target, progress=told.append), 1)
    growth = f"{large / small:.1f}× the time for {10700 / 298:.1f}× the subsets"
    print(f"\n12 pigments {small:.3f} s, 40 pigments {large:.2f} s: {growth}")
    assert large <= small * 10700 / 298
    assert len(told) > 20
    assert told == sorted(told)
    assert told[-1] == 1.0


MEMORY = """
from pathlib import Path
from tests.recipes.shelf import known_problem
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Limits
problem = known_problem(21, pigments=40, draws=300)
solve(problem.model, problem.target)
# Not ru_maxrss: that keeps the peak of the process which started this one.
peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
print(int(peak.split()[1]) / 1024)
"""


def test_memory_of_forty_pigments():
    """A process of its own, imports and all: at most 500 MB."""
    ran = subprocess.run([sys.executable, "-c", MEMORY], capture_output=True, text=True, check=True)
    print(f"\n40 pigments: {float(ran.stdout):.0f} MB")
    assert float(ran.stdout) <= 500


def binned(paths: LightPaths) -> LightPaths:
    """As a shape's file has them: 48 lengths, zero and then geometric, each path split between its two neighbours."""
    bins = np.concatenate([[0.0], np.geomspace(0.3, 400.0, 47)])
    kept = np.zeros(len(bins))
    # A peak that is as wide as that of a place of 2 % of the pixels.
    for length, weight in zip(paths.lengths_mm, paths.weights[0], strict=True):
        for near in np.linspace(0.9, 1.1, 21) * length:
            below = int(np.searchsorted(bins, near, side="right")) - 1
            part = (near - bins[below]) / (bins[below + 1] - bins[below])
            kept[below] += weight / 21 * (1 - part)
            kept[below + 1] += weight / 21 * part
    nothing = (0.0,) * len(bins)
    return LightPaths(lengths_mm=tuple(bins), weights=(tuple(kept), nothing, nothing))


@pytest.mark.parametrize("floor", [None, 0.01])
def test_two_seen_places_take_at_most_twice_two_slabs(floor):
    """Row "solve with two seen places": both as shapes have them, eight problems, the ratio of the sums."""
    slabs_took, seen_took = 0.0, 0.0
    for seed in range(8):
        problem = known_problem(
            20 + seed, pigments=12, draws=DRAWS, limits=Limits(pigments=3, luminous_transmittance=floor)
        )
        places = [seen_place(binned(prism_paths(one.thickness_mm)), one.name) for one in problem.target.sections]
        sections = [seen_section(one.place, one) for one in places]
        colours = problem.model.look_many(problem.doses[None], sections).lab[0]
        target = replace(
            problem.target,
            sections=tuple(
                TargetSection(one.place, lab=tuple(colour.tolist()), seen=one)
                for one, colour in zip(places, colours, strict=True)
            ),
        )
        slabs_took += seconds(partial(solve, problem.model, problem.target), 3)
        seen_took += seconds(partial(solve, problem.model, target), 3)
    print(f"\nslabs {slabs_took / 8:.3f} s, seen {seen_took / 8:.3f} s: {seen_took / slabs_took:.2f}×")
    assert seen_took <= 2.0 * slabs_took
