"""A kept sheet of an earlier version, whose lines were text: the same sheet with typed lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.page.values import from_table, to_table
from tintmix.resin import Resin
from tintmix.sheet.lines import Kind
from tintmix.sheet.steps import others_last
from tintmix.weighing.weighed import WeighOut


def with_typed_lines(sheet: Mapping[str, Any], weighed: WeighOut) -> dict[str, Any]:
    """The table of a sheet as this version writes it; one that is so already comes back as it is.

    Which line is what is told by its place, not by its words: earlier versions wrote the new stock bottles first, then the part
    that takes pigment, the pigments, the trial, and, in the stage with the clock, the other parts.
    """
    stages = [{**stage, "steps": [dict(step) for step in stage["steps"]]} for stage in sheet["stages"]]
    steps = [step for stage in stages if not stage["clock"] for step in stage["steps"] if step["lines"]]
    clock = [step for stage in stages if stage["clock"] for step in stage["steps"] if step["lines"]]
    if all("kind" in line for step in (*steps, *clock) for line in step["lines"]):
        return dict(sheet)
    resin = from_table(Resin, sheet["resin"])
    scales = {one.name: weighed.scale(one.scale) for one in weighed.parts}
    others = [_line(Kind.OTHER, part.name, scales[part.name]) for part in others_last(resin, weighed.tinted_part.name)]
    told = [*_before(resin, sheet["lots"], weighed)[: len(steps)], others]
    for step, new in zip((*steps, *clock), told, strict=False):
        old = step["lines"]
        step["lines"] = [
            {**typed, "grams": line["grams"], "note": line["note"]} for line, typed in zip(old, new, strict=True)
        ]
    for stage in stages:
        for step in stage["steps"]:
            # Times of day stood at the end of the last stage only.
            step["blanks"] = [{"what": blank, "unit": "" if stage is stages[-1] else "g"} for blank in step["blanks"]]
    return {**sheet, "stages": stages}


def _before(resin: Resin, lots: Mapping[str, str], weighed: WeighOut) -> list[list[dict[str, Any]]]:
    """The lines of each step that has any, up to the trial, without their grams and notes."""
    fine = weighed.scales.pigment
    steps = []
    for one in weighed.letdowns:
        if not one.existing:
            first = _line(Kind.FIRST, one.pigment, fine, out_of=one.from_letdown or "", lot=lots.get(one.pigment, ""))
            carrier = _line(Kind.CARRIER, one.carrier, weighed.scale(one.carrier_scale))
            steps.append([{**line, "into": one.name} for line in (first, carrier)])
    tinted = weighed.tinted_part
    steps.append([_line(Kind.PART, tinted.name, weighed.scale(tinted.scale))])
    pigments = [
        _line(
            Kind.PIGMENT, one.pigment, weighed.scale(one.scale), out_of=one.letdown or "", lot=lots.get(one.pigment, "")
        )
        for one in weighed.pigments
    ]
    finest = min((weighed.scales.resin, fine), key=lambda scale: scale.readability_g)
    others = [_line(Kind.TRIAL, part.name, finest) for part in others_last(resin, tinted.name)]
    return [*steps, *([pigments] if pigments else []), [_line(Kind.SAMPLE, tinted.name, finest), *others]]


def _line(kind: Kind, of: str, scale: Any, **more: str) -> dict[str, Any]:
    return {"kind": kind, "of": of, "scale": to_table(scale), **more}
