"""The model that a recipe came from, wherever it is now."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING

from tintmix.book.errors import already_there, model_gone, not_its_model
from tintmix.errors import Remedy, TintmixError
from tintmix.files.write import Outputs, Where

if TYPE_CHECKING:
    from tintmix.book.book import Book
    from tintmix.pigments.model import TintModel
    from tintmix.recipes.recipe_file import Recipe


def model_of(recipe: Recipe, recipe_path: Where | None = None, book: Book | None = None) -> TintModel:
    """The model with the digest that the recipe names: from its file as named, from beside the recipe file, or from the
    book. Raises ValueProblem where only another model is found under its name, NotThere where none is.
    """
    from tintmix.pigments.model_file import load_model  # numpy, 0.1 s: a list of the book needs none

    another: TintmixError | None = None
    for place in _places(recipe.model_file, None if recipe_path is None else Path(recipe_path)):
        try:
            if not place.is_file():
                continue
            model = load_model(place)
        except (OSError, ValueError, TintmixError) as problem:
            another = another or (problem if isinstance(problem, TintmixError) else None)
            continue
        if not recipe.model or model.is_called(recipe.model):
            return model
        another = not_its_model(recipe.name, place, model.digest(), recipe.model)
    kept = None if book is None else book.model(recipe.model)
    if kept is not None:
        return kept
    raise another or model_gone(recipe.name, recipe.model_file, recipe.model)


def write_beside(model: TintModel, recipe: Recipe, where: Where, outputs: Outputs) -> Path | None:
    """Put the model where `model_of` finds it for the recipe file `where`; its place, or None where it is there already.

    Raises InUse where another model has its name, or anything else.
    """
    from tintmix.pigments.model_file import (
        MODEL_FORMAT,
        load_model,
        save_model,
    )  # numpy, 0.1 s: a list of the book needs none

    path = Path(where)
    place = path.parent / (bare_name(recipe.model_file) or f"{path.stem}-model.json")
    if place.exists() or place == path:
        try:
            same = load_model(place).digest() == model.digest()
        except TintmixError:
            same = False
        if same:
            return None
        if not outputs.replace:
            raise already_there(place, "the recipe's model", Remedy.REPLACE_OR_ANOTHER_FILE)
    save_model(model, outputs.at(place, MODEL_FORMAT))
    return place


def bare_name(path: str) -> str:
    """The last part of a path of any system.

    >>> bare_name("C:\\\\tints\\\\my.json"), bare_name("tints/my.json"), bare_name("")
    ('my.json', 'my.json', '')
    """
    return PureWindowsPath(PurePosixPath(path).name).name


def _places(named: str, recipe_path: Path | None) -> Iterator[Path]:
    if named:
        yield Path(named)
    if recipe_path is not None:
        if named:
            yield recipe_path.parent / named
            yield recipe_path.parent / bare_name(named)
        yield recipe_path.parent / f"{recipe_path.stem}-model.json"
