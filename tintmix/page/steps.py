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
    """The steps, from what the page keeps. What they say is counted, never a tick for what was not done.

    >>> [step.state for step in steps_of(Snapshot(0, {}, {}))]
    ['open', 'waits', 'open', 'open', 'waits', 'waits', 'waits', 'open']
    """
    chips, pigments = now.area("chips"), now.area("pigments")
    sets, recipes = chips.get("sets", []), now.area("recipes")
    read, poured = sum(one.get("read", 0) for one in sets), sum(one.get("chips", 0) for one in sets)
    one_cup = pigments.get("names") == ["mix"]
    known = bool(pigments.get("model")) and not one_cup
    traced = bool(now.area("casting").get("shape"))
    told = {
        "chips": (
            "done" if poured and read == poured else "open",
            f"{read} of {poured} read" if poured else "none yet",
        ),
        "pigments": _pigments(read, sets, pigments, one_cup),
        "casting": ("done", "traced") if traced else ("open", "not traced"),
        "tint": _tint(now.area("tint").get("doses", {}), known, one_cup),
        "recipes": _recipes(known, recipes),
        "sheet": _sheet(now.area("sheet"), bool(recipes.get("chosen"))),
        "trial": _trial(now.area("trial"), bool(recipes.get("chosen"))),
        "book": ("open", "for all jobs"),
    }
    return tuple(Step(name, STEPS[name], *told[name]) for name in STEPS)


def _pigments(read: int, sets: list[dict[str, Any]], pigments: dict[str, Any], one_cup: bool) -> tuple[str, str]:
    if not pigments.get("model"):
        return ("open", "to learn") if read else ("waits", "needs chips read")
    if is_stale(sets, pigments):
        return "open", "chips changed"
    return "done", "one cup" if one_cup else f"{len(pigments.get('names', []))} known"


def _tint(doses: dict[str, float], known: bool, one_cup: bool) -> tuple[str, str]:
    dosed = sum(1 for dose in doses.values() if dose)
    if not known:
        return ("done", "your cup") if one_cup else ("open", "one cup")
    return ("done", counted(dosed, "dose")) if dosed else ("open", "untinted")


def _recipes(known: bool, recipes: dict[str, Any]) -> tuple[str, str]:
    if recipes.get("chosen"):
        return "done", f"{len(recipes.get('kept', []))} saved"
    if not known:
        return "waits", "needs pigments"
    return "open", "find them" if recipes.get("target") else "set a target"


def _sheet(sheet: dict[str, Any], chosen: bool) -> tuple[str, str]:
    if sheet.get("pour"):
        return "done", f"pour {sheet['pour']} recorded"
    if sheet.get("sheet"):
        ticked, boxes = len(sheet.get("ticks", [])), sheet.get("boxes")
        # A sheet of an earlier version does not say how many boxes it has.
        return "open", f"{ticked} of {boxes} ticked" if boxes else f"{ticked} ticked"
    return ("open", "to weigh out") if chosen else ("waits", "needs a recipe")


def _trial(trial: dict[str, Any], chosen: bool) -> tuple[str, str]:
    if trial.get("answer"):
        return "done", "answered"
    if trial.get("rounds"):
        return "open", f"{counted(len(trial['rounds']), 'top-up')} in"
    return ("open", "nothing read") if chosen else ("waits", "needs a recipe")


def is_stale(sets: list[dict[str, Any]], pigments: dict[str, Any]) -> bool:
    """Whether the chips have changed since the pigments were learnt from them."""
    learnt = pigments.get("from", {})
    return bool(pigments.get("model")) and any(one["thing"] != learnt[one["id"]] for one in sets if one["id"] in learnt)
