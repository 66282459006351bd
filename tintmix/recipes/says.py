"""The answer of a solve as a sentence that a maker understands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from tintmix.numerals import listed, numeral, percent
from tintmix.pigments.health import is_wrong
from tintmix.recipes.missing import colourless_resin
from tintmix.recipes.proposals import Proposal, SectionMatch
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.why import Reasons, set_limits


def recipe(doses_phr: Mapping[str, float]) -> str:
    """Doses in a row.

    >>> recipe({"azure": 0.021, "emerald": 0.0342})
    'azure 0.021 and emerald 0.0342 phr'
    """
    if not doses_phr:
        return "the untinted resin"
    return f"{listed([f'{name} {numeral(dose, 3)}' for name, dose in doses_phr.items()])} phr"


def reached(aim: Aim, proposals: Sequence[Proposal], binding: Sequence[str]) -> str:
    """Within tolerance everywhere."""
    within = [one for one in proposals if one.within]
    count, likely = len(within), sum(one.likely for one in within)
    best = proposals[0]
    where = "the place" if len(aim.coloured) == 1 else "every place"
    worst = _worst(best)
    told = (
        f"{_come(count, likely, where)}{_unsure(count, likely, aim)}; the best, {recipe(best.doses_phr)}, is off by "
        f"ΔE00 {numeral(worst.delta_e00 or 0.0, 2)} at most ({worst.name}, {worst.depth})"
    )
    stands = [_stands_at(aim, best, key) for key in binding]
    if stands:
        told += f", and stands at a limit: {listed(stands)}"
    return f"{told}."


def _come(count: int, likely: int, where: str) -> str:
    if likely == count:
        return f"{'one recipe comes' if count == 1 else f'{count} recipes come'} within tolerance at {where}"
    return f"{'one recipe is' if count == 1 else f'{count} recipes are'} predicted within tolerance at {where}"


def _unsure(count: int, likely: int, aim: Aim) -> str:
    """Of recipes that are predicted within tolerance: of how many it is unlikely that they come so."""
    if likely == count:
        return ""
    if aim.model.health.contradicts:
        return ", but the chips do not fit together, so that no chance of it can be told"
    if count == 1:
        return ", but it is likelier that it comes out otherwise"
    return f", {f'but only {likely}' if likely else 'but none'} of them with an even chance or better"


def short(aim: Aim, proposals: Sequence[Proposal], reasons: Reasons) -> str:
    """Limits met, the nearest colour outside its tolerance.

    That nothing reaches it is said where the chips tell so much: not where the model's bands do not exclude that it is reached,
    nor of chips that are suspected themselves, and only as the model's word of a place that is thicker than any chip.
    """
    best = proposals[0]
    if aim.model.health.is_suspected:
        return _suspected(aim, best, reasons)
    if reasons.is_open:
        return _untold(aim, best, reasons)
    worst = _worst(best)
    deep = [one for one in _missed(best) if (one.thickness_mm or 0.0) > aim.model.thickest_mm * (1 + 1e-9)]
    words = [_NO_LIMIT[key](aim) for key in reasons.binding if key in _NO_LIMIT]
    nearest = f"the nearest tint, {recipe(best.doses_phr)}, is" if best.doses_phr else "the untinted resin is nearest,"
    told = (
        f"{'by the model ' if deep else ''}the target cannot be reached{_cause(aim, words, reasons)}; {nearest} off by "
        f"{_off(worst)}"
    )
    would = [
        f"without {_lifted(aim, [key])} it would come nearer, to ΔE00 {numeral(off, 2)}"
        for key, off in reasons.nearer.items()
    ]
    if not best.doses_phr and words and "sections" not in reasons.binding:
        would += _what_else(aim, best, reasons)
    elif reasons.missing is not None:
        would.append(reasons.missing.says)
    if reasons.binding == ("chips",):
        would.append("whether it can be reached without the limits these chips do not tell")
    if deep:
        would.append(f"but no chip is so thick: {_chip(best, deep[-1])} would show whether it is so")
    return f"{'; '.join([told, *would])}."


def _cause(aim: Aim, words: Sequence[str], reasons: Reasons) -> str:
    if words:
        return f": {listed(words)}"
    if reasons.binding == ("chips",):
        return " within the limits"
    lifted = [_lifted(aim, reasons.binding), *(_lifted(aim, [key]) for key in reasons.instead)]
    return f" within the limits, but would be without {', or without '.join(lifted)}"


def _suspected(aim: Aim, best: Proposal, reasons: Reasons) -> str:
    """By chips that are at fault, or that something unsaid explains: how near the model comes, and no reason for it."""
    health, within = aim.model.health, " within the limits" if set_limits(aim) else ""
    told = [
        f"by these chips, {_SUSPECTED[any(map(is_wrong, health.set_up)), health.contradicts]}, nothing nearer than "
        f"{_off(_worst(best))}, was found{within}: {recipe(best.doses_phr)}",
        *_by_the_model(aim, reasons),
    ]
    return f"{'; '.join(told)}; look at the chips first, as they may be the reason."


def _untold(aim: Aim, best: Proposal, reasons: Reasons) -> str:
    """A target that some tint misses by no more, at each place, than what the model foretells of it may be off by."""
    # Of places that decide alike, one that a chip would tell of.
    place = max(
        _missed(best),
        key=lambda one: (round((one.delta_e00 or 0.0) / one.tolerance, 2), _is_unsure(one), one.delta_e00_95),
    )
    nearest = (
        f"whether the target can be reached these chips do not tell: the nearest tint by the model, {recipe(best.doses_phr)}, is "
        f"off by {_off(place)}"
    )
    if not _is_unsure(place):
        tints = "another may miss each by no more than is allowed, or than what the model predicts there may be off by"
        return f"{'; '.join([nearest, *_by_the_model(aim, reasons)])}; but {tints}."
    told = [
        f"{nearest}, and what the model predicts there may itself be off by {numeral(place.delta_e00_95, 2)}",
        *_by_the_model(aim, reasons),
    ]
    return f"{'; '.join(told)}; {_chip(best, place)} would tell."


def _by_the_model(aim: Aim, reasons: Reasons) -> list[str]:
    """What lifting limits does, as the model has it."""
    lifted = _lifted(aim, reasons.binding)
    return [f"without {lifted} the model reaches it"] * bool(lifted) + [
        f"without {_lifted(aim, [key])} it comes nearer by the model, to ΔE00 {numeral(off, 2)}"
        for key, off in reasons.nearer.items()
    ]


def _is_unsure(one: SectionMatch) -> bool:
    return (one.delta_e00 or 0.0) <= one.delta_e00_95


def _off(one: SectionMatch) -> str:
    """How far off a place is, and what is allowed."""
    return (
        f"ΔE00 {_past(one.delta_e00 or 0.0, one.tolerance)} at {_place(one)}, where {numeral(one.tolerance)} is allowed"
    )


def _missed(best: Proposal) -> list[SectionMatch]:
    """Places outside their tolerance, the thickest last."""
    missed = [one for one in best.sections if one.delta_e00 is not None and one.delta_e00 > one.tolerance]
    return sorted(missed, key=lambda one: one.thickness_mm or 0.0)


def _place(one: SectionMatch) -> str:
    return f"{one.name} ({one.depth})"


def _chip(best: Proposal, place: SectionMatch) -> str:
    """A chip to cast and read."""
    tint = "this tint" if best.doses_phr else "the untinted resin"
    return f"a chip of {tint}, {place.depth} thick," if place.thickness_mm else f"a chip of {tint}, as thick as that,"


def _what_else(aim: Aim, best: Proposal, reasons: Reasons) -> list[str]:
    """What would have to change where the untinted resin is nearest and no limit of the target is the reason."""
    would = [reasons.missing.says] if reasons.missing is not None else []
    if resin := colourless_resin(aim, best.worst_ratio):
        would.append(resin)
    hardly = "no pigment more and no resin without colour of its own would come notably nearer"
    return would or [f"{hardly}: the target would have to be darker" if "resin" in reasons.binding else hardly]


def _past(delta_e00: float, tolerance: float) -> str:
    """A difference past its tolerance, to two digits, or as many as it takes to see that it is past.

    >>> _past(6.81, 2.0), _past(2.0079, 2.0)
    ('6.8', '2.01')
    """
    told = (numeral(delta_e00, digits) for digits in range(2, 12))
    return next((one for one in told if one != numeral(tolerance)), numeral(delta_e00, 12))


def none(aim: Aim, light: float, haze: float | None, keys: Sequence[str]) -> str:
    """Not even the untinted resin meets the limits."""
    thick = f"{aim.judged_at} the untinted resin itself"
    reasons = {
        "luminous_transmittance": f"{thick} lets only {percent(light)} of the light through, and at least "
        f"{_limit(aim.floor)} is asked for",
        "haze_percent": f"{thick} has {percent(haze or 0.0)} haze, and at most {_ceiling(aim)} is allowed",
    }
    return f"no dose meets the limits: {listed([reasons[key] for key in keys])}."


def _worst(best: Proposal) -> SectionMatch:
    coloured = [one for one in best.sections if one.delta_e00 is not None]
    return max(coloured, key=lambda one: (one.delta_e00 or 0.0) / one.tolerance)


def _ceiling(aim: Aim) -> str:
    return _limit((aim.target.limits.haze_percent or 0.0) / 100)


def _limit(fraction: float) -> str:
    """A limit, with all its digits: it was typed, not found."""
    return f"{numeral(100 * fraction)} %"


def _at_most(aim: Aim, best: Proposal) -> str:
    model = aim.model
    full = [p for p, dose in best.doses_phr.items() if dose >= model.max_phr[model.pigments.index(p)] * (1 - 1e-6)]
    full = full or [name for name, top in zip(model.pigments, model.max_phr, strict=True) if np.isfinite(top)]
    return listed([f"{numeral(model.max_phr[model.pigments.index(p)])} phr of {p}" for p in full], "or")


def _stands_at(aim: Aim, best: Proposal, key: str) -> str:
    thick, holds = aim.judged_at, f"it holds {numeral(aim.total_phr, 4)} phr of pigment"
    stands = {
        "luminous_transmittance": f"{thick} {_limit(aim.floor)} of the light comes through, the least that is allowed",
        "haze_percent": f"{thick} its haze is {_ceiling(aim)}, the most that is allowed",
        "total_phr": f"{holds}, the most that is allowed",
        "max_total_phr": f"{holds}, the most that the resin takes",
    }
    return stands.get(key) or f"it holds {_at_most(aim, best)}, the most that is allowed"


def _lifted(aim: Aim, keys: Sequence[str]) -> str:
    """Limits by name, after "without"."""
    limits, model, thick = aim.target.limits, aim.model, aim.judged_at
    most = model.resin.max_total_phr if model.resin is not None else None
    tops = [f"{p} {numeral(top)} phr" for p, top in zip(model.pigments, model.max_phr, strict=True) if np.isfinite(top)]
    named = {
        "luminous_transmittance": f"the least light of {_limit(aim.floor)} {thick}",
        "haze_percent": f"the limit of {_ceiling(aim)} haze {thick}",
        "total_phr": f"the limit of {numeral(limits.total_phr or 0.0)} phr of pigment",
        "max_total_phr": f"the limit of {numeral(most or 0.0)} phr, the most pigment that the resin takes",
        "max_phr": f"the pigments' own limits ({listed(tops)})",
        "pigments": f"the limit of {limits.pigments} pigment{'' if limits.pigments == 1 else 's'}",
        "leave_out": f"leaving out {listed(limits.leave_out)}",
    }
    return listed([named[key] for key in keys if key in named])


def _sections(aim: Aim) -> str:
    places = [f"{one.section.name} ({one.section.depth})" for one in aim.places]
    together = f"no one tint turns with thickness as {listed(places)} ask together"
    # Each was asked for alone without the limits.
    if set_limits(aim):
        return f"even without the limits {together}, though as far as these chips tell each place's colour can be met alone then"
    return f"as far as these chips tell each place's colour can be met alone, but {together}"


_NO_LIMIT: Mapping[str, Callable[[Aim], str]] = {
    "sections": _sections,
    "resin": lambda _: "the target is lighter than the untinted resin itself",
    "gamut": lambda _: "no mixture of these pigments makes that colour in this resin",
}
_SUSPECTED = {
    (True, True): "which do not fit what is said of them",
    (False, True): "which do not fit together",
    (False, False): "whose untinted resin looks otherwise thick than thin, be it by its pour or by a wrong reading",
}
"""By whether the set-up is wrong, and whether the chips contradict each other."""
