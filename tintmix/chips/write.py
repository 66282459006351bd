"""Files written whole or not at all, and the stamp that every machine-written file carries."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from tintmix.chips.errors import BadEpoch, CannotWrite
from tintmix.resin import plain


def made_by() -> str:
    """The program and its version, as in "tintmix 0.1.0"."""
    import tintmix

    version = getattr(tintmix, "__version__", None)
    if version is None:
        from importlib.metadata import PackageNotFoundError
        from importlib.metadata import version as installed

        try:
            version = installed("tintmix")
        except PackageNotFoundError:
            version = "of unknown version"
    return f"tintmix {version}"


def made_at() -> str:
    """Now, in UTC, ISO 8601, to the second; or the time that SOURCE_DATE_EPOCH says. Raises BadEpoch."""
    said = os.environ.get("SOURCE_DATE_EPOCH")
    if not said:
        return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    try:
        return datetime.fromtimestamp(int(said), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    except (ValueError, OverflowError, OSError):
        raise BadEpoch(plain(said)) from None


def write_files(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Writes files into a folder, made where its parent exists; all are written in full before any takes its place.

    A name may lead into a folder below. Raises CannotWrite.
    """
    made = done = False
    waiting: list[tuple[str, Path]] = []
    try:
        if not folder.is_dir():
            folder.mkdir()
            made = True
        for name, content in files.items():
            target = folder / name
            if target.is_dir():
                raise CannotWrite(target, "there is a folder of that name")
            target.parent.mkdir(parents=True, exist_ok=True)
            waiting.append((_write_aside(target, content), target))
        for temporary, target in waiting:
            os.replace(temporary, target)
        done = True
    except (OSError, ValueError) as error:
        raise CannotWrite(plain(str(folder), 300), getattr(error, "strerror", None) or type(error).__name__) from None
    finally:
        for temporary, _ in [] if done else waiting:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        if made and not done:
            with contextlib.suppress(OSError):
                folder.rmdir()


def write_file(path: str | Path, content: str | bytes) -> None:
    """Writes one file into a folder that exists, whole or not at all. Raises CannotWrite."""
    target = Path(path)
    if not target.parent.is_dir():
        raise CannotWrite(plain(str(path), 300), "its folder does not exist")
    write_files(target.parent, {target.name: content})


def _write_aside(target: Path, content: str | bytes) -> str:
    """A new file beside the target, flushed to the disk; its name."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    temporary = str(target.parent / f".{target.name[:40]}.{os.urandom(6).hex()}.part")
    # os.open, not tempfile: the file's mode is then the user's own, not the owner's alone.
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    return temporary
