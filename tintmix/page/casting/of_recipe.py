"""The casting in a recipe's tint: for the sheet and the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.desk.bench.castings import CastingDrawn, casting_drawn
from tintmix.page.casting.paint import colours, insert_reflectance, png
from tintmix.page.casting.wish import casting_of
from tintmix.page.casting.words import shape_words
from tintmix.page.errors import NoSuchThing
from tintmix.page.places import PartWish, part_of
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel
from tintmix.shape.values import PathPicture


def words_for(workspace: Workspace, now: Snapshot, casting: Sequence[Mapping[str, Any]]) -> str:
    """What the picture of the traced casting shows; nothing where none is kept, or a recipe is for another.

    casting: the places of a casting that the recipe keeps, none where it is for thicknesses.
    """
    wish = casting_of(now.area("casting"))
    if wish.shape is None:
        return ""
    shape = workspace.shape(wish.shape)
    if any(place.get("digest") != shape.digest for place in casting):
        return ""
    return shape_words(wish, shape)


def casting_in(
    workspace: Workspace, now: Snapshot, model: TintModel, doses_phr: Mapping[str, float], says: str
) -> CastingDrawn:
    """The traced casting in these doses, for paper. Raises NoSuchThing."""
    drawn, reflectance, part = _traced(workspace, now)
    return casting_drawn(
        model, doses_phr, drawn, 0.0 if reflectance is None else reflectance, says, part.light, part.observer
    )


def picture_in(workspace: Workspace, now: Snapshot, model: TintModel, doses_phr: Mapping[str, float]) -> bytes:
    """The same for a screen, as PNG."""
    drawn, reflectance, part = _traced(workspace, now)
    return png(drawn, colours(model, doses_phr, drawn.lengths_mm, reflectance, part.light, part.observer))


def _traced(workspace: Workspace, now: Snapshot) -> tuple[PathPicture, Any, PartWish]:
    """Its paths, the reflectance of what is cast in, None where nothing is, and by which light it is looked at."""
    wish, part = casting_of(now.area("casting")), part_of(now.area("part"))
    if wish.shape is None:
        raise NoSuchThing("traced casting")
    srgb = None if wish.insert is None else wish.insert.srgb
    return workspace.shape(wish.shape).picture, insert_reflectance(srgb, part.light, part.observer), part
