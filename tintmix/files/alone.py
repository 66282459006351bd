"""One at a time in a folder that is read, changed and written again, by whatever process and on every system."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tintmix.errors import InUse, Remedy
from tintmix.files.errors import cannot_write
from tintmix.files.write import reason

LOCK_NAME = ".tintmix-lock"
"""Beside the files that it guards, so that it holds for whoever sees them; what is killed leaves it there, empty."""
WAIT_SECONDS = 60.0
"""Longer than a folder's photos usually take to read (measured: 3 s each of 12 megapixels on two cores)."""
_POLL_SECONDS = 0.05
"""Far less than anybody notices."""


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Nobody else who asks so is in this folder meanwhile.

    Raises InUse where it is not free in time, CannotWrite where nothing can be written there.

    >>> import tempfile
    >>> with alone_in(Path(tempfile.mkdtemp())):
    ...     print("alone")
    alone
    """
    from filelock import FileLock, Timeout  # here: 10 ms, which only who writes needs

    place = folder / LOCK_NAME
    lock = FileLock(place, WAIT_SECONDS, thread_local=False)
    try:
        while True:
            place.touch()
            seen = _number(place)
            lock.acquire(poll_interval=_POLL_SECONDS)
            # Whoever was here before took the file away: who waited for that one holds nothing that others see.
            if seen is not None and _number(place) == seen:
                break
            lock.release()
    except Timeout:
        what = "another program is changing what is in it, so nothing was written"
        raise InUse(where=folder, what=what, remedy=Remedy.TRY_AGAIN) from None
    except OSError as problem:
        lock.release()
        raise cannot_write(folder, reason(problem)) from None
    try:
        yield
    finally:
        with suppress(OSError):  # some systems remove no open file
            place.unlink()
        lock.release()


def _number(place: Path) -> int | None:
    """By which a file system knows the file that is there now; none where it was just taken away."""
    try:
        return place.stat().st_ino
    except FileNotFoundError:
        return None
