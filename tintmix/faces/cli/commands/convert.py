"""`tintmix convert`: a dose in other words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.desk.bench.convert import convert_dose
from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.options import FILE, Answer, answers
from tintmix.faces.cli.values import GRAMS, unit
from tintmix.numerals import numeral

_WORDS = {
    "phr": "g per 100 g of mixed resin (phr)",
    "percent of the whole": "% of resin and pigment together, by mass",
    "g per 100 cm3": "g per 100 cm³ of mixed resin",
    "percent by volume": "volumes per 100 volumes of mixed resin",
    "drops": "drops per 100 g of mixed resin",
}


@click.command()
@click.argument("value", metavar="DOSE", type=unit("dose", "a number, such as 0.02", "phr", "g"))
@click.option(
    "--from", "basis", default="phr", show_default=True, metavar="BASIS",
    help='What the dose is: phr; "part B" (g per 100 g of part B); "g per 100 cm3"; "percent by volume"; '
    '"percent of the whole"; drops (per 100 g of mixed resin).',
)  # fmt: skip
@click.option("--to", metavar="BASIS", help="What is wanted. [default: all that can be told]")
@click.option("--resin", "resin_path", type=FILE, help="The resin's file: its parts and its density.")
@click.option(
    "--pigment-density", "pigment_density_g_per_cm3", type=unit("g_per_cm3", "a number, such as 1.1", "g/cm3", "g/cm³"),
    help="The density of the pigment as supplied, for doses by volume.",
)  # fmt: skip
@click.option(
    "--drop", "drop_g", type=GRAMS, help="The mass of one drop of the pigment. Measure it: weigh 50 drops and divide."
)
@click.option("--batch", "batch_g", type=GRAMS, help="Mixed resin: tells the grams too.")
@answers
def convert(**said: Any) -> Answer:
    """Turn a dose into other words. Everywhere else tintmix means phr: grams of pigment as supplied per 100 g of mixed
    resin, all parts together.

    \b
      tintmix convert 0.02 --resin resin.toml --drop 0.025 --batch 450
      tintmix convert 2 --from "part B" --to phr --resin resin.toml
    """
    body = convert_dose(**said)
    return body, told(body)


def told(body: Mapping[str, Any]) -> str:
    """The body of `convert --json` as text."""
    asked = body["asked"]
    bases = body["bases"] if asked is None else {asked["basis"]: asked["value"]}
    rows = [[_figures(value), _word(basis)] for basis, value in bases.items()]
    lines: list[str] = [text.table(["dose", ""], rows, left=(1,))]
    if body["grams"] is not None:
        drops = "" if body["drops"] is None else f", {_figures(body['drops'])} drops"
        lines += ["", f"For {body['batch_g']:g} g of mixed resin: {_figures(body['grams'])} g{drops}."]
    if body["resin"] is None and asked is None:
        lines += ["", "With --resin FILE also per 100 g of one part and by volume."]
    return with_cautions(body, lines)


def _word(basis: str) -> str:
    return f"g per 100 g of {basis}" if basis.startswith("part ") else _WORDS.get(basis, basis)


def _figures(value: float) -> str:
    return numeral(value, 4) if value < 1e4 else f"{value:.0f}"
