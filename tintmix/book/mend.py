"""A book whose list of tables is damaged: a copy in which every table has its own name again, from which the rest can be read.

SQLite opens no table whose line in `sqlite_schema` (https://www.sqlite.org/schematab.html) it cannot parse. The book's tables are
the same in every book of a format, and stand in the order in which the format's steps made them, so that each line can be written
again; but for the number of the page where the table begins, which only the book itself knows.
"""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

from tintmix.book import schema
from tintmix.book.errors import disk_refused
from tintmix.book.file import told


def mended(path: Path, folder: Path) -> Path:
    """A copy of the book's file, and of the log beside it, in that folder, with the lines of its tables written again. The book
    itself is only read. Raises FileProblem, CannotWrite."""
    copy = folder / "mended.db"
    try:
        shutil.copyfile(path, copy)
        log = path.with_name(path.name + "-wal")
        if log.exists():
            shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
    except OSError as problem:
        raise disk_refused(folder, problem.strerror or str(problem)) from None
    with told(path), contextlib.closing(sqlite3.connect(copy, isolation_level=None)) as db:
        # https://www.sqlite.org/pragma.html#pragma_writable_schema: lines that cannot be parsed are then passed over.
        db.execute("PRAGMA writable_schema = ON")
        for line in _lines(schema.version_of(db)):
            db.execute("UPDATE sqlite_schema SET type = ?, name = ?, tbl_name = ?, sql = ? WHERE rowid = ?", line)
    return copy


def _lines(version: int) -> list[tuple[str, str, str, str | None, int]]:
    """The lines of a book of a format, each with its number."""
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        schema.bring_up_to_date(db, version)
        return db.execute("SELECT type, name, tbl_name, sql, rowid FROM sqlite_schema").fetchall()
