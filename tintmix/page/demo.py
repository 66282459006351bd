"""The demo on the page: the shipped chips of replica deck prisms, learnt from, with a target and a first tint."""

from __future__ import annotations

import os
from dataclasses import replace

from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.page.chips.sets import entry_of, with_set
from tintmix.page.demo_bench import bench_areas
from tintmix.page.places import PartWish, Place
from tintmix.page.work import Work, fit_aside
from tintmix.page.workspace import Workspace

PART = PartWish((Place("flange", 8.0), Place("point", 60.0)), 0.08, "D65", 10)
DOSES = {"azure": 0.02, "emerald": 0.01}
TARGET = {
    "kind": "glass",
    "glass": "sea-green",
    "tolerance": 2.0,
    "pigments": 3,
    "total_phr": 1.0,
    "haze_percent": None,
    "leave_out": [],
}


def fill(workspace: Workspace, work: Work, chips_name: str = "deck-prism") -> str:
    """Chips, model, part, target and tint of the demo, all at once when all is there; where to go on. Raises Stopped."""
    chips = replace(read_chips(demo(chips_name)), folder=None)
    thing = workspace.keep_set(chips)
    name, place = workspace.place()
    fit_aside(work, [workspace.set_folder(thing)], place)
    now = workspace.now()
    bench = bench_areas(workspace, now, work, name, PART, TARGET)
    identity = os.urandom(8).hex()
    workspace.change(
        "the demo",
        {
            "chips": with_set(now, entry_of(identity, thing, chips)),
            "pigments": {"model": name, "from": {identity: thing}, "names": [p.name for p in chips.pigments]},
            "part": PART.as_area(),
            "tint": {"doses": DOSES},
            **bench,
        },
        {},
    )
    return "/tint"
