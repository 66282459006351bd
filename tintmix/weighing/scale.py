"""What a scale is good for: the spread of a weighing, of a stock bottle, and how a bottle should be made. Physics §12.

Pure arithmetic in grams. A *stock bottle* (letdown) written 1 + n is one part pigment in n parts of the resin part that takes
pigment, by mass; the carrier counts to that part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tintmix.weighing.errors import bad_scale

STEPS = (2, 5, 10, 20, 30, 50, 75, 100, 150, 200)
"""n of the stock bottles that are proposed; beyond the last, so little pigment colours so much that stirring decides."""
PORTION_SPREAD = 0.015
"""Relative spread that a weighed portion should not exceed: within the 2 % that a cup's dose is taken to be good for."""
ROUGH_SPREAD = 0.03
"""Relative spread beyond which a portion is too small for the scale."""
BOTTLE_SPREAD = 0.03
"""The same of the pigment in a bottle: it may be larger, since it cancels where chips and part are dosed from one bottle."""
LARGEST_BOTTLE_G = 150.0
"""More than this is left over for years: only a batch that uses it asks for a larger one (common practice)."""


def scale_spread_g(readability_g: float, repeatability_g: float | None = None) -> float:
    """Standard uncertainty of a difference of two readings of a scale, in grams.

    u = √2·√(d²/12 + s²), d the readability, s the repeatability (s = d where it is not given: pocket scales).
    GUM, JCGM 100:2008.

    >>> round(scale_spread_g(0.01), 7)
    0.0147196
    """
    s = readability_g if repeatability_g is None else repeatability_g
    return math.sqrt(2.0) * math.sqrt(readability_g**2 / 12.0 + s**2)


@dataclass(frozen=True, slots=True)
class Scale:
    """readability_g: its smallest step. repeatability_g: None: as the readability (pocket scales). Raises ValueProblem.

    >>> round(Scale(0.01).spread_g, 7)
    0.0147196
    """

    readability_g: float
    repeatability_g: float | None = None
    capacity_g: float | None = None

    def __post_init__(self) -> None:
        for name, value, least in (
            ("readability", self.readability_g, 0.0),
            ("repeatability", self.repeatability_g, -1.0),
            ("capacity", self.capacity_g, 0.0),
        ):
            if value is not None and not (math.isfinite(value) and least < value <= 1e6 and value >= 0):
                raise bad_scale(f"its {name} is {value:g} g")
        if self.readability_g > 100:
            raise bad_scale(f"its readability is {self.readability_g:g} g")
        if self.capacity_g is not None and self.capacity_g < 10 * self.readability_g:
            raise bad_scale(f"its capacity, {self.capacity_g:g} g, is less than ten of its steps")

    @property
    def spread_g(self) -> float:
        """Standard uncertainty of a difference of two readings, see `scale_spread_g`."""
        return scale_spread_g(self.readability_g, self.repeatability_g)

    def rounded(self, grams: float) -> float:
        """The nearest weight that the scale can show.

        >>> Scale(0.05).rounded(1.234)
        1.25
        """
        steps = round(grams / self.readability_g)
        return float(f"{steps * self.readability_g:.10g}")


def shown(grams: float, scale: Scale) -> str:
    """Grams with as many decimals as the scale shows.

    >>> shown(208.4, Scale(0.01)), shown(1.25, Scale(0.05)), shown(240.0, Scale(1.0))
    ('208.40 g', '1.25 g', '240 g')
    """
    return f"{grams:.{decimals(scale)}f} g"


def decimals(scale: Scale) -> int:
    """How many decimals the scale shows, at most six.

    >>> decimals(Scale(0.05)), decimals(Scale(5.0))
    (2, 0)
    """
    step, count = scale.readability_g, 0
    while count < 6 and abs(round(step, count) - step) > 1e-9:
        count += 1
    return count


def scale_from_text(text: str) -> Scale:
    """`readability[:repeatability[:capacity]]` in grams, as the command line takes it. Raises ValueProblem.

    >>> scale_from_text("0.01:0.02:200")
    Scale(readability_g=0.01, repeatability_g=0.02, capacity_g=200.0)
    """
    parts = text.strip().removesuffix("g").strip().split(":")
    try:
        numbers = [float(part.strip().replace(",", ".")) if part.strip() else None for part in parts]
    except ValueError:
        numbers = []
    if not 1 <= len(numbers) <= 3 or numbers[0] is None:
        raise bad_scale(f"{text[:40]!r} is none")
    return Scale(*numbers)  # type: ignore[arg-type]


def bottle_spread(pigment_g: float, carrier_g: float, spread_g: float) -> float:
    """Relative spread of a stock bottle's strength: the same for all that is dosed from it."""
    carrier_part = carrier_g / (pigment_g + carrier_g)
    return math.hypot(spread_g * carrier_part / pigment_g, spread_g * carrier_part / carrier_g)


def least_weighable_g(scale: Scale) -> float:
    """The least neat pigment that this scale still doses within ROUGH_SPREAD, from the weakest bottle.

    >>> round(least_weighable_g(Scale(0.01)), 5)
    0.00244
    """
    return scale.spread_g / ROUGH_SPREAD / (1 + STEPS[-1])
