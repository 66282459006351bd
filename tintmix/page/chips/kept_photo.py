"""A photo on the page: kept as it came, shown small, looked at for the holder sheet, and opened again where it is read.

What is shown and what is read are one and the same upright copy in sRGB, so a click means the pixel under it.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, ParamSpec, TypeVar

import numpy as np

from tintmix.chips.photo.errors import NotThesePhotos
from tintmix.chips.photo.load import open_photo
from tintmix.desk.read.holder_seen import look_for_holder
from tintmix.errors import Note, Remedy, TintmixError
from tintmix.numerals import numeral
from tintmix.optics.colour import Screen, encoded
from tintmix.optics.spectrum import Array
from tintmix.page.errors import not_typed
from tintmix.page.values import to_table, with_notes
from tintmix.page.workspace import Workspace

if TYPE_CHECKING:
    from tintmix.chips.photo.frame import Photo

SHOWN_PIXELS = 1400
"""The longer side of the picture that is shown; what is read is the photo itself."""
MOST_PLACES = 60
DECODING = threading.RLock()
"""Photos are decoded one at a time, whoever asks: one of 64 million pixels of 16 bits takes 0.4 GB, and more meanwhile."""
_OPENED: dict[tuple[Path, bool | None], Photo] = {}
_OPEN_BYTES = 300_000_000
"""Of open photos beside one more."""
LEAST_SIDE = 8.0
"""Pixels of the photo: the smallest place that is read."""
Box = tuple[float, float, float, float]


Taken = ParamSpec("Taken")
Made = TypeVar("Made")


def one_at_a_time(look: Callable[Taken, Made]) -> Callable[Taken, Made]:
    """What holds decoded photos, so that never two requests hold theirs."""

    @wraps(look)
    def waiting(*args: Taken.args, **kwargs: Taken.kwargs) -> Made:
        with DECODING:
            return look(*args, **kwargs)

    return waiting


@dataclass(frozen=True, slots=True)
class Places:
    """Where what lies in a photo, x, y, width, height in its pixels. opened: bare panel. dark: black card."""

    chips: Mapping[str, Box]
    opened: tuple[Box, ...] = ()
    dark: tuple[Box, ...] = ()


def keep_photo(workspace: Workspace, name: str, stream: IO[bytes]) -> dict[str, Any]:
    """An uploaded photo, kept, and a small copy to show. Raises FileProblem, LibraryMissing."""
    thing = workspace.keep_content(stream)
    try:
        return _kept(workspace, thing, name)
    except TintmixError:
        workspace.file(thing).unlink(missing_ok=True)
        raise


@one_at_a_time
def _kept(workspace: Workspace, thing: str, name: str) -> dict[str, Any]:
    photo = opened(workspace, {"thing": thing, "name": name})
    return {
        "thing": thing,
        "name": name,
        "width": photo.width,
        "height": photo.height,
        "together": photo.together,
        "rendered": photo.rendered,
        "open": photo.tones_open,
        "shown": workspace.keep_content(_small(photo)),
        # What is asked of a photo whose file says nothing of its curve, the photo may answer.
        "warnings": [to_table(one) for one in photo.warnings if not (photo.tones_open and _is_of_tones(one))],
    }


def _is_of_tones(said: Note | str) -> bool:
    return isinstance(said, Note) and said.remedy is Remedy.SAY_LINEAR


@one_at_a_time
def holder_in(workspace: Workspace, photo: Mapping[str, Any], panel: Mapping[str, Any] | None) -> dict[str, Any]:
    """What the photo shows of the holder sheet, as the page keeps it: found; and, where it is, marks, aslant_degrees, windows
    (name → corners in pixels), filled (name → "#rrggbb", or None where it cannot be read), dark, rendered, notes;
    else says, why not.
    """
    here = opened(workspace, photo)
    try:
        seen = look_for_holder(here, None if panel is None else opened(workspace, panel))
    except NotThesePhotos:
        raise
    except TintmixError as problem:
        return {"found": False, "says": to_table(Note(says=str(problem), remedy=problem.remedy, facts=problem.facts))}
    return {
        "found": True,
        "marks": seen.marks,
        "aslant_degrees": seen.aslant_degrees,
        "windows": {name: np.round(corners, 1).tolist() for name, corners in seen.outlines.items()},
        "filled": {name: None if v is None else hex_of_parts(np.clip(v, 0.0, None)) for name, v in seen.filled.items()},
        "dark": list(seen.dark),
        "rendered": seen.photo.rendered,
        "open": seen.photo.tones_open,
        "notes": [to_table(note) for note in seen.notes],
    }


def said(kept: Any) -> Note | str:
    """A note, or a sentence, as it was before it was kept."""
    return kept if isinstance(kept, str) else with_notes(kept)


def _small(photo: Any) -> bytes:
    """The photo as a PNG, at most SHOWN_PIXELS wide and high; a raw one with the panel's light as white."""
    from PIL import Image

    step = max(1, -(-max(photo.width, photo.height) // (2 * SHOWN_PIXELS)))
    codes = photo.codes[::step, ::step]
    if codes.dtype != np.uint8:
        light = photo.light(codes)
        light = np.clip(light / max(float(np.percentile(light, 99.5)), 1e-6), 0.0, 1.0)
        codes = np.rint(255 * encoded(light)).astype(np.uint8)
    picture = Image.fromarray(np.ascontiguousarray(codes))
    picture.thumbnail((SHOWN_PIXELS, SHOWN_PIXELS))
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def checked_box(box: Sequence[float], photo: Mapping[str, Any], what: str) -> Box:
    """A place that lies in the photo. Raises ValueProblem."""
    x, y, width, height = box
    inside = x >= 0 and y >= 0 and x + width <= photo["width"] + 0.5 and y + height <= photo["height"] + 0.5
    if not inside or min(width, height) < LEAST_SIDE:
        raise not_typed(
            what,
            f"{numeral(x)}, {numeral(y)}, {numeral(width)}, {numeral(height)}",
            f"It is left, top, width and height in pixels, within {photo['width']} × {photo['height']}, "
            f"at least {numeral(LEAST_SIDE)} wide and high.",
        )
    return (x, y, width, height)


def _make_room() -> None:
    while _OPENED and sum(one.codes.nbytes for one in _OPENED.values()) > _OPEN_BYTES:
        del _OPENED[next(iter(_OPENED))]


def opened(workspace: Workspace, photo: Mapping[str, Any], linear: bool | None = None) -> Photo:
    """A kept photo: a place in it is looked at again and again while it is drawn, so that the last ones stay open."""
    key = workspace.file(str(photo["thing"])), linear
    if key not in _OPENED:
        _make_room()
        _OPENED[key] = open_photo(key[0], str(photo["name"]), linear=linear)
    return _OPENED[key]


def close_all() -> None:
    """Let go of the photos that stand open, before others are opened."""
    _OPENED.clear()


def picture_of(workspace: Workspace, photo: Mapping[str, Any]) -> tuple[str, Path]:
    """A kept photo, as the desk takes it."""
    return str(photo["name"]), workspace.file(str(photo["thing"]))


def box_said(box: Sequence[float]) -> str:
    """A place, as the desk takes it."""
    return ",".join(f"{value:.1f}" for value in box)


def hex_of_parts(light: Array) -> str:
    """Linear light (3,), as parts of what is white, as "#rrggbb"."""
    return Screen(encoded(np.clip(light, 0.0, 1.0)), np.array(True)).hex[0]
