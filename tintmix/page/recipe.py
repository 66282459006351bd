"""The recipe at hand on the page, with the model that it was found with."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.book.book import open_book_if_there
from tintmix.errors import NotThere, Remedy
from tintmix.files.canonical import canonical_json
from tintmix.files.words import plain
from tintmix.page.errors import NoSuchThing, first_of, keeping
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import save_model
from tintmix.recipes.recipe_file import Recipe, read_recipe


@dataclass(frozen=True, slots=True)
class AtHand:
    """A kept recipe: its name among the page's things, itself, and its file."""

    thing: str
    recipe: Recipe
    path: Path


def recipe_at_hand(workspace: Workspace, now: Snapshot) -> AtHand | None:
    """The chosen recipe, or the first of those that are kept; None where none is."""
    area = now.area("recipes")
    first = next((one["thing"] for one in area.get("kept", [])), None)
    thing = area.get("chosen") or first
    return None if thing is None else recipe_of(workspace, now, thing)


def kept_recipe(now: Snapshot, thing: str) -> dict[str, Any]:
    """The entry of a kept recipe. Raises NoSuchThing."""
    return first_of((one for one in now.area("recipes").get("kept", []) if one["thing"] == thing), "recipe")


def recipe_of(workspace: Workspace, now: Snapshot, thing: str) -> AtHand:
    """A kept recipe. Raises NoSuchThing."""
    path = workspace.file(kept_recipe(now, thing)["thing"])
    return AtHand(thing, read_recipe(path), path)


def model_thing(workspace: Workspace, now: Snapshot, found: AtHand) -> str:
    """The name of the model that the recipe was found with. Raises NotThere."""
    named = kept_recipe(now, found.thing).get("model")
    for name in (named, now.area("sheet").get("model"), now.area("pigments").get("model")):
        with suppress(NoSuchThing):
            if name and workspace.model(name).is_called(found.recipe.model):
                return str(name)
    # Learnt anew since; the book may hold it.
    book = open_book_if_there()
    if book is not None:
        with book:
            model = book.model(found.recipe.model)
        if model is not None:
            return keep_model(workspace, model)
    raise NotThere(
        where=plain(found.recipe.name),
        what="it was found with other chips than those that the pigments are known from now, so its colours cannot be told",
        remedy=Remedy.FIND_THE_RECIPE_AGAIN,
    )


def keep_model(workspace: Workspace, model: TintModel) -> str:
    """A model among the page's things; its name."""
    name, place = workspace.place()
    with keeping():
        save_model(model, place)
    return name


def put_recipe(
    workspace: Workspace, area: dict[str, Any], table: Mapping[str, Any], model: str | None
) -> dict[str, Any]:
    """The recipes area with a recipe kept in the place of the one of its name, and chosen. table: as in recipe.json."""
    thing = workspace.keep_content(canonical_json(table))
    entry = {"name": table["name"], "thing": thing, "doses_phr": table["doses_phr"], "model": model}
    others = [one for one in area.get("kept", []) if one["name"] != entry["name"]]
    return {**area, "kept": [*others, entry], "chosen": thing}
