"""Spectra read finer or coarser than the working grid, or beside it, on the grid: averaged where the grid holds their shape, as
read where it does not, interpolated, with what that may miss, where no reading is near.

Several readings a band, fitted together, have less noise than one. But of a steep band the grid's interpolant misses what was
read, worst on the flanks of a chip that is nearly black at its peak: by more than the noise, and in each chip by another part.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tintmix.optics.spectrum import GRID_NM, STEP_NM, Array, interpolation_matrix, middle, to_grid
from tintmix.pigments.inference.observations import Index, Mask

_ABSORBANCE_CEILING = 4.0
"""Decadic: a reading of 1e-4 is the smallest that is believed before it is brought onto the grid."""
_BY_CHANCE = 2.0
"""Standard deviations of a band's mean squared misfit, over all chips, past which it is no chance (1 of 40 bands): a band that is
taken as read for nothing loses some noise averaged, and no more."""
_DARK = 10.0
"""Spreads of light below which it is not averaged: of weights and logarithms of noise a mean is off by half its own spread."""
_NORMAL = 1.4826
"""Standard deviation of a Gaussian, by the median of its sizes."""
_LEAST_LIGHT, _LEAST_ABSORBED = 1e-30, 1e-3
"""Logarithms need something above zero; of bare light a part that no reading tells from none."""
SLIT_NM = 10.0
"""Width at half height of the slit that a reading may have come through: 1 to 10 nm, and what stands farther apart was read
through a slit as wide (common practice)."""


@dataclass(frozen=True, slots=True)
class Reads:
    """What internal transmittance reads as: of (N, M) at the wavelengths of the file, of (N, C) on some bands of the grid."""

    at_file: Callable[[Array], Array]
    on_bands: Callable[[Array, Index], Array]


def onto_bands(nm: Array, values: Array, spread: Array, absorbance: Array, reads: Reads) -> tuple[Index, Array, Array]:
    """Bands that are covered (C,), what is read there (N, C), and its spread (N, C).

    nm: (M,); values: (N, M), with spread (N, 1) at each wavelength; absorbance: (N, M), internal and decadic, of the same. A fit
    of s nodes a reading misses each by √(1 − s) spreads, by chance alone.
    """
    absorbance = np.minimum(absorbance, _ABSORBANCE_CEILING)
    on_grid = to_grid(nm, absorbance, weight=values.clip(1e-3) ** 2)
    bands = np.flatnonzero(np.isfinite(on_grid).all(axis=0))
    on_grid, nodes = on_grid[:, bands], GRID_NM[bands]
    fitted = reads.on_bands(10.0**-on_grid, bands)
    share = min(1.0, float(np.median(np.diff(nm))) / STEP_NM)
    if share == 1.0:
        # Of one pigment each chip is missed by the same: no mean over chips makes it less.
        missed = np.sqrt(len(values)) * _missed_between(nm, absorbance, nodes)
        return bands, fitted, np.hypot(spread, fitted * missed)
    between = interpolation_matrix(nodes, np.clip(nm, nodes[0], nodes[-1]))
    inside = (nm >= nodes[0]) & (nm <= nodes[-1])
    filled = reads.at_file(10.0 ** -(on_grid @ between.T))
    left = ((values - filled) / spread)[:, inside] / np.sqrt(1 - share)
    # Of what is dark a fit of logarithms says little.
    lit = (filled > _DARK * spread)[:, inside]
    near = np.abs(nm[inside] - nodes[:, None]) < STEP_NM
    steep = _is_steep(left, lit, near, 1 - share)
    onto = interpolation_matrix(nm, np.clip(nodes, nm[0], nm[-1]))
    # Read there: no logarithm is needed, nor a floor.
    picked = onto.max(axis=1) > 1 - 1e-9
    read = np.where(picked, values @ onto.T, reads.on_bands(10.0 ** -(absorbance @ onto.T), bands))
    # Neighbours in a row that say the same are not so many.
    alike = _alike(left * (lit & ~near[steep].any(axis=0)))
    averaged = np.minimum(_of_nodes(between[inside]) * np.sqrt((1 + alike) / (1 - alike)), 1.0)
    as_read = steep | (fitted < _DARK * spread)
    return bands, np.where(as_read, read, fitted), spread * np.where(as_read, 1.0, averaged)


def _missed_between(nm: Array, absorbance: Array, nodes: Array) -> Array:
    """How far light (N, C) may be off, relative to itself, at nodes (C,) that are the nearest to no reading: as far as readings
    (N, M) beside them are missed by an interpolant of the others.

    Of smooth spectra that is seven times too much (of even steps h a cubic misses h⁴/6 of the fourth derivative at a reading,
    0.0234 h⁴ between two), of steep ones about right. Taken for readings, what is interpolated from 20 nm made bands hold 74 in
    100; left out, it made castings of half the glasses four times as uncertain.
    """
    near = np.isin(np.arange(len(nodes)), np.abs(nodes[:, None] - nm).argmin(axis=0))
    if near.all():
        return np.zeros((len(absorbance), len(nodes)))
    missed = np.zeros(absorbance.shape)
    for one in range(1, len(nm) - 1):
        others = np.delete(np.arange(len(nm)), one)
        missed[:, one] = absorbance[:, one] - absorbance[:, others] @ interpolation_matrix(nm[others], nm[[one]])[0]
    missed[:, [0, -1]] = missed[:, [1, -2]]
    right = np.searchsorted(nm, nodes).clip(1, len(nm) - 1)
    off = np.maximum(np.abs(missed[:, right - 1]), np.abs(missed[:, right]))
    return np.asarray(np.where(near, 0.0, np.log(10) * off))


def _of_nodes(between: Array) -> Array:
    """Spread (C,) of nodes fitted to readings of spread 1 that interpolate them: between (M, C)."""
    normal = between.T @ between
    normal[np.diag_indices_from(normal)] += 1e-9  # where no reading is near: nothing is known
    return np.asarray(np.sqrt(np.diagonal(np.linalg.inv(normal))), dtype=np.float64)


def _is_steep(left: Array, lit: Mask, near: Mask, free: float) -> Mask:
    """Bands (C,) whose shape the grid does not hold. left: (N, M), misfits that chance makes 1 at most; lit: (N, M), which of
    them count; near: (C, M), which are a band's; free: the part of them that no node took up."""
    # Readings better than they say hide less.
    chance = min(1.0, _NORMAL * float(np.median(np.abs(left[lit])))) if lit.any() else 1.0
    count = np.maximum(near @ lit.sum(axis=0), 1)
    mean = near @ (lit * left**2).sum(axis=0) / count
    steep = mean > chance**2 * (1 + _BY_CHANCE * np.sqrt(2 / count))
    # An interpolant that goes past one node goes past its neighbours.
    return np.asarray(np.convolve(steep, np.ones(3), "same") > 0)


def _alike(left: Array) -> float:
    """Correlation of noise (N, M) at neighbouring wavelengths: near 1 in a spectrum that was interpolated, or smoothed."""
    whole = float((left[:, :-1] ** 2 + left[:, 1:] ** 2).sum()) / 2
    return float(np.clip((left[:, :-1] * left[:, 1:]).sum() / whole, 0.0, 0.99)) if whole else 0.0


def slit_misses(nodes: Array, light: Array) -> Array:
    """What a slit of the usual width adds to light (N, C) as read at nodes (C,): (N, C).

    >>> nm = np.arange(400.0, 451.0, 10.0)
    >>> float(np.abs(slit_misses(nm, np.ones((1, 6)))).max())
    0.0
    """
    light = np.maximum(light, 10.0**-_ABSORBANCE_CEILING)
    return through_slit(nodes, light, max(SLIT_NM, middle(np.diff(nodes))))[0] - light


def through_slit(nodes: Array, light: Array, width_nm: float) -> tuple[Array, Array]:
    """What light (…, C) at nodes (C,) reads as through a triangular slit of this width at half height, and its slopes (…, C, C).

    Moments of the triangle up to the fourth, w²/6 and w⁴/15, are those of three lines, at 0 and at ± w √0.4 with 5/24 of the
    weight each. Between nodes the logarithm of absorbance is interpolated, which of a Gaussian band is a parabola: of dyes with
    bands of 15 to 40 nm the logarithm of light missed two to ten times as much.

    >>> nm = np.arange(400.0, 451.0, 10.0)
    >>> float(through_slit(nm, np.exp(-np.exp(-(((nm - 425) / 20) ** 2))), 10.0)[0][2].round(3))
    0.406
    """
    seen, side = np.clip(light, _LEAST_LIGHT, 1 - _LEAST_ABSORBED), 5 / 24
    depth = -np.log(seen)
    read = light - 2 * side * seen
    slope = np.zeros((*light.shape, len(nodes)))
    slope[..., np.arange(len(nodes)), np.arange(len(nodes))] = 1 - 2 * side
    for way in (-1.0, 1.0):
        between = interpolation_matrix(nodes, np.clip(nodes + way * width_nm * np.sqrt(0.4), nodes[0], nodes[-1]))
        there = np.exp(np.log(depth) @ between.T)
        beside = side * np.exp(-there)
        read = read + beside
        slope += (beside * there)[..., None] * between / (depth * seen)[..., None, :]
    return np.asarray(read), slope
