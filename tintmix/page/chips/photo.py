"""A photo on the page: kept as it came, shown small, and read at the places that were clicked or keyed.

What is shown and what is read are one and the same upright copy in sRGB, so a click means the pixel under it.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, ParamSpec, TypeVar

import numpy as np

from tintmix.chips.folder import read_chips
from tintmix.chips.photo import reading as reader
from tintmix.chips.photo.errors import BadRegions
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.region import Rectangle
from tintmix.desk.read.layout import holder_for
from tintmix.desk.read.photo import read_photos
from tintmix.desk.read.shots import PhotoOrder
from tintmix.desk.read.things import things_in
from tintmix.errors import FileProblem, Note, Remedy, TintmixError, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.colour import Screen, encoded
from tintmix.optics.spectrum import Array
from tintmix.page.chips.sets import camera_lab
from tintmix.page.errors import needs_first, not_typed, too_many
from tintmix.page.workspace import Workspace

if TYPE_CHECKING:
    from tintmix.chips.photo.frame import Photo
    from tintmix.pigments.model import TintModel

SHOWN_PIXELS = 1400
"""The longer side of the picture that is shown; what is read is the photo itself."""
MOST_PLACES = 60
DECODING = threading.RLock()
"""Photos are decoded one at a time, whoever asks: one of 64 million pixels of 16 bits takes 0.4 GB, and more meanwhile."""
_OPENED: dict[Path, Photo] = {}
_OPEN_BYTES = 300_000_000
"""Of open photos beside one more."""
LEAST_SIDE = 8.0
"""Pixels of the photo: the smallest place that is read."""
Box = tuple[float, float, float, float]


Taken = ParamSpec("Taken")
Made = TypeVar("Made")


def _one_at_a_time(look: Callable[Taken, Made]) -> Callable[Taken, Made]:
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


@_one_at_a_time
def _kept(workspace: Workspace, thing: str, name: str) -> dict[str, Any]:
    _make_room()
    photo = open_photo(workspace.file(thing), name)
    return {
        "thing": thing,
        "name": name,
        "width": photo.width,
        "height": photo.height,
        "rendered": photo.rendered,
        "shown": workspace.keep_content(_small(photo)),
        "warnings": [str(warning) for warning in photo.warnings],
    }


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


def read_chips_in_photo(
    workspace: Workspace,
    entry: Mapping[str, Any],
    photo: Mapping[str, Any],
    panel: Mapping[str, Any] | None,
    places: Places | None,
    replace_old: bool,
    photo_number: int = 1,
    foreseen: Mapping[str, str] | None = None,
    exchanged: Mapping[str, str] | None = None,
    as_laid: bool = False,
    linear: bool | None = None,
) -> tuple[str, dict[str, Any]]:
    """Readings of a photo into a copy of a set: its name, and the body of the answer.

    places: None looks for the holder sheet, its chips laid as the sheet for this set says. foreseen: how chips should look, by
    the set's plan. exchanged: chips that lie in each other's place; as_laid: none does, though some look so. linear: whether it
    holds light without a curve; None: as it says or shows. Raises NotThere, ValueProblem, and what is wrong with the photo.
    """
    thing, folder = workspace.copy_set(entry["thing"])
    lies = exchanged or {}
    mapping: tuple[str, ...] = ()
    if places is None:
        laid = holder_for(read_chips(folder), foreseen)
        if not 1 <= photo_number <= len(laid):
            raise not_typed("which photo", str(photo_number), f"The set's holder sheets are 1 to {len(laid)}.")
        mapping = tuple(f"{window}={lies.get(chip, chip)}" for window, chip in laid[photo_number - 1].items())
    elif not places.chips:
        raise needs_first("Reading the photo", "the place of a chip in it")
    elif len(places.chips) > MOST_PLACES:
        raise too_many("places", len(places.chips), MOST_PLACES)
    where = places or Places({})
    order = PhotoOrder(
        photos=(_picture(workspace, photo),),
        panels=() if panel is None else (_picture(workspace, panel),),
        at=tuple(f"{lies.get(chip, chip)}={_said(box)}" for chip, box in where.chips.items()),
        opened=tuple(map(_said, where.opened)),
        dark=tuple(map(_said, where.dark)),
        mapping=mapping,
        linear=linear,
    )
    sure = as_laid or bool(lies)
    with DECODING:
        _OPENED.clear()
        done = read_photos(
            folder, order, replace_old=replace_old, others_ignored=places is None, as_laid=sure, foreseen=foreseen
        )
    return thing, done.body


def thing_in_photo(
    workspace: Workspace,
    model: TintModel | None,
    photo: Mapping[str, Any],
    places: Places,
    name: str,
    linear: bool | None,
) -> tuple[list[float] | None, list[float] | None, list[str]]:
    """What the place of that name reads: channels by the camera that read the model's chips, where it is that camera; else, of a
    JPEG, L*a*b* as `colour_in_photo` has it; and what is to be said. Raises what is wrong with photo and places.
    """
    if model is not None and model.camera_weights is not None:
        order = PhotoOrder(
            photos=(_picture(workspace, photo),),
            opened=tuple(map(_said, places.opened)),
            dark=tuple(map(_said, places.dark)),
            linear=linear,
        )
        try:
            with DECODING:
                found = things_in(model, order, {name: _said(places.chips[name])})
        except ValueProblem as problem:
            if problem.remedy not in (Remedy.PHOTO_AS_THE_CHIPS, Remedy.CHECK_CHIPS_FIRST) or not photo["rendered"]:
                raise
        else:
            return found.values[name].tolist(), None, [str(note) for note in found.notes]
    return None, list(colour_in_photo(workspace, photo, places, name)), []


@_one_at_a_time
def colour_in_photo(
    workspace: Workspace, photo: Mapping[str, Any], places: Places, name: str
) -> tuple[float, float, float]:
    """L*a*b* (D65) of the place of that name in a photo against the bare panel beside it.

    The channels are taken as linear sRGB, a part of the panel's: a rough colour, as good as the photo's processing. Raises
    what is wrong with the places, and FileProblem for a raw photo.
    """
    opened = _opened(workspace, photo)
    if not opened.rendered:
        what = "it is raw, and the colours of its channels are not known"
        raise FileProblem(where=opened.name, what=what, remedy=Remedy.GIVE_THE_JPEG)
    return camera_lab(reader.read_gathered(_gathered(opened, None, places)).places[name].values)[0]


def _make_room() -> None:
    while _OPENED and sum(one.codes.nbytes for one in _OPENED.values()) > _OPEN_BYTES:
        del _OPENED[next(iter(_OPENED))]


def _opened(workspace: Workspace, photo: Mapping[str, Any]) -> Photo:
    """A kept photo: a place in it is looked at again and again while it is drawn, so that the last ones stay open."""
    path = workspace.file(str(photo["thing"]))
    if path not in _OPENED:
        _make_room()
        _OPENED[path] = open_photo(path, str(photo["name"]))
    return _OPENED[path]


@_one_at_a_time
def places_seen(
    workspace: Workspace, photo: Mapping[str, Any], panel: Mapping[str, Any] | None, places: Places
) -> dict[str, Any]:
    """What each place reads as it stands, with nothing kept, and what is doubtful: by the same rules as the reading itself.

    The body: seen, by the chip, or by "open place 1", "dark place 1" and so on, {"srgb", "values" (parts of the bare
    panel, or None where that is not known), "doubt"}; says, the error that kept the photo from being read.
    """
    here, bare = _opened(workspace, photo), None if panel is None else _opened(workspace, panel)
    try:
        found = _gathered(here, bare, places)
    except TintmixError as problem:
        return {"seen": {}, "says": problem}
    as_shown = _as_shown(here)
    seen: dict[str, dict[str, Any]] = {
        name: {"srgb": as_shown(patch.mean), "values": None, "doubt": ""}
        for name, (patch, _) in (found.opened | found.dark | found.chips).items()
    }
    left = dict(found.chips) if bare is not None or found.opened else {}
    while left:
        try:
            answer = reader.read_gathered(replace(found, chips=left, warnings=[]))
        except BadRegions as problem:
            _put_beside(problem.problems, seen)
            fine = {name: patch for name, patch in left.items() if not seen[name]["doubt"]}
            if len(fine) == len(left):
                return {"seen": seen, "says": problem}
            left = fine
        except TintmixError as problem:
            return {"seen": seen, "says": problem}
        else:
            for name, place in answer.places.items():
                values = np.clip(place.values, 0.0, None)
                rounded = [round(float(v), 4) for v in values]
                seen[name] = {"srgb": _hex_of_parts(values), "values": rounded, "doubt": "; ".join(place.notes)}
            break
    return {"seen": seen, "says": ""}


def _gathered(photo: Photo, panel: Photo | None, places: Places) -> Any:
    chips = {name: Rectangle(*box) for name, box in places.chips.items()}
    opened, dark = ([Rectangle(*box) for box in boxes] for boxes in (places.opened, places.dark))
    return reader.gather_rectangles(photo, chips, panel, opened, dark)


def _put_beside(problems: Sequence[Note | str], seen: dict[str, dict[str, Any]]) -> None:
    """Put what is wrong beside the place that it is of."""
    for sentence in problems:
        name, _, reason = str(sentence).partition(": ")
        if name in seen:
            seen[name]["doubt"] = replace(sentence, says=reason) if isinstance(sentence, Note) else reason


def _as_shown(photo: Photo) -> Callable[[Array], str]:
    """Light of a photo as "#rrggbb"; of a raw one its brightest place is white, as in the small copy."""
    top = 1.0
    if not photo.rendered:
        step = max(1, max(photo.width, photo.height) // 400)
        top = max(float(np.percentile(photo.light(photo.codes[::step, ::step]), 99.5)), 1e-6)
    return lambda light: _hex_of_parts(light / top)


def _hex_of_parts(light: Array) -> str:
    return Screen(encoded(np.clip(light, 0.0, 1.0)), np.array(True)).hex[0]


def _picture(workspace: Workspace, photo: Mapping[str, Any]) -> tuple[str, Path]:
    return str(photo["name"]), workspace.file(str(photo["thing"]))


def _said(box: Sequence[float]) -> str:
    return ",".join(f"{value:.1f}" for value in box)
