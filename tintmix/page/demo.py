"""The demo on the page: the shipped chips of replica deck prisms, learnt from; a target, a tint, a recipe and its batch sheet."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import replace
from typing import Any

from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.errors import LibraryMissing, TintmixError
from tintmix.page.bench.sheet import make
from tintmix.page.casting.kept import traced
from tintmix.page.casting.live import Castings
from tintmix.page.casting.wish import DEFAULT, RING, Body, Insert
from tintmix.page.chips.sets import with_set
from tintmix.page.colour.target import solved, target_words
from tintmix.page.places import PartWish, Place
from tintmix.page.recipe import put_recipe
from tintmix.page.values import to_table
from tintmix.page.work import Work, fit_aside
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.resin import Resin

PART = PartWish((Place("flange", 8.0), Place("point", 60.0)), 0.08, "D65", 10)
CASTING = replace(DEFAULT, insert=Insert(Body("ring", {name: size for name, (_, size) in RING.items()})))
"""The deck prism around its brass ring, of the sizes of swatches/castings."""
NAME = "sea-green prism"
TARGET = {
    "kind": "glass", "glass": "sea-green", "tolerance": 2.0, "pigments": 3, "total_phr": 1.0, "haze_percent": None,
    "leave_out": [],
}  # fmt: skip


def fill(workspace: Workspace, work: Work, chips_name: str = "deck-prism") -> str:
    """Chips, model, part, target and tint of the demo, all at once when all is there; where to go on. Raises Stopped."""
    chips = replace(read_chips(demo(chips_name)), folder=None)
    thing = workspace.keep_set(chips)
    name, place = workspace.place()
    # Traced while another process learns from the chips: it costs the maker no time.
    with ThreadPoolExecutor(1, "tracing") as beside:
        casting = beside.submit(_casting, workspace, chips.resin, work)
        fit_aside(work, [workspace.set_folder(thing)], place, upto=0.0)
    now = workspace.now()
    # The best of what is found for the target is kept and chosen.
    answer, found = solved(workspace, name, PART, TARGET, work)
    area = now.area("recipes") | {"target": TARGET, "target_words": target_words(TARGET), "answer": answer}
    recipes = put_recipe(workspace, area, {**found[0], "name": NAME}, name)
    areas: dict[str, dict[str, Any]] = {
        "chips": with_set(now, thing, chips),
        "pigments": {"model": name, "from": {thing: thing}, "names": [p.name for p in chips.pigments]},
        "part": to_table(PART),
        "tint": {"doses": found[0]["doses_phr"]},
        "casting": casting.result(),
        "recipes": recipes,
        "sheet": {},
        "trial": {},
    }
    # A recipe book that cannot be read is no reason not to see the rest of the demo.
    with suppress(TintmixError):
        areas["sheet"] = make(workspace, Snapshot(0, {"recipes": recipes}, {}), recipes["chosen"])
    workspace.change("the demo", areas, {})
    return "/tint"


def _casting(workspace: Workspace, resin: Resin, work: Work) -> dict[str, Any]:
    """The casting traced, or as it is where the libraries for that are missing. Raises Stopped."""
    with suppress(LibraryMissing):
        return traced(workspace, Castings(), CASTING, resin.refractive_index, resin, work)[1]
    return dict(to_table(CASTING))
