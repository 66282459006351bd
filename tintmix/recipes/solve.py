"""Model and target in; ranked recipes out, or why none can be had."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from tintmix.errors import Note, ValueProblem
from tintmix.numerals import chip_mm, listed, numeral
from tintmix.optics.section import cautions_of_seen
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.recipes import says
from tintmix.recipes.missing import Missing
from tintmix.recipes.proposals import Proposal, proposals, target_doubts
from tintmix.recipes.search.aim import Aim, lay
from tintmix.recipes.search.choice import choose
from tintmix.recipes.search.descend import Progress, search
from tintmix.recipes.search.reported import retract
from tintmix.recipes.target import Glass, Target, light_name
from tintmix.recipes.why import active_limits, reasons_of_short


class Outcome(StrEnum):
    """How a solve ended. A poor answer is a result, not an error."""

    REACHED = "reached"
    SHORT = "short"
    NONE = "none"


_TELLS_OF = 0.5
"""Part of the casting's thickness from which a piece tells well how the glass goes on there: at 60 mm the band of simulated
pieces is 7 wide where they were read at 6 and 18 mm, and 4.5 at 6 and 40 mm (`python -m tests.accuracy.phone_rows`)."""


@dataclass(frozen=True, slots=True)
class Extent:
    """How light or deep a tint may go: doses, colour (S, 3), light through (S,) at the sections, and what stops it."""

    doses_phr: Mapping[str, float]
    lab: Array
    luminous_transmittance: Array
    stopped_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a solve found.

    says: one sentence. binding: for `reached`, the limits that the best proposal stands at; for `short`, what keeps
    the target away; for `none`, the limits that even the untinted resin breaks (the words, and nearer: `why.Reasons`).
    lightest: the untinted resin. deepest: the best proposal's pigments in its own ratio, as deep as the limits allow;
    None where no limit stops it, or there is no proposal. warnings: what the answer leaves open. missing: a pigment
    that would bring the best nearer, for "gamut" and "resin".
    """

    outcome: Outcome
    says: str
    binding: tuple[str, ...]
    proposals: tuple[Proposal, ...]
    lightest: Extent
    deepest: Extent | None
    warnings: tuple[str | Note, ...]
    seconds: float
    nearer: Mapping[str, float] = field(default_factory=dict)
    missing: Missing | None = None


def solve(model: TintModel, target: Target, most: int = 10, progress: Progress | None = None) -> Answer:
    """The doses that come nearest to the target within its limits, ranked by the largest ΔE00/tolerance.

    Minimises Σ w (ΔE00/tolerance)² / Σ w over every subset of at most `limits.pigments` pigments (physics §8); where
    a section stays outside its tolerance, the largest ΔE00/tolerance too. Colours and light are means over the
    model's posterior. Where the target does not limit the number of pigments, up to four are tried. progress is
    called with the fraction done as the search goes on.

    Deterministic. Raises ValueProblem.
    """
    started = time.perf_counter()
    if isinstance(most, bool) or not isinstance(most, int) or not 1 <= most <= 1000:
        raise ValueProblem(
            what="the number of recipes to return", found=repr(most), limit="a whole number from 1 to 1000"
        )
    aim = lay(model, target)
    untinted = model.look_many(np.zeros((1, len(model.pigments))), aim.sections, target.light, target.observer)
    light = float(untinted.luminous[0, aim.thickest])
    haze = None if untinted.haze is None else float(untinted.haze[0, aim.thickest])
    lightest = Extent({}, untinted.lab[0], untinted.luminous[0], ())
    # Limits that the untinted resin breaks: pigment makes them only harder to meet, so that no dose meets them.
    breaks = {"luminous_transmittance": aim.floor > light, "haze_percent": aim.haze_room < 0}
    if broken := tuple(key for key, is_broken in breaks.items() if is_broken):
        told = says.none(aim, light, haze, broken)
        taken = time.perf_counter() - started
        return Answer(Outcome.NONE, told, broken, (), lightest, None, tuple(_warnings(aim, None)), taken)

    found = search(aim, progress)
    chosen = choose(aim, found, most)
    ranked = proposals(aim, chosen)
    best = ranked[0]
    light = float(chosen.told.luminous[0, aim.thickest])
    nearer: Mapping[str, float] = {}
    missing: Missing | None = None
    if best.within:
        outcome, binding = Outcome.REACHED, active_limits(aim, chosen.doses[0], light)
        told = says.reached(aim, ranked, binding)
    else:
        why = reasons_of_short(aim, found, best.worst_ratio, most)
        outcome, binding, nearer, missing = Outcome.SHORT, why.binding, why.nearer, why.missing
        told = says.short(aim, ranked, why)
    deepest = _deepest(aim, chosen.doses[0])
    taken = time.perf_counter() - started
    return Answer(
        outcome, told, binding, ranked, lightest, deepest, tuple(_warnings(aim, best)), taken, nearer, missing
    )


def _deepest(aim: Aim, doses: Array) -> Extent | None:
    limited = aim.joint or np.any(np.isfinite(aim.model.max_phr[doses > 0]))
    if not limited or not np.any(doses > 0):
        return None
    # Doubled until a limit is passed, so that the way back is short.
    scaled = doses[None].copy()
    for _ in range(40):
        drawn = retract(aim, scaled)
        if np.any(drawn < scaled * (1 - 1e-12)):
            break
        scaled = scaled * 2
    else:
        return None
    final = drawn[0]
    told = aim.model.look_many(drawn, aim.sections, aim.target.light, aim.target.observer)
    stops = active_limits(aim, final, float(told.luminous[0, aim.thickest]))
    if not stops:
        return None
    names = aim.model.pigments
    return Extent({names[p]: float(final[p]) for p in np.flatnonzero(final > 0)}, told.lab[0], told.luminous[0], stops)


def _too_thick(aim: Aim) -> str:
    judged = aim.judged
    if judged.seen is None:
        return f"at {numeral(aim.judged_mm, 4)} mm the casting is thicker"
    return f"{judged.name} ({judged.depth}) is seen through more resin"


def _how_glass_is_known(glass: Glass | None, casting_mm: float, off: float) -> str:
    """off: ΔE00 within which 95 % of what it may look like lies, where that is widest."""
    known, by, more = "its colour only", "", ""
    if glass is not None and glass.second_thickness_mm is not None:
        thin, thick = sorted((glass.thickness_mm or 0.0, glass.second_thickness_mm))
        known, by = f"what a camera read at {chip_mm(thin)} and {chip_mm(thick)} mm", " from the two"
        if thick < _TELLS_OF * casting_mm:
            more = (
                f" A piece at least half as thick as the casting's {chip_mm(casting_mm)} mm would tell it better there."
            )
    elif glass is not None and glass.camera is not None:
        known = f"what a camera read at {chip_mm(glass.thickness_mm or 0.0)} mm"
        more = " A second piece of it, at least half as thick as the casting, tells far better how it goes on."
    return (
        f"the glass piece is known by {known}; its spectrum, and so its look at other thicknesses, is estimated{by}: 95 times "
        f"in 100 its colour lies within ΔE00 {numeral(off, 2)} of that, where it is known least. The chance that is told "
        f"allows for it, and errs to the low side.{more}"
    )


def _warnings(aim: Aim, best: Proposal | None) -> Iterator[str | Note]:
    yield from aim.target.notes
    if (unwell := aim.model.health.warning) is not None:
        yield unwell
    doses = aim.model.dose_vector({} if best is None else best.doses_phr)
    if said := aim.model.haze_doubt(doses, aim.judged):
        yield said
    if said := aim.model.bend_doubt(doses):
        yield said
    if aim.target.limits.haze_percent is not None and aim.model.haze is None:
        yield (
            "no chip of this model carries haze_percent, so haze cannot be predicted and limits.haze_percent is not "
            "checked; read the haze of the chips to have it kept."
        )
    # As `TintModel.look` has it.
    rests = " that is not doubted" if aim.model.health.doubted_share else ""
    if best is not None and best.extrapolated.dose:
        yield (
            f"the best recipe is stronger than the strongest chip{rests} of one of its pigments; "
            "it reaches beyond what was measured."
        )
    if best is not None and best.extrapolated.thickness:
        yield (
            f"{_too_thick(aim)} than any chip{rests} ({chip_mm(aim.model.thickest_mm)} mm); the prediction rests on Beer's law."
        )
    if aim.target.also_under and not (aim.glass is not None and any(aim.speaking)):
        lights, main = listed([light_name(one) for one in aim.target.also_under]), light_name(aim.target.light)
        yield (
            f"how the match looks under {lights} is not told: the target gives colours under {main}, which say "
            "nothing of another light; a glass whose spectrum was read would."
        )
    for section in aim.sections:
        yield from cautions_of_seen(section, aim.model.refractive_index)
    if doubts := target_doubts(aim):
        yield _how_glass_is_known(aim.target.glass, aim.judged_mm, max(doubts.values()))
