"""The casting in a recipe's tint: for the sheet and the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.page.casting.paint import colours, insert_reflectance, png
from tintmix.page.casting.wish import casting_of
from tintmix.page.casting.words import picture_words
from tintmix.page.errors import NoSuchThing
from tintmix.page.places import part_of
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel


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
    return picture_words(wish, wish.seen, shape.picture)


def picture_in(workspace: Workspace, now: Snapshot, model: TintModel, doses_phr: Mapping[str, float]) -> bytes:
    """The traced casting in these doses, as PNG. Raises NoSuchThing."""
    wish, part = casting_of(now.area("casting")), part_of(now.area("part"))
    if wish.shape is None:
        raise NoSuchThing("traced casting")
    drawn = workspace.shape(wish.shape).picture
    srgb = None if wish.insert is None else wish.insert.srgb
    reflectance = insert_reflectance(srgb, part.light, part.observer)
    return png(drawn, colours(model, doses_phr, drawn.lengths_mm, reflectance, part.light, part.observer))
