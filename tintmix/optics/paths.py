"""A place on a casting as it is seen: how much of the bare light comes to the eye by paths of which length in the resin.

Light bends in at one face and is reflected at the next, so that a place has no one thickness. Geometry and refractive index
alone fix the paths; faces and surroundings are in their weights, and no plate formula comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from tintmix.errors import ValueProblem
from tintmix.numerals import depth_in_words
from tintmix.optics.absorption import LN10
from tintmix.optics.spectrum import GRID_NM, Array

MEETINGS = 3
"""Paths are told apart by how often they met the insert: never, once, twice."""
_BLOCK = 8192
"""Absorbances worked at once, for every length: half a megabyte stays near the core."""
_ABSORBANCES = np.concatenate([[0.0], np.geomspace(1e-4, 100.0, 240)])
"""Decadic, at the mean path, at which fewer lengths are held against all: from clear to where short paths are dark too."""
_STEPS = np.geomspace(0.08, 0.8, 14)
"""Decadic, at the mean path: spacings of absorbance tried for `fewer`; finer ones save no length in the tests' places."""
_NOTHING_LEFT = 1e-13
"""Of a Lanczos vector of length 1: the lengths that there are have been used up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LightPaths:
    """What is behind a place that is seen: Σ_k Σ_L w(k, L) R(λ)^k 10^(−a L) of the bare light comes to the eye.

    lengths_mm: (L,), in resin. weights: (3, L), the part of the bare light that comes by paths of this length that met the
    insert k = 0, 1, 2 times. reflectance: R of the insert, a number or K of them (kept as a tuple). Raises ValueProblem.

    >>> paths = LightPaths(lengths_mm=(10.0, 30.0), weights=((0.6, 0.2), (0.0, 0.0), (0.0, 0.0)))
    >>> paths.mean_mm, paths.light(np.array([0.0, 0.1])).round(6).tolist()
    (15.0, [0.8, 0.0602])
    """

    lengths_mm: tuple[float, ...]
    weights: tuple[tuple[float, ...], ...]
    reflectance: float | tuple[float, ...] = 0.0

    def __post_init__(self) -> None:
        counts = [len(row) for row in self.weights]
        if counts != [len(self.lengths_mm)] * MEETINGS:
            raise ValueProblem(
                what=f"light paths have {MEETINGS} rows of weights, one weight for each length, and here are "
                f"{len(self.lengths_mm)} lengths and rows of {counts} weights"
            )
        lengths, weights = (np.asarray(values, dtype=np.float64) for values in (self.lengths_mm, self.weights))
        reflectance = np.asarray(self.reflectance, dtype=np.float64)
        if not all(np.all(np.isfinite(values) & (values >= 0)) for values in (lengths, weights)):
            raise ValueProblem(what="lengths and weights of light paths are finite, none below zero")
        if reflectance.shape not in ((), GRID_NM.shape) or not np.all((reflectance >= 0) & (reflectance <= 1)):
            raise ValueProblem(what=f"an insert's reflectance is 0 to 1, one number or {len(GRID_NM)} of them")
        object.__setattr__(self, "lengths_mm", tuple(lengths.tolist()))
        object.__setattr__(self, "weights", tuple(map(tuple, weights.tolist())))
        kept = float(reflectance) if reflectance.ndim == 0 else tuple(reflectance.tolist())
        object.__setattr__(self, "reflectance", kept)

    @property
    def name(self) -> str:
        """As grounds are called."""
        return "seen"

    @property
    def is_panel(self) -> bool:
        """Whether it is a plate over the bare light: it never is."""
        return False

    @property
    def has_insert(self) -> bool:
        """Whether any path met an insert."""
        return any(map(any, self.weights[1:]))

    @property
    def mean_mm(self) -> float:
        """The mean path of the light that comes through clear resin, an insert at its mean reflectance; 0 without light."""
        part = np.float64(np.mean(self.reflectance)) ** np.arange(MEETINGS) @ np.array(self.weights)
        total = float(part.sum())
        return float(part @ np.array(self.lengths_mm)) / total if total > 0 else 0.0

    @property
    def clear(self) -> Array:
        """The part of the bare light (K,) that comes in clear resin."""
        return self.light(np.zeros(len(GRID_NM)))

    def with_insert(self, reflectance: float | Sequence[float] | Array) -> LightPaths:
        """The same casting with an insert of this reflectance, a number or (K,)."""
        kept = np.asarray(reflectance, dtype=np.float64)
        return replace(self, reflectance=float(kept) if kept.ndim == 0 else tuple(kept.tolist()))

    def light(self, per_mm: Array) -> Array:
        """The part of the bare light (…, K) that comes from decadic absorbance per mm (…, K)."""
        return np.asarray(self._sums(per_mm, np.array(self.weights)[None])[0])

    def light_with_slope(self, per_mm: Array, thickness_mm: ArrayLike) -> tuple[Array, Array]:
        """`light`, and its slope by ln τ of this thickness: Σ w (L/t) R^k τ^(L/t), so that times −ln 10 · t it is that by a.

        >>> paths = LightPaths(lengths_mm=(10.0, 30.0), weights=((0.6, 0.2), (0.0, 0.0), (0.0, 0.0)))
        >>> seen, slope = paths.light_with_slope(np.array([0.02]), paths.mean_mm)
        >>> ahead = paths.light(np.array([0.02 - 1e-8]))
        >>> bool(np.isclose((ahead - seen)[0] / (1e-8 * LN10 * paths.mean_mm), slope[0], rtol=1e-5))
        True
        """
        weights = np.array(self.weights)
        value, slope = self._sums(per_mm, np.stack([weights, weights * (np.array(self.lengths_mm) / thickness_mm)]))
        return value, slope

    def _sums(self, per_mm: Array, weights: Array) -> Array:
        """Σ_k R^k Σ_L w(i, k, L) 10^(−a L), (I, …, K), of weights (I, 3, L)."""
        rows = np.asarray(per_mm, dtype=np.float64).reshape(-1, np.shape(per_mm)[-1])
        met = MEETINGS if self.has_insert else 1
        flat = np.ascontiguousarray(weights[:, :met].reshape(len(weights) * met, len(self.lengths_mm)))
        exponent = -LN10 * np.array(self.lengths_mm)[:, None]
        out = np.empty((len(weights), *rows.shape))
        step = max(_BLOCK // rows.shape[1], 1)
        for start in range(0, len(rows), step):
            part = rows[start : start + step]
            tau = exponent * part.reshape(1, -1)
            sums = (flat @ np.exp(tau, out=tau)).reshape(len(weights), met, *part.shape)
            total = sums[:, -1]
            for k in range(met - 2, -1, -1):
                total = total * np.asarray(self.reflectance) + sums[:, k]
            out[:, start : start + step] = total
        return out.reshape(len(weights), *np.shape(per_mm))

    def fewer(self, within: float) -> LightPaths:
        """The same place in as few lengths as keep its light within so much of the whole, whatever the absorption.

        For each number of meetings the Gauss quadrature of its lengths in 10^(−s L) (Golub and Welsch, *Math. Comp.* 23, 221,
        1969): n lengths are exact at the absorptions 0, s, … (2n − 1) s, their weights above zero, and s is chosen by trial.
        """
        return _fewer(self, within)


@lru_cache(maxsize=256)
def _fewer(paths: LightPaths, within: float) -> LightPaths:
    lengths, weights = np.array(paths.lengths_mm), np.array(paths.weights)
    counts = int(np.count_nonzero(weights.any(axis=1)))
    found = [_quadrature(lengths[row > 0], row[row > 0], within / max(counts, 1)) for row in weights]
    at = np.concatenate([one for one, _ in found])
    if len(at) >= len(lengths):
        return paths
    kept = np.zeros((MEETINGS, len(at)))
    start = 0
    for k, (_, part) in enumerate(found):
        kept[k, start : start + len(part)] = part
        start += len(part)
    return replace(paths, lengths_mm=tuple(at.tolist()), weights=tuple(map(tuple, kept.tolist())))


def _quadrature(lengths: Array, weights: Array, within: float) -> tuple[Array, Array]:
    """The fewest lengths and their weights for one number of meetings."""
    # Light that was never in the resin stays as it is: of a short length it would be lost where all else is dark.
    if (outside := lengths == 0.0).any():
        at, parts = _quadrature(lengths[~outside], weights[~outside], within)
        return np.concatenate([[0.0], at]), np.concatenate([[weights[outside].sum()], parts])
    if not weights.size:
        return lengths, weights
    mean = max(float(weights @ lengths) / float(weights.sum()), 1e-9)
    absorbance = _ABSORBANCES[:, None] / mean
    whole = np.exp(-LN10 * absorbance * lengths) @ weights
    for count in range(1, len(lengths)):
        best, least = (lengths, weights), np.inf
        for step in _STEPS / mean:
            nodes, parts = _gauss(10.0 ** (-step * lengths), weights, count)
            at = -np.log10(nodes) / step
            off = float(np.abs(np.exp(-LN10 * absorbance * at) @ parts - whole).max())
            if off < least:
                best, least = (at, parts), off
        if least <= within:
            return best
    return lengths, weights


def _gauss(nodes: Array, weights: Array, count: int) -> tuple[Array, Array]:
    """Nodes and weights of the Gauss quadrature of a measure on points, by Lanczos with every vector made orthogonal anew."""
    total = float(weights.sum())
    vectors = [np.sqrt(weights / total)]
    diagonal, beside = [], []
    for _ in range(count):
        next_ = nodes * vectors[-1]
        diagonal.append(float(next_ @ vectors[-1]))
        for _ in range(2):
            for one in vectors:
                next_ = next_ - (one @ next_) * one
        size = float(np.linalg.norm(next_))
        if size < _NOTHING_LEFT:
            break
        beside.append(size)
        vectors.append(next_ / size)
    beside = beside[: len(diagonal) - 1]
    values, turned = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    # Inside the points' range but for rounding.
    return np.clip(values, nodes.min(), nodes.max()), total * turned[0] ** 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PathLength:
    """How far the light of a place goes in the resin, in clear resin: points of its distribution, and its mean, in mm."""

    p5: float
    median: float
    mean: float
    p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A place of a traced shape: its paths, and what a calliper would have said of it.

    shape: the shape's file, as it was named; place: its name there. straight_mm: resin along the line of view. of_clear: the
    part of the bare light that comes in clear resin; dark: so little that its shape makes it dark, whatever the tint.
    refractive_index: for which it was traced, None where nobody says. digest: of the shape, SHA-256; mesh, mesh_digest: the
    file that it was made from, and its SHA-256.
    """

    shape: str
    place: str
    paths: LightPaths
    straight_mm: float
    path_mm: PathLength
    of_clear: float
    dark: bool = False
    refractive_index: float | None = None
    digest: str = ""
    mesh: str = ""
    mesh_digest: str = ""

    @property
    def depth(self) -> str:
        """The straight depth beside the mean path, in words."""
        return depth_in_words(self.straight_mm, self.path_mm.mean)
