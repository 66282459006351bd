"""`tintmix book pour`, `lot`, `bottle`, `check-chip`: what happens at the bench."""

from __future__ import annotations

from collections.abc import Mapping
from operator import itemgetter
from typing import Any

import click

from tintmix.book.values import CheckChip
from tintmix.faces.cli import book_text
from tintmix.faces.cli.book_text import told_by
from tintmix.faces.cli.commands.adjust import photo_of
from tintmix.faces.cli.options import (
    AS_WEIGHED,
    BOOK,
    COUNT,
    FILE,
    LINEAR,
    OBSERVER,
    REVISION,
    Answer,
    again,
    answers,
    taken,
    usual,
)
from tintmix.faces.cli.values import (
    COLOUR,
    DOSES,
    FACTOR,
    GRAMS,
    LOTS,
    MM,
    WEIGHT,
    colour,
    millimetres,
    named,
    table_of,
)
from tintmix.files.stamp import today
from tintmix.weighing.bottle import StockBottle


@click.command()
@click.argument("name")
@click.option("--number", type=COUNT, metavar="N", help="Add to this pour of the recipe.")
@REVISION
@click.option(
    "--on", "poured_on", metavar="DAY", default="", help="When it was poured, as 2026-03-01. [default: today]"
)
@click.option("--batch", "batch_g", type=GRAMS, help="Mixed resin, all parts, without pigment.")
@again(
    "--weighed", "weights_g", **table_of(WEIGHT, "WHAT=G"),
    help="What was really weighed, in g: a part of the resin, a pigment.",
)  # fmt: skip
@again(
    "--from-bottle", "from_bottles", **table_of(WEIGHT, "BOTTLE=G"),
    help="What was taken from a stock bottle of the book, in g; the bottle then holds less.",
)  # fmt: skip
@AS_WEIGHED
@again("--lot", "lots", **LOTS, help="The lot used, where it is not the recipe's.")
@click.option("--cure", default="", help="How it was cured.")
@again(
    "--reading", "readings", type=named("place and colour", "point=63.6,-33.7,-8.4", colour), metavar="PLACE=L,a,b",
    help="L*, a*, b* read at a place on the casting.",
)  # fmt: skip
@click.option(
    "--read-as",
    "like",
    type=click.Path(),
    metavar="SET",
    help="With --reading: of chips as thick as the places, read on a white tile as the chips of this set were.",
)
@again("--read-photo", "taken", type=FILE, help="Or a photo of its chips, by the camera that read the model's chips.")
@again("--panel", "panels", type=FILE, help="With --read-photo: the same view with the chips taken off.")
@again(
    "--window", "windows", type=named("place and where its chip lies", "point=2.3"), metavar="PLACE=WHERE",
    help="With --read-photo: where the chip as thick as a place lies, 2.3 (row 2, third window of the holder sheet) or X,Y,W,H "
    "in pixels.",
)  # fmt: skip
@again(
    "--thickness", "chips_mm", **table_of(named("place and thickness", "point=12, in mm", millimetres), "PLACE=MM"),
    help="With --read-photo: how thick the chip of a place is, where it is not as thick as the place. The place's colour is "
    "reckoned from it.",
)  # fmt: skip
@again("--open", "opened", metavar="X,Y,W,H", help="With --read-photo and pixels: where the bare panel shows.")
@again("--dark", metavar="X,Y,W,H", help="With --read-photo and pixels: where opaque black card shows.")
@LINEAR
@click.option("--light", metavar="LIGHT", default="", help="The light of the readings. [default: the target's]")
@click.option("--observer", type=OBSERVER, help="The observer of the readings. [default: the target's]")
@click.option("--read-on", metavar="DAY", default="", help="When it was read.")
@click.option("--photo", "photos", multiple=True, type=FILE, help="Keep a photo in the book.")
@click.option(
    "--photo-fingerprint", "fingerprint_only", multiple=True, type=FILE,
    help="Keep only a photo's name and fingerprint (SHA-256).",
)  # fmt: skip
@click.option("--note", default="", help="Anything else.")
@click.option("--again", is_flag=True, help="It was poured once more, though the same was recorded just now.")
@click.option("--set-aside", metavar="WHY", default="", help="With --number: leave the pour out of the history.")
@BOOK
@answers
def pour(name: str, number: int | None, note: str, set_aside: str, book: str | None, **said: Any) -> Answer:
    """Record a pour of the kept recipe NAME: what was weighed, from which lots, how it was cured. What is known only when the
    casting is cured, its colour, a photo, is added with --number. Examples:

    \b
      tintmix book pour sea-green --batch 450 --weighed A=236.8 --from-bottle "azure 1+50=1.95"
      tintmix book pour sea-green --number 1 --reading flange=91.2,-7.5,-2.1 --reading point=63.6,-33.7,-8.4
      tintmix book pour sea-green --number 1 --read-photo chips.dng --panel bare.dng --window flange=2.3
      tintmix book pour sea-green --number 1 --read-photo chips.dng --panel bare.dng --window point=2.3 --thickness point=12
    """
    from tintmix.desk.book import pours  # here: help need not wait

    # The photos that are kept have the options' plain name here.
    kept, said["photos"] = said["photos"], said.pop("taken")
    by_photo = photo_of(said)
    if by_photo is None and said["chips_mm"]:
        raise click.UsageError("--thickness PLACE=MM goes with --read-photo FILE")
    if by_photo is not None and not said["windows"]:
        raise click.UsageError("--read-photo needs --window PLACE=WHERE for each place whose chip it shows")
    if said["like"] and not said["readings"]:
        raise click.UsageError("--read-as SET goes with --reading PLACE=L,a,b")
    found = taken(pours.Found, said, observer=said["observer"] or 0, photos=kept, by_photo=by_photo)
    recorded = {key: said[key] for key in ("revision", "poured_on", "cure", "as_weighed", "again")}
    if number is None:
        if set_aside:
            raise click.UsageError("--set-aside needs --number: say which pour is to be left out")
        done = pours.record(name, taken(pours.Weighed, said), found, **recorded, note=note, book=book)
        return told_by(done, book_text.poured)
    for option in click.get_current_context().command.params:
        if option.name in (*recorded, "batch_g", "weights_g", "from_bottles", "lots") and said[option.name]:
            raise click.UsageError(
                f"{option.opts[0]} does not go with --number, which only adds to a pour: readings, photos, a note, or "
                "--set-aside. What was recorded stays; tell a correction as a --note"
            )
    return told_by(pours.add(name, number, found, note, set_aside, book), book_text.poured)


@click.command()
@click.argument("pigment", required=False)
@click.argument("name", metavar="[LOT]", required=False)
@click.option(
    "--strength", type=FACTOR,
    help="Against the pigment of the chips: 1.08 colours 8 % more; sheets divide the dose by it.",
)  # fmt: skip
@click.option("--spread", type=FACTOR, default="0", help="How sure that is: relative, one standard deviation, as 0.02.")
@click.option("--on", metavar="DAY", default="", help="When it was measured, or came in.")
@click.option("--note", default="", help="From what.")
@BOOK
@answers
def lot(**said: Any) -> Answer:
    """Without a LOT: the lots that the book knows. With one: it came in, or --strength says how strong it was found to be."""
    from tintmix.desk.book import shelf  # here: help need not wait

    if said["name"] is not None:
        return told_by(shelf.lot(**said), itemgetter("says"))
    if said["strength"] is not None:
        raise click.UsageError("--strength needs a pigment and its lot, such as azure A-18")
    return told_by(shelf.lots(said["pigment"], said["book"]), book_text.lots)


@click.command()
@click.argument("name", required=False)
@click.option("--pigment", metavar="NAME", help="A new bottle: its pigment. Without a NAME: only of that one.")
@click.option("--carrier", metavar="PART", default="", help="A new bottle: the resin part that it is diluted in.")
@click.option("--pigment-g", type=GRAMS, help="A new bottle: pigment in it.")
@click.option("--carrier-g", type=GRAMS, help="A new bottle: carrier in it.")
@click.option("--made-on", metavar="DAY", default="", help="A new bottle: when it was made. [default: today]")
@click.option("--lot", metavar="LOT", default="", help="A new bottle: the pigment's lot.")
@click.option(
    "--from-plan", type=click.Path(), metavar="FOLDER",
    help="Put all stock bottles of a plan on the shelf, less what its chips take.",
)  # fmt: skip
@click.option("--used", type=GRAMS, help="So much was taken from it.")
@click.option("--left", type=GRAMS, help="So much is in it, as weighed.")
@click.option("--empty", is_flag=True, help="It is empty, or was thrown away.")
@click.option("--strength", type=FACTOR, help="How strong it was found to be; 1: as weighed.")
@click.option("--spread", type=FACTOR, default="0", help="How sure that is: relative, as 0.02.")
@click.option("--note", default="", help="What for, or from what.")
@BOOK
@answers
def bottle(name: str | None, book: str | None, **said: Any) -> Answer:
    """Stock bottles (1 + n: one part pigment in n parts of the resin part that takes it, by mass). Examples:

    \b
      tintmix book bottle
      tintmix book bottle "azure 1+50" --pigment azure --carrier B --pigment-g 0.4 --carrier-g 20 --lot A-17
      tintmix book bottle "azure 1+50" --used 4.82
      tintmix book bottle --from-plan chips
    """
    from tintmix.desk.book import shelf  # here: help need not wait

    new = any(said[key] is not None for key in ("pigment_g", "carrier_g"))
    change = (said["used"], 0.0 if said["empty"] else said["left"], said["strength"])
    changes = any(one is not None for one in change)
    if said["empty"] and said["left"] is not None:
        raise click.UsageError("--empty and --left contradict each other; give one of them")
    if said["from_plan"] is not None:
        if name is not None or new or changes:
            raise click.UsageError(
                "--from-plan takes all bottles from the plan; it goes with --carrier and --made-on only"
            )
        return told_by(shelf.shelve_plan(said["from_plan"], said["carrier"], said["made_on"], book), book_text.on_shelf)
    if name is None:
        if new or changes:
            raise click.UsageError('name the bottle, such as "azure 1+50"')
        return told_by(shelf.bottles(said["pigment"], book), book_text.on_shelf)
    if new:
        return told_by(shelf.add_bottle(_new_bottle(name, said), book), book_text.on_shelf)
    if not changes:
        raise click.UsageError(
            "say what is new of it: --used, --left, --empty or --strength; or, for a new bottle, --pigment, --carrier, "
            "--pigment-g and --carrier-g"
        )
    return told_by(shelf.change_bottle(name, *change, said["spread"], said["note"], book), book_text.on_shelf)


def _new_bottle(name: str, said: Mapping[str, Any]) -> Any:
    needed = ("pigment", "carrier", "pigment_g", "carrier_g")
    missing = [f"--{key.replace('_', '-')}" for key in needed if not said[key]]
    if missing:
        raise click.UsageError(f"a new bottle needs {', '.join(missing)} too")
    left = said["pigment_g"] + said["carrier_g"] if said["left"] is None else said["left"]
    return StockBottle(
        name=name, **{key: said[key] for key in needed}, left_g=left, made_on=said["made_on"] or today(), lot=said["lot"],
        strength=1.0 if said["strength"] is None else said["strength"], strength_spread=said["spread"],
    )  # fmt: skip


@click.command("check-chip")
@click.argument("lot", metavar="LOT")
@click.option("--dose", **DOSES, help="Its pigment and dose in phr.")
@click.option("--at", "thickness_mm", type=MM, required=True, help="Its thickness.")
@click.option("--reading", "lab", type=COLOUR, required=True, metavar="L,a,b", help="L*, a*, b* as read.")
@usual("--light", metavar="LIGHT", default="D65", help="The light of the reading.")
@usual("--observer", type=OBSERVER, default="10", help="The observer of the reading, in degrees.")
@click.option("--read-on", metavar="DAY", default="", help="When it was read. [default: today]")
@click.option("--name", metavar="NAME", default="", help="What is written on the chip.")
@click.option("--note", default="", help="Anything else.")
@BOOK
@answers
def check_chip(dose: dict[str, float], read_on: str, book: str | None, **said: Any) -> Answer:
    """Record the check chip of a new LOT: one pigment at a known dose, cast at a known thickness, and its colour. Example:

    \b
      tintmix book check-chip A-18 --dose azure=0.05 --at 12 --reading 61.3,-22.4,-18.0
    """
    from tintmix.desk.book import shelf  # here: help need not wait

    if len(dose) != 1:
        raise click.UsageError("a check chip has one pigment; say its dose once, such as --dose azure=0.05")
    [(pigment, phr)] = dose.items()
    chip = taken(CheckChip, said, pigment=pigment, dose_phr=phr, read_on=read_on or today())
    return told_by(shelf.check_chip(chip, book), itemgetter("says"))
