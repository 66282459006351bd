"""Readings of chips from a photo on a light panel: each channel as a part of what it reads of the bare panel there.

reading = (chip − dark) / (bare − dark'), over the same of the open windows: `dark` is the glare that a blocked window
beside the chip shows, `bare` the panel without chips in a second photo, `dark'` the glare in that one; the open windows
cancel what exposure and panel did between the two. Without a second photo a smooth surface through the open windows, or
through the panel around the chips, stands for the panel. What simulations of it gave: design notes, readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from tintmix.chips.photo import judge
from tintmix.chips.photo.errors import BadRegions, NoPanel
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.glare import Glare
from tintmix.chips.photo.holder import WINDOWS, Window, window
from tintmix.chips.photo.marks import FoundSheet, find_sheet
from tintmix.chips.photo.region import INSET, Patch, Rectangle, take
from tintmix.chips.photo.shape import Surface, around, same_panel
from tintmix.errors import FileProblem, Note, Remedy, TintmixError, ValueProblem
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


def read_rectangles(
    photo: Photo,
    chips: Mapping[str, Rectangle],
    panel: Photo | None = None,
    opened: Sequence[Rectangle] = (),
    dark: Sequence[Rectangle] = (),
) -> PhotoReading:
    """Chips in rectangles of a photo. panel: the same view without chips. opened: where the bare panel shows, dark: where
    black card does.

    Raises ValueProblem, BadRegions (all that cannot be read at once), NoPanel, and FileProblem where the two photos do not
    belong together.
    """
    return read_gathered(gather_rectangles(photo, chips, panel, opened, dark))


def gather_rectangles(
    photo: Photo,
    chips: Mapping[str, Rectangle],
    panel: Photo | None,
    opened: Sequence[Rectangle],
    dark: Sequence[Rectangle],
) -> Gathered:
    """The patches of the rectangles, and of the same ones in the panel's photo. Raises ValueProblem, FileProblem."""
    told = judge.check_panel(photo, panel)

    def both(box: Rectangle, where: str) -> tuple[Patch, Patch | None]:
        here = take(photo, box.corners, where, INSET)
        return here, None if panel is None else take(panel, box.corners, f"{where} in {panel.name}", INSET)

    return Gathered(
        photo,
        panel,
        {name: both(box, f"{photo.name}: {name}") for name, box in chips.items()},
        {f"open place {i}": both(box, f"{photo.name}: open place {i}") for i, box in enumerate(opened, 1)},
        {f"dark place {i}": both(box, f"{photo.name}: dark place {i}") for i, box in enumerate(dark, 1)},
        warnings=told,
    )


def gather_holder(photo: Photo, panel: Photo | None = None, wanted: Mapping[str, str] | None = None) -> Gathered:
    """The patches of the sheet's windows. Raises FileProblem, ValueProblem."""
    told = judge.check_panel(photo, panel, same_size=False)
    sheet = find_sheet(photo)
    told += judge.seen_from(sheet)
    bare = None if panel is None else _sheet_of_panel(panel)
    if wanted is None:
        places = {one.name: one for one in WINDOWS if one.role in ("chip", "check")}
    else:
        places = {name: window(where) for name, where in wanted.items()}
        for name, one in places.items():
            if one.role in ("open", "blocked"):
                raise ValueProblem(
                    where=name,
                    what=f"window {one.name} of the holder sheet is the {one.role} one of its row; no chip is read there",
                )

    def both(one: Window, where: str) -> tuple[Patch, Patch | None]:
        here = take(photo, sheet.pixels(one.corners_mm), f"{photo.name}: {where}")
        if panel is None or bare is None:
            return here, None
        return here, take(panel, bare.pixels(one.corners_mm), f"{panel.name}: {where}")

    out = Gathered(
        photo,
        panel,
        {name: both(one, f"window {one.name}") for name, one in places.items()},
        {f"window {one.name}": both(one, f"window {one.name}") for one in WINDOWS if one.role == "open"},
        {f"window {one.name}": both(one, f"window {one.name}") for one in WINDOWS if one.role == "blocked"},
        sheet,
        told,
    )
    judge.check_windows(
        out.photo.name, {k: v[0] for k, v in out.opened.items()}, {k: v[0] for k, v in out.dark.items()}, out.warnings
    )
    if panel is not None:
        bare_opened = {k: v[1] for k, v in out.opened.items() if v[1] is not None}
        bare_dark = {k: v[1] for k, v in out.dark.items() if v[1] is not None}
        judge.check_windows(panel.name, bare_opened, bare_dark, out.warnings)
    return out


def _sheet_of_panel(panel: Photo) -> FoundSheet:
    """Where the sheet is in the panel's photo. Raises FileProblem."""
    try:
        return find_sheet(panel)
    except TintmixError as error:
        raise FileProblem(
            where=panel.name,
            what=f"the holder sheet was not found in the photo of the panel ({str(error).rstrip('.')})",
            remedy=Remedy.SHEET_IN_PLACE,
        ) from None


def read_gathered(gathered: Gathered, skip_empty: bool = False) -> PhotoReading:
    """Ratios from the patches, judged. Raises BadRegions, NoPanel, FileProblem."""
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
        dark = 0.0 if glare is None else glare.at(here.middle)
        if panel is not None and there is not None and not gathered.opened:
            unlit = judge.panel_at(panel, name, there)
            if unlit:
                problems += unlit
                continue
        values = (here.mean - dark) / np.maximum(panel_light, 1e-9)
        glow = 0.0 if glare is None else glare.at(here.cell_middles)
        cells = (here.cells - glow) / np.maximum(
            panel_light if there is None else there.cells / np.maximum(there.mean, 1e-9) * panel_light, 1e-9
        )
        spread = here.spread / np.maximum(here.mean, 1e-9)
        if skip_empty and np.all(values > judge.EMPTY_ABOVE):
            continue
        wrong, notes = judge.place(photo, name, here, values, cells, has_dark=glare is not None)
        problems += wrong
        if photo.rendered:
            values = np.maximum(values, 0.0)
        places[name] = PlaceReading(name, values, spread, here.middle, tuple(notes))
    if not problems and gathered.chips and level < judge.PANEL_LEAST:
        problems.append(judge.too_short(photo.name, level))
    if problems:
        raise BadRegions(photo.name, list(dict.fromkeys(problems)))
    share = None
    if glare is not None and places:
        middles = np.array([one.middle for one in places.values()])
        lights = np.array([bare(*gathered.chips[name]) for name in places])
        share = np.asarray((glare.at(middles) / lights).mean(axis=0))
        told += judge.glare(share)
    told += [f"{name}: {note}" for name, one in places.items() for note in one.notes]
    return PhotoReading(places, photo.rendered, share, gathered.sheet, (*photo.warnings, *told))


def glare_of(gathered: Gathered) -> tuple[Glare | None, Glare | None]:
    """The dark reference over the photo, and over the panel's where the same places are dark there too."""
    if not gathered.dark:
        return None, None
    glare = Glare(gathered.photo, [here for here, _ in gathered.dark.values()])
    if gathered.panel is None:
        return glare, None
    bare = [there for _, there in [*gathered.opened.values(), *gathered.chips.values()] if there is not None]
    bright = max(float(patch.mean.sum()) for patch in bare)
    there = [patch for _, patch in gathered.dark.values() if patch is not None]
    there = [patch for patch in there if float(patch.mean.sum()) < judge.DARK_MOST * bright]
    # Where the card was taken away with the chips, the panel's photo is bright all over and its glare a level part of it.
    return glare, Glare(gathered.panel, there) if there else None


class _Bare:
    """The light of the bare panel, glare left out, at a place of the photo with the chips."""

    def __init__(self, surface: Surface | None, scale: Array, glare: Glare | None) -> None:
        self._surface, self._scale, self._glare = surface, scale, glare

    def __call__(self, here: Patch, there: Patch | None) -> Array:
        if self._surface is not None:
            return self._surface.at(here.middle)
        assert there is not None
        dark = 0.0 if self._glare is None else self._glare.at(there.middle)
        return np.asarray((there.mean - dark) * self._scale)


def _bare(gathered: Gathered, glare: Glare | None, bare_glare: Glare | None, told: list[Note | str]) -> _Bare:
    photo, panel = gathered.photo, gathered.panel
    opened = list(gathered.opened.values())
    lights = [here.mean - (0.0 if glare is None else glare.at(here.middle)) for here, _ in opened]
    if panel is None:
        if opened:
            if len(opened) < 4:
                told.append(judge.FEW_OPEN)
            return _Bare(
                Surface(np.array([here.middle for here, _ in opened]), np.array(lights), photo), np.ones(3), None
            )
        chips = [here for here, _ in gathered.chips.values()]
        surface, off = around(photo, [here.corners for here in chips], glare)
        if any(here.mean.sum() > judge.ABOVE_PANEL * surface.at(here.middle).sum() for here in chips):
            raise NoPanel(photo.name, "what shows around the chips is darker than they are, and is no bare panel")
        told += judge.laid_through(off)
        return _Bare(surface, np.ones(3), None)
    if opened:
        ratios = np.array(
            [
                light / np.maximum(there.mean - (0.0 if bare_glare is None else bare_glare.at(there.middle)), 1e-9)
                for light, (_, there) in zip(lights, opened, strict=True)
                if there is not None
            ]
        )
        told += judge.drift(ratios, panel)
        return _Bare(None, ratios.mean(axis=0), bare_glare)
    try:
        scale = same_panel(photo, panel, [here.corners for here, _ in gathered.chips.values()], glare, bare_glare)
        told += judge.drift(scale[None], panel)
    except NoPanel:
        told += judge.untied(photo, panel)
        scale = np.ones(3)
    return _Bare(None, scale, bare_glare)
