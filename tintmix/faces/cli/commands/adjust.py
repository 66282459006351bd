"""`tintmix adjust`: a trial that is off to what to add to the tinted pot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.options import (
    AS_WEIGHED,
    FILE,
    LINEAR,
    OBSERVER,
    OF_RECIPE,
    SCALES,
    Answer,
    again,
    all_of,
    answers,
    taken,
    usual,
)
from tintmix.faces.cli.values import CHIP, COLOUR, GRAMS, LOTS, MM, PRICES, SHARE, STRENGTHS, WEIGHT, unit
from tintmix.faces.remedies import Said
from tintmix.numerals import capital, chance, numeral, told_depth, with_band
from tintmix.weighing.budget import COVERS_95
from tintmix.weighing.weighed import part_named

if TYPE_CHECKING:
    from tintmix.desk.bench.trial_reading import TrialReading
    from tintmix.desk.read.shots import PhotoOrder

READING = all_of(
    click.option(
        "--at", "thicknesses_mm", multiple=True, required=True, type=MM,
        help="How thick the chip is where it was read. Again for each further chip of the same cup.",
    ),
    click.option(
        "--lab", "labs", multiple=True, type=COLOUR, metavar="L,A,B",
        help="Its L*a*b*, read against the bare light as white. One for each chip.",
    ),
    click.option(
        "--xyz", "xyzs", multiple=True, type=COLOUR, metavar="X,Y,Z", help="Or its XYZ, Y of the bare light = 100."
    ),
    click.option("--spectrum", type=FILE, help="Or an instrument's file of its spectrum."),
    click.option(
        "--sample", "samples", multiple=True, metavar="NAME", help="Which spectra of that file, where it holds more."
    ),
    click.option(
        "--camera", "channels", multiple=True, type=COLOUR, metavar="R,G,B",
        help="Or red, green, blue by the camera that read the model's chips, linear, as parts of the bare panel.",
    ),
    again("--read-photo", "photos", type=FILE, help="Or a photo by the camera that read the model's chips."),
    again("--panel", "panels", type=FILE, help="With --read-photo: the same view with the chip taken off."),
    again(
        "--window", "windows", metavar="PLACE",
        help="With --read-photo: where the chip lies, 2.3 (row 2, third window of the holder sheet) or X,Y,W,H in pixels. "
        "[default: the one window that is filled]",
    ),
    again("--open", "opened", metavar="X,Y,W,H", help="With --read-photo and pixels: where the bare panel shows."),
    again("--dark", metavar="X,Y,W,H", help="With --read-photo and pixels: where opaque black card shows."),
    LINEAR,
    again(
        "--beside", type=CHIP, metavar="MM=L,A,B",
        help="With --read-photo or --camera: a further chip of the same cup, its thickness and its L*a*b*.",
    ),
    click.option(
        "--read-as", "like", type=click.Path(), metavar="SET",
        help="A chip set that was read in the same way: light, tile and how exact a reading is come from it, and prices.",
    ),
    click.option("--light", metavar="LIGHT", help="The light that the colour is for. [default: D65]"),
    click.option("--observer", type=OBSERVER, help="The observer that the colour is for, in degrees. [default: 10]"),
)  # fmt: skip
"""The options by which a chip's reading is told; `trial_of` takes them."""


def trial_of(said: dict[str, Any]) -> TrialReading:
    """What the reading options said; they are taken out."""
    from tintmix.desk.bench.trial_reading import TrialReading  # here: help need not wait

    labs, xyzs = said.pop("labs"), said.pop("xyzs")
    if sum(map(bool, (labs, xyzs, said["spectrum"], said["channels"], said["photos"]))) > 1:
        raise click.UsageError(
            "the chip's reading is given in two ways; keep one of --lab, --xyz, --spectrum, --camera, --read-photo"
        )
    photo = photo_of(said)
    if said["beside"] and photo is None and not said["channels"]:
        raise click.UsageError("--beside MM=L,A,B goes with --read-photo FILE or --camera R,G,B")
    return taken(TrialReading, said, colours=labs or xyzs, space="XYZ" if xyzs else "Lab", photo=photo)


def photo_of(said: dict[str, Any], places: str = "windows") -> PhotoOrder | None:
    """The photo that was given, by its options, which are taken out; none where none was."""
    told = {key: said.pop(key) for key in ("photos", "panels", "opened", "dark", "linear")}
    if told["photos"]:
        from tintmix.desk.read.shots import PhotoOrder  # here: help need not wait

        return PhotoOrder(**told)
    for key, option in {"panels": "panel", "opened": "open", "dark": "dark", "linear": "linear"}.items():
        if told[key]:
            raise click.UsageError(f"--{option} goes with --read-photo FILE")
    if said[places]:
        raise click.UsageError("--window goes with --read-photo FILE")
    return None


@click.command()
@click.argument("recipe", type=FILE)
@click.option("--left", "left_g", required=True, type=GRAMS, help="Tinted resin in the pot now, pigment and all.")
@READING
@click.option(
    "--pot", "pot_g", type=GRAMS, help="The most tinted resin that the pot holds. [default: twice what is left]"
)
@click.option(
    "--weighed", multiple=True, type=WEIGHT, metavar="NAME=G",
    help="What was really weighed, where it is not what the sheet asked: azure=0.09, or 'azure 1+50=4.82' from a bottle.",
)  # fmt: skip
@AS_WEIGHED
@click.option(
    "--part", "part_g", type=GRAMS,
    help="The resin part that takes pigment, as weighed, without what the stock bottles brought.",
)  # fmt: skip
@click.option("--batch", "batch_g", type=GRAMS, help="Or the batch, all parts, that the sheet was made for.")
@click.option(
    "--mixed", "mixed_minutes_ago", type=unit("min", "minutes, such as 5", "min"),
    help="It is mixed already, so many minutes ago; --left is then what is left of the mix.",
)  # fmt: skip
@click.option("--need", "need_g", type=GRAMS, help="Mixed resin that the pour needs. [default: all that the pot makes]")
@SCALES
@click.option(
    "--also", multiple=True, metavar="PIGMENT", help="A pigment of the model, not in the recipe, that may go in."
)
@click.option("--lot", "lots", **LOTS, help="The lot in hand, where it is not the recipe's.")
@click.option(
    "--strength", "strengths", **STRENGTHS,
    help="What is known of a lot: its strength against the chips' and how well that is known.",
)  # fmt: skip
@usual("--lot-spread", type=SHARE, default="15", help="How much lots of which nothing is known usually differ.")
@click.option("--price", "prices", **PRICES, help="Price of a gram of a pigment, or of 'resin'.")
@OF_RECIPE
@answers
def adjust(recipe: str, resin: str | None, model: str | None, revision: int | None, **said: Any) -> Answer:
    """A trial chip, mixed from a sample of the tinted resin and cured, is off: what to add to what is left in the pot, so
    that every place on the casting comes within its tolerance; or that it is well as it is, or better begun anew.

    RECIPE is a file that `tintmix solve --keep` wrote, or the name of a recipe in the book. Cast the trial as thick as you can
    still see through. Example:

    \b
      tintmix adjust recipe.json --left 195 --pot 400 --batch 450 --at 12 --lab 88.2,-11.6,-3.8
    """
    from tintmix.desk.bench.adjust import History, Shop, adjust_for  # here: help need not wait

    body = adjust_for(recipe, trial_of(said), taken(History, said), taken(Shop, said), model, resin, revision)
    return body, told(body)


def told(body: Mapping[str, Any]) -> str:
    """The body of `adjust --json` as text: what a friend at the bench would say."""
    # An answer with no weight in it stands first: whoever is too late has a pot that heats itself. Of another, what to do.
    says, late = capital(body["says"]), body["outcome"] == "too late"
    first = says if late or body["outcome"] == "keep" else f"{_in_short(says)}. First the cautions, then the weights."
    lines: list[Said] = [_next_pour(body)] if late else [] if first == says else [says]
    if body["order"]:
        lines += ["", *(text.wrapped(step, "    ", f"{i:2}. ") for i, step in enumerate(body["order"], 1))]
    lines += ["", _places(body)]
    strengths = [
        f"{p} {with_band(s['factor'], COVERS_95 * s['factor'] * s['spread'])}" for p, s in body["lot_strengths"].items()
    ]
    if strengths and body["chance_within_tolerance"]["as_it_is"] is not None:
        lines.append(
            f"Strength of the lots against the chips', as this trial tells, 95 times in 100 within ±: {', '.join(strengths)}."
        )
    lines += _costs(body)
    lines += ["", *text.noted(body["warnings"])] if body["warnings"] else []
    if body["pot_life_min"] is not None and body["order"] and body["other_parts"]:
        others = " and ".join(part_named(one["name"]) for one in body["other_parts"])
        lines.append(
            f"Note: once {others} {'is' if len(body['other_parts']) == 1 else 'are'} in, "
            f"{numeral(body['pot_life_min'])} minutes are left, and nothing can be corrected any more."
        )
    return with_cautions(body, lines, at_once=[first])


def _in_short(says: str) -> str:
    """What to do, without weights.

    >>> _in_short("Start again: it would take 12 g of part B."), _in_short("Top it up. Stir 1.2 g of azure into it.")
    ('Start again', 'Top it up')
    """
    said = says.partition(". ")[0]
    return said.partition("tart again:")[0] + "tart again" if "tart again:" in said else said


def _next_pour(body: Mapping[str, Any]) -> str:
    fresh = body["chance_within_tolerance"]["started_again"]
    told = "" if fresh is None else f" (chance of being within tolerance {chance(fresh)})"
    doses = text.doses(body["next_doses_phr"]) or "no pigment"
    return f"For the next pour weigh, in g per 100 g of mixed resin: {doses}{told}."


def _places(body: Mapping[str, Any]) -> text.Laid:
    changed = bool(body["additions"]) or body["untinted_part"]["grams"] > 0
    rows = []
    for before, after in zip(body["sections_before"], body["sections_after"], strict=True):
        off = [f"{one[key]:.1f}" for one in (before, after) for key in ("delta_e00", "delta_e00_95")]
        shown = off if changed else [*off[:2], "", ""]
        rows.append([before["name"], told_depth(before), *shown, numeral(before["tolerance"])])
    heads = ["place", "at", "ΔE00 now", "95 % below", "after", "95 % below", "tolerance"]
    return text.table(heads, rows)


def _costs(body: Mapping[str, Any]) -> list[str]:
    if body["outcome"] not in ("dilute", "start again"):
        return []
    from tintmix.recipes.adjust.says import rough_g  # here: help need not wait

    part = body["untinted_part"]["name"]
    shown = []
    for key, name in (("adjust", "to adjust"), ("start_again", "to start again")):
        if (cost := body["costs"][key]) is not None:
            pigment = ", ".join(f"{grams:.3g} g {p}" for p, grams in cost["pigments_g"].items() if grams >= 5e-4)
            money = "" if cost["money"] is None else f" ({cost['money']:.2f} in money)"
            shown.append(f"{name}: {rough_g(cost['resin_g'])} of {part_named(part)}, {pigment or 'no pigment'}{money}")
    others = ", besides what it is mixed with" if body["other_parts"] else ""
    return [f"What it takes from the shelf{others}: {'; '.join(shown)}."]
