"""Why the nearest tint is not near enough: each limit lifted in turn, each section asked for alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tintmix.optics.colour import lab
from tintmix.optics.spectrum import Array
from tintmix.recipes.proposals import factors
from tintmix.recipes.search.aim import LARGEST_PHR, Aim
from tintmix.recipes.search.choice import nearest as nearest_among
from tintmix.recipes.search.descend import Found, search_these
from tintmix.recipes.search.reported import haze_depth
from tintmix.recipes.search.sequential_quadratic import Candidate

NOTABLE = 0.9
"""A tint comes notably nearer where what remains is at most this part of the difference: less is not worth a change."""
_NOTABLE_PIGMENT = 0.75
"""The same of one more pigment, which has to be bought and measured first."""
_SUPPORTS = 64
"""As many as larger subsets grow out of in the search (`descend._PARENTS`)."""
_SHARPENED = 4
"""Ends that are taken to their last digit: the descent ranks them already, to about a tenth of a tolerance."""

Support = tuple[int, ...]


def binding_of_short(aim: Aim, found: Sequence[Found], nearest: float) -> tuple[str, ...]:
    """What keeps the largest ΔE00/tolerance at `nearest`, above 1.

    Keys of [limits] ("luminous_transmittance", "total_phr", "haze_percent", "pigments", "leave_out"), "max_total_phr"
    of the resin, "max_phr" of a pigment; and where no limit does: "resin" (a target lighter than the untinted resin),
    "gamut" (a colour that these pigments do not make), "sections" (each section can be met, but not all by one tint).
    """
    supports = best_supports(found, _SUPPORTS)
    binding = _limits(aim, supports, nearest)
    if aim.target.limits.leave_out and _notable(_with_left_out(aim, supports), nearest, NOTABLE):
        binding.append("leave_out")
    if not binding and aim.target.limits.pigments is not None:
        # The best sixteen: each grows by every pigment.
        more = grown(supports[:16], aim.allowed)
        if more and _notable(nearest_of(aim, more), nearest, _NOTABLE_PIGMENT):
            binding.append("pigments")
    return tuple(binding) or _without_limits(aim, supports)


def active_limits(aim: Aim, doses: Array, light: float) -> tuple[str, ...]:
    """Limits that a proposal stands at: doses (P,) and its reported light through."""
    depth = float(haze_depth(aim, doses[None])[0])
    stands = {
        "luminous_transmittance": aim.floor > 0 and light <= aim.floor * (1 + 1e-6),
        total_key(aim): doses.sum() >= aim.total_phr * (1 - 1e-9),
        "haze_percent": depth > 0 and depth >= aim.haze_room * (1 - 1e-9),
        "max_phr": np.any((doses > 0) & (doses >= aim.model.max_phr * (1 - 1e-9))),
    }
    return tuple(key for key, is_at in stands.items() if is_at)


def total_key(aim: Aim) -> str:
    """Whether the target or the resin sets the total that counts."""
    asked = aim.target.limits.total_phr
    return "total_phr" if asked is not None and asked <= aim.total_phr else "max_total_phr"


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


def grown(supports: Iterable[Support], by: Iterable[int]) -> list[Support]:
    """Each support with one more pigment."""
    extra = tuple(by)
    return sorted({tuple(sorted({*support, p})) for support in supports for p in extra if p not in support})


def nearest_of(aim: Aim, supports: Sequence[Support]) -> float:
    """The largest ΔE00/tolerance of the best tint that these supports allow, or of the untinted resin."""
    width = max(map(len, supports))
    # Made up to one width, so that all go in one batch: a pigment too many ends at a dose of zero.
    others = ([p for p in aim.allowed if p not in support][: width - len(support)] for support in supports)
    filled = dict.fromkeys(tuple(sorted([*one, *more])) for one, more in zip(supports, others, strict=True))
    ends = search_these(aim, np.array(list(filled), dtype=np.intp))
    vectors = ends.vectors(len(aim.model.pigments))
    best = []
    for i in np.argsort(ends.worst(aim.weight), kind="stable")[:_SHARPENED]:
        best.append(Candidate(vectors[i], tuple(np.flatnonzero(vectors[i]).tolist()), "sum", ends.ratio[i]))
    return nearest_among(aim, best)


def _notable(found: float, nearest: float, part: float) -> bool:
    return found <= 1.0 < nearest or found <= part * nearest


def _limits(aim: Aim, supports: list[Support], nearest: float) -> list[str]:
    """Joint limits without which the tint would come notably nearer."""
    # max_total_phr: the resin's loading limit; max_phr: a pigment's, from set.toml.
    lifted: dict[str, tuple[str, Any]] = {
        "luminous_transmittance": ("floor", 0.0),
        total_key(aim): ("total_phr", np.inf),
        "haze_percent": ("haze_room", np.inf),
        "max_phr": ("upper", np.where(np.isfinite(aim.model.max_phr), np.maximum(aim.upper, LARGEST_PHR), aim.upper)),
    }
    most = bool(np.any(np.isfinite(aim.model.max_phr[list(aim.allowed)])))
    is_set = (aim.floor > 0, np.isfinite(aim.total_phr), np.isfinite(aim.haze_room), most)
    set_ = [key for key, so in zip(lifted, is_set, strict=True) if so]
    if not set_:
        return []
    free = nearest_of(replace(aim, **dict(lifted[key] for key in set_)), supports)
    if not _notable(free, nearest, NOTABLE):
        return []
    # With only one limit kept: does that one alone keep the tint away?
    holding = []
    for key in set_:
        others = dict(lifted[other] for other in set_ if other != key)
        alone = nearest_of(replace(aim, **others), supports) if others else nearest
        if _notable(free, alone, NOTABLE):
            holding.append(key)
    return holding or set_


def _with_left_out(aim: Aim, supports: list[Support]) -> float:
    out = [p for p in range(len(aim.model.pigments)) if p not in aim.allowed]
    # The best sixteen, with one of the pigments left out added or in place of one of theirs.
    fits = [support for support in supports[:16] if len(support) < aim.most_pigments]
    swapped = [support[:i] + support[i + 1 :] for support in supports[:16] for i in range(len(support))]
    tried = grown([*fits, *dict.fromkeys(swapped)], out)
    return nearest_of(aim, [support for support in tried if support]) if tried else float("inf")


def _without_limits(aim: Aim, supports: list[Support]) -> tuple[str, ...]:
    clear = lab(factors(aim, np.zeros(len(aim.model.pigments))) @ aim.detector.weights, aim.detector.bare)
    alone = range(len(aim.coloured))
    # A single section cannot be at odds with another, however near the search came to it.
    missed = [c for c in alone if len(alone) == 1 or nearest_of(only(aim, c), supports) > 1.0]
    lighter = {bool(aim.target_lab[c][0] > clear[aim.coloured[c]][0]) for c in missed}
    told = [word for word, so in (("resin", True), ("gamut", False)) if so in lighter]
    return tuple(told) or ("sections",)


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
