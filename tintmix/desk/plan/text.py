"""A plan as JSON has it, and in words: the page that goes into the chip-set folder, as a maker follows it at the bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from tintmix.chips.chip import ChipSet
from tintmix.chips.names import chip_name
from tintmix.chips.photo.foreseen import light_foreseen
from tintmix.chips.photo.sheet.holder import CHIP_WINDOWS
from tintmix.desk.plan.tile import OnTile
from tintmix.errors import Note
from tintmix.files.plain import finite, table_of
from tintmix.numerals import capital, numeral
from tintmix.pigments.design.cups import Plan
from tintmix.resin import Resin
from tintmix.sheet.cautions import (
    BEFORE_OPENING,
    cautions_for,
    cautions_table,
    hazards_unsaid,
    sources_of,
    told_again_at,
)
from tintmix.weighing.cups import PourPlan
from tintmix.weighing.scales import Bench, shown
from tintmix.weighing.weighed import part_label, part_named

_STAGES = {
    "now": "before",
    "after the untinted cup and one of each": "starter_set",
    "after this plan": "after",
    "with two cups more": "two_cups_more",
}
"""Heads of the table of what to expect, and the keys in the plan's body."""
_HALF_OF_SETS = (
    "Nobody has measured these pigments, so this is what came of such plans when they were simulated, dyes and cameras of many "
    "kinds poured, read and fitted: half of the sets lay in the range, a quarter were better, a quarter worse, some far worse."
)
"""Of what a plan without a model promises (`python -m tests.accuracy.promise_rows`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoingOn:
    """How the work goes on after the bench, in the words of the face that the page is for; {set} and {model} stand for names.

    colours, photos, spectra: how those come into the set. several: what to say where the chips take more than one photo. fit:
    how the set is fitted; fit_together: with the chips of the model. told: a note in the face's words.
    """

    colours: str = "Write them into chips.csv."
    photos: str = "Read the photos into {set} (raw; JPEGs are rough)."
    spectra: str = "Read the file into {set}."
    several: str = "take several photos, and say of each which one it is."
    fit: str = "Then fit {set}."
    fit_together: str = "Then fit {set} together with the chips that {model} was made from."
    told: Callable[[Note | str], str] = str


UNKNOWN_PART = "the resin part that takes pigment"


def plan_body(
    chips: ChipSet, found: Plan, pours: PourPlan, bench: Bench, colours: Mapping[str, str], **more: Any
) -> dict[str, Any]:
    """The plan as JSON has it. colours: of the chips as foreseen, where a model foresees them. more: what else was asked and
    found, by its key."""
    names = [pigment.name for pigment in chips.pigments]
    cups = [
        {
            "cup": pour.name,
            "why": cup.why,
            "doses_phr": {p: d for p, d in zip(names, pour.doses_phr, strict=True) if d > 0},
            "chips": [
                {
                    "chip": chip_name(pour.name, mm),
                    "thickness_mm": mm,
                    "expected_light": light,
                    "predicted": colours.get(chip_name(pour.name, mm)) or light_foreseen(light),
                }
                for mm, light in zip(cup.thicknesses_mm, cup.light, strict=True)
            ],
            "resin_g": pour.resin_g,
            "shown": bench.shown(pour.resin_g, bench.part_place(pour.resin_g)),
            "weigh": [
                table_of(one, ("spread", "place", "asked_g"), letdown=one.letdown or None, relative_spread=one.spread)
                for one in pour.weigh
            ],
            "parts": [{"name": one.name, "grams_to_weigh": one.grams, "shown": one.shown} for one in pour.parts],
        }
        for pour, cup in zip(pours.pours, found.cups, strict=True)
    ]
    letdowns = [
        {
            **{key: getattr(one, key) for key in ("name", "pigment", "pigment_g", "carrier_g", "used_g")},
            "pigment_shown": bench.shown(one.pigment_g, bench.pigment_place(one.pigment_g)),
            "carrier_shown": shown(one.carrier_g, bench.on(one.carrier_scale).scale),
            "carrier": one.carrier or UNKNOWN_PART,
            "resin": chips.resin.name,
            "relative_spread": one.spread,
        }
        for one in pours.letdowns
    ]
    expected = [
        {
            "section_mm": f.section_mm,
            "typical_delta_e00": {
                "before": f.before,
                "starter_set": f.starter,
                "after": f.after,
                "two_cups_more": f.further,
            },
            "half_of_sets": None if f.half is None else list(f.half),
        }
        for f in found.forecasts
    ]
    body: dict[str, Any] = {
        "kind": chips.reading.kind,
        "relative_to": chips.reading.relative_to,
        "cups": cups,
        "expected_says": _HALF_OF_SETS if any(f.half for f in found.forecasts) else None,
        "letdowns": letdowns,
        "from_shelf": [
            {
                "name": one.name,
                "pigment": one.pigment,
                "carrier": one.carrier,
                "share": one.share * one.strength,
                "carrier_share": 1 - one.share,
                "used_g": grams,
                "left_g": one.left_g - grams,
            }
            for one, grams in pours.from_shelf.values()
        ],
        "expected": expected,
        "dose_spread": pours.dose_spread,
        **cautions_table(cautions_for(chips.resin)),
        "chips": len(chips.chips),
    }
    return finite(body | more)  # type: ignore[no-any-return]


def casting_steps(resin: Resin | None) -> tuple[str, ...]:
    """The order of work at the bench, from the bottles to the cured chips, with the cautions where they act."""
    vacuum, leftovers, cure = (told_again_at(step, resin) for step in ("vacuum", "leftovers", "cure"))
    # What water does is told of a resin that it does it to, and of one that may be such.
    foams = ""
    if resin is not None and resin.has_hazard("isocyanate"):
        foams = "; water makes it foam"
    elif resin is None or not resin.parts or hazards_unsaid(resin):
        foams = "; water makes urethane foam"
    return (
        "Stir each pigment to the bottom of its bottle; pastes settle.",
        f"Warm, dry resin in a dry room. Wipe the pots{foams}.",
        "Make the stock bottles first, and stir or shake them long. Keep them: trials and the casting are dosed from the same "
        "bottles, so that what is wrong with a bottle is wrong everywhere alike and cancels.",
        "Weigh each cup's pigment or stock bottle by difference: put the open bottle on the scale, set it to zero, take out, "
        "read what is missing. Write down what the scale showed.",
        f"{_mixing(resin)}. All thicknesses of a cup come from the one pot.",
        "Write the chip's name on its mould before you pour.",
        "No bubbles: they look grey. Pour thin and slowly, or degas as the resin's data sheet says.",
        *vacuum,
        *leftovers,
        "Cure the chips exactly as the casting will be cured, post-cure too: it shifts the resin's own colour.",
        *cure,
        "Both faces flat and glossy: cast against glass or polish. A matt face scatters; wet it under a cover glass if need be.",
        "Measure each chip's thickness in its middle, not at the rim (the meniscus), and note it in place of the planned one.",
        "Keep two or three cured chips in the dark as check chips, and read them again on every reading day.",
    )


def _mixing(resin: Resin | None) -> str:
    tinted = resin.takes_pigment if resin else None
    if resin is None or tinted is None:
        return "Put the pigment into what takes it, mix it well, then add the rest of the resin"
    if len(resin.parts) == 1:
        return f"Put the pigment into {part_named(tinted)}, and mix it well"
    others = " and ".join(part_named(part.name) for part in resin.parts if part.name != tinted)
    return f"Put the pigment into {part_named(tinted)}, mix it well, then add {others}"


def checklist(
    body: Mapping[str, Any],
    resin: Resin,
    name: str,
    model_name: str = "",
    on_tile: OnTile | None = None,
    going_on: GoingOn | None = None,
) -> str:
    """The plan as Markdown, laid out in bench.md. body: as `plan_body` makes it. name: of the set; model_name: of what was
    known before."""
    going_on = going_on or GoingOn()
    page = Environment(
        loader=FileSystemLoader(Path(__file__).parent), undefined=StrictUndefined, trim_blocks=True, autoescape=False
    )
    page.filters |= {
        "cell": lambda told: told.replace("|", "\\|"),
        "named": lambda told: told.format(set=name, model=model_name),
        "told": going_on.told,
        "capital": capital,
        "numeral": numeral,
        "part_label": part_label,
    }
    cautions = cautions_for(resin)
    typical = [one["typical_delta_e00"] for one in body["expected"]]
    told = page.get_template("bench.md").render(
        plan=body,
        resin=resin,
        name=name,
        model=model_name,
        tile=on_tile,
        going_on=going_on,
        cautions=cautions,
        sources=sources_of(cautions),
        before_opening=BEFORE_OPENING,
        steps=casting_steps(resin),
        windows=len(CHIP_WINDOWS),
        stages={head: key for head, key in _STAGES.items() if any(one[key] is not None for one in typical)},
    )
    return told.rstrip() + "\n"
