"""Places of a part as they are looked at and asked for: thicknesses, and places of a traced casting as they are seen."""

from __future__ import annotations

from tintmix.optics.section import Section, seen_section
from tintmix.page.places import PartWish, Place
from tintmix.page.workspace import Workspace
from tintmix.recipes.casting import CastPlace, place_on
from tintmix.recipes.insert_colour import reflectance_of

SHAPE_FILE = "casting.shape.json"
"""What the page's shape is called in a target and in a recipe."""


def cast_place(workspace: Workspace, place: Place) -> CastPlace | None:
    """How a place is seen on its traced casting; None of a thickness. Raises NoSuchThing, NotThere."""
    return place_on(workspace.shape(place.shape), place.seen, SHAPE_FILE) if place.seen else None


def sections_of(workspace: Workspace, part: PartWish) -> list[Section]:
    """The places of a part, to look at. Raises what `cast_place` raises."""
    sections = []
    for place in part.places:
        cast = cast_place(workspace, place)
        if cast is None:
            sections.append(Section(place.name, place.thickness_mm))
            continue
        painted = None if cast.insert is None else reflectance_of(cast.insert, part.light, part.observer)
        sections.append(seen_section(place.name, cast.seen, painted))
    return sections
