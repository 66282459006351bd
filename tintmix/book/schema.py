"""The book's tables, and how an older book is brought up to date: a step at a time, each whole or not at all.

What is written is never changed: every table refuses UPDATE and DELETE. What happens to a thing later (a reading of a pour, a
use of a bottle, a new strength of a lot) is a row of its own. Each row holds its whole content as canonical JSON and that
content's SHA-256; the other columns repeat what is searched for.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from tintmix.files.stamp import made_at, made_by

APPLICATION_ID = 0x74696E74
"""The letters "tint" in the file's header: https://www.sqlite.org/fileformat2.html, offset 68."""


@dataclass(frozen=True, slots=True)
class Migration:
    """A step of the book's format. version: what `PRAGMA user_version` says afterwards."""

    version: int
    what: str
    statements: tuple[str, ...]


def _fixed(*tables: str) -> tuple[str, ...]:
    return tuple(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'what the book holds is never changed'); END"
        for table in tables
        for verb in ("UPDATE", "DELETE")
    )


_CONTENT = "nth INTEGER NOT NULL, recorded_at TEXT NOT NULL, digest TEXT NOT NULL UNIQUE, content TEXT NOT NULL"


def _rows(table: str, columns: str, found_by: str, index: str = "of") -> tuple[str, ...]:
    return (
        f"CREATE TABLE {table} (id INTEGER PRIMARY KEY, {columns}, {_CONTENT})",
        f"CREATE INDEX {table}_{index} ON {table} ({found_by})",
        f"CREATE INDEX {table}_nth ON {table} (nth)",
        *_fixed(table),
    )


MIGRATIONS = (
    Migration(
        1,
        "recipes and the models they came from",
        (
            "CREATE TABLE migration (version INTEGER PRIMARY KEY, what TEXT NOT NULL, applied_at TEXT NOT NULL, "
            "applied_by TEXT NOT NULL)",
            "CREATE TABLE model (digest TEXT PRIMARY KEY, seal TEXT NOT NULL, kept_at TEXT NOT NULL, content BLOB NOT NULL)",
            "CREATE TABLE recipe (id INTEGER PRIMARY KEY, name TEXT NOT NULL, "
            "revision INTEGER NOT NULL CHECK (revision > 0), digest TEXT NOT NULL UNIQUE, model TEXT NOT NULL, "
            "doses TEXT NOT NULL, kept_at TEXT NOT NULL, kept_by TEXT NOT NULL, note TEXT NOT NULL, "
            "UNIQUE (name, revision))",
            "CREATE TABLE recipe_content (recipe_id INTEGER PRIMARY KEY REFERENCES recipe (id), content TEXT NOT NULL)",
            *_fixed("migration", "model", "recipe", "recipe_content"),
        ),
    ),
    Migration(
        2,
        "pours, and what is added to them later",
        (
            *_rows("pour", "recipe_id INTEGER NOT NULL REFERENCES recipe (id)", "recipe_id"),
            *_rows("pour_addition", "pour_id INTEGER NOT NULL REFERENCES pour (id)", "pour_id"),
            "CREATE TABLE photo (digest TEXT PRIMARY KEY, content BLOB NOT NULL)",
            *_fixed("photo"),
        ),
    ),
    Migration(
        3,
        "stock bottles, lots and check chips",
        (
            *_rows("bottle", "name TEXT NOT NULL", "name", "named"),
            *_rows("bottle_event", "bottle_id INTEGER NOT NULL REFERENCES bottle (id)", "bottle_id"),
            *_rows("lot", "pigment TEXT NOT NULL, lot TEXT NOT NULL", "pigment, lot"),
            *_rows("check_chip", "pigment TEXT NOT NULL, lot TEXT NOT NULL", "pigment, lot"),
        ),
    ),
)


def newest() -> int:
    """The format that this version writes."""
    return MIGRATIONS[-1].version


def version_of(db: sqlite3.Connection) -> int:
    """The format that a book is in."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def bring_up_to_date(db: sqlite3.Connection, upto: int | None = None) -> None:
    """Take the steps that a book has not taken yet; each in its own transaction, and recorded. upto: the newest unless told.

    Several processes may do so at once: each step is taken by whoever holds the book, and the others find it taken.
    """
    # On the way of every command that opens a book: only where there is something to do.
    last = newest() if upto is None else upto
    if version_of(db) >= last:
        return

    for step in MIGRATIONS:
        if step.version > last:
            break
        db.execute("BEGIN IMMEDIATE")
        try:
            if version_of(db) < step.version:
                for statement in step.statements:
                    db.execute(statement)
                row = (step.version, step.what, made_at(), made_by())
                db.execute("INSERT INTO migration VALUES (?, ?, ?, ?)", row)
                db.execute(f"PRAGMA user_version = {step.version:d}")
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
