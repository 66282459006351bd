"""A photo as an upright array of codes and the curve that makes light of them: pictures of every kind; raw in raw.py."""

from __future__ import annotations

import io
import os
import struct
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from tintmix.chips.photo.curve import ToneCurve, srgb_curve, straight_curve
from tintmix.chips.photo.errors import decoding, not_a_photo, photo_too_large
from tintmix.chips.photo.frame import STACKED, Codes, Photo, Pixels, camera_settings, check_shape, upright
from tintmix.chips.photo.journey import ORIENTATION, Exif, befallen, exif_of, marked_hdr
from tintmix.chips.photo.profile import Profile, in_srgb, profile_of
from tintmix.chips.photo.raw import develop
from tintmix.chips.photo.whole import check_rows, why_none
from tintmix.errors import FileProblem, LibraryMissing, Note, Remedy
from tintmix.files import caps
from tintmix.files.errors import no_file, unreadable
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

Source = str | os.PathLike[str] | bytes

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "AVIF")
"""A JPEG of several pictures (MPO) opens as JPEG, its first picture. HEIF comes through a library of its own."""
RAW_ENDINGS = frozenset(
    ("3fr", "arw", "cr2", "cr3", "crw", "dcr", "dng", "erf", "fff", "iiq", "kdc", "mef", "mos", "mrw", "nef", "nrw", "orf",
     "pef", "raf", "raw", "rw2", "rwl", "sr2", "srf", "srw", "x3f")
)  # fmt: skip
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")
_NOT_THREE = {
    **dict.fromkeys(
        ("1", "L", "LA", "I", "F", "I;16", "I;16B", "I;16L", "La"), "it is black and white, with one channel"
    ),
    **dict.fromkeys(("P", "PA"), "it has a palette of at most 256 colours"),
    **dict.fromkeys(("CMYK", "YCCK"), "it is in printing colours (CMYK)"),
    **dict.fromkeys(("LAB", "HSV"), "its channels are not red, green and blue"),
}
_DNG_VERSION, _BITS_PER_SAMPLE, _TRANSFER = 50706, 258, 301
"""Tags of DNG and of TIFF 6.0."""
_STRIP = 512
"""Rows that are copied at once."""
_CLIPPED_8 = 254
"""Of 255: a JPEG's rounding leaves what was full a step below it."""
_PQ, _HLG = 16, 18
"""Transfer characteristics of HDR pictures (ITU-T H.273, table 3)."""


def open_photo(source: Source, name: str = "", *, curve: ToneCurve | None = None, linear: bool | None = None) -> Photo:
    """A photo from a path or from bytes (then `name` tells its ending). Upright by its EXIF orientation, in sRGB by its profile.

    curve: a tone curve measured by the stack check, in place of the sRGB one (8-bit pictures). linear: whether it is a PNG or
    TIFF that a raw converter wrote with linear camera channels; None: as the file says, and where it says nothing, with the
    curve of sRGB, which `tones.settled` holds against what the photo shows. Raises FileProblem, LibraryMissing, NotThere,
    CannotReach.
    """
    with _stream(source, name) as (stream, said):
        start = stream.read(64)
        if not start:
            raise not_a_photo(said, "it is empty")
        ending = said.rsplit(".", 1)[-1].lower() if "." in said else ""
        if ending in RAW_ENDINGS or _is_raw(start, stream):
            if curve is not None:
                what = "it is a raw file, which is linear, and a tone curve was given"
                raise FileProblem(where=said, what=what, remedy=Remedy.LEAVE_OUT_THE_CURVE)
            return develop(source if isinstance(source, bytes) else os.fspath(source), start, said)
        if start[4:8] == b"ftyp" and start[8:12] in _HEIF_BRANDS:
            _take_heif(said)
        return _picture(stream, said, curve, linear)


@contextmanager
def _stream(source: Source, name: str) -> Iterator[tuple[IO[bytes], str]]:
    """What is read of, and what the photo is called. Files are not read whole: a picture may be larger than its pixels."""
    if isinstance(source, bytes):
        said, size = plain(name or "the photo", 300), len(source)
        stream: IO[bytes] = io.BytesIO(source)
    else:
        said = plain(name or os.fspath(source), 300)
        try:
            # Opening a pipe or a device may wait for ever: only ordinary files are opened.
            if not Path(source).is_file():
                raise no_file(source, "a photo")
            size, stream = os.path.getsize(source), open(source, "rb")  # noqa: SIM115 (closed below)
        except OSError as error:
            raise unreadable(source, error.strerror or type(error).__name__) from None
        except ValueError:  # a name with a zero byte in it
            raise no_file(source, "a photo") from None
    with stream:
        if size > caps.PHOTO:
            raise photo_too_large(said, f"it has {size / 1e6:.0f} MB", f"{caps.PHOTO / 1e6:.0f} MB")
        yield stream, said


def _is_raw(start: bytes, stream: IO[bytes]) -> bool:
    """Raw files that their first bytes tell; the others that are built as TIFF go by their ending."""
    return (
        start[:16].startswith(b"FUJIFILMCCD-RAW")
        or start[4:12] == b"ftypcrx "
        or start[:4] in (b"IIU\0", b"IIRO", b"IIRS", STACKED)
        or _is_dng(start, stream)
    )


def _is_dng(start: bytes, stream: IO[bytes]) -> bool:
    """Whether a TIFF's first directory holds the version of a DNG."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(start[:4])
    if order is None or len(start) < 8:
        return False
    stream.seek(int(struct.unpack_from(f"{order}I", start, 4)[0]))
    count = stream.read(2)
    entries = stream.read(12 * int(struct.unpack(f"{order}H", count)[0])) if len(count) == 2 else b""
    return any(tag == _DNG_VERSION for tag, _ in struct.iter_unpack(f"{order}H10s", entries[: len(entries) // 12 * 12]))


def _take_heif(said: str) -> None:
    """Have the picture library read HEIF. Raises LibraryMissing."""
    try:
        # Only for these files: 30 ms of start-up (measured), and there are systems without it.
        import pillow_heif
    except ImportError:
        what = "a HEIC picture needs the library pillow-heif, which is not installed"
        raise LibraryMissing(where=said, what=what, remedy=Remedy.INSTALL_HEIF) from None
    pillow_heif.register_heif_opener(thumbnails=False)


def _picture(stream: IO[bytes], said: str, curve: ToneCurve | None, linear: bool | None) -> Photo:
    with decoding(said, "damaged or cut short"), warnings.catch_warnings():
        # Its own warning of a bomb comes at another size than ours, and others say nothing about a reading.
        warnings.simplefilter("ignore")
        try:
            stream.seek(0)
            with Image.open(stream, formats=(*FORMATS, *(("HEIF",) if "HEIF" in Image.OPEN else ()))) as picture:
                _check(picture, said)
                return _photo(picture, stream, said, curve, linear)
        except Image.DecompressionBombError:
            raise photo_too_large(said, "far too many pixels", f"{caps.PHOTO_PIXELS / 1e6:.0f} million") from None
        except UnidentifiedImageError:
            raise not_a_photo(said, why_none(stream)) from None


def _check(picture: Image.Image, said: str) -> None:
    check_shape(said, *picture.size)
    if picture.mode in _NOT_THREE or picture.mode not in ("RGB", "RGBA", "RGBX", "YCbCr"):
        reason = _NOT_THREE.get(picture.mode, f"its channels ({plain(picture.mode)}) are not red, green and blue")
        raise FileProblem(where=said, what=reason, remedy=Remedy.PHOTO_IN_COLOUR)
    if picture.info.get("nclx_profile", {}).get("transfer_characteristics") in (_PQ, _HLG):
        what = "it is an HDR picture, whose brightness is bent from place to place"
        raise FileProblem(where=said, what=what, remedy=Remedy.HDR_OFF)


def _photo(picture: Image.Image, stream: IO[bytes], said: str, curve: ToneCurve | None, linear: bool | None) -> Photo:
    told: list[Note | str] = []
    exif = exif_of(picture)
    told += befallen(picture, exif, marked_hdr(picture, stream))
    deep, profile = _is_deep(picture, stream), profile_of(picture, said, told)
    _check_linear(picture, said, curve, linear)
    straight = linear if linear is not None else curve is None and _says_straight(picture, profile)
    open_ = linear is None and curve is None and not straight and not _says_a_curve(picture, exif, profile)
    matrix: Array | None = None
    if deep and curve is None and (straight or profile is None or profile.is_srgb):
        codes: Codes | Pixels = upright(*_sixteen(stream, said))
        clipped = 65_535 if straight else 65_535 * _CLIPPED_8 // 255
        used = None if straight else srgb_curve(65_536)
        if open_:
            says = "it has 16 bits and was read with the curve of sRGB, which is wrong if a raw converter wrote it without any."
            told.append(Note(says=says, remedy=Remedy.SAY_LINEAR))
    else:
        if deep and curve is None:
            told.append("its colour profile is not sRGB, so of its 16 bits only 8 are read; write it out in sRGB")
        if straight:
            told.append(Note(says=FEW_BITS, remedy=Remedy.WRITE_16_BITS))
        picture.load()
        check_rows(picture, stream, said)
        plain_rgb = _opaque(picture, said)
        shown = plain_rgb if straight or profile is None else in_srgb(plain_rgb, profile)
        shown.load()
        clipped, used = _CLIPPED_8, curve or (straight_curve() if straight else srgb_curve())
        # Asked for only now: on decoding, the library turns TIFFs itself, and then takes the tag away.
        codes = Pixels(shown, _orientation(picture))
    # A profile that says "linear" tells of which primaries, too: such a picture went through a matrix, as a JPEG does.
    managed = straight and linear is None and profile is not None
    if managed and profile is not None:
        matrix = profile.to_srgb
    settings = camera_settings(**exif.settings)
    return Photo(
        said, codes, managed or not straight, used, clipped, settings, tuple(told), matrix,
        exif.taken_with, open_,
    )  # fmt: skip


FEW_BITS = "it is linear with 8 bits a channel, which are few: dark chips are rough."


def _check_linear(picture: Image.Image, said: str, curve: ToneCurve | None, linear: bool | None) -> None:
    if not linear:
        return
    if picture.format not in ("PNG", "TIFF"):
        what = f"it was said to be linear, but it is a {picture.format}, which keeps too little of dark places for that"
        raise FileProblem(where=said, what=what, remedy=Remedy.WRITE_16_BITS)
    if curve is not None:
        what = "it was said to be linear, and a tone curve was given"
        raise FileProblem(where=said, what=what, remedy=Remedy.LEAVE_OUT_ONE_OF_TWO)


def _says_straight(picture: Image.Image, profile: Profile | None) -> bool:
    """Whether the file says that it has no curve: by its profile, a PNG's gamma, or a TIFF's transfer function."""
    if profile is not None:
        return profile.is_straight
    gamma = picture.info.get("gamma")
    if picture.format == "PNG" and isinstance(gamma, float):
        return abs(gamma - 1.0) < 0.02 and "srgb" not in picture.info
    table = np.asarray(_tag(picture, _TRANSFER, ()), dtype=np.float64).ravel()
    # Halfway up a straight one is half of its end; on the curve of sRGB a fifth.
    return len(table) >= 256 and bool(
        abs(table[len(table) // (6 if len(table) % 3 == 0 else 2)] / table[-1] - 0.5) < 0.02
    )


def _says_a_curve(picture: Image.Image, exif: Exif, profile: Profile | None) -> bool:
    """Whether the file says that it has a curve; or is of a kind that always has one."""
    if profile is not None or picture.format not in ("PNG", "TIFF"):
        return True
    return exif.says_srgb or "srgb" in picture.info or "gamma" in picture.info or bool(_tag(picture, _TRANSFER, ()))


def _tag(picture: Image.Image, tag: int, otherwise: Any) -> Any:
    """A tag of a TIFF; what is damaged is as good as not there."""
    try:
        return picture.tag_v2.get(tag, otherwise)  # type: ignore[attr-defined]
    except Exception:
        return otherwise


def _opaque(picture: Image.Image, said: str) -> Image.Image:
    if picture.mode == "RGBA" and picture.getchannel("A").getextrema()[0] != 255:
        what = "parts of it are transparent, so it has been edited"
        raise FileProblem(where=said, what=what, remedy=Remedy.PHOTO_AS_TAKEN)
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _is_deep(picture: Image.Image, stream: IO[bytes]) -> bool:
    if picture.mode != "RGB":
        return False
    if picture.format == "PNG":
        before = stream.tell()
        stream.seek(24)
        deep = stream.read(1) == b"\x10"
        stream.seek(before)
        return deep
    return picture.format == "TIFF" and _tag(picture, _BITS_PER_SAMPLE, 8) in (16, (16, 16, 16))


def _sixteen(stream: IO[bytes], said: str) -> tuple[NDArray[np.uint16], int]:
    """All 16 bits of a picture, and its orientation: decoded twice, the second time with the bytes of each sample taken the
    other way round.

    The library keeps the high byte of 16-bit RGB; told the wrong byte order, it keeps the low one. One decoding at a time, and
    copied strip by strip: the pixels stand in memory once and a half.
    """
    codes = np.zeros((0, 0, 3), np.uint16)
    turned = 1
    for shift in (8, 0):
        stream.seek(0)
        with Image.open(stream, formats=("PNG", "TIFF")) as picture:
            if not shift:
                picture.tile = [tile._replace(args=_swapped(tile.args, said)) for tile in picture.tile]
            picture.load()
            if shift:
                check_rows(picture, stream, said)
            codes = codes if codes.size else np.zeros((picture.height, picture.width, 3), np.uint16)
            for top in range(0, picture.height, _STRIP):
                strip = picture.crop((0, top, picture.width, min(top + _STRIP, picture.height)))
                codes[top : top + _STRIP] |= np.asarray(strip).astype(np.uint16) << shift
            turned = _orientation(picture)
    return codes, turned


def _swapped(args: Any, said: str) -> Any:
    native = "RGB;16L" if sys.byteorder == "little" else "RGB;16B"
    other = {"RGB;16L": "RGB;16B", "RGB;16B": "RGB;16L", "RGB;16N": "RGB;16B" if native == "RGB;16L" else "RGB;16L"}
    mode = args if isinstance(args, str) else args[0]
    if mode not in other:
        what = f"its 16-bit samples are laid out in an unusual way ({plain(str(mode), 20)})"
        raise FileProblem(where=said, what=what, remedy=Remedy.SAVE_AS_PNG)
    return other[mode] if isinstance(args, str) else (other[mode], *args[1:])


def _orientation(picture: Image.Image) -> int:
    """The EXIF orientation, 1 where there is none or a damaged one."""
    try:
        turned: Any = picture.getexif().get(ORIENTATION, 1)
    except Exception:
        return 1
    return turned if isinstance(turned, int) and 1 <= turned <= 8 else 1
