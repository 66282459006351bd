"""Fit and predict, as ratios to a stated reference in the same run: `python -m pytest -n 0 tests/benchmarks -s`."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares

from tests.accuracy.health_rows import sound
from tests.simulation import make_set, many_cups, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.optics.detector import eye
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.departure import averaged, judge
from tintmix.pigments.inference.draws import draw
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.laplace import NU, with_tails
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.inference.posterior import grey_levels, posterior
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, SMOOTHNESS, base_basis, pigment_basis

Fault = Callable[[ChipSet, int], ChipSet]


def _seconds(work: Callable[[], object], times: int = 5) -> float:
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return float(np.median(spent))


SETS = range(11, 17)
"""Of some the reference needs 14 evaluations of its slopes, of others 60: the median is what is judged."""


def _general(observations: Observations) -> Callable[[], object]:
    """One `least_squares` (trust region, 2-point slopes) of the same posterior, tails and all, from a grey start, all spectra as
    smooth as is likeliest; its residuals come without our slopes."""
    priors = [SpectrumPrior(np.full((1, 41), BASE_MEAN_LOG), base_basis().columns[None])]
    for level in grey_levels(observations):
        priors.append(SpectrumPrior(np.full((1, 41), level), pigment_basis(*SMOOTHNESS[3]).columns[None]))
    forward = Forward(observations, tuple(priors))
    rows, doses, heavy = forward.rows, forward.layout.doses, observations.heavy
    numbers = np.bincount(rows)

    def residuals(z: np.ndarray) -> np.ndarray:
        misfit = forward.misfits(z[None])[0]
        chi2 = np.bincount(rows, misfit**2)
        tailed = np.sqrt(with_tails(chi2, numbers)[0] / np.maximum(chi2, 1e-300))
        u, own = z[doses], z.copy()
        own[doses] = np.where(heavy, np.sign(u) * np.sqrt((NU + 1) * np.log1p(u**2 / (NU + 1))), u)
        return np.concatenate([misfit * tailed[rows], own])

    return lambda: least_squares(residuals, np.zeros(forward.layout.size), method="trf")


def test_the_whole_fit_against_one_general_solve() -> None:
    """The whole mixture posterior, with its departures and draws, takes at most a fifth of scipy's least squares from one start.

    The whole of `fit` also foretells every chip from the others, asks whether the set was read otherwise than it says, and
    what to pour next: it is told beside it.
    """
    ratios = []
    for seed in SETS:
        chips = to_chipset(make_set(seed, "colour", pairs=3, dose_error=0.02, thickness_error=0.05))

        def drawn(chips: ChipSet = chips) -> object:
            observations = gather((chips,)).observations
            mixture = posterior(observations)
            return draw(averaged(observations, mixture, judge(observations, mixture))[0])

        reference = _seconds(_general(gather((chips,)).observations), times=1)
        ratios.append([_seconds(work, 3) / reference for work in (drawn, lambda chips=chips: fit(chips))])
    whole, with_checks = np.median(ratios, axis=0)
    print(
        f"\nfit, {len(ratios)} sets: the mixture posterior {whole:.3f} of one general solve (limit 0.2), "
        f"all of fit {with_checks:.3f} ({', '.join(f'{ratio:.2f}' for _, ratio in ratios)})"
    )
    assert whole <= 1 / 5


def grown(kind: str, fault: Fault = sound) -> None:
    """Prints the seconds of the processor that fits of 100 and of 1000 chips take, and the MB that they took at most."""
    spent = []
    for cups in (50, 500):
        chips = fault(to_chipset(many_cups(11, cups, kind)), 11)
        # Of the smaller the better of two, for the first also loads what all fits need.
        times = []
        for _ in range(2 if cups == 50 else 1):
            start = time.process_time()
            fit(chips)
            times.append(time.process_time() - start)
        spent.append(min(times))
    print(json.dumps([*spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))


@pytest.mark.parametrize("kind", ["colour", "spectrum"])
@pytest.mark.parametrize("fault", ["sound", "exchanged", "shuffled"])
def test_a_fit_of_1000_chips_against_one_of_100(kind: str, fault: str) -> None:
    """Ten pigments, cups of two chips: ten times the chips take at most ten times as long, and 500 MB; also where two dose
    columns are exchanged in half the cups, or every chip has another's reading."""
    made = f"from tests.accuracy.health_rows import {fault}; from tests.benchmarks.test_fit_speed import grown"
    command = [sys.executable, "-c", f"{made}; grown({kind!r}, {fault})"]
    said = subprocess.run(command, check=True, capture_output=True, text=True, cwd=Path(__file__).parents[2])
    few, many, megabytes = json.loads(said.stdout)
    print(
        f"\n1000 chips, {kind}, {fault}: {many:.1f} s, {many / few:.1f} times 100 (limit 10); {megabytes:.0f} MB (limit 500)"
    )
    assert many <= 10 * few
    assert megabytes <= 500


def test_a_million_predictions_against_bare_numpy() -> None:
    """10⁶ (dose, thickness) pairs to L*a*b* take at most twice the exponentials and a matrix product of that shape."""
    model = fit(to_chipset(make_set(11, "colour", pairs=3)))
    rng = np.random.default_rng(0)
    doses, thickness = rng.uniform(0, 0.2, (1_000_000, 3)), rng.uniform(1, 60, 1_000_000)
    absorbance = rng.uniform(-5, 0, (1_000_000, 41))
    weights = eye("D65", 10).weights
    ours = _seconds(lambda: model.predict_lab(doses, thickness), 3)
    bare = _seconds(lambda: np.exp(absorbance) @ weights, 3)
    print(f"\npredict: {ours:.2f} s, {ours / bare:.2f} times bare numpy, {bare:.2f} s (limit 2)")
    assert ours <= 2 * bare


def test_a_prediction_against_colour_science_a_sample_at_a_time() -> None:
    """At least a thousand times faster a sample than spectrum → XYZ → Lab by colour-science, one at a time."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    model = fit(to_chipset(make_set(11, "colour", pairs=3)))
    rng = np.random.default_rng(0)
    doses, thickness = rng.uniform(0, 0.2, (200_000, 3)), rng.uniform(1, 60, 200_000)
    ours = _seconds(lambda: model.predict_lab(doses, thickness), 3) / len(doses)
    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    nm = np.arange(380.0, 781.0, 10.0)

    def theirs() -> None:
        # A new spectrum each time: the same one again would come out of the library's cache.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            spectrum = colour.SpectralDistribution(rng.uniform(0.2, 0.8, 41), nm)
            colour.XYZ_to_Lab(colour.sd_to_XYZ(spectrum, cmfs, light) / 100)

    reference = _seconds(theirs, 20)
    print(f"\npredict: {1e6 * ours:.2f} µs a sample, {reference / ours:.0f} times colour-science (limit 1000)")
    assert reference >= 1000 * ours
