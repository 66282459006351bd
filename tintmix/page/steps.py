"""Where the maker is in the job, and what is missing for each step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tintmix.numerals import counted
from tintmix.page.workspace import Snapshot

STEPS = {
    "chips": "Chips",
    "pigments": "Pigments",
    "casting": "Casting",
    "tint": "Tint",
    "recipes": "Recipes",
    "sheet": "Sheet",
    "trial": "Trial chip",
    "book": "Recipe book",
}


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the job. state: "done", "open" (can be done now) or "waits"; says: what is there, or what is missing."""

    name: str
    title: str
    state: str
    says: str


def steps_of(now: Snapshot) -> tuple[Step, ...]:
    """The steps, from what the page keeps.

    >>> [step.state for step in steps_of(Snapshot(0, {}, {}))]
    ['open', 'waits', 'open', 'open', 'waits', 'waits', 'waits', 'open']
    """
    chips, pigments = now.area("chips"), now.area("pigments")
    recipes, tint, part = now.area("recipes"), now.area("tint"), now.area("part")
    model = pigments.get("model")
    sets = chips.get("sets", [])
    read, poured = sum(one.get("read", 0) for one in sets), sum(one.get("chips", 0) for one in sets)
    chosen = recipes.get("chosen")
    places = len(part.get("places", [])) or 2
    one_cup = pigments.get("names") == ["mix"]
    dosed = any(tint.get("doses", {}).values())
    told = {
        "chips": ("done", f"{read} of {poured} read") if poured and read == poured
        else ("open", f"{read} of {poured} read" if poured else "none yet"),
        "pigments": _pigments(model, read, sets, pigments),
        "casting": ("done", "traced") if now.area("casting").get("shape") else ("open", "not traced"),
        "tint": ("done" if dosed else "open", "one cup" if not model or one_cup else counted(places, "place")),
        "recipes": _recipes(chosen, bool(model) and not one_cup, recipes),
        "sheet": ("done", "written") if now.area("sheet").get("done")
        else ("open", "to weigh out") if chosen else ("waits", "needs a recipe"),
        "trial": ("done", "adjusted") if now.area("trial").get("done")
        else ("open", "after a trial") if chosen else ("waits", "needs a recipe"),
        "book": ("open", "to look it up"),
    }  # fmt: skip
    return tuple(Step(name, STEPS[name], *told[name]) for name in STEPS)


def _recipes(chosen: str | None, known: bool, recipes: dict[str, Any]) -> tuple[str, str]:
    if chosen:
        return "done", "chosen"
    if not known:
        return "waits", "needs Pigments"
    return "open", "find them" if recipes.get("target") else "set a target"


def _pigments(model: str | None, read: int, sets: list[dict[str, Any]], pigments: dict[str, Any]) -> tuple[str, str]:
    if not model:
        return ("open", "to learn") if read else ("waits", "needs chips read")
    if is_stale(sets, pigments):
        return "open", "chips changed"
    return "done", "known"


def is_stale(sets: list[dict[str, Any]], pigments: dict[str, Any]) -> bool:
    """Whether the chips have changed since the pigments were learnt from them."""
    learnt = pigments.get("from", {})
    return bool(pigments.get("model")) and any(one["thing"] != learnt[one["id"]] for one in sets if one["id"] in learnt)
