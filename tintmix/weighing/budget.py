"""What weighing does to the colour: its 95 %, and the lines that make it up.

Law of propagation of uncertainty, GUM (JCGM 100:2008), 5.1 and 5.2, with the moves of the colour by ln dose as sensitivities.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from tintmix.optics.spectrum import Array

COVERS_95 = 1.959964
"""Half width of the interval that holds 95 % of a normal distribution, in its standard deviations."""
WEIGHING_RESIN = "weighing the resin"
"""The line of the budget that all resin parts together make."""
_POINTS = 4096
"""Against the exact quantile of one, two or three even spreads 95 % then come out within 0.8 %."""


def delta_e00_95(moves: Array, bias: Array, sources: Array) -> Array:
    """ΔE00 within which 95 % lies, a value for each section.

    moves (sections, 3, pigments): derivative of the three residuals of ΔE00 by ln dose. bias (pigments,): relative error
    that is known, of rounding. sources (pigments, any): what one standard deviation of each independent source of error does to
    each dose, relative. The residuals are normal, of mean M·bias and covariance (M S)(M S)ᵀ; the quantile is taken over 4096
    evenly spread points of the normal distribution, good to about 1 %.

    One pigment of spread 1 %, ΔE00 10 by ln dose: 1.96 % × 10.

    >>> moves = np.array([[[6.0], [8.0], [0.0]]])
    >>> round(float(delta_e00_95(moves, np.zeros(1), np.array([[0.01]]))[0]), 2)
    0.2
    """
    if not moves.size:
        return np.zeros(moves.shape[0])
    scaled = moves @ sources
    values, vectors = np.linalg.eigh(scaled @ np.swapaxes(scaled, 1, 2))
    # In the covariance's own axes the length of the residuals is what it was, and each axis has its own points.
    centre = np.einsum("sji,sj->si", vectors, moves @ bias)
    root = np.sqrt(np.maximum(values, 0.0))
    drawn = centre[:, :, None] + root[:, :, None] * _points()
    squares = np.einsum("sin,sin->sn", drawn, drawn)
    place = math.ceil(0.95 * _POINTS) - 1
    return np.asarray(np.sqrt(np.partition(squares, place, axis=1)[:, place]))


def sources_of(
    spreads: Sequence[float], portions_g: Sequence[tuple[float, float, float]], batch_g: float, resin_g: float
) -> Array:
    """What each source of error does to each dose, relative, one standard deviation (pigments, 2 pigments + 1).

    dose = pigment/resin: a portion of m grams that is off by u changes its own dose by u/m, and every dose by −u (1 − w)/G, for
    with it comes carrier. spreads: of the bottles, one a pigment. portions_g: (u, m, share w) of each pigment. batch_g: G, of
    resin; resin_g: standard uncertainty of the resin parts together.
    """
    count = len(spreads)
    out = np.zeros((count, 2 * count + 1))
    for p, (spread, (u, m, share)) in enumerate(zip(spreads, portions_g, strict=True)):
        out[:, p] = -u * (1.0 - share) / batch_g
        out[p, p] += u / m
        out[p, count + p] = spread
    out[:, -1] = -resin_g / batch_g
    return out


@lru_cache(maxsize=1)
def _points() -> Array:
    """Evenly spread points of the normal distribution (3, _POINTS), the same on every machine.

    An additive recurrence on the powers of the generalised golden ratio (x⁵ = x + 1 for four dimensions), then the Box-Muller
    transform.
    """
    ratio = 1.0
    for _ in range(60):
        ratio = (1.0 + ratio) ** (1 / 5)
    steps = np.array([ratio**-k for k in range(1, 5)])
    u = (0.5 + (np.arange(1, _POINTS + 1)[:, None] * steps)) % 1.0
    far, last = np.sqrt(-2.0 * np.log(u[:, 0])), np.sqrt(-2.0 * np.log(u[:, 2]))
    turn = 2.0 * math.pi
    # The largest eigenvalue comes last, and gets the coordinate that is spread best.
    points = np.array([last * np.cos(turn * u[:, 3]), far * np.sin(turn * u[:, 1]), far * np.cos(turn * u[:, 1])])
    # Mean 0 and variance 1 exactly; what is left is in the higher moments.
    points -= points.mean(axis=1, keepdims=True)
    return np.asarray(points / points.std(axis=1, keepdims=True))
