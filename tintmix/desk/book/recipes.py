"""The recipe book: recipes kept, listed, shown, compared and re-scaled; and the book itself exported, imported, copied."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from tintmix.book.book import Book, open_book
from tintmix.book.care import Checked
from tintmix.book.mend import mended
from tintmix.book.place import VARIABLE, book_place, stands_at
from tintmix.book.rescale import rescaled
from tintmix.desk.book.model import model_of, write_beside
from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files import caps
from tintmix.files.long_texts import LongTexts
from tintmix.files.plain import finite, table_of
from tintmix.files.write import Outputs, Where
from tintmix.resin import read_resin, resin_to_table
from tintmix.sheet.cautions import cautions_for, cautions_table

if TYPE_CHECKING:
    from tintmix.book.pours import KeptPour
    from tintmix.book.recipes import KeptRecipe, Line
    from tintmix.recipes.recipe_file import Recipe

_MOST_NAMED = 8
MOST = 50
"""Recipes that a list shows where nobody says."""


@dataclass(frozen=True, slots=True)
class BookDone:
    """What the book was asked or told. body: as JSON has it. written: the files that were made. recorded: what the book holds
    by now, in a few words; empty where it was only asked."""

    body: dict[str, Any]
    written: tuple[str, ...] = ()
    recorded: str = ""


def keep(
    recipe_path: Where,
    book: Where | None = None,
    note: str = "",
    name: str | None = None,
    model: Where | None = None,
    without_model: bool = False,
) -> BookDone:
    """Keep a recipe file with its model, as the next revision of its name. model: where the model file is now.

    Raises what is wrong with the recipe, the model and the book; NotThere where the model is not to be found.
    """
    # Here, since numpy takes 0.1 s: a list of the book needs none.
    from tintmix.pigments.model_file import load_model
    from tintmix.recipes.recipe_file import read_recipe

    recipe = read_recipe(recipe_path)
    named = replace(recipe, name=name) if name else recipe
    learnt = None
    if model is not None:
        learnt = load_model(model)
    elif not without_model:
        learnt = model_of(recipe, recipe_path)
    with open_book(book) as opened:
        kept = opened.keep(named, learnt, note)
        return BookDone(
            {"book": str(opened.path), **kept_table(kept), "says": _kept_says(kept)},
            recorded=f"in the book as revision {kept.revision}",
        )


def list_recipes(book: Where | None = None, words: str = "", most: int | None = MOST) -> BookDone:
    """The newest revision of each recipe. words: only names that hold them all. most: None for all."""
    place = book_place(book)
    count, recipes, damage = 0, list[dict[str, Any]](), dict[str, Note]()
    # Nobody has kept anything yet: an answer, where the place is not one that somebody named.
    if book is not None or os.environ.get(VARIABLE) or stands_at(place):
        with open_book(place, create=False) as opened:
            lines = opened.list(words)
            count, recipes = len(lines), [told for one in lines[:most] if (told := _line(opened, one))]
            damage = damage_of(opened)
    return BookDone({"book": str(place), "count": count, "recipes": recipes, **damage})


def show(
    name: str,
    revision: int | None = None,
    book: Where | None = None,
    out: Where | None = None,
    replace_old: bool = False,
) -> BookDone:
    """A kept recipe with its pours and where it came from. out: write the recipe file there, as it was kept, and the model
    beside it. Raises NotInBook, InUse, CannotWrite."""
    with open_book(book, create=False) as opened:
        kept = opened.recipe(name, revision)
        others = opened.revisions(name)
        pours = opened.pours(name)
        lots = opened.lot_strengths(kept.recipe.lots)
        learnt = opened.model(kept.recipe.model) if kept.has_model else None
        written = () if out is None else _write_back(opened, kept, out, replace_old)
        place, damage = str(opened.path), damage_of(opened)
    recipe = kept.recipe
    from tintmix.recipes.recipe_file import recipe_to_table  # numpy, 0.1 s: a list of the book needs none

    table = recipe_to_table(recipe)
    body = {
        "book": place,
        **kept_table(kept),
        **{key: table[key] for key in ("doses_phr", "resin", "lots", "sections", "target", "limits", "model", "chips")},
        "total_phr": recipe.total_phr,
        "model_file": recipe.model_file,
        "made_by": recipe.made_by,
        "made_at": recipe.made_at,
        "lot_strengths": {pigment: {"strength": s, "spread": spread} for pigment, (s, spread) in lots.items()},
        "revisions": [one.stamp for one in others],
        "pours": [pour_table(one) for one in pours],
        "warnings": [
            *_changed(recipe),
            *([] if learnt is None or not learnt.health.warning else [learnt.health.warning]),
        ],
        **_casting(recipe),
        **cautions_table(cautions_for(recipe.resin)),
        **damage,
        "written": list(written),
    }
    return BookDone(body, written)


def rescale(
    name: str,
    revision: int | None = None,
    book: Where | None = None,
    resin: Where | None = None,
    lots: Mapping[str, str] | None = None,
    keep_it: bool = False,
    out: Where | None = None,
    replace_old: bool = False,
) -> BookDone:
    """A kept recipe for another resin ratio or other lots, as a new value; kept as a new revision, or written, if asked.

    Raises ValueProblem, and what is wrong with the resin file and the book.
    """
    with open_book(book, create=False) as opened:
        kept = opened.recipe(name, revision)
        known = opened.lot_strengths({**kept.recipe.lots, **(lots or {})})
        strengths = {pigment: one[0] for pigment, one in known.items() if pigment in kept.recipe.doses_phr}
        done = rescaled(kept.recipe, None if resin is None else read_resin(resin), lots, strengths)
        again = None
        if keep_it:
            again = opened.keep(done.recipe, None, f"re-scaled from revision {kept.revision}")
        written = () if out is None else _write_back(opened, replace(kept, recipe=done.recipe), out, replace_old)
    new = done.recipe
    body = {
        "name": name,
        "from_revision": kept.revision,
        "doses_phr": dict(new.doses_phr),
        "weighed_phr": dict(done.weighed_phr),
        "lots": dict(new.lots),
        "resin": None if new.resin is None else resin_to_table(new.resin),
        "digest": new.digest(),
        "kept": None if again is None else kept_table(again),
        "says": list(done.says),
        **cautions_table(cautions_for(new.resin)),
        "written": list(written),
    }
    return BookDone(body, written, "" if again is None else f"in the book as revision {again.revision}")


def export(
    where: Where, names: Sequence[str] | None = None, book: Where | None = None, replace_old: bool = False
) -> BookDone:
    """The book, or some recipes of it, as one JSON file. Raises CannotWrite, NotInBook."""
    place = book_place(book)
    with Outputs((place,), replace_old) as outputs:
        waiting = outputs.at(where, "export")
        with open_book(place, create=False) as opened:
            with waiting.open("w", encoding="utf-8", newline="\n") as file:
                done = opened.export_to(file.write, names)
            damage = damage_of(opened)
    body = {"book": str(place), "file": str(where), **table_of(done), **damage}
    return BookDone(body, (str(where),))


def import_file(where: Where, book: Where | None = None) -> BookDone:
    """Bring in an export: what the book does not hold yet, all of it or nothing. Raises FileProblem."""
    text = LongTexts.of_file(where, caps.EXPORT, caps.EXPORT_REST, "an export of a recipe book")
    if not stands_at(book_place(book)):
        # Tried elsewhere first: what cannot be imported shall leave no new book behind.
        with TemporaryDirectory() as folder, open_book(Path(folder) / "tried.db") as tried:
            tried.import_(text, where)
    with open_book(book) as opened:
        done = opened.import_(text, where)
    renumbered = [{"name": name, "revision_there": there, "revision": here} for name, there, here in done.renumbered]
    return BookDone(
        {"book": str(opened.path), **table_of(done, renumbered=renumbered)}, recorded="brought into the book"
    )


def backup(where: Where, book: Where | None = None, replace_old: bool = False) -> BookDone:
    """A verified copy in a new file, or in the place of what stands there. Raises InUse, CannotWrite, FileProblem."""
    with open_book(book, create=False) as opened:
        done = opened.backup(Path(where), replace_old)
    return BookDone({"book": str(opened.path), "file": str(where), **table_of(done, ("path",))}, (str(where),))


def check(book: Where | None = None, rescue: Where | None = None, replace_old: bool = False) -> BookDone:
    """Whether all that the book holds is as it was written; a damaged book is an answer. rescue: where an export of all that is
    sound goes. Raises InUse, CannotWrite."""
    place = book_place(book)
    with Outputs((place,), replace_old) as outputs:
        waiting = None if rescue is None else outputs.at(rescue, "export")
        try:
            seen = _checked(place, waiting)
        except FileProblem as problem:
            if waiting is None:
                raise
            seen = _of_a_mended_copy(place, waiting, problem)
    written = () if rescue is None else (str(rescue),)
    body = {"book": str(place), "sound": seen.is_sound, **finite(seen)}
    return BookDone(body | ({"written": list(written)} if written else {}), written)


def _checked(place: Path, rescue: Path | None) -> Checked:
    with open_book(place, create=False) as opened:
        seen = opened.check()
        if rescue is not None:
            with rescue.open("w", encoding="utf-8", newline="\n") as file:
                opened.export_to(file.write, careful=True)
    return seen


def _of_a_mended_copy(place: Path, rescue: Path, problem: FileProblem) -> Checked:
    """What can be rescued of a book that cannot be opened itself, for that problem, which is raised where nothing can."""
    if not place.is_file() or not place.stat().st_size:
        # A device, a pipe or a file of the system has no end that a copy would come to.
        raise problem
    with TemporaryDirectory() as folder:
        try:
            seen = _checked(mended(place, Path(folder)), rescue)
        except FileProblem:
            raise problem from None
    return replace(seen, problems=(str(problem).rstrip("."), *seen.problems))


def damage_of(book: Book) -> dict[str, Note]:
    """What was passed over because it is damaged, as a part of a body; nothing where nothing was."""
    names = list(book.damaged)
    if not names:
        return {}
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    says = f"Damaged in the book, and skipped: {', '.join(names[:_MOST_NAMED])}{more}."
    return {"damaged": Note(says=says, remedy=Remedy.RESCUE_WHAT_IS_SOUND)}


# Values as tables -----------------------------------------------------------------------------------------------------


def _line(book: Book, one: Line) -> dict[str, Any]:
    """A recipe of a list; nothing where its doses cannot be read."""
    told = ("name", "revision", "digest", "doses_phr", "kept_at", "note", "pours")
    try:
        return {key: getattr(one, key) for key in told}
    except ValueError:
        book.damaged[f"recipe {one.name!r}, revision {one.revision}"] = None
        return {}


def kept_table(kept: KeptRecipe) -> dict[str, Any]:
    """What identifies a kept recipe."""
    return table_of(kept, ("recipe",))


def pour_table(pour: KeptPour) -> dict[str, Any]:
    """A pour as a table."""
    photos = [table_of(one, ("content",)) for one in pour.photos]
    table: dict[str, Any] = finite(table_of(pour, ("pour",), **table_of(pour.pour), photos=photos))
    return table


def _kept_says(kept: KeptRecipe) -> str:
    if not kept.is_new:
        return f"Nothing new was kept: {kept.name} says the same as its revision {kept.revision}, which is in the book already."
    told = "" if kept.has_model else " Its model is not in the book; keep it with the model file to weigh it out later."
    return f"Kept {kept.name} as revision {kept.revision}.{told}"


def _casting(recipe: Recipe) -> dict[str, Any]:
    """The places of shapes that it was found for, without their paths; nothing where there are none."""
    places = [
        {key: value for key, value in one.items() if key not in ("lengths_mm", "weights")} for one in recipe.casting
    ]
    return {"casting": places} if places else {}


def _changed(recipe: Recipe) -> list[Note]:
    """What has become of its shapes, where they stand in the folder that one works in."""
    if not recipe.casting:
        return []
    from tintmix.recipes.again import changed_shapes  # numpy, 0.1 s: a list of the book needs none

    return changed_shapes(recipe, Path(), recipe.name)


def _write_back(book: Book, kept: KeptRecipe, out: Where, replace_old: bool) -> tuple[str, ...]:
    from tintmix.recipes.recipe_file import RECIPE_FORMAT, write_recipe  # numpy, 0.1 s: a list of the book needs none

    recipe: Recipe = kept.recipe
    model = book.model(recipe.model)
    with Outputs((book.path,), replace_old) as outputs:
        write_recipe(recipe, outputs.at(out, RECIPE_FORMAT))
        beside = None if model is None else write_beside(model, recipe, out, outputs)
    return (str(out),) if beside is None else (str(out), str(beside))
