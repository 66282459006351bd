"""What a photo shows of the holder sheet before anything is read of it: where it lies, and in which windows something does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.sheet.holder import WINDOWS
from tintmix.desk.read.shots import PhotoOrder, covered, filled, gather
from tintmix.errors import Note
from tintmix.optics.spectrum import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HolderSeen:
    """The sheet in a photo. marks: how many of its four were found. outlines: window → corners (4, 2) of what is read of it, in
    pixels. filled: window → what lies there reads (3,), as parts of the bare panel, or None where it cannot be read. dark:
    windows that let next to no light through: not cut, covered, or of a very dark chip. photo: with the curve that it shows,
    where its file does not say. notes: what is to be said of photo and sheet."""

    marks: int
    aslant_degrees: float
    outlines: Mapping[str, Array]
    filled: Mapping[str, Array | None]
    dark: tuple[str, ...]
    photo: Photo
    notes: tuple[Note | str, ...]


def look_for_holder(photo: Photo, panel: Photo | None = None) -> HolderSeen:
    """The holder sheet in a photo. panel: the same, the chips taken off. Raises FileProblem, ValueProblem."""
    everything = gather(PhotoOrder(()), photo, panel, {})
    sheet = everything.sheet
    assert sheet is not None
    seen = filled(everything, list(everything.chips))
    return HolderSeen(
        marks=sheet.marks,
        aslant_degrees=sheet.aslant_degrees,
        outlines={one.name: sheet.pixels(one.corners_mm) for one in WINDOWS},
        filled=seen,
        dark=tuple(name for name in everything.chips if name not in seen and covered(everything, name)),
        photo=everything.photo,
        notes=(*everything.photo.warnings, *everything.warnings),
    )
