"""Levenberg-Marquardt for many candidates at once, with tails that let one bad chip be named and not obeyed.

Minimises f(z) = Σ_chips (ν + m) log(1 + χ²/ν) + prior, twice the negative log posterior, by reweighted least squares:
a chip of m numbers whose squared misfit is χ² counts with weight (ν + m)/(ν + χ²). Lange, Little, Taylor, *J. Am.
Stat. Assoc.* 84, 881 (1989) for the multivariate t; Nocedal & Wright, *Numerical Optimization* ch. 10 for the step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.forward import Forward
from tintmix.pigments.observations import Index

NU = 4.0
"""Degrees of freedom of the tails: lower trusts a bad chip less and costs more on clean data."""

_DAMPING, _EASE, _STIFFEN, _MOST_DAMPING = 0.3, 0.2, 8.0, 1e7


@dataclass(frozen=True, slots=True)
class Fit:
    """Where B candidates came to rest.

    z: (B, D). objective: (B,), f at z. evidence: (B,), log evidence by Laplace, up to a constant shared by all
    candidates of the same data. precision: (B, D, D), of the Gaussian that stands for the posterior there. chi2,
    weight: (B, N) by row.
    """

    z: Array
    objective: Array
    evidence: Array
    precision: Array
    chi2: Array
    weight: Array
    residual: Array
    jacobian: Array


@dataclass(frozen=True, slots=True)
class _State:
    z: Array
    objective: Array
    gradient: Array
    jacobian: Array  # weighted by √w
    prior: Array
    residual: Array
    chi2: Array
    weight: Array

    def replace(self, where: Index, other: _State, take: Index) -> None:
        for name in self.__slots__:
            getattr(self, name)[where] = getattr(other, name)[take]


def descend(forward: Forward, z: Array, steps: int = 20, robust: bool = True, tolerance: float = 1e-3) -> Fit:
    """The nearest mode of each candidate z (B, D). `tolerance`: the fall in f below which a candidate rests."""
    state = _evaluate(forward, z.copy(), robust)
    damping = np.full(len(z), _DAMPING)
    active = np.arange(len(z))
    for _ in range(steps):
        here = forward if len(active) == len(z) else forward.take(active)
        step = _step(state.jacobian[active], state.prior[active], state.gradient[active], damping[active])
        trial = _evaluate(here, state.z[active] + step, robust)
        fall = state.objective[active] - trial.objective
        better = fall > 0
        damping[active] = np.where(better, damping[active] * _EASE, damping[active] * _STIFFEN)
        state.replace(active[better], trial, np.flatnonzero(better))
        rests = (better & (fall < tolerance)) | (damping[active] > _MOST_DAMPING)
        active = active[~rests]
        if not len(active):
            break
    weighted = state.jacobian
    precision = np.matmul(weighted.swapaxes(1, 2), weighted)
    precision[:, np.arange(z.shape[1]), np.arange(z.shape[1])] += state.prior
    evidence = -0.5 * state.objective - 0.5 * np.linalg.slogdet(precision)[1]
    return Fit(state.z, state.objective, evidence, precision, state.chi2, state.weight, state.residual, weighted)


def _evaluate(forward: Forward, z: Array, robust: bool) -> _State:
    residual, jacobian = forward.residuals(z)
    rows = forward.rows
    count = len(forward.observations.doses)
    sums = np.zeros((len(rows), count))
    sums[np.arange(len(rows)), rows] = 1.0
    chi2 = (residual * residual) @ sums
    size = sums.sum(axis=0)
    layout = forward.layout
    prior = np.ones_like(z)
    u = z[:, layout.doses]
    heavy = forward.observations.heavy
    if robust:
        core = NU + size
        weight = core / (core + chi2)
        objective = (core * np.log1p(chi2 / core)).sum(axis=1)
        prior[:, layout.doses] = np.where(heavy, (NU + 1) / (NU + 1 + u * u), 1.0)
        tails = np.where(heavy, (NU + 1) * np.log1p(u * u / (NU + 1)), u * u).sum(axis=1)
    else:
        weight = np.ones_like(chi2)
        objective = chi2.sum(axis=1)
        tails = (u * u).sum(axis=1)
    squares = (z * z).sum(axis=1) - (u * u).sum(axis=1)
    root = np.sqrt(weight)[:, rows]
    residual_weighted = residual * root
    jacobian *= root[..., None]
    gradient = np.matmul(residual_weighted[:, None, :], jacobian)[:, 0] + prior * z
    return _State(z, objective + tails + squares, gradient, jacobian, prior, residual, chi2, weight)


def _step(jacobian: Array, prior: Array, gradient: Array, damping: Array) -> Array:
    """−(JᵀJ + (1 + λ) P)⁻¹ g, through whichever of rows and unknowns is fewer."""
    ridge = prior * (1 + damping[:, None])
    rows, unknowns = jacobian.shape[1:]
    if unknowns <= rows:
        normal = np.matmul(jacobian.swapaxes(1, 2), jacobian)
        normal[:, np.arange(unknowns), np.arange(unknowns)] += ridge
        return np.asarray(-np.linalg.solve(normal, gradient[..., None])[..., 0], dtype=np.float64)
    scaled = jacobian / ridge[:, None, :]
    gram = np.matmul(scaled, jacobian.swapaxes(1, 2))
    gram[:, np.arange(rows), np.arange(rows)] += 1.0
    first = gradient / ridge
    inner = np.linalg.solve(gram, np.matmul(jacobian, first[..., None]))
    return np.asarray(np.matmul(scaled.swapaxes(1, 2), inner)[..., 0] - first, dtype=np.float64)
