"""The stamp that every machine-written file carries: by which program, and when."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, timedelta

from tintmix import __version__
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import plain

FIRST_DAY = "1950-01-01"
"""No maker's own castings are older; 1900 and 1904 are what programs fill in (common practice)."""
_DAY_LETTERS = 10
"""Of year-month-day; Python reads other ways of writing one too."""


def made_by() -> str:
    """The program and its version, as in "tintmix 0.1.0"."""
    return f"tintmix {__version__}"


def made_at() -> str:
    """Now, in UTC, ISO 8601, to the second; or the time that SOURCE_DATE_EPOCH says. Raises ValueProblem."""
    said = os.environ.get("SOURCE_DATE_EPOCH")
    if not said:
        return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    try:
        return datetime.fromtimestamp(int(said), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    except (ValueError, OverflowError, OSError):
        raise ValueProblem(
            where="the environment",
            what="SOURCE_DATE_EPOCH",
            found=repr(plain(said)),
            limit="a count of seconds since 1970",
            remedy=Remedy.CORRECT_OR_UNSET,
        ) from None


def today() -> str:
    """The day on the wall, as in "2026-11-28": that of `made_at` where this computer stands. Raises ValueProblem."""
    return local_day(made_at())


def check_day(what: str, text: str) -> None:
    """See that a day that was typed can be it: from FIRST_DAY to tomorrow, for it may be tomorrow elsewhere; empty: not said.
    What a file or a book holds already is not asked so. Raises ValueProblem.

    >>> check_day("the day of the pour", "2026-03-01")
    >>> check_day("the day of the pour", "1900-01-01")
    Traceback (most recent call last):
    tintmix.errors.ValueProblem: the day of the pour is '1900-01-01'; it must be a day from 1950-01-01 to tomorrow, ...
    """
    if not text:
        return
    try:
        day = date.fromisoformat(text) if len(text) == _DAY_LETTERS else date.min
    except ValueError:
        day = date.min
    if not FIRST_DAY <= day.isoformat() <= (date.fromisoformat(today()) + timedelta(days=1)).isoformat():
        limit = f"a day from {FIRST_DAY} to tomorrow, written year-month-day, such as 2026-03-01"
        raise ValueProblem(what=what, found=repr(plain(text)), limit=limit)


def local_day(stamp: str) -> str:
    """The day on the wall at a time stamp in UTC; a stamp that holds a day alone is that day.

    >>> local_day("2026-11-28")
    '2026-11-28'
    """
    try:
        at = datetime.fromisoformat(stamp)
        return at.astimezone().date().isoformat() if at.tzinfo else at.date().isoformat()
    except (ValueError, OverflowError, OSError):
        return stamp[:10]
