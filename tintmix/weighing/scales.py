"""What a scale is good for, and the bench: its two scales, which of them a weight goes on, in how many portions. Physics §12.

Pure arithmetic in grams. A *stock bottle* (letdown) written 1 + n is one part pigment in n parts of the resin part that takes
pigment, by mass; the carrier counts to that part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from tintmix.errors import Remedy, ValueProblem
from tintmix.files.words import did_you_mean, number_plain, plain
from tintmix.quantities import GRAMS, GRAMS_OR_NONE, STEP_G

STEPS = (2, 5, 10, 20, 30, 50, 75, 100, 150, 200)
"""n of the stock bottles that are proposed; beyond the last, so little pigment colours so much that stirring decides."""
PORTION_SPREAD = 0.015
"""Relative spread that a weighed portion should not exceed: within the 2 % that a cup's dose is taken to be good for."""
ROUGH_SPREAD = 0.03
"""Relative spread beyond which a portion is too small for the scale."""
BOTTLE_SPREAD = 0.03
"""The same of the pigment in a bottle: it may be larger, since it cancels where chips and part are dosed from one bottle."""
FINER = (1.0, 0.1, 0.01, 0.001, 0.0001)
"""Readabilities, g, of scales as they are sold (common practice)."""
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
        for name, value, can_be in (
            ("readability", self.readability_g, STEP_G),
            ("repeatability", self.repeatability_g, GRAMS_OR_NONE),
            ("capacity", self.capacity_g, GRAMS),
        ):
            if value is not None and not can_be.holds(value):
                raise _bad_scale(f"its {name} is {number_plain(value)} g; it must be {can_be.limit}")
        if self.capacity_g is not None and self.capacity_g < 10 * self.readability_g:
            raise _bad_scale(f"its capacity, {self.capacity_g:g} g, is less than ten of its steps")

    @property
    def spread_g(self) -> float:
        """Standard uncertainty of a difference of two readings, see `scale_spread_g`."""
        return scale_spread_g(self.readability_g, self.repeatability_g)

    def rounded(self, grams: float) -> float:
        """The nearest weight that the scale can show.

        >>> Scale(0.05).rounded(1.234)
        1.25
        """
        return float(f"{round(grams / self.readability_g) * self.readability_g:.10g}")


def shown(grams: float, scale: Scale) -> str:
    """Grams as the scale can show them: its nearest step, with as many decimals as it has.

    >>> shown(208.4, Scale(0.01)), shown(177.78, Scale(0.25)), shown(240.0, Scale(1.0))
    ('208.40 g', '177.75 g', '240 g')
    """
    return f"{scale.rounded(grams):.{decimals(scale)}f} g"


def decimals(scale: Scale) -> int:
    """How many decimals the scale shows, at most six.

    >>> decimals(Scale(0.05)), decimals(Scale(5.0))
    (2, 0)
    """
    step = scale.readability_g
    return next((count for count in range(6) if abs(round(step, count) - step) <= 1e-9), 6)


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
        raise _bad_scale(f"{text[:40]!r} is none")
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


LEAST_STEPS = 10
"""The least that is put on a scale, in its steps. OIML R 76-1 (2006), table 3, sets the minimum capacity of scales at 10
(class IIII) to 20 (classes III and II) verification intervals and more."""
GOOD_STEPS = 100
"""A resin part of fewer steps than this goes on the finer scale where that holds it: below, rounding alone costs 0.5 %."""
FILLED = 0.9
"""The part of a scale's capacity that is used: the vessel weighs too (common practice)."""
UNSAID_STEPS = 20_000
"""What a second, finer scale of unsaid capacity is taken to hold, in its steps: 20 g at 0.001 g, 200 g at 0.01 g
(common practice)."""
MOST_PORTIONS = 20
"""More goes than this onto one scale, and a miscount is likelier than a good batch (common practice)."""
USUAL = ("resin=0.1", "pigment=0.01")
"""Where nobody says: a kitchen scale for resin, a pocket scale for pigment."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a weight goes. scale: "resin" or "pigment". step_g: its smallest step. spread_g: standard uncertainty of the
    whole weight, all portions together. portions: in how many goes."""

    scale: str
    step_g: float
    spread_g: float
    portions: int

    def rounded(self, grams: float) -> float:
        """The nearest weight that can be shown."""
        return float(f"{round(grams / self.step_g) * self.step_g:.12g}")

    def split(self, grams: float) -> tuple[float, ...]:
        """A weight of whole steps in as even portions as whole steps allow.

        >>> Place("resin", 0.1, 0.2, 3).split(100.0)
        (33.4, 33.3, 33.3)
        """
        steps = round(grams / self.step_g)
        even, over = divmod(steps, self.portions)
        return tuple(float(f"{(even + (i < over)) * self.step_g:.12g}") for i in range(self.portions))


@dataclass(frozen=True, slots=True)
class OnScale:
    """One of the two scales as it is used. least_g, most_g: of what is put on it at once, its vessel left out; once: the place
    of such a weight."""

    name: str
    scale: Scale
    least_g: float
    most_g: float
    once: Place

    def place(self, grams: float) -> Place | None:
        """Where so much is weighed, in as few goes as it takes; None where that is too little or too much for it."""
        if self.least_g <= grams <= self.most_g:
            return self.once
        step = self.scale.readability_g
        if grams < self.least_g or self.most_g < 2 * self.least_g:
            return None
        # A weight that rounds up by half a step still has to fit; whole steps only: a portion may be one below their mean.
        portions = math.ceil((grams + step) / self.most_g)
        if portions > MOST_PORTIONS or grams < portions * (self.least_g + step):
            return None
        return Place(self.name, step, self.once.spread_g * math.sqrt(portions), portions)


@dataclass(frozen=True, slots=True)
class Bench:
    """What is at hand to weigh with: the scale for resin and the scale for pigment, which may be the same one.

    Plan, sheet, adjust and lot all ask it where a weight goes, how it is rounded, and how far it may be off.

    >>> bench = Bench(Scale(0.1), Scale(0.01))
    >>> [bench.part_place(grams).step_g for grams in (120.0, 1.24)]
    [0.1, 0.01]
    """

    resin: Scale
    pigment: Scale
    on_resin: OnScale = field(init=False, compare=False, repr=False)
    on_pigment: OnScale = field(init=False, compare=False, repr=False)
    are_one: bool = field(init=False, compare=False, repr=False)
    """Whether one scale weighs all."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "are_one", self.resin == self.pigment)
        object.__setattr__(self, "on_resin", self._bench("resin", self.resin))
        object.__setattr__(self, "on_pigment", self._bench("pigment", self.pigment))

    @property
    def finest_g(self) -> float:
        """The finest step at hand."""
        return min(self.resin.readability_g, self.pigment.readability_g)

    def on(self, name: str) -> OnScale:
        """The scale that a place names.

        >>> scales_from_text(["resin=0.1:0.1:2000", "pigment=0.001"]).on("resin").most_g
        1800.0
        """
        return self.on_resin if name == "resin" else self.on_pigment

    def shown(self, grams: float, place: Place) -> str:
        """Grams as the scale of that place shows them.

        >>> bench = scales_from_text(["0.25"])
        >>> bench.shown(1.25, bench.pigment_place(1.25))
        '1.25 g'
        """
        return shown(grams, self.on(place.scale).scale)

    def pigment_place(self, grams: float) -> Place:
        """Where pigment or a letdown is weighed, even where that is more or less than a scale should be asked for: what is
        too little goes on the finest."""
        return self.for_pigment(grams) or self._nearest(grams)

    def part_place(self, grams: float) -> Place:
        """Where a resin part is weighed, even where that is more or less than a scale should be asked for."""
        return self.for_part(grams) or self._nearest(grams)

    def _nearest(self, grams: float) -> Place:
        fine = self.on_pigment if self.pigment.readability_g <= self.resin.readability_g else self.on_resin
        large = max(self.on_resin, self.on_pigment, key=lambda one: one.most_g)
        return (fine if grams <= fine.most_g else large).once

    def for_pigment(self, grams: float) -> Place | None:
        """Where pigment or a letdown is weighed; None where no scale can. The pigment scale, in one go, if it holds it."""
        first = self.on_pigment.place(grams)
        if self.are_one or (first is not None and first.portions == 1):
            return first
        return _finer(first, self.on_resin.place(grams))

    def for_part(self, grams: float) -> Place | None:
        """Where a resin part is weighed; None where no scale can. The resin scale if that is fine enough for it."""
        first = self.on_resin.place(grams)
        if self.are_one or (first is not None and grams >= GOOD_STEPS * first.step_g):
            return first
        return _finer(first, self.on_pigment.place(grams))

    def _bench(self, name: str, scale: Scale) -> OnScale:
        most = math.inf
        if scale.capacity_g is not None:
            most = FILLED * scale.capacity_g
        elif name == "pigment" and not self.are_one:
            most = UNSAID_STEPS * scale.readability_g
        once = Place(name, scale.readability_g, scale.spread_g, 1)
        return OnScale(name, scale, LEAST_STEPS * scale.readability_g, most, once)


def _finer(first: Place | None, second: Place | None) -> Place | None:
    if first is None or second is None:
        return second if first is None else first
    return second if second.spread_g < first.spread_g else first


def scales_from_text(texts: Sequence[str]) -> Bench:
    """The scales as the command line takes them: one for all, or `resin=` and `pigment=`. Raises ValueProblem.

    A scale is `readability[:repeatability[:capacity]]` in grams. Where only the pigment's is told, the resin goes on the
    `USUAL` one; the resin's alone weighs both, for who has a finer one tells of it. A bare one beside a named one weighs what is
    not named.

    >>> scales_from_text(["0.01"]).are_one
    True
    >>> scales_from_text(["resin=0.1:0.1:2000", "pigment=0.001"]).pigment.readability_g
    0.001
    """
    found: dict[str, Scale] = {}
    for text in texts:
        name, sign, rest = text.partition("=")
        name = name.strip().lower() if sign else "both"
        if sign and name not in ("resin", "pigment"):
            raise _bad_scales(text, f"is for {name[:40]!r}; {did_you_mean(name, ('resin', 'pigment'))}".rstrip("?"))
        if name in found:
            raise _bad_scales(text, "is the second of its kind")
        found[name] = scale_from_text(rest if sign else text)
    if not found:
        raise _bad_scales("", "is missing")
    if len(found) == 3:
        raise _bad_scales(texts[0], "is one too many: resin and pigment are both named")
    resin = found.get("resin") or found.get("both") or scale_from_text(USUAL[0].partition("=")[2])
    return Bench(resin, found.get("pigment") or found.get("both") or resin)


def _bad_scale(what: str) -> ValueProblem:
    return ValueProblem(where="the scale cannot be used", what=what, remedy=Remedy.WRITE_THE_SCALE)


def _bad_scales(text: str, reason: str) -> ValueProblem:
    return ValueProblem(what=f"the scale {plain(text)!r} {reason}", remedy=Remedy.WRITE_ONE_SCALE_OR_TWO)
