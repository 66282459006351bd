"""What is no chip of a set, in a photo on the page: a piece of glass, a trial, a lot's check chip, a pour's own chip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from tintmix.chips.photo.reading import read_gathered
from tintmix.chips.photo.region import Rectangle
from tintmix.desk.read.shots import PhotoOrder, gather
from tintmix.desk.read.things import things_in
from tintmix.errors import FileProblem, Note, Remedy, ValueProblem
from tintmix.page.chips.kept_photo import DECODING, Places, box_said, close_all, opened, picture_of
from tintmix.page.chips.sets import camera_lab
from tintmix.page.errors import needs_first
from tintmix.page.workspace import Workspace

if TYPE_CHECKING:
    from tintmix.pigments.model import TintModel

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Where:
    """A photo with its bare panel's, as the page keeps them, and where what lies in it. windows: name → window of the holder
    sheet, where it is used; else places. linear: as it was said, None where nothing was."""

    photo: Mapping[str, Any]
    panel: Mapping[str, Any] | None
    windows: Mapping[str, str] | None
    places: Places
    linear: bool | None = None

    def order(self, workspace: Workspace) -> PhotoOrder:
        """As the desk takes it."""
        by_hand = self.windows is None
        return PhotoOrder(
            photos=(picture_of(workspace, self.photo),),
            panels=() if self.panel is None else (picture_of(workspace, self.panel),),
            opened=tuple(map(box_said, self.places.opened)) if by_hand else (),
            dark=tuple(map(box_said, self.places.dark)) if by_hand else (),
            linear=self.linear,
        )

    def wanted(self) -> dict[str, str]:
        """Name → place, as the desk takes it."""
        if self.windows is not None:
            return dict(self.windows)
        return {name: box_said(box) for name, box in self.places.chips.items()}


@dataclass(frozen=True, slots=True)
class Found:
    """What was read: channels by name, by the camera of the model's chips; or, of a photo of another kind, L*a*b*, which is
    rough. notes: what is to be said."""

    channels: Mapping[str, Triple]
    labs: Mapping[str, Triple]
    notes: tuple[Note | str, ...]


def read_things(workspace: Workspace, model: TintModel | None, where: Where, may_be_rough: bool = False) -> Found:
    """may_be_rough: whether a colour without the chips' camera will do. Raises what is wrong with photo, places and model."""
    if model is None and not may_be_rough:
        raise needs_first("Reading it from a photo", "pigments that were learnt from photos")
    if model is not None and (model.camera_weights is not None or not may_be_rough):
        try:
            with DECODING:
                close_all()
                found = things_in(model, where.order(workspace), where.wanted())
        except ValueProblem as problem:
            other = problem.remedy in (Remedy.PHOTO_AS_THE_CHIPS, Remedy.CHECK_CHIPS_FIRST)
            if not (other and may_be_rough and where.photo["rendered"]):
                raise
        else:
            return Found({name: triple(values) for name, values in found.values.items()}, {}, found.notes)
    return Found({}, _rough(workspace, where), ())


def _rough(workspace: Workspace, where: Where) -> dict[str, Triple]:
    """L*a*b* (D65) of what lies there, its channels taken as linear sRGB. Raises FileProblem for a raw photo."""
    with DECODING:
        photo = opened(workspace, where.photo, where.linear)
        panel = None if where.panel is None else opened(workspace, where.panel, where.linear)
        boxes = {} if where.windows is not None else {n: Rectangle(*box) for n, box in where.places.chips.items()}
        found = gather(where.order(workspace), photo, panel, boxes)
        if not found.photo.rendered:
            what = "it is raw, and the colours of its channels are not known"
            raise FileProblem(where=photo.name, what=what, remedy=Remedy.GIVE_THE_JPEG)
        keys = where.windows or {name: name for name in boxes}
        mine = {name: found.chips[key] for name, key in keys.items()}
        read = read_gathered(replace(found, chips=mine)).places
    return {name: camera_lab(one.values)[0] for name, one in read.items()}


def triple(values: Any) -> Triple:
    """Three numbers."""
    first, second, third = (float(value) for value in values)
    return first, second, third
