"""The answer of a solve as a sentence that a maker understands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from tintmix.recipes.aim import Aim
from tintmix.recipes.proposals import Proposal, SectionMatch


def percent(fraction: float) -> str:
    """A fraction as people write it.

    >>> percent(0.08), percent(0.4567), percent(0.0042)
    ('8 %', '46 %', '0.42 %')
    """
    value = 100 * fraction
    return f"{value:.0f} %" if value >= 10 else f"{value:.2g} %"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words with commas and a last "and".

    >>> listed(["azure", "emerald", "rose"])
    'azure, emerald and rose'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def recipe(doses_phr: Mapping[str, float]) -> str:
    """Doses in a row.

    >>> recipe({"azure": 0.021, "emerald": 0.0342})
    'azure 0.021 and emerald 0.0342 phr'
    """
    if not doses_phr:
        return "no pigment at all"
    return f"{listed([f'{name} {dose:.3g}' for name, dose in doses_phr.items()])} phr"


def reached(aim: Aim, proposals: Sequence[Proposal], binding: Sequence[str]) -> str:
    """Within tolerance everywhere."""
    count = sum(one.within for one in proposals)
    best = proposals[0]
    how_many = "one recipe comes" if count == 1 else f"{count} recipes come"
    where = "the section" if len(aim.coloured) == 1 else "every section"
    worst = _worst(best)
    told = (
        f"{how_many} within tolerance at {where}; the best, {recipe(best.doses_phr)}, is off by "
        f"ΔE00 {worst.delta_e00:.2g} at most ({worst.name}, {worst.thickness_mm:.4g} mm)"
    )
    stands = [_stands_at(aim, best, key) for key in binding]
    if stands:
        told += f", and stands at a limit: {listed(stands)}"
    return f"{told}."


def short(aim: Aim, proposals: Sequence[Proposal], binding: Sequence[str]) -> str:
    """Limits met, the nearest colour outside its tolerance."""
    best = proposals[0]
    worst = _worst(best)
    reasons = [_would(aim, best, key) for key in binding]
    return (
        f"the target cannot be reached: {listed(reasons)}; the nearest tint, {recipe(best.doses_phr)}, is off by "
        f"ΔE00 {worst.delta_e00:.2g} at {worst.name} ({worst.thickness_mm:.4g} mm), "
        f"where {worst.tolerance:g} is allowed."
    )


def none(aim: Aim, light: float, haze: float | None, keys: Sequence[str]) -> str:
    """Not even the untinted resin meets the limits."""
    thick = f"at {aim.judged_mm:.4g} mm"
    reasons = []
    if "luminous_transmittance" in keys:
        reasons.append(
            f"{thick} the untinted resin itself lets only {percent(light)} of the light through, "
            f"and at least {percent(aim.floor)} is asked for"
        )
    if "haze_percent" in keys and haze is not None:
        reasons.append(
            f"{thick} the untinted resin itself has {percent(haze)} haze, and at most {_ceiling(aim)} is allowed"
        )
    return f"no dose meets the limits: {listed(reasons)}."


def _worst(best: Proposal) -> SectionMatch:
    coloured = [one for one in best.sections if one.delta_e00 is not None]
    return max(coloured, key=lambda one: (one.delta_e00 or 0.0) / one.tolerance)


def _ceiling(aim: Aim) -> str:
    return percent((aim.target.limits.haze_percent or 0.0) / 100)


def _at_most(aim: Aim, best: Proposal) -> str:
    model = aim.model
    full = [p for p, dose in best.doses_phr.items() if dose >= model.max_phr[model.pigments.index(p)] * (1 - 1e-6)]
    full = full or [name for name, top in zip(model.pigments, model.max_phr, strict=True) if np.isfinite(top)]
    return listed([f"{model.max_phr[model.pigments.index(p)]:g} phr of {p}" for p in full], "or")


def _stands_at(aim: Aim, best: Proposal, key: str) -> str:
    if key == "luminous_transmittance":
        return f"at {aim.judged_mm:.4g} mm {percent(aim.floor)} of the light comes through, the least that is allowed"
    if key == "haze_percent":
        return f"at {aim.judged_mm:.4g} mm its haze is {_ceiling(aim)}, the most that is allowed"
    if key == "total_phr":
        return f"it holds {aim.total_phr:.4g} phr of pigment, the most that is allowed"
    if key == "max_total_phr":
        return f"it holds {aim.total_phr:.4g} phr of pigment, the most that the resin takes"
    return f"it holds {_at_most(aim, best)}, the most that is allowed"


def _would(aim: Aim, best: Proposal, key: str) -> str:
    thick = f"at {aim.judged_mm:.4g} mm"
    limits = aim.target.limits
    if key == "luminous_transmittance":
        return f"{thick} less than {percent(aim.floor)} of the light would come through"
    if key == "haze_percent":
        return f"{thick} haze would pass {_ceiling(aim)}"
    if key == "total_phr":
        return f"more than {aim.total_phr:.4g} phr of pigment would be needed"
    if key == "max_total_phr":
        return f"more than {aim.total_phr:.4g} phr of pigment would be needed, the most that the resin takes"
    if key == "max_phr":
        return f"more than {_at_most(aim, best)} would be needed"
    if key == "pigments":
        return f"more than {limits.pigments} pigment{'' if limits.pigments == 1 else 's'} would be needed"
    if key == "leave_out":
        return f"{listed(list(limits.leave_out), 'or')}, which is to be left out, would be needed"
    if key == "sections":
        names = listed([f"{aim.sections[s].name} ({aim.sections[s].thickness_mm:.4g} mm)" for s in aim.coloured])
        return f"each section's colour can be met alone, but no one tint turns with thickness as {names} ask together"
    if key == "resin":
        return "the target is lighter than the untinted resin itself"
    return "no mixture of these pigments makes that colour in this resin"
