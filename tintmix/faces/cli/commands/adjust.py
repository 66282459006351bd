"""`tintmix adjust`: a trial that is off to what to add to the tinted pot."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.values import colour, millimetres, number
from tintmix.faces.text_table import table
from tintmix.numerals import numeral
from tintmix.weighing.naming import part_named

if TYPE_CHECKING:
    from tintmix.desk.bench.trial_reading import TrialReading

Command = TypeVar("Command", bound=Callable[..., Any])


def grams(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of an amount in grams: 180, 180.5, 180,5, 180g."""
    return None if value is None else _number(ctx, param, value, "g", "grams, such as 180")


def minutes(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of minutes: 5, 5min."""
    return None if value is None else _number(ctx, param, value, "min", "minutes, such as 5")


def percent_part(ctx: click.Context, param: click.Parameter, value: str) -> float:
    """Callback of a per cent: 15 or 15 % is 0.15."""
    return _number(ctx, param, value, "%", "per cent, such as 15") / 100


def _number(ctx: click.Context, param: click.Parameter, said: str, unit: str, such: str) -> float:
    try:
        return number(said.strip().removesuffix(unit))
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write {such}", ctx, param) from None


def colours_list(
    ctx: click.Context, param: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[float, float, float], ...]:
    """Callback of colours, three numbers each: 62.1,-14,-30.2."""
    try:
        return tuple(colour(one) for one in value)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write three, such as 62.1,-14,-30.2", ctx, param) from None


def _pairs(
    ctx: click.Context, param: click.Parameter, value: Sequence[str], unit: str, such: str
) -> list[tuple[str, float]]:
    out = []
    for said in value:
        name, sign, amount = said.rpartition("=")
        if not (sign and name.strip()):
            raise click.BadParameter(f"{said!r} names nothing and its amount; write {such}", ctx, param)
        out.append((name.strip(), _number(ctx, param, amount, unit, such)))
    return out


def weights_list(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    """Callback of what was weighed: azure=0.09 or "azure 1+50=4.82"."""
    return tuple(_pairs(ctx, param, value, "g", "it as azure=0.09, or as 'azure 1+50=4.82'"))


def prices_list(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, float]:
    """Callback of prices per gram: azure=0.12."""
    return dict(_pairs(ctx, param, value, "", "the price of a gram, such as azure=0.12"))


def strengths_list(
    ctx: click.Context, param: click.Parameter, value: tuple[str, ...]
) -> dict[str, tuple[float, float]]:
    """Callback of what is known of lots: azure=1.08 or azure=1.08:3, the second in per cent."""
    out = {}
    for said in value:
        pigment, sign, amount = said.rpartition("=")
        factor, parted, spread = amount.partition(":")
        if not (sign and pigment.strip()):
            raise click.BadParameter(f"{said!r} names no pigment and factor; write azure=1.08:3", ctx, param)
        such = "a factor and perhaps its spread in per cent, such as azure=1.08:3"
        wide = _number(ctx, param, spread, "%", such) / 100 if parted else 0.03
        out[pigment.strip()] = _number(ctx, param, factor, "", such), wide
    return out


def in_hand(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, str]:
    """Callback of lots: azure=A-18."""
    out: dict[str, str] = {}
    for said in value:
        pigment, sign, lot = (part.strip() for part in said.partition("="))
        if not (sign and pigment and lot):
            raise click.BadParameter(f"{said!r} names no pigment and lot; write it as azure=A-18", ctx, param)
        out[pigment] = lot
    return out


def reading_options(command: Command) -> Command:
    """The options by which a chip's reading is told; `trial_of` takes them."""
    for option in reversed(
        [
            click.option(
                "--at", "thicknesses", multiple=True, required=True, callback=millimetres, metavar="MM",
                help="How thick the chip is where it was read. Again for each further chip of the same cup.",
            ),
            click.option(
                "--lab", "labs", multiple=True, callback=colours_list, metavar="L,A,B",
                help="Its L*a*b*, against the bare light. One for each chip.",
            ),
            click.option(
                "--xyz", "xyzs", multiple=True, callback=colours_list, metavar="X,Y,Z",
                help="Or its XYZ, Y of the bare light = 100.",
            ),
            click.option(
                "--spectrum", type=click.Path(), metavar="FILE", default=None, help="Or an instrument's file of its spectrum."
            ),
            click.option(
                "--sample", "samples", multiple=True, metavar="NAME", help="Which spectra of that file, where it holds more."
            ),
            click.option(
                "--camera", "channels", multiple=True, callback=colours_list, metavar="R,G,B",
                help="Or the channels of the camera that read the model's chips, linear, as parts of the bare panel.",
            ),
            click.option(
                "--read-as", "like", type=click.Path(), metavar="SET", default=None,
                help="A chip set that was read in the same way: light, tile, geometry, spread and prices come from it.",
            ),
            click.option("--light", metavar="LIGHT", default=None, help="Of the colour. [default: D65]"),
            click.option("--observer", type=click.Choice(["2", "10"]), default=None, help="Of the colour. [default: 10]"),
        ]
    ):  # fmt: skip
        command = option(command)
    return command


def trial_of(read: Mapping[str, Any]) -> TrialReading:
    """What the reading options said."""
    # Here, so that help need not wait for it.
    from tintmix.desk.bench.trial_reading import TrialReading

    given = [key for key in ("labs", "xyzs", "spectrum", "channels") if read[key]]
    if len(given) > 1:
        raise click.UsageError(
            "the chip's reading is given in two ways; keep one of --lab, --xyz, --spectrum, --camera"
        )
    observer = read["observer"]
    return TrialReading(
        thicknesses_mm=tuple(read["thicknesses"]),
        colours=read["labs"] or read["xyzs"],
        space="XYZ" if read["xyzs"] else "Lab",
        spectrum=read["spectrum"],
        samples=read["samples"],
        channels=read["channels"],
        like=read["like"],
        light=read["light"],
        observer=None if observer is None else int(observer),
    )


@click.command(short_help="A trial chip is off: what to add to the tinted pot, or what else to do.")
@click.argument("recipe", type=click.Path())
@click.option(
    "--left", "left_g", required=True, callback=grams, metavar="G", help="Tinted resin in the pot now, pigment and all."
)
@reading_options
@click.option(
    "--pot", "pot_g", callback=grams, metavar="G", default=None,
    help="The most tinted resin that the pot holds. [default: twice what is left]",
)  # fmt: skip
@click.option(
    "--weighed", multiple=True, callback=weights_list, metavar="NAME=G",
    help="What was really weighed, where it is not what the sheet asked: azure=0.09, or 'azure 1+50=4.82' from a bottle.",
)  # fmt: skip
@click.option("--part", "part_g", callback=grams, metavar="G", default=None,
              help="The resin part that takes pigment, as weighed, without what the stock bottles brought.")  # fmt: skip
@click.option("--batch", "batch_g", callback=grams, metavar="G", default=None,
              help="Or the batch, all parts, that the sheet was made for.")  # fmt: skip
@click.option("--mixed", "mixed_min", callback=minutes, metavar="MIN", default=None,
              help="It is mixed already, so many minutes ago; --left is then what is left of the mix.")  # fmt: skip
@click.option("--need", "need_g", callback=grams, metavar="G", default=None,
              help="Mixed resin that the pour needs. [default: all that the pot makes]")  # fmt: skip
@click.option(
    "--scale", "scales", multiple=True, metavar="[USE=]G",
    help="The scale's smallest step in g, or readability:repeatability:capacity; resin=0.1 and pigment=0.001 where there are "
    "two. [default: resin=0.1, pigment=0.01]",
)  # fmt: skip
@click.option(
    "--also", multiple=True, metavar="PIGMENT", help="A pigment of the model, not in the recipe, that may go in."
)
@click.option("--lot", "lots", multiple=True, callback=in_hand, metavar="PIGMENT=LOT",
              help="The lot in hand, where it is not the recipe's.")  # fmt: skip
@click.option(
    "--strength", "strengths", multiple=True, callback=strengths_list, metavar="PIGMENT=FACTOR[:PERCENT]",
    help="What is known of a lot: its strength against the chips' and how well that is known.",
)  # fmt: skip
@click.option("--lot-spread", callback=percent_part, default="15", show_default=True, metavar="PERCENT",
              help="How much lots of which nothing is known usually differ.")  # fmt: skip
@click.option("--price", "prices", multiple=True, callback=prices_list, metavar="NAME=PER_G",
              help="Price of a gram of a pigment, or of 'resin'.")  # fmt: skip
@click.option(
    "--resin", type=click.Path(), metavar="FILE", default=None, help="A resin file, in place of the recipe's."
)
@click.option("--model", type=click.Path(), metavar="FILE", default=None, help="Where the recipe's model is now.")
@click.option("--book", type=click.Path(), metavar="FILE", default=None,
              help="The recipe book. [default: your own, if there is one]")  # fmt: skip
@click.option("--revision", type=click.IntRange(1), metavar="N", default=None,
              help="Of a recipe in the book. [default: newest]")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def adjust(
    recipe: str,
    left_g: float,
    pot_g: float | None,
    weighed: tuple[tuple[str, float], ...],
    part_g: float | None,
    batch_g: float | None,
    mixed_min: float | None,
    need_g: float | None,
    scales: tuple[str, ...],
    also: tuple[str, ...],
    lots: dict[str, str],
    strengths: dict[str, tuple[float, float]],
    lot_spread: float,
    prices: dict[str, float],
    resin: str | None,
    model: str | None,
    book: str | None,
    revision: int | None,
    as_json: bool,
    **read: Any,
) -> None:
    """A trial chip, mixed from a sample of the tinted resin and cured, is off: what to add to what is left in the pot, so
    that every place on the casting comes within its tolerance; or that it is well as it is, or better begun anew.

    RECIPE is a file that `tintmix solve --keep` wrote, or the name of a recipe in the book. Cast the trial as thick as you can
    still see through. Example:

    \b
      tintmix adjust recipe.json --left 195 --pot 400 --batch 450 --at 12 --lab 71.2,-24.0,3.1
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.bench.adjust import History, Shop, adjust_for

    done = adjust_for(
        recipe,
        trial_of(read),
        History(left_g, pot_g, weighed, part_g, batch_g, mixed_min),
        Shop(scales, strengths, lot_spread, lots, also, prices, need_g, book),
        model,
        resin,
        revision,
    )
    if as_json:
        text.say_json(done.body)
        return
    click.echo(told(done.body))


def told(body: Mapping[str, Any]) -> str:
    """The body of `adjust --json` as text: what a friend at the bench would say."""
    says = body["says"]
    lines = [text.wrapped(says[:1].upper() + says[1:])]
    if body["order"]:
        lines += ["", *(text.wrapped(step, "    ", f"{i:2}. ") for i, step in enumerate(body["order"], 1))]
    lines += ["", _places(body)]
    strengths = [f"{p} {s['factor']:.2f} ± {s['factor'] * s['spread']:.2f}" for p, s in body["lot_strengths"].items()]
    if strengths:
        lines.append(
            text.wrapped(f"Strength of the lots against the chips', as this trial tells: {', '.join(strengths)}.")
        )
    lines += _costs(body)
    lines += ["", *(text.wrapped(f"Note: {warning}") for warning in body["warnings"])] if body["warnings"] else []
    if body["pot_life_min"] is not None and body["order"] and body["other_parts"]:
        others = " and ".join(part_named(one["name"]) for one in body["other_parts"])
        lines.append(
            text.wrapped(
                f"Note: once {others} {'is' if len(body['other_parts']) == 1 else 'are'} in, "
                f"{numeral(body['pot_life_min'])} minutes are left, and nothing can be corrected any more."
            )
        )
    # Whoever is too late weighs nothing, and has a pot that heats itself: then the answer stands first.
    return with_cautions(body, "\n".join(lines), has_weights=body["outcome"] != "too late")


def _places(body: Mapping[str, Any]) -> str:
    changed = bool(body["additions"]) or body["untinted_part"]["grams"] > 0
    rows = []
    for before, after in zip(body["sections_before"], body["sections_after"], strict=True):
        rows.append(
            [
                before["name"],
                f"{numeral(before['thickness_mm'])} mm",
                f"{before['delta_e00']:.1f}",
                f"{before['delta_e00_95']:.1f}",
                f"{after['delta_e00']:.1f}" if changed else "",
                f"{after['delta_e00_95']:.1f}" if changed else "",
                f"{numeral(before['tolerance'])}",
            ]
        )
    heads = ["place", "at", "ΔE00 now", "95 % below", "after", "95 % below", "tolerance"]
    return table(heads, rows)


def _costs(body: Mapping[str, Any]) -> list[str]:
    if body["outcome"] not in ("dilute", "start again"):
        return []
    # Here, so that help need not wait for it.
    from tintmix.recipes.adjust.says import rough_g

    part = body["untinted_part"]["name"]
    shown = []
    for key, name in (("adjust", "to adjust"), ("start_again", "to start again")):
        cost = body["costs"][key]
        if cost is None:
            continue
        pigment = ", ".join(f"{grams:.3g} g {p}" for p, grams in cost["pigments_g"].items() if grams >= 5e-4)
        pigment = pigment or "no pigment"
        money = "" if cost["money"] is None else f" ({cost['money']:.2f} in money)"
        shown.append(f"{name}: {rough_g(cost['resin_g'])} of {part_named(part)}, {pigment}{money}")
    others = ", besides what it is mixed with" if body["other_parts"] else ""
    return [text.wrapped(f"What it takes from the shelf{others}: {'; '.join(shown)}.")]
