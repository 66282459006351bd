"""Files that appear whole and together, or not at all."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType

from tintmix.desk.errors import CannotWrite, OverwritesInput, PictureEnding, WrittenTwice

PICTURE_ENDINGS = (".png", ".svg", ".pdf")

Where = str | Path


class Outputs:
    """The files that one command writes: each is made under another name beside its place, and all are moved there at
    the end.

    Where the body of the `with` raises, nothing is left behind and nothing that was there is touched. `reading` names
    the files and folders that the command reads; it will not write over them. Raises CannotWrite, OverwritesInput,
    WrittenTwice.

    >>> import tempfile
    >>> folder = Path(tempfile.mkdtemp())
    >>> with Outputs() as outputs:
    ...     _ = outputs.at(folder / "a.txt").write_text("whole")
    >>> [path.name for path in folder.iterdir()]
    ['a.txt']
    """

    def __init__(self, reading: Iterable[Where] = ()) -> None:
        self._reading = [_real(path) for path in reading]
        self._moves: list[tuple[Path, Path, int]] = []

    def __enter__(self) -> Outputs:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if kind is None:
                self._commit()
        finally:
            for waiting, _, _ in self._moves:
                waiting.unlink(missing_ok=True)

    def at(self, where: Where) -> Path:
        """An empty file of the same ending in the same folder, which takes `where`'s place when all is done."""
        target = _real(where)
        if any(target == place for _, place, _ in self._moves):
            raise WrittenTwice(where)
        if any(_is_of(target, source) for source in self._reading):
            raise OverwritesInput(where)
        mode = _mode_of(target, where)
        waiting = target.with_name(f".{target.stem[:40]}.{os.urandom(4).hex()}{target.suffix}")
        try:
            handle = os.open(waiting, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
            fresh = stat.S_IMODE(os.fstat(handle).st_mode)
            os.close(handle)
        except OSError as problem:
            raise CannotWrite(where, reason(problem, target.parent)) from None
        self._moves.append((waiting, target, fresh if mode is None else mode))
        return waiting

    def picture(self, where: Where) -> Path:
        """The same for a picture, whose ending has to be one that can be drawn. Raises PictureEnding."""
        if Path(where).suffix.lower() not in PICTURE_ENDINGS:
            raise PictureEnding(where, PICTURE_ENDINGS)
        return self.at(where)

    def _commit(self) -> None:
        for waiting, target, mode in self._moves:
            try:
                os.chmod(waiting, mode)
                os.replace(waiting, target)
            except OSError as problem:
                raise CannotWrite(target, reason(problem, target.parent)) from None


def reason(problem: OSError, folder: Path | None = None) -> str:
    """Why the system refused, in a few plain words."""
    if folder is not None and not folder.is_dir():
        return f"the folder {folder} does not exist" if not folder.exists() else f"{folder} is not a folder"
    if isinstance(problem, PermissionError):
        return "you may not write there"
    return (problem.strerror or type(problem).__name__).lower()


def _real(where: Where) -> Path:
    # A link keeps pointing where it did: what it points to is replaced.
    try:
        return Path(os.path.realpath(where))
    except (OSError, ValueError) as problem:
        raise CannotWrite(where, str(problem)) from None


def _is_of(target: Path, source: Path) -> bool:
    if target == source:
        return True
    return source.is_dir() and target.parent == source and target.name in ("set.toml", "chips.csv", "resin.toml")


def _mode_of(target: Path, where: Where) -> int | None:
    try:
        found = target.stat()
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        why = reason(problem, target.parent) if isinstance(problem, OSError) else str(problem)
        raise CannotWrite(where, why) from None
    if stat.S_ISDIR(found.st_mode):
        raise CannotWrite(where, "it is a folder")
    if not stat.S_ISREG(found.st_mode):
        raise CannotWrite(where, "it is not an ordinary file")
    if not os.access(target, os.W_OK):
        raise CannotWrite(where, "the file is write-protected")
    return stat.S_IMODE(found.st_mode)
