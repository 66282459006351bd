"""Castings of 36 to 60 mm told from L*a*b* chips of 3 and 12 mm: errors, what was said of them, coverage, thickness.

The sets of `tests.accuracy.truth_rows` (a ladder of three doses and three pairs, 2 % dose, 0.05 mm, reading 0.3). The truth
is made at 1 nm from real dyed films that no constant was set by, from real glasses, and from random dyes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.accuracy.naive import three_channel_lab
from tests.accuracy.scoring import COVARIANCE_FLOOR
from tests.accuracy.truth_rows import ERRORS, castings
from tests.proof.kept import rounded
from tests.simulation import REPORTING_SEEDS, make_set, to_chipset
from tintmix.optics.difference import delta_e00
from tintmix.pigments.fit import fit

FAMILIES = {"dyed films": "new film", "glasses": "glass", "simulated dyes": "dye"}
NOMINAL = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99)
THICKNESS_MM = (3.0, 6.0, 12.0, 18.0, 24.0, 36.0, 48.0, 60.0)
DARKEST = 0.02
"""Light through: CIEDE2000 hardly sees what is darker."""
Array = NDArray[np.float64]


def foretold(sets: int) -> dict[str, Any]:
    """For each family the points (band told, error found), the share inside each nominal band, and errors by thickness."""
    return {"sets": sets, "castings": 20, "nominal": list(NOMINAL), "thickness_mm": list(THICKNESS_MM),
            "families": {name: _family(family, sets) for name, family in FAMILIES.items()}}  # fmt: skip


def _family(family: str, sets: int) -> dict[str, Any]:
    points: list[Array] = []
    inside: list[Array] = []
    ours: list[list[Array]] = [[] for _ in THICKNESS_MM]
    naive: list[list[Array]] = [[] for _ in THICKNESS_MM]
    for seed in REPORTING_SEEDS[:sets]:
        sim = make_set(seed, "colour", pairs=3, family=family, **ERRORS)
        model = fit(to_chipset(sim))
        doses, thick = castings(sim)
        draws = model.lab_draws(doses, thick)
        mean = draws.mean(axis=0)
        errors, away = delta_e00(sim.truth_lab(doses, thick), mean), delta_e00(draws, mean)
        bands = np.quantile(away, NOMINAL, axis=0) + COVARIANCE_FLOOR
        points.append(np.column_stack([bands[NOMINAL.index(0.95)], errors]))
        inside.append((errors <= bands).mean(axis=1))
        for at, mm in enumerate(THICKNESS_MM):
            same = np.full(len(doses), mm)
            seen = sim.truth_luminous(doses, same) >= DARKEST
            truth = sim.truth_lab(doses[seen], same[seen])
            told = model.lab_draws(doses[seen], same[seen]).mean(axis=0)
            ours[at].append(delta_e00(truth, told))
            naive[at].append(delta_e00(truth, three_channel_lab(sim, doses[seen], same[seen])))
    every = np.concatenate(points)
    share = np.array(inside)
    medians = [float(np.median(one[:, 1])) for one in points]
    highs = [float(np.quantile(one[:, 1], 0.95)) for one in points]
    return {
        "median": rounded(np.median(medians)),
        "p95": rounded(np.median(highs)),
        "worst_set_p95": rounded(max(highs)),
        "band": rounded(np.median([np.median(one[:, 0]) for one in points])),
        "covers": rounded(share.mean(axis=0).tolist(), 4),
        "standard_error": rounded((share.std(axis=0) / np.sqrt(len(share))).tolist(), 4),
        "ours": [_of_places(one) for one in ours],
        "three_channels": [_of_places(one) for one in naive],
        "told_and_found": rounded(every.tolist(), 2),
    }


def _of_places(by_set: list[Array]) -> list[float]:
    """Median and 95th percentile over sets of the per-set ones."""
    some = [one for one in by_set if one.size]
    return list(
        rounded([np.median([np.median(one) for one in some]), np.median([np.quantile(one, 0.95) for one in some])])
    )
