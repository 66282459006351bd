"""Why the nearest tint is not near enough: limits lifted and the target searched anew, each section asked for alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb
from typing import Any

import numpy as np

from tintmix.optics.colour import lab
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.spectrum import Array
from tintmix.recipes.missing import NOTABLE, SURELY, Missing, further_pigment
from tintmix.recipes.proposals import factors
from tintmix.recipes.search.aim import Aim, lay
from tintmix.recipes.search.choice import choose
from tintmix.recipes.search.descend import (
    LARGEST_UNASKED,
    Found,
    Support,
    grown,
    largest_subset,
    least_root,
    search,
    search_supports,
)
from tintmix.recipes.search.reported import haze_depth, means, retract

_NOTABLE_PIGMENT = 0.75
"""As NOTABLE, of one more pigment, which has to be bought and measured first."""
_EVERY = 200
"""So many subsets are searched as `solve` does; of more, those that came nearest within the limits go first."""
_THREE = 3
"""As many numbers as a colour has."""
_SUPPORTS = 64
"""As many as larger subsets grow out of in the search (`descend._PARENTS`)."""
_GROWN = 16
"""The nearest subsets that take in a further pigment where a limit on these is lifted."""
_ENDS = 4
"""Ends of the descents that are looked at before they are polished: one within tolerance is an answer."""


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why a target is not reached.

    binding: keys of [limits] ("luminous_transmittance", "total_phr", "haze_percent", "pigments", "leave_out"),
    "max_total_phr" of the resin, "max_phr" of the pigments: the fewest without which it is. Where no limits do: "resin" (a
    target lighter than the untinted resin), "gamut" (a colour that these pigments do not make), "sections" (each section can be
    met, but not all by one tint); "chips" where these cannot be named, as the chips are suspected or the model's bands do not
    exclude that it is reached. instead: other limits of which one alone does as well as a single one that is binding.
    nearer: the largest ΔE00 that is left without that limit alone, where notably less, but not little enough. is_open: the bands
    do not exclude that it is reached within the limits.
    """

    binding: tuple[str, ...]
    instead: tuple[str, ...]
    nearer: Mapping[str, float]
    missing: Missing | None
    is_open: bool


def reasons_of_short(aim: Aim, found: Sequence[Found], nearest: float, most: int) -> Reasons:
    """What keeps the largest ΔE00/tolerance at `nearest`, above 1. most: as in `solve`, whose answers these foretell."""
    supports = best_supports(found, _SUPPORTS)
    keys = set_limits(aim)
    part = {key: _NOTABLE_PIGMENT if key == "pigments" else NOTABLE for key in keys}
    least = least_root(found)
    alone = {key: _nearest(lifted(aim, (key,)), aim, supports, most, part[key] * least) for key in keys}
    binding: tuple[str, ...] = next(((key,) for key in keys if alone[key][0] <= 1.0), ())
    free = lifted(aim, keys)
    if not binding and len(keys) > 1 and _reached(free, aim, supports, most):
        # A limit that all others lifted cannot do without is in every set that reaches.
        rest = {key: tuple(other for other in keys if other != key) for key in keys}
        needed = [key for key in keys if _without(aim, rest[key], supports, most)[0] > 1.0]
        others = [key for key in keys if key not in needed]
        sets = (
            tuple(k for k in keys if k in {*needed, *more})
            for n in range(len(keys))
            for more in combinations(others, n)
        )
        binding = next((one for one in sets if len(one) > 1 and _without(aim, one, supports, most)[0] <= 1.0), keys)
    nearer = {key: off for key, (ratio, off) in alone.items() if 1.0 < ratio <= part[key] * nearest}
    suspected = aim.model.health.is_suspected
    is_open = not suspected and _is_open(aim, found, aim, supports, most)
    if binding:
        instead = tuple(key for key in keys if alone[key][0] <= 1.0 and key not in binding)
        return Reasons(binding, instead, nearer, None, is_open)
    if is_open or suspected or (keys and _is_open(free, None, aim, supports, most)):
        return Reasons(("chips",), (), nearer, None, is_open)
    binding = _without_limits(free, supports, most)
    missing = None if binding == ("sections",) else further_pigment(aim, supports, nearest, least)
    return Reasons(binding, (), nearer, missing, is_open)


def lifted(aim: Aim, keys: Iterable[str]) -> Aim:
    """The aim without these limits, keys as in `Reasons.binding`."""
    limits, model = aim.target.limits, aim.model
    for key in keys:
        if key == "max_phr":
            model = replace(model, max_phr=np.full(len(model.pigments), np.inf))
        elif key == "max_total_phr" and model.resin is not None:
            model = replace(model, resin=replace(model.resin, max_total_phr=None))
        else:
            none: dict[str, Any] = {key: () if key == "leave_out" else None}
            limits = replace(limits, **none)
    return lay(model, replace(aim.target, limits=limits))


def active_limits(aim: Aim, doses: Array, light: float) -> tuple[str, ...]:
    """Limits that a proposal stands at: doses (P,) and its reported light through."""
    depth = float(haze_depth(aim, doses[None])[0])
    asked = aim.target.limits.total_phr
    stands = {
        "luminous_transmittance": aim.floor > 0 and light <= aim.floor * (1 + 1e-6),
        # Whether the target or the resin sets the total that counts.
        "total_phr" if asked is not None and asked <= aim.total_phr else "max_total_phr": doses.sum()
        >= aim.total_phr * (1 - 1e-9),
        "haze_percent": depth > 0 and depth >= aim.haze_room * (1 - 1e-9),
        "max_phr": np.any((doses > 0) & (doses >= aim.model.max_phr * (1 - 1e-9))),
    }
    return tuple(key for key, is_at in stands.items() if is_at)


def best_supports(found: Sequence[Found], count: int) -> list[Support]:
    """The subsets that came nearest in the mean square, without those that are the same with a dose of zero.

    Where every descent ended at the untinted resin: the subsets that were tried.
    """
    cost = np.concatenate([part.cost for part in found])
    supports = [
        tuple(columns[doses > 0].tolist())
        for part in found
        for columns, doses in zip(part.columns, part.doses, strict=True)
    ]
    order = np.argsort(cost, kind="stable")
    tinted = dict.fromkeys(supports[i] for i in order if supports[i])
    tried = tinted or dict.fromkeys(tuple(columns) for part in found for columns in part.columns.tolist())
    return list(tried)[:count]


def set_limits(aim: Aim) -> tuple[str, ...]:
    """The limits that hold, keys as in `Reasons.binding`."""
    limits, model = aim.target.limits, aim.model
    largest = min(LARGEST_UNASKED, len(aim.allowed) + len(limits.leave_out))
    is_set = {
        "luminous_transmittance": aim.floor > 0,
        "total_phr": limits.total_phr is not None,
        "max_total_phr": model.resin is not None and model.resin.max_total_phr is not None and not model.is_one_cup,
        "haze_percent": np.isfinite(aim.haze_room),
        "max_phr": bool(np.any(np.isfinite(model.max_phr))),
        "leave_out": bool(limits.leave_out),
        "pigments": limits.pigments is not None and limits.pigments < largest,
    }
    return tuple(key for key, so in is_set.items() if so)


def _without(aim: Aim, keys: Sequence[str], supports: list[Support], most: int) -> tuple[float, float]:
    return _nearest(lifted(aim, keys), aim, supports, most)


def _nearest(free: Aim, aim: Aim, supports: list[Support], most: int, enough: float = 1.0) -> tuple[float, float]:
    """Largest ΔE00/tolerance and largest ΔE00 of the best that `solve` finds for `free`, as it reports them.

    Where there are more than `_EVERY` subsets: for the supports, the best under `aim`, and what `free` lets grow out of them.
    Where an end of the descents is within tolerance: of this end. Where none has a root mean square of 1, or `enough`: infinite.
    """
    found = _searched(free, aim, supports)
    if least_root(found) > SURELY * max(enough, 1.0):
        return np.inf, np.inf
    told = _told(free, retract(free, _best_ends(free, found)))
    return told if told[0] <= 1.0 else _told(free, choose(free, found, most).doses[:1])


def _is_open(free: Aim, found: Sequence[Found] | None, aim: Aim, supports: list[Support], most: int) -> bool:
    """Whether some tint misses each place by no more than its tolerance, or than its prediction may be off by (95 %).

    As tints trade one place for another, that which is nearest by tolerance alone does not decide it. Bands: of the nearest.
    """
    told = choose(free, _searched(free, aim, supports) if found is None else found, most).told
    coloured = list(free.coloured)
    bands = within_95(delta_e00(told.lab_draws[0], told.lab[0]), axis=0)[coloured]
    wide = replace(free, tolerance=np.maximum(free.tolerance, bands))
    if np.all(delta_e00(told.lab[0, coloured], free.target_lab) <= wide.tolerance):
        return True
    return len(coloured) > 1 and _nearest(wide, aim, supports, most)[0] <= 1.0


def _searched(free: Aim, aim: Aim, supports: list[Support]) -> list[Found]:
    return search(free) if _subsets(free) <= _EVERY else _grown(free, aim, supports)


def _grown(free: Aim, aim: Aim, supports: list[Support]) -> list[Found]:
    fresh = [p for p in free.allowed if p not in aim.allowed]
    more = grown(supports[:_GROWN], fresh, largest_subset(free))
    found = [search_supports(free, [*supports, *more], each=2)]
    for width in range(largest_subset(aim) + 1, largest_subset(free) + 1):
        wider = {tuple(sorted({*one, p})) for one in best_supports(found, _GROWN) for p in free.allowed}
        found.append(search_supports(free, sorted(one for one in wider if len(one) <= width), each=1))
    return found


def _told(aim: Aim, doses: Array) -> tuple[float, float]:
    """Largest ΔE00/tolerance and largest ΔE00 of the best of dose vectors (N, P), as they are reported."""
    seen = means(aim, doses, [aim.sections[c] for c in aim.coloured])[0]
    off = np.round(delta_e00(seen, aim.target_lab), 6)
    best = int(np.argmin((off / aim.tolerance).max(axis=1)))
    return float((off[best] / aim.tolerance).max()), float(off[best].max())


def _best_ends(aim: Aim, found: Sequence[Found]) -> Array:
    """The ends with the least of the largest ΔE00/tolerance (N, P)."""
    worst = np.concatenate([part.worst(aim.weight) for part in found])
    doses = np.concatenate([part.vectors(len(aim.model.pigments)) for part in found])
    return doses[np.argsort(worst, kind="stable")[:_ENDS]]


def _reached(free: Aim, aim: Aim, supports: list[Support], most: int) -> bool:
    """Whether `free` is reached: where the supports do not, what grows out of the best of all subsets of three is tried too."""
    if _nearest(free, aim, supports, most)[0] <= 1.0:
        return True
    if _subsets(free) <= _EVERY:
        return False
    three = replace(free.target, limits=replace(free.target.limits, pigments=_THREE))
    small = replace(free, target=three, most_pigments=min(_THREE, free.most_pigments))
    every = best_supports(search(small, each=1), _SUPPORTS)
    grows = small if largest_subset(free) > _THREE else free
    return _nearest(free, grows, every, most)[0] <= 1.0


def _subsets(aim: Aim) -> int:
    return sum(comb(len(aim.allowed), m) for m in range(1, largest_subset(aim) + 1))


def _without_limits(free: Aim, supports: list[Support], most: int) -> tuple[str, ...]:
    clear = lab(factors(free, np.zeros((1, len(free.model.pigments))))[0] @ free.detector.weights, free.detector.bare)
    # A single section cannot be at odds with another, however near the search came to it.
    places = range(len(free.coloured))
    missed = [c for c in places if len(places) == 1 or not _alone(only(free, c), free, supports, most)]
    lighter = {bool(free.target_lab[c][0] > clear[free.coloured[c]][0]) for c in missed}
    return tuple(word for word, so in (("resin", True), ("gamut", False)) if so in lighter) or ("sections",)


def _alone(place: Aim, aim: Aim, supports: list[Support], most: int) -> bool:
    """Whether a place is met alone, as far as the chips tell."""
    return _reached(place, aim, supports, most) or _is_open(place, None, aim, supports, most)


def only(aim: Aim, c: int) -> Aim:
    """The aim with one coloured section alone; floor and ceiling stay."""
    part = slice(c, c + 1)
    return replace(
        aim,
        coloured=aim.coloured[part],
        target_lab=aim.target_lab[part],
        tolerance=aim.tolerance[part],
        weight=aim.weight[part],
        places=aim.places[part],
    )
