"""Readings of chips from a photo on a light panel: each channel as a part of what it reads of the bare panel there.

reading = (chip − dark) / (bare − dark'), over the same of the open windows: `dark` is the glare that a blocked window
beside the chip shows, `bare` the panel without chips in a second photo, `dark'` the glare in that one; the open windows
cancel what exposure and panel did between the two. Without a second photo a smooth surface through the open windows, or
through the panel around the chips, stands for the panel. What simulations of it gave: design notes, readings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from tintmix.chips.photo import judge
from tintmix.chips.photo.errors import BadRegions, NoPanel
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.glare import Glare
from tintmix.chips.photo.region import INSET, Patch, Rectangle, take
from tintmix.chips.photo.shape import Surface, around, same_panel
from tintmix.chips.photo.sheet.holder import WINDOWS, Window, chip_window, window
from tintmix.chips.photo.sheet.marks import FoundSheet, find_sheet
from tintmix.errors import FileProblem, Note, Remedy, TintmixError
from tintmix.optics.spectrum import Array

CENSORED_BELOW = 0.01
"""A rendered photo's channel below it only says that little came through."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceReading:
    """One place. values: (3,) parts of the bare panel. spread: (3,) of its pixels, relative. middle: (2,) in pixels."""

    name: str
    values: Array
    spread: Array
    middle: Array
    notes: tuple[str, ...] = ()

    @property
    def empty(self) -> bool:
        """Whether the place reads as the bare panel; a clear chip's two faces alone take 8 % of the light."""
        return bool(np.all(self.values > judge.EMPTY_ABOVE))


@dataclass(frozen=True, slots=True, eq=False)
class PhotoReading:
    """What a photo gave. places: by name. glare: (3,) of the dark reference, as a part of the panel; None where there is none."""

    places: Mapping[str, PlaceReading]
    rendered: bool
    glare: Array | None
    sheet: FoundSheet | None = None
    warnings: tuple[Note | str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """The patches of a photo and, where there is one, of the panel's photo at the same places."""

    photo: Photo
    panel: Photo | None
    chips: dict[str, tuple[Patch, Patch | None]]
    opened: dict[str, tuple[Patch, Patch | None]]
    dark: dict[str, tuple[Patch, Patch | None]]
    sheet: FoundSheet | None = None
    warnings: list[Note | str] = field(default_factory=list)


def gather_rectangles(
    photo: Photo,
    chips: Mapping[str, Rectangle],
    panel: Photo | None = None,
    opened: Sequence[Rectangle] = (),
    dark: Sequence[Rectangle] = (),
) -> Gathered:
    """The patches of chips in rectangles of a photo, and of the same ones in the panel's. panel: the same view without chips.
    opened: where the bare panel shows, dark: where black card does. Raises ValueProblem, FileProblem.
    """
    told = judge.check_panel(photo, panel)

    def both(box: Rectangle, name: str) -> tuple[Patch, Patch | None]:
        where = f"{photo.name}: {name}"
        here = take(photo, box.corners, where, INSET)
        return here, None if panel is None else take(panel, box.corners, f"{where} in {panel.name}", INSET)

    def numbered(what: str, boxes: Sequence[Rectangle]) -> dict[str, tuple[Patch, Patch | None]]:
        return {f"{what} {i}": both(box, f"{what} {i}") for i, box in enumerate(boxes, 1)}

    return Gathered(
        photo,
        panel,
        {name: both(box, name) for name, box in chips.items()},
        numbered("open place", opened),
        numbered("dark place", dark),
        warnings=told,
    )


def gather_holder(
    photo: Photo, panel: Photo | None = None, wanted: Mapping[str, str] | None = None, sheet: FoundSheet | None = None
) -> Gathered:
    """The patches of the windows of the holder sheet in a photo. panel: the same sheet, the chips taken off.

    wanted: name of a chip → window, where not all are to be read; the places are then called by the chips. sheet: where it
    was found already. Raises FileProblem, ValueProblem.
    """
    told = judge.check_panel(photo, panel, same_size=False)
    sheet = sheet or find_sheet(photo)
    told += judge.seen_from(sheet)
    bare = None if panel is None else _sheet_of_panel(panel)
    if wanted is None:
        places = {one.name: one for one in WINDOWS if one.role in ("chip", "check")}
    else:
        places = {name: window(chip_window(where, name)) for name, where in wanted.items()}

    def both(one: Window) -> tuple[Patch, Patch | None]:
        here = take(photo, sheet.pixels(one.corners_mm), f"{photo.name}: {one.place}")
        if panel is None or bare is None:
            return here, None
        return here, take(panel, bare.pixels(one.corners_mm), f"{panel.name}: {one.place}")

    chips = {name: both(one) for name, one in places.items()}
    opened, dark = ({one.place: both(one) for one in WINDOWS if one.role == role} for role in ("open", "blocked"))
    for side, picture in enumerate((photo, panel)):
        if picture is not None:
            judge.check_windows(picture.name, *({k: pair[side] for k, pair in one.items()} for one in (opened, dark)))
    judge.check_not_exchanged(photo, panel, chips, opened)
    return Gathered(photo, panel, chips, opened, dark, sheet, told)


def _sheet_of_panel(panel: Photo) -> FoundSheet:
    """Where the sheet is in the panel's photo. Raises FileProblem."""
    try:
        return find_sheet(panel)
    except TintmixError as error:
        what = f"the holder sheet was not found in the photo of the panel ({str(error).rstrip('.')})"
        raise FileProblem(where=panel.name, what=what, remedy=Remedy.SHEET_IN_PLACE) from None


def read_gathered(gathered: Gathered, skip_empty: bool = False) -> PhotoReading:
    """Ratios from the patches, judged. skip_empty: leaves out places that read as the bare panel.

    Raises BadRegions (all that cannot be read at once), NoPanel, and FileProblem where the two photos do not belong together.
    """
    photo, panel = gathered.photo, gathered.panel
    told = list(gathered.warnings)
    problems: list[Note | str] = [*judge.levels(photo, panel, gathered.opened, gathered.dark)]
    if problems:
        # What the chips would read then is no news of them.
        raise BadRegions(photo.name, problems)
    glare, bare_glare = glare_of(gathered)
    bare = _bare(gathered, glare, bare_glare, told)
    places: dict[str, PlaceReading] = {}
    level = 0.0
    for name, (here, there) in gathered.chips.items():
        panel_light = bare(here, there)
        level = max(level, float(panel_light.max()))
        if panel is not None and there is not None and not gathered.opened:
            unlit = judge.exposure(f"{name} in {panel.name}", there)
            if unlit:
                problems += unlit
                continue
        values = (here.mean - glare.at(here.middle)) / np.maximum(panel_light, 1e-9)
        if skip_empty and np.all(values > judge.EMPTY_ABOVE):
            continue
        cell_light = panel_light if there is None else there.cells / np.maximum(there.mean, 1e-9) * panel_light
        cells = (here.cells - glare.at(here.cell_middles)) / np.maximum(cell_light, 1e-9)
        notes: list[str] = []
        wrong = judge.unreadable(photo, name, here, values, cells, glare.known, notes)
        problems += [] if wrong is None else [wrong]
        if photo.rendered:
            values = np.maximum(values, 0.0)
        places[name] = PlaceReading(name, values, here.spread / np.maximum(here.mean, 1e-9), here.middle, tuple(notes))
    if not problems and gathered.chips:
        problems += judge.too_short(photo.name, level)
    if problems:
        raise BadRegions(photo.name, list(dict.fromkeys(problems)))
    share = None
    if glare.known and places:
        middles = np.array([one.middle for one in places.values()])
        lights = np.array([bare(*gathered.chips[name]) for name in places])
        share = np.asarray((glare.at(middles) / lights).mean(axis=0))
        told += judge.glare(share)
    told += [f"{name}: {note}" for name, one in places.items() for note in one.notes]
    return PhotoReading(places, photo.rendered, share, gathered.sheet, (*photo.warnings, *told))


def glare_of(gathered: Gathered) -> tuple[Glare, Glare]:
    """The dark reference over the photo, and over the panel's where the same places are dark there too."""
    glare = Glare(gathered.photo, [here for here, _ in gathered.dark.values()])
    if gathered.panel is None or not glare.known:
        return glare, Glare(gathered.photo, [])
    bare = [there for _, there in [*gathered.opened.values(), *gathered.chips.values()] if there is not None]
    darkest = judge.DARK_MOST * max(float(patch.mean.sum()) for patch in bare)
    # Where the card was taken away with the chips, the panel's photo is bright all over and its glare a level part of it.
    there = [patch for _, patch in gathered.dark.values() if patch is not None and patch.mean.sum() < darkest]
    return glare, Glare(gathered.panel, there)


def _bare(
    gathered: Gathered, glare: Glare, bare_glare: Glare, told: list[Note | str]
) -> Callable[[Patch, Patch | None], Array]:
    """The light of the bare panel, glare left out, at a place of the photo with the chips. What is to be said of it: told."""
    photo, panel = gathered.photo, gathered.panel
    opened = list(gathered.opened.values())
    chips = [here for here, _ in gathered.chips.values()]
    lights = [here.mean - glare.at(here.middle) for here, _ in opened]
    if panel is None:
        if opened:
            told.append(judge.FEW_OPEN if len(opened) < 4 else judge.BETWEEN_OPEN)
            surface = Surface(np.array([here.middle for here, _ in opened]), np.array(lights), photo)
        else:
            surface, off = around(photo, [here.corners for here in chips], glare)
            if any(here.mean.sum() > judge.ABOVE_PANEL * surface.at(here.middle).sum() for here in chips):
                raise NoPanel(photo.name, "what shows around the chips is darker than they are, and is no bare panel")
            told.append(judge.laid_through(off))
        return lambda here, there: surface.at(here.middle)

    def seen(there: Patch | None) -> Array:
        assert there is not None
        return np.asarray(there.mean - bare_glare.at(there.middle))

    scale = np.ones(3)
    if opened:
        bares = np.array([seen(there) for _, there in opened])
        ratios = np.array(lights) / np.maximum(bares, 1e-9)
        told += judge.drift(ratios, panel)
        scale = ratios.mean(axis=0)
    else:
        try:
            scale = same_panel(photo, panel, [here.corners for here in chips], glare, bare_glare)
            told += judge.drift(scale[None], panel)
        except NoPanel:
            told += judge.untied(photo, panel)
    return lambda here, there: np.asarray(seen(there) * scale)
