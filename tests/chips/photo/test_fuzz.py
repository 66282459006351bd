"""Random and mutated pictures: a photo and its reading or one of our errors come out, and nothing else.

`python -m tests.chips.photo.test_fuzz 100000` runs as many inputs of each kind as one asks for (issue 3: 10⁵), and says
the slowest input and the most memory; the names of kinds after the number choose among them.
"""

from __future__ import annotations

import random
import struct
from importlib.util import find_spec

import numpy as np
import pytest
from PIL import ImageCms

from tests.chips.fuzzing import main, said_well, slowest_of
from tests.chips.photo import photo_files as files
from tintmix.chips.photo.curve import curve_to_text, parse_tone_curve, srgb_curve
from tintmix.chips.photo.load import Photo, open_photo
from tintmix.chips.photo.reading import PhotoReading, gather_holder, gather_rectangles, read_gathered
from tintmix.chips.photo.region import Rectangle, rectangle
from tintmix.errors import TintmixError
from tintmix.files import caps

RAMP = files.ramp(88, 72)
DEEP = RAMP.astype(np.uint16) * 257
PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
EXIF = files.exif(6, (0.02, 8.0, 100))
KINDS: dict[str, tuple[bytes, ...]] = {
    "JPEG": (
        files.encoded(RAMP, "JPEG", quality=85, exif=EXIF, icc_profile=PROFILE), files.encoded(RAMP, "JPEG", progressive=True),
        files.encoded(RAMP[..., 0], "JPEG"),
    ),
    "PNG": (files.encoded(RAMP, exif=EXIF, icc_profile=PROFILE), files.png(RAMP), files.png(DEEP), files.encoded(RAMP[..., 0])),
    "TIFF": (
        files.tiff(RAMP, orientation=5), files.tiff(DEEP), files.tiff(DEEP, order=">", compression=8),
        files.encoded(RAMP, "TIFF", compression="tiff_lzw", icc_profile=PROFILE),
    ),
    "WebP": (files.encoded(RAMP, "WEBP", exif=EXIF), files.encoded(RAMP, "WEBP", lossless=True, icc_profile=PROFILE)),
    "raw": (files.dng(files.mosaic_of(RAMP / 255)),),
    "curve": (curve_to_text(srgb_curve()).encode(),),
    "place": (b"10,20,30,40", b"1.5 2.5 60 50"),
}  # fmt: skip
ENDING = {"raw": "chips.dng"}
SCRAPS = (
    b"", b"\0", b"\xff", b"\xff" * 4, b"\0" * 8, b"\x7f\xff\xff\xff", b"\xff\xff\xff\x7f", b"\xff\xd8", b"\xff\xd9",
    b"\xff\xc0\0\x11\x08\xff\xff\xff\xff\x03", b"\xff\xda", b"\xff\xe1\xff\xff", b"IHDR", b"IDAT", b"iCCP", b"eXIf", b"acTL",
    b"II*\0", b"MM\0*", b"VP8L", b"VP8X", b"ANIM", b"Exif\0\0", b"acsp", b"RGB ", b"CMYK", b"GRAY",
    b"nan", b"inf", b"-1", b"1e999", b",", b";", b"\n", b"9" * 40,
    struct.pack("<HHI", 256, 4, 1), struct.pack("<HHI", 259, 3, 1), struct.pack("<I", 2**31), struct.pack(">I", 2**28),
)  # fmt: skip
BOXES = {"b1": Rectangle(20, 20, 24, 24), "b2": Rectangle(50, 30, 20, 30)}
OPEN = (Rectangle(2, 2, 15, 15), Rectangle(47, 47, 15, 15))
MOST_SECONDS = 5.0


def mutated(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    # Half of all changes in the first part of the file, where headers, tags and profiles are.
    for _ in range(rng.choice((1, 1, 2, 4, 9))):
        at = rng.randrange(len(out) + 1) if rng.random() < 0.5 else rng.randrange(min(len(out), 700) + 1)
        to = min(len(out), at + rng.choice((0, 1, 1, 3, 20)))
        what = rng.randrange(6)
        if what == 0:
            out[at:to] = b""
        elif what == 1:
            scrap = rng.choice(SCRAPS)
            out[at : at + len(scrap)] = scrap
        elif what == 2:
            out[at:at] = out[at:to] * rng.choice((1, 1, 50))
        elif what == 5:
            del out[at:]
        else:
            out[at:to] = bytes(rng.randrange(256) for _ in range(to - at))
    return bytes(out)


def check(kind: str, data: bytes) -> None:
    try:
        if kind == "place":
            box = rectangle(data.decode("utf-8", "replace"))
            assert box.width > 0
            assert box.height > 0
            return
        if kind == "curve":
            table = parse_tone_curve(data.decode("utf-8", "replace"), "curve.csv").table
            assert table.shape == (256, 3)
            assert np.all(np.isfinite(table))
            return
        photo = open_photo(data, ENDING.get(kind, "chips"))
    except TintmixError as error:
        said_well(error)
        return
    assert isinstance(photo, Photo)
    assert photo.codes.ndim == 3
    assert photo.codes.shape[2] == 3
    assert min(photo.codes.shape[:2]) >= 64
    assert photo.width * photo.height <= caps.PHOTO_PIXELS
    panel = Photo("bare", photo.codes[::-1], photo.rendered, photo.curve, photo.clipped_at)
    reads = (
        lambda: read_gathered(gather_rectangles(photo, BOXES)),
        lambda: read_gathered(gather_rectangles(photo, BOXES, panel, OPEN, OPEN[:1])),
        lambda: read_gathered(gather_holder(photo), skip_empty=True),
    )
    for read in reads:
        try:
            reading = read()
        except TintmixError as error:
            said_well(error)
            continue
        assert isinstance(reading, PhotoReading)
        for place in reading.places.values():
            assert np.all(np.isfinite(place.values))
            assert np.all(place.values < 2)


@pytest.mark.parametrize("kind", list(KINDS))
def test_only_our_errors_come_out(kind: str) -> None:
    if kind == "raw" and find_spec("rawpy") is None:
        pytest.skip("rawpy is optional")
    assert slowest_of(check, mutated, KINDS, kind, 40 if kind == "raw" else 120, seed=3) < MOST_SECONDS


if __name__ == "__main__":
    main(check, mutated, KINDS)
