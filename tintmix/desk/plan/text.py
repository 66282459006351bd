"""A plan as JSON has it, and in words: the page that goes into the chip-set folder, as a maker follows it at the bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.photo.holder import CHIP_WINDOWS
from tintmix.desk.plan.tile import OnTile, reading_on_tile
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
from tintmix.weighing.weighed import part_label, part_named

_WEIGHING = (
    "Stir each pigment to the bottom of its bottle; pastes settle.",
    "Make the stock bottles first, and stir or shake them long. Keep them: trials and the casting are dosed from the same "
    "bottles, so that what is wrong with a bottle is wrong everywhere alike and cancels.",
    "Weigh each cup's pigment or stock bottle by difference: put the open bottle on the scale, set it to zero, take out, "
    "read what is missing. Write down what the scale showed.",
)
_POURING = (
    "Write the chip's name on its mould before you pour.",
    "No bubbles: they look grey. Pour thin and slowly, or degas as the resin's data sheet says.",
)
_CURING = ("Cure the chips exactly as the casting will be cured, post-cure too: it shifts the resin's own colour.",)
_AFTERWARDS = (
    "Both faces flat and glossy: cast against glass or polish. A matt face scatters; wet it under a cover glass if need be.",
    "Measure each chip's thickness in its middle, not at the rim (the meniscus), and note it in place of the planned one.",
    "Keep two or three cured chips in the dark as check chips, and read them again on every reading day.",
)


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


def plan_body(chips: ChipSet, found: Plan, pours: PourPlan, **more: Any) -> dict[str, Any]:
    """The plan as JSON has it. more: what else was asked and found, by its key."""
    names = [pigment.name for pigment in chips.pigments]
    cups = [
        {
            "cup": pour.name,
            "why": cup.why,
            "doses_phr": {p: d for p, d in zip(names, pour.doses_phr, strict=True) if d > 0},
            "chips": [
                {"chip": f"{pour.name}-{numeral(mm)}mm", "thickness_mm": mm, "expected_light": light}
                for mm, light in zip(cup.thicknesses_mm, cup.light, strict=True)
            ],
            "resin_g": pour.resin_g,
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
        }
        for f in found.forecasts
    ]
    body: dict[str, Any] = {
        "kind": chips.reading.kind,
        "relative_to": chips.reading.relative_to,
        "cups": cups,
        "letdowns": letdowns,
        "expected": expected,
        "dose_spread": pours.dose_spread,
        **cautions_table(cautions_for(chips.resin)),
        "chips": len(chips.chips),
    }
    return finite(body | more)  # type: ignore[no-any-return]


def _reading(kind: str, going_on: GoingOn) -> str:
    if kind == "colour":
        return (
            f"Read L*, a*, b* of each chip, in its middle, in transmission. {going_on.colours} A hand-held instrument that "
            "measures reflection reads chips on a white tile: then cast thin ones, and say so in set.toml."
        )
    if kind == "camera":
        return (
            "Photograph the chips on the light panel: raised, on an opaque black mask, with an open and a blocked window in each "
            "row; exposure and white balance locked, room dark, HDR off, 500 mm away. Take a second photo with the chips off and "
            "nothing else moved. The holder sheet (holder.pdf) is such a mask to print and cut, with a page on its use; "
            f"holder.csv says which chip lies in which window. {going_on.photos}"
        )
    return f"Read each chip's transmittance from 400 to 700 nm or more. {going_on.spectra}"


def _dry(resin: Resin | None) -> str:
    """What water does is told of a resin that it does it to, and of one that may be such."""
    foams = ""
    if resin is not None and resin.has_hazard("isocyanate"):
        foams = "; water makes it foam"
    elif resin is None or not resin.parts or hazards_unsaid(resin):
        foams = "; water makes urethane foam"
    return f"Warm, dry resin in a dry room. Wipe the pots{foams}."


def casting_steps(resin: Resin | None) -> tuple[str, ...]:
    """The order of work at the bench, from the bottles to the cured chips, with the cautions where they act."""
    vacuum, leftovers, cure = (told_again_at(step, resin) for step in ("vacuum", "leftovers", "cure"))
    return (
        _WEIGHING[0],
        _dry(resin),
        *_WEIGHING[1:],
        _mixing(resin),
        *_POURING,
        *vacuum,
        *leftovers,
        *_CURING,
        *cure,
        *_AFTERWARDS,
    )


def _mixing(resin: Resin | None) -> str:
    tinted = resin.takes_pigment if resin else None
    if resin is None or tinted is None:
        said = "Put the pigment into what takes it, mix it well, then add the rest of the resin"
    elif len(resin.parts) == 1:
        said = f"Put the pigment into {part_named(tinted)}, and mix it well"
    else:
        others = " and ".join(part_named(part.name) for part in resin.parts if part.name != tinted)
        said = f"Put the pigment into {part_named(tinted)}, mix it well, then add {others}"
    return f"{said}. All thicknesses of a cup come from the one pot."


def checklist(
    body: Mapping[str, Any],
    resin: Resin,
    name: str,
    model_name: str = "",
    on_tile: OnTile | None = None,
    going_on: GoingOn | None = None,
) -> str:
    """The plan as Markdown. body: as `plan_body` makes it. name: of the set; model_name: of what was known before."""
    going_on = going_on or GoingOn()
    lines = [f"# {name}: chips to pour", ""]
    lines += [
        f"{len(body['cups'])} cups, {body['chips']} chips. Doses are in g per 100 g mixed (phr): grams of pigment as "
        "supplied per 100 g of mixed resin, all parts together, the carrier of a stock bottle counted as resin.",
        "",
    ]
    cautions = cautions_for(resin)
    told = (f"**{one.sentence}**" if one.grave else one.sentence for one in cautions)
    lines += ["## Before you mix", "", *(f"{number}. {said}" for number, said in enumerate(told, start=1)), ""]
    lines += [f"- [ ] {BEFORE_OPENING}", ""]
    warnings = [going_on.told(warning) for warning in body["warnings"]]
    lines += [f"- {capital(warning)}" for warning in warnings]
    lines += [""] if body["warnings"] else []
    if body["letdowns"]:
        lines += _bottles(body["letdowns"])
    lines += _cups(body, resin)
    lines += ["## Casting", "", *(f"- [ ] {step}" for step in casting_steps(resin)), ""]
    cure = f"Cure: {resin.cure}. " if resin.cure else ""
    if resin.has_hazard("isocyanate"):
        cure += "This resin holds isocyanate: no water-borne pigment, gloves, extraction."
    lines += [cure.strip(), ""] if cure else []
    reading = _reading(body["kind"], going_on) if on_tile is None else reading_on_tile(on_tile, going_on.colours)
    lines += ["## Reading", "", reading.format(set=name), ""]
    if body["kind"] == "camera" and body["chips"] > len(CHIP_WINDOWS):
        lines += [f"There are more chips than windows: {going_on.several}", ""]
    lines += [(going_on.fit_together if model_name else going_on.fit).format(set=name, model=model_name), ""]
    lines += _expected(body["expected"])
    sources = (f"- {numbers}: {source}" for numbers, source in sources_of(cautions))
    lines += ["## Where the cautions come from", "", *sources, ""]
    return "\n".join(lines).rstrip() + "\n"


def _bottles(letdowns: Sequence[Mapping[str, Any]]) -> list[str]:
    rows = [
        [
            d["name"],
            f"{d['pigment_g']:g} g",
            f"{d['carrier_g']:g} g",
            d["carrier"],
            f"{numeral(100 * d['relative_spread'], 1)} %",
        ]
        for d in letdowns
    ]
    return [
        "## Stock bottles, one for each pigment",
        "",
        *_table(["bottle", "pigment", "carrier", "which is", "uncertain by"], rows),
        "",
        "1+50 means one part of pigment in 50 parts of carrier, by mass. The bottle's own error cancels as long as chips and "
        "casting are dosed from it. If you weighed other amounts than these, correct bottles.csv, and the doses in chips.csv in "
        "proportion. From bottles.csv they can be put on the recipe book's shelf: sheets and adjustments then use them.",
        "",
    ]


def _cups(body: Mapping[str, Any], resin: Resin) -> list[str]:
    parts = [part.name for part in resin.parts]
    heads = ["cup", "weigh in", "doses, g per 100 g mixed (phr)", "thicknesses", "what for"]
    heads[2:2] = [part_label(part) for part in parts] or ["mixed resin"]
    rows = []
    for cup in body["cups"]:
        weigh = "; ".join(f"{w['shown']} {w['letdown'] or w['pigment']}" for w in cup["weigh"]) or "no pigment"
        amounts = [p["shown"] for p in cup["parts"]] or [f"{cup['resin_g']:g} g, stock bottles included"]
        doses = ", ".join(f"{p} {numeral(d, 3)}" for p, d in cup["doses_phr"].items()) or "none"
        chips = ", ".join(f"{numeral(chip['thickness_mm'])}" for chip in cup["chips"]) + " mm"
        rows.append([cup["cup"], weigh, *amounts, doses, chips, cup["why"]])
    told = ["## Cups", "", *_table(heads, rows), ""]
    if parts:
        told += [
            f"Each cup holds {body['cups'][0]['resin_g']:g} g of mixed resin; what comes with the stock bottles is already "
            "taken off.",
            "",
        ]
    return [
        *told,
        "If the scale showed another weight than planned, multiply that dose in chips.csv by weighed / planned.",
        "",
    ]


def _expected(expected: Sequence[Mapping[str, Any]]) -> list[str]:
    heads = ["at", "now", "after the untinted cup and one of each", "after this plan", "with two cups more"]
    rows = []
    for one in expected:
        typical = one["typical_delta_e00"]
        cells = [typical[key] for key in ("before", "starter_set", "after", "two_cups_more")]
        rows.append(
            [f"{numeral(one['section_mm'])} mm", *("" if cell is None else f"{numeral(cell, 2)}" for cell in cells)]
        )
    kept = [c for c in range(len(heads)) if any(row[c] for row in rows)]
    return [
        "## What to expect",
        "",
        "How far off (ΔE00) the predicted colour of a mixture typically is, as far as can be told before pouring:",
        "",
        *_table([heads[c] for c in kept], [[row[c] for c in kept] for row in rows]),
        "",
    ]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    return [
        "| " + " | ".join(heads) + " |",
        "| " + " | ".join("---" for _ in heads) + " |",
        *("| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows),
    ]
