"""Keeping the book itself: a verified copy, and whether all that it holds is as it was written."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from tintmix.book import recipes as book_recipes
from tintmix.book.errors import already_there, book_damaged, disk_refused, no_place_for_book
from tintmix.book.file import Store, copy_book, told
from tintmix.book.records import KINDS, every_row
from tintmix.errors import Remedy, TintmixError

MOST_PROBLEMS = 50
_ASKED, _LINES = 100, 3
"""Of SQLite's own words: lines that are asked for, as many as it tells by itself, and lines that are told."""
_STEP = ("version", "what", "applied_at", "applied_by")
_COUNTED = ("recipe", "model", "photo", *(kind.table for kind in KINDS))


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found. problems: a sentence each, at most MOST_PROBLEMS; counts: rows of each table."""

    problems: tuple[str, ...]
    counts: dict[str, int]
    format: int
    migrations: tuple[dict[str, Any], ...]
    without_model: tuple[str, ...]

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


@dataclass(frozen=True, slots=True)
class Backup:
    """A copy that was made. counts: rows of each table in it."""

    path: Path
    size_bytes: int
    counts: dict[str, int]


def check(store: Store) -> Checked:
    """Look at everything: SQLite's own integrity_check and foreign_key_check, and every digest.

    A damaged book is an answer here, not an error.
    """
    problems: list[str] = []
    counts: dict[str, int] = {}
    migrations: tuple[dict[str, Any], ...] = ()
    without: tuple[str, ...] = ()
    version = 0
    try:
        with store.reading() as db:
            version = db.execute("PRAGMA user_version").fetchone()[0]
            problems += _by_sqlite(db)
            alone = Counter((row[0], row[2]) for row in islice(db.execute("PRAGMA foreign_key_check"), MOST_PROBLEMS))
            problems += [
                f"a row of {table} belongs to a row of {of} that is not there{', as do others' if many > 1 else ''}"
                for (table, of), many in alone.items()
            ]
            for problem in _digests(store, db):
                problems.append(problem)
                if len(problems) >= MOST_PROBLEMS:
                    break
            counts = count(db)
            steps = db.execute(f"SELECT {', '.join(_STEP)} FROM migration ORDER BY version")
            migrations = tuple(dict(zip(_STEP, row, strict=True)) for row in steps)
            gone = "SELECT DISTINCT name FROM recipe WHERE model NOT IN (SELECT digest FROM model) ORDER BY name"
            without = tuple(row[0] for row in db.execute(gone))
    except TintmixError as problem:
        problems.append(str(problem).rstrip("."))
    return Checked(tuple(problems), counts, version, migrations, without)


def backup(store: Store, path: str | Path, replace: bool = False) -> Backup:
    """A copy of the book in a new file, by SQLite's backup API, read over before it gets its name.

    replace: in the place of whatever file stands there, but for a book that is in use. Other programs may go on writing.
    Raises InUse, CannotWrite, FileProblem.
    """
    path = Path(path)
    if path.exists() or path.is_symlink():
        if not replace:
            raise already_there(path, "a backup", Remedy.REPLACE_OR_ANOTHER_FILE)
        if not path.is_file() or path.is_symlink() or _has_logs(path) or path.samefile(store.path):
            raise already_there(path, "a backup")
    if not path.parent.is_dir():
        raise no_place_for_book(path, f"the folder {path.parent} does not exist")
    seen: Checked | None = None

    def look(copy: sqlite3.Connection, waiting: Path) -> None:
        nonlocal seen
        seen = check(Store(waiting, copy, True, store.wait_seconds))
        if not seen.is_sound:
            raise book_damaged(store.path, seen.problems[0])

    try:
        with told(path):
            size = copy_book(store.db, path, look, replace)
    except FileExistsError:
        raise already_there(path, "a backup") from None
    except OSError as problem:
        raise disk_refused(path, problem.strerror or str(problem)) from None
    assert seen is not None
    return Backup(path, size, seen.counts)


def _has_logs(path: Path) -> bool:
    """Whether what lies beside a book belongs to it, and to what would be gone if it were replaced."""
    return any(path.with_name(path.name + ending).exists() for ending in ("-wal", "-shm", "-journal"))


def count(db: sqlite3.Connection) -> dict[str, int]:
    """Rows of each table."""
    return {table: db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in _COUNTED}


def _by_sqlite(db: sqlite3.Connection) -> list[str]:
    """What SQLite's integrity_check finds, as one problem if any: of a broken page it tells a line for every cell."""
    found = db.execute(f"PRAGMA integrity_check({_ASKED})").fetchall()
    lines = [line for row in found for line in row[0].splitlines() if line != "ok" and not line.startswith("***")]
    if not lines:
        return []
    left = len(lines) - _LINES
    more = f"; and {'at least ' if len(lines) >= _ASKED else ''}{left} more" if left > 0 else ""
    return [f"SQLite: {'; '.join(lines[:_LINES])}{more}"]


def _digests(store: Store, db: sqlite3.Connection) -> Iterator[str]:
    from tintmix.recipes.recipe_file import recipe_digest  # numpy, 0.1 s: a list of the book needs none

    select = (
        "SELECT name, revision, digest, model, doses, content FROM recipe LEFT JOIN recipe_content ON recipe_id = id"
    )
    for name, revision, named, model, doses, content in store.each(select, "recipe"):
        try:
            table = json.loads(content)
            if recipe_digest(table) != named or table["name"] != name or table["model"] != model:
                raise ValueError(name)
            if json.loads(doses) != table["doses_phr"]:
                raise ValueError(name)
        except (TypeError, ValueError, KeyError, AttributeError, TintmixError):
            yield f"recipe {name!r}, revision {revision}: its content is not what was kept"
    for named, seal, packed in db.execute("SELECT digest, seal, content FROM model"):
        try:
            table = book_recipes.unpack_model(store, seal, packed)
            from tintmix.pigments.model_file import model_from_table  # numpy, 0.1 s: a list of the book needs none

            if not model_from_table(table, "").is_called(named):
                raise ValueError(named)
        except (ValueError, TintmixError):
            yield f"model {named[:12]}: its content is not what was kept"
    for named, photo in db.execute("SELECT digest, content FROM photo"):
        if not isinstance(photo, bytes) or hashlib.sha256(photo).hexdigest() != named:
            yield f"photo {named[:12]}: its content is not what was kept"
    for kind in KINDS:
        for row in every_row(store, kind):
            if not row.content:
                yield f"{kind.table.replace('_', ' ')} {row.id}: its content is not what was kept"
    yield from (f"{name}: it cannot be read" for name in store.damaged)
