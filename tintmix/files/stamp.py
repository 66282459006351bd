"""The stamp that every machine-written file carries: by which program, and when."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from tintmix import __version__
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import plain


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
