"""How far predictions are from the truth, and how often the truth lies within the band."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tests.simulation import SimSet
from tintmix.optics.difference import delta_e00
from tintmix.pigments.model import TintModel

Array = NDArray[np.float64]
CHI2_3_95 = 7.814728
"""95th percentile of chi-square with 3 degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4: 7.815)."""
COVARIANCE_FLOOR = 0.01
"""L*a*b*, added to a covariance before it is inverted; no more, or it would hide poor coverage."""


@dataclass(frozen=True, slots=True)
class Score:
    """Of one set: ΔE00 of each question, which truths lay in the 95 % ellipsoid and within `delta_e00_95`, and the latter."""

    errors: Array
    in_ellipsoid: Array
    in_band: Array
    bands: Array = field(default_factory=lambda: np.full(1, np.nan))


def score(model: TintModel, sim: SimSet, questions: int, beyond: float) -> Score:
    """Ask the model about random mixtures inside the chips' thickness (beyond = 1) or past it."""
    doses, thickness = sim.questions(questions, beyond)
    return of_draws(model.lab_draws(doses, thickness), sim.truth_lab(doses, thickness))


def of_draws(draws: Array, truth: Array) -> Score:
    """Of L*a*b* draws (D, N, 3) beside the truth (N, 3)."""
    mean = draws.mean(axis=0)
    off = draws - mean
    covariance = np.einsum("dni,dnj->nij", off, off) / (len(draws) - 1) + COVARIANCE_FLOOR**2 * np.eye(3)
    miss = truth - mean
    distance = np.einsum("ni,ni->n", miss, np.linalg.solve(covariance, miss[..., None])[..., 0])
    errors = delta_e00(truth, mean)
    band = np.quantile(delta_e00(draws, mean), 0.95, axis=0)
    return Score(errors, distance <= CHI2_3_95, errors <= band + COVARIANCE_FLOOR, band)


@dataclass(frozen=True, slots=True)
class Table:
    """Over sets: median of per-set medians, median of per-set 95th percentiles, the worst set's 95th, coverage, sets
    past 3; the standard error of the ellipsoid's coverage, and the median of per-set median bands.
    """

    median: float
    p95: float
    worst: float
    ellipsoid: float
    band: float
    past_3: float
    sets: int
    error: float = np.nan
    width: float = np.nan


def table(scores: list[Score]) -> Table:
    """What measures.md asks of a row."""
    medians = np.array([np.median(s.errors) for s in scores])
    highs = np.array([np.quantile(s.errors, 0.95) for s in scores])
    return Table(
        float(np.median(medians)),
        float(np.median(highs)),
        float(highs.max()),
        float(np.mean([s.in_ellipsoid.mean() for s in scores])),
        float(np.mean([s.in_band.mean() for s in scores])),
        float(np.mean(highs > 3)),
        len(scores),
        float(np.std([s.in_ellipsoid.mean() for s in scores]) / np.sqrt(len(scores))),
        float(np.median([np.median(s.bands) for s in scores])),
    )
