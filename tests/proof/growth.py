"""How time and memory grow with chips and pigments: each case in a process of its own, one thread.

python -m tests.proof.growth fit colour 100 3        one case: processor seconds and peak memory
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from tests.recipes.shelf import known_problem
from tests.simulation import make_set, to_chipset
from tintmix.pigments.fit import fit
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Limits

CHIPS = (20, 50, 100, 200, 500)
PIGMENTS_OF_CHIPS = 5
FITTED_PIGMENTS, CHIPS_OF_PIGMENTS = (2, 3, 5, 8, 12), 120
SOLVED_PIGMENTS = (6, 12, 20, 30, 40)
SEED = 11


def growth(sets: int) -> dict[str, Any]:
    """Fits by chips and by pigments, searches by pigments. sets: below five only the smaller half of each is run."""
    some = slice(None) if sets >= 5 else slice(3)
    return {
        "fit_by_chips": [
            {"kind": kind, **_case("fit", kind, chips, PIGMENTS_OF_CHIPS)}
            for kind in ("colour", "spectrum")
            for chips in CHIPS[some]
        ],
        "fit_by_pigments": [
            {"kind": "colour", **_case("fit", "colour", CHIPS_OF_PIGMENTS, count)} for count in FITTED_PIGMENTS[some]
        ],
        "solve_by_pigments": [_case("solve", "colour", 0, count) for count in SOLVED_PIGMENTS[some]],
    }


def _case(*which: object) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.proof.growth", *map(str, which)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    return dict(json.loads(ran.stdout))


def _fit(kind: str, chips: int, pigments: int) -> dict[str, Any]:
    """About so many chips: a ladder of each pigment and pairs of neighbours, each cup at 3 and 12 mm."""
    pairs = min(pigments, 3)
    steps = max(2, round((chips / 2 - 1 - pairs) / pigments))
    doses = tuple(np.geomspace(0.02, 0.2, steps))
    sim = make_set(SEED, kind, pigments=pigments, pairs=pairs, doses=doses, dose_error=0.02, thickness_error=0.05)
    chipset = to_chipset(sim)
    started = time.process_time()
    fit(chipset)
    return {"chips": len(chipset.chips), "pigments": pigments, "seconds": round(time.process_time() - started, 2)}


def _solve(pigments: int) -> dict[str, Any]:
    """At most three of so many pigments, at 8 and 60 mm, with a floor of light."""
    problem = known_problem(21, pigments=pigments, draws=300, limits=Limits(pigments=3, luminous_transmittance=0.01))
    started = time.process_time()
    solve(problem.model, problem.target)
    subsets = pigments + pigments * (pigments - 1) // 2 + pigments * (pigments - 1) * (pigments - 2) // 6
    return {"pigments": pigments, "subsets": subsets, "seconds": round(time.process_time() - started, 2)}


def _peak_mb() -> float:
    # Not ru_maxrss: that keeps the peak of the process which started this one.
    peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
    return round(int(peak.split()[1]) / 1000)


if __name__ == "__main__":
    what, kind, *counts = sys.argv[1:]
    found = _fit(kind, *map(int, counts)) if what == "fit" else _solve(int(counts[1]))
    print(json.dumps({**found, "peak_mb": _peak_mb()}))
