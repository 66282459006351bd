"""The insert's colour turned round: which paint must it have, so that it looks as wanted through the tint at hand?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tintmix.numerals import colours_apart
from tintmix.optics.colour import lab, xyz_of_srgb
from tintmix.optics.detector import eye
from tintmix.optics.section import seen_section
from tintmix.page.casting.wish import casting_of
from tintmix.page.errors import needs_first
from tintmix.page.hexes import hexes
from tintmix.page.places import part_of
from tintmix.page.sections import SHAPE_FILE
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel
from tintmix.recipes.casting import place_on
from tintmix.recipes.insert_paint import paint_for
from tintmix.shape.values import CastingShape


@dataclass(frozen=True, slots=True)
class Asked:
    """A paint. wanted, srgb: as the insert is to look, and the paint's own colour in air, for a screen; like: both ends of what
    the chips leave open, and the paint between. possible: whether any does; off: how far what is then seen is off, ΔE00;
    open_95: how far the paint is open."""

    place: str
    wanted: str
    srgb: str
    like: tuple[str, str, str]
    lab: tuple[float, float, float]
    possible: bool
    off: float
    open_95: float
    beside: str


def screen_colour(typed: str) -> str:
    """A colour as it is typed, as "#rrggbb"; no file is read for it. Raises ValueProblem.

    >>> screen_colour(" B08D4C")
    '#b08d4c'
    """
    xyz_of_srgb(typed, eye("D65", 10).bare)
    return f"#{typed.strip().lstrip('#').lower()}"


def places_with_insert(shape: CastingShape | None) -> list[str]:
    """The places from which an insert is seen."""
    return [] if shape is None else [one.name for one in shape.places if any(map(any, one.weights[1:]))]


def paint_asked(
    workspace: Workspace, now: Snapshot, model: TintModel, doses_phr: Mapping[str, float], place: str, srgb: str
) -> Asked:
    """The paint that the insert needs at a place of the traced casting. Raises ValueProblem, NotThere."""
    part, thing = part_of(now.area("part")), casting_of(now.area("casting")).shape
    if thing is None:
        raise needs_first("The insert's paint", "a traced casting")
    detector = eye(part.light, part.observer)
    wanted = lab(xyz_of_srgb(srgb, detector.bare), detector.bare)
    section = seen_section(place, place_on(workspace.shape(thing), place, SHAPE_FILE).seen, 0.5)
    found = paint_for(model, doses_phr, section, wanted, part.light, part.observer)
    values, vectors = np.linalg.eigh(found.lab_covariance)
    reach = 1.96 * math.sqrt(max(float(values[-1]), 0.0)) * vectors[:, -1] * (1 if vectors[0, -1] >= 0 else -1)
    ends = np.stack([found.lab + reach, found.lab - reach])
    ends[:, 0] = np.clip(ends[:, 0], 0.0, 100.0)
    pale, deep, shown = hexes(np.concatenate([ends, wanted[None]]), detector.bare)
    L, a, b = (float(value) for value in found.lab)
    return Asked(
        place=place,
        wanted=shown,
        srgb=found.srgb,
        like=(pale, found.srgb, deep),
        lab=(L, a, b),
        possible=found.possible,
        off=found.delta_e00_left,
        open_95=found.delta_e00_95,
        beside=colours_apart((L, a, b), (float(wanted[0]), float(wanted[1]), float(wanted[2]))),
    )
