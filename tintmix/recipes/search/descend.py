"""All subsets of pigments and several starts of each, descended at once: projected Levenberg-Marquardt in batches.

Each problem minimises Σ w (ΔE00/tolerance)² / Σ w over 0 ≤ c ≤ upper. ΔE00² is a sum of three squares with an
analytic slope (physics §7), so that this is nonlinear least squares. The limits that join pigments (total, floor on
light, ceiling on haze) are steep hinges here: good enough to rank by; `sequential_quadratic` then meets them exactly. Nocedal &
Wright, *Numerical Optimization*, ch. 10 and 16; Kanzow, Yamashita, Fukushima, *J. Comput. Appl. Math.* 172 (2004)
375, for the projected step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np

from tintmix.optics.difference import residuals_with_slope
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.levenberg_marquardt import Damping
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.search.forward import Indices, Mask, Rows, of_every_pigment, sight
from tintmix.recipes.search.starts import STARTS, starts

Progress = Callable[[float], None]
Support = tuple[int, ...]

_CHUNK = 1024
"""Problems descended together: 1024 × 41 numbers stay in a core's cache; memory does not grow with the subsets."""
_HINGE = 100.0
"""A limit broken by 1 % costs as much as one tolerance. With 30 or 300 single ones of 40 simulated targets end 0.1 to 0.2 ΔE00
farther off (`python -m tests.accuracy.constants solves`, as below)."""
_STEPS = 40
"""With 80 no answer moves by more than 1e-6 ΔE00; with 20 some by 0.1. What has not arrived goes on in `sequential_quadratic`."""
_DAMPING = Damping(first=1e-2, ease=0.1, stiffen=6.0, least=1e-7, least_after=1e-4, most=1e5)
"""Relative to the diagonal of JᵀJ, so that units of pigments do not matter. first: with a tenth or ten times of it the errors of
40 targets sum up alike, to 0.1 %. least: about the root of the machine's precision; most: a step is then a hundred-thousandth
of Newton's and the problem rests."""
_EXHAUSTIVE = 30_000
"""So many subsets of one size are all tried, four of 30 pigments or three of 57; of larger sizes only those that grow out of the
best of the size below."""
LARGEST_UNASKED = 4
"""Where the target does not say how many pigments, sizes up to this are tried: one more than the three numbers of a colour."""
_PARENTS = 64
"""Best subsets of the size below that larger ones grow out of, on shelves too large for `_EXHAUSTIVE`: of 31 pigments
1800 subsets of four in place of 31 000."""


@dataclass(frozen=True, slots=True)
class Found(Rows):
    """Ends of the descents for one size of subset.

    columns, doses (N, m); cost (N,), Σ w (ΔE00/tolerance)² / Σ w and the hinges; ratio (N, C), ΔE00/tolerance of each
    section.
    """

    columns: Indices
    doses: Array
    cost: Array
    ratio: Array

    def vectors(self, pigments: int) -> Array:
        """The doses of every pigment (N, P)."""
        return of_every_pigment(self.doses, self.columns, pigments)

    def worst(self, weight: Array) -> Array:
        """The largest ΔE00/tolerance of each (N,), made larger by what the hinges cost."""
        hinges = self.cost - (self.ratio**2) @ (weight / weight.sum())
        worst: Array = np.sqrt(self.ratio.max(axis=1) ** 2 + np.maximum(hinges, 0.0))
        return worst


@dataclass(frozen=True, slots=True)
class _Descent(Found):
    """Problems under way. hessian: JᵀJ (B, m, m), gradient: Jᵀr (B, m), of residuals and hinges."""

    hessian: Array
    gradient: Array


def search(aim: Aim, progress: Progress | None = None, each: int = STARTS) -> list[Found]:
    """The best ends for every subset of the allowed pigments, a `Found` for each size of subset.

    progress: called with the fraction done after every chunk. each: starts of a subset, the first of `STARTS`.
    """
    sizes = range(1, largest_subset(aim) + 1)
    expected = sum(min(comb(len(aim.allowed), m), _EXHAUSTIVE) for m in sizes)
    done = 0
    found: list[Found] = []
    for m in sizes:
        parts = []
        for columns in _subsets(aim, m, found, max(_CHUNK // each, 1)):
            parts.append(search_these(aim, columns, each))
            done += len(columns)
            if progress is not None:
                progress(min(done / max(expected, 1), 1.0))
        found.append(Found(*(np.concatenate([getattr(part, name) for part in parts]) for name in Found.__slots__)))
    return found


def largest_subset(aim: Aim) -> int:
    """Of so many pigments at most recipes are made."""
    return aim.most_pigments if aim.target.limits.pigments is not None else min(aim.most_pigments, LARGEST_UNASKED)


def least_root(found: Iterable[Found]) -> float:
    """The root of the least Σ w (ΔE00/tolerance)² / Σ w, hinges in it, that any descent came to."""
    return float(np.sqrt(min(part.cost.min() for part in found)))


def grown(supports: Iterable[Support], by: Iterable[int], largest: int) -> list[Support]:
    """Each support with one more pigment: added where it has room, and in place of each of its own."""
    extra = tuple(by)
    shrunk = [
        left
        for one in supports
        for left in (*((one,) if len(one) < largest else ()), *(one[:i] + one[i + 1 :] for i in range(len(one))))
    ]
    return sorted({tuple(sorted({*one, p})) for one in shrunk for p in extra if p not in one})


def search_supports(aim: Aim, supports: Sequence[Support], each: int = STARTS) -> Found:
    """As `search_these`, for subsets of several sizes in one batch: made up to one width with pigments that may end at 0."""
    width = max(map(len, supports))
    others = ([p for p in aim.allowed if p not in one][: width - len(one)] for one in supports)
    filled = dict.fromkeys(tuple(sorted([*one, *more])) for one, more in zip(supports, others, strict=True))
    return search_these(aim, np.array(list(filled), dtype=np.intp), each)


def _subsets(aim: Aim, m: int, found: list[Found], per_chunk: int) -> Iterator[Indices]:
    """Subsets of size m (n, m) in chunks: all of them, or those that the best smaller ones grow into."""
    if comb(len(aim.allowed), m) <= _EXHAUSTIVE:
        flat = np.fromiter((p for subset in combinations(aim.allowed, m) for p in subset), dtype=np.intp)
        every = flat.reshape(-1, m)
    else:
        parents = found[-1].columns[np.argsort(found[-1].cost, kind="stable")[:_PARENTS]]
        grown = {tuple(sorted({*parent, p})) for parent in parents.tolist() for p in aim.allowed if p not in parent}
        every = np.array(sorted(grown), dtype=np.intp)
    for start in range(0, len(every), per_chunk):
        yield every[start : start + per_chunk]


def search_these(aim: Aim, subsets: Indices, each: int = STARTS) -> Found:
    """So many starts of these subsets descended; of each subset the best end, and the next best if it is another."""
    columns = np.repeat(subsets, each, axis=0)
    first = starts(aim, subsets).reshape(len(subsets), STARTS, -1)[:, :each]
    ends = projected_levenberg_marquardt(aim, first.reshape(columns.shape), columns)
    cost = ends.cost.reshape(-1, each)
    doses = ends.doses.reshape(len(subsets), each, -1)
    order = np.argsort(cost, axis=1, kind="stable")
    row = np.arange(len(subsets))
    best = order[:, 0]
    # Another end of the same subset counts where it is plainly elsewhere, by 5 % of all pigment; those in the same basin, which
    # stopped apart, are dropped.
    apart = np.abs(doses - doses[row, best][:, None]).sum(axis=2) > 0.05 * doses[row, best].sum(axis=1)[:, None] + 1e-9
    other = np.where(apart, cost, np.inf)
    second = np.argmin(other, axis=1)
    has_second = np.isfinite(other[row, second])
    keep = np.concatenate([row * each + best, (row * each + second)[has_second]])
    return Found(columns[keep], ends.doses[keep], ends.cost[keep], ends.ratio[keep])


def projected_levenberg_marquardt(aim: Aim, doses: Array, columns: Indices) -> Found:
    """Levenberg-Marquardt from doses (B, m) within 0 ≤ c ≤ upper; problems that have arrived leave the batch.

    Returns the ends, in the order given.
    """
    columns, upper = columns.copy(), aim.upper[columns]
    now = _normal(aim, np.clip(doses, 0.0, upper), columns)
    out = Found(columns, now.doses.copy(), now.cost.copy(), now.ratio.copy())
    at, damping = np.arange(len(doses)), _DAMPING.start(len(doses))
    for _ in range(_STEPS):
        step, gain = _bounded_step(now, upper, damping)
        new = _normal(aim, np.clip(now.doses + step, 0.0, upper), now.columns)
        better = new.cost < now.cost
        drop = np.where(better, now.cost - new.cost, 0.0)
        if better.all():
            now = new
        else:
            gained = np.flatnonzero(better)
            now.put(gained, new, gained)
        damping, cost = _DAMPING.after(damping, better), now.cost
        # Below 1e-8 every ΔE00 is under a ten-thousandth of its tolerance; 1e-4 of the cost: good enough to rank by.
        arrived = (cost < 1e-8) | (gain < 1e-5 * cost) | (better & (drop < 1e-4 * cost)) | (damping > _DAMPING.most)
        if arrived.any():
            out.put(at[arrived], now, arrived)
            stay = np.flatnonzero(~arrived)
            if not stay.size:
                return out
            at, now, damping, upper = at[stay], now.take(stay), damping[stay], upper[stay]
    out.put(at, now, np.arange(len(at)))
    return out


def _normal(aim: Aim, doses: Array, columns: Indices) -> _Descent:
    seen = sight(aim, doses, columns)
    residual, turn = residuals_with_slope(aim.target_lab, seen.lab)
    share = aim.share
    slope = (turn @ seen.lab_slope) * share[:, None, None]
    batch, width = doses.shape
    slope = slope.reshape(batch, -1, width)
    ratio = np.sqrt((residual**2).sum(axis=-1))
    residual = (residual * share[:, None]).reshape(batch, -1)
    ratio /= aim.tolerance
    cost = (residual**2).sum(axis=1)
    across = slope.transpose(0, 2, 1)
    hessian = across @ slope
    gradient = (across @ residual[:, :, None])[..., 0]
    prices = (_HINGE / aim.total_phr, _HINGE, _HINGE / max(aim.haze_room, 1e-3))
    for limit in aim.joint:
        over = np.maximum(prices[limit] * seen.over[:, limit], 0.0)
        by = np.where(over[:, None] > 0, prices[limit] * seen.over_slope[:, limit], 0.0)
        cost += over**2
        hessian += by[:, :, None] * by[:, None, :]
        gradient += over[:, None] * by
    return _Descent(columns, doses, cost, ratio, hessian, gradient)


def _bounded_step(now: _Descent, upper: Array, damping: Array) -> tuple[Array, Array]:
    """The damped step within the box (B, m), and how much the quadratic model falls along it (B,).

    Doses at a bound that the gradient pushes outward stay; those whose step leaves the box stop at it, and the rest
    step again.
    """
    at, hessian, gradient = now.doses, now.hessian, now.gradient
    width = at.shape[1]
    diagonal = np.arange(width)
    damped = hessian.copy()
    own = hessian[:, diagonal, diagonal]
    damped[:, diagonal, diagonal] = own + damping[:, None] * own + 1e-12 * own.max(axis=1, keepdims=True) + 1e-300
    held = ((at <= 0) & (gradient > 0)) | ((at >= upper) & (gradient < 0))
    step = _solved(damped, gradient, held, np.zeros_like(at))
    if width > 1:
        reach = at + step
        leaves = ~held & ((reach < 0) | (reach > upper))
        if leaves.any():
            again = leaves.any(axis=1)
            bound = np.where(reach < 0, -at, upper - at)
            fixed = np.where(leaves, bound, 0.0)[again]
            step[again] = _solved(damped[again], gradient[again], (held | leaves)[again], fixed)
    step = np.clip(at + step, 0.0, upper) - at
    fall = -(gradient * step).sum(axis=1) - 0.5 * np.einsum("bi,bij,bj->b", step, hessian, step)
    return step, fall


def _solved(matrix: Array, gradient: Array, held: Mask, fixed: Array) -> Array:
    """x with x = fixed where held and (matrix x + gradient) = 0 elsewhere, by elimination over the whole batch at once.

    The matrices are symmetric and positive definite, so no pivot is needed; a few operations on (B,) vectors beat B
    small solves.
    """
    width = gradient.shape[1]
    free = ~held
    right = -gradient - np.einsum("bij,bj->bi", matrix, fixed)
    right = np.where(free, right, 0.0).T.copy()
    a = np.where(free[:, :, None] & free[:, None, :], matrix, 0.0).transpose(1, 2, 0).copy()
    for i in range(width):
        a[i, i] += held[:, i]
    for i in range(width):
        a[i, i] = np.maximum(a[i, i], 1e-300)
        for j in range(i + 1, width):
            factor = a[j, i] / a[i, i]
            a[j, i + 1 :] -= factor * a[i, i + 1 :]
            right[j] -= factor * right[i]
    for i in reversed(range(width)):
        for j in range(i + 1, width):
            right[i] -= a[i, j] * right[j]
        right[i] /= a[i, i]
    return right.T + fixed
