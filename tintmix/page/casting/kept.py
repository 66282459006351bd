"""The casting put into the page's folder: what is cast, from where it is seen, and its traced shape with its places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from tintmix.desk.shape import notes_of, shape_of
from tintmix.errors import Note
from tintmix.page.casting.live import Castings
from tintmix.page.casting.wish import Casting, casting_words
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.values import to_table, with_notes
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.resin import DEFAULT_REFRACTIVE_INDEX
from tintmix.shape.picture import SAMPLES
from tintmix.shape.shape_file import shape_to_text

COARSE_PART = 0.8
"""Of the work, what the picture is; the rest are its places."""


def index_at_hand(workspace: Workspace, now: Snapshot) -> float:
    """The refractive index of the resin whose pigments are known; the usual one where none is."""
    model = model_at_hand(workspace, now)
    return DEFAULT_REFRACTIVE_INDEX if model is None else model.refractive_index


def put(workspace: Workspace, castings: Castings, label: str, wish: Casting, expected: int) -> str:
    """Keep another body, mesh or insert, once it is known to be sound; where to go on. Raises what is wrong with it,
    ChangedElsewhere."""
    now = workspace.now()
    index = index_at_hand(workspace, now)
    picture = castings.picture(workspace, wish, wish.seen, index)
    _change(workspace, label, replace(wish, shape=None), picture.casting.notes, expected)
    return "/casting"


def trace(workspace: Workspace, castings: Castings, wish: Casting, expected: int, work: Work) -> str:
    """Trace it finely from its view, and keep the shape with its places; where to go on. Raises Stopped, ChangedElsewhere,
    FileProblem, ValueProblem for a named place that is not seen from there."""
    now = workspace.now()
    model = model_at_hand(workspace, now)
    index = DEFAULT_REFRACTIVE_INDEX if model is None else model.refractive_index
    picture = castings.picture(workspace, wish, wish.seen, index)
    while not picture.step(SAMPLES):
        work.progress(COARSE_PART * picture.samples / SAMPLES)
    resin = None if model is None else model.resin
    shape = shape_of(picture.casting, picture.tracing, wish.points_mm, resin)
    work.progress(1.0)
    thing = workspace.keep_content(shape_to_text(shape))
    notes = [*picture.casting.notes, *notes_of(shape)]
    _change(workspace, f"the {casting_words(wish)} traced", replace(wish, shape=thing), notes, expected)
    return "/casting"


def _change(workspace: Workspace, label: str, wish: Casting, notes: Sequence[Note], expected: int) -> None:
    area = to_table(wish) | {"notes": to_table(list(notes))}
    workspace.change(label, {"casting": area}, {"casting": expected})


def notes_kept(area: Mapping[str, Any]) -> list[Note]:
    """What is worth knowing of the casting at hand."""
    return [with_notes(one) for one in area.get("notes", [])]
