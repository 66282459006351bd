"""Chips in a photo on the page: read at the places that were clicked or keyed, or in the windows of the holder sheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from tintmix.chips.photo import reading as reader
from tintmix.chips.photo.errors import BadRegions
from tintmix.chips.photo.region import Rectangle
from tintmix.chips.photo.tones import settled
from tintmix.desk.read.photo import read_photos
from tintmix.desk.read.shots import PhotoOrder
from tintmix.errors import Note, TintmixError
from tintmix.optics.spectrum import Array
from tintmix.page.chips.kept_photo import (
    DECODING,
    MOST_PLACES,
    Places,
    box_said,
    close_all,
    hex_of_parts,
    one_at_a_time,
    opened,
    picture_of,
)
from tintmix.page.errors import needs_first, too_many
from tintmix.page.workspace import Workspace

if TYPE_CHECKING:
    from tintmix.chips.photo.frame import Photo


def read_chips_in_photo(
    workspace: Workspace,
    entry: Mapping[str, Any],
    photo: Mapping[str, Any],
    panel: Mapping[str, Any] | None,
    places: Places | None,
    replace_old: bool,
    laid: Mapping[str, str] | None = None,
    foreseen: Mapping[str, str] | None = None,
    exchanged: Mapping[str, str] | None = None,
    as_laid: bool = False,
    linear: bool | None = None,
    correct_drift: bool = False,
) -> tuple[str, dict[str, Any]]:
    """Readings of a photo into a copy of a set: its name, and the body of the answer.

    places: None looks for the holder sheet, in whose windows the chips lie as laid (window → chip) says. foreseen: how chips
    should look, by the set's plan. exchanged: chips that lie in each other's place; as_laid: none does, though some look so.
    linear: whether it holds light without a curve; None: as it says or shows. correct_drift: by what check chips tell. Raises
    NotThere, ValueProblem, and what is wrong with the photo.
    """
    thing, folder = workspace.copy_set(entry["thing"])
    lies = exchanged or {}
    mapping: tuple[str, ...] = ()
    if places is None:
        mapping = tuple(f"{window}={lies.get(chip, chip)}" for window, chip in (laid or {}).items())
    elif not places.chips:
        raise needs_first("Reading the photo", "the place of a chip in it")
    elif len(places.chips) > MOST_PLACES:
        raise too_many("places", len(places.chips), MOST_PLACES)
    where = places or Places({})
    order = PhotoOrder(
        photos=(picture_of(workspace, photo),),
        panels=() if panel is None else (picture_of(workspace, panel),),
        at=tuple(f"{lies.get(chip, chip)}={box_said(box)}" for chip, box in where.chips.items()),
        opened=tuple(map(box_said, where.opened)),
        dark=tuple(map(box_said, where.dark)),
        mapping=mapping,
        linear=linear,
    )
    sure = as_laid or bool(lies)
    with DECODING:
        close_all()
        done = read_photos(
            folder, order, replace_old=replace_old, correct_drift=correct_drift, others_ignored=places is None,
            as_laid=sure, foreseen=foreseen,
        )  # fmt: skip
    return thing, done.body


@one_at_a_time
def places_seen(
    workspace: Workspace,
    photo: Mapping[str, Any],
    panel: Mapping[str, Any] | None,
    places: Places,
    linear: bool | None = None,
) -> dict[str, Any]:
    """What each place reads as it stands, with nothing kept, and what is doubtful: by the same rules as the reading itself.

    The body: seen, by the chip, or by "open place 1", "dark place 1" and so on, {"srgb", "values" (parts of the bare
    panel, or None where that is not known), "doubt"}; says, the error that kept the photo from being read.
    """
    try:
        here = opened(workspace, photo, linear)
        bare = None if panel is None else opened(workspace, panel, linear)
        found = _gathered(here, bare, places)
    except TintmixError as problem:
        return {"seen": {}, "says": problem}
    as_shown = _as_shown(found.photo)
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
                seen[name] = {"srgb": hex_of_parts(values), "values": rounded, "doubt": "; ".join(place.notes)}
            break
    return {"seen": seen, "says": ""}


def _gathered(photo: Photo, panel: Photo | None, places: Places) -> Any:
    chips = {name: Rectangle(*box) for name, box in places.chips.items()}
    lit, dark = ([Rectangle(*box) for box in boxes] for boxes in (places.opened, places.dark))
    photo, panel = settled(
        photo, panel, [box.inner.corners for box in lit], [box.inner.corners for box in chips.values()]
    )
    return reader.gather_rectangles(photo, chips, panel, lit, dark)


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
    return lambda light: hex_of_parts(light / top)
