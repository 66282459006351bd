"""The demo's bench: its recipe found, kept and chosen, and its batch sheet made, so that Sheet and Trial chip open filled."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from tintmix.errors import TintmixError
from tintmix.files.canonical import canonical_json
from tintmix.files.plain import finite
from tintmix.page.bench.sheet import make
from tintmix.page.colour.target import MOST, target_of, target_words
from tintmix.page.places import PartWish
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.recipes.recipe_file import make_recipe, recipe_to_table
from tintmix.recipes.solve import solve

NAME = "sea-green prism"


def bench_areas(
    workspace: Workspace, now: Snapshot, work: Work, model_name: str, part: PartWish, table: Mapping[str, Any]
) -> dict[str, dict[str, Any]]:
    """The areas "recipes" and "sheet" of the demo. Raises Stopped."""
    model = workspace.model(model_name)
    target = target_of(workspace, table, part)
    found = solve(model, target, MOST, work.progress)
    words = target_words(table)
    recipes = [recipe_to_table(make_recipe(model, target, proposal, words, "")) for proposal in found.proposals]
    answer = {
        "body": finite(found), "recipes": finite(recipes), "model": model_name, "part": part.as_area(),
        "target": dict(table),
    }  # fmt: skip
    best = {**recipes[0], "name": NAME}
    thing = workspace.keep_content(canonical_json(best))
    others = [one for one in now.area("recipes").get("kept", []) if one["name"] != NAME]
    entry = {"name": NAME, "thing": thing, "doses_phr": best["doses_phr"], "model": model_name}
    area = {
        **now.area("recipes"), "target": dict(table), "target_words": words, "answer": workspace.keep_json(answer),
        "kept": [*others, entry], "chosen": thing,
    }  # fmt: skip
    areas: dict[str, dict[str, Any]] = {"recipes": area, "sheet": {}, "trial": {}}
    # A recipe book that cannot be read is no reason not to see the rest of the demo.
    with suppress(TintmixError):
        areas["sheet"] = make(workspace, Snapshot(0, {"recipes": area}, {}), thing)
    return areas
