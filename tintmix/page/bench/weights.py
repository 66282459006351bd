"""What was really weighed on a batch sheet: which line is what, what the typed weights make, and how far off that is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any

from tintmix.numerals import numeral
from tintmix.optics.difference import delta_e00
from tintmix.page.colour.tint import difference_words
from tintmix.page.errors import about_box
from tintmix.page.hexes import wide_of
from tintmix.recipes.adjust.pot import as_weighed, shares_of
from tintmix.recipes.again import places_of
from tintmix.sheet.lines import Kind, Line, one_line
from tintmix.sheet.sheet import Sheet
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.slip import FAR, Put, check_near, factor_of
from tintmix.weighing.weighed import LetdownMade, WeighOut

INTO_POT = (Kind.FIRST, Kind.CARRIER, Kind.PART, Kind.PIGMENT)
"""What the tinted part is made of, its stock bottles with it."""
LONGEST_NAME = 120
"""Letters of a weight's name in the book."""


@dataclass(frozen=True, slots=True)
class Pot:
    """The tinted part as it was weighed.

    part_g: of the part that takes pigment, without what came with stock bottles. weighed: a pigment or a bottle, and grams, as
    an adjustment takes them. stocks: the bottles among them that the book does not know, as they were made. made_g: all of it.
    doses_phr: of the mix that it makes, in the pigments of the chips. strengths: of each pigment, as the sheet took it. typed:
    whether any of it was typed. The defaults: nothing is known of it.
    """

    part_g: float | None = None
    weighed: tuple[tuple[str, float], ...] = ()
    stocks: tuple[StockBottle, ...] = ()
    made_g: float = 0.0
    doses_phr: Mapping[str, float] = field(default_factory=dict)
    strengths: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    typed: bool = False


def weights_of(sheet: Sheet) -> dict[str, Line]:
    """Every weight of a sheet by its box, in its order."""
    return {
        f"{s}-{t}-{n}": line
        for s, stage in enumerate(sheet.stages)
        for t, step in enumerate(stage.steps)
        for n, line in enumerate(step.lines)
    }


def as_typed(sheet: Sheet, typed: Mapping[str, float]) -> dict[tuple[Kind, str], float]:
    """Grams of what the tinted part was made of; what was not typed was weighed as asked. By kind, and by the bottle that a
    line makes, else by the pigment or part that it is of."""
    return {
        (line.kind, line.into or line.of): typed.get(key, line.grams)
        for key, line in weights_of(sheet).items()
        if line.kind in INTO_POT
    }


def pot_of(sheet: Sheet, typed: Mapping[str, float], shelved: Collection[str] = ()) -> Pot:
    """What the typed weights make; what is not typed was weighed as asked. shelved: stock bottles that the book knows by name.

    Raises ValueProblem.
    """
    weighed, grams = sheet.weighed, as_typed(sheet, typed)
    shares = bottle_shares(weighed, grams)
    bottles = {one.name: one for one in weighed.letdowns}
    put, stocks, new = [], [], []
    for pigment in weighed.pigments:
        name = pigment.letdown or pigment.pigment
        put.append((name, grams[Kind.PIGMENT, pigment.pigment]))
        if pigment.letdown is None:
            continue
        stock = StockBottle.of_ratio(name, pigment.pigment, 1 / shares[name] - 1)
        stocks.append(stock)
        if not bottles[name].existing and name not in shelved:
            new.append(stock)
    part_g = grams[Kind.PART, weighed.tinted_part.name]
    names = [one.pigment for one in weighed.pigments]
    done = as_weighed(names, shares_of(sheet.resin), part_g, put, weighed.scales, stocks=stocks)
    strengths = {one.pigment: (one.strength, one.strength_spread) for one in weighed.pigments}
    doses = {name: done.doses_phr.get(name, 0.0) * strengths[name][0] for name in names}
    any_typed = any(key in typed for key, line in weights_of(sheet).items() if line.kind in INTO_POT)
    return Pot(part_g, tuple(put), tuple(new), done.made_g, doses, strengths, any_typed)


def bottle_shares(weighed: WeighOut, grams: Mapping[tuple[Kind, str], float]) -> dict[str, float]:
    """Pigment in a gram of each stock bottle, as it was made. grams: as `as_typed` gives them."""
    shares: dict[str, float] = {}
    for one in weighed.letdowns:
        if one.existing:
            shares[one.name] = one.share
            continue
        first, carrier = made_from(one, grams)
        brought = first * (1.0 if one.from_letdown is None else shares.get(one.from_letdown, 1.0))
        shares[one.name] = brought / (first + carrier) if first + carrier > 0 and brought > 0 else one.share
    return shares


def made_from(bottle: LetdownMade, grams: Mapping[tuple[Kind, str], float]) -> tuple[float, float]:
    """Grams that went into a bottle: first the pigment or the stronger bottle, then the carrier."""
    asked = {Kind.FIRST: bottle.first_g, Kind.CARRIER: bottle.carrier_g}
    first, carrier = (grams.get((kind, bottle.name), of) for kind, of in asked.items())
    return first, carrier


def named_weights(sheet: Sheet, typed: Mapping[str, float]) -> dict[str, float]:
    """What was typed, by the names under which the book keeps the weights of a pour: a stock bottle and a pigment by their own,
    a part by its own unless that is taken."""
    lines = {key: line for key, line in weights_of(sheet).items() if key in typed}
    names = {key: (line.out_of or line.of)[:LONGEST_NAME] for key, line in lines.items() if line.kind is Kind.PIGMENT}
    for key, line in lines.items():
        if line.kind in (Kind.PART, Kind.OTHER):
            names[key] = free_name(line.of, f"part {line.of}", names.values())
        elif line.into:
            name = f"{line.what} into {line.into}"
            names[key] = free_name(name, name, names.values())
    return {names[key]: typed[key] for key in lines if key in names}


def free_name(name: str, otherwise: str, taken: Collection[str]) -> str:
    """The first of name, otherwise, and otherwise with a number that is not taken; none longer than the book takes."""
    numbered = (f"{otherwise[: LONGEST_NAME - 5]} ({number})" for number in range(2, 100))
    names = (one_line(one)[:LONGEST_NAME] for one in (name, otherwise))
    return next(one for one in chain(names, numbered) if one not in taken)


def check_typed(sheet: Sheet, typed: Mapping[str, float], bottles_only: bool = False) -> float:
    """How many times larger than the sheet's the batch was; 1 where its weights have no one factor. Raises ValueProblem for a
    weight far from the one asked for: of a stock bottle held against what else went into it, of the pot against the batch."""
    groups: dict[str, list[tuple[Kind, str, Put]]] = {}
    for key, line in weights_of(sheet).items():
        put = Put(line.what, typed.get(key, line.grams), line.grams, line.scale.readability_g)
        of_trial = line.kind in (Kind.SAMPLE, Kind.TRIAL)
        groups.setdefault(line.into or ("trial" if of_trial else ""), []).append(
            (line.kind, key if key in typed else "", put)
        )
    larger = 1.0
    for name, group in groups.items():
        if bottles_only and group[0][0] not in (Kind.FIRST, Kind.CARRIER):
            continue
        # What goes in on the day only is not weighed yet while nothing stands there.
        factor = factor_of([put for kind, said, put in group if said or kind is not Kind.OTHER])
        for _, said, put in group:
            if said:
                with about_box(f"weight.{said}"):
                    check_near(put._replace(asked_g=put.asked_g * factor))
        if not name:
            larger = factor
    return larger


def off_words(line: Line, grams: float) -> str:
    """How far a typed weight is from the one asked for; nothing where it is that one.

    >>> from tintmix.weighing.scales import Scale
    >>> off_words(Line(kind=Kind.PART, of="B", grams=200.0, scale=Scale(0.1)), 202.0)
    '+1 %'
    """
    apart = grams - line.grams
    if abs(apart) < 0.51 * line.scale.readability_g or not line.grams:
        return ""
    percent = 100 * apart / line.grams
    told = f"{'+' if percent > 0 else ''}{numeral(percent, 2)} %"
    told = told if abs(percent) < 100 else f"{grams / line.grams:.2g} times"
    return told if 1 / FAR <= grams / line.grams <= FAR else f"{told}: a slip?"


def effects_of(
    sheet: Sheet, typed: Mapping[str, float], shelved: Collection[str], recipe: Any, model: Any
) -> dict[str, dict[str, Any]]:
    """What each weight that is not the one asked for does by itself, by its box: the sheet's colour and this one's at the place
    that it changes most. Only what goes into the tinted part changes a colour by itself here."""
    found = {}
    for key, line in weights_of(sheet).items():
        if key not in typed or not off_words(line, typed[key]) or line.kind not in INTO_POT:
            continue
        seen = seen_as_weighed(sheet, pot_of(sheet, {key: typed[key]}, shelved), recipe, model)
        at = seen["places"].index(seen["worst"])
        planned = sheet.looks.places[at]
        wide = wide_of(planned.lab, sheet.looks.light, sheet.looks.observer)
        found[key] = {"planned": planned.srgb, "planned_wide": wide, **seen["worst"]}
    return found


def seen_as_weighed(sheet: Sheet, pot: Pot, recipe: Any, model: Any) -> dict[str, Any]:
    """What the pot as weighed will look like: each place, how far from the sheet's colour and from the target's."""
    places = places_of(recipe, model, Path(), recipe.name)
    look = model.look(pot.doses_phr, places.sections, places.light, places.observer)
    colours = look.screen.hex
    out = []
    for s, planned in enumerate(sheet.looks.places):
        off = float(delta_e00(planned.lab, look.lab[s]))
        wanted = planned.target_lab
        target = None if wanted is None else float(delta_e00(wanted, look.lab[s]))
        out.append(
            {
                "name": planned.name,
                "srgb": colours[s],
                "wide": wide_of(look.lab[s], places.light, places.observer),
                "off": off,
                "says": difference_words(off),
                "target_off": target,
                "within": target is None or target <= planned.tolerance,
            }
        )
    return {
        "places": out, "worst": max(out, key=lambda one: one["off"]), "within": all(one["within"] for one in out),
    }  # fmt: skip
