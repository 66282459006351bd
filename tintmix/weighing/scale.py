"""What a scale is good for: the spread of a weighing, of a stock bottle, and how a bottle should be made. Physics §12.

Pure arithmetic in grams. A *stock bottle* (letdown) written 1 + n is one part pigment in n parts of the resin part that takes
pigment, by mass; the carrier counts to that part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tintmix.weighing.errors import BadScale

STEPS = (2, 5, 10, 20, 30, 50, 75, 100, 150, 200)
"""n of the stock bottles that are proposed; beyond the last, so little pigment colours so much that stirring decides."""
PORTION_SPREAD = 0.015
"""Relative spread that a weighed portion should not exceed: within the 2 % that a cup's dose is taken to be good for."""
ROUGH_SPREAD = 0.03
"""Relative spread beyond which a portion is too small for the scale."""
BOTTLE_SPREAD = 0.03
"""The same of the pigment in a bottle: it may be larger, since it cancels where chips and part are dosed from one bottle."""
LARGEST_BOTTLE_G = 150.0
CARRIER_SHARE = 0.5
"""At most this part of the resin part that takes pigment comes with the letdowns of one cup."""


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
    """readability_g: its smallest step. repeatability_g: None: as the readability (pocket scales). Raises BadScale.

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
                raise BadScale(f"its {name} is {value:g} g")
        if self.readability_g > 100:
            raise BadScale(f"its readability is {self.readability_g:g} g")
        if self.capacity_g is not None and self.capacity_g < 10 * self.readability_g:
            raise BadScale(f"its capacity, {self.capacity_g:g} g, is less than ten of its steps")

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


def scale_from_text(text: str) -> Scale:
    """`readability[:repeatability[:capacity]]` in grams, as the command line takes it. Raises BadScale.

    >>> scale_from_text("0.01:0.02:200")
    Scale(readability_g=0.01, repeatability_g=0.02, capacity_g=200.0)
    """
    parts = text.strip().removesuffix("g").strip().split(":")
    try:
        numbers = [float(part.strip().replace(",", ".")) if part.strip() else None for part in parts]
    except ValueError:
        numbers = []
    if not 1 <= len(numbers) <= 3 or numbers[0] is None:
        raise BadScale(f"{text[:40]!r} is none")
    return Scale(*numbers)  # type: ignore[arg-type]


def letdown_spread(pigment_g: float, carrier_g: float, used_g: float, spread_g: float) -> float:
    """Relative spread of the pigment that a used mass of a stock bottle brings.

    u_rel² = [u (1 − w)/m_p]² + [u (1 − w)/m_c]² + (u/m)², w = m_p/(m_p + m_c): pigment and carrier as weighed into the bottle,
    m the mass used, u of a difference. Physics §12.

    >>> round(letdown_spread(0.4, 20.0, 4.82, Scale(0.01).spread_g), 7)
    0.0362137
    """
    return math.hypot(bottle_spread(pigment_g, carrier_g, spread_g), spread_g / used_g)


def bottle_spread(pigment_g: float, carrier_g: float, spread_g: float) -> float:
    """Relative spread of a stock bottle's strength: the same for all that is dosed from it."""
    carrier_part = carrier_g / (pigment_g + carrier_g)
    return math.hypot(spread_g * carrier_part / pigment_g, spread_g * carrier_part / carrier_g)


@dataclass(frozen=True, slots=True)
class Bottle:
    """A stock bottle of 1 + n: pigment_g and carrier_g to weigh into it."""

    n: int
    pigment_g: float
    carrier_g: float

    @property
    def name(self) -> str:
        """As it is written on the bottle."""
        return f"1+{self.n}"

    def used_g(self, pigment_g: float) -> float:
        """Mass of letdown that brings so much pigment."""
        return pigment_g * (1 + self.n)


def bottle_for(
    pigment_g: Sequence[float], scale: Scale, most_used_g: float, spare: float = 1.5, extra_pigment_g: float = 0.0
) -> Bottle | None:
    """The stock bottle from which these amounts of neat pigment are dosed; None where the scale weighs them well as
    they are, or where even the strongest bottle would bring more carrier than a cup takes.

    The weakest dilution that brings every portion within PORTION_SPREAD, as far as no portion is above most_used_g (a cup
    holds only so much carrier); where none does, the strongest that still fits. spare: how much more is made than is used.
    extra_pigment_g: pigment for the part, dosed from the same bottle.

    >>> bottle_for([0.02, 0.12], Scale(0.01), 12.0)
    Bottle(n=50, pigment_g=0.5, carrier_g=25.0)
    >>> bottle_for([2.0], Scale(0.01), 12.0) is None
    True
    """
    needs = [grams for grams in pigment_g if grams > 0]
    least = scale.spread_g / PORTION_SPREAD
    if not needs or min(needs) >= least:
        return None
    fitting = [n for n in STEPS if max(needs) * (1 + n) <= most_used_g]
    if not fitting:
        return None
    n = next((n for n in fitting if min(needs) * (1 + n) >= least), fitting[-1])
    pigment = max(spare * sum(needs) + extra_pigment_g, scale.spread_g / BOTTLE_SPREAD)
    # No bottle larger than need be: a coarse scale would ask for litres.
    pigment = min(pigment, max(spare * sum(needs) + extra_pigment_g, LARGEST_BOTTLE_G / (1 + n)))
    step = max(0.1, scale.readability_g)
    pigment = float(f"{math.ceil(pigment / step - 1e-9) * step:.10g}")
    return Bottle(n, pigment, float(f"{pigment * n:.10g}"))


def least_weighable_g(scale: Scale) -> float:
    """The least neat pigment that this scale still doses within ROUGH_SPREAD, from the weakest bottle.

    >>> round(least_weighable_g(Scale(0.01)), 5)
    0.00244
    """
    return scale.spread_g / ROUGH_SPREAD / (1 + STEPS[-1])
