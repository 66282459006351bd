"""Text files and TOML files, read whole: what they hold, or why they cannot be read."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any

from tintmix.files import caps
from tintmix.files.errors import no_file, not_text, not_toml, too_large, too_many_values, unreadable

_TOML_LINE = 2_000
# The standard library's parser takes time that grows with the square of a dotted key's length.


def load_toml(path: str | Path, what: str) -> dict[str, Any]:
    """A TOML file's table. what: for the error, as in "a resin file".

    Raises NotThere, CannotReach, FileProblem, and nothing else.
    """
    return parse_toml(load_text(path, caps.TARGET, what), path)


def parse_toml(text: str, where: object) -> dict[str, Any]:
    """The same from text. Raises FileProblem.

    >>> parse_toml("format = 1", "set.toml")
    {'format': 1}
    """
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > _TOML_LINE:
            raise not_toml(where, f"line {number} is longer than {_TOML_LINE} characters")
    try:
        # TOML knows \n and \r\n; a lone \r is left to the parser, which refuses it.
        return tomllib.loads(text.replace("\r\n", "\n"))
    except ValueError as error:
        raise not_toml(where, str(error)) from None
    except RecursionError:
        raise not_toml(where, "its tables are nested too deeply") from None


def load_text(path: str | Path, limit_bytes: int, what: str) -> str:
    """A whole text file, UTF-8, with or without a byte order mark.

    Raises NotThere, CannotReach, FileProblem.
    """
    return decode_text(load_bytes(path, limit_bytes, what), path, limit_bytes)


def load_bytes(path: str | Path, limit_bytes: int, what: str) -> bytes:
    """A file as it is, of so many bytes at most: a larger one is refused before it is read. Raises NotThere, CannotReach,
    FileProblem."""
    try:
        # Opening a pipe or a device may wait for ever: only ordinary files are opened.
        if not Path(path).is_file():
            raise no_file(path, what, Path(path).exists())
        with open(path, "rb") as stream:
            size_bytes = os.fstat(stream.fileno()).st_size
            if size_bytes > limit_bytes:
                raise too_large(path, limit_bytes)
            # Of 0 bytes are files of the system too (/proc), where reading may wait for ever. Others may grow meanwhile.
            data = stream.read(limit_bytes + 1) if size_bytes else b""
    except OSError as error:
        raise unreadable(path, error.strerror or type(error).__name__) from None
    except ValueError:  # a name with a zero byte in it
        raise no_file(path, what) from None
    return data


def decode_text(data: bytes, where: object, limit_bytes: int) -> str:
    """Bytes of a text file as text. Raises FileProblem."""
    if len(data) > limit_bytes:
        raise too_large(where, limit_bytes)
    zero = data.find(b"\0")
    if zero >= 0:
        raise not_text(where, data.count(b"\n", 0, zero) + 1)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise not_text(where, data.count(b"\n", 0, error.start) + 1) from None


def check_values(text: str | bytes, most: int, where: object) -> None:
    """See that JSON has so many values and tables at most, counted as commas and opening brackets, those in its texts too: before
    it is read, for each takes far more of the memory than of the file. Raises FileProblem.

    >>> check_values("[1, 2, [3]]", 4, "short.json")
    >>> check_values("[{},{},{}]", 4, "a.json")
    Traceback (most recent call last):
    tintmix.errors.FileProblem: a.json: it holds more than 4 values, the most that is read of such a file.
    """
    data = text.encode("utf-8", "replace") if isinstance(text, str) else text
    if data.count(b",") + data.count(b"[") + data.count(b"{") > most:
        raise too_many_values(where, most)


def decode_any(data: bytes, where: object) -> str:
    """Text of a program that may be old: UTF-8; UTF-16, marked as such or not; Japanese or Cyrillic Windows; else
    Windows-1252. Zero bytes with which programs fill fields up are left out. Raises FileProblem.

    >>> [decode_any("nm 10°".encode(coding), "f") for coding in ("cp1252", "utf-16-le")], decode_any("波長".encode("cp932"), "f")
    (['nm 10°', 'nm 10°'], '波長')
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise not_text(where, 1) from None
    head = data[:2000]
    for place, coding in ((1, "utf-16-le"), (0, "utf-16-be")):
        # In text for the most part of Latin letters every other byte is zero, and the bytes between are not.
        if (
            len(head) > 3
            and head[place::2].count(0) > 0.4 * len(head)
            and head[1 - place :: 2].count(0) < 0.05 * len(head)
        ):
            return data.decode(coding, errors="replace").replace("\0", "")
    data = data.replace(b"\0", b"")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    # Letters with accents stand by themselves; Cyrillic ones make words.
    western = "cp1251" if re.search(rb"[\xc0-\xff]{4}", data[:20_000]) else "cp1252"
    try:
        japanese = data.decode("cp932")
    except UnicodeDecodeError:
        return data.decode(western, errors="replace")
    # Accents of the West decode as stray half-width letters; Japanese heads hold whole words.
    whole = sum("\u3040" <= c <= "\u30ff" or "\u4e00" <= c <= "\u9fff" for c in japanese[:20_000])
    return japanese if whole >= 2 else data.decode(western, errors="replace")
