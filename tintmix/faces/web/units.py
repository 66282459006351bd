"""Numbers as makers type and read them: decimal comma or point, mm or inch, g or oz. Kept as mm and g everywhere else."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tintmix.errors import ValueProblem
from tintmix.files.plain import table_of
from tintmix.numerals import numeral
from tintmix.page.errors import not_typed
from tintmix.quantities import CASTING_MM, GRAMS_OR_NONE, Quantity

MM_PER_INCH = 25.4
G_PER_OZ = 28.349523125
"""International yard and pound agreement, 1959; exact."""
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?", re.IGNORECASE | re.ASCII)
LENGTHS = {"mm": 1.0, "inch": MM_PER_INCH}
MASSES = {"g": 1.0, "oz": G_PER_OZ}
TYPED_UNIT = {"mm": "mm", "inch": 'inch|in|"', "g": "g", "oz": "oz"}
"""A unit that is typed behind a number of its own, as a pattern; with any other unit behind it, it is no number."""
SUCH_AS = {"mm": 3.0, "inch": 0.25}
"""A thickness that anything can have, to show how one is typed."""
TYPED_DIGITS = 8
"""Of a weight that was typed: all that a scale shows."""


def number(
    text: str, field: str = "the number", least: float = -math.inf, most: float = math.inf, such_as: float | None = None
) -> float:
    """A number with a decimal point or comma. Raises ValueProblem, which says the field and what may stand in it.

    >>> number("0,02"), number(" 3.5 ")
    (0.02, 3.5)
    """
    bounds = "a number"
    if math.isfinite(least) and math.isfinite(most):
        bounds = f"a number from {shown(least)} to {shown(most)}"
    elif math.isfinite(least):
        bounds = f"a number of at least {shown(least)}"
    wanted = f"Type {bounds}, such as {_such_as(least, most) if such_as is None else shown(such_as)}."
    text = text.strip()
    if len(text) > 40 or not _NUMBER.fullmatch(text):
        raise not_typed(field, text, wanted)
    value = float(text.replace(",", "."))
    if not least <= value <= most:
        raise not_typed(field, text, wanted)
    return value


def cells(text: str) -> list[str]:
    """What stands between blanks, semicolons, and commas before a blank.

    >>> cells("0,5; 3,\\n12")
    ['0,5', '3', '12']
    """
    return [cell for cell in re.split(r"[;\s]+|,(?=\s)", text) if cell]


def _such_as(least: float, most: float) -> str:
    usual = (one for one in (0.02, 1.5, 8.0, 60.0, 500.0) if least <= one <= most)
    return numeral(next(usual, least if math.isfinite(least) else most))


def shown(value: float | None, digits: int = 4) -> str:
    """A number for a box: so many significant digits, no trailing zeros, never with an exponent.

    >>> shown(0.0210000001), shown(1234567.0), shown(0.0000123), shown(None)
    ('0.021', '1235000', '0.0000123', '')
    """
    if value is None or not math.isfinite(value):
        return ""
    # A box holds a number and no words: what is too small to be told is none.
    return "0" if abs(value) < 1e-9 else numeral(value, digits)


@dataclass(frozen=True, slots=True)
class Units:
    """What the maker chose to read and type in.

    >>> inch = Units("inch", "g")
    >>> inch.length(60), inch.mm("2,5", "thickness"), inch.mm("2.362", "thickness", 60.0)
    ('2.362', 63.5, 60.0)
    """

    length_unit: str = "mm"
    mass_unit: str = "g"

    @classmethod
    def of(cls, settings: Mapping[str, Any]) -> Units:
        """From the settings of the page; what is not known there is mm and g."""
        length, mass = settings.get("length"), settings.get("mass")
        return cls(length if length in LENGTHS else "mm", mass if mass in MASSES else "g")

    def length(self, mm: float | None, digits: int = 4) -> str:
        """A thickness, without its unit."""
        return "" if mm is None else shown(mm / LENGTHS[self.length_unit], digits)

    def depth(self, place: Any) -> str:
        """How thick a place is, with the unit; of one that is seen by paths its straight depth and how far the light goes.

        >>> Units().depth({"thickness_mm": None, "straight_mm": 17, "path_mm": {"mean": 60}})
        '17 mm, seen through 60 mm'
        """
        told = place if isinstance(place, Mapping) else table_of(place)
        if told["thickness_mm"] is not None:
            return f"{self.length(told['thickness_mm'])} {self.length_unit}"
        path = told["path_mm"]
        through = self.length(path["mean"] if isinstance(path, Mapping) else path.mean, 3)
        return f"{self.length(told['straight_mm'], 3)} {self.length_unit}, seen through {through} {self.length_unit}"

    def mass(self, grams: float | None, digits: int = 5) -> str:
        """A weight, without its unit. digits: more of them where it was typed, and no digit may be lost."""
        return "" if grams is None else shown(grams / MASSES[self.mass_unit], digits)

    def mm(self, text: str, field: str, was: float | None = None, can_be: Quantity = CASTING_MM) -> float:
        """A typed thickness in mm. One that reads as `was` does is `was`: no change of units creeps into it."""
        return self._kept(text, field, was, self.length_unit, self.length, can_be)

    def grams(self, text: str, field: str, was: float | None = None, can_be: Quantity = GRAMS_OR_NONE) -> float:
        """A typed weight in g; `was` as of a thickness."""
        return self._kept(text, field, was, self.mass_unit, self.mass, can_be)

    def grams_of(self, text: str) -> float | None:
        """What a maker wrote down as a weight, in g; None for what is none."""
        try:
            return self.grams(text, "")
        except ValueProblem:
            return None

    def _kept(self, text: str, field: str, was: float | None, unit: str, show: Any, can_be: Quantity) -> float:
        text, factor = re.sub(rf"\s*({TYPED_UNIT[unit]})$", "", text.strip()), (LENGTHS | MASSES)[unit]
        if was is not None and text.replace(",", ".") in (show(was), show(was, TYPED_DIGITS)):
            return was
        least, most = (float(shown(bound / factor)) for bound in can_be.bounds)
        wanted = 0.0 if can_be.or_none else least, most
        return number(text, f"{field} ({unit})", *wanted, SUCH_AS.get(unit)) * factor
