"""Pours in the book: what was weighed, and what is told of the cast part afterwards."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tintmix.book import recipes as book_recipes
from tintmix.book import shelf as book_shelf
from tintmix.book.errors import NotInBook, book_damaged, no_such_place, photo_too_large
from tintmix.book.file import Store
from tintmix.book.records import POUR, POUR_ADDITION, Row, add, rows, value_of
from tintmix.book.values import Photo, PlaceReading, Pour, check_text
from tintmix.errors import Remedy, ValueProblem
from tintmix.files import caps
from tintmix.files.plain import table_of
from tintmix.files.words import plain


@dataclass(frozen=True, slots=True)
class KeptPour:
    """A pour as the book holds it. number: 1, 2, … of the recipe's name, in the order in which they were recorded.
    set_aside: why it is left out of the history, or empty. photos: without their bytes."""

    number: int
    name: str
    revision: int
    digest: str
    recorded_at: str
    pour: Pour
    readings: tuple[PlaceReading, ...] = ()
    photos: tuple[Photo, ...] = ()
    notes: tuple[str, ...] = ()
    set_aside: str = ""


def add_pour(
    store: Store,
    name: str,
    pour: Pour,
    revision: int | None = None,
    readings: Iterable[PlaceReading] = (),
    photos: Iterable[Photo] = (),
    from_bottles: Mapping[str, float] | None = None,
) -> KeptPour:
    """Record a pour of a recipe's revision (the newest), and what was taken from the stock bottles for it, in one go.

    Raises NotInBook, ValueProblem, NotThere, FileProblem.
    """
    with store.writing() as db:
        kept = book_recipes.revision_of(store, name, revision)
        row = add(db, POUR, {"recipe": kept.digest, **table_of(pour)})
        for bottle, grams in (from_bottles or {}).items():
            book_shelf.use_bottle(store, bottle, grams, f"pour of {name}")
        _add_all(db, kept, row.digest, readings, photos)
        return next(one for one in pours(store, name) if one.digest == row.digest)


def add_to_pour(
    store: Store,
    name: str,
    number: int,
    readings: Iterable[PlaceReading] = (),
    photos: Iterable[Photo] = (),
    note: str = "",
    set_aside: str = "",
) -> KeptPour:
    """Add to a pour what came to be known later. Raises NotInBook, ValueProblem, FileProblem."""
    readings, photos = tuple(readings), tuple(photos)
    check_text("note", note)
    check_text("reason", set_aside, 0, 500)
    with store.writing() as db:
        known = pours(store, name)
        if not 1 <= number <= len(known):
            told = f"it has pours 1 to {len(known)}" if known else "no pour of it is recorded yet"
            raise NotInBook(what=f"recipe {plain(name)!r} has no pour {number}; {told}")
        if not (readings or photos or note or set_aside):
            raise ValueProblem(
                where=f"pour {number} of {plain(name)!r}",
                what="nothing is given to add to it",
                remedy=Remedy.GIVE_A_READING_PHOTO_OR_NOTE,
            )
        pour = known[number - 1]
        kept = book_recipes.revision_of(store, name, pour.revision)
        _add_all(db, kept, pour.digest, readings, photos)
        for kind, text in (("note", note), ("set aside", set_aside)):
            if text:
                add(db, POUR_ADDITION, {"pour": pour.digest, "kind": kind, "text": text})
        return pours(store, name)[number - 1]


def pours(store: Store, name: str, revision: int | None = None) -> tuple[KeptPour, ...]:
    """The pours of a recipe, of one revision or of all, in the order in which they were recorded.

    Raises NotInBook.
    """
    with store.reading() as db:
        book_recipes.revision_of(store, name, revision)
        revisions = dict(db.execute("SELECT digest, revision FROM recipe WHERE name = ?", (name,)).fetchall())
        mine = "recipe_id IN (SELECT id FROM recipe WHERE name = ?)"
        found = rows(db, POUR, mine, (name,))
        added: dict[str, list[Row]] = {}
        for row in rows(db, POUR_ADDITION, f"pour_id IN (SELECT id FROM pour WHERE {mine})", (name,)):
            added.setdefault(row.content["pour"], []).append(row)
    made = (
        _kept(store, number, name, revisions[row.content["recipe"]], row, added.get(row.digest, []))
        for number, row in enumerate(found, 1)
    )
    return tuple(one for one in made if revision is None or one.revision == revision)


def photo_bytes(store: Store, sha256: str) -> bytes | None:
    """The bytes of a kept photo."""
    with store.reading() as db:
        found = db.execute("SELECT content FROM photo WHERE digest = ?", (sha256,)).fetchone()
    return None if found is None else bytes(found[0])


def put_photo(db: sqlite3.Connection, sha256: str, content: bytes) -> bool:
    """Keep a photo's bytes once; whether they are new."""
    if db.execute("SELECT 1 FROM photo WHERE digest = ?", (sha256,)).fetchone():
        return False
    db.execute("INSERT INTO photo VALUES (?, ?)", (sha256, content))
    return True


def addition(content: Mapping[str, Any]) -> PlaceReading | Photo | str:
    """What a row of additions says, checked. Raises what its value raises, KeyError, TypeError, ValueError."""
    kind = content["kind"]
    if kind == "reading":
        return value_of(PlaceReading, content)
    if kind == "photo":
        if not (isinstance(content["name"], str) and isinstance(content["sha256"], str)):
            raise TypeError("a photo without a name")
        return Photo(content["name"], content["sha256"])
    if kind not in ("note", "set aside") or not isinstance(content["text"], str):
        raise ValueError(f"an addition of kind {kind!r}")
    return str(content["text"])


def _add_all(
    db: sqlite3.Connection,
    kept: book_recipes.KeptRecipe,
    pour: str,
    readings: Iterable[PlaceReading],
    photos: Iterable[Photo],
) -> None:
    target = kept.recipe.target
    places = [str(section["name"]) for section in kept.recipe.sections]
    for reading in readings:
        if reading.place not in places:
            raise no_such_place(reading.place, kept.name, places)
        light = reading.light or str(target.get("light", "D65"))
        observer = reading.observer or int(target.get("observer", 10))
        told = table_of(reading, light=light, observer=observer)
        add(db, POUR_ADDITION, {"pour": pour, "kind": "reading", **told})
    for photo in photos:
        if photo.content is not None:
            if len(photo.content) > caps.BOOK_PHOTO:
                raise photo_too_large(photo.name, len(photo.content), caps.BOOK_PHOTO)
            put_photo(db, photo.sha256, photo.content)
        add(db, POUR_ADDITION, {"pour": pour, "kind": "photo", "name": photo.name, "sha256": photo.sha256})


def _kept(store: Store, number: int, name: str, revision: int, row: Row, added: Iterable[Row]) -> KeptPour:
    try:
        pour = value_of(Pour, row.content)
        told = [(one.content["kind"], addition(one.content)) for one in added]
    except (KeyError, TypeError, ValueError, ValueProblem) as problem:
        raise book_damaged(store.path, f"pour {number} of {name!r} cannot be read: {problem}") from None
    return KeptPour(
        number=number,
        name=name,
        revision=revision,
        digest=row.digest,
        recorded_at=str(row.content["recorded_at"]),
        pour=pour,
        readings=tuple(value for _, value in told if isinstance(value, PlaceReading)),
        photos=tuple(value for _, value in told if isinstance(value, Photo)),
        notes=tuple(str(value) for kind, value in told if kind == "note"),
        set_aside=next((str(value) for kind, value in reversed(told) if kind == "set aside"), ""),
    )
