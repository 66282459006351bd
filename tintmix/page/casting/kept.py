"""The casting put into the page's folder: what is cast, from where it is seen, and its traced shape with its places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tintmix.desk.shape import notes_of, shape_of
from tintmix.errors import FileProblem, Note
from tintmix.numerals import numeral
from tintmix.page.casting.live import Castings
from tintmix.page.casting.wish import Casting, casting_of, casting_words
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import needs_first, not_typed
from tintmix.page.places import PartWish, Place, part_of, part_with
from tintmix.page.values import to_table, with_notes
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.quantities import CASTING_MM
from tintmix.resin import DEFAULT_REFRACTIVE_INDEX, Resin
from tintmix.shape import values
from tintmix.shape.picture import SAMPLES
from tintmix.shape.scene import Scene
from tintmix.shape.shape_file import shape_to_text
from tintmix.shape.values import CastingShape
from tintmix.shape.view import Frame

COARSE_PART = 0.8
"""Of the work, what the picture is; the rest are its places."""


def index_at_hand(workspace: Workspace, now: Snapshot) -> float:
    """The refractive index of the resin whose pigments are known; the usual one where none is."""
    model = model_at_hand(workspace, now)
    return DEFAULT_REFRACTIVE_INDEX if model is None else model.refractive_index


def put(workspace: Workspace, castings: Castings, label: str, wish: Casting, expected: int) -> str:
    """Keep another body, mesh or insert, once it is known to be sound; where to go on. An insert that is there already and
    does not go into another body is taken out, and that is said. Raises what is wrong with it, ChangedElsewhere."""
    now = workspace.now()
    index = index_at_hand(workspace, now)
    try:
        picture, taken_out = castings.picture(workspace, wish, wish.seen, index), []
    except FileProblem:
        if wish.insert is None or casting_of(now.area("casting")).insert != wish.insert:
            raise
        out = replace(wish, insert=None)
        picture, taken_out = castings.picture(workspace, out, wish.seen, index), [_taken_out(wish)]
        wish = out
    area = _area(replace(wish, shape=None), [*picture.casting.notes, *taken_out])
    workspace.change(label, {"casting": area}, {"casting": expected})
    return "/casting"


def _taken_out(wish: Casting) -> Note:
    """That another body has no room for the insert."""
    what = "The ring" if wish.insert and wish.insert.body.kind == "ring" else "What was cast in"
    return Note(says=f"{what} was taken out: it would stick out of this body, or touch its faces.")


def trace(workspace: Workspace, castings: Castings, wish: Casting, expected: int, work: Work) -> str:
    """Trace it finely from its view, and keep the shape with its places; where to go on. Raises Stopped, ChangedElsewhere,
    FileProblem, ValueProblem for a named place that is not seen from there."""
    _trace(workspace, castings, f"the {casting_words(wish)} traced", wish, expected, work)
    return "/casting"


def name_place(
    workspace: Workspace,
    castings: Castings,
    wish: Casting,
    name: str,
    across_mm: float,
    up_mm: float,
    expected: int,
    work: Work,
) -> str:
    """A place of the picture, so far to the right of its middle and up, named, seen anew, and one of the part's places; where to
    go on. Raises what `trace` raises, ValueProblem for a place beside the casting."""
    index = index_at_hand(workspace, workspace.now())
    picture = castings.picture(workspace, wish, wish.seen, index)
    point = point_at(picture.casting.scene, picture.tracing.frame, name, across_mm, up_mm)
    points = {**(wish.points_mm or {}), name: point}
    _trace(workspace, castings, f"the place {name}", replace(wish, points_mm=points), expected, work, (name,))
    return "/casting#places-title"


def point_at(scene: Scene, frame: Frame, name: str, across_mm: float, up_mm: float) -> tuple[float, float, float]:
    """Where the eye meets the casting there. Raises ValueProblem."""
    across = frame.width / 2 + across_mm / frame.pixel_mm
    down = frame.height / 2 - up_mm / frame.pixel_mm
    start = frame.origins(np.array([across]), np.array([down]))
    along = np.array([frame.view.direction])
    distance, triangle, _, _ = scene.meet(scene.own(start), np.ascontiguousarray(along, dtype=np.float32))
    if triangle[0] < 0:
        raise not_typed(
            f"the place {name}",
            f"{numeral(across_mm, 4)}, {numeral(up_mm, 4)} mm",
            "There the casting is not, as it is seen from here.",
        )
    x, y, z = (start[0] + along[0] * float(distance[0])).tolist()
    return x, y, z


def use_places(workspace: Workspace, names: Sequence[str], expected: int) -> str:
    """Places of the traced casting as the part's places, and no others of a casting; where to go on. Raises NotThere."""
    now = workspace.now()
    thing = casting_of(now.area("casting")).shape
    if thing is None:
        raise needs_first("Places as they are seen", "a traced casting")
    part, shape = part_of(now.area("part")), workspace.shape(thing)
    seen = [as_place(shape.place(name), thing) for name in names]
    new = part_with([*(place for place in part.places if not place.seen), *seen], part.floor, part.light)
    workspace.change("the casting's places", {"part": to_table(new)}, {"part": expected})
    return "/casting#places-title"


def as_place(place: values.Place, thing: str) -> Place:
    """A place of a shape as a place of the part."""
    path = 0.0 if place.path_mm is None else place.path_mm.mean
    length = max(path or place.straight_mm, CASTING_MM.least)
    return Place(place.name, length, place.name, thing, place.straight_mm)


def _trace(
    workspace: Workspace,
    castings: Castings,
    label: str,
    wish: Casting,
    expected: int,
    work: Work,
    into_part: Sequence[str] = (),
) -> None:
    now = workspace.now()
    model = model_at_hand(workspace, now)
    index = DEFAULT_REFRACTIVE_INDEX if model is None else model.refractive_index
    resin = None if model is None else model.resin
    shape, area = traced(workspace, castings, wish, index, resin, work)
    part = _moved(part_of(now.area("part")), shape, area["shape"], into_part)
    areas = {"casting": area}
    workspace.change(label, areas if part is None else areas | {"part": to_table(part)}, {"casting": expected})


def traced(
    workspace: Workspace, castings: Castings, wish: Casting, refractive_index: float, resin: Resin | None, work: Work
) -> tuple[CastingShape, dict[str, Any]]:
    """It traced finely from its view: its shape, which is kept, and the area of the page that tells of it. Raises Stopped, and
    what `trace` raises."""
    picture = castings.picture(workspace, wish, wish.seen, refractive_index)
    while not picture.step(SAMPLES):
        work.progress(COARSE_PART * picture.samples / SAMPLES)
    shape = shape_of(picture.casting, picture.tracing, wish.points_mm, resin)
    work.progress(1.0)
    thing = workspace.keep_content(shape_to_text(shape))
    return shape, _area(replace(wish, shape=thing), [*picture.casting.notes, *notes_of(shape)])


def _moved(part: PartWish, shape: CastingShape, thing: str, more: Sequence[str]) -> PartWish | None:
    """The part with its places of the casting as they are seen now, and more of them; None where that changes nothing."""
    there = {place.name: as_place(place, thing) for place in shape.places}
    places = [
        replace(there[place.seen], name=place.name) if place.seen in there else place
        for place in part.places
        if place.seen not in more
    ]
    new = part_with([*places, *(there[name] for name in more)], part.floor, part.light)
    return None if new == part else new


def _area(wish: Casting, notes: Sequence[Note]) -> dict[str, Any]:
    return {**to_table(wish), "notes": to_table(list(notes))}


def notes_kept(area: Mapping[str, Any]) -> list[Note]:
    """What is worth knowing of the casting at hand."""
    return [with_notes(one) for one in area.get("notes", [])]
