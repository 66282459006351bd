"""The one-cup question: one cup, mixed by eye, one chip or two of it read; how dark will it be where the casting is thick?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from tintmix.chips.chip import MIX, Chip, ChipSet, Geometry, Pigment, Reading
from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.numerals import numeral
from tintmix.page.chips.sets import with_set
from tintmix.page.errors import not_typed
from tintmix.page.places import PartWish
from tintmix.page.values import to_table
from tintmix.page.work import Work, fit_aside
from tintmix.page.workspace import Workspace

Lab = tuple[float, float, float]


def cup_set(
    readings: Sequence[tuple[float, Lab]], how: Geometry | Literal["air"] = "air", tile_lab: Lab | None = None
) -> ChipSet:
    """A one-cup set of (thickness in mm, L*a*b*) of its chips, D65 and 10°. how: "air", against
    the light; else the geometry in which they were read dry on a white tile, of which tile_lab is what it reads bare. Raises
    ValueProblem.

    >>> cup_set([(3.0, (86.7, -22.7, -4.9))]).is_one_cup
    True
    """
    if not readings:
        raise not_typed("the chip of your cup", "", "Give its thickness and its colour.")
    names = [numeral(mm) for mm, _ in readings]
    if len(set(names)) < len(names):
        names = [f"{i + 1}" for i in range(len(names))]
    chips = tuple(Chip(f"{MIX}-{name}", MIX, (1.0,), mm, lab) for name, (mm, lab) in zip(names, readings, strict=True))
    reading = Reading("colour", light="D65", observer=10, space="Lab")
    if how != "air":
        if tile_lab is None:
            raise not_typed("the bare white tile", "", "Read it without a chip, and give its L*, a* and b*.")
        reading = replace(reading, relative_to="white tile", geometry=how, contact="dry", tile_lab=tile_lab)
    return ChipSet(reading, (Pigment(MIX),), chips, title="One cup, mixed by eye")


def demo_cup() -> ChipSet:
    """The shipped example of one cup."""
    return read_chips(demo("one-cup"))


def learn_cup(workspace: Workspace, chips: ChipSet, part: PartWish, work: Work) -> str:
    """Keep the cup as a set, learn from it, and go on to the tint. Raises Stopped, and what is wrong with the readings."""
    thing = workspace.keep_set(chips)
    name, place = workspace.place()
    fit_aside(work, [workspace.set_folder(thing)], place)
    workspace.model(name)
    learnt = {"model": name, "from": {thing: thing}, "names": [MIX]}
    areas = {"chips": with_set(workspace.now(), thing, chips), "pigments": learnt, "part": to_table(part)}
    workspace.change("one cup", areas | {"tint": {"doses": {MIX: 1.0}}}, {})
    return "/tint"
