"""Path lengths in a few bins: zero, then geometric, with those that many paths share. Each path is split between its two
neighbours so that its length stays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating]

_FINE, _COARSE, _MANY = 51, 12, 16
"""Geometric ones: where the light goes, neighbours at most 12 % apart, where T errs by less than 0.001 (x²/8 · max y²e^−y, x =
ln 1.12); and beyond, for the few paths that are caught within. And the lengths that many paths share, as flat faces make them:
where little light is left, a thousandth would be much of it."""
_WIDEST = 450.0
"""Longest by shortest of the fine ones."""
_SHORTER, _LONGER = 0.05, 1.1
"""Of the shortest and the longest of the many: pixels at a rim see shorter ones."""
_SAME = 1e-6
"""Relative: bins that are nearer are one."""


def length_bins(lengths_mm: ArrayLike, weights: ArrayLike, longest_mm: float) -> Floats:
    """Bin lengths (B,), at most 80, for paths of these lengths and weights: 0, geometric about where the light goes, points of
    its distribution, and coarser ones to the longest that any path can be.

    >>> bins = length_bins([8.0, 60.0, 136.0], [1.0, 1.0, 0.1], 3000.0)
    >>> len(bins), bool(bins[0] == 0 and bins[-1] == 3000.0), bool(bins[1] < 1), {8.0, 60.0} <= set(bins.tolist())
    (67, True, True, True)
    """
    lengths, weight = np.asarray(lengths_mm, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    going = (lengths > 0) & (weight > 0)
    low, high, many = longest_mm / 1000, longest_mm / 10, []
    if going.any():
        points = (0.01, 0.9995, *((np.arange(_MANY) + 0.5) / _MANY))
        low, high, *many = weighted_quantiles(lengths[going], weight[going], points)
        low, high = _SHORTER * low, min(_LONGER * high, longest_mm / 2)
    fine = np.geomspace(max(low, high / _WIDEST), high, _FINE)
    bins = np.sort(np.concatenate([[0.0], many, fine, np.geomspace(high, longest_mm, _COARSE + 1)[1:]]))
    # Of those that are one the longest stays.
    kept = np.diff(bins, append=np.inf) > _SAME * bins
    return bins[kept]


def split(lengths_mm: Floats, bins_mm: Floats) -> tuple[NDArray[np.intp], Floats]:
    """For each length (N,) its lower bin, and the part of it that belongs to the next one.

    >>> at, part = split(np.array([0.0, 3.0]), np.array([0.0, 2.0, 4.0]))
    >>> at.tolist(), part.tolist()
    ([0, 1], [0.0, 0.5])
    """
    at = np.clip(np.searchsorted(bins_mm, lengths_mm, side="right") - 1, 0, len(bins_mm) - 2)
    low = bins_mm[at]
    part = (lengths_mm - low) / (bins_mm[at + 1] - low)
    return at, np.clip(part, 0.0, 1.0)


def histogram(lengths_mm: Floats, rows: NDArray[np.integer], weights: Floats, bins_mm: Floats, count: int) -> Floats:
    """Weights (count, B) by row and bin.

    >>> histogram(np.array([3.0]), np.array([0]), np.array([1.0]), np.array([0.0, 2.0, 4.0]), 1).tolist()
    [[0.0, 0.5, 0.5]]
    """
    at, part = split(np.asarray(lengths_mm, dtype=np.float64), bins_mm)
    key = np.asarray(rows, dtype=np.int64) * len(bins_mm) + at
    size = count * len(bins_mm)
    weight = np.asarray(weights, dtype=np.float64)
    found = np.bincount(key, weight * (1 - part), size) + np.bincount(key + 1, weight * part, size + 1)[:size]
    return np.asarray(found.reshape(count, len(bins_mm)))


def weighted_quantiles(values: ArrayLike, weights: ArrayLike, at: Sequence[float]) -> list[float]:
    """The values below which these parts of the weight lie.

    >>> weighted_quantiles([1.0, 2.0, 3.0], [1.0, 1.0, 2.0], (0.25, 0.5, 0.95))
    [1.0, 2.0, 3.0]
    """
    value, weight = np.asarray(values, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    order = np.argsort(value, kind="stable")
    below = np.cumsum(weight[order])
    found = np.searchsorted(below, np.asarray(at) * below[-1] * (1 - 1e-12))
    return [float(value[order[min(i, len(order) - 1)]]) for i in found]
