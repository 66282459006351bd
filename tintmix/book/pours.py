"""Pours in the book: what was weighed, and what is told of the cast part afterwards."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tintmix.book import recipes as book_recipes
from tintmix.book import shelf as book_shelf
from tintmix.book.errors import NotInBook, no_such_place, photo_too_large, poured_just_now
from tintmix.book.file import Store
from tintmix.book.records import POUR, POUR_ADDITION, Row, add, every_row, rows, value_of
from tintmix.book.values import Photo, PlaceReading, Pour, check_text
from tintmix.errors import Remedy, ValueProblem
from tintmix.files import caps
from tintmix.files.plain import table_of
from tintmix.files.stamp import made_at
from tintmix.files.words import plain

RETRY_SECONDS = 600
"""Within these, what is the same in all of _SAME is taken for a retry: nobody casts and records a second part so fast."""
_SAME = ("poured_on", "batch_g", "weights_g", "lots")


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
    again: bool = False,
) -> KeptPour:
    """Record a pour of a recipe's revision (the newest), and what was taken from the stock bottles for it, in one go.

    again: also where the same was recorded just now. Raises NotInBook, ValueProblem, NotThere, InUse, FileProblem.
    """
    with store.writing() as db:
        kept = book_recipes.revision_of(store, name, revision)
        if not again:
            _check_new(pours(store, name, kept.revision), pour)
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
        pour = next((one for one in known if one.number == number), None)
        if pour is None:
            told = f"it has pours 1 to {known[-1].number}" if known else "no pour of it is recorded yet"
            if f"pour {number} of {name!r}" in store.damaged:
                told = "what the book holds in its place is damaged"
            raise NotInBook(what=f"recipe {plain(name)!r} has no pour {number}; {told}")
        if not (readings or photos or note or set_aside):
            raise ValueProblem(
                where=f"pour {number} of {plain(name)!r}",
                what="nothing is given to add to it",
                remedy=Remedy.GIVE_A_READING_PHOTO_OR_NOTE,
            )
        kept = book_recipes.revision_of(store, name, pour.revision)
        _add_all(db, kept, pour.digest, readings, photos)
        for kind, text in (("note", note), ("set aside", set_aside)):
            if text:
                add(db, POUR_ADDITION, {"pour": pour.digest, "kind": kind, "text": text})
        return next(one for one in pours(store, name) if one.number == number)


def pours(store: Store, name: str, revision: int | None = None) -> tuple[KeptPour, ...]:
    """The pours of a recipe, of one revision or of all, in the order in which they were recorded.

    Raises NotInBook.
    """
    with store.reading() as db:
        book_recipes.check_there(store, name, revision)
        revisions = dict(db.execute("SELECT digest, revision FROM recipe WHERE name = ?", (name,)).fetchall())
        mine = "recipe_id IN (SELECT id FROM recipe WHERE name = ?)"
        found = every_row(store, POUR, mine, (name,))
        added: dict[str, list[Row]] = {}
        for row in rows(store, POUR_ADDITION, f"pour_id IN (SELECT id FROM pour WHERE {mine})", (name,)):
            added.setdefault(row.content["pour"], []).append(row)
    made = []
    # A damaged one keeps its number, which is written on the part of it, and so do all others.
    for number, row in enumerate(found, 1):
        one = _kept(number, name, revisions, row, added.get(row.digest, []))
        if one is None:
            store.damaged[f"pour {number} of {name!r}"] = None
        elif revision is None or one.revision == revision:
            made.append(one)
    return tuple(made)


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


def _check_new(known: Iterable[KeptPour], pour: Pour) -> None:
    """See that this is no retry of what was recorded. Raises InUse."""
    now = datetime.fromisoformat(made_at())
    for one in known:
        seconds = (now - datetime.fromisoformat(one.recorded_at)).total_seconds()
        # What was taken from bottles stands among the weights.
        if 0 <= seconds <= RETRY_SECONDS and all(getattr(one.pour, key) == getattr(pour, key) for key in _SAME):
            raise poured_just_now(one.number, one.name, seconds)


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


def _kept(number: int, name: str, revisions: Mapping[str, int], row: Row, added: Iterable[Row]) -> KeptPour | None:
    """A pour with what was added to it; None where it is damaged."""
    try:
        pour, revision = value_of(Pour, row.content), revisions[row.content["recipe"]]
        told = [(one.content["kind"], addition(one.content)) for one in added]
    except (KeyError, TypeError, ValueError, ValueProblem):
        return None
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
