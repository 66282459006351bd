"""What `weigh_out` answers with: every weight of a batch, what it achieves, how far it may be off, and what things are called."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain, count

from tintmix.numerals import listed, numeral
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.letdown import Need, Option
from tintmix.weighing.scales import Bench, Scale


@dataclass(frozen=True, slots=True)
class PartWeight:
    """A part of the resin, in grams.

    grams_total: its exact share of the batch, before rounding. carrier_g: of it, what comes with the letdowns, as they are
    weighed. grams_to_weigh: the rest, to the scale's step; within half a step, grams_to_weigh + carrier_g = grams_total.
    portions: grams_to_weigh in as many goes as the scale's capacity asks for. scale: "resin" or "pigment".
    """

    name: str
    grams_total: float
    grams_to_weigh: float
    carrier_g: float
    portions: tuple[float, ...]
    scale: str
    hazard: str | None
    takes_pigment: bool


@dataclass(frozen=True, slots=True)
class PigmentWeight:
    """A pigment of the recipe and what goes on the scale for it.

    dose_phr: as the recipe has it, in grams of the model's pigment per 100 g of mixed resin. grams: of pigment as supplied, from
    this lot or bottle, before rounding (the dose divided by the strength). letdown: the name of the stock bottle that it is
    weighed from; None: neat. weigh_g: what the scale shall show, of pigment or of the letdown; portions: in how many goes.
    spread: relative standard uncertainty of the dose from all its weighings, bottles included, the lot's strength left out.
    strength: of the lot or the bottle against the model's pigment.
    """

    pigment: str
    dose_phr: float
    grams: float
    letdown: str | None
    weigh_g: float
    spread: float
    portions: tuple[float, ...]
    scale: str
    strength: float
    strength_spread: float


@dataclass(frozen=True, slots=True)
class LetdownMade:
    """A stock bottle of this batch: one to make up, or one that stands on the shelf.

    n: parts of carrier to one of pigment, all steps together. pigment_g: the pigment in it. from_letdown: the bottle that it
    is diluted from, of which from_g go in; None: from neat pigment, then pigment_g go in. carrier_g: what is put to it, on
    carrier_scale, in carrier_portions. used_g: of it, for this batch. existing: from the shelf, where it held held_g; made_on,
    age_days: then, where known. strength: against the model's pigment. spread: relative standard uncertainty of it, from
    weighing.
    """

    name: str
    pigment: str
    n: float
    pigment_g: float
    carrier: str
    carrier_g: float
    used_g: float
    from_letdown: str | None = None
    from_g: float = 0.0
    existing: bool = False
    made_on: str = ""
    age_days: int | None = None
    strength: float = 1.0
    spread: float = 0.0
    lot: str = ""
    carrier_scale: str = "pigment"
    carrier_portions: tuple[float, ...] = ()
    held_g: float | None = None

    @property
    def first_g(self) -> float:
        """What goes into the bottle first: pigment, or the stronger letdown."""
        return self.pigment_g if self.from_letdown is None else self.from_g

    @property
    def total_g(self) -> float:
        """What it is made of in all."""
        return self.first_g + self.carrier_g

    @property
    def share(self) -> float:
        """Pigment as supplied in one gram of it."""
        return self.pigment_g / self.total_g

    @property
    def left_g(self) -> float:
        """What stays in the bottle when this batch has been weighed."""
        return max((self.total_g if self.held_g is None else self.held_g) - self.used_g, 0.0)

    @property
    def all_carrier_g(self) -> float:
        """All carrier in it, that of a stronger letdown too: pigment_g in all_carrier_g is what it holds, 1 + n."""
        return self.carrier_g if self.from_letdown is None else self.total_g - self.pigment_g

    def as_bottle(self, made_on: str, lot: str = "", resin: str = "") -> StockBottle:
        """The bottle as it stands on the shelf afterwards, for the book. As weighed: strength 1, its weighings' spread. resin:
        the name of the one that it is made with."""
        return StockBottle(
            self.name, self.pigment, self.carrier, self.pigment_g, self.all_carrier_g, self.left_g, made_on, lot or self.lot,
            strength_spread=min(self.spread, 1.0), resin=resin,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One thing that may be off. relative_spread: one standard deviation, of the doses that it touches. delta_e00: what it
    moves the colour by at the place where that is most, within 95 %, were it the only one. from_weighing: False for the
    strength of a lot, which no scale betters."""

    what: str
    relative_spread: float
    delta_e00: float
    from_weighing: bool = True


@dataclass(frozen=True, slots=True)
class WeighOut:
    """All weights of one batch.

    batch_g: mixed resin, all parts, before pigment, as asked for. batch_weighed_g: as the rounded weights give it.
    achieved_phr: the doses that the rounded weights bring, in the recipe's own terms (strengths counted in).
    mix_ratio_error: the largest relative error of a part's share, from rounding; mix_ratio_spread: one standard deviation of
    it from the scales. delta_e00_95: within it lies 95 % of what rounding and weighing do to the colour, a value for each
    section; delta_e00_95_with_lots: the spread of the strengths added. budget: largest first. advice: whole sentences.
    meets_aim: delta_e00_95_worst is at most aim_delta_e00.
    """

    batch_g: float
    batch_weighed_g: float
    parts: tuple[PartWeight, ...]
    pigments: tuple[PigmentWeight, ...]
    letdowns: tuple[LetdownMade, ...]
    achieved_phr: dict[str, float]
    mix_ratio_error: float
    mix_ratio_spread: float
    delta_e00_95: tuple[float, ...]
    delta_e00_95_worst: float
    delta_e00_95_with_lots: tuple[float, ...]
    budget: tuple[BudgetLine, ...]
    advice: tuple[str, ...]
    aim_delta_e00: float
    meets_aim: bool
    scales: Bench

    @property
    def tinted_part(self) -> PartWeight:
        """The part that takes pigment."""
        return next(part for part in self.parts if part.takes_pigment)

    @property
    def tinted_part_g(self) -> float:
        """Mass of the tinted part with its pigment in, before the other parts are added, as weighed."""
        part = self.tinted_part
        return part.grams_to_weigh + part.carrier_g + self.pigment_g

    @property
    def pigment_g(self) -> float:
        """Grams of pigment as supplied in the batch, as weighed."""
        made = {letdown.name: letdown.share for letdown in self.letdowns}
        return sum(p.weigh_g * (1.0 if p.letdown is None else made[p.letdown]) for p in self.pigments)

    def scale(self, name: str) -> Scale:
        """The scale that a weight's `scale` names."""
        return self.scales.on(name).scale


def part_named(name: str) -> str:
    """A part of a resin as a sentence has it: a letter is "part B", a word is "the hardener".

    >>> part_named("B"), part_named("hardener")
    ('part B', 'the hardener')
    """
    return f"part {name}" if len(name) <= 2 else f"the {name}"


def part_label(name: str) -> str:
    """The same in front of a number: "part B", "hardener"."""
    return part_named(name).removeprefix("the ")


def tinted_named(name: str) -> str:
    """The part with its pigment in: "tinted part B", "the tinted hardener".

    >>> tinted_named("B"), tinted_named("hardener")
    ('tinted part B', 'the tinted hardener')
    """
    return f"tinted {part_named(name)}" if part_named(name) == part_label(name) else f"the tinted {name}"


def tinted_label(name: str) -> str:
    """The same in front of a number: "tinted part B", "tinted hardener"."""
    return tinted_named(name).removeprefix("the ")


def minutes(number: float) -> str:
    """Minutes in words.

    >>> minutes(1.0), minutes(8.0)
    ('1 minute', '8 minutes')
    """
    return f"{numeral(number)} minute" + "s" * (number != 1)


def opens_for_trial(others: Sequence[str], pot_life_min: float | None) -> str:
    """What a trial brings before the pot is mixed: the parts that take no pigment are opened, and a clock runs. others: names.

    >>> opens_for_trial(["A"], 8.0).partition(": ")[0]
    'A trial opens part A'
    """
    clock = "as the data sheet says" if pot_life_min is None else f"about {minutes(pot_life_min)} from when it is mixed"
    return (
        f"A trial opens {listed([part_named(name) for name in others])}: gloves and goggles on, extraction running, and shut "
        f"again at once. It has a pot life of its own, {clock}."
    )


def bottles_of(
    needs: Sequence[Need],
    options: Sequence[Option],
    weights: Sequence[float],
    carrier: str,
    taken: set[str],
    today: str,
) -> tuple[list[str | None], tuple[LetdownMade, ...]]:
    """For each pigment the bottle that it is weighed from (None: neat), and all bottles, the stronger before the weaker.

    carrier: name of the tinted part. taken: names on the shelf; a new bottle of the same ratio gets a number.
    """
    names: list[str | None] = []
    bottles: list[LetdownMade] = []
    taken = set(taken)
    for need, option, weight in zip(needs, options, weights, strict=True):
        own = _bottles(need, option, weight, carrier, taken, today)
        taken.update(bottle.name for bottle in own)
        bottles += own
        names.append(own[-1].name if own else None)
    return names, tuple(bottles)


def _bottles(need: Need, option: Option, weight: float, carrier: str, taken: set[str], today: str) -> list[LetdownMade]:
    source = option.source
    bottle = partial(LetdownMade, pigment=need.pigment, carrier=carrier, strength=source.strength)
    used = [*(step.first_g for step in source.made), weight]
    out: list[LetdownMade] = []
    share, strong, spread, lot = 1.0, None, 0.0, need.lot
    if (shelf := source.shelf) is not None:
        share, strong, lot = shelf.share, shelf.name, shelf.lot
        # What is left of the spread when the steps' own are taken off, in squares.
        spread = math.sqrt(max(source.spread**2 - sum(step.spread**2 for step in source.made), 0.0))
        old = bottle(
            name=shelf.name, n=float(f"{shelf.n:.9g}"), pigment_g=shelf.pigment_g, carrier_g=shelf.carrier_g, used_g=used[0],
            existing=True, made_on=shelf.made_on, age_days=shelf.age_days(today), spread=spread, held_g=shelf.left_g, lot=lot,
        )  # fmt: skip
        out.append(old)
    for step, used_g in zip(source.made, used[1:], strict=True):
        share *= step.share
        spread = math.hypot(spread, step.spread)
        ratio = f"{need.pigment} 1+{numeral(1.0 / share - 1.0, 4)}"
        numbered = (f"{ratio} ({number})" for number in count(2))
        name = next(name for name in chain([ratio], numbered) if name not in taken)
        new = bottle(
            name=name, n=float(f"{1.0 / share - 1.0:.9g}"),
            pigment_g=step.first_g if strong is None else share * (step.first_g + step.carrier_g),
            carrier_g=step.carrier_g, used_g=used_g, from_letdown=strong, from_g=0.0 if strong is None else step.first_g,
            made_on=today, spread=spread, lot=lot,
            carrier_scale=step.carrier_place.scale, carrier_portions=step.carrier_place.split(step.carrier_g),
        )  # fmt: skip
        out.append(new)
        strong = name
    return out
