"""Small convex quadratic programmes, exactly: the dual active-set method."""

from __future__ import annotations

import numpy as np

from tintmix.optics.spectrum import Array

_ROUNDS = 60
"""A bound against cycling by rounding; in exact arithmetic the method ends by itself."""


def dual_active_set(hessian: Array, gradient: Array, rows: Array, bounds: Array) -> tuple[Array, Array]:
    """x (m,) that minimises ½ xᵀHx + gᵀx where rows @ x ≤ bounds, and each row's multiplier (n,), zero where slack.

    H positive definite. Goldfarb & Idnani, *Math. Prog.* 27 (1983) 1; active sets: Nocedal & Wright,
    *Numerical Optimization*, ch. 16.5. Begin at the free minimum and take in the most broken row until none is broken.
    Where the rows leave nothing, the point at which that was found is returned, with some rows broken.

    >>> x, u = dual_active_set(np.eye(2), np.array([-2.0, -1.0]), np.array([[1.0, 1.0]]), np.array([1.0]))
    >>> x.round(12).tolist(), u.round(12).tolist()
    ([1.0, 0.0], [1.0])
    """
    inverse = np.asarray(np.linalg.inv(hessian), dtype=np.float64)
    x: Array = -inverse @ gradient
    multipliers = np.zeros(len(bounds))
    slack = rows @ x - bounds
    if len(bounds) == 0 or slack.max() <= 0:
        return x, multipliers
    toward_all = inverse @ rows.T
    size = np.abs(rows).sum(axis=1) + 1e-300
    active: list[int] = []
    for _ in range(_ROUNDS):
        broken = (rows @ x - bounds) / size
        broken[active] = -np.inf
        p = int(broken.argmax())
        if broken[p] <= 1e-13 * (1 + np.abs(x).max()):
            break
        normal, toward, entering = rows[p], toward_all[:, p], 0.0
        for _ in range(_ROUNDS):
            ratio: Array = np.zeros(0)
            direction: Array = toward
            if active:
                across = toward_all[:, active]
                ratio = np.asarray(np.linalg.solve(rows[active] @ across, rows[active] @ toward), dtype=np.float64)
                direction = toward - across @ ratio
            room = float(normal @ direction)
            free = room > 1e-13 * float(normal @ toward) and len(active) < len(x)
            full = (float(normal @ x) - bounds[p]) / room if free else np.inf
            falling = [
                (multipliers[row] / r, i) for i, (row, r) in enumerate(zip(active, ratio, strict=True)) if r > 1e-14
            ]
            partial, leaving = min(falling, default=(np.inf, -1))
            step = min(full, partial)
            if not np.isfinite(step):
                return x, multipliers
            if np.isfinite(full):
                x = x - step * direction
            multipliers[active] = np.maximum(multipliers[active] - step * ratio, 0.0)
            entering += step
            if full <= partial:
                multipliers[p] = entering
                active.append(p)
                break
            multipliers[active[leaving]] = 0.0
            del active[leaving]
    return x, multipliers
