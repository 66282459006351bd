"""What was really weighed on a batch sheet: which line is what, what the typed weights make, and how far off that is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from tintmix.recipes.adjust_pot import Stock, as_weighed, shares_of
from tintmix.shop.sheet import Sheet
from tintmix.shop.sheet_words import one_line
from tintmix.weighing.weighed import LetdownMade, WeighOut

Kind = Literal["first", "carrier", "part", "pigment", "other", "trial"]
_TRIAL = "trial chip"


@dataclass(frozen=True, slots=True)
class Weight:
    """A line of the sheet with a weight. key: its box. name: of the stock bottle, part or pigment it belongs to."""

    key: str
    kind: Kind
    name: str
    what: str
    asked_g: float
    shown: str


@dataclass(frozen=True, slots=True)
class Pot:
    """The tinted part as it was weighed.

    part_g: of the part that takes pigment, without what came with stock bottles. weighed: a pigment or a bottle, and grams, as
    an adjustment takes them. made_g: all of it. doses_phr: of the mix that it makes, in the pigments of the chips. strengths:
    of each pigment, as the sheet took it. typed: whether any of it was typed.
    """

    part_g: float
    weighed: tuple[tuple[str, float], ...]
    made_g: float
    doses_phr: dict[str, float]
    strengths: dict[str, tuple[float, float]]
    typed: bool


def key_of(stage: int, step: int, line: int) -> str:
    """The name of a line's box."""
    return f"{stage}-{step}-{line}"


def weights_of(sheet: Sheet, weighed: WeighOut) -> tuple[Weight, ...]:
    """Every weight of a sheet, in its order, with what it is of."""
    bottles = {f"Stock bottle {one_line(one.name)}": one for one in weighed.letdowns if not one.existing}
    tinted = weighed.tinted_part.name
    out = []
    for s, stage in enumerate(sheet.stages):
        for t, step in enumerate(stage.steps):
            for n, line in enumerate(step.lines):
                if line.grams is None:
                    continue
                kind: Kind
                if step.title in bottles:
                    kind, name = ("first", "carrier")[n], bottles[step.title].name
                elif step.title == one_line(f"Weigh part {tinted}"):
                    kind, name = "part", tinted
                elif step.title == one_line(f"Add the pigment to part {tinted}"):
                    kind, name = "pigment", weighed.pigments[n].pigment
                elif stage.clock:
                    kind, name = "other", _part_named(line.what, weighed)
                else:
                    kind, name = "trial", line.what
                out.append(Weight(key_of(s, t, n), kind, name, line.what, line.grams, line.shown))
    return tuple(out)


def pot_of(sheet: Sheet, weighed: WeighOut, typed: Mapping[str, float], shelved: Collection[str] = ()) -> Pot:
    """What the typed weights make; what is not typed was weighed as asked. shelved: stock bottles that the book knows by name.

    Raises WeightOutOfRange.
    """
    grams = {one.key: typed.get(one.key, one.asked_g) for one in weights_of(sheet, weighed)}
    of: dict[tuple[str, str], float] = {}
    for one in weights_of(sheet, weighed):
        of[one.kind, one.name] = grams[one.key]
    shares = bottle_shares(weighed, of)
    shown, stocks = [], []
    for pigment in weighed.pigments:
        name = pigment.pigment
        if pigment.letdown is not None:
            bottle = next(one for one in weighed.letdowns if one.name == pigment.letdown)
            n = 1 / shares[bottle.name] - 1
            known = bottle.existing or bottle.name in shelved
            name = bottle.name if known else f"{pigment.pigment} 1+{n:.8f}"
            stocks.append(Stock(name, pigment.pigment, n))
        shown.append((name, of["pigment", pigment.pigment]))
    tinted = weighed.tinted_part.name
    part_g = of["part", tinted]
    names = [one.pigment for one in weighed.pigments]
    done = as_weighed(names, shares_of(sheet.resin), part_g, shown, weighed.scales.pigment, stocks=stocks)
    strengths = {one.pigment: (one.strength, one.strength_spread) for one in weighed.pigments}
    doses = {name: done.doses_phr.get(name, 0.0) * strengths[name][0] for name in names}
    any_typed = any(one.key in typed for one in weights_of(sheet, weighed) if one.kind not in ("other", "trial"))
    return Pot(part_g, tuple(shown), done.made_g, doses, strengths, any_typed)


def bottle_shares(weighed: WeighOut, of: Mapping[tuple[str, str], float]) -> dict[str, float]:
    """Pigment in a gram of each stock bottle, as it was made. of: grams by ("first" or "carrier", name of the bottle)."""
    shares: dict[str, float] = {}
    for one in weighed.letdowns:
        if one.existing:
            shares[one.name] = one.share
            continue
        first, carrier = made_from(one, of)
        brought = first * (1.0 if one.from_letdown is None else shares.get(one.from_letdown, 1.0))
        shares[one.name] = brought / (first + carrier) if first + carrier > 0 and brought > 0 else one.share
    return shares


def made_from(bottle: LetdownMade, of: Mapping[tuple[str, str], float]) -> tuple[float, float]:
    """Grams that went into a bottle: first the pigment or the stronger bottle, then the carrier."""
    return of.get(("first", bottle.name), bottle.first_g), of.get(("carrier", bottle.name), bottle.carrier_g)


def named_weights(sheet: Sheet, weighed: WeighOut, typed: Mapping[str, float]) -> dict[str, float]:
    """What was typed, by the names under which the book keeps the weights of a pour."""
    out = {}
    letdowns = {one.pigment: one.letdown for one in weighed.pigments}
    for one in weights_of(sheet, weighed):
        if one.key not in typed or one.kind == "trial":
            continue
        name = one.name
        if one.kind == "pigment":
            name = letdowns[one.name] or one.name
        elif one.kind in ("first", "carrier"):
            name = f"{one.what} into {one.name}"
        out[name[:120]] = typed[one.key]
    return out


def off_words(weight: Weight, grams: float, step_g: float) -> str:
    """How far a typed weight is from the one asked for; nothing where it is that one.

    >>> off_words(Weight("0-0-0", "part", "B", "part B", 200.0, "200.0 g"), 202.0, 0.1)
    '+1 %'
    """
    apart = grams - weight.asked_g
    if abs(apart) < 0.51 * step_g or not weight.asked_g:
        return ""
    percent = 100 * apart / weight.asked_g
    return f"{percent:+.2g} %" if abs(percent) < 100 else f"{grams / weight.asked_g:.2g} times"


def seen_as_weighed(sheet: Sheet, pot: Pot, recipe: Any, model: Any) -> dict[str, Any]:
    """What the pot as weighed will look like: each place, how far from the sheet's colour and from the target's."""
    from pathlib import Path

    from tintmix.desk.page_tint import difference_words
    from tintmix.optics.difference import delta_e00
    from tintmix.recipes.again import places_of

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
                "off": off,
                "says": difference_words(off),
                "target_off": target,
                "within": target is None or target <= planned.tolerance,
            }
        )
    worst = max(out, key=lambda one: one["off"])
    return {
        "places": out,
        "doses_phr": dict(pot.doses_phr),
        "worst": worst,
        "within": all(one["within"] for one in out),
    }


def _part_named(what: str, weighed: WeighOut) -> str:
    return next((part.name for part in weighed.parts if one_line(f"part {part.name}") == what), what)
