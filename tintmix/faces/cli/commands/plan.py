"""`tintmix plan`: which cups and chips to pour."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.photo import drawn_for
from tintmix.faces.cli.remedies import told as in_words
from tintmix.faces.cli.values import colour, millimetres, number
from tintmix.faces.text_table import table
from tintmix.numerals import numeral, percent
from tintmix.weighing.scales import USUAL, scales_from_text


def part_doses(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, float | None]:
    """Callback of pigments with or without a dose: azure, azure=0.02."""
    out: dict[str, float | None] = {}
    for said in value:
        pigment, sign, amount = said.partition("=")
        pigment = pigment.strip()
        if not pigment:
            raise click.BadParameter(f"{said!r} names no pigment; write it as azure or azure=0.02", ctx, param)
        if pigment in out:
            raise click.BadParameter(f"{pigment} is named twice; name each pigment once", ctx, param)
        try:
            out[pigment] = number(amount.strip().removesuffix("phr")) if sign else None
        except ValueError as problem:
            raise click.BadParameter(f"{problem}; write the dose in phr, such as {pigment}=0.02", ctx, param) from None
    return out


def tile_colour(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[float, float, float] | None:
    """Callback of the white tile's L*, a*, b*."""
    if value is None:
        return None
    try:
        return colour(value)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write the bare tile's L*, a*, b*: 95.2,-0.4,1.1", ctx, param) from None


@click.command(short_help="Find out which test cups to pour, and what to weigh for each.")
@click.argument("folder", type=click.Path())
@click.option(
    "--pigment", "pigments", multiple=True, callback=part_doses, metavar="NAME[=PHR]",
    help="A pigment, and the dose that you mean to use in the casting. With a one-cup model: its dose in that cup. "
    "May be given again.",
)  # fmt: skip
@click.option(
    "--model",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="What is known already: a model of earlier chips, or of one cup.",
)
@click.option(
    "--at", "sections", multiple=True, required=True, callback=millimetres, metavar="MM",
    help="How thick the casting is at a place that matters, thinnest and thickest at least. May be given again.",
)  # fmt: skip
@click.option(
    "--cast",
    multiple=True,
    callback=millimetres,
    metavar="MM",
    help="A chip thickness that you have a mould for. May be given again. [default: 3, 6, 12]",
)
@click.option(
    "--cast-to", callback=millimetres, metavar="MM", default=None, help="Or: any thickness up to this one can be cast."
)
@click.option(
    "--cups",
    type=click.IntRange(1),
    default=None,
    metavar="N",
    help="How many cups you will pour. [default: 2 for each new pigment and 2 more]",
)
@click.option(
    "--chips-per-cup",
    type=click.IntRange(1),
    default=None,
    metavar="N",
    help="Thicknesses poured from each cup. [default: 2; spectra: 1]",
)
@click.option(
    "--kind",
    type=click.Choice(["colour", "camera", "spectrum"]),
    default="colour",
    show_default=True,
    help="How the chips will be read.",
)
@click.option(
    "--light",
    default="",
    metavar="LIGHT",
    help="Colours: the CIE light they are computed for. Camera: the panel. [default: D65; unknown]",
)
@click.option(
    "--tile",
    callback=tile_colour,
    metavar="L,a,b",
    default=None,
    help="Colours read in reflection, on a white tile: what the bare tile reads. The chips are then thin.",
)
@click.option(
    "--contact",
    type=click.Choice(["dry", "wetted"]),
    default="dry",
    show_default=True,
    help="With --tile: air between chip and tile, or a drop of clear liquid.",
)
@click.option(
    "--sphere", is_flag=True, help="With --tile: the instrument has a sphere, gloss excluded; else it is 45/0."
)
@click.option("--observer", type=click.Choice(["2", "10"]), default="10", show_default=True, help="Of colours.")
@click.option(
    "--camera",
    type=click.Choice(["unknown", "rendered"]),
    default="unknown",
    show_default=True,
    help="Raw photos of any camera, or JPEGs.",
)
@click.option(
    "--scale", "scale", multiple=True, metavar="[USE=]G",
    help="The scale's smallest step in g, or readability:repeatability:capacity; resin=0.1 and pigment=0.001 where there are "
    "two. "
    "[default: pigment 0.01, resin 0.1]",
)  # fmt: skip
@click.option(
    "--cup-mass",
    type=click.FloatRange(1, 5000),
    default=50.0,
    show_default=True,
    metavar="G",
    help="The least resin that you can mix well.",
)
@click.option(
    "--chip-size",
    type=click.FloatRange(5, 300),
    default=30.0,
    show_default=True,
    metavar="MM",
    help="Edge of a chip; with its thickness it says how much to mix.",
)
@click.option(
    "--batch",
    type=click.FloatRange(0, 1e6),
    default=0.0,
    metavar="G",
    help="Resin of the casting, where the stock bottles shall hold enough for it too.",
)
@click.option(
    "--resin", type=click.Path(), metavar="FILE", default=None, help="The resin's file: then every part is weighed out."
)
@click.option(
    "--holder",
    type=click.Path(),
    metavar="FILE.pdf",
    default=None,
    help="Where the holder sheet for photographing the chips goes. [default: holder.pdf in FOLDER, with --kind camera]",
)
@click.option(
    "--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True, help="Of the holder sheet."
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def plan(
    folder: str,
    pigments: dict[str, float | None],
    model: str | None,
    sections: tuple[float, ...],
    cast: tuple[float, ...],
    cast_to: float | None,
    cups: int | None,
    chips_per_cup: int | None,
    kind: Any,
    light: str,
    observer: str,
    camera: str,
    tile: tuple[float, float, float] | None,
    contact: Any,
    sphere: bool,
    scale: tuple[str, ...],
    cup_mass: float,
    chip_size: float,
    batch: float,
    resin: str | None,
    holder: str | None,
    paper: str,
    as_json: bool,
) -> None:
    """Find out which few test cups to pour, how strong and how thick, so that the colour is known where the casting is thin and
    where it is thick. Writes FOLDER: a chip set with empty readings, and a page to follow at the bench.

    Cups cost, thicknesses of a cup hardly do. An untinted block is among them, unless a model knows the resin well already, and
    each new pigment alone once. Examples:

    \b
      tintmix plan chips --pigment azure=0.02 --pigment emerald=0.01 --at 8 --at 60 --cast 3 --cast 12 --cast 25
      tintmix plan chips --pigment azure=0.02 --pigment emerald=0.01 --model one-cup.json --at 8 --at 60
      tintmix plan two-more --model my.json --at 8 --at 60 --cups 2
      tintmix plan chips --pigment azure=0.02 --at 8 --at 60 --tile 95.2,-0.4,1.1 --cast 1 --cast 2 --cast 4
    """
    # Here, so that help need not wait 0.2 s for numpy and the desk.
    from tintmix.desk.plan.plan import Order, plan_chips
    from tintmix.desk.plan.tile import OnTile
    from tintmix.faces.cli.bench_page import GOING_ON
    from tintmix.weighing.cups import Moulds

    order = Order(
        pigments=pigments, sections_mm=tuple(sections), cast_mm=tuple(cast), cast_to_mm=cast_to, cups=cups,
        chips_per_cup=chips_per_cup,
        kind=kind, light=light, observer=int(observer), camera=camera, bench=scales_from_text(scale or USUAL),
        moulds=Moulds(cup_mass, chip_size, batch),
        on_tile=None if tile is None else OnTile(tile, contact, "d/8" if sphere else "45/0"),
    )  # fmt: skip
    draw = drawn_for(paper, f"tintmix read {folder}")
    done = plan_chips(folder, order, model, resin, draw_holder=draw, holder_path=holder, going_on=GOING_ON)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(told(done.body))


def told(body: Mapping[str, Any]) -> str:
    """The body of `plan --json` as text."""
    lines = [text.wrapped(f"{len(body['cups'])} cups, {body['chips']} chips:"), cups_table(body["cups"])]
    if body["letdowns"]:
        lines += [
            "",
            text.wrapped("Stock bottles to make first, for chips, trials and casting alike:"),
            bottles_table(body["letdowns"]),
        ]
    lines += [
        "",
        text.wrapped("Expected: how far off (ΔE00) the predicted colour of a mixture typically is."),
        expected_table(body["expected"]),
    ]
    lines += ["", *(text.wrapped(f"Note: {in_words(warning)}") for warning in body["warnings"])]
    if body["defaults_used"].get("cast_mm"):
        cast = ", ".join(f"{numeral(mm)}" for mm in body["defaults_used"]["cast_mm"])
        lines.append(
            text.wrapped(
                f"Taken as default, since you did not say what you can cast: {cast} mm."
                + (" Thicker chips tell more of thick castings." if body["relative_to"] == "air" else "")
            )
        )
    lines.append(
        text.wrapped(
            f"Written: {body['folder']} ({', '.join(body['files'])}). README.md there is the page to follow at the bench."
        )
    )
    if body["holder"]:
        lines.append(
            text.wrapped(
                f"Holder sheet for the photo: {body['holder']}. Print it at 100 %; its second page tells how to use it."
            )
        )
    return with_cautions(body, "\n".join(line for at, line in enumerate(lines) if line or (at and lines[at - 1])))


def cups_table(cups: Any) -> str:
    """A row for each cup."""
    rows = []
    for cup in cups:
        weigh = "; ".join(f"{w['grams']:g} g {w['letdown'] or w['pigment']}" for w in cup["weigh"]) or "no pigment"
        doses = ", ".join(f"{p} {text.phr(d)}" for p, d in cup["doses_phr"].items()) or "untinted"
        chips = ", ".join(f"{numeral(chip['thickness_mm'])}" for chip in cup["chips"])
        light = ", ".join(percent(chip["expected_light"]) for chip in cup["chips"])
        rows.append([cup["cup"], doses, chips, light, weigh, f"{cup['resin_g']:g} g"])
    return table(
        ["cup", "phr", "chips, mm", "light through, about", "weigh in", "mixed resin"], rows, left=(0, 1, 2, 3, 4)
    )


def bottles_table(letdowns: Any) -> str:
    """A row for each stock bottle."""
    rows = [[d["name"], f"{d['pigment_g']:g} g", f"{d['carrier_g']:g} g", d["carrier"]] for d in letdowns]
    return table(["bottle", "pigment", "carrier", "which is"], rows, left=(0, 3))


def expected_table(expected: Any) -> str:
    """A row for each place on the casting."""
    keys = ("before", "starter_set", "after", "two_cups_more")
    rows = [
        [
            f"{numeral(one['section_mm'])} mm",
            *("" if (v := one["typical_delta_e00"][key]) is None else f"{numeral(v, 2)}" for key in keys),
        ]
        for one in expected
    ]
    return table(["at", "now", "untinted and one of each", "this plan", "two cups more"], rows)
