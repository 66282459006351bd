"""`tintmix lot`: a check chip to the strength of a lot."""

from __future__ import annotations

import re
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.commands.adjust import READING, trial_of
from tintmix.faces.cli.options import FILE, Answer, Done, again, answers, usual
from tintmix.faces.cli.values import DOSES, LOTS, SHARE, STRENGTHS
from tintmix.numerals import capital

_TO_WEIGH = re.compile(r": weigh its dose divided by \d+\.\d+|; weigh as before")


@click.command()
@click.argument("model", type=FILE)
@again(
    "--dose", "doses_phr", required=True, **DOSES,
    help="What was weighed into the check cup, in phr: g per 100 g of mixed resin.",
)  # fmt: skip
@READING
@click.option("--lot", "lots", **LOTS, help="The lot that was weighed.")
@click.option("--bottle", default="", metavar="NAME", help="Or the stock bottle of the book that it was weighed from.")
@click.option("--keep", is_flag=True, help="Put the strength into the book, under its lot or bottle.")
@click.option(
    "--strength", "strengths", **STRENGTHS,
    help="What is known of a lot already. [default: as the book says, else 1 within --lot-spread]",
)  # fmt: skip
@usual("--lot-spread", type=SHARE, default="30", help="How much lots usually differ.")
@usual("--weighed-to", "weigh_spread", type=SHARE, default="2", help="How well the check cup's doses were weighed.")
@click.option("--book", type=FILE, help="The recipe book. [default: your own]")
@answers
def lot(**said: Any) -> Answer:
    """See from a check chip how strong a new lot or a stock bottle is, against the pigment that the model learnt.

    Pour one cup with a known dose of the new lot, as strong and as thick as you can still see through; cure it, read it. MODEL is
    a file that `tintmix fit` wrote. A second cup's chip, read later under the same lot, refines the first. Example:

    \b
      tintmix lot my.json --dose azure=0.06 --at 12 --lab 78.9,-34.8,-27.9 --lot azure=A-18 --keep
    """
    from tintmix.desk.bench.lot import lot_for  # here: help need not wait

    trial = trial_of(said)
    body = lot_for(trial=trial, **said)
    kept = [f"Kept in the book: {', '.join(body['kept'])}."] if body["kept"] else []
    # How strong it is need not wait for the cautions; what to weigh stands behind them.
    says = capital(body["says"])
    strong = _TO_WEIGH.sub("", says)
    parts = [*([] if strong == says else [says]), *kept, *text.noted(body["notes"])]
    return Done(
        body, with_cautions(body, parts, at_once=[strong]), f"in the book: {', '.join(body['kept'])}" if kept else ""
    )
