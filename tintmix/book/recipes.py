"""Recipes in the book: revisions that never change, and the models they came from."""

from __future__ import annotations

import difflib
import hashlib
import json
import sqlite3
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from tintmix.book.errors import NotInBook, bad_name, book_damaged, not_its_model
from tintmix.book.file import Store
from tintmix.errors import FileProblem, TintmixError
from tintmix.files import caps
from tintmix.files.canonical import canonical_json
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import check_values
from tintmix.files.words import plain

if TYPE_CHECKING:
    from tintmix.pigments.model import TintModel
    from tintmix.recipes.recipe_file import Recipe

LONGEST_NAME = 120
_SELECT = (
    "SELECT name, revision, digest, kept_at, kept_by, note, content, "
    "EXISTS (SELECT 1 FROM model WHERE model.digest = recipe.model) "
    "FROM recipe JOIN recipe_content ON recipe_id = id"
)
_LINE = (str, int, str, str, str, str)


@dataclass(frozen=True, slots=True)
class KeptRecipe:
    """A revision of a recipe as the book holds it. digest: SHA-256 of what the recipe says (`Recipe.digest`), its
    fingerprint on every sheet. kept_by: the program and version that kept it. has_model: whether the book holds the model
    it came from. is_new: of what `keep` gives back: whether this was not in the book before."""

    name: str
    revision: int
    digest: str
    kept_at: str
    kept_by: str
    note: str
    recipe: Recipe
    has_model: bool
    is_new: bool = False

    @property
    def stamp(self) -> dict[str, Any]:
        """What tells it from the other revisions of its name."""
        return {key: getattr(self, key) for key in ("revision", "digest", "kept_at", "note")}


class Line(NamedTuple):
    """A recipe in the list: its newest revision. pours: of all its revisions. doses: the JSON of `doses_phr`.

    A named tuple, and its doses read when they are asked for: a list makes ten thousand at once.
    """

    name: str
    revision: int
    digest: str
    doses: str
    kept_at: str
    note: str
    pours: int = 0

    @property
    def doses_phr(self) -> dict[str, float]:
        """The doses, in g per 100 g of mixed resin."""
        doses: dict[str, float] = json.loads(self.doses)
        return doses


def check_name(name: str, what: str = "recipe") -> None:
    """Raises ValueProblem."""
    if not (isinstance(name, str) and 0 < len(name) <= LONGEST_NAME and name == name.strip() and name.isprintable()):
        raise bad_name(what, str(name))


def keep(store: Store, recipe: Recipe, model: TintModel | None = None, note: str = "") -> KeptRecipe:
    """A recipe as the next revision of its name; the one that is there where it says the same to the last digit."""
    from tintmix.recipes.recipe_file import recipe_to_table  # numpy, 0.1 s: a list of the book needs none

    check_name(recipe.name)
    packed = None if model is None else pack_model(model)
    if packed is not None and recipe.model and packed[0] != recipe.model:
        raise not_its_model(recipe.name, recipe.model_file or "the model", packed[0], recipe.model)
    table, named, at, by = recipe_to_table(recipe), recipe.digest(), made_at(), made_by()
    with store.writing() as db:
        if packed is not None:
            put_model(db, *packed, at)
        found = db.execute("SELECT name, revision FROM recipe WHERE digest = ?", (named,)).fetchone()
        is_new = found is None
        name, revision = (recipe.name, next_revision(db, recipe.name)) if is_new else found
        if is_new:
            put_recipe(db, name, revision, named, table, (at, by, note))
        return _kept(store, _found(db, store, name, revision), is_new)


def next_revision(db: sqlite3.Connection, name: str) -> int:
    """One more than the newest revision of a name; 1 where there is none."""
    highest = db.execute("SELECT max(revision) FROM recipe WHERE name = ?", (name,)).fetchone()[0]
    return (highest or 0) + 1


def put_recipe(
    db: sqlite3.Connection,
    name: str,
    revision: int,
    named: str,
    table: Mapping[str, Any],
    kept: tuple[str, str, str],
) -> None:
    """The rows of a new revision. named: its digest. kept: when, by what, and the note."""
    at, by, note = kept
    made = db.execute(
        "INSERT INTO recipe (name, revision, digest, model, doses, kept_at, kept_by, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (name, revision, named, table["model"], canonical_json(table["doses_phr"]), at, by, note),
    )
    db.execute("INSERT INTO recipe_content VALUES (?, ?)", (made.lastrowid, canonical_json(table)))


def listed(store: Store, words: str = "") -> tuple[Line, ...]:
    """A line for each name, the newest revision of each; words: only names that hold all of them."""
    columns = "SELECT name, {}, digest, doses, kept_at, note FROM recipe"
    count = "SELECT name, count(*) FROM pour JOIN recipe ON recipe.id = recipe_id GROUP BY name"
    pours: dict[str, int] = {}
    with store.reading():
        try:
            # SQLite gives the other columns of the row that has the maximum: https://www.sqlite.org/lang_select.html, 2.5.
            newest = store.fetched(f"{columns.format('max(revision)')} GROUP BY name ORDER BY name")
            pours = dict(store.fetched(count))
        except sqlite3.DatabaseError:  # a page of it is damaged
            every = [
                row for row in store.each(columns.format("revision"), "recipe") if all(map(isinstance, row, _LINE))
            ]
            newest = sorted({row[0]: row for row in sorted(every, key=lambda row: row[1])}.values())
    wanted = words.casefold().split()
    if wanted:
        newest = [row for row in newest if all(word in row[0].casefold() for word in wanted)]
    made = [Line._make((*row, pours.get(row[0], 0))) for row in newest if all(map(isinstance, row, _LINE))]
    if len(made) < len(newest):
        store.damaged |= {_named(row): None for row in newest if not all(map(isinstance, row, _LINE))}
    return tuple(made)


def revision_of(store: Store, name: str, revision: int | None = None) -> KeptRecipe:
    """A revision of a recipe, the newest where none is named. Raises NotInBook."""
    with store.reading() as db:
        return _kept(store, _found(db, store, name, revision))


def revisions_of(store: Store, name: str) -> tuple[KeptRecipe, ...]:
    """All revisions, oldest first. Raises NotInBook."""
    with store.reading() as db:
        _found(db, store, name, None)
        found = store.each(_SELECT, "recipe", "name = ?", (name,), "revision")
    made = []
    for row in found:
        try:
            made.append(_kept(store, row))
        except FileProblem:
            store.damaged[_named(row)] = None
    return tuple(made)


def check_there(store: Store, name: str, revision: int | None = None) -> None:
    """Raises NotInBook."""
    with store.reading() as db:
        _found(db, store, name, revision)


# Models ---------------------------------------------------------------------------------------------------------------


def pack_model(model: TintModel) -> tuple[str, str, bytes]:
    """A model as the book keeps it: its digest as it will be read back, the SHA-256 of its canonical JSON, and that,
    compressed."""
    from tintmix.pigments import model_file  # numpy, 0.1 s: a list of the book needs none

    table = {"format": model_file.MODEL_FORMAT.newest, "is": model_file.IS, **model_file.model_to_table(model)}
    return model_file.model_from_table(table, "the model").digest(), *pack_table(table)


def pack_table(table: Mapping[str, Any]) -> tuple[str, bytes]:
    """The same of the model's values."""
    text = canonical_json(table).encode()
    return hashlib.sha256(text).hexdigest(), zlib.compress(text, 6)


def put_model(db: sqlite3.Connection, named: str, seal: str, packed: bytes, at: str) -> bool:
    """Keep a model once; whether it is new."""
    if db.execute("SELECT 1 FROM model WHERE digest = ?", (named,)).fetchone():
        return False
    db.execute("INSERT INTO model (digest, seal, kept_at, content) VALUES (?, ?, ?, ?)", (named, seal, at, packed))
    return True


def unpack_model(store: Store, seal: str, packed: bytes) -> dict[str, Any]:
    """The values of a kept model. Raises FileProblem where they are not those that were kept."""
    try:
        text = zlib.decompressobj().decompress(packed, caps.MODEL)
        if hashlib.sha256(text).hexdigest() != seal:
            raise ValueError("a model is not as it was kept")
        check_values(text, caps.MODEL_VALUES, store.path)
        table: dict[str, Any] = json.loads(text)
    except (zlib.error, TypeError, ValueError) as problem:
        raise book_damaged(store.path, str(problem)) from None
    return table


def model_of(store: Store, named: str) -> TintModel | None:
    """A model by its digest. Raises FileProblem."""
    with store.reading() as db:
        found = db.execute("SELECT seal, content FROM model WHERE digest = ?", (named,)).fetchone()
    if found is None:
        return None
    from tintmix.pigments.model_file import model_from_table  # numpy, 0.1 s: a list of the book needs none

    return model_from_table(unpack_model(store, *found), store.path)


def _found(db: sqlite3.Connection, store: Store, name: str, revision: int | None) -> tuple[Any, ...]:
    if revision is None:
        found = store.each(_SELECT, "recipe", "name = ?", (name,), "revision DESC LIMIT 1")
    else:
        found = store.each(_SELECT, "recipe", "name = ? AND revision = ?", (name, revision))
    if not found:
        known = [row[0] for row in db.execute("SELECT revision FROM recipe WHERE name = ? ORDER BY revision", (name,))]
        if known and revision is not None:
            listed = ", ".join(map(str, known))
            raise NotInBook(what=f"recipe {plain(name)!r} has no revision {revision}; it has {listed}")
        names = [row[0] for row in db.execute("SELECT DISTINCT name FROM recipe ORDER BY name")]
        near = difflib.get_close_matches(name[:120], names, n=1)
        more = f" and {len(names) - 8} more" if len(names) > 8 else ""
        told = f"did you mean {plain(near[0])}?" if near else f"kept are {', '.join(map(plain, names[:8]))}{more}"
        raise NotInBook(
            where=store.path,
            what=f"no recipe {plain(name)!r} is kept there; {told if names else 'the book is empty'}",
        )
    return max(found, key=lambda row: row[1])


def _named(row: tuple[Any, ...]) -> str:
    return f"recipe {plain(row[0])!r}, revision {plain(row[1])}"


def _sound_table(row: Sequence[Any]) -> dict[str, Any] | None:
    """The table of a recipe's row, if it is what was kept."""
    from tintmix.recipes.recipe_file import recipe_digest  # numpy, 0.1 s: a list of the book needs none

    name, revision, named, at, by, note, content = row[:7]
    try:
        table: dict[str, Any] = json.loads(content)
        is_sound = recipe_digest(table) == named and table["name"] == name
    except (TypeError, ValueError, KeyError, AttributeError, TintmixError):
        return None
    return table if is_sound and type(revision) is int and all(isinstance(one, str) for one in (at, by, note)) else None


def sound_tables(store: Store) -> list[dict[str, Any]]:
    """All revisions of all recipes as an export has them; the damaged ones are named, and left out."""
    select = "SELECT name, revision, digest, kept_at, kept_by, note, content FROM recipe JOIN recipe_content ON recipe_id = id"
    columns, found = ("name", "revision", "digest", "kept_at", "kept_by", "note"), []
    for row in store.each(select, "recipe", order="name, revision"):
        table = _sound_table(row)
        if table is None:
            store.damaged[_named(row)] = None
        else:
            found.append({**dict(zip(columns, row, strict=False)), "recipe": table})
    return found


def _kept(store: Store, row: tuple[Any, ...], is_new: bool = False) -> KeptRecipe:
    from tintmix.recipes.recipe_file import recipe_from_table  # numpy, 0.1 s: a list of the book needs none

    name, revision, named, at, by, note, _content, has_model = row
    table = _sound_table(row)
    if table is None:
        raise book_damaged(store.path, f"{_named(row)} is not what was kept")
    recipe = recipe_from_table(table, f"{store.path}, recipe {name!r}")
    return KeptRecipe(name, revision, named, at, by, note, recipe, bool(has_model), is_new)
