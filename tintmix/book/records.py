"""Rows that hold one thing each, whole, as canonical JSON with its digest. What they say is never changed.

A row's content says when it was recorded (`recorded_at`), the how manieth of its table it was in the book where it was recorded
(`nth`), and, by digest, what it belongs to. So two things that look alike stay two, and a row means the same in any book.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, TypeVar

from tintmix.book.file import Store
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.stamp import made_at

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Kind:
    """A table of rows. finds: columns that repeat keys of the content. belongs: the table of what a row is part of, and the
    key of that one's digest. order: in which its rows are read; what was measured last counts, wherever it was recorded."""

    table: str
    finds: tuple[str, ...] = ()
    belongs: str = ""
    order: str = "recorded_at, nth, digest"


# A pour's number is written on the part, so pours of another book come after those that are here.
POUR = Kind("pour", belongs="recipe", order="id")
POUR_ADDITION = Kind("pour_addition", belongs="pour")
BOTTLE = Kind("bottle", finds=("name",))
BOTTLE_EVENT = Kind("bottle_event", belongs="bottle")
LOT = Kind("lot", finds=("pigment", "lot"))
CHECK_CHIP = Kind("check_chip", finds=("pigment", "lot"))
KINDS = (POUR, POUR_ADDITION, BOTTLE, BOTTLE_EVENT, LOT, CHECK_CHIP)


@dataclass(frozen=True, slots=True)
class Row:
    """A row as it is kept. id: of this book's file only; digest: the same in every book; content: empty where it is damaged."""

    id: int
    digest: str
    content: Mapping[str, Any]


def add(db: sqlite3.Connection, kind: Kind, content: Mapping[str, Any]) -> Row:
    """A new row, recorded now, or at SOURCE_DATE_EPOCH."""
    # Table and column names are of this file; values go by parameters.
    nth = db.execute(f"SELECT coalesce(max(nth), 0) + 1 FROM {kind.table}").fetchone()[0]
    whole = {**content, "recorded_at": made_at(), "nth": nth}
    while (row := put(db, kind, whole)) is None:  # a row of another book has this number
        whole["nth"] += 1
    return row


def put(db: sqlite3.Connection, kind: Kind, content: Mapping[str, Any]) -> Row | None:
    """A row as it was recorded, here or elsewhere; None where it is there already. Raises LookupError without its owner."""
    text, named = canonical_json(content), digest(content)
    if db.execute(f"SELECT 1 FROM {kind.table} WHERE digest = ?", (named,)).fetchone():
        return None
    columns: dict[str, Any] = {name: content[name] for name in kind.finds}
    if owner := kind.belongs:
        found = db.execute(f"SELECT id FROM {owner} WHERE digest = ?", (content[owner],)).fetchone()
        if found is None:
            raise LookupError(f"there is no {owner} {str(content[owner])[:12]}")
        columns[f"{owner}_id"] = found[0]
    columns |= {"nth": content["nth"], "recorded_at": content["recorded_at"], "digest": named, "content": text}
    places = ", ".join("?" * len(columns))
    statement = f"INSERT INTO {kind.table} ({', '.join(columns)}) VALUES ({places})"
    made = db.execute(statement, list(columns.values()))
    return Row(int(made.lastrowid or 0), named, content)


def every_row(store: Store, kind: Kind, where: str = "1", values: tuple[Any, ...] = ()) -> list[Row]:
    """Rows in the order of their kind, the content of a damaged one empty. where: a condition on the columns, with ? for values.

    Raises what sqlite3 raises.
    """
    found = store.each(f"SELECT id, digest, content FROM {kind.table}", kind.table, where, values, kind.order)
    return [Row(number, str(named), _sound(named, text)) for number, named, text in found]


def rows(store: Store, kind: Kind, where: str = "1", values: tuple[Any, ...] = ()) -> list[Row]:
    """The same without the damaged ones, which the store names."""
    found = every_row(store, kind, where, values)
    store.damaged |= {f"{kind.table.replace('_', ' ')} {row.id}": None for row in found if not row.content}
    return [row for row in found if row.content]


def _sound(named: object, text: object) -> Mapping[str, Any]:
    """A row's content, if it is what was kept: the text is canonical, so that its own digest is the content's."""
    if not isinstance(text, str) or hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest() != named:
        return {}
    content: dict[str, Any] = json.loads(text)
    return content


_ADDED = ("resin",)
"""Keys that rows of earlier versions do not have."""


def value_of(kind: type[Value], content: Mapping[str, Any]) -> Value:
    """A dataclass again from a row's content. Raises KeyError, and what its birth raises."""
    named = [one for one in fields(kind) if one.name in content or one.name not in _ADDED]  # type: ignore[arg-type]
    return kind(**{one.name: content[one.name] for one in named})
