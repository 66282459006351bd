"""`tintmix convert`: a dose in other words."""

from __future__ import annotations

from typing import Any

import click

from tintmix.desk.bench.convert import convert_dose
from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.values import number
from tintmix.faces.text_table import table
from tintmix.numerals import numeral

_WORDS = {
    "phr": "g per 100 g of mixed resin (phr)",
    "percent of the whole": "% of resin and pigment together, by mass",
    "g per 100 cm3": "g per 100 cm³ of mixed resin",
    "percent by volume": "volumes per 100 volumes of mixed resin",
    "drops": "drops per 100 g of mixed resin",
}


def amount(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of a number with a decimal point or comma, its unit or none."""
    if value is None:
        return None
    bare = value.strip()
    for unit in ("phr", "g/cm3", "g/cm³", "g"):
        bare = bare.removesuffix(unit).strip()
    try:
        return number(bare)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write a number, such as 0.02", ctx, param) from None


@click.command(short_help="Turn a dose into other words: per 100 g of one part, by volume, in drops.")
@click.argument("dose", callback=amount)
@click.option(
    "--from",
    "basis",
    default="phr",
    show_default=True,
    metavar="BASIS",
    help='What the dose is: phr; "part B" (g per 100 g of part B); "g per 100 cm3"; "percent by volume"; '
    '"percent of the whole"; drops (per 100 g of mixed resin).',
)
@click.option("--to", metavar="BASIS", default=None, help="What is wanted. [default: all that can be told]")
@click.option(
    "--resin", type=click.Path(), metavar="FILE", default=None, help="The resin's file: its parts and its density."
)
@click.option(
    "--pigment-density",
    "pigment_density",
    callback=amount,
    metavar="G_PER_CM3",
    default=None,
    help="Of the pigment as supplied, for doses by volume.",
)
@click.option(
    "--drop",
    "drop_g",
    callback=amount,
    metavar="G",
    default=None,
    help="The mass of one drop of the pigment. Measure it: weigh 50 drops and divide.",
)
@click.option(
    "--batch", "batch_g", callback=amount, metavar="G", default=None, help="Mixed resin: tells the grams too."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def convert(
    dose: float,
    basis: str,
    to: str | None,
    resin: str | None,
    pigment_density: float | None,
    drop_g: float | None,
    batch_g: float | None,
    as_json: bool,
) -> None:
    """Turn a dose into other words. Everywhere else tintmix means phr: grams of pigment as supplied per 100 g of mixed
    resin, all parts together.

    \b
      tintmix convert 0.02 --resin resin.toml --drop 0.025 --batch 450
      tintmix convert 2 --from "part B" --to phr --resin resin.toml
    """
    body = convert_dose(dose, basis, to, resin, pigment_density, drop_g, batch_g).body
    if as_json:
        text.say_json(body)
    else:
        click.echo(told(body))


def told(body: dict[str, Any]) -> str:
    """The body of `convert --json` as text."""
    asked = body["asked"]
    bases = body["bases"] if asked is None else {asked["basis"]: asked["value"]}
    lines = [table(["dose", ""], [[_figures(value), _word(basis)] for basis, value in bases.items()], left=(1,))]
    if body["grams"] is not None:
        drops = "" if body["drops"] is None else f", {_figures(body['drops'])} drops"
        lines += ["", text.wrapped(f"For {body['batch_g']:g} g of mixed resin: {_figures(body['grams'])} g{drops}.")]
    if body["resin"] is None and asked is None:
        lines += ["", text.wrapped("With --resin FILE also per 100 g of one part and by volume.")]
    return with_cautions(body, "\n".join(lines))


def _word(basis: str) -> str:
    if basis.startswith("part "):
        return f"g per 100 g of {basis}"
    return _WORDS.get(basis, basis)


def _figures(value: float) -> str:
    return f"{numeral(value, 4)}" if value < 1e4 else f"{value:.0f}"
