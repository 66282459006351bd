"""Picture files made byte by byte for the tests of photo readings, to the standards named beside each."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[Any]


def ramp(width: int = 96, height: int = 72, seed: int = 3) -> NDArray[np.uint8]:
    """A picture whose four corners differ: no turn or mirror of it is like another."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(0, 1, width), np.linspace(0, 1, height))
    picture = np.stack([40 + 170 * x, 30 + 180 * y, 200 - 90 * x * y], axis=-1) + rng.integers(
        -3, 4, (height, width, 1)
    )
    return np.asarray(picture, dtype=np.uint8)


def encoded(pixels: Pixels, kind: str = "PNG", **options: Any) -> bytes:
    """A file of pixels by the picture library."""
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, kind, **options)
    return stream.getvalue()


def exif(orientation: int | None = None, exposure: tuple[float, float, int] | None = None) -> bytes:
    """An EXIF block. exposure: seconds, f number, ISO."""
    block = Image.Exif()
    if orientation is not None:
        block[0x0112] = orientation
    if exposure is not None:
        inner = block.get_ifd(0x8769)
        inner[33434], inner[33437], inner[34855] = exposure
    return block.tobytes()


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(pixels: Pixels, extra: Sequence[tuple[bytes, bytes]] = (), size: tuple[int, int] | None = None) -> bytes:
    """A PNG of 8 or 16 bits, RGB (W3C PNG specification, §11). size: what its header says instead of the truth."""
    height, width = pixels.shape[:2]
    deep = pixels.dtype == np.uint16
    header = struct.pack(">IIBBBBB", *(size or (width, height)), 16 if deep else 8, 2, 0, 0, 0)
    rows = pixels.astype(">u2" if deep else np.uint8).reshape(height, -1)
    data = b"".join(b"\0" + row.tobytes() for row in rows)
    body = chunk(b"IHDR", header) + b"".join(chunk(*one) for one in extra)
    return b"\x89PNG\r\n\x1a\n" + body + chunk(b"IDAT", zlib.compress(data, 1)) + chunk(b"IEND", b"")


def tiff(
    pixels: Pixels, *, order: str = "<", compression: int = 1, orientation: int = 1,
    extra: Sequence[tuple[int, int, int, bytes]] = (),
    photometric: int = 2,
) -> bytes:  # fmt: skip
    """A TIFF of one strip (TIFF 6.0, Adobe 1992). compression: 1 none, 8 deflate. extra: tag, type, count, packed value."""
    height, width = pixels.shape[:2]
    channels = pixels.shape[2] if pixels.ndim == 3 else 1
    bits = pixels.dtype.itemsize * 8
    data = pixels.astype(pixels.dtype.newbyteorder(order)).tobytes()
    data = zlib.compress(data) if compression == 8 else data
    short, long = f"{order}H", f"{order}I"

    def s(*values: int) -> bytes:
        return b"".join(struct.pack(short, value) for value in values)

    def n(value: int) -> bytes:
        return struct.pack(long, value)

    tags: dict[int, tuple[int, int, bytes]] = {
        256: (4, 1, n(width)), 257: (4, 1, n(height)), 258: (3, channels, s(*[bits] * channels)), 259: (3, 1, s(compression)),
        262: (3, 1, s(photometric)), 273: (4, 1, n(8)), 274: (3, 1, s(orientation)), 277: (3, 1, s(channels)),
        278: (4, 1, n(height)), 279: (4, 1, n(len(data))), 284: (3, 1, s(1)),
    }  # fmt: skip
    tags |= {tag: (kind, count, value) for tag, kind, count, value in extra}
    data += b"\0" * (len(data) % 2)
    at = 8 + len(data)
    after = at + 2 + 12 * len(tags) + 4
    entries, tail = b"", b""
    for tag in sorted(tags):
        kind, count, value = tags[tag]
        if len(value) > 4:
            field = n(after + len(tail))
            tail += value + b"\0" * (len(value) % 2)
        else:
            field = value.ljust(4, b"\0")
        entries += struct.pack(f"{order}HHI", tag, kind, count) + field
    head = (b"II" if order == "<" else b"MM") + struct.pack(f"{order}HI", 42, at)
    return head + data + struct.pack(short, len(tags)) + entries + n(0) + tail


def dng(
    mosaic: NDArray[np.uint16],
    *,
    black: int = 512,
    white: int = 16_383,
    orientation: int = 1,
    extra: Sequence[Any] = (),
) -> bytes:
    """A camera's raw file with filters in the order red, green, green, blue (Adobe DNG specification 1.4, chapter 4)."""
    matrix = np.column_stack([np.eye(3).ravel() * 10_000, np.full(9, 10_000)]).astype("<i4").tobytes()
    return tiff(
        mosaic, orientation=orientation, photometric=32_803,
        extra=[
            (254, 4, 1, struct.pack("<I", 0)), (271, 2, 5, b"none\0"), (272, 2, 5, b"none\0"),
            (33_421, 3, 2, struct.pack("<2H", 2, 2)), (33_422, 1, 4, bytes([0, 1, 1, 2])),
            (50_706, 1, 4, bytes([1, 4, 0, 0])), (50_708, 2, 5, b"none\0"), (50_714, 4, 1, struct.pack("<I", black)),
            (50_717, 4, 1, struct.pack("<I", white)), (50_721, 10, 9, matrix), (50_728, 5, 3, struct.pack("<6I", *[1, 1] * 3)),
            (50_778, 3, 1, struct.pack("<H", 21)), *extra,
        ],
    )  # fmt: skip


def mosaic_of(channels: Pixels, *, black: int = 512, white: int = 16_383) -> NDArray[np.uint16]:
    """What a sensor behind such filters reads of light (H, W, 3), 1 the most: a 2 × 2 block of wells for each pixel."""
    codes = np.round(black + np.asarray(channels) * (white - black)).astype(np.uint16)
    height, width = codes.shape[:2]
    out = np.empty((2 * height, 2 * width), np.uint16)
    out[0::2, 0::2], out[1::2, 1::2] = codes[..., 0], codes[..., 2]
    out[0::2, 1::2] = out[1::2, 0::2] = codes[..., 1]
    return out
