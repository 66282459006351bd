"""What is cast, as the page keeps it: a body with its sizes, or a mesh; what is cast in; from where it is seen.

Nothing here needs the libraries that read meshes and trace them: other screens show a casting that was traced before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Any, Literal

from tintmix.numerals import numeral
from tintmix.page.errors import not_typed
from tintmix.page.values import from_table, to_table

UNITS = ("mm", "cm", "m", "inch")
BRASS = "#b08d4c"
"""A ring's colour until another is said; invented."""
LITS = {"panel": "a light panel", "sky": "the sky"}
LEVEL = 90.0


@dataclass(frozen=True, slots=True)
class Body:
    """What is cast. sizes_mm: of a body that is made here; thing, name, unit: of a mesh that was uploaded."""

    kind: str
    sizes_mm: Mapping[str, float] | None = None
    thing: str = ""
    name: str = ""
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Insert:
    """What is cast in, opaque: a ring about the casting's middle, or a mesh; and its colour on a screen."""

    body: Body
    srgb: str = BRASS


@dataclass(frozen=True, slots=True)
class Seen:
    """From where: turn round the upright axis, from the front, and tilt up from level, in degrees; and by which light."""

    turn: float = 0.0
    tilt: float = LEVEL
    lit: Literal["panel", "sky"] = "panel"

    @property
    def axes(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """The way that one looks, and what points up.

        >>> Seen().axes == ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
        True
        """
        a, e = radians(self.turn), radians(self.tilt)
        looks = (-sin(a) * cos(e), cos(a) * cos(e), -sin(e))
        up = (-sin(a) * sin(e), cos(a) * sin(e), cos(e))
        return _tidy(looks), _tidy(up)


@dataclass(frozen=True, slots=True)
class Casting:
    """The casting as the page knows it. shape: the name of its traced shape, None where it is not traced since it changed.
    points_mm: places that were named."""

    body: Body
    insert: Insert | None = None
    seen: Seen = Seen()
    points_mm: Mapping[str, tuple[float, float, float]] | None = None
    shape: str | None = None


BODIES: Mapping[str, tuple[str, Mapping[str, tuple[str, float]]]] = {
    "prism": (
        "deck prism",
        {
            "across_mm": ("flange, from flat to flat", 90.0),
            "flange_mm": ("flange, thick", 8.0),
            "point_across_mm": ("pyramid, from flat to flat", 60.0),
            "depth_mm": ("from the top to the point", 60.0),
        },
    ),
    "block": (
        "block",
        {"length_mm": ("long", 60.0), "width_mm": ("wide", 40.0), "height_mm": ("high", 20.0)},
    ),
    "lens": (
        "lens",
        {
            "across_mm": ("across", 60.0),
            "middle_mm": ("thick in the middle", 15.0),
            "edge_mm": ("thick at the edge", 3.0),
        },
    ),
    "bowl": (
        "bowl",
        {"across_mm": ("across", 100.0), "height_mm": ("high", 50.0), "wall_mm": ("wall", 6.0)},
    ),
}
"""Bodies that are made here: what they are called, and their sizes, in words and as they stand in the boxes at first."""
RING: Mapping[str, tuple[str, float]] = {
    "across_mm": ("across, outside", 40.0),
    "wide_mm": ("band, wide", 3.0),
    "high_mm": ("band, high", 3.0),
    "under_mm": ("its middle, under the casting's top", 4.0),
}
DEFAULT = Casting(Body("prism", {name: size for name, (_, size) in BODIES["prism"][1].items()}))


def casting_of(area: Mapping[str, Any]) -> Casting:
    """The casting that an area of the page tells of; a deck prism where it tells nothing.

    >>> casting_of({}).body.kind, casting_of({"seen": {"turn": 30.0}}).seen.tilt
    ('prism', 90.0)
    """
    return from_table(Casting, to_table(DEFAULT) | dict(area))


def casting_words(casting: Casting) -> str:
    """What it is, in few words.

    >>> casting_words(DEFAULT)
    'deck prism'
    """
    what = BODIES[casting.body.kind][0] if casting.body.kind in BODIES else casting.body.name
    if casting.insert is None:
        return what
    return f"{what} with {'a ring' if casting.insert.body.kind == 'ring' else casting.insert.body.name} in it"


def seen_from(turn: float, tilt: float, lit: str) -> Seen:
    """A view, its angles brought back into a whole turn. Raises ValueProblem.

    >>> seen_from(-90.0, 20.0, "sky")
    Seen(turn=270.0, tilt=20.0, lit='sky')
    """
    if not -LEVEL <= tilt <= LEVEL:
        raise not_typed("tilt", numeral(tilt), "It is −90 (from below) to 90 (from above) degrees.")
    return Seen(turn % 360.0, tilt, "sky" if lit == "sky" else "panel")


def view_words(seen: Seen) -> str:
    """From where, in words.

    >>> view_words(Seen()), view_words(Seen(30.0, 0.0)), view_words(Seen(30.0, -20.0))
    ('from above', 'from the side, turned by 30°', 'from 20° below, turned by 30°')
    """
    turned = f", turned by {seen.turn:.0f}°" if round(seen.turn) % 360 else ""
    if abs(seen.tilt) > LEVEL - 0.5:
        return f"from {'above' if seen.tilt > 0 else 'below'}{turned}"
    if abs(seen.tilt) < 0.5:
        return f"from the {'side' if turned else 'front'}{turned}"
    return f"from {abs(seen.tilt):.0f}° {'above' if seen.tilt > 0 else 'below'}{turned}"


def _tidy(way: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, z = (round(value, 12) + 0.0 for value in way)
    return x, y, z
