"""The recipe book: one SQLite file in which recipes, pours and what is on the shelf are kept, and never changed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tintmix.book import care as book_care
from tintmix.book import export as book_export
from tintmix.book import pours as book_pours
from tintmix.book import recipes as book_recipes
from tintmix.book import shelf as book_shelf
from tintmix.book.file import WAIT_SECONDS, Store
from tintmix.book.place import book_place, stands_at

__all__ = ["Book", "book_place", "book_to_ask", "open_book", "open_book_if_there"]


class Book(Store):
    """An open recipe book. What a method returns is on the disk; what raises has changed nothing. One thread at a time."""

    keep = book_recipes.keep
    list = book_recipes.listed
    recipe = book_recipes.revision_of
    revisions = book_recipes.revisions_of
    model = book_recipes.model_of

    add_pour = book_pours.add_pour
    add_to_pour = book_pours.add_to_pour
    pours = book_pours.pours
    photo = book_pours.photo_bytes

    bottles = book_shelf.bottles
    add_bottle = book_shelf.add_bottle
    use_bottle = book_shelf.use_bottle
    set_bottle_left = book_shelf.set_bottle_left
    set_bottle_strength = book_shelf.set_bottle_strength
    lot_strengths = book_shelf.lot_strengths
    set_lot_strength = book_shelf.set_lot_strength
    lots = book_shelf.lots
    add_check_chip = book_shelf.add_check_chip
    check_chips = book_shelf.check_chips

    export = book_export.export
    export_to = book_export.export_to
    import_ = book_export.import_
    backup = book_care.backup
    check = book_care.check


def open_book(path: str | Path | None = None, *, create: bool = True, wait_seconds: float = WAIT_SECONDS) -> Book:
    """The book as named, or TINTMIX_BOOK's, or the one in the user's data folder; made where there is none, if `create`.

    wait_seconds: how long to wait for another program that writes. Raises NotInBook, CannotWrite,
    FileProblem, InUse; a file that is not a book of ours is left as it is.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, open_book(Path(folder) / "book.db") as book:
    ...     book.list()
    ()
    """
    return Book.opened(book_place(path), create, wait_seconds)


def open_book_if_there(path: str | Path | None = None) -> Book | None:
    """The same for a command that only asks: None where there is no book, and none is made."""
    place = book_place(path)
    return open_book(place, create=False) if stands_at(place) else None


@contextmanager
def book_to_ask(book: str | Path | None) -> Iterator[Book | None]:
    """The recipe book that is named, or the usual one if it is there: none is made, and nothing is changed in it."""
    if book is None and not stands_at(book_place()):
        yield None
        return
    with open_book(book, create=False) as opened:
        yield opened
