"""The folder that a plan writes: a new one, or an empty one."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tintmix.errors import InUse, Remedy
from tintmix.files.alone import LOCK_NAME, alone_in
from tintmix.files.errors import cannot_write
from tintmix.files.write import reason


def check_free(target: Path) -> None:
    """See that no chip set would be lost. Raises InUse, CannotWrite."""
    try:
        taken = target.is_dir() and any(one.name != LOCK_NAME for one in target.iterdir())
        if target.exists() and not target.is_dir():
            raise _folder_taken(target, "a file of that name is there")
        # A link may lead to itself.
        parent = Path(os.path.realpath(target)).parent
        if not target.exists() and not parent.is_dir():
            raise cannot_write(target, f"the folder {parent} does not exist")
    except (OSError, ValueError) as problem:
        raise cannot_write(target, reason(problem) if isinstance(problem, OSError) else str(problem)) from None
    if taken:
        raise _folder_taken(target, "there is something in it")


@contextmanager
def alone_in_new(target: Path) -> Iterator[None]:
    """The folder made, if it is not there, and free: of two plans that are made for it at once one is written and the other told.
    Where the body raises, a folder that was made is taken away again. Raises InUse, CannotWrite."""
    check_free(target)
    made = not target.exists()
    try:
        target.mkdir(exist_ok=True)
    except OSError as problem:
        raise cannot_write(target, reason(problem)) from None
    try:
        with alone_in(target):
            check_free(target)
            yield
    finally:
        if made:
            with suppress(OSError):  # only where nothing is in it
                target.rmdir()


def _folder_taken(where: object, why: str) -> InUse:
    return InUse(where=where, what=f"is taken ({why}), and a plan overwrites nothing", remedy=Remedy.NAME_A_NEW_FOLDER)
