"""Text files and TOML files, read whole: what they hold, or why they cannot be read."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from tintmix.files.errors import FileMissing, FileTooLarge, FileUnreadable, NotText, NotToml
from tintmix.files.words import plain

TOML_BYTES = 100_000
"""The largest TOML file that is read. A set.toml or resin.toml is a page or two; what is larger is another file."""
_TOML_LINE = 2_000
# The standard library's parser takes time that grows with the square of a dotted key's length.


def load_toml(path: str | Path, what: str) -> dict[str, Any]:
    """A TOML file's table. what: for the error, as in "a resin file".

    Raises FileMissing, FileUnreadable, FileTooLarge, NotText, NotToml, and nothing else.
    """
    text = load_text(path, TOML_BYTES, what)
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > _TOML_LINE:
            raise NotToml(path, f"line {number} is longer than {_TOML_LINE} characters")
    try:
        # TOML knows \n and \r\n; a lone \r is left to the parser, which refuses it.
        return tomllib.loads(text.replace("\r\n", "\n"))
    except ValueError as error:
        raise NotToml(path, str(error)) from None
    except RecursionError:
        raise NotToml(path, "its tables are nested too deeply") from None


def load_text(path: str | Path, limit_bytes: int, what: str) -> str:
    """A whole text file, UTF-8, with or without a byte order mark.

    Raises FileMissing, FileUnreadable, FileTooLarge, NotText.
    """
    try:
        # Opening a pipe or a device may wait for ever: only ordinary files are opened.
        if not Path(path).is_file():
            raise FileMissing(plain(str(path), 300), what)
        with open(path, "rb") as stream:
            data = stream.read(limit_bytes + 1)
    except OSError as error:
        raise FileUnreadable(plain(str(path), 300), error.strerror or type(error).__name__) from None
    except ValueError:  # a name with a zero byte in it
        raise FileMissing(plain(str(path), 300), what) from None
    return decode_text(data, path, limit_bytes)


def decode_text(data: bytes, where: object, limit_bytes: int) -> str:
    """Bytes of a text file as text. Raises FileTooLarge, NotText."""
    if len(data) > limit_bytes:
        raise FileTooLarge(where, limit_bytes)
    zero = data.find(b"\0")
    if zero >= 0:
        raise NotText(where, data.count(b"\n", 0, zero) + 1)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotText(where, data.count(b"\n", 0, error.start) + 1) from None
