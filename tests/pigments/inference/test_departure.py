"""A small bend by one Newton step beside the modes as they are, against a fit with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.pigments.inference.departure import RELATIVE_SPREAD, _asked, _with_one_more
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.posterior import posterior


def test_one_newton_step_finds_a_small_bend_and_its_evidence() -> None:
    observations = gather((to_chipset(make_set(11, pigments=1, dose_error=0.02)),)).observations
    mixture = posterior(observations)
    best = np.array([int(mixture.weights.argmax())])
    forward, spread = mixture.forward.take(best), RELATIVE_SPREAD / float(observations.doses.max())
    before = laplace_modes(forward, mixture.fit.z[best], tolerance=1e-6)
    at = forward.layout.departures.stop
    more = _asked(forward, before, ((0, spread),)).of(0)
    asked = replace(forward, departures=((0, spread),))
    told = _with_one_more(before, more, at, asked)
    fitted = laplace_modes(asked, np.insert(before.z, at, 0.0, axis=1), tolerance=1e-6)
    assert told.z[0, at] == pytest.approx(fitted.z[0, at], abs=0.15)
    # Verdicts are judged to whole nats.
    gains = [fit.evidence[0] - before.evidence[0] for fit in (told, fitted)]
    assert gains[0] == pytest.approx(gains[1], abs=0.3)
    # All else moves as it does in the fit: what is left of the readings' misfit is the same.
    assert np.abs(told.residual - fitted.residual).max() < 0.3
    assert np.linalg.inv(told.precision[0])[at, at] == pytest.approx(
        np.linalg.inv(fitted.precision[0])[at, at], rel=0.3
    )
