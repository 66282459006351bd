"""The book's file: found or made, opened, read and written in transactions; and the disk's troubles as sentences."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Self

from tintmix.book import schema as book_schema
from tintmix.book.errors import (
    TRY_AGAIN,
    NotInBook,
    book_damaged,
    book_read_only,
    book_too_new,
    code_of,
    disk_refused,
    no_place_for_book,
    not_a_book,
    trouble_of,
)
from tintmix.book.place import stands_at, usual_place
from tintmix.errors import CannotWrite, Remedy, TintmixError
from tintmix.files.errors import unreadable
from tintmix.files.upgrades import copy_place
from tintmix.files.words import plain

WAIT_SECONDS = 10.0

# https://www.sqlite.org/fileformat2.html, the database header; https://www.sqlite.org/rescode.html, the codes.
_MAGIC = b"SQLite format 3\0"
_HEADER = 100
_WAL = 2


class Store:
    """An open book's file. One thread at a time; closed by `close`."""

    def __init__(self, path: Path, db: sqlite3.Connection, read_only: bool, wait_seconds: float) -> None:
        self.path, self.db, self.read_only, self.wait_seconds = path, db, read_only, wait_seconds
        self._unread = False
        self._refused: CannotWrite | None = None
        self.damaged: dict[str, None] = {}
        """What was met and passed over because it is not what was kept, by name, in the order in which it was met."""

    @classmethod
    def opened(cls, path: Path, create: bool, wait_seconds: float = WAIT_SECONDS) -> Self:
        """The book at a place, made where there is none. A file that is not a book of ours is not touched.

        Raises NotInBook, CannotWrite, FileProblem, InUse.
        """
        there = stands_at(path)
        if not there:
            if not create:
                raise NotInBook(where=path, what="there is no recipe book", remedy=Remedy.START_A_BOOK)
            _make(path, wait_seconds)
        made = cls._opened(path, wait_seconds)
        made._unread = not there
        return made

    @classmethod
    def _opened(cls, path: Path, wait_seconds: float) -> Self:
        header = _header(path)
        read_only = not (os.access(path, os.W_OK) and os.access(path.resolve().parent, os.W_OK))
        try:
            return cls._opened_so(path, header, read_only, wait_seconds)
        except CannotWrite as problem:
            # A full disk has no room for the index of a log either; without a log there is nothing that it would tell.
            if read_only or _has_log(path):
                raise
            with contextlib.suppress(TintmixError):
                made = cls._opened_so(path, header, True, wait_seconds, alone=True)
                made._refused = problem
                return made
            raise

    @classmethod
    def _opened_so(cls, path: Path, header: bytes, read_only: bool, wait_seconds: float, alone: bool = False) -> Self:
        """alone: the bytes of the one file."""
        with told(path, wait_seconds):
            db = _as_it_lies(path) if alone else connect(path, read_only, wait_seconds)
            try:
                version = book_schema.version_of(db)
                if version > book_schema.newest():
                    raise book_too_new(path, version, book_schema.newest())
                if read_only:
                    if version < book_schema.newest():
                        raise book_read_only(path)
                else:
                    if header[18] != _WAL:
                        _patiently(db, "PRAGMA journal_mode = WAL", wait_seconds)
                    if 0 < version < book_schema.newest():
                        _keep_older(path, db, version)
                    book_schema.bring_up_to_date(db)
            except BaseException:
                db.close()
                raise
        return cls(path, db, read_only, wait_seconds)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was not finished is undone."""
        self.db.close()

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """All that is read inside is of one moment."""
        with self._transaction("BEGIN") as db:
            yield db

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """All that is written inside is kept, on the disk, when it ends, or none of it.

        Raises CannotWrite, InUse, FileProblem.
        """
        if self.read_only:
            raise self._refused or book_read_only(self.path)
        with self._transaction("BEGIN IMMEDIATE") as db:
            yield db
        if self._unread and not self.db.in_transaction:
            # Once, of a new book: whether this place keeps what it is told.
            self._unread = False
            with told(self.path, self.wait_seconds), contextlib.closing(connect(self.path)) as again:
                _read_over(again)

    def each(
        self, select: str, table: str, where: str = "1", values: tuple[Any, ...] = (), order: str = ""
    ) -> list[Any]:
        """Rows of a table; where a page of it is damaged, those that can be reached one by one, and the others named damaged.

        select: up to the WHERE. Text that is no UTF-8 any more comes with its bytes replaced, which no digest fits.
        """
        ordered = f" ORDER BY {order}" if order else ""
        try:
            return self.fetched(f"{select} WHERE {where}{ordered}", values)
        except sqlite3.DatabaseError as problem:
            if code_of(problem) != sqlite3.SQLITE_CORRUPT:
                raise
        found = []
        for number in range(1, self._highest(table) + 1):
            try:
                found += self.fetched(f"{select} WHERE {table}.rowid = ? AND ({where})", (number, *values))
            except sqlite3.DatabaseError as problem:
                if code_of(problem) != sqlite3.SQLITE_CORRUPT:
                    raise
                self.damaged[f"{table.replace('_', ' ')} {number}"] = None
        return found

    def fetched(self, query: str, values: tuple[Any, ...] = ()) -> list[Any]:
        """All rows of a query, also where a text is no UTF-8 any more."""
        try:
            return self.db.execute(query, values).fetchall()
        except sqlite3.OperationalError as problem:
            if code_of(problem) != -1:  # SQLite's own have a code, what Python cannot decode has none
                raise
            self.db.text_factory = lambda text: text.decode("utf-8", "replace")
            return self.db.execute(query, values).fetchall()

    def _highest(self, table: str) -> int:
        """The number of the last row that can be reached from either end, or a few more than are counted."""
        for query in (f"SELECT max(rowid) FROM {table}", f"SELECT count(*) + 100 FROM {table}"):
            with contextlib.suppress(sqlite3.DatabaseError):
                return int(self.db.execute(query).fetchone()[0] or 0)
        return 10_000

    @contextlib.contextmanager
    def _transaction(self, begin: str) -> Iterator[sqlite3.Connection]:
        with told(self.path, self.wait_seconds):
            if self.db.in_transaction:  # inside another: part of it
                yield self.db
                return
            _patiently(self.db, begin, self.wait_seconds)
            try:
                yield self.db
                self.db.execute("COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    with contextlib.suppress(sqlite3.Error):
                        self.db.execute("ROLLBACK")
                raise


def connect(path: Path, read_only: bool = False, wait_seconds: float = WAIT_SECONDS) -> sqlite3.Connection:
    """A connection with the settings that the book relies on. Raises what sqlite3 raises."""
    how = "mode=rw"
    if read_only:
        # Without a folder to write to there is no write-ahead log either, unless another program has left one.
        log = path.with_name(path.name + "-wal")
        how = "mode=ro" if log.exists() or os.access(path.resolve().parent, os.W_OK) else "mode=ro&immutable=1"
    address = f"{path.resolve().as_uri()}?{how}"
    db = sqlite3.connect(address, uri=True, timeout=wait_seconds, isolation_level=None)
    try:
        # FULL: what was told as kept is on the disk, also where the power fails.
        for setting in ("foreign_keys = ON", "recursive_triggers = ON", "trusted_schema = OFF", "synchronous = FULL"):
            db.execute(f"PRAGMA {setting}")
    except BaseException:
        db.close()
        raise
    return db


def copy_book(
    db: sqlite3.Connection,
    path: Path,
    look: Callable[[sqlite3.Connection, Path], None] | None = None,
    replace: bool = False,
) -> int:
    """A copy of an open book in a new file, by SQLite's backup API; its size in bytes. Others may go on writing.

    look: reads the copy before it gets its name, and raises where it is not sound. replace: whatever has that
    name. Raises FileExistsError, OSError, and
    what sqlite3 raises.
    """
    with _under_another_name(path) as waiting:
        with contextlib.closing(connect(waiting)) as copy:
            db.backup(copy)
            _in_mode(copy, "delete")
            if look is not None:
                look(copy, waiting)
        size = waiting.stat().st_size
        if replace:
            os.replace(waiting, path)
        else:
            into_place(waiting, path)
    return size


@contextlib.contextmanager
def _under_another_name(path: Path) -> Iterator[Path]:
    """A new, empty file beside a place, for a database that gets its name when it is finished: nobody sees half of one."""
    waiting = path.parent / f".{path.name[:40]}.{os.urandom(6).hex()}.part"
    os.close(os.open(waiting, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    try:
        yield waiting
    finally:
        for ending in ("", "-wal", "-shm", "-journal"):
            with contextlib.suppress(OSError):
                os.unlink(f"{waiting}{ending}")


def _keep_older(path: Path, db: sqlite3.Connection, version: int) -> None:
    """A book of an older format is copied beside itself before it is brought up to date. Raises CannotWrite."""
    place = copy_place(path, version)
    if place.exists():
        return
    try:
        with contextlib.suppress(FileExistsError):  # another process was quicker; its copy is as good
            copy_book(db, place)
    except OSError as problem:
        raise disk_refused(place, problem.strerror or str(problem)) from None


def into_place(waiting: Path, path: Path) -> None:
    """Give a finished file its name, unless something has that name: then FileExistsError."""
    try:
        os.link(waiting, path)
    except OSError:  # a file system without links, or something there
        if os.path.lexists(path):
            raise FileExistsError(path) from None
        os.rename(waiting, path)
    with contextlib.suppress(OSError, AttributeError):  # the name itself, on the disk
        folder = os.open(path.resolve().parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


@contextlib.contextmanager
def told(path: Path, wait_seconds: float = WAIT_SECONDS) -> Iterator[None]:
    """What sqlite3 raises inside, as the book's own errors."""
    try:
        yield
    except sqlite3.Error as problem:
        raise trouble_of(problem, path, wait_seconds) from None
    except UnicodeDecodeError:
        # What SQLite would say of it names a table whose name is no text any more.
        raise book_damaged(path, "the name of a table in it is not what it was") from None


def _make(path: Path, wait_seconds: float) -> None:
    folder = path.parent
    try:
        if path == usual_place():
            folder.mkdir(parents=True, exist_ok=True)
        if not folder.is_dir():
            raise no_place_for_book(path, f"the folder {folder} does not exist")
        with _under_another_name(path) as waiting:
            with told(path, wait_seconds), contextlib.closing(connect(waiting, wait_seconds=wait_seconds)) as db:
                # Without a log: what stood in one beside it would not go along when the file gets its name.
                _in_mode(db, "memory")
                db.execute(f"PRAGMA application_id = {book_schema.APPLICATION_ID:d}")
                book_schema.bring_up_to_date(db)
                _in_mode(db, "wal")
            with told(path, wait_seconds), contextlib.closing(_as_it_lies(waiting)) as db:
                _read_over(db)
            with contextlib.suppress(FileExistsError):  # another process was quicker; its book is as good
                into_place(waiting, path)
    except (OSError, ValueError) as problem:
        denied = isinstance(problem, PermissionError)
        reason = (getattr(problem, "strerror", None) or str(problem)).lower()
        raise no_place_for_book(plain(str(path), 300), "you may not write there" if denied else reason) from None


def _in_mode(db: sqlite3.Connection, mode: str) -> None:
    """How changes come into the file. Raises what sqlite3 raises, also where it would leave all as it was and say so."""
    found = db.execute(f"PRAGMA journal_mode = {mode}").fetchone()[0]
    if found != mode:
        raise sqlite3.OperationalError(f"its journal stays in mode {found}")


def _as_it_lies(path: Path) -> sqlite3.Connection:
    """The bytes of one file alone, without any log beside it."""
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True, isolation_level=None)


def _has_log(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _read_over(db: sqlite3.Connection) -> None:
    """Every page, as it is on the disk. Raises what sqlite3 raises, also where it finds something wrong."""
    found = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
    version = book_schema.version_of(db)
    if found != "ok" or version != book_schema.newest():
        raise sqlite3.DatabaseError(f"what was written reads otherwise: {found}, format {version}")


def _header(path: Path) -> bytes:
    """The first bytes of a book's file, read as plain bytes: what is not ours never meets SQLite.

    Raises FileProblem, CannotReach.
    """
    if not path.is_file():
        raise not_a_book(path, "it is a folder" if path.is_dir() else "it is no ordinary file")
    try:
        with open(path, "rb") as stream:
            # Of 0 bytes are files of the system too, where reading may wait for ever.
            header = stream.read(_HEADER) if os.fstat(stream.fileno()).st_size else b""
    except OSError as problem:
        raise unreadable(path, problem.strerror or type(problem).__name__) from None
    if not header:
        raise not_a_book(path, "the file is empty")
    if len(header) < _HEADER or not header.startswith(_MAGIC):
        raise not_a_book(path, "it is no database")
    if int.from_bytes(header[68:72], "big") != book_schema.APPLICATION_ID:
        raise not_a_book(path, "it is a database of another program")
    version = int.from_bytes(header[60:64], "big")
    if version > book_schema.newest():
        raise book_too_new(path, version, book_schema.newest())
    return header


def _patiently(db: sqlite3.Connection, statement: str, wait_seconds: float) -> None:
    """Do what may meet another process, until the time is up. SQLite waits by itself in most cases, not in all."""
    until = time.monotonic() + wait_seconds
    while True:
        try:
            db.execute(statement)
            return
        except sqlite3.OperationalError as problem:
            if code_of(problem) not in TRY_AGAIN or time.monotonic() >= until:
                raise
            time.sleep(0.005)
