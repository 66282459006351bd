"""Plans for chips that will be read in reflection, on a white tile: thin moulds, and what the bench page says of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from tintmix.chips.chip import ChipSet, Contact, Reading
from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.tile import THICKEST_ON_TILE_MM, Tile
from tintmix.pigments.inference.gather import tile_of
from tintmix.quantities import MOULD_MM

TILE_CAST_MM = (1.0, 2.0, 4.0)
"""Taken where the maker does not say what they can cast."""
_THINNEST_HALF_MM = 1.0
_FAR = 2.0
"""So many times thicker than the thickest chip, the part's resin is guessed from little."""


@dataclass(frozen=True, slots=True)
class OnTile:
    """lab: the bare tile, as the same instrument reads it under the same light. contact: what lies between chip and tile,
    "dry" (air) or "wetted". geometry: "45/0", or "d/8" for a sphere with the gloss excluded.
    """

    lab: tuple[float, float, float]
    contact: Contact = "dry"
    geometry: Literal["45/0", "d/8"] = "45/0"


def reading_on(on: OnTile, light: str, observer: int, dose_spread: float = 0.02) -> Reading:
    """`[reading]` of the set that is planned. Raises ValueProblem.

    >>> reading_on(OnTile((95.2, -0.4, 1.1)), "D65", 10).relative_to
    'white tile'
    """
    return Reading(
        "colour", relative_to="white tile", tile_lab=on.lab, contact=on.contact, geometry=on.geometry, light=light,
        observer=observer, space="Lab", dose_spread=dose_spread,
    )  # fmt: skip


def tile_seen(on: OnTile, light: str, observer: int) -> Tile:
    """The tile as the fit will take it: of all reflectances that have its colour, the smoothest. Raises ValueProblem."""
    tile = tile_of(ChipSet(reading_on(on, light, observer), (), ()))
    assert tile is not None
    return tile


def check_castable(thickness_mm: float) -> None:
    """That chips of that thickness can be cast at all. Raises ValueProblem."""
    MOULD_MM.check("a thickness to cast", thickness_mm)


def thin_moulds(cast_mm: Sequence[float], cast_to_mm: float | None, defaults: dict[str, Any]) -> tuple[float, ...]:
    """Of the thicknesses that can be cast, those that a tile can be seen through. Raises ValueProblem.

    >>> thin_moulds((2.0, 6.0, 25.0), None, {}), thin_moulds((), 12.0, {})
    ((2.0,), (1.0, 2.0, 4.0))
    """
    cast = list(cast_mm)
    if cast_to_mm is not None:
        check_castable(cast_to_mm)
        most = min(cast_to_mm, THICKEST_ON_TILE_MM)
        cast += [most, *(mm for mm in (most / 2, most / 4) if mm >= _THINNEST_HALF_MM)]
    if not cast:
        cast = list(TILE_CAST_MM)
        defaults["cast_mm"] = cast
    thin = tuple(sorted({mm for mm in cast if not mm > THICKEST_ON_TILE_MM}))
    if not thin:
        raise ValueProblem(
            what=f"the thinnest chip that can be cast is {numeral(min(cast))} mm, and a chip that is read on a white tile is at "
            f"most {numeral(THICKEST_ON_TILE_MM)} mm thick",
            remedy=Remedy.CAST_THINNER_ONES,
        )
    return thin


def said_of_tile(
    on: OnTile, asked_mm: Sequence[float], thin_mm: Sequence[float], sections_mm: Sequence[float]
) -> list[str]:
    """What the maker has to know of such a plan."""
    between = "air between" if on.contact == "dry" else "a clear liquid between"
    left = sorted({mm for mm in asked_mm if mm > THICKEST_ON_TILE_MM})
    told = [
        f"planned for chips that are read on a white tile, {between}, and judged as the instrument will see them there: "
        f"light goes through each chip twice, so they are thin, {numeral(THICKEST_ON_TILE_MM)} mm at most"
        + (f" ({', '.join(f'{numeral(mm)}' for mm in left)} mm left out)." if left else ".")
    ]
    thickest = max(sections_mm)
    if thickest > _FAR * max(thin_mm):
        told.append(
            f"no untinted block as thick as the casting can be read on a tile, and {numeral(max(thin_mm))} mm of "
            "untinted resin say little "
            f"of its own colour at {numeral(thickest)} mm: cast a block all the same, and look whether it yellows; read it in "
            "transmission if ever you can, as a set of its own."
        )
    return told
