"""`tintmix book pour`, `lot`, `bottle`, `check-chip`: what happens at the bench."""

from __future__ import annotations

from typing import Any

import click

from tintmix.book.values import CheckChip
from tintmix.desk.book import pours as book_pour
from tintmix.faces.cli import book_text, text
from tintmix.faces.cli.book_options import AS_JSON, BOOK, REVISION, factor, gram, grams, lab, pairs, readings
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.remedies import told as in_words
from tintmix.faces.cli.values import doses, millimetres
from tintmix.files.stamp import today
from tintmix.weighing.bottle import StockBottle


@click.command(short_help="Record a pour, or add to one what came to be known later.")
@click.argument("name")
@click.option("--number", type=click.IntRange(1), metavar="N", default=None, help="Add to this pour of the recipe.")
@REVISION
@click.option(
    "--on", "poured_on", metavar="DAY", default="", help="When it was poured, as 2027-03-01. [default: today]"
)
@click.option("--batch", callback=gram, metavar="G", default=None, help="Mixed resin, all parts, without pigment.")
@click.option(
    "--weighed", "weights", multiple=True, callback=grams, metavar="WHAT=G",
    help="What was really weighed, in g: a part of the resin, a pigment. May be given again.",
)  # fmt: skip
@click.option(
    "--from-bottle", "from_bottles", multiple=True, callback=grams, metavar="BOTTLE=G",
    help="What was taken from a stock bottle of the book, in g; the bottle then holds less. May be given again.",
)  # fmt: skip
@click.option(
    "--lot", "lots", multiple=True, callback=pairs("lot", "azure=A-17"), metavar="PIGMENT=LOT",
    help="The lot used, where it is not the recipe's. May be given again.",
)  # fmt: skip
@click.option("--cure", metavar="TEXT", default="", help="How it was cured.")
@click.option(
    "--reading", "colours", multiple=True, callback=readings, metavar="PLACE=L,a,b",
    help="L*, a*, b* read at a place on the casting. May be given again.",
)  # fmt: skip
@click.option("--light", metavar="LIGHT", default="", help="Of the readings. [default: the target's]")
@click.option(
    "--observer", type=click.Choice(["2", "10"]), default=None, help="Of the readings. [default: the target's]"
)
@click.option("--read-on", metavar="DAY", default="", help="When it was read.")
@click.option("--photo", "photos", multiple=True, type=click.Path(), metavar="FILE", help="Keep a photo in the book.")
@click.option(
    "--photo-fingerprint", "fingerprints", multiple=True, type=click.Path(), metavar="FILE",
    help="Keep only a photo's name and fingerprint (SHA-256).",
)  # fmt: skip
@click.option("--note", metavar="TEXT", default="", help="Anything else.")
@click.option("--set-aside", metavar="WHY", default="", help="With --number: leave the pour out of the history.")
@BOOK
@AS_JSON
def pour(name: str, number: int | None, book: str | None, as_json: bool, **said: Any) -> None:
    """Record a pour of the kept recipe NAME: what was weighed, from which lots, how it was cured. What is known only when the
    casting is cured, its colour, a photo, is added with --number. Examples:

    \b
      tintmix book pour sea --batch 450 --weighed A=236.8 --weighed B=208.4 --from-bottle "azure 1+50=4.82"
      tintmix book pour sea --number 1 --reading flange=87.6,-12.3,1.9 --reading point=31.2,-20.1,4.5
    """
    found = book_pour.Found(
        said["colours"],
        said["light"],
        int(said["observer"] or 0),
        said["read_on"],
        said["photos"],
        said["fingerprints"],
    )
    if number is None:
        if said["set_aside"]:
            raise click.UsageError("--set-aside needs --number: say which pour is to be left out")
        weighed = book_pour.Weighed(said["batch"], said["weights"], said["from_bottles"], said["lots"])
        done = book_pour.record(
            name, weighed, found, said["revision"], said["poured_on"], said["cure"], said["note"], book
        )
    else:
        recorded = {
            "revision": "--revision", "poured_on": "--on", "batch": "--batch", "weights": "--weighed",
            "from_bottles": "--from-bottle", "lots": "--lot", "cure": "--cure",
        }  # fmt: skip
        told = [option for key, option in recorded.items() if said[key]]
        if told:
            raise click.UsageError(
                f"{told[0]} does not go with --number, which only adds to a pour: readings, photos, a note, or --set-aside. What "
                "was recorded stays; tell a correction as a --note"
            )
        done = book_pour.add(name, number, found, said["note"], said["set_aside"], book)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.poured(done.body))


@click.command(short_help="List the lots, or enter one and how strong it is.")
@click.argument("pigment", required=False)
@click.argument("lot_name", metavar="[LOT]", required=False)
@click.option(
    "--strength", callback=factor, metavar="S", default=None,
    help="Against the pigment of the chips: 1.08 colours 8 % more; sheets divide the dose by it.",
)  # fmt: skip
@click.option(
    "--spread",
    callback=factor,
    metavar="S",
    default="0",
    help="How sure that is: relative, one standard deviation, as 0.02.",
)
@click.option("--on", metavar="DAY", default="", help="When it was measured, or came in.")
@click.option("--note", metavar="TEXT", default="", help="From what.")
@BOOK
@AS_JSON
def lot(
    pigment: str | None,
    lot_name: str | None,
    strength: float | None,
    spread: float,
    on: str,
    note: str,
    book: str | None,
    as_json: bool,
) -> None:
    """Without a LOT: the lots that the book knows. With one: it came in, or --strength says how strong it was found to be."""
    # Here, so that help need not wait for it.
    from tintmix.desk.book import shelf as book_shelf

    if pigment is None or lot_name is None:
        if strength is not None:
            raise click.UsageError("--strength needs a pigment and its lot, such as azure A-18")
        done = book_shelf.lots(pigment, book)
        told = book_text.lots(done.body)
    else:
        done = book_shelf.lot(pigment, lot_name, strength, spread, on, note, book)
        told = text.wrapped(done.body["says"])
    if as_json:
        text.say_json(done.body)
        return
    click.echo(told)


@click.command(short_help="List the stock bottles, put one on the shelf, or say what was taken from it.")
@click.argument("name", required=False)
@click.option(
    "--pigment", metavar="NAME", default=None, help="A new bottle: its pigment. Without a NAME: only of that one."
)
@click.option("--carrier", metavar="PART", default="", help="A new bottle: the resin part that it is diluted in.")
@click.option("--pigment-g", callback=gram, metavar="G", default=None, help="A new bottle: pigment in it.")
@click.option("--carrier-g", callback=gram, metavar="G", default=None, help="A new bottle: carrier in it.")
@click.option("--made-on", metavar="DAY", default="", help="A new bottle: when it was made. [default: today]")
@click.option("--lot", "lot_name", metavar="LOT", default="", help="A new bottle: the pigment's lot.")
@click.option(
    "--from-plan", "from_plan", type=click.Path(), metavar="FOLDER", default=None,
    help="Put all stock bottles of a plan on the shelf, less what its chips take.",
)  # fmt: skip
@click.option("--used", callback=gram, metavar="G", default=None, help="So much was taken from it.")
@click.option("--left", callback=gram, metavar="G", default=None, help="So much is in it, as weighed.")
@click.option("--empty", is_flag=True, help="It is empty, or was thrown away.")
@click.option(
    "--strength", callback=factor, metavar="S", default=None, help="How strong it was found to be; 1: as weighed."
)
@click.option("--spread", callback=factor, metavar="S", default="0", help="How sure that is: relative, as 0.02.")
@click.option("--note", metavar="TEXT", default="", help="What for, or from what.")
@BOOK
@AS_JSON
def bottle(name: str | None, book: str | None, as_json: bool, **said: Any) -> None:
    """Stock bottles (1 + n: one part pigment in n parts of the resin part that takes it, by mass). Examples:

    \b
      tintmix book bottle
      tintmix book bottle "azure 1+50" --pigment azure --carrier B --pigment-g 0.4 --carrier-g 20 --lot A-17
      tintmix book bottle "azure 1+50" --used 4.82
      tintmix book bottle --from-plan chips
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.book import shelf as book_shelf

    new = any(said[key] is not None for key in ("pigment_g", "carrier_g"))
    used, left, strength = said["used"], 0.0 if said["empty"] else said["left"], said["strength"]
    changes = any(one is not None for one in (used, left, strength))
    if said["empty"] and said["left"] is not None:
        raise click.UsageError("--empty and --left contradict each other; give one of them")
    if said["from_plan"] is not None:
        if name is not None or new or changes:
            raise click.UsageError(
                "--from-plan takes all bottles from the plan; it goes with --carrier and --made-on only"
            )
        done = book_shelf.shelve_plan(said["from_plan"], said["carrier"], said["made_on"], book)
    elif name is None:
        if new or changes:
            raise click.UsageError('name the bottle, such as "azure 1+50"')
        done = book_shelf.bottles(said["pigment"], book)
    elif new:
        done = book_shelf.add_bottle(_new_bottle(name, said), book)
    elif changes:
        done = book_shelf.change_bottle(name, used, left, strength, said["spread"], said["note"], book)
    else:
        raise click.UsageError(
            "say what is new of it: --used, --left, --empty or --strength; or, for a new bottle, --pigment, --carrier, "
            "--pigment-g and --carrier-g"
        )
    if as_json:
        text.say_json(done.body)
        return
    told = book_text.bottles(done.body) if "says" not in done.body else text.wrapped(done.body["says"])
    holds = done.body["bottles"] if "bottles" in done.body else done.body["left_g"] > 0
    click.echo(with_cautions(done.body, told) if holds else told)


def _new_bottle(name: str, said: dict[str, Any]) -> Any:
    missing = [
        f"--{key.replace('_', '-')}" for key in ("pigment", "carrier", "pigment_g", "carrier_g") if not said[key]
    ]
    if missing:
        raise click.UsageError(f"a new bottle needs {', '.join(missing)} too")
    total = said["pigment_g"] + said["carrier_g"]
    return StockBottle(
        name=name, pigment=said["pigment"], carrier=said["carrier"], pigment_g=said["pigment_g"],
        carrier_g=said["carrier_g"], left_g=total if said["left"] is None else said["left"],
        made_on=said["made_on"] or today(), lot=said["lot_name"],
        strength=1.0 if said["strength"] is None else said["strength"], strength_spread=said["spread"],
    )  # fmt: skip


@click.command("check-chip", short_help="Record the check chip of a lot as it was read.")
@click.argument("lot_name", metavar="LOT")
@click.option(
    "--dose", "dose", multiple=True, callback=doses, metavar="PIGMENT=PHR", help="Its pigment and dose in phr."
)
@click.option("--at", "thickness", callback=millimetres, metavar="MM", required=True, help="Its thickness.")
@click.option("--reading", "colour", callback=lab, metavar="L,a,b", required=True, help="L*, a*, b* as read.")
@click.option("--light", metavar="LIGHT", default="D65", show_default=True, help="Of the reading.")
@click.option("--observer", type=click.Choice(["2", "10"]), default="10", show_default=True, help="Of the reading.")
@click.option("--read-on", metavar="DAY", default="", help="When it was read. [default: today]")
@click.option("--name", metavar="NAME", default="", help="What is written on the chip.")
@click.option("--note", metavar="TEXT", default="", help="Anything else.")
@BOOK
@AS_JSON
def check_chip(
    lot_name: str,
    dose: dict[str, float],
    thickness: float,
    colour: tuple[float, float, float],
    light: str,
    observer: str,
    read_on: str,
    name: str,
    note: str,
    book: str | None,
    as_json: bool,
) -> None:
    """Record the check chip of a new LOT: one pigment at a known dose, cast at a known thickness, and its colour. Example:

    \b
      tintmix book check-chip A-18 --dose azure=0.05 --at 12 --reading 61.3,-22.4,-18.0
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.book import shelf as book_shelf

    if len(dose) != 1:
        raise click.UsageError("a check chip has one pigment; say its dose once, such as --dose azure=0.05")
    [(pigment, phr)] = dose.items()
    day = read_on or today()
    done = book_shelf.check_chip(
        CheckChip(pigment, lot_name, phr, thickness, colour, light, int(observer), day, name, note), book
    )
    if as_json:
        text.say_json(done.body)
        return
    text.say(in_words(done.body["says"]))
