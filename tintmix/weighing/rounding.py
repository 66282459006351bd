"""Weights to the scale's steps, all together: where one pigment rounds up, another may make it good."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.spectrum import Array

_ALL_AT_ONCE = 10
"""Up to so many pigments every choice of up or down is tried; beyond, one pigment at a time from the nearest steps."""
_EXACT = 1e-9
"""Relative: a target that arithmetic left so near a whole step is that step."""
_TIE = 1e-3
"""Weight of the sum over sections beside the largest: among equals the one that is better elsewhere."""


def rounded_together(
    targets_g: Sequence[float], steps_g: Sequence[float], moves: Array, offset: float = 0.0
) -> tuple[float, ...]:
    """The weights in whole steps, each next below or above its target, for which the colour moves least.

    targets_g, steps_g: a value for each pigment; no target below one step. moves (sections, 3, pigments): derivative of the three
    residuals whose squares sum to ΔE00² by ln dose. offset: relative error that all doses have already (of the batch). What
    is made least is the largest ΔE00 = |moves @ error| of the sections.

    Two pigments that undo one another, 10.4 and 10.6 steps: both down is ΔE00 0.019, nearest would be 0.076.

    >>> moves = np.array([[[1.0, -1.0], [0.0, 0.0], [0.0, 0.0]]])
    >>> rounded_together([0.104, 0.106], [0.01, 0.01], moves)
    (0.1, 0.1)
    """
    exact = np.asarray(targets_g) / np.asarray(steps_g)
    nearest = np.rint(exact)
    is_whole = np.abs(exact - nearest) <= _EXACT * exact
    down, up = (np.maximum(np.where(is_whole, nearest, side(exact)), 1).astype(int) for side in (np.floor, np.ceil))
    errors = np.array([down, up]) * np.asarray(steps_g) / np.asarray(targets_g)
    with np.errstate(divide="ignore"):
        errors = np.log(np.maximum(errors, 1e-300)) + offset
    count = len(targets_g)
    chosen = np.abs(errors).argmin(axis=0)
    if moves.size and count <= _ALL_AT_ONCE:
        chosen = _best(errors, _choices(count), moves)
    elif moves.size:
        for _ in range(3):
            for p in range(count):
                pair = np.array([chosen, chosen])
                pair[1, p] ^= 1
                chosen = _best(errors, pair, moves)
    return tuple(float(f"{(up if pick else down)[p] * steps_g[p]:.12g}") for p, pick in enumerate(chosen.tolist()))


def _best(errors: Array, choices: NDArray[np.int64], moves: Array) -> NDArray[np.int64]:
    """Of some choices (n, pigments) of 0 or 1, the one that moves the colour least."""
    tried = errors[choices, np.arange(choices.shape[1])]
    moved = tried @ moves.reshape(-1, choices.shape[1]).T
    squares = (moved * moved).reshape(len(choices), -1, 3).sum(axis=2)
    return np.asarray(choices[(squares.max(axis=1) + _TIE * squares.mean(axis=1)).argmin()])


@lru_cache(maxsize=_ALL_AT_ONCE + 1)
def _choices(count: int) -> NDArray[np.int64]:
    return (np.arange(2**count)[:, None] >> np.arange(count)) & 1
