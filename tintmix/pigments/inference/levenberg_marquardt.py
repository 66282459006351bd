"""Levenberg-Marquardt for many small problems at once: what its users share.

δ = −(JᵀJ + λ D)⁻¹ Jᵀr; λ falls where the step lowered the objective and rises where it did not, problem by problem.
Nocedal & Wright, *Numerical Optimization* (2006), ch. 10.3; Marquardt, *J. Soc. Ind. Appl. Math.* 11, 431 (1963).

Its loops differ in earnest. The fit (`laplace.laplace_modes`) and the bent draws (`draws.draw`) have a prior on every
unknown, no bounds, and often more unknowns than readings: `damped_step` goes through whichever is fewer. The
search for doses (`recipes.search.projected_levenberg_marquardt`) has two to four unknowns within bounds and no prior:
its step is projected, and solved for a thousand problems by elimination. What is the same, the damping, is here;
`recipes.sequential_quadratic` damps its programmes by it too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.spectrum import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Damping:
    """λ: what it starts at, the factors by which it eases and stiffens, and where it is held.

    least: never below, so that a long run of good steps does not take the damping out of reach. least_after: at least so
    much once a step failed. most: a problem that asks for more has nowhere to go, and rests.
    """

    first: float
    ease: float
    stiffen: float
    least: float = 0.0
    least_after: float = 0.0
    most: float = np.inf

    def start(self, problems: int) -> Array:
        """λ (B,) to begin with."""
        return np.full(problems, self.first)

    def after(self, damping: Array, better: NDArray[np.bool_]) -> Array:
        """λ (B,) after steps of which these lowered the objective.

        >>> Damping(first=0.3, ease=0.2, stiffen=8.0).after(np.array([1.0, 1.0]), np.array([True, False])).tolist()
        [0.2, 8.0]
        """
        eased = np.maximum(damping * self.ease, self.least)
        return np.where(better, eased, np.maximum(damping * self.stiffen, self.least_after))


def damped_step(jacobian: Array, prior: Array, gradient: Array, damping: Array) -> Array:
    """−(JᵀJ + (1 + λ) P)⁻¹ g (B, D), through whichever of rows and unknowns is fewer (Woodbury's identity).

    jacobian: (B, R, D); prior: (B, D), the diagonal of P, above zero; gradient: (B, D); damping: (B,).
    """
    ridge = prior * (1 + damping[:, None])
    rows, unknowns = jacobian.shape[1:]
    if unknowns <= rows:
        normal = np.matmul(jacobian.swapaxes(1, 2), jacobian)
        normal[:, np.arange(unknowns), np.arange(unknowns)] += ridge
        return np.asarray(-np.linalg.solve(normal, gradient[..., None])[..., 0], dtype=np.float64)
    # Of one array with itself the product is symmetric, and half the work.
    root = np.sqrt(ridge)
    scaled = jacobian / root[:, None, :]
    gram = np.matmul(scaled, scaled.swapaxes(1, 2))
    gram[:, np.arange(rows), np.arange(rows)] += 1.0
    first = (gradient / root)[..., None]
    inner = np.linalg.solve(gram, np.matmul(scaled, first))
    step = np.matmul(scaled.swapaxes(1, 2), inner) - first
    return np.asarray(step[..., 0] / root, dtype=np.float64)
