"""What can be wrong with the recipe book, and with what is put into it or asked of it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from pathlib import Path

from tintmix.errors import CannotWrite, FileProblem, InUse, NotThere, Remedy, TintmixError, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import numeral

TRY_AGAIN = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL)
"""Codes of what another program's hold may cause: https://www.sqlite.org/rescode.html."""


class NotInBook(NotThere):
    """No book, or no recipe, revision or pour in it, of the name or number that was asked for."""


# The file --------------------------------------------------------------------------------------------------------------


def no_place_for_book(where: object, reason: str) -> CannotWrite:
    """A place where no book can be made."""
    return CannotWrite(
        where=where, what=f"no recipe book can be made there ({reason})", remedy=Remedy.NAME_A_PLACE_FOR_THE_BOOK
    )


def book_out_of_reach(where: object) -> CannotWrite:
    """A book whose name is a link to what is not there now."""
    return CannotWrite(
        where=where,
        what="it is a link that leads nowhere, so no book was read or begun",
        remedy=Remedy.BRING_THE_BOOK_BACK,
    )


def book_read_only(where: object) -> CannotWrite:
    """A book that may be read but not written."""
    return CannotWrite(
        where=where,
        what="the book can only be read there, so nothing was kept",
        remedy=Remedy.TAKE_AWAY_WRITE_PROTECTION,
    )


def disk_refused(where: object, reason: str) -> CannotWrite:
    """A disk that fails while the book is read or written."""
    return CannotWrite(
        where=where,
        what=f"the disk refused ({plain(reason, 100)}), so this was not done; what was kept before was not touched",
        remedy=Remedy.SEE_TO_THE_DISK,
    )


def book_damaged(where: object, reason: str) -> FileProblem:
    """A book whose file is broken."""
    return FileProblem(
        where=where, what=f"the book's file is damaged ({plain(reason, 100)})", remedy=Remedy.TAKE_THE_BACKUP
    )


def already_there(where: object, what: str, remedy: Remedy = Remedy.NAME_ANOTHER_FILE) -> InUse:
    """A file that would be written over."""
    return InUse(where=where, what=f"is there already, and {what} does not overwrite it", remedy=remedy)


# Recipes and pours ----------------------------------------------------------------------------------------------------


def bad_name(what: str, name: str) -> ValueProblem:
    """A name under which nothing can be found again."""
    return ValueProblem(
        what=f"{plain(name)!r} cannot be the name of a {what}; a name has 1 to 120 characters on one line, "
        "and no space at its ends"
    )


def model_gone(recipe: str, named: str, digest: str) -> NotThere:
    """A recipe whose model is not to be found."""
    told = f"its model file {plain(named, 200)}" if named else "its model, which it does not name,"
    return NotThere(
        where=f"recipe {plain(recipe)!r}",
        what=f"{told} (digest {digest[:12]}) is neither there, nor beside the recipe, nor in the book",
        remedy=Remedy.PUT_THE_MODEL_BACK,
    )


def not_its_model(recipe: str, model: object, found: str, wanted: str) -> ValueProblem:
    """A model that is another than the recipe was made from."""
    return ValueProblem(
        where=model,
        what=f"is not the model that recipe {plain(recipe)!r} was made from (digest {found[:12]}, the recipe says "
        f"{wanted[:12]})",
        remedy=Remedy.NAME_ITS_MODEL,
    )


def no_such_place(place: str, recipe: str, known: Iterable[str]) -> ValueProblem:
    """A reading of a place that the recipe's casting does not have."""
    return ValueProblem(
        what=f"recipe {plain(recipe)!r} has no place {plain(place)!r} on its casting; a reading is of one of "
        f"{', '.join(known)}"
    )


def cannot_be(what: str, value: object, limit: str) -> ValueProblem:
    """A weight or another amount that cannot be."""
    return ValueProblem(what=what, found=plain(value), limit=limit)


def poured_just_now(number: int, recipe: str, seconds: float) -> InUse:
    """A pour that says the same as one of a moment ago."""
    ago = f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
    return InUse(
        where=f"recipe {plain(recipe)!r}",
        what=f"pour {number} was recorded {ago} ago with the same day, batch, weights and lots, so nothing was recorded",
        remedy=Remedy.SAY_IT_WAS_POURED_AGAIN,
    )


def photo_too_large(where: object, size: int, limit: int) -> FileProblem:
    """A photo that would swell the book."""
    return FileProblem(
        where=where,
        what=f"{size / 1e6:.1f} MB, and the book takes photos up to {numeral(limit / 1e6)} MB",
        remedy=Remedy.MAKE_THE_PHOTO_SMALLER,
    )


def pigment_not_in_recipe(name: str, pigment: str, known: Iterable[str]) -> ValueProblem:
    """A lot of a pigment that the recipe does not use."""
    return ValueProblem(what=f"recipe {plain(name)!r} uses no pigment {plain(pigment)!r}; it uses {', '.join(known)}")


# The shelf ------------------------------------------------------------------------------------------------------------


def no_such_bottle(name: str, known: Iterable[str]) -> NotThere:
    """A stock bottle that is not on the shelf."""
    listed = ", ".join(known)
    told = f"on the shelf are {listed}" if listed else "the shelf is empty"
    return NotThere(what=f"no stock bottle {plain(name)!r} with anything in it is in the book; {told}")


def bottle_there(name: str, left_g: float) -> InUse:
    """A second bottle of one name."""
    return InUse(
        what=f"a stock bottle {plain(name)!r} with {left_g:.4g} g in it is on the shelf already",
        remedy=Remedy.GIVE_THE_BOTTLE_ANOTHER_NAME,
    )


# What SQLite says ------------------------------------------------------------------------------------------------------


def code_of(problem: sqlite3.Error) -> int:
    """SQLite's own primary code; -1 for what Python says of it."""
    code = getattr(problem, "sqlite_errorcode", None)
    return code & 0xFF if isinstance(code, int) else -1


def trouble_of(problem: sqlite3.Error, path: Path, wait_seconds: float) -> TintmixError:
    """What befell the file, as an error of ours."""
    code = code_of(problem)
    if code in TRY_AGAIN:
        waited = f"{numeral(wait_seconds)} s of waiting did not help"
        return InUse(
            where=path,
            what=f"another program holds the book, and {waited}; nothing was changed",
            remedy=Remedy.CLOSE_AND_TRY_AGAIN,
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
        return book_read_only(path)
    if code == sqlite3.SQLITE_FULL:
        what = "the disk is full, so this was not kept; all that was kept before is still there"
        return CannotWrite(where=path, what=what, remedy=Remedy.MAKE_ROOM)
    if code == sqlite3.SQLITE_CANTOPEN:
        return no_place_for_book(path, "it cannot be opened")
    if code == sqlite3.SQLITE_NOTADB:
        return not_a_book(path, "it is no database")
    if code == sqlite3.SQLITE_IOERR:
        return disk_refused(path, str(problem))
    return book_damaged(path, str(problem))


def not_a_book(where: object, reason: str) -> FileProblem:
    """A file that is something else."""
    return FileProblem(
        where=where,
        what=f"is not a recipe book of tintmix ({reason}); it was left as it is",
        remedy=Remedy.NAME_ANOTHER_BOOK,
    )


def book_too_new(where: object, found: int, known: int) -> FileProblem:
    """A book of a later tintmix."""
    return FileProblem(
        where=where,
        what=f"is in book format {found}, and this version knows up to {known}; it was left as it is",
        remedy=Remedy.BRING_UP_TO_DATE,
    )
