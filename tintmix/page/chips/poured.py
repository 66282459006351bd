"""A planned set as it was really poured: cups left out, what the scales showed, and how thick the chips came out."""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.desk.plan.text import UNKNOWN_PART
from tintmix.page.errors import about_box, not_typed
from tintmix.weighing.slip import Put, check_near, check_thick, factor_of
from tintmix.weighing.weighed import part_named

LEFT_OUT = "not poured"
Plan = Mapping[str, Any]
"""The body of a plan."""


@dataclass(frozen=True, slots=True)
class Box:
    """A weight that can be typed. what: it in words. planned_g, weighed_g: as it should be, and as it was typed before. at: the
    keys to its row in the plan's body; key: its own there."""

    name: str
    what: str
    planned_g: float
    weighed_g: float
    at: tuple[str | int, ...]
    key: str


def boxes_of(plan: Plan) -> tuple[list[Box], dict[str, list[Box]]]:
    """The weights of a plan: those of its new stock bottles, and those of each cup."""
    bottles = [
        _box(f"bottle_{b}_{key}", f"{what} in {one['name']}", one, ("letdowns", b), key)
        for b, one in enumerate(plan["letdowns"])
        for key, what in (("pigment_g", one["pigment"]), ("carrier_g", _carrier(one["carrier"])))
    ]
    cups: dict[str, list[Box]] = {}
    for c, cup in enumerate(plan["cups"]):
        rows = [
            _box(f"cup_{c}_weigh_{w}", one["letdown"] or one["pigment"], one, ("cups", c, "weigh", w), "grams")
            for w, one in enumerate(cup["weigh"])
        ]
        rows += [
            _box(f"cup_{c}_part_{p}", part_named(one["name"]), one, ("cups", c, "parts", p), "grams_to_weigh")
            for p, one in enumerate(cup["parts"])
        ] or [_box(f"cup_{c}_resin", "mixed resin, stock bottles included", cup, ("cups", c), "resin_g")]
        cups[cup["cup"]] = rows
    return bottles, cups


def _carrier(name: str) -> str:
    return name if name == UNKNOWN_PART else part_named(name)


def _box(name: str, what: str, row: Plan, at: tuple[str | int, ...], key: str) -> Box:
    return Box(name, what, row[key], weighed(row, key), at, key)


def weighed(row: Plan, key: str) -> float:
    """A weight of a plan as it was typed, else as it was planned."""
    return float(row.get("weighed", {}).get(key, row[key]))


def check_typed(plan: Plan | None, typed_g: Mapping[str, float]) -> None:
    """Raises ValueProblem for a weight far from the planned one; a cup or a bottle of which all is larger by one factor is a
    larger one. typed_g: by the boxes' names."""
    bottles, cups = ([], {}) if plan is None else boxes_of(plan)
    made: dict[object, list[Box]] = {}
    for box in bottles:
        made.setdefault(box.at, []).append(box)
    for boxes in (*made.values(), *cups.values()):
        puts = [Put(box.what, typed_g.get(box.name, box.weighed_g), box.planned_g) for box in boxes]
        factor = factor_of(puts)
        for box, put in zip(boxes, puts, strict=True):
            if box.name in typed_g:
                with about_box(box.name):
                    check_near(put._replace(asked_g=put.asked_g * factor))


def check_thicknesses(chips: ChipSet, plan: Plan | None, thicknesses_mm: Mapping[str, float]) -> None:
    """Raises ValueProblem for a chip that is far from as thick as it was planned, or as it was said to be before."""
    planned = {one["chip"]: one["thickness_mm"] for cup in (plan or {}).get("cups", ()) for one in cup["chips"]}
    for at, chip in enumerate(chips.chips):
        if chip.name not in thicknesses_mm:
            continue
        with about_box(f"thick_{at}"):
            check_thick(chip.name, thicknesses_mm[chip.name], float(planned.get(chip.name, chip.thickness_mm)))


def as_poured(
    chips: ChipSet,
    plan: Plan | None,
    typed_g: Mapping[str, float],
    left_out: Collection[str],
    thicknesses_mm: Mapping[str, float],
) -> tuple[ChipSet, dict[str, Any] | None]:
    """The set, and its plan, as it was poured. typed_g: by the boxes' names. left_out: cups. thicknesses_mm: by chip.

    The doses of a cup come of all that was weighed for it and for its stock bottles. Raises ValueProblem.
    """
    doses: dict[str, dict[str, float]] = {}
    new = None if plan is None else copy.deepcopy(dict(plan))
    if new is not None:
        bottles, cups = boxes_of(new)
        for box in (*bottles, *(one for rows in cups.values() for one in rows)):
            row: Any = new
            for step in box.at:
                row = row[step]
            row["weighed"] = {**row.get("weighed", {}), box.key: typed_g.get(box.name, box.weighed_g)}
        doses = {cup["cup"]: _doses(new, cup) for cup in new["cups"]}
    rows = []
    for chip in chips.chips:
        changed: dict[str, Any] = {"thickness_mm": thicknesses_mm.get(chip.name, chip.thickness_mm)}
        if chip.cup in left_out:
            changed |= {"use": False, "note": chip.note or LEFT_OUT}
        elif not chip.use and chip.note == LEFT_OUT:
            changed |= {"use": True, "note": ""}
        if chip.cup in doses:
            found = tuple(doses[chip.cup].get(pigment.name, 0.0) for pigment in chips.pigments)
            if any(abs(one - was) > 1e-3 * was for one, was in zip(found, chip.doses_phr, strict=True)):
                changed |= {"doses_phr": found, "weights": None}
        rows.append(replace(chip, **changed))
    if not any(chip.use for chip in rows):
        raise not_typed("the cups", "", "At least one was poured; to give the set up, remove it on Chips.")
    return replace(chips, chips=tuple(rows)), new


def _doses(plan: Plan, cup: Plan) -> dict[str, float]:
    """What a cup holds by what was weighed, phr by pigment."""
    grams: dict[str, float] = {}
    carried_g = 0.0
    for one in cup["weigh"]:
        taken_g, (share, carrier) = weighed(one, "grams"), _in_a_gram(plan, one["letdown"])
        grams[one["pigment"]] = grams.get(one["pigment"], 0.0) + taken_g * share
        carried_g += taken_g * carrier
    resin_g = weighed(cup, "resin_g")
    if cup["parts"]:
        # What comes with the bottles was taken off the part that they are made with.
        resin_g = sum(weighed(part, "grams_to_weigh") for part in cup["parts"]) + carried_g
    if resin_g <= 0:
        raise not_typed(f"the resin of {cup['cup']}", "0", "Type what was in the cup, or leave the cup out.")
    return {pigment: float(f"{100 * one / resin_g:.4g}") for pigment, one in grams.items()}


def _in_a_gram(plan: Plan, bottle: str | None) -> tuple[float, float]:
    """Pigment, and resin, in a gram of what is weighed."""
    for one in plan["letdowns"]:
        if one["name"] == bottle:
            pigment_g, carrier_g = weighed(one, "pigment_g"), weighed(one, "carrier_g")
            if pigment_g + carrier_g <= 0:
                raise not_typed(f"what is in {bottle}", "0", "Type what went into the bottle.")
            return pigment_g / (pigment_g + carrier_g), carrier_g / (pigment_g + carrier_g)
    for one in plan.get("from_shelf", ()):
        if one["name"] == bottle:
            return one["share"], one["carrier_share"]
    return 1.0, 0.0
