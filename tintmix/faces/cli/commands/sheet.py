"""`tintmix sheet`: a recipe to what goes on the scale."""

from __future__ import annotations

import shutil
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, OF_RECIPE, REPLACE, SCALES, Answer, Done, answers, taken, usual
from tintmix.faces.cli.values import GRAMS, LOTS, unit


@click.command()
@click.argument("recipe", type=FILE)
@click.option("--batch", "batch_g", type=GRAMS, help="Mixed resin in grams, all parts.")
@click.option(
    "--volume", "volume_cm3", type=unit("cm3", "cm³, such as 400", "cm3", "cm³", "ml"),
    help="Or: what the mould holds in cm³ (ml); the resin's density makes grams of it.",
)  # fmt: skip
@click.option("--water", "water_g", type=GRAMS, help="Or: the grams of water that fill the mould, at room temperature.")
@click.option(
    "--waste", "waste_percent", type=unit("percent", "per cent, such as 10", "%"),
    help="With --volume or --water: so much more, for what stays in the pots. [default: 10]",
)  # fmt: skip
@SCALES
@click.option(
    "--lot", "lots", **LOTS,
    help="The lot in hand, where it is not the recipe's. The book may know how strong it is.",
)  # fmt: skip
@OF_RECIPE
@click.option("--new-bottles", is_flag=True, help="Make new stock bottles, also where the book has one.")
@click.option("--out", type=FILE, help="Write the sheet: .pdf to print, or .txt. [default: to read here]")
@usual("--paper", type=click.Choice(["A4", "Letter"], case_sensitive=False), default="A4", help="The paper of the PDF.")
@REPLACE
@answers
def sheet(recipe: str, out: str | None, paper: str, **said: Any) -> Answer:
    """Weigh a recipe out for your batch and your scales: what to put on the scale, in what order, with stock bottles for what is
    too little to weigh, what it will look like, and the cautions.

    RECIPE is a file that `tintmix solve --keep` wrote, or the name of a recipe in the book. Example:

    \b
      tintmix sheet recipe.json --batch 450 --scale resin=0.1 --scale pigment=0.01 --out batch.pdf
    """
    from tintmix.desk.bench.sheet import Amount, sheet_for  # here: help need not wait

    def rendered(made: Any, castings: Any) -> bytes:
        if out is not None and out.lower().endswith(".txt"):
            from tintmix.faces.paper.sheet_text import bytes_of  # here: help need not wait

            return bytes_of(made)
        from tintmix.faces.paper.sheet import pdf_of  # here: fpdf takes a third of a second

        return pdf_of(made, castings, paper)

    amount = taken(Amount, said)
    done = sheet_for(recipe, amount, **said, out=out, render=rendered)
    if out is None:
        from tintmix.faces.paper.sheet_text import text_of  # here: help need not wait

        return done.body, text_of(done.sheet, max(72, min(100, shutil.get_terminal_size((100, 24)).columns))).rstrip()
    moved = done.body["delta_e00_95_from_weighing"]
    bottles = [one["name"] for one in done.body["letdowns"] if not one["existing"]]
    written = (
        f"Written: {out}, for {done.sheet.headline}. The weighing moves the colour by ΔE00 {moved:.2f} at most, "
        "95 times in 100."
    )
    made = f" Stock bottles to make: {', '.join(bottles)}." if bottles else ""
    return Done(done.body, text.page([*text.noted(done.sheet.notes), written + made]), text.written_as([out]))
