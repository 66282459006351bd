"""Pigments and resins that nobody has measured yet: plausible absorption spectra by the hundred, for planning alone.

A third of the spectra are draws of the fit's own smooth prior; the others are one to three skewed bands with exponential
tails (Urbach, *Phys. Rev.* 92, 1324 (1953)), some of them with an absorption edge rising into the violet as yellows and
browns have it. Widths, tails and floors are common practice for dyes and ions in glass; no measured pigment is in them.
"""

from __future__ import annotations

import numpy as np

from tintmix.optics.detector import luminous
from tintmix.optics.light import through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, SMOOTHNESS, base_basis, pigment_basis

_SMOOTH_SHARE = 0.35
"""Of the spectra, draws of the fit's own prior: what it may take for granted, beside what it does not expect. With none, or
nothing else, the cups serve 2 and 1 % worse (`python -m tests.accuracy.constants plans`, as below)."""
_EDGE_SHARE = 0.3
"""Of the banded spectra, those that rise into the violet. Without any, or with twice as many, cups serve 1 % worse at most."""
_MOST_BANDS = 3
"""With one the cups serve 2 % worse in the mean, 11 % in one place; with five as well as with three."""
_PEAK_CEILING = 6.0
"""Decadic absorbance that a peak may reach where the luminous absorbance asked for cannot be had with less (a pale yellow)."""
_RESIN_SPREAD = 0.5
"""Of the base's prior, which has to allow for a resin that is not clear. With a quarter or one the cups serve within 1 %."""
_LEAST_LIGHT = 0.35
"""A clear casting resin lets at least this part of the light through the thickest section (common practice)."""


def absorber_shapes(rng: np.random.Generator, count: int) -> Array:
    """Spectra (count, K) of plausible absorbers, each with its peak at 1.

    >>> shapes = absorber_shapes(np.random.default_rng(0), 5)
    >>> shapes.shape, bool(np.all(shapes > 0)), bool(np.allclose(shapes.max(axis=1), 1.0))
    ((5, 41), True, True)
    """
    smooth = rng.uniform(size=count) < _SMOOTH_SHARE
    out = _banded(rng, count)
    basis = np.stack([pigment_basis(*smoothness).columns for smoothness in SMOOTHNESS])
    which = rng.integers(len(SMOOTHNESS), size=count)
    logs = np.einsum("nkr,nr->nk", basis[which], rng.standard_normal((count, basis.shape[-1])))
    out[smooth] = np.exp(logs[smooth])
    return np.asarray(out / out.max(axis=1, keepdims=True), dtype=np.float64)


def _banded(rng: np.random.Generator, count: int) -> Array:
    shape = (count, _MOST_BANDS)
    height = np.exp(rng.uniform(np.log(0.1), 0.0, shape))
    height[:, 0] = 1.0
    height[np.arange(_MOST_BANDS) >= rng.integers(1, _MOST_BANDS + 1, count)[:, None]] = 0.0
    peak, width = rng.uniform(380.0, 720.0, shape), rng.uniform(15.0, 70.0, shape)
    lean, start = rng.uniform(0.7, 1.6, shape), rng.uniform(1.5, 2.6, shape)
    # Gaussian in wavenumber; beyond `start` widths it falls exponentially with the slope that it has there.
    away = (1e7 / GRID_NM - 1e7 / peak[..., None]) / (width * 1e7 / peak**2)[..., None]
    u = np.abs(np.where(away > 0, away, away / lean[..., None]))
    s = start[..., None]
    bands = np.exp(np.where(u > s, s * s / 2 - s * u, -u * u / 2))
    edge = np.exp(-(GRID_NM - 380.0) / rng.uniform(20.0, 80.0, (count, 1)))
    edge *= np.where(rng.uniform(size=(count, 1)) < _EDGE_SHARE, rng.uniform(0.3, 3.0, (count, 1)), 0.0)
    total = (height[..., None] * bands).sum(axis=1) + edge
    floor = 10.0 ** rng.uniform(-3.5, -1.3, (count, 1))
    return np.asarray(total + floor * total.max(axis=1, keepdims=True), dtype=np.float64)


def of_absorbance(shapes: Array, wanted: Array) -> Array:
    """Shapes (…, K) scaled to absorbances (…, K) that dim D65 by the luminous absorbance wanted (…), faces left out.

    >>> grey = of_absorbance(np.ones((1, 41)), np.array([0.5]))
    >>> round(float(grey[0, 0]), 6)
    0.5
    """
    weights = luminous("D65")
    shapes = shapes / shapes.max(axis=-1, keepdims=True)
    low = np.full(shapes.shape[:-1], -4.0)
    high = np.full(shapes.shape[:-1], np.log10(_PEAK_CEILING))
    # Thirty halvings of five decades: to a part in 10⁸.
    for _ in range(30):
        middle = 0.5 * (low + high)
        reached = -np.log10(through(shapes, 10.0**middle, 1.0, None) @ weights)
        short = reached < wanted
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.asarray(shapes * 10.0 ** low[..., None], dtype=np.float64)


def resins(rng: np.random.Generator, count: int, thickest_mm: float) -> Array:
    """Absorption per mm (count, K) of plausible clear resins: the base's prior, half as strong and less wild than a fit allows.

    exp(−0.7) is that half: clear resins for thick castings are better than the middle of what a fit has to expect.
    """
    basis, weights = base_basis().columns, luminous("D65")
    out = np.empty((count, len(GRID_NM)))
    for i in range(count):
        spectrum = np.exp(BASE_MEAN_LOG - 0.7 + _RESIN_SPREAD * (basis @ rng.standard_normal(basis.shape[1])))
        # 0.7 at a time: near the limit, not all of them at it.
        while through(spectrum, thickest_mm, 1.0, None) @ weights < _LEAST_LIGHT:
            spectrum = 0.7 * spectrum
        out[i] = spectrum
    return out
