"""Where the recipe book lies, and whether one is there."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

from tintmix.book.errors import book_out_of_reach, no_place_for_book

NAME = "recipe-book.db"
VARIABLE = "TINTMIX_BOOK"


def book_place(path: str | Path | None = None) -> Path:
    """Where the book is: as named, or as TINTMIX_BOOK says, or in the user's own data folder.

    >>> book_place("here/book.db") == Path("here/book.db")
    True
    """
    named = path or os.environ.get(VARIABLE)
    return Path(named) if named else usual_place()


def usual_place() -> Path:
    """Where the book is when nobody says otherwise."""
    return Path(platformdirs.user_data_path("tintmix", appauthor=False)) / NAME


def stands_at(place: Path) -> bool:
    """Whether anything stands at a book's place. A link that leads nowhere tells of a book that is elsewhere: an empty one would
    hide it. Raises CannotWrite."""
    try:
        there = place.exists()
        leads_nowhere = not there and place.is_symlink()
    except (OSError, ValueError) as problem:
        raise no_place_for_book(place, getattr(problem, "strerror", None) or str(problem)) from None
    if leads_nowhere:
        raise book_out_of_reach(place)
    return there


def place_told() -> str:
    """Where the book lies, of whatever folder a page is; the user's own folder as "~"."""
    place, home = str(book_place()), str(Path.home())
    return f"~{place.removeprefix(home)}" if len(home) > 1 and place.startswith(home + os.sep) else place
