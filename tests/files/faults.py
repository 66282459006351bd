"""A disk whose n-th write fails, counted over everything that a writer asks of it."""

from __future__ import annotations

import builtins
import errno
import io
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

MOST = 200


class Disk:
    """Full from its n-th write on. asked: how often it was asked; of what is written at that moment, half arrives."""

    def __init__(self, fails_at: int) -> None:
        self.fails_at, self.asked = fails_at, 0

    def room(self) -> None:
        """One write. Raises OSError where there is no room for it."""
        self.asked += 1
        if self.asked >= self.fails_at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def once(self) -> None:
        """The same of what takes no room, such as a rename: it fails where it is the n-th, and not again."""
        self.asked += 1
        if self.asked == self.fails_at:
            raise OSError(errno.EIO, os.strerror(errno.EIO))


class _File:
    def __init__(self, stream: Any, disk: Disk) -> None:
        self._stream, self._disk = stream, disk

    def write(self, content: Any) -> Any:
        try:
            self._disk.room()
        except OSError:
            self._stream.write(content[: len(content) // 2])
            raise
        return self._stream.write(content)

    def __enter__(self) -> _File:
        self._stream.__enter__()
        return self

    def __exit__(self, *problem: Any) -> None:
        self._stream.__exit__(*problem)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def failing(fails_at: int) -> Iterator[Disk]:
    """The disk that Python's own functions write to, until the end of the `with`."""
    disk, opened, raw = Disk(fails_at), io.open, os.open

    def opening(file: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        if not set(mode) & set("wax+"):
            return opened(file, mode, *more, **named)
        disk.room()
        return _File(opened(file, mode, *more, **named), disk)

    def making(path: Any, flags: int, *more: Any, **named: Any) -> int:
        if flags & os.O_CREAT:
            disk.room()
        return raw(path, flags, *more, **named)

    def before(name: str, ask: Callable[[], None]) -> Callable[..., Any]:
        real = getattr(os, name)

        def asking(*arguments: Any, **named: Any) -> Any:
            ask()
            return real(*arguments, **named)

        return asking

    with pytest.MonkeyPatch.context() as patch:
        for name in ("fsync", "link", "mkdir"):
            patch.setattr(os, name, before(name, disk.room))
        patch.setattr(os, "replace", before("replace", disk.once))
        patch.setattr(os, "open", making)
        patch.setattr(io, "open", opening)
        patch.setattr(builtins, "open", opening)
        yield disk


def content(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, but for the lock of the page."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != "lock")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}
