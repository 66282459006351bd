"""Draws of what is believed moved to where they explain a reading: randomised maximum likelihood, as `belief` states it."""

from __future__ import annotations

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.forward import Forward

_STEPS = 6
"""Gauss-Newton steps from the prior, of which each takes the whole problem anew about where the last one ended. With 12, 24
simulated pots end no nearer (`python -m tests.accuracy.constants adjusts`)."""
_LONGEST = 8.0
"""Standard deviations of the prior: no step goes further in one unknown, where the exponentials would run away."""


def errors_of_reading(forward: Forward, count: int) -> Array:
    """The reading's own error in each draw (count, values), in standard deviations; none in the last."""
    values = sum(reading.observed.size for reading in forward.observations.readings)
    error = np.random.default_rng(20240612).standard_normal((count, values))
    error -= error.mean(axis=0)
    error[-1] = 0.0
    return error


def moved(
    forward: Forward, start: Array, begin: Array, covariance: Array, error: Array
) -> tuple[Array, Array, float, float]:
    """Every draw where it explains the reading with an error of its own (Gauss-Newton in the reading's few numbers, from begin).

    And of the last: the first chip's reading as it was predicted, chi-square a value, and the logarithm of the evidence,
    −½ (χ² + ln |I + J Σ Jᵀ|), as if all were linear about where it ended.
    """
    residual, slope = forward.residuals(begin)
    values = residual.shape[1]
    first = forward.observations.readings[0]
    expected = np.asarray(first.observed[0] + first.spread[0] * residual[-1][: first.observed.shape[1]])
    longest = _LONGEST * np.maximum(np.sqrt(np.diag(covariance)), 1.0)
    z = begin
    identity = np.eye(values)
    square = log_det = 0.0
    for _ in range(_STEPS):
        pull = slope @ covariance
        inner = pull @ slope.transpose(0, 2, 1) + identity
        gap = residual + error - np.einsum("brd,bd->br", slope, z - start)
        dual = np.linalg.solve(inner, gap[..., None])[..., 0]
        square, log_det = float(gap[-1] @ dual[-1]), float(np.linalg.slogdet(inner[-1])[1])
        z = start - np.clip(np.einsum("brd,br->bd", pull, dual), -longest, longest)
        residual, slope = forward.residuals(z)
    return z, expected, square / values, -0.5 * (square + log_det)
