"""Path lengths in a few bins: zero, then geometric. Each path is split between its two neighbours so that its length stays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating]

BINS = 48
"""Forty-six geometric ones whose neighbours are 12 % apart: T errs by less than 0.001 (x²/8 · max y²e^−y, x = ln 1.12)."""
_WIDEST = 240.0
"""Longest by shortest of the geometric ones: more would set them too far apart."""
_LEAST = 30.0
"""And at least so much: what a coarse trace did not meet is met by a finer one."""


def length_bins(lengths_mm: ArrayLike, weights: ArrayLike, longest_mm: float) -> Floats:
    """Bin lengths (48,) for paths of these lengths and weights: 0, geometric about where the light goes, and the longest
    that any path can be.

    >>> bins = length_bins([8.0, 60.0, 136.0], [1.0, 1.0, 0.1], 3000.0)
    >>> len(bins), bool(bins[0] == 0 and bins[-1] == 3000.0), bool(bins[1] < 8 and bins[-2] > 136)
    (48, True, True)
    """
    lengths, weight = np.asarray(lengths_mm, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    going = (lengths > 0) & (weight > 0)
    if not going.any():
        low, high = longest_mm / 1000, longest_mm / 10
    else:
        low, high = weighted_quantiles(lengths[going], weight[going], (0.01, 0.998))
        low, high = 0.8 * low, min(1.15 * high, 0.9 * longest_mm)
    low = max(high / _WIDEST, min(low, high / _LEAST))
    return np.concatenate([[0.0], np.geomspace(low, high, BINS - 2), [longest_mm]])


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


def weighted_quantiles(values: ArrayLike, weights: ArrayLike, at: tuple[float, ...]) -> list[float]:
    """The values below which these parts of the weight lie.

    >>> weighted_quantiles([1.0, 2.0, 3.0], [1.0, 1.0, 2.0], (0.25, 0.5, 0.95))
    [1.0, 2.0, 3.0]
    """
    value, weight = np.asarray(values, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    order = np.argsort(value, kind="stable")
    below = np.cumsum(weight[order])
    found = np.searchsorted(below, np.asarray(at) * below[-1] * (1 - 1e-12))
    return [float(value[order[min(i, len(order) - 1)]]) for i in found]
