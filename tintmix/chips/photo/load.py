"""A photo as an upright array of codes and the curve that makes light of them: JPEG, PNG, TIFF and WebP; raw in raw.py."""

from __future__ import annotations

import io
import os
import struct
import sys
import warnings
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, UnidentifiedImageError

from tintmix.chips.photo.curve import ToneCurve, srgb_curve
from tintmix.chips.photo.errors import decoding, not_a_photo, photo_too_large
from tintmix.chips.photo.frame import (
    MOST_PIXELS,
    STACKED,
    Codes,
    Photo,
    camera_settings,
    check_shape,
)
from tintmix.chips.photo.raw import develop
from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files.text import load_bytes
from tintmix.files.words import plain

Source = str | os.PathLike[str] | bytes

MOST_BYTES = 256_000_000
"""Four bytes for each of as many pixels: photos as cameras write them have one to three."""
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
"""A JPEG of several pictures (MPO) opens as JPEG, its first picture."""
RAW_ENDINGS = frozenset(
    ("3fr", "arw", "cr2", "cr3", "crw", "dcr", "dng", "erf", "fff", "iiq", "kdc", "mef", "mos", "mrw", "nef", "nrw", "orf",
     "pef", "raf", "raw", "rw2", "rwl", "sr2", "srf", "srw", "x3f")
)  # fmt: skip
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis")
_NOT_THREE = {
    **dict.fromkeys(
        ("1", "L", "LA", "I", "F", "I;16", "I;16B", "I;16L", "La"), "it is black and white, with one channel"
    ),
    **dict.fromkeys(("P", "PA"), "it has a palette of at most 256 colours"),
    **dict.fromkeys(("CMYK", "YCCK"), "it is in printing colours (CMYK)"),
    **dict.fromkeys(("LAB", "HSV"), "its channels are not red, green and blue"),
}
_DNG_VERSION, _BITS_PER_SAMPLE, _ORIENTATION = 50706, 258, 274
"""Tags of DNG and of TIFF 6.0."""
_EXIF_IFD = 0x8769
"""Tag that points to the Exif tags (Exif 2.3)."""
_SETTINGS = {33434: "exposure_s", 33437: "f_number", 34855: "iso"}
"""Exif tags (Exif 2.3)."""
_BAD_PROFILE = (ImageCms.PyCMSError, OSError, TypeError, ValueError)
"""What the library raises for one that is damaged."""
_CLIPPED_8 = 254
"""Of 255: a JPEG's rounding leaves what was full a step below it."""


def open_photo(source: Source, name: str = "", *, curve: ToneCurve | None = None, linear: bool = False) -> Photo:
    """A photo from a path or from bytes (then `name` tells its ending). Upright by its EXIF orientation, in sRGB by its profile.

    curve: a tone curve measured by the stack check, in place of the sRGB one (8-bit pictures). linear: a 16-bit PNG or
    TIFF that a raw converter wrote with linear camera channels. Raises FileProblem, LibraryMissing, and what `load_bytes` raises.
    """
    data, said = _bytes_of(source, name)
    ending = said.rsplit(".", 1)[-1].lower() if "." in said else ""
    if ending in RAW_ENDINGS or _is_raw(data):
        return _raw(data, said, curve)
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        what = "it is a HEIC or AVIF picture, which is not read"
        raise FileProblem(where=said, what=what, remedy=Remedy.PHOTO_NOT_HEIC)
    return _picture(data, said, curve, linear)


def _bytes_of(source: Source, name: str) -> tuple[bytes, str]:
    if isinstance(source, bytes):
        data, said = source, plain(name or "the photo", 300)
    else:
        data, said = load_bytes(os.fspath(source), MOST_BYTES, "a photo"), plain(name or os.fspath(source), 300)
    if len(data) > MOST_BYTES:
        raise photo_too_large(said, "it is a larger file", f"{MOST_BYTES / 1e6:.0f} MB")
    return data, said


def _is_raw(data: bytes) -> bool:
    """Raw files that their first bytes tell; the others that are built as TIFF go by their ending."""
    return (
        data[:16].startswith(b"FUJIFILMCCD-RAW")
        or data[4:12] == b"ftypcrx "
        or data[:4] in (b"IIU\0", b"IIRO", b"IIRS", STACKED)
        or _is_dng(data)
    )


def _is_dng(data: bytes) -> bool:
    """Whether a TIFF's first directory holds the version of a DNG."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(data[:4])
    if order is None or len(data) < 8:
        return False
    at = int(struct.unpack_from(f"{order}I", data, 4)[0])
    count = int(struct.unpack_from(f"{order}H", data, at)[0]) if at + 2 <= len(data) else 0
    entries = data[at + 2 : at + 2 + 12 * count]
    return any(tag == _DNG_VERSION for tag, _ in struct.iter_unpack(f"{order}H10s", entries[: len(entries) // 12 * 12]))


def _raw(data: bytes, said: str, curve: ToneCurve | None) -> Photo:
    if curve is not None:
        what = "it is a raw file, which is linear, and a tone curve was given"
        raise FileProblem(where=said, what=what, remedy=Remedy.LEAVE_OUT_THE_CURVE)
    return develop(data, said)


def _picture(data: bytes, said: str, curve: ToneCurve | None, linear: bool) -> Photo:
    with decoding(said, "damaged or cut short"), warnings.catch_warnings():
        # Its own warning of a bomb comes at another size than ours, and others say nothing about a reading.
        warnings.simplefilter("ignore")
        try:
            with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
                _check(picture, said)
                return _photo(picture, data, said, curve, linear)
        except Image.DecompressionBombError:
            raise photo_too_large(said, "far too many pixels", f"{MOST_PIXELS / 1e6:.0f} million") from None
        except UnidentifiedImageError:
            raise not_a_photo(said, "it is empty" if not data else "it is of no kind that is known") from None


def _check(picture: Image.Image, said: str) -> None:
    check_shape(said, *picture.size)
    if picture.mode in _NOT_THREE or picture.mode not in ("RGB", "RGBA", "RGBX", "YCbCr"):
        reason = _NOT_THREE.get(picture.mode, f"its channels ({plain(picture.mode)}) are not red, green and blue")
        raise FileProblem(where=said, what=reason, remedy=Remedy.PHOTO_IN_COLOUR)


def _photo(picture: Image.Image, data: bytes, said: str, curve: ToneCurve | None, linear: bool) -> Photo:
    told: list[Note | str] = []
    settings = _settings(picture)
    if any(mark in data for mark in (b"hdrgm:Version", b"urn:com:apple:photo:2020:aux:hdrgainmap")):
        told.append("the photo was taken with HDR on; switch HDR off, for it changes the tones from place to place")
    deep = _is_deep(picture, data)
    profile = picture.info.get("icc_profile")
    if linear and not deep:
        what = "it was said to be linear, but it has 8 bits a channel, too few for that"
        raise FileProblem(where=said, what=what, remedy=Remedy.WRITE_16_BITS)
    if linear and curve is not None:
        what = "it was said to be linear, and a tone curve was given"
        raise FileProblem(where=said, what=what, remedy=Remedy.LEAVE_OUT_ONE_OF_TWO)
    if deep and curve is None and (linear or not profile or _is_srgb(profile)):
        codes: Codes = _sixteen(picture, data, said)
        clipped = 65_535 if linear else 65_535 * _CLIPPED_8 // 255
        used = None if linear else srgb_curve(65_536)
        if not linear and not profile:
            says = "it has 16 bits and was read with the curve of sRGB, which is wrong if a raw converter wrote it without any."
            told.append(Note(says=says, remedy=Remedy.SAY_LINEAR))
    else:
        if deep and curve is None:
            told.append("its colour profile is not sRGB, so of its 16 bits only 8 are read; write it out in sRGB")
        plain_rgb = _opaque(picture, said)
        codes = np.asarray(_in_srgb(plain_rgb, profile, said, told) if profile else plain_rgb)
        clipped, used = _CLIPPED_8, curve or srgb_curve()
    # Asked for only now: on decoding, the library turns TIFFs itself, and then takes the tag away.
    upright = _upright(codes, _orientation(picture))
    return Photo(said, upright, not linear, used, clipped, settings, tuple(told))


def _opaque(picture: Image.Image, said: str) -> Image.Image:
    if picture.mode == "RGBA" and picture.getchannel("A").getextrema()[0] != 255:
        what = "parts of it are transparent, so it has been edited"
        raise FileProblem(where=said, what=what, remedy=Remedy.PHOTO_AS_TAKEN)
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _in_srgb(picture: Image.Image, profile: bytes, said: str, told: list[Note | str]) -> Image.Image:
    try:
        given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        space = given.profile.xcolor_space.strip()
        if space != "RGB":
            what = f"its colour profile is for {plain(space)}, not for RGB"
            raise FileProblem(where=said, what=what, remedy=Remedy.PHOTO_AS_TAKEN)
        return _converted(picture, given)
    except _BAD_PROFILE:
        told.append("its colour profile is damaged; it was read as sRGB")
        return picture


def _converted(picture: Image.Image, given: ImageCms.ImageCmsProfile) -> Image.Image:
    # Relative colorimetric: the panel divides out, so the profile's white must not be moved.
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    done = ImageCms.profileToProfile(picture, given, ImageCms.createProfile("sRGB"), intent, outputMode="RGB")
    return picture if done is None else done


def _is_srgb(profile: bytes) -> bool:
    """Whether a profile leaves a set of colours as sRGB has them, to two steps of 255."""
    steps = np.arange(0, 256, 17, dtype=np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps[::5], indexing="ij"), axis=-1).reshape(16, -1, 3)
    try:
        done = _converted(Image.fromarray(cube), ImageCms.ImageCmsProfile(io.BytesIO(profile)))
    except _BAD_PROFILE:
        return True
    return int(np.abs(np.asarray(done).astype(int) - cube).max()) <= 2


def _is_deep(picture: Image.Image, data: bytes) -> bool:
    if picture.mode != "RGB":
        return False
    if picture.format == "PNG":
        return data[24:25] == b"\x10"
    if picture.format == "TIFF":
        bits = picture.tag_v2.get(_BITS_PER_SAMPLE)  # type: ignore[attr-defined]
        return bits in (16, (16, 16, 16))
    return False


def _sixteen(picture: Image.Image, data: bytes, said: str) -> NDArray[np.uint16]:
    """All 16 bits of a picture: decoded twice, the second time with the bytes of each sample taken the other way round.

    The library keeps the high byte of 16-bit RGB; told the wrong byte order, it keeps the low one.
    """
    with Image.open(io.BytesIO(data), formats=("PNG", "TIFF")) as low:
        low.tile = [tile._replace(args=_swapped(tile.args, said)) for tile in low.tile]
        codes = np.asarray(picture).astype(np.uint16)
        codes <<= 8
        codes |= np.asarray(low)
    return codes


def _swapped(args: Any, said: str) -> Any:
    native = "RGB;16L" if sys.byteorder == "little" else "RGB;16B"
    other = {"RGB;16L": "RGB;16B", "RGB;16B": "RGB;16L", "RGB;16N": "RGB;16B" if native == "RGB;16L" else "RGB;16L"}
    mode = args if isinstance(args, str) else args[0]
    if mode not in other:
        what = f"its 16-bit samples are laid out in an unusual way ({plain(str(mode), 20)})"
        raise FileProblem(where=said, what=what, remedy=Remedy.SAVE_AS_PNG)
    return other[mode] if isinstance(args, str) else (other[mode], *args[1:])


def _settings(picture: Image.Image) -> dict[str, float]:
    """The camera's settings; what is damaged there is as good as not there."""
    try:
        inner = picture.getexif().get_ifd(_EXIF_IFD)
    except Exception:
        return {}
    told = {key: inner.get(tag) for tag, key in _SETTINGS.items()}
    return camera_settings(**{key: v[0] if isinstance(v, tuple) and v else v for key, v in told.items()})


def _orientation(picture: Image.Image) -> int:
    """The EXIF orientation, 1 where there is none or a damaged one."""
    try:
        turned: Any = picture.getexif().get(_ORIENTATION, 1)
    except Exception:
        return 1
    return turned if isinstance(turned, int) and 1 <= turned <= 8 else 1


def _upright(codes: Codes, orientation: int) -> Codes:
    """Turned and mirrored as EXIF orientation 1 to 8 asks (CIPA DC-008, tag 274)."""
    upright: Any = codes.transpose(1, 0, 2) if orientation in (5, 6, 7, 8) else codes
    if orientation in (2, 3, 6, 7):
        upright = upright[:, ::-1]
    if orientation in (3, 4, 7, 8):
        upright = upright[::-1]
    out: Codes = np.ascontiguousarray(upright)
    return out
