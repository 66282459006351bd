"""From the ends of the search to the few dose vectors worth showing: polished, lawful, really different, ranked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import ManyLooks
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.search.descend import Found
from tintmix.recipes.search.reported import means, measure, retract
from tintmix.recipes.search.sequential_quadratic import Candidate, sequential_quadratic_programming

ALIKE = 0.3
"""ΔE00: two proposals of the same pigments that are nearer than this at every section are one proposal."""
_WORTH = 0.001
"""ΔE00/tolerance: where fewer of the same pigments look the same, a further pigment must gain more than this in the best
proposals: no reading tells a thousandth."""
_WORTH_BELOW = 0.1
"""The same in proposals that are there to offer a choice: a tenth of a tolerance is not worth one more thing to weigh."""
_NO_CHOICE = 3.0
"""Times the largest ΔE00/tolerance of the best (or 1, where that is less): a recipe farther off than this is no choice."""
_NIL = 0.15
"""ΔE00/tolerance by which a trace of a pigment has to move a place to be kept: ALIKE where 2 is allowed, as is usual."""
_NIL_COSTS = 0.01
"""ΔE00/tolerance that leaving out such a trace may cost where the target is not reached; where it is, it has to stay so."""
_FAINT = 0.02
"""A trace: absorbance at its strongest band and the thickest place. More changes L* by a unit."""
_LEAST_OF_CHIP = 1e-3
"""Of the strongest chip: a casting a hundred times as thick, and ten times as pale, takes no more."""
_FIRST = 6
"""So many candidates are kept whatever they hold, so that a short list is never emptied by `_adds_little`. With 3 every
answer to 40 simulated targets stays; with 12 one that cannot be met comes 0.09 ΔE00 nearer (`python -m
tests.accuracy.constants solves`, as below)."""
_NEARLY = 1.5
"""Largest ΔE00/tolerance of a candidate that making its largest error smallest may still bring within. With 1.2 all answers stay;
with 3 two of six to the shipped targets have one proposal more."""
_LARGEST = 10
"""So many at most are polished by their largest error. With 20 no best answer to 40 simulated
targets changes; with 5 one is 0.29 ΔE00 farther off."""
_ROUNDS = 4
"""Rounds end when the shift is `_QUIET`: with 2 or 8 no answer to sixteen simulated and the shipped targets changes."""
_QUIET = 1e-6
"""L*a*b*: the last decimal of ΔE00 that a proposal reports."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Dose vectors (N, P) in order of rank, and what the model reports of them."""

    doses: Array
    told: ManyLooks


def choose(aim: Aim, found: Sequence[Found], most: int) -> Chosen:
    """The best `most` dose vectors by the largest ΔE00/tolerance; among them always the one best in the mean square."""
    # Of twice as many here, or below, or all draws in `measure`, no answer to ten simulated and the shipped targets changes.
    pool = _shortlist(aim, found, 2 * most + 12)
    pool = _settling(aim, pool, steps=6)
    pool = _narrowed(aim, pool, most + 6)
    if len(aim.coloured) > 1:
        # Where nothing is within tolerance the largest error decides; else only for what is nearly within.
        least = min(one.worst for one in pool)
        highest = _NEARLY if least <= 1 else np.inf
        promising = [one for one in pool if 1 < one.worst <= highest]
        pool = pool + [replace(one, kind="max") for one in promising[:_LARGEST]]
    pool = _settled(aim, pool)
    return _ranked(aim, pool, most)


def _settling(aim: Aim, pool: list[Candidate], steps: int) -> list[Candidate]:
    shift = measure(aim, np.array([one.doses for one in pool]), every=6)
    return sequential_quadratic_programming(aim, pool, shift, steps=steps)


def _shortlist(aim: Aim, found: Sequence[Found], count: int) -> list[Candidate]:
    doses = np.concatenate([part.vectors(len(aim.model.pigments)) for part in found])
    cost = np.concatenate([part.cost for part in found])
    worst = np.concatenate([part.worst(aim.weight) for part in found])
    ratio = np.concatenate([part.ratio for part in found])
    order = np.stack([np.argsort(by, kind="stable")[: 8 * count] for by in (worst, cost)], axis=1).ravel()
    power = aim.model.absorptivity.mean(axis=1)
    smaller: dict[tuple[int, ...], float] = {}
    for index in np.argsort(-worst, kind="stable"):
        smaller[tuple(np.flatnonzero(doses[index] > 0).tolist())] = float(worst[index])
    chosen: list[Candidate] = []
    seen: dict[tuple[int, ...], list[Array]] = {}
    for index in dict.fromkeys(order.tolist()):
        support = tuple(np.flatnonzero(doses[index] > 0).tolist())
        near = seen.setdefault(support, [])
        if any(np.all(np.abs(doses[index] - other) <= 0.01 * (other + doses[index])) for other in near):
            continue
        if len(chosen) >= _FIRST and _adds_little(doses[index], support, float(worst[index]), smaller, power):
            continue
        near.append(doses[index])
        chosen.append(Candidate(doses[index], support, "sum", ratio[index]))
        if len(chosen) >= count:
            break
    return chosen


def _adds_little(
    doses: Array, support: tuple[int, ...], worst: float, smaller: Mapping[tuple[int, ...], float], power: Array
) -> bool:
    """Whether one pigment does under a twentieth of the darkening, 5 %, and the rest alone come nearly as near."""
    if len(support) < 2:
        return False
    part = doses[list(support)] * power[list(support)]
    least = int(np.argmin(part))
    rest = support[:least] + support[least + 1 :]
    return bool(part[least] < 0.05 * part.sum()) and smaller.get(rest, np.inf) <= worst + _WORTH_BELOW


def _settled(aim: Aim, pool: list[Candidate]) -> list[Candidate]:
    """Rounds of measuring how the reported colour differs from the point model's, and of settling with that."""
    doses = np.array([one.doses for one in pool])
    support = np.array([[p in one.support for p in range(len(one.doses))] for one in pool])
    shift = measure(aim, doses, support)
    pool = sequential_quadratic_programming(aim, pool, shift)
    for _ in range(_ROUNDS):
        doses = np.array([one.doses for one in pool])
        fresh = measure(aim, doses)
        held = shift.lab + np.einsum("ncxp,np->ncx", shift.lab_slope, doses - shift.at)
        shift = replace(fresh, lab_slope=shift.lab_slope, log_light_slope=shift.log_light_slope)
        pool = sequential_quadratic_programming(aim, pool, shift, steps=6)
        if np.abs(fresh.lab - held).max() < _QUIET:
            break
    return pool


def _narrowed(aim: Aim, pool: list[Candidate], count: int) -> list[Candidate]:
    by_worst = sorted(range(len(pool)), key=lambda i: pool[i].worst)
    by_cost = sorted(range(len(pool)), key=lambda i: pool[i].cost(aim.weight))
    order = dict.fromkeys(index for pair in zip(by_worst, by_cost, strict=True) for index in pair)
    kept: list[Candidate] = []
    for index in order:
        one = pool[index]
        twin = any(
            one.support == other.support and np.all(np.abs(one.doses - other.doses) <= 1e-3 * other.doses + 1e-12)
            for other in kept
        )
        if not twin:
            kept.append(one)
    return kept[:count]


def _ranked(aim: Aim, pool: list[Candidate], most: int) -> Chosen:
    doses = _without_nil(aim, retract(aim, np.array([one.doses for one in pool])))
    lab = means(aim, doses, aim.sections)[0]
    ratio = delta_e00(lab[:, list(aim.coloured)], aim.target_lab) / aim.tolerance
    # Six decimals of ΔE00 is what a proposal reports; below that lies the noise of the last step, which must not rank.
    worst = np.max(np.round(ratio * aim.tolerance, 6) / aim.tolerance, axis=1)
    square = np.round(ratio**2 @ aim.weight, 9)
    supports = [frozenset(np.flatnonzero(row > 0).tolist()) for row in doses]
    total = doses.sum(axis=1)
    order = sorted(range(len(pool)), key=lambda i: (worst[i], len(supports[i]), total[i]))
    apart: list[int] = []
    for i in order:
        if not any(supports[i] == supports[j] and _alike(lab, i, j) for j in apart):
            apart.append(i)
    best = min(apart, key=lambda i: square[i])
    kept: list[int] = []
    for i in sorted(apart, key=lambda i: len(supports[i])):
        worth = _WORTH if i in (apart[0], best) else _WORTH_BELOW
        if not any(supports[j] < supports[i] and worst[j] <= worst[i] + worth and _alike(lab, i, j) for j in kept):
            kept.append(i)
    kept = [i for i in apart if i in kept and worst[i] <= _NO_CHOICE * max(worst[apart[0]], 1.0)]
    if best in kept[most:] and most > 1:
        kept[most - 1] = best
    kept = kept[:most]
    told = aim.model.look_many(doses[kept], aim.sections, aim.target.light, aim.target.observer)
    return Chosen(doses[kept], told)


def _without_nil(aim: Aim, doses: Array) -> Array:
    """The dose vectors (N, P) without pigments that nobody could see, or that no chip tells of."""
    if aim.model.health.contradicts:
        # In draws spread that wide a millionth of a phr still colours, and no scale weighs it.
        doses = np.where(doses < _LEAST_OF_CHIP * aim.model.highest_phr, 0.0, doses)
    coloured = [aim.sections[c] for c in aim.coloured]
    strongest = doses * (aim.judged_mm * aim.model.absorptivity.max(axis=1))
    for p in range(doses.shape[1]):
        faint = np.flatnonzero((strongest[:, p] > 0) & (strongest[:, p] < _FAINT))
        if len(faint):
            less = doses[faint].copy()
            less[:, p] = 0.0
            seen, then = (means(aim, some, coloured)[0] for some in (doses[faint], less))
            moved, off, left = (
                (delta_e00(*pair) / aim.tolerance).max(axis=1)
                for pair in ((seen, then), (seen, aim.target_lab), (then, aim.target_lab))
            )
            nil = (moved <= _NIL) & (left <= np.maximum(off + _NIL_COSTS, 1.0))
            doses[faint[nil], p] = 0.0
    return doses


def _alike(lab: Array, i: int, j: int) -> bool:
    return bool(np.all(delta_e00(lab[i], lab[j]) < ALIKE))
