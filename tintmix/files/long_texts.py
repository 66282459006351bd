"""JSON files that may be larger than the memory: their long texts, such as photos as base64, stay on the disk until they are
asked for."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tintmix.files.canonical import canonical_json
from tintmix.files.errors import no_file, too_large, unreadable
from tintmix.files.text import decode_text

_LONG = 200_000
"""Letters from which on a text stays on the disk: less than a photo has, more than a note."""
_LONGEST = 100_000_000
"""Letters of one text that is looked for: more than twice the largest photo that a book keeps, as base64."""
_BLOCK_BYTES = 8_000_000
"""Read at once: no more than a model."""
# A whole text of these letters alone stands in its file just as JSON writes it. Before its quote stands no backslash.
_WHOLE = re.compile(rb'(?<!\\)"([A-Za-z0-9+/=]{%d,})"' % _LONG)
_CUT_OFF = re.compile(rb'"[A-Za-z0-9+/=]*\Z')


class LongTexts:
    """The long texts of one file. `text`: the file's own with a short word in the place of each of them."""

    def __init__(self, text: str = "", path: str | Path = "") -> None:
        self.text, self._path = text, path
        self._word = secrets.token_hex(16)
        self._places: list[tuple[int, int]] = []

    @classmethod
    def of_file(cls, path: str | Path, limit_bytes: int, rest_bytes: int, what: str) -> LongTexts:
        """A file of so many bytes at most, of which what is no long text has rest_bytes at most. Raises NotThere, CannotReach,
        FileProblem."""
        made = cls(path=path)
        try:
            if not Path(path).is_file():
                raise no_file(path, what, Path(path).exists())
            rest = bytearray()
            with open(path, "rb") as stream:
                size_bytes = os.fstat(stream.fileno()).st_size
                if size_bytes > limit_bytes:
                    raise too_large(path, limit_bytes)
                waiting, at = b"", 0
                while size_bytes:  # of 0 bytes are files of the system too, where reading may wait for ever
                    block = stream.read(_BLOCK_BYTES)
                    data = waiting + block
                    cut = _CUT_OFF.search(data, max(0, len(data) - _LONGEST)) if block else None
                    end = len(data) if cut is None else cut.start()
                    rest += made._short(data[:end], at)
                    if len(rest) > rest_bytes:
                        raise too_large(path, rest_bytes, "without its longest texts, ")
                    waiting, at = data[end:], at + end
                    if not block:
                        break
        except OSError as error:
            raise unreadable(path, error.strerror or type(error).__name__) from None
        except ValueError:  # a name with a zero byte in it
            raise no_file(path, what) from None
        made.text = decode_text(bytes(rest), path, rest_bytes)
        return made

    def _short(self, data: bytes, at: int) -> bytes:
        def word(found: re.Match[bytes]) -> bytes:
            self._places.append((at + found.start(1), found.end(1) - found.start(1)))
            return b'"%s:%d"' % (self._word.encode(), len(self._places) - 1)

        return _WHOLE.sub(word, data)

    def whole(self, value: Any) -> Any:
        """A value of the file with its long texts in their places. Raises CannotReach.

        >>> LongTexts().whole({"photo": "AAAA"})
        {'photo': 'AAAA'}
        """
        if isinstance(value, str):
            name, _, number = value.partition(":")
            if name != self._word or not (number.isascii() and number.isdecimal()) or int(number) >= len(self._places):
                return value
            return b"".join(self._read(int(number))).decode("ascii")
        if isinstance(value, dict):
            return {key: self.whole(one) for key, one in value.items()}
        return [self.whole(one) for one in value] if isinstance(value, list) else value

    def digest(self, value: Any) -> str:
        """As `canonical.digest` of the whole value, which is never in the memory at once. Raises ValueProblem, CannotReach."""
        sha = hashlib.sha256()
        word = re.compile(rf'"{self._word}:(\d+)"')
        at, said = 0, canonical_json(value)
        for found in word.finditer(said):
            sha.update(said[at : found.start() + 1].encode("utf-8", "surrogatepass"))
            for piece in self._read(int(found[1])):
                sha.update(piece)
            at = found.end() - 1
        sha.update(said[at:].encode("utf-8", "surrogatepass"))
        return sha.hexdigest()

    def _read(self, number: int) -> Iterator[bytes]:
        start, left = self._places[number]
        try:
            with open(self._path, "rb") as stream:
                stream.seek(start)
                while left and (piece := stream.read(min(left, _BLOCK_BYTES))):
                    left -= len(piece)
                    yield piece
        except OSError as error:
            raise unreadable(self._path, error.strerror or type(error).__name__) from None
