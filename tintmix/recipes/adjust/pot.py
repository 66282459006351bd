"""What is in the pot: the tinted part as it was weighed, what it makes, and the stock bottles that it came from. Grams."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.quantities import GRAMS, GRAMS_OR_NONE, MINUTES
from tintmix.recipes.adjust.belief import WEIGH_SPREAD
from tintmix.resin import Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import Bench
from tintmix.weighing.weighed import part_named

_LETDOWN = re.compile(r"(?P<pigment>.+?)\s+1\s*\+\s*(?P<n>\d+(?:[.,]\d+)?)")
ROOM = 2.0
"""What the pot is taken to hold, times what is in it, where nobody says."""
_WEAKEST = 100_000
"""n of a bottle that nobody makes: a gram of it would hold ten micrograms of pigment."""
_SAME = 1.0005
"""More left than was made by less than this is the scale's affair."""


def check_weight(what: str, grams: float, or_none: bool = False) -> None:
    """Raises ValueProblem. or_none: zero will do."""
    (GRAMS_OR_NONE if or_none else GRAMS).check(what, grams, remedy=Remedy.WEIGH_AGAIN)


@dataclass(frozen=True, slots=True)
class TintedPart:
    """The tinted part of a resin, not yet mixed (or mixed so many minutes ago).

    doses_phr: of the mix that it makes, as weighed. left_g: what is in the pot now, pigment and all. pot_g: the most that
    pot holds; None: not said. weigh_spreads: relative, by pigment. mixed_minutes_ago: None: the other part is not in yet.
    Raises ValueProblem.
    """

    doses_phr: Mapping[str, float]
    left_g: float
    pot_g: float | None = None
    weigh_spreads: Mapping[str, float] = field(default_factory=dict)
    mixed_minutes_ago: float | None = None

    def __post_init__(self) -> None:
        check_weight("what is left in the pot", self.left_g)
        if self.pot_g is not None:
            check_weight("what the pot holds", self.pot_g)
            if self.pot_g < self.left_g:
                raise ValueProblem(
                    what=f"the pot is said to hold {self.pot_g:g} g, but {self.left_g:g} g of tinted resin are in it",
                    remedy=Remedy.SAY_WHAT_POT_HOLDS,
                )
        if self.mixed_minutes_ago is not None:
            MINUTES.check("the time since the parts were mixed", self.mixed_minutes_ago)

    @property
    def full_g(self) -> float:
        """The most that the pot holds, as said or as taken."""
        return ROOM * self.left_g if self.pot_g is None else self.pot_g

    @property
    def room_g(self) -> float:
        """How much more the pot takes."""
        return self.full_g - self.left_g


@dataclass(frozen=True, slots=True)
class Shares:
    """The part that takes pigment, its share of the mix by mass, and the shares of the others."""

    takes: str
    share: float
    others: tuple[tuple[str, float], ...]

    def resin_g(self, part: TintedPart) -> float:
        """Grams of the part that takes pigment in the pot, without the pigment.

        A mix of 100 g of resin holds Σc of pigment and 100·share of this part, so that of the tinted part the fraction
        100·share/(100·share + Σc) is resin. Where all is mixed: 100/(100 + Σc), of which `share` is this part.

        >>> shares = Shares("B", 0.5, (("A", 0.5),))
        >>> round(shares.resin_g(TintedPart({"azure": 2.0}, 104.0)), 9)
        100.0
        """
        total = math.fsum(part.doses_phr.values())
        if part.mixed_minutes_ago is not None:
            return part.left_g * 100 * self.share / (100 + total)
        return part.left_g * 100 * self.share / (100 * self.share + total)

    def other_parts(self, resin_g: float) -> tuple[tuple[str, float], ...]:
        """What so much of this part is mixed with: its mass times the ratio (physics §13: carriers count, pigment does not).

        >>> Shares("B", 0.4, (("A", 0.6),)).other_parts(80.0)
        (('A', 120.0),)
        """
        return tuple((name, float(f"{resin_g * other / self.share:.12g}")) for name, other in self.others)


def shares_of(resin: Resin | None) -> Shares:
    """Raises FileProblem."""
    if resin is None or resin.takes_pigment is None or not resin.parts:
        what = "the resin does not say which of its parts takes the pigment"
        if resin is None or not resin.parts:
            what = "the recipe's resin does not say which parts it is mixed from"
        raise FileProblem(
            what=f"{what}, so what goes to it cannot be worked out", remedy=Remedy.GIVE_RESIN_WITH_ITS_PARTS
        )
    total = math.fsum(part.parts_by_weight for part in resin.parts)
    by_name = {part.name: part.parts_by_weight / total for part in resin.parts}
    others = tuple((name, share) for name, share in by_name.items() if name != resin.takes_pigment)
    return Shares(resin.takes_pigment, by_name[resin.takes_pigment], others)


@dataclass(frozen=True, slots=True)
class Weighed:
    """A history in grams, worked out. doses_phr, weigh_spreads: as TintedPart takes them. made_g: the whole tinted part."""

    doses_phr: Mapping[str, float]
    weigh_spreads: Mapping[str, float]
    made_g: float


def as_weighed(
    pigments: Sequence[str],
    shares: Shares,
    part_g: float,
    weighed: Sequence[tuple[str, float]],
    bench: Bench,
    asked_phr: Mapping[str, float] | None = None,
    stocks: Sequence[StockBottle] = (),
    with_carriers: bool = False,
) -> Weighed:
    """The doses of a tinted part from what was put on the scale: dose = 100 · pigment · share / resin of that part.

    part_g: of the part that takes pigment; with_carriers: what the letdowns brought is in it already, else it comes on top.
    weighed: a pigment or a letdown ("azure 1+50", or the name of one of `stocks`), and grams of it, as often as it was added.
    asked_phr: of pigments that are not named. Raises ValueProblem.

    >>> from tintmix.weighing.scales import scales_from_text
    >>> shares = Shares("B", 0.5, (("A", 0.5),))
    >>> done = as_weighed(["azure"], shares, 94.9, [("azure 1+50", 5.1)], scales_from_text(["0.01"]))
    >>> {p: round(dose, 9) for p, dose in done.doses_phr.items()}, round(done.made_g, 9)
    ({'azure': 0.05005005}, 100.0)
    """
    check_weight(part_named(shares.takes), part_g)
    pigment_g: dict[str, float] = {}
    squares: dict[str, float] = {}
    carrier_g = 0.0
    for name, grams in weighed:
        check_weight(name, grams, or_none=True)
        stock = next((one for one in stocks if one.name == name), None) or stock_of(name, pigments)
        pigment, share = (name, 1.0) if stock is None else (stock.pigment, stock.share)
        if pigment not in pigments:
            raise ValueProblem(
                what=f"{name!r} is no pigment of this model, and no stock bottle; it knows {', '.join(pigments)}",
                remedy=Remedy.WRITE_BOTTLE_AS_RATIO,
                pigment=next(iter(pigments), "azure"),
            )
        pigment_g[pigment] = pigment_g.get(pigment, 0.0) + grams * share
        squares[pigment] = squares.get(pigment, 0.0) + (bench.pigment_place(grams).spread_g * share) ** 2
        carrier_g += grams * (1 - share)
    if with_carriers and carrier_g > part_g * _SAME:
        raise ValueProblem(
            what=f"what was weighed from stock bottles brought {carrier_g:.4g} g of part {shares.takes}, but the whole batch "
            f"holds only {part_g:.4g} g of it",
            remedy=Remedy.CHECK_WEIGHTS_AND_BATCH,
        )
    resin_g = part_g if with_carriers else part_g + carrier_g
    doses = {p: 100 * g * shares.share / resin_g for p, g in pigment_g.items()}
    spreads = {p: min(math.sqrt(squares[p]) / g, 1.0) if g > 0 else WEIGH_SPREAD for p, g in pigment_g.items()}
    doses |= {p: dose for p, dose in (asked_phr or {}).items() if p not in doses}
    made = resin_g + math.fsum(dose * resin_g / (100 * shares.share) for dose in doses.values())
    return Weighed(doses, spreads, made)


def stock_of(name: str, pigments: Sequence[str]) -> StockBottle | None:
    """The stock bottle that a name such as "azure 1+50" stands for; None for a name that is none.

    >>> found = stock_of("sea green 1+50", ["sea green"])
    >>> found.pigment, found.n
    ('sea green', 50.0)
    >>> stock_of("azure", ["azure"]) is None
    True
    """
    found = None if name in pigments else _LETDOWN.fullmatch(name.strip())
    if found is None:
        return None
    n = float(found["n"].replace(",", "."))
    if not 0 < n <= _WEAKEST:
        raise ValueProblem(
            where=f"stock bottle {name!r}",
            what=f"1 + {numeral(n)} is no ratio",
            remedy=Remedy.WRITE_BOTTLE_AS_RATIO,
            pigment=found["pigment"],
        )
    return StockBottle.of_ratio(name, found["pigment"], n)


def check_left(part: TintedPart, made_g: float) -> None:
    """Raises ValueProblem."""
    if part.left_g > made_g * _SAME:
        raise ValueProblem(
            what=f"{part.left_g:g} g of tinted resin are said to be left, but only {made_g:g} g were made",
            remedy=Remedy.WEIGH_POT_AGAIN,
        )
