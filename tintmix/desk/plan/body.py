"""A plan as JSON has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.errors import Note
from tintmix.files.plain import finite, table_of
from tintmix.numerals import numeral
from tintmix.optics.spectrum import Array
from tintmix.pigments.design.belief import Belief
from tintmix.pigments.design.cups import Plan
from tintmix.sheet.cautions import cautions_for, cautions_table
from tintmix.weighing.cups import PourPlan

UNKNOWN_PART = "the resin part that takes pigment"


def plan_body(
    kind: str,
    names: Sequence[str],
    part: Array,
    belief: Belief,
    found: Plan,
    pours: PourPlan,
    chips: ChipSet,
    warnings: Sequence[Note | str],
    defaults: Mapping[str, Any],
    seconds: float,
) -> dict[str, Any]:
    """The body. part: the doses that the part will want, in phr, in the order of names. seconds: that the planning took."""
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
                table_of(one, ("spread", "place"), letdown=one.letdown or None, relative_spread=one.spread)
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
    body: dict[str, Any] = finite(
        {
            "kind": kind, "relative_to": chips.reading.relative_to, "cups": cups, "letdowns": letdowns,
            "expected": expected,
            "part_phr": dict(zip(names, part.tolist(), strict=True)), "dose_spread": pours.dose_spread,
            "new_pigments": [p for p, new in zip(names, belief.unknown, strict=True) if new],
            **cautions_table(cautions_for(chips.resin)),
            "chips": len(chips.chips), "defaults_used": dict(defaults), "warnings": list(warnings), "seconds": seconds,
        }
    )  # fmt: skip
    return body
