"""`tintmix sheet`: a recipe to what goes on the scale."""

from __future__ import annotations

import shutil
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.values import number


def grams(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of an amount in grams or cm³: 450, 450.5, 450,5, 450g."""
    if value is None:
        return None
    bare = value.strip()
    for unit in ("cm3", "cm³", "ml", "g", "%"):
        bare = bare.removesuffix(unit).strip()
    try:
        return number(bare)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write an amount, such as 450", ctx, param) from None


def in_hand(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, str]:
    """Callback of lots: azure=A-18."""
    out: dict[str, str] = {}
    for said in value:
        pigment, sign, lot = (part.strip() for part in said.partition("="))
        if not (sign and pigment and lot):
            raise click.BadParameter(f"{said!r} names no pigment and lot; write it as azure=A-18", ctx, param)
        if pigment in out:
            raise click.BadParameter(f"{pigment} is named twice; give each pigment one lot", ctx, param)
        out[pigment] = lot
    return out


@click.command(short_help="Weigh a recipe out: the batch sheet to work from at the bench.")
@click.argument("recipe", type=click.Path())
@click.option("--batch", "batch_g", callback=grams, metavar="G", default=None, help="Mixed resin in grams, all parts.")
@click.option(
    "--volume",
    "volume_cm3",
    callback=grams,
    metavar="CM3",
    default=None,
    help="Or: what the mould holds in cm³ (ml); the resin's density makes grams of it.",
)
@click.option(
    "--water",
    "water_g",
    callback=grams,
    metavar="G",
    default=None,
    help="Or: the grams of water that fill the mould, at room temperature.",
)
@click.option(
    "--waste",
    "waste_percent",
    callback=grams,
    metavar="PERCENT",
    default=None,
    help="With --volume or --water: so much more, for what stays in the pots. [default: 10]",
)
@click.option(
    "--scale",
    "scales",
    multiple=True,
    metavar="[USE=]G",
    help="The scale's smallest step in g, or readability:repeatability:capacity; resin=0.1 and pigment=0.001 where there are "
    "two. [default: resin=0.1, pigment=0.01]",
)
@click.option(
    "--resin", type=click.Path(), metavar="FILE", default=None, help="A resin file, in place of the recipe's."
)
@click.option("--model", type=click.Path(), metavar="FILE", default=None, help="Where the recipe's model is now.")
@click.option(
    "--lot",
    "lots",
    multiple=True,
    callback=in_hand,
    metavar="PIGMENT=LOT",
    help="The lot in hand, where it is not the recipe's. The book may know how strong it is.",
)
@click.option(
    "--book",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="The recipe book. [default: your own, if there is one]",
)
@click.option(
    "--revision", type=click.IntRange(1), metavar="N", default=None, help="Of a recipe in the book. [default: newest]"
)
@click.option("--new-bottles", is_flag=True, help="Make new stock bottles, also where the book has one.")
@click.option(
    "--out",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="Write the sheet: .pdf to print, or .txt. [default: to read here]",
)
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="Of a PDF.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def sheet(
    recipe: str,
    batch_g: float | None,
    volume_cm3: float | None,
    water_g: float | None,
    waste_percent: float | None,
    scales: tuple[str, ...],
    resin: str | None,
    model: str | None,
    lots: dict[str, str],
    book: str | None,
    revision: int | None,
    new_bottles: bool,
    out: str | None,
    paper: str,
    as_json: bool,
) -> None:
    """Weigh a recipe out for your batch and your scales: what to put on the scale, in what order, with stock bottles for what is
    too little to weigh, what it will look like, and the cautions.

    RECIPE is a file that `tintmix solve --keep` wrote, or the name of a recipe in the book. Example:

    \b
      tintmix sheet recipe.json --batch 450 --scale resin=0.1 --scale pigment=0.01 --out batch.pdf
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.bench.sheet import Amount, sheet_for

    def rendered(made: Any) -> bytes:
        if out is not None and out.lower().endswith(".txt"):
            # Here, so that help need not wait for it.
            from tintmix.faces.paper.sheet_text import bytes_of

            return bytes_of(made)
        # Here, since fpdf takes a third of a second.
        from tintmix.faces.paper.sheet import pdf_of

        return pdf_of(made, "Letter" if paper.lower() == "letter" else "A4")

    amount = Amount(batch_g, volume_cm3, water_g, waste_percent)
    done = sheet_for(recipe, amount, scales, resin, model, lots, book, revision, new_bottles, out, rendered)
    if as_json:
        text.say_json(done.body)
        return
    if out is None:
        # Here, so that help need not wait for it.
        from tintmix.faces.paper.sheet_text import text_of

        width = shutil.get_terminal_size((100, 24)).columns
        click.echo(text_of(done.sheet, max(72, min(100, width))), nl=False)
        return
    for note in done.sheet.notes:
        text.say(f"Note: {note}")
    told = done.body["delta_e00_95_from_weighing"]
    bottles = [one["name"] for one in done.body["letdowns"] if not one["existing"]]
    made = f" Stock bottles to make: {', '.join(bottles)}." if bottles else ""
    text.say(
        f"Written: {out}, for {done.sheet.headline}. The weighing moves the colour by ΔE00 {told:.2f} at most (95 %).{made}"
    )
