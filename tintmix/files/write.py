"""The one writer: files that appear whole and together, or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import stat
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType

from tintmix.errors import CannotWrite, InUse, Remedy, ValueProblem
from tintmix.files.errors import cannot_write
from tintmix.files.made import check_free
from tintmix.files.upgrades import Format
from tintmix.files.words import plain

Where = str | Path
_STALE_SECONDS = 86_400.0
"""A day: a fit of thousands of chips holds its place from its start, and may take hours."""
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def write_files(folder: Path, files: Mapping[str, str | bytes], formats: Mapping[str, Format] | None = None) -> None:
    """Files of a folder of ours changed in place; the folder is made where its parent exists. All are written in full before
    any takes its place.

    A name may lead into a folder below. formats: by name, the kind of a file that has a format, as `Outputs.at` takes it.
    Raises CannotWrite, FileProblem.
    """
    made = done = False
    try:
        if not folder.is_dir():
            folder.mkdir()
            made = True
        with Outputs(replace=True) as outputs:
            for name, content in files.items():
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                outputs.fill(folder / name, content, (formats or {}).get(name, ""))
        done = True
    except (OSError, ValueError) as problem:
        raise cannot_write(folder, reason(problem)) from None
    finally:
        if made and not done:
            with contextlib.suppress(OSError):
                folder.rmdir()


def write_file(path: Where, content: str | bytes, form: Format | str = "", replace: bool = False) -> None:
    """Writes one file into a folder that exists, whole or not at all; form as `Outputs.at` takes it, replace as `Outputs`.

    Raises CannotWrite, InUse, FileProblem.
    """
    with Outputs(replace=replace) as outputs:
        outputs.fill(path, content, form)


class Outputs:
    """Files that are written together: each is made under another name beside its place, and all are moved there at
    the end, when they are on the disk.

    Where the body of the `with` raises, nothing is left behind and nothing that was there is touched; where one of
    several cannot be moved, those before it are put back as they were. `reading` names the files and folders that are
    read meanwhile; they are not written over. replace: whatever else stands at a place may be written over, not only a file of
    the same kind that tintmix made. A link keeps pointing where it did, and a file keeps its mode. Raises
    CannotWrite, InUse, ValueProblem.

    >>> import tempfile
    >>> folder = Path(tempfile.mkdtemp())
    >>> with Outputs() as outputs:
    ...     _ = outputs.at(folder / "a.txt").write_text("whole")
    >>> [path.name for path in folder.iterdir()]
    ['a.txt']
    """

    def __init__(self, reading: Iterable[Where] = (), replace: bool = False) -> None:
        self.replace = replace
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
            elif isinstance(error, OSError) and error.errno in _NO_ROOM and self._moves:
                # What a writer in the body met, which knows only the name under which the file waits.
                raise cannot_write(self._moves[-1][1].parent, reason(error)) from None
            elif isinstance(error, CannotWrite):
                # The same of a writer that was given that name: told by the file's own.
                places = {str(waiting): place for waiting, place, _ in self._moves}
                error.where = str(places.get(str(error.where), error.where))
        finally:
            for waiting, _, _ in self._moves:
                waiting.unlink(missing_ok=True)

    def at(self, where: Where, form: Format | str = "") -> Path:
        """An empty file of the same ending in the same folder, which takes `where`'s place when all is done.

        form: the file's kind, or its word where it has no formats; empty: one that carries no mark, as CSV. A file of an older
        format that stands there is copied beside, and one of a newer format is left alone: FileProblem.
        """
        target = _real(where)
        if any(target == place for _, place, _ in self._moves):
            raise ValueProblem(where=where, what="is named for two different outputs", remedy=Remedy.A_FILE_EACH)
        in_a_set = target.name in ("set.toml", "chips.csv", "resin.toml")
        if any(target == source or (in_a_set and target.parent == source) for source in self._reading):
            what = "is being read, so it will not be written over"
            raise InUse(where=where, what=what, remedy=Remedy.NAME_ANOTHER_OUTPUT)
        mode = _mode_of(target, where)
        if not self.replace:
            check_free(where, target, form if isinstance(form, str) else form.what)
        waiting = _beside(target)
        try:
            # os.open, not tempfile: the file's mode is then the user's own, not the owner's alone.
            handle = os.open(waiting, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
            fresh = stat.S_IMODE(os.fstat(handle).st_mode)
            os.close(handle)
        except OSError as problem:
            raise cannot_write(where, reason(problem, target.parent)) from None
        _clear_stale(target)
        self._moves.append((waiting, target, fresh if mode is None else mode))
        copy = None if isinstance(form, str) else form.copy_of_older(target)
        if copy is not None and not copy.exists():
            shutil.copyfile(target, self.at(copy))
        return waiting

    def fill(self, where: Where, content: str | bytes, form: Format | str = "") -> None:
        """The same with its content. Raises CannotWrite besides."""
        waiting = self.at(where, form)
        try:
            waiting.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        except (OSError, ValueError) as problem:
            raise cannot_write(where, reason(problem)) from None

    def picture(self, where: Where) -> Path:
        """The same for a picture, whose ending has to be one that can be drawn. Raises ValueProblem."""
        if Path(where).suffix.lower() not in (".png", ".svg", ".pdf"):
            what = "a picture is written as .png, .svg or .pdf, by the ending of its name"
            raise ValueProblem(where=where, what=what)
        return self.at(where, "picture")

    def _commit(self) -> None:
        at_hand: Path | None = None
        replaced: list[tuple[Path, Path, Path | None]] = []
        try:
            for waiting, place, mode in self._moves:
                at_hand = place
                os.chmod(waiting, mode)
                # Opened to write: Windows flushes no other handle.
                with open(waiting, "r+b") as stream:
                    os.fsync(stream.fileno())
            for waiting, place, _ in self._moves:
                at_hand = place
                # What was there is kept until the last has moved; for one file alone there is nothing to put back.
                replaced.append((waiting, place, _kept_aside(place) if len(self._moves) > 1 else None))
                os.replace(waiting, place)
        except BaseException as problem:
            for waiting, target, old in replaced:
                if old is not None:
                    os.replace(old, target)
                elif not waiting.exists():
                    target.unlink(missing_ok=True)
            if isinstance(problem, OSError):
                raise cannot_write(at_hand, reason(problem, at_hand and at_hand.parent)) from None
            raise
        finally:
            for _, _, old in replaced:
                if old is not None:
                    old.unlink(missing_ok=True)


def reason(problem: Exception, folder: Path | None = None) -> str:
    """Why the system refused, in a few plain words."""
    if not isinstance(problem, OSError):
        return plain(str(problem), 100)
    if folder is not None and not folder.is_dir():
        return f"the folder {folder} does not exist" if not folder.exists() else f"{folder} is not a folder"
    if isinstance(problem, PermissionError):
        return "you may not write there"
    return (problem.strerror or type(problem).__name__).lower()


def _beside(target: Path) -> Path:
    """A name that nobody has, in the same folder, with the same ending."""
    return target.with_name(f".{target.stem[:40]}.{os.urandom(6).hex()}{target.suffix}")


def _clear_stale(target: Path) -> None:
    """Take away what a writer of this file that was killed has left beside it."""
    ours = re.compile(rf"\.{re.escape(target.stem[:40])}\.[0-9a-f]{{12}}{re.escape(target.suffix)}")
    with contextlib.suppress(OSError):
        for entry in [one for one in os.scandir(target.parent) if ours.fullmatch(one.name)]:
            if entry.is_file(follow_symlinks=False) and time.time() - entry.stat().st_mtime > _STALE_SECONDS:
                os.unlink(entry.path)


def _kept_aside(target: Path) -> Path | None:
    """A second name for what stands there; None where nothing does."""
    if not target.exists():
        return None
    old = _beside(target)
    try:
        os.link(target, old)
    except OSError:  # a file system without links
        shutil.copy2(target, old)
    return old


def _real(where: Where) -> Path:
    # A link keeps pointing where it did: what it points to is replaced.
    try:
        return Path(os.path.realpath(where))
    except (OSError, ValueError) as problem:
        raise cannot_write(where, str(problem)) from None


def _mode_of(target: Path, where: Where) -> int | None:
    try:
        found = target.stat()
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as problem:
        raise cannot_write(where, reason(problem, target.parent)) from None
    if stat.S_ISDIR(found.st_mode):
        raise cannot_write(where, "it is a folder")
    if not stat.S_ISREG(found.st_mode):
        raise cannot_write(where, "it is not an ordinary file")
    if not os.access(target, os.W_OK):
        raise cannot_write(where, "the file is write-protected")
    return stat.S_IMODE(found.st_mode)
