"""A recipe that was kept, as a file or in the book, with its model and what the book knows of its lots: for sheet and adjust."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tintmix.book.book import Book
from tintmix.book.errors import not_its_model
from tintmix.desk.book.model import model_of
from tintmix.errors import NotThere, Remedy, ValueProblem
from tintmix.files.words import did_you_mean, plain
from tintmix.files.write import Where
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.recipes.recipe_file import Recipe, read_recipe
from tintmix.weighing.bottle import StockBottle


@dataclass(frozen=True, slots=True)
class Found:
    """A recipe, and where it came from. path: its file; None where it is the book's. revision: the book's; None of a file."""

    recipe: Recipe
    path: Path | None
    revision: int | None

    @property
    def folder(self) -> Path:
        """Where the files stand that its target names."""
        return Path() if self.path is None else self.path.parent


def find_recipe(recipe: Where, revision: int | None, book: Book | None) -> Found:
    """A recipe file, or the recipe of that name in the book. Raises ValueProblem, NotThere, and what is wrong with it."""
    path = Path(recipe)
    try:
        there = path.exists()
    except (OSError, ValueError):
        there = False
    if there or path.suffix.lower() == ".json":
        if revision is not None:
            raise ValueProblem(
                where=recipe, what="is a recipe file, which has no revisions", remedy=Remedy.LEAVE_OUT_THE_REVISION
            )
        return Found(read_recipe(path), path, None)
    if book is None:
        raise NotThere(
            where=plain(str(recipe), 300),
            what="there is no such file, and no recipe of that name in the book",
            remedy=Remedy.NAME_A_KEPT_RECIPE,
        )
    kept = book.recipe(str(recipe), revision)
    return Found(kept.recipe, None, kept.revision)


def model_for(found: Found, named: Where | None, book: Book | None) -> TintModel:
    """The model that the recipe came from; named: the file where it is now. Raises ValueProblem, and what `model_of` raises."""
    if named is None:
        return model_of(found.recipe, found.path, book)
    model = load_model(named)
    if found.recipe.model and not model.is_called(found.recipe.model):
        raise not_its_model(found.recipe.name, named, model.digest(), found.recipe.model)
    return model


def lots_in_hand(recipe: Recipe, other: Mapping[str, str]) -> dict[str, str]:
    """The recipe's lots, with the others in their place. Raises ValueProblem."""
    for pigment in other:
        if pigment not in recipe.doses_phr:
            known = f"; {did_you_mean(pigment, recipe.doses_phr)}" if recipe.doses_phr else ", which has none"
            raise ValueProblem(
                where=f"the lot of {plain(pigment)}", what=f"the recipe uses no pigment {plain(pigment)!r}{known}"
            )
    return {**recipe.lots, **other}


def lot_of_the_chips(bottle: StockBottle, lots: Mapping[str, str]) -> StockBottle:
    """A bottle with its lot, where the chips were dosed from it and only their lots are known. lots: the recipe's."""
    if bottle.lot or not bottle.is_of_the_chips:
        return bottle
    return replace(bottle, lot=lots.get(bottle.pigment, ""))
