"""The search for a design: one cup after another, then each exchanged for whatever serves better, until nothing does.

In every world the doubt that is left after some cups is Gaussian, with precision I + Σ JᵀR⁻¹J (Rasmussen & Williams, eq. 2.8 in
weight space); a design is judged by the root-mean-square doubt about the colours that matter, averaged over the worlds, so
that a design which fails in a few of them is not excused by the others. Exchange: Fedorov, *Theory of Optimal Experiments*
(1972), ch. 3; greedy choice alone is much weaker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.spectrum import Array

Indices = NDArray[np.intp]

_POWER = 1.0
"""Of the root-mean-square doubt in the mean over worlds: 0 would be the geometric mean. With 0.5 and 2 the cups serve as well."""
_SWEEPS = 4
"""The exchange ends when a sweep moves nothing: with 8 all cups stay as they are (see `belief` for how that was measured)."""
_KEPT = 240
"""Candidates that the rest of the search looks at. With 480 all cups stay as they are; with 120 they serve 1 % worse."""
_WORTH_A_SWAP = 1e-3
"""In the log of the doubt: a part in a thousand, far below what a forecast is good to."""
_TINY = 1e-12
"""Keeps the logarithm of a doubt that rounding made negative finite."""


@dataclass(frozen=True, slots=True)
class Pool:
    """C cups that could be poured. doses_phr: (C, P). thicknesses_mm: (C, k). told: (S, C, M, D), what their M readings tell:
    slopes by the unknowns, divided by the readings' joint spread."""

    doses_phr: Array
    thicknesses_mm: Array
    told: NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Aim:
    """The colours that matter: rows (S, G, Q, D), Q numbers in each of G groups (the sections), in units of ΔE00, scaled so
    that the sum of their variances is the mean square doubt."""

    rows: NDArray[np.floating[Any]]


def exchange(pool: Pool, aim: Aim, slots: Sequence[Indices], start: Sequence[int] = ()) -> list[int]:
    """Cups of the pool, one from each slot (indices that it may hold), that leave the least doubt. start: cups to begin from."""
    slots, chosen = list(slots), list(start)
    for place in range(len(chosen), len(slots)):
        left = losses(pool, aim, chosen, slots[place])
        chosen.append(int(slots[place][left.argmin()]))
        if len(left) > _KEPT:
            # What helps least now will hardly help most later: the rest of the search need not look at it.
            wide, few = slots[place], np.sort(slots[place][np.argsort(left, kind="stable")[:_KEPT]])
            slots = [few if slot is wide else slot for slot in slots]
    now = np.inf
    for _ in range(_SWEEPS):
        moved = False
        for place, slot in enumerate(slots):
            if len(slot) == 1:
                continue
            rest = chosen[:place] + chosen[place + 1 :]
            left = losses(pool, aim, rest, slot)
            best = int(left.argmin())
            if left[best] < now - _WORTH_A_SWAP:
                moved = moved or int(slot[best]) != chosen[place]
                chosen[place], now = int(slot[best]), float(left[best])
        if not moved:
            break
    return chosen


def losses(pool: Pool, aim: Aim, chosen: Sequence[int], candidates: Indices) -> Array:
    """The doubt (log, mean over the sections) that would be left after the chosen cups and each candidate (C,)."""
    rows = aim.rows
    worlds, groups, _, unknowns = rows.shape
    root = _root(pool, chosen, worlds, unknowns)
    # Variances of what matters, and its covariance with what each candidate would read.
    aimed = root @ rows.reshape(worlds, -1, unknowns).swapaxes(1, 2)
    told = pool.told if len(candidates) == pool.told.shape[1] else pool.told[:, candidates]
    count, readings = told.shape[1:3]
    seen = root @ told.reshape(worlds, -1, unknowns).swapaxes(1, 2)
    shared = (aimed.swapaxes(1, 2) @ seen).reshape(worlds, groups, -1, count, readings).transpose(0, 1, 3, 4, 2)
    own = seen.reshape(worlds, unknowns, count, readings).transpose(0, 2, 3, 1)
    known = np.linalg.inv(own @ own.swapaxes(-1, -2) + np.eye(readings))
    gain = ((shared @ shared.swapaxes(-1, -2)) * known[:, None]).sum(axis=(-1, -2))
    before = (aimed**2).sum(axis=1).reshape(worlds, groups, -1).sum(axis=-1)
    return _mean(before[..., None] - gain)


def doubt(pool: Pool, aim: Aim, chosen: Sequence[int]) -> Array:
    """Variances (S, G, Q) of what matters after the chosen cups."""
    worlds, groups, _, unknowns = aim.rows.shape
    aimed = _root(pool, chosen, worlds, unknowns) @ aim.rows.reshape(worlds, -1, unknowns).swapaxes(1, 2)
    return np.asarray((aimed**2).sum(axis=1).reshape(worlds, groups, -1), dtype=np.float64)


def _root(pool: Pool, chosen: Sequence[int], worlds: int, unknowns: int) -> NDArray[np.floating[Any]]:
    """L⁻¹ (S, D, D) of the precision L Lᵀ after the chosen cups."""
    precision = np.zeros((worlds, unknowns, unknowns)) + np.eye(unknowns)
    if not len(chosen):
        return precision.astype(pool.told.dtype)
    told = pool.told[:, list(chosen)].reshape(worlds, -1, unknowns).astype(np.float64)
    precision += told.swapaxes(1, 2) @ told
    return np.linalg.inv(np.linalg.cholesky(precision)).astype(pool.told.dtype)


def _mean(variance: NDArray[np.floating[Any]]) -> Array:
    """Worlds by their power mean, groups by their logs: (S, G, C) → (C,)."""
    left = np.maximum(variance, _TINY)
    return np.asarray(np.log((left ** (_POWER / 2)).mean(axis=0)).mean(axis=0) / _POWER, dtype=np.float64)
