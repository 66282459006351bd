"""Photos as they were ordered: opened one at a time, each with its panel's, and what lies in them read."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

from tintmix.chips.photo.curve import ToneCurve, read_tone_curve
from tintmix.chips.photo.errors import BadRegions
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.reading import Gathered, gather_holder, gather_rectangles, read_gathered
from tintmix.chips.photo.region import Patch, Rectangle, rectangle
from tintmix.chips.photo.sheet.marks import find_sheet
from tintmix.chips.photo.tones import settled
from tintmix.desk.read.layout import check_apart
from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import counted
from tintmix.optics.spectrum import Array

Made = TypeVar("Made")
Picture = str | os.PathLike[str] | tuple[str, bytes] | tuple[str, os.PathLike[str]]
"""A photo's path, or its name and its bytes or path."""
MOST_PHOTOS = 12
"""Of one go: a holder sheet for each of 190 chips, or as many repeats as average anything away."""
_COVERED = 0.5
"""Of the panel's light: no panel falls off so far from its middle to its rim that is fit to read chips on."""
DARK_PART = 0.05
"""A window that holds no chip and reads below this part of the panel was covered, which is as good as empty."""


@dataclass(frozen=True, slots=True)
class PhotoOrder:
    """What was photographed. photos: of the same chips in the same places; more than one are repeats. panels: none, one for
    all, or one for each photo. at: "CHIP=x,y,w,h" in pixels; without any, the holder sheet is looked for. opened, dark:
    "x,y,w,h" where the bare panel, where black card shows. mapping: "WINDOW=CHIP". number: which photo of holder.csv. curve: a
    tone curve's file. linear: whether PNGs and TIFFs hold linear camera channels, as a raw converter writes them; None: as they
    say, or show.
    """

    photos: tuple[Picture, ...]
    panels: tuple[Picture, ...] = ()
    at: tuple[str, ...] = ()
    opened: tuple[str, ...] = ()
    dark: tuple[str, ...] = ()
    mapping: tuple[str, ...] = ()
    number: int | None = None
    curve: str | os.PathLike[str] | None = None
    linear: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What is to be told of a photo once its pixels are gone. panel: the name of its bare panel's, or empty."""

    name: str
    rendered: bool
    tone_curve: str | None
    taken_with: str
    form: str
    panel: str


def seen(gathered: Gathered) -> Seen:
    """What is kept of a photo that was read."""
    photo, panel = gathered.photo, gathered.panel
    wide, high = (photo.together * side for side in (photo.width, photo.height))
    return Seen(
        name=photo.name,
        rendered=photo.rendered,
        tone_curve=None if photo.curve is None else photo.curve.name,
        taken_with=photo.taken_with,
        form=f"{'rendered' if photo.rendered else 'raw'} photo, {wide} × {high} pixels",
        panel="" if panel is None else panel.name,
    )


def uneven(gathered: Gathered, chip_of: Mapping[str, str]) -> dict[str, float]:
    """How far the nine parts of each place differ, relative, one standard deviation, of channels above 2 % of the panel."""
    out = {}
    for said, chip in chip_of.items():
        here, there = gathered.chips[said]
        cells = here.cells if there is None else here.cells / np.maximum(there.cells, 1e-9)
        flat = cells.reshape(-1, 3)
        level = flat.mean(axis=0)
        seen = here.mean > 0.02 * bare_level(gathered, there)
        part = flat[:, seen] / np.maximum(level[seen], 1e-9)
        out[chip] = float(np.sqrt(part.var(axis=0, ddof=1).mean())) if seen.any() else 0.0
    return out


def bare_level(gathered: Gathered, there: Patch | None) -> Any:
    """The bare panel's light (3,) at a place, or about the photo where no second one shows it."""
    if there is not None:
        return there.mean
    opened = [patch.mean for patch, _ in gathered.opened.values()]
    return np.median(opened, axis=0) if opened else np.max([patch.mean for patch, _ in gathered.chips.values()], axis=0)


def called(picture: Picture) -> str:
    """A photo's name, before it is opened."""
    return plain(picture[0] if isinstance(picture, tuple) else os.fspath(picture), 300)


def check_order(order: PhotoOrder) -> None:
    """That the options go together. Raises ValueProblem."""
    if not order.photos:
        raise ValueProblem(what="no photo is named", remedy=Remedy.NAME_THE_PHOTOS)
    if len(order.photos) > MOST_PHOTOS:
        what = f"{len(order.photos)} photos are named, and at most {MOST_PHOTOS} are read in one go"
        raise ValueProblem(what=what, remedy=Remedy.FEWER_PHOTOS)
    twice = [picture for i, picture in enumerate(order.photos) if picture in order.photos[:i]]
    if twice:
        said = twice[0][0] if isinstance(twice[0], tuple) else os.fspath(twice[0])
        raise ValueProblem(
            where=plain(said, 100),
            what="this photo is named twice; a repeat is another photo of the same chips, so leave one out",
        )
    if len(order.panels) not in (0, 1, len(order.photos)):
        raise ValueProblem(
            what=f"{counted(len(order.panels), 'photo')} of the bare panel for {counted(len(order.photos), 'photo')} of chips; "
            "give one for all, or one for each",
        )
    if not order.at and (order.opened or order.dark):
        given = "bare panel" if order.opened else "black card"
        raise ValueProblem(
            what=f"places of {given} are named and none of a chip; the holder sheet has its own open and black windows",
            remedy=Remedy.NAME_CHIPS_PLACES,
        )
    if order.at and (order.mapping or order.number is not None):
        raise ValueProblem(
            what="what lies in the holder sheet is told, and the chips' places in the photo are named already",
            remedy=Remedy.PLACES_OR_WINDOWS,
        )


def each(order: PhotoOrder, use: Callable[[Photo, Photo | None], Made]) -> list[Made]:
    """What `use` makes of each photo and the one of its bare panel; no more than two photos stand in memory at once.

    Raises what `open_photo`, `read_tone_curve` and `use` raise, FileProblem.
    """
    curve = None if order.curve is None else read_tone_curve(str(order.curve))
    panel = _open(order.panels[0], curve, order.linear) if len(order.panels) == 1 else None
    made: list[Made] = []
    first = ("", "")
    for i, picture in enumerate(order.photos):
        if len(order.panels) > 1:
            panel = None  # Let go of the one before it first.
            panel = _open(order.panels[i], curve, order.linear)
        photo = _open(picture, curve, order.linear)
        with_panel = ("", "") if panel is None else (panel.name, panel.taken_with)
        for name, other in (with_panel, first):
            if other and photo.taken_with and other != photo.taken_with:
                what = f"it was taken with {photo.taken_with}, and {name} with {other}"
                raise FileProblem(where=photo.name, what=what, remedy=Remedy.TAKE_BOTH_ALIKE)
        first = first if first[1] else (photo.name, photo.taken_with)
        made.append(use(photo, panel))
        del photo
    return made


def gather(order: PhotoOrder, photo: Photo, panel: Photo | None, places: Mapping[str, Rectangle]) -> Gathered:
    """The patches of a photo: of the named places, or without any of the windows of the holder sheet; with the curve that the
    photo itself shows where its file says nothing. Raises FileProblem, ValueProblem.
    """
    if not places:
        sheet = find_sheet(photo)
        photo, panel = settled(photo, panel, (), (), sheet)
        return gather_holder(photo, panel, sheet=sheet)
    bare, dark = [rectangle(t) for t in order.opened], [rectangle(t) for t in order.dark]
    check_apart(places, bare, dark)
    photo, panel = settled(
        photo, panel, [box.inner.corners for box in bare], [box.inner.corners for box in places.values()]
    )
    return gather_rectangles(photo, places, panel, bare, dark)


def filled(gathered: Gathered, places: Sequence[str]) -> dict[str, Array | None]:
    """Those of the windows in which a chip lies, or whatever else lets some light through, with what it reads (3,), as parts of
    the bare panel; None where it cannot be read."""
    if not places:
        return {}
    named = {place: gathered.chips[place] for place in places}
    try:
        found = read_gathered(replace(gathered, chips=named), skip_empty=True)
    except BadRegions:
        if len(places) > 1:
            half = len(places) // 2
            return filled(gathered, places[:half]) | filled(gathered, places[half:])
        here, there = gathered.chips[places[0]]
        lit = np.any(here.mean > DARK_PART * bare_level(gathered, there))
        return dict.fromkeys(places, None) if lit else {}
    return {name: one.values for name, one in found.places.items() if np.any(one.values > DARK_PART)}


def covered(gathered: Gathered, place: str) -> bool:
    """Whether a window is dark against the bare panel, whatever lies there."""
    here, there = gathered.chips[place]
    return bool(here.mean.sum() < _COVERED * bare_level(gathered, there).sum())


def _open(picture: Picture, curve: ToneCurve | None, linear: bool | None) -> Photo:
    name, source = picture if isinstance(picture, tuple) else ("", picture)
    return open_photo(source, name, curve=curve, linear=linear)
