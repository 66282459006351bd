"""The places on the casting, the light, and the least light wanted: what several screens of the page share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tintmix.page.errors import not_typed, too_many
from tintmix.page.values import from_table, to_table

MOST_PLACES = 12
"""As many as a plan takes (`pigments.design.wish`)."""
LIGHTS = {
    "D65": "daylight",
    "D50": "warm daylight",
    "A": "incandescent lamp",
    "LED-B3": "white LED",
    "FL11": "fluorescent tube",
}
"""A choice of the CIE lights for the page, with what they are like."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the casting, with its thickness. seen, shape: of one that is seen on a traced casting its name there, and the
    name of that shape among the page's things; thickness_mm is then the mean path of its light, straight_mm the resin straight
    under it.
    """

    name: str
    thickness_mm: float
    seen: str = ""
    shape: str = ""
    straight_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PartWish:
    """The part as the page knows it. floor: the least light through its thickest place, a fraction; below it is too dark."""

    places: tuple[Place, ...]
    floor: float
    light: str
    observer: int

    @property
    def thicknesses_mm(self) -> tuple[float, ...]:
        """In the order of the places."""
        return tuple(place.thickness_mm for place in self.places)


DEFAULT = PartWish((Place("thin", 8.0), Place("thick", 60.0)), 0.08, "D65", 10)


def part_of(area: Mapping[str, Any]) -> PartWish:
    """The part that an area of the page tells of; the defaults where it tells nothing.

    >>> part_of({}).thicknesses_mm
    (8.0, 60.0)
    """
    return from_table(PartWish, to_table(DEFAULT) | {key: told for key, told in area.items() if told != []})


def part_from(
    names: Sequence[str], thicknesses_mm: Sequence[float], floor: float, light: str, seen: Sequence[Place] = ()
) -> PartWish:
    """A part as it was typed, its places from thin to thick. seen: those of a traced casting that stay. Raises ValueProblem."""
    typed = [Place(name, mm) for name, mm in zip(names, thicknesses_mm, strict=True)]
    return part_with([*typed, *seen], floor, light)


def part_with(wanted: Sequence[Place], floor: float, light: str) -> PartWish:
    """A part of these places, from thin to thick. Raises ValueProblem."""
    if not wanted:
        raise not_typed("the places on the casting", "", "Give at least one thickness.")
    if len(wanted) > MOST_PLACES:
        raise too_many("places on the casting", len(wanted), MOST_PLACES)
    if light not in LIGHTS:
        raise not_typed("the light", light, "Choose one of the list.")
    places: list[Place] = []
    for at, one in enumerate(sorted(wanted, key=lambda place: place.thickness_mm)):
        name = one.name or f"place {at + 1}"
        while any(name == place.name for place in places):
            name += " too"
        places.append(replace(one, name=name))
    return PartWish(tuple(places), floor, light, 10)
