"""The whole book as one JSON file, and back: nothing twice, nothing overwritten."""

from __future__ import annotations

import base64
import binascii
import hashlib
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from tintmix.book import pours as book_pours
from tintmix.book import recipes as book_recipes
from tintmix.book import shelf as book_shelf
from tintmix.book.file import Store
from tintmix.book.records import (
    BOTTLE,
    BOTTLE_EVENT,
    CHECK_CHIP,
    KINDS,
    LOT,
    POUR,
    POUR_ADDITION,
    Kind,
    put,
    rows,
    value_of,
)
from tintmix.book.values import CheckChip, Pour
from tintmix.errors import FileProblem, Remedy, TintmixError, ValueProblem
from tintmix.files import caps
from tintmix.files.canonical import canonical_json
from tintmix.files.long_texts import LongTexts
from tintmix.files.stamp import made_by
from tintmix.files.text import check_values
from tintmix.files.words import plain
from tintmix.weighing.bottle import StockBottle

FORMAT = 1
IS = "tintmix recipe book"
_OUTSIDE = ("digest", "made_by", "made_at")
_LISTS = ("recipes", *(kind.table for kind in KINDS))
_FULL = StockBottle("any", "any", "any", 5e5, 5e5, 1e6)
_CHECKS: dict[str, Callable[[Mapping[str, Any]], object]] = {
    POUR.table: partial(value_of, Pour),
    POUR_ADDITION.table: book_pours.addition,
    BOTTLE.table: partial(value_of, StockBottle),
    BOTTLE_EVENT.table: lambda event: book_shelf.after(_FULL, event),
    LOT.table: book_shelf.lot_of,
    CHECK_CHIP.table: partial(value_of, CheckChip),
}


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import brought. added: how many of each kind were new; already: how many were there.
    renumbered: name, revision in the export, revision here, where another recipe had that number."""

    added: Mapping[str, int]
    already: Mapping[str, int]
    renumbered: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export holds. digest: of its content; counts: how many of each kind."""

    digest: str
    counts: Mapping[str, int]


def export(store: Store, names: Iterable[str] | None = None, careful: bool = False) -> str:
    """As `export_to` has it, in one text."""
    text = io.StringIO()
    export_to(store, text.write, names, careful)
    return text.getvalue()


def export_to(
    store: Store, write: Callable[[str], object], names: Iterable[str] | None = None, careful: bool = False
) -> Exported:
    """The book as canonical JSON: all of it, or the recipes of some names with their models, pours and photos.

    The same content gives the same bytes in whatever book it is: `made_at` is when the last of it was recorded. `digest` is
    the SHA-256 of the canonical JSON of all but digest, made_by and made_at. What is damaged is left out, and the store names it;
    what belongs to it stands under `left_over`. write: takes one piece of it after another; models and photos are in the memory
    one at a time. careful: every model is looked at too, so that the whole can be imported. Raises NotInBook.
    """
    with store.reading():
        body = _body(store, None if names is None else tuple(names), careful)
        table = {"format": FORMAT, "is": IS, **body}
        sha = hashlib.sha256()
        for piece in _pieces(table):
            sha.update(piece.encode("utf-8", "surrogatepass"))
        named = sha.hexdigest()
        for piece in _pieces({**table, "digest": named, "made_by": made_by(), "made_at": _last(body)}):
            write(piece)
        write("\n")
    return Exported(named, {key: len(body[key]) for key in sorted(body)})


def import_(store: Store, text: str | LongTexts, where: object) -> Imported:
    """Bring in what an export holds and the book does not; all of it, or nothing. text: or the file, whose long texts stay on the
    disk until each is needed.

    A recipe that is there (by its digest) is left alone; one whose revision number another recipe of the name has gets the
    next one. Raises FileProblem.
    """
    held = LongTexts(text) if isinstance(text, str) else text
    table = _checked(held, where)
    already, added = (dict.fromkeys(("models", "photos", *_LISTS), 0) for _ in range(2))
    count, renumbered = (already, added), []
    with store.writing() as db:
        for named, content in table["models"].items():
            is_new = book_recipes.put_model(db, named, *book_recipes.pack_table(held.whole(content)), _last(table))
            count[is_new]["models"] += 1
        for sha256, content in table["photos"].items():
            count[book_pours.put_photo(db, sha256, _photo(sha256, held.whole(content)))]["photos"] += 1
        for one in table["recipes"]:
            found = db.execute("SELECT 1 FROM recipe WHERE digest = ?", (one["digest"],)).fetchone()
            count[found is None]["recipes"] += 1
            if found is None:
                name, revision = one["name"], one["revision"]
                query = "SELECT 1 FROM recipe WHERE name = ? AND revision = ?"
                if db.execute(query, (name, revision)).fetchone():
                    revision = book_recipes.next_revision(db, name)
                    renumbered.append((name, one["revision"], revision))
                kept = one["kept_at"], one["kept_by"], one["note"]
                book_recipes.put_recipe(db, name, revision, one["digest"], one["recipe"], kept)
        for kind in KINDS:
            for content in table[kind.table]:
                try:
                    is_new = put(db, kind, content) is not None
                except LookupError as problem:
                    raise _export_damaged(where, str(problem.args[0])) from None
                count[is_new][kind.table] += 1
        try:
            book_shelf.bottles(store)
        except ValueProblem as problem:  # what is said to have happened to it cannot have
            raise _export_damaged(where, _why(problem)) from None
    return Imported(added, already, tuple(renumbered))


# Out ------------------------------------------------------------------------------------------------------------------


def _body(store: Store, names: tuple[str, ...] | None, careful: bool) -> dict[str, Any]:
    for name in names or ():
        book_recipes.check_there(store, name)
    whole = names is None
    recipes = [one for one in book_recipes.sound_tables(store) if whole or one["name"] in (names or ())]
    models = {one["recipe"]["model"] for one in recipes}
    held = {kind: rows(store, kind) if whole or kind in (POUR, POUR_ADDITION) else [] for kind in KINDS}
    owners = {"recipe": {one["digest"] for one in recipes}}
    left_over: dict[str, list[Mapping[str, Any]]] = {}
    for kind, found in held.items():
        mine = [row for row in found if not kind.belongs or row.content[kind.belongs] in owners[kind.belongs]]
        if whole and len(mine) < len(found):
            left_over[kind.table] = [row.content for row in found if row not in mine]
        held[kind], owners[kind.table] = mine, {row.digest for row in mine}
    photos = {row.content["sha256"] for row in held[POUR_ADDITION] if row.content["kind"] == "photo"}
    return {
        "models": _Long(store, "model", partial(_model, careful=careful), None if whole else models),
        "photos": _Long(store, "photo", _photo_text, None if whole else photos),
        "recipes": recipes,
        **{kind.table: [row.content for row in held[kind]] for kind in KINDS},
        # What belongs to what is damaged cannot be imported; it can be read here.
        **({"left_over": left_over} if left_over else {}),
    }


class _Long:
    """The models or the photos of an export by their digests, each fetched when its turn has come."""

    def __init__(
        self, store: Store, table: str, text_of: Callable[[Store, int], str | None], only: set[str] | None
    ) -> None:
        self.store, self.text_of, self.count = store, text_of, 0
        found = store.each(f"SELECT rowid, digest FROM {table}", table)
        mine = [(number, named) for number, named in found if only is None or named in only]
        self.numbers = sorted(mine, key=lambda one: str(one[1]))

    def __len__(self) -> int:
        return self.count

    def pieces(self) -> Iterator[str]:
        """A table of them, as canonical JSON, without those that are damaged."""
        self.count = 0
        for number, named in self.numbers:
            text = self.text_of(self.store, number)
            if text is not None:
                yield f"{',' if self.count else '{'}{canonical_json(named)}:{text}"
                self.count += 1
        yield "}" if self.count else "{}"


def _pieces(table: Mapping[str, Any]) -> Iterator[str]:
    """Canonical JSON of a table, a piece at a time."""
    before = "{"
    for key in sorted(table):
        yield f"{before}{canonical_json(key)}:"
        before, value = ",", table[key]
        if isinstance(value, _Long):
            yield from value.pieces()
        else:
            yield canonical_json(value)
    yield "}"


def _model(store: Store, number: int, careful: bool) -> str | None:
    from tintmix.pigments.model_file import model_from_table  # numpy, 0.1 s: a list of the book needs none

    for named, seal, packed in store.each("SELECT digest, seal, content FROM model", "model", "rowid = ?", (number,)):
        try:
            table = book_recipes.unpack_model(store, seal, packed)
            if careful and not model_from_table(table, "").is_called(named):
                raise ValueError(named)
            return canonical_json(table)
        except (ValueError, TintmixError):
            store.damaged[f"model {str(named)[:12]}"] = None
    return None


def _photo_text(store: Store, number: int) -> str | None:
    for sha256, content in store.each("SELECT digest, content FROM photo", "photo", "rowid = ?", (number,)):
        if isinstance(content, bytes) and hashlib.sha256(content).hexdigest() == sha256:
            return f'"{base64.b64encode(content).decode("ascii")}"'
        store.damaged[f"photo {str(sha256)[:12]}"] = None
    return None


def _last(body: Mapping[str, Any]) -> str:
    times = [one["kept_at"] for one in body["recipes"]]
    times += [content["recorded_at"] for kind in KINDS for content in body[kind.table]]
    return max(times, default="1970-01-01T00:00:00Z")


# In -------------------------------------------------------------------------------------------------------------------


def _checked(held: LongTexts, where: object) -> dict[str, Any]:
    """An export, every part of it looked at before any is let in."""
    check_values(held.text, caps.EXPORT_VALUES, where)
    try:
        table = json.loads(held.text, parse_constant=int)  # which NaN and Infinity are not
    except RecursionError:
        raise _not_an_export(where, "its tables are nested too deeply") from None
    except ValueError:
        raise _not_an_export(where, "it is no JSON, or cut off") from None
    if not isinstance(table, dict) or table.get("is") != IS:
        raise _not_an_export(where, "it does not say that it is one")
    found = table.get("format")
    if type(found) is not int or found < 1:
        raise _not_an_export(where, "it names no format")
    if found > FORMAT:
        newer = f"is in export format {plain(found)}, and this version reads up to {FORMAT}"
        raise _refused(where, newer, Remedy.BRING_UP_TO_DATE)
    try:
        said = held.digest({key: value for key, value in table.items() if key not in _OUTSIDE})
    except (TintmixError, RecursionError) as problem:
        raise _not_an_export(where, str(problem)) from None
    if said != table.get("digest"):
        raise _export_damaged(where, "its content does not have the digest that it names")
    # From here on it is what some program of this name wrote; it is looked at all the same.
    try:
        if any(not isinstance(table[key], list) for key in _LISTS):
            raise ValueError("a list is missing")
        _check_contents(table, held, where)
        for key, value in table["photos"].items():
            _photo(key, held.whole(value))
        for kind in KINDS:
            for content in table[kind.table]:
                _CHECKS[kind.table](content)
                _check_record(kind, content)
    except (KeyError, TypeError, ValueError, OverflowError, AttributeError, binascii.Error, TintmixError) as problem:
        raise _export_damaged(where, _why(problem)) from None
    return table


def _check_record(kind: Kind, content: Mapping[str, Any]) -> None:
    if not (isinstance(content["recorded_at"], str) and type(content["nth"]) is int and 0 < content["nth"] < 2**31):
        raise ValueError("a record without its time or number")
    if kind.belongs and not isinstance(content[kind.belongs], str):
        raise ValueError(f"a record that belongs to no {kind.belongs}")


def _why(problem: Exception) -> str:
    if isinstance(problem, KeyError):
        return f"{problem.args[0]} is missing"
    told = isinstance(problem, ValueError | TintmixError)
    return str(problem).rstrip(".") if told else "a part is not what it should be"


def _check_contents(table: Mapping[str, Any], held: LongTexts, where: object) -> None:
    # Here, since numpy takes 0.1 s: a list of the book needs none.
    from tintmix.pigments.model_file import model_from_table
    from tintmix.recipes.recipe_file import recipe_digest, recipe_from_table

    for one in table["recipes"]:
        recipe = recipe_from_table(one["recipe"], f"recipe {one['name']!r}")
        book_recipes.check_name(one["name"])
        if recipe.name != one["name"] or recipe_digest(one["recipe"]) != one["digest"]:
            raise ValueError(f"recipe {one['name']!r} does not have the digest that it names")
        if type(one["revision"]) is not int or not 0 < one["revision"] < 2**31:
            raise ValueError("a revision that is no number")
        if not all(isinstance(one[key], str) for key in ("kept_at", "kept_by", "note")):
            raise ValueError("a recipe without its time")
    for named, content in table["models"].items():
        if not model_from_table(held.whole(content), where).is_called(named):
            raise ValueError(f"model {named[:12]} does not have the digest that it names")


def _photo(sha256: str, text: str) -> bytes:
    content = base64.b64decode(text, validate=True)
    if hashlib.sha256(content).hexdigest() != sha256:
        raise ValueError("a photo does not have the fingerprint that it names")
    return content


def _not_an_export(where: object, reason: str) -> FileProblem:
    return _refused(where, f"is not an export that can be read ({plain(reason, 160)})")


def _export_damaged(where: object, reason: str) -> FileProblem:
    return _refused(where, f"the export was changed or damaged after it was written ({plain(reason, 160)})")


def _refused(where: object, what: str, remedy: Remedy = Remedy.EXPORT_AGAIN) -> FileProblem:
    return FileProblem(where=where, what=f"{what}; nothing was imported", remedy=remedy)
