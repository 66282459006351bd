"""Values on a wavelength grid: the working grid, Lagrange interpolation, and bringing a reading onto the grid.

Nothing here extrapolates: outside what was measured stands NaN, or an error.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.errors import no_spectrum, out_of_range

Array = NDArray[np.float64]

GRID_NM: Array = np.arange(380.0, 781.0, 10.0)
"""The working grid, (41,) nm: wavelength is the last axis of every array of spectra."""
FINE_NM: Array = np.arange(360.0, 781.0)
"""1 nm, (421,): colour-matching functions, lights and cameras before they are folded onto the working grid."""
STEP_NM = 10.0
"""Of the working grid."""

_TOLERANCE_NM = 1e-9
"""What arithmetic leaves of a wavelength: 1e-9 of 780 nm is a thousand times a double's last digit."""
_RIDGE = 1e-9
"""Of the scaled diagonal: a hundred times as much moves no absorbance by 1e-8, and a node without readings stays put."""
_LEAST_WEIGHT = 0.003
"""Of the greatest weight within about 20 nm; without it the misfit of its bright shoulders would decide a dark band."""

GRID_NM.setflags(write=False)
FINE_NM.setflags(write=False)


def checked_wavelengths(nm: ArrayLike, what: str = "spectrum") -> Array:
    """Wavelengths as a float array (M,), finite and rising. Raises ValueProblem.

    >>> checked_wavelengths([400, 410]).tolist()
    [400.0, 410.0]
    """
    out = np.asarray(nm, dtype=np.float64)
    if out.ndim != 1 or out.size == 0:
        raise no_spectrum(what, f"wavelengths of shape {out.shape}, and one rising row of them is needed")
    rising = np.diff(out) > 0
    if not (rising.all() and np.isfinite(out).all()):
        at = int(np.argmin(rising)) if not rising.all() else 0
        before, after = float(out[at]), float(out[min(at + 1, out.size - 1)])
        said = f"{numeral(after)} nm stands after {numeral(before)} nm"
        raise ValueProblem(where=what, what=said, remedy=Remedy.SORT_WAVELENGTHS)
    return out


def interpolation_matrix(from_nm: ArrayLike, onto_nm: ArrayLike) -> Array:
    """Matrix (len(onto), len(from)) that interpolates by Lagrange polynomials: values_onto = matrix @ values_from.

    Through the four nearest points inside, through three in the first and the last interval, as ASTM E2022 has it
    (through two or one where there are no more). from_nm rises and may be irregular; a wavelength of from_nm gets
    exactly its own value. Raises ValueProblem, also where onto_nm lies outside from_nm by more than
    1e-9 nm.

    >>> interpolation_matrix([400, 410, 420, 430], [415]).round(4).tolist()
    [[-0.0625, 0.5625, 0.5625, -0.0625]]
    """
    nodes = checked_wavelengths(from_nm)
    onto = np.atleast_1d(np.asarray(onto_nm, dtype=np.float64))
    if onto.size and (onto.min() < nodes[0] - _TOLERANCE_NM or onto.max() > nodes[-1] + _TOLERANCE_NM):
        raise out_of_range("spectrum", nodes[0], nodes[-1], float(onto.min()), float(onto.max()))
    count = nodes.size
    matrix = np.zeros((onto.size, count))
    if count == 1:
        matrix[:] = 1.0
        return matrix
    interval = np.clip(np.searchsorted(nodes, onto, side="right") - 1, 0, count - 2)
    first = np.maximum(interval - 1, 0)
    last = np.minimum(interval + 2, count - 1)
    for points in sorted(set((last - first + 1).tolist())):
        rows = np.flatnonzero(last - first + 1 == points)
        stencil = first[rows, None] + np.arange(points)
        at = nodes[stencil]
        for j in range(points):
            others = np.delete(np.arange(points), j)
            away = (onto[rows, None] - at[:, others]) / (at[:, [j]] - at[:, others])
            matrix[rows, stencil[:, j]] = away.prod(axis=1)
    return matrix


def to_grid(nm: ArrayLike, internal_absorbance: ArrayLike, weight: ArrayLike | None = None) -> Array:
    """Internal absorbance (…, M) at nm (M,) brought onto the working grid: (…, 41), NaN outside what nm covers.

    Readings coarser than the grid, or as coarse, are interpolated (a reading on a grid wavelength is taken as it is).
    Finer readings are fitted: those grid values whose Lagrange interpolant comes nearest to all readings, by least
    squares with `weight` (…, M), so that noise is averaged and the shape kept. Absorbance read as T with even noise
    has a weight of T² (delta method). Readings outside 380-780 nm only help to interpolate near the ends. Absorbance,
    not transmittance, is what interpolates well (physics.md §6). Raises ValueProblem.

    >>> to_grid([400, 420, 440], [0.0, 0.2, 0.4])[2:7].round(6).tolist()
    [0.0, 0.1, 0.2, 0.3, 0.4]
    """
    read_nm = checked_wavelengths(nm)
    values = np.asarray(internal_absorbance, dtype=np.float64)
    if values.ndim == 0 or values.shape[-1] != read_nm.size:
        raise no_spectrum("spectrum", f"{read_nm.size} wavelengths, but values of shape {values.shape}")
    out = np.full((*values.shape[:-1], GRID_NM.size), np.nan)
    covered = np.flatnonzero((read_nm[0] - _TOLERANCE_NM <= GRID_NM) & (read_nm[-1] + _TOLERANCE_NM >= GRID_NM))
    if covered.size == 0:
        return out
    first, last = np.ceil((read_nm[0] - _TOLERANCE_NM) / STEP_NM), np.floor((read_nm[-1] + _TOLERANCE_NM) / STEP_NM)
    nodes = STEP_NM * np.arange(first, last + 1)
    onto_nodes = values @ interpolation_matrix(read_nm, np.clip(nodes, read_nm[0], read_nm[-1])).T
    steps = np.diff(read_nm)
    if nodes.size > 1 and middle(steps) < STEP_NM - 1e-6 and steps.max() <= STEP_NM + 1e-6:
        onto_nodes = _fitted(read_nm, values, weight, nodes, onto_nodes)
    out[..., covered] = onto_nodes[..., np.searchsorted(nodes, GRID_NM[covered] - 0.5)]
    return out


def _fitted(nm: Array, values: Array, weight: ArrayLike | None, nodes: Array, start: Array) -> Array:
    """Least squares for the node values; a faint pull to the interpolated ones decides where the readings do not."""
    inside = (nm >= nodes[0]) & (nm <= nodes[-1])
    design = interpolation_matrix(nodes, nm[inside])
    weights = (
        np.ones(values.shape) if weight is None else np.broadcast_to(np.asarray(weight, dtype=np.float64), values.shape)
    )
    weights = _levelled(nm[inside], weights[..., inside])
    left = values[..., inside] - start @ design.T
    normal = np.einsum("...m,mi,mj->...ij", weights, design, design, optimize=True)
    right = (weights * left) @ design
    diagonal = np.arange(nodes.size)
    # Jacobi scaling: where the specimen is dark a weight of T² is millions of times smaller than beside it.
    own = normal[..., diagonal, diagonal]
    scale = 1.0 / np.sqrt(np.maximum(own, 1e-14 * own.max(axis=-1, keepdims=True) + 1e-300))
    normal *= scale[..., :, None] * scale[..., None, :]
    normal[..., diagonal, diagonal] += _RIDGE
    moved = np.linalg.solve(normal, (right * scale)[..., None])[..., 0] * scale
    return np.asarray(start + moved, dtype=np.float64)


def _levelled(nm: Array, weights: Array) -> Array:
    """Weights raised to a part of the greatest in their own 10 nm and the two on each side."""
    cell = ((nm - nm[0]) // STEP_NM).astype(np.intp)
    first = np.searchsorted(cell, np.arange(cell[-1] + 1))
    greatest = np.maximum.reduceat(weights, first, axis=-1)
    around = greatest.copy()
    for away in (1, 2):
        around[..., away:] = np.maximum(around[..., away:], greatest[..., :-away])
        around[..., :-away] = np.maximum(around[..., :-away], greatest[..., away:])
    return np.maximum(weights, _LEAST_WEIGHT * around[..., cell])


def middle(values: Array) -> float:
    """The (upper) median of a few numbers. `np.median` would bring in numpy's masked arrays, 10 ms on every cold start."""
    return float(np.sort(values)[len(values) // 2])
