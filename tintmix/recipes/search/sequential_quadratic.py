"""The last steps of the best candidates: limits met exactly, and, where asked, the largest error made smallest.

Sequential quadratic programming on a Gauss-Newton model. "sum" minimises Σ w (ΔE00/tolerance)² / Σ w; "max" the
largest ΔE00/tolerance: min z, ½ ratio_s² ≤ z for every section s, whose multipliers weigh the sections' JᵀJ in the
Hessian. The box, the total and the ceiling on haze are linear; the floor is linear in log light, a convex function,
so that a step which meets the linear floor meets the true one. Nocedal & Wright, *Numerical Optimization*, ch. 18.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tintmix.optics.difference import residuals_with_slope
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.levenberg_marquardt import Damping
from tintmix.recipes.search.active_set import dual_active_set
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.search.forward import TOTAL, Indices, Mask, Rows, of_every_pigment, sight
from tintmix.recipes.search.reported import Shift

Kind = Literal["sum", "max"]

_STEPS = 20
"""From the search's ends fewer are enough: with 40 no answer changes."""
_DAMPING = Damping(first=1e-6, ease=0.1, stiffen=10.0, least=1e-9, least_after=1e-4, most=1e4)
"""Nearly undamped: the search has brought the candidates close. With first = 1e-2 answers move by 2e-4 ΔE00 at most, with 1e-9
not at all (`python -m tests.accuracy.constants solves`)."""
_STILL = 1e-7
"""A candidate rests when its merit would fall by less than this part. With a hundredth of it, and of the next, answers move by
3e-4 ΔE00 at most."""
_STILL_LARGEST = 1e-5
"""The same for "max", which is never at zero."""
_LEAK = 1e3
"""Price of a limit broken by its whole self, in squared tolerances: an l₁ penalty is exact where it is above the largest
multiplier (Nocedal & Wright, ch. 17.2), and what it leaves is drawn back by `reported.retract`. With a hundredth of it answers
move by 0.004 ΔE00, with ten times by 2e-5."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A dose vector (P,) under way: its support, what it minimises, where it stands.

    ratio: (C,), ΔE00/tolerance of the corrected colours.
    """

    doses: Array
    support: tuple[int, ...]
    kind: Kind
    ratio: Array

    @property
    def worst(self) -> float:
        """The largest ΔE00/tolerance."""
        return float(self.ratio.max())

    def cost(self, weight: Array) -> float:
        """Σ w ratio² / Σ w."""
        return float(self.ratio**2 @ weight / weight.sum())


@dataclass(frozen=True, slots=True)
class _State(Rows):
    """Candidates at one point: their own pigments only (w columns, of which some are real, the rest padding).

    largest: (N,), whether of "max". half: (N, C), ½ ratio²; slopes: (N, C, w), of half; grams: (N, C, w, w), JᵀJ of each
    section in its tolerance. over, over_slope: of `Sight`. merit: (N,), what is made smallest: the largest ratio² or their
    weighted mean, and a steep price on limits broken.
    """

    columns: Indices
    real: Mask
    largest: Mask
    doses: Array
    half: Array
    slopes: Array
    grams: Array
    over: Array
    over_slope: Array
    merit: Array


def sequential_quadratic_programming(
    aim: Aim, candidates: Sequence[Candidate], shift: Shift, steps: int = _STEPS
) -> list[Candidate]:
    """Each candidate taken to its own minimum under the limits, the shift of reported from point values given."""
    if not candidates:
        return []
    columns, real = _padded(candidates)
    start = np.array([one.doses for one in candidates])
    largest = np.array([one.kind == "max" for one in candidates])
    doses = np.where(real, np.take_along_axis(start, columns, axis=1), 0.0)
    state = _look(aim, columns, real, largest, doses, shift)
    damping = _DAMPING.start(len(candidates))
    weights = np.tile(aim.weight / aim.weight.sum(), (len(candidates), 1))
    still = np.where(largest, _STILL_LARGEST, _STILL)
    live = np.arange(len(candidates))
    for _ in range(steps):
        now = state.take(live)
        step, fall, weights[live] = _steps(aim, now, damping[live], weights[live])
        moving = np.flatnonzero(fall > still[live] * now.merit + 1e-18)
        live, now = live[moving], now.take(moving)
        if not live.size:
            break
        trial = np.clip(now.doses + step[moving], 0.0, aim.upper[now.columns])
        new = _look(aim, now.columns, now.real, now.largest, trial, shift.take(live))
        better = new.merit < now.merit
        stalled = better & (now.merit - new.merit <= still[live] * now.merit + 1e-18)
        state.put(live[better], new, better)
        damping[live] = _DAMPING.after(damping[live], better)
        live = live[~stalled & (damping[live] <= _DAMPING.most)]
    # A dose whose whole effect is below a millionth of a tolerance is none.
    state.doses[np.sqrt(np.einsum("nsii->ni", state.grams)) * state.doses < 1e-6] = 0.0
    ratio = np.sqrt(2 * state.half)
    end = of_every_pigment(np.where(real, state.doses, 0.0), columns, start.shape[1])
    return [
        replace(one, doses=end[i], ratio=ratio[i], support=tuple(p for p in one.support if end[i, p] > 0))
        for i, one in enumerate(candidates)
    ]


def _padded(candidates: Sequence[Candidate]) -> tuple[Indices, Mask]:
    """Columns (N, w) of the supports, and which are real: shorter ones are padded with pigments they do not have."""
    sizes = np.array([len(one.support) for one in candidates])
    width, every = max(1, int(sizes.max())), range(len(candidates[0].doses))
    columns = [[*one.support, *(p for p in every if p not in one.support)][:width] for one in candidates]
    return np.array(columns, dtype=np.intp), np.arange(width) < sizes[:, None]


def _look(aim: Aim, columns: Indices, real: Mask, largest: Mask, doses: Array, shift: Shift) -> _State:
    seen = shift.apply(sight(aim, doses, columns), doses, columns)
    residual, turn = residuals_with_slope(aim.target_lab, seen.lab)
    residual = residual / aim.tolerance[:, None]
    slope = (turn @ seen.lab_slope) * (real[:, None, None, :] / aim.tolerance[:, None, None])
    across = slope.transpose(0, 1, 3, 2)
    half = 0.5 * (residual**2).sum(axis=2)
    square = 2 * half
    merit: Array = np.where(largest, square.max(axis=1), square @ aim.weight / aim.weight.sum())
    for limit in aim.joint:
        whole = aim.total_phr if limit == TOTAL else 1.0
        merit = merit + _LEAK * np.maximum(seen.over[:, limit] / whole, 0.0)
    slopes = (across @ residual[..., None])[..., 0]
    return _State(columns, real, largest, doses, half, slopes, across @ slope, seen.over, seen.over_slope, merit)


def _steps(aim: Aim, now: _State, damping: Array, weights: Array) -> tuple[Array, Array, Array]:
    """Steps (n, w), the fall of merit each expects (n,), and the sections' weights (n, C), renewed.

    Where the free step of a "sum" breaks no limit it is the answer; the rest goes through the quadratic programme, one
    by one.
    """
    share = np.where(now.largest[:, None], weights, aim.weight / aim.weight.sum())
    diagonal = np.einsum("nsii->ni", now.grams)
    extra = (damping[:, None] + 1e-12) * diagonal + 1e-14 * diagonal.max(axis=1, keepdims=True) + 1e-30
    hessian = np.einsum("ns,nsij->nij", share, now.grams)
    at = np.arange(hessian.shape[1])
    hessian[:, at, at] += extra
    # Unit steps in every direction: pigments differ a hundredfold in strength.
    unit = np.where(now.real, 1 / np.sqrt(diagonal + 1e-30), 0.0)
    hessian *= unit[:, :, None] * unit[:, None, :]
    hessian[:, at, at] += ~now.real
    gradient = np.einsum("ns,nsi->ni", share, now.slopes) * unit
    scaled = np.linalg.solve(hessian, -gradient[..., None])[..., 0]
    fall = -2 * (gradient * scaled).sum(axis=1) - np.einsum("ni,nij,nj->n", scaled, hessian, scaled)
    step = scaled * unit
    above = aim.upper[now.columns] - now.doses
    inside = np.all((now.doses + step >= 0) & (now.doses + step <= aim.upper[now.columns]), axis=1) & ~now.largest
    inside &= np.all(now.over + (now.over_slope @ step[..., None])[..., 0] <= 0, axis=1)
    for i in np.flatnonzero(~inside).tolist():
        m = int(now.real[i].sum())
        if m == 0:
            step[i], fall[i] = 0.0, 0.0
            continue
        # The box, the total, the floor, the ceiling.
        rows = np.concatenate([np.eye(m), -np.eye(m), now.over_slope[i, aim.joint, :m]]) * unit[i, :m]
        bounds = np.concatenate([above[i, :m], now.doses[i, :m], -now.over[i, aim.joint]])
        own, pull = hessian[i, :m, :m], gradient[i, :m]
        if now.largest[i]:
            part, fall[i], weights[i] = _largest_step(
                own, now.slopes[i, :, :m] * unit[i, :m], now.half[i], rows, bounds, weights[i]
            )
        else:
            part, _ = dual_active_set(own, pull, rows, bounds)
            fall[i] = -2 * float(pull @ part) - float(part @ own @ part)
        step[i, :m] = part * unit[i, :m]
    return step, fall, weights


def _largest_step(
    hessian: Array, slopes: Array, half: Array, rows: Array, bounds: Array, weight: Array
) -> tuple[Array, float, Array]:
    """Step that lowers the largest of the sections, the fall it expects, the sections' weights.

    Variables: the step (m,) and z, the largest ½ ratio² in units of what it is now.
    """
    m, count = len(hessian), len(half)
    top = max(float(half.max()), 1e-30)
    wide = np.zeros((m + 1, m + 1))
    wide[:m, :m] = hessian / top
    wide[m, m] = 1e-7
    gradient = np.append(np.zeros(m), 1.0)
    every = np.zeros((count + len(rows), m + 1))
    every[:count, :m] = slopes / top
    every[:count, m] = -1.0
    every[count:, :m] = rows
    step, pull = dual_active_set(wide, gradient, every, np.concatenate([-half / top, bounds]))
    held = np.maximum(pull[:count], 0.0)
    move = step[:m]
    fall = 2 * top * (1 - float(step[m])) - float(move @ hessian @ move)
    return move, fall, held / held.sum() if held.sum() > 0 else weight
