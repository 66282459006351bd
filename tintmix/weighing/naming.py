"""What things are called: stock bottles, with what goes into them in the order in which they are made; parts of a resin."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tintmix.numerals import numeral
from tintmix.weighing.letdown import Need, Option
from tintmix.weighing.weighed import LetdownMade


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
    made = source.made
    out = []
    share, strong, spread, lot = 1.0, None, 0.0, need.lot
    if source.shelf is not None:
        shelf = source.shelf
        share, strong, lot = shelf.share, shelf.name, shelf.lot
        spread = _rest(source.spread, [step.spread for step in made])
        out.append(
            LetdownMade(
                name=shelf.name,
                pigment=need.pigment,
                n=float(f"{shelf.n:.9g}"),
                pigment_g=shelf.pigment_g,
                carrier=carrier,
                carrier_g=shelf.carrier_g,
                used_g=made[0].first_g if made else weight,
                existing=True,
                made_on=shelf.made_on,
                age_days=shelf.age_days(today),
                strength=source.strength,
                spread=spread,
                held_g=shelf.left_g,
                lot=lot,
            )
        )
    for i, step in enumerate(made):
        share *= step.share
        spread = math.hypot(spread, step.spread)
        name = _free(f"{need.pigment} 1+{numeral(1.0 / share - 1.0, 4)}", taken)
        out.append(
            LetdownMade(
                name=name,
                pigment=need.pigment,
                n=float(f"{1.0 / share - 1.0:.9g}"),
                pigment_g=step.first_g if strong is None else share * (step.first_g + step.carrier_g),
                carrier=carrier,
                carrier_g=step.carrier_g,
                used_g=weight if i == len(made) - 1 else made[i + 1].first_g,
                from_letdown=strong,
                from_g=step.first_g if strong is not None else 0.0,
                made_on=today,
                strength=source.strength,
                spread=spread,
                lot=lot,
                carrier_scale=step.carrier_place.scale,
                carrier_portions=step.carrier_place.split(step.carrier_g),
            )
        )
        strong = name
    return out


def _rest(whole: float, steps: Sequence[float]) -> float:
    """What is left of a spread when the steps' own are taken off, in squares."""
    return math.sqrt(max(whole**2 - sum(step**2 for step in steps), 0.0))


def _free(name: str, taken: set[str]) -> str:
    if name not in taken:
        return name
    number = 2
    while f"{name} ({number})" in taken:
        number += 1
    return f"{name} ({number})"
