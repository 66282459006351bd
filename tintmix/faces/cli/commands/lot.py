"""`tintmix lot`: a check chip to the strength of a lot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.commands.adjust import (
    in_hand,
    percent_part,
    reading_options,
    strengths_list,
    trial_of,
)
from tintmix.faces.cli.values import doses


@click.command(short_help="See from a check chip how strong a new lot or bottle is.")
@click.argument("model", type=click.Path())
@click.option(
    "--dose", "doses_phr", multiple=True, required=True, callback=doses, metavar="PIGMENT=PHR",
    help="What was weighed into the check cup, in phr: g per 100 g of mixed resin. May be given again.",
)  # fmt: skip
@reading_options
@click.option("--lot", "lots", multiple=True, callback=in_hand, metavar="PIGMENT=LOT", help="The lot that was weighed.")
@click.option("--bottle", default="", metavar="NAME", help="Or the stock bottle of the book that it was weighed from.")
@click.option("--keep", is_flag=True, help="Put the strength into the book, under its lot or bottle.")
@click.option(
    "--strength", "strengths", multiple=True, callback=strengths_list, metavar="PIGMENT=FACTOR[:PERCENT]",
    help="What is known of a lot already. [default: as the book says, else 1 within --lot-spread]",
)  # fmt: skip
@click.option("--lot-spread", callback=percent_part, default="30", show_default=True, metavar="PERCENT",
              help="How much lots usually differ.")  # fmt: skip
@click.option("--weighed-to", callback=percent_part, default="2", show_default=True, metavar="PERCENT",
              help="How well the check cup's doses were weighed.")  # fmt: skip
@click.option("--book", type=click.Path(), metavar="FILE", default=None, help="The recipe book. [default: your own]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def lot(
    model: str,
    doses_phr: dict[str, float],
    lots: dict[str, str],
    bottle: str,
    keep: bool,
    strengths: dict[str, tuple[float, float]],
    lot_spread: float,
    weighed_to: float,
    book: str | None,
    as_json: bool,
    **read: Any,
) -> None:
    """See from a check chip how strong a new lot or a stock bottle is, against the pigment that the model learnt.

    Pour one cup with a known dose of the new lot, as strong and as thick as you can still see through; cure it, read it. MODEL is
    a file that `tintmix fit` wrote. A second cup's chip, read later under the same lot, refines the first. Example:

    \b
      tintmix lot my.json --dose azure=0.06 --at 12 --lab 62.1,-14.0,-30.2 --lot azure=A-18 --keep
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.bench.lot import lot_for

    done = lot_for(
        model, doses_phr, trial_of(read), lots, bottle, keep, strengths, lot_spread, weighed_to, book
    )  # fmt: skip
    if as_json:
        text.say_json(done.body)
        return
    click.echo(told(done.body))


def told(body: Mapping[str, Any]) -> str:
    """The body of `lot --json` as text."""
    says = body["says"]
    lines = [text.wrapped(says[:1].upper() + says[1:])]
    if body["kept"]:
        lines.append(text.wrapped(f"Kept in the book: {', '.join(body['kept'])}."))
    lines += [text.wrapped(f"Note: {note}") for note in body["notes"]]
    return with_cautions(body, "\n".join(lines))
