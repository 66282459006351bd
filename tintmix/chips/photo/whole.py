"""Whether a picture's file is all there, where the picture library does not tell: a TIFF that is cut short is none to it, and
rows that a PNG lacks are black."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from typing import IO

from PIL import Image

from tintmix.chips.photo.errors import not_a_photo

_STARTS = {
    b"\x89PNG": "a PNG", b"\xff\xd8\xff": "a JPEG", b"RIFF": "a WEBP",
    b"II*\0": "a TIFF", b"MM\0*": "a TIFF", b"II+\0": "a TIFF", b"MM\0+": "a TIFF",
}  # fmt: skip
_VALUE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}
"""By type: TIFF 6.0, section 2."""
_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
"""By colour type: https://www.w3.org/TR/png-3/#11IHDR."""
_PASSES = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))
"""Of an interlaced PNG: first column and row, and the steps: https://www.w3.org/TR/png-3/#8Interlace."""
_AT_ONCE = 1 << 20


def why_none(stream: IO[bytes]) -> str:
    """Why the picture library finds no picture in a file, as a clause.

    >>> import io
    >>> why_none(io.BytesIO(b"%PDF-1.7")), why_none(io.BytesIO(b"II*\\0" + bytes([200, 0, 0, 0])))
    ('it is of no kind that is known', 'it is cut short: its end is missing')
    """
    stream.seek(0)
    start = stream.read(12)
    if start[4:8] == b"ftyp":
        return "it is a damaged HEIC or AVIF picture, or cut short"
    kind = next((kind for head, kind in _STARTS.items() if start.startswith(head)), "")
    if kind == "a TIFF" and _lacks_its_end(stream, start):
        return "it is cut short: its end is missing"
    return (
        f"it begins as {kind}, and is cut short, damaged or of a rare kind"
        if kind
        else "it is of no kind that is known"
    )


def check_rows(picture: Image.Image, stream: IO[bytes], said: str) -> None:
    """See that a PNG that was decoded has all its rows. Raises FileProblem.

    Only where one of the last two is black: of an interlaced one the last to come is either.
    """
    if picture.format != "PNG":
        return
    ends = [picture.crop((0, row, picture.width, row + 1)) for row in range(max(0, picture.height - 2), picture.height)]
    if not all(row.getbbox() for row in ends) and _lacks_rows(stream):
        raise not_a_photo(said, "it is cut short: rows are missing at its end")


def _lacks_its_end(stream: IO[bytes], start: bytes) -> bool:
    """Whether a TIFF's first directory, or a value of it, lies beyond the end of the file."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(start[:4])
    if order is None:
        return False
    size = stream.seek(0, 2)
    if len(start) < 8:
        return True
    stream.seek(int(struct.unpack_from(f"{order}I", start, 4)[0]))
    count = stream.read(2)
    entries = stream.read(12 * int(struct.unpack(f"{order}H", count)[0])) if len(count) == 2 else b""
    if not entries or len(entries) % 12 or len(entries) // 12 < struct.unpack(f"{order}H", count)[0]:
        return True
    held = ((_VALUE_BYTES.get(kind, 0) * many, at) for _, kind, many, at in struct.iter_unpack(f"{order}HHII", entries))
    return any(value_bytes > 4 and at + value_bytes > size for value_bytes, at in held)


def _lacks_rows(stream: IO[bytes]) -> bool:
    """Whether a PNG unpacks to less than its header says."""
    stream.seek(16)
    width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", stream.read(13))
    missing = 0
    for x, y, across, down in _PASSES if interlaced else ((0, 0, 1, 1),):
        columns, rows = -(-(width - x) // across), -(-(height - y) // down)
        missing += rows * (1 + (columns * depth * _CHANNELS[colour] + 7) // 8) if columns > 0 and rows > 0 else 0
    unpacking = zlib.decompressobj()
    for packed in _data_of(stream):
        while packed and missing > 0:
            missing -= len(unpacking.decompress(packed, _AT_ONCE))
            packed = unpacking.unconsumed_tail
    return missing > len(unpacking.flush())


def _data_of(stream: IO[bytes]) -> Iterator[bytes]:
    """What the data chunks of a PNG hold, in order."""
    stream.seek(8)
    while len(head := stream.read(8)) == 8:
        length = int.from_bytes(head[:4], "big")
        if head[4:] == b"IDAT":
            yield stream.read(length)
            stream.seek(4, 1)
        else:
            stream.seek(length + 4, 1)
