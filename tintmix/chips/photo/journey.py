"""What befell a photo between the camera and here, as its file tells: scaled, cropped, compressed again, edited, its tones bent.

Nothing of it keeps a photo from being read; what it costs is said. What programs and cameras write where: Exif 2.32
(CIPA DC-008-2019) and the JPEG standard (ITU-T T.81), annex K.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import IO, Any

import numpy as np
from PIL import Image

from tintmix.errors import Note, Remedy
from tintmix.files.words import plain

# Numbers of the tags as Exif 3.0 (CIPA DC-008) and TIFF 6.0 list them.
ORIENTATION = 274  # Exif, TIFF
_MAKE, _MODEL, _SOFTWARE, _CHANGED, _TAKEN = 271, 272, 305, 306, 36867  # Exif, TIFF
_EXIF_IFD, _COLOUR_SPACE, _WIDTH, _HEIGHT, _CUSTOM = 0x8769, 40961, 40962, 40963, 41985  # Exif
_SETTINGS = {33434: "exposure_s", 33437: "f_number", 34855: "iso"}  # Exif
_LUMA_MEAN = 57.625
"""Mean of the quantisation table that annex K gives for luminance: what quality 50 stands for."""
_QUALITY_LEAST = 85
"""Cameras write 90 to 98, what sends pictures on 60 to 80 (common practice)."""
_LATER_S = 60.0
"""A phone writes its file within seconds."""
_HDR_MARKS = (b"hdrgm:Version", b"urn:com:apple:photo:2020:aux:hdrgainmap")
_SEARCHED_BYTES = 64_000_000
"""No JPEG or HEIC of as many pixels as are read is larger."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exif:
    """What the camera wrote. taken_with: its maker, model and software. size: of the picture as it wrote it, upright or not.
    custom: whether it bent the tones by itself. changed_later: whether the file was."""

    settings: Mapping[str, Any] = field(default_factory=dict)
    taken_with: str = ""
    size: tuple[int, int] | None = None
    says_srgb: bool = False
    custom: bool = False
    changed_later: bool = False


def exif_of(picture: Image.Image) -> Exif:
    """The camera's own data; what is damaged there is as good as not there."""
    try:
        outer = picture.getexif()
        inner = outer.get_ifd(_EXIF_IFD)
        told = {key: inner.get(tag) for tag, key in _SETTINGS.items()}
        named = [plain(str(outer.get(tag, "")).strip("\0 "), 60) for tag in (_MAKE, _MODEL, _SOFTWARE)]
        size = inner.get(_WIDTH), inner.get(_HEIGHT)
    except Exception:
        return Exif()
    return Exif(
        settings={key: v[0] if isinstance(v, tuple) and v else v for key, v in told.items()},
        taken_with=" ".join(word for word in named if word) if any(named[:2]) else "",
        size=size if all(isinstance(one, int) and one > 0 for one in size) else None,  # type: ignore[arg-type]
        says_srgb=inner.get(_COLOUR_SPACE) == 1,
        custom=inner.get(_CUSTOM, 0) not in (0, None),
        changed_later=_later(outer.get(_CHANGED), inner.get(_TAKEN)),
    )


def _later(changed: Any, taken: Any) -> bool:
    try:
        days = [datetime.strptime(str(day).strip("\0 "), "%Y:%m:%d %H:%M:%S") for day in (changed, taken)]
    except ValueError:
        return False
    return (days[0] - days[1]).total_seconds() > _LATER_S


def marked_hdr(picture: Image.Image, stream: IO[bytes]) -> bool:
    """Whether a gain map lies beside the picture: it was put together from several exposures."""
    if picture.format not in ("JPEG", "MPO", "HEIF", "AVIF", "WEBP"):
        return False
    before = stream.tell()
    stream.seek(0, os.SEEK_SET)
    data = stream.read(_SEARCHED_BYTES)
    stream.seek(before)
    return any(mark in data for mark in _HDR_MARKS)


def befallen(picture: Image.Image, exif: Exif, hdr: bool) -> list[Note | str]:
    """What is to be said of the photo's way, or of how it was taken."""
    told: list[Note | str] = []
    if hdr:
        told.append("the photo was taken with HDR on; switch HDR off, for it changes the tones from place to place")
    elif exif.custom:
        told.append("the camera bent the tones of this photo by itself; switch HDR, night mode and filters off")
    if picture.format not in ("JPEG", "MPO", "HEIF", "AVIF", "WEBP"):
        return told
    happened = []
    wide, high = picture.size
    if exif.size is not None and sorted(exif.size) != sorted((wide, high)):
        same = (
            abs(wide / high - exif.size[0] / exif.size[1]) < 0.02
            or abs(wide / high - exif.size[1] / exif.size[0]) < 0.02
        )
        done = "scaled" if same else "cropped"
        happened.append(
            f"it was {done}: it has {wide} × {high} pixels, and the camera wrote {exif.size[0]} × {exif.size[1]}"
        )
    if exif.changed_later:
        happened.append("it was changed after it was taken")
    quality = _quality(picture)
    if quality is not None and quality < _QUALITY_LEAST:
        happened.append(f"it is compressed to a quality of about {quality}, and cameras write 90 and more")
    if not exif.taken_with and not exif.settings.get("exposure_s"):
        happened.append("it names no camera and no exposure, as after a messenger, a screenshot or an editor")
    if happened:
        says = f"this does not seem to be the file that the camera wrote: {'; '.join(happened)}."
        told.append(Note(says=says, remedy=Remedy.BRING_IT_UNTOUCHED))
    return told


def _quality(picture: Image.Image) -> int | None:
    """The quality of a JPEG, from 1 to 100, as the common library counts it: its table over that of annex K."""
    tables = getattr(picture, "quantization", None)
    if not tables or 0 not in tables:
        return None
    scale = 100.0 * float(np.mean(tables[0])) / _LUMA_MEAN
    return round(max(1.0, 5000.0 / scale if scale > 100.0 else (200.0 - scale) / 2.0))
