"""Stock bottles, lots and check chips in the book."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from tintmix.book.book import Book, open_book
from tintmix.book.shelf import Lot
from tintmix.book.values import CheckChip
from tintmix.chips.folder import SET_NAME
from tintmix.chips.set_file import read_setting
from tintmix.desk.book.recipes import BookDone
from tintmix.desk.plan.text import UNKNOWN_PART
from tintmix.errors import Note, NotThere, Remedy, ValueProblem
from tintmix.files import caps
from tintmix.files.stamp import check_day, today
from tintmix.files.text import load_text
from tintmix.files.words import plain
from tintmix.files.write import Where
from tintmix.numerals import listed, numeral
from tintmix.resin import Resin
from tintmix.sheet.cautions import cautions, cautions_for, cautions_table
from tintmix.weighing.bottle import BOTTLES_NAME, CANCELS, StockBottle, bottles_from_text

_LOOKED_AT = 20
"""Recipes whose resins are looked at: more than one maker has resins."""


def lots(pigment: str | None = None, book: Where | None = None) -> BookDone:
    """Every lot that the book knows, and how strong it is."""
    with open_book(book, create=False) as opened:
        return BookDone({"book": str(opened.path), "lots": [asdict(one) for one in opened.lots(pigment)]})


def lot(
    pigment: str,
    name: str,
    strength: float | None = None,
    spread: float = 0.0,
    on: str = "",
    note: str = "",
    book: Where | None = None,
) -> BookDone:
    """A lot that came in, or the strength that was found of it. Raises ValueProblem."""
    check_day("the day of the lot", on)
    with open_book(book) as opened:
        kept = opened.set_lot_strength(pigment, name, strength, spread if strength is not None else 0.0, on, note)
        return BookDone(
            {"book": str(opened.path), **asdict(kept), "says": lot_says(kept)}, recorded="recorded in the book"
        )


def bottles(pigment: str | None = None, book: Where | None = None) -> BookDone:
    """The stock bottles with something in them. Which resin they go into nobody has said, so all cautions come along."""
    day = today()
    with open_book(book, create=False) as opened:
        shelf = [bottle_table(one, day) for one in opened.bottles(pigment)]
        return BookDone({"book": str(opened.path), "bottles": shelf, **cautions_table(cautions())})


def add_bottle(bottle: StockBottle, book: Where | None = None) -> BookDone:
    """Put a bottle on the shelf. Raises InUse, ValueProblem."""
    check_day("the day of the bottle", bottle.made_on)
    with open_book(book) as opened:
        warnings = _unknown(opened, bottle)
        opened.add_bottle(bottle)
        done = _told(opened, bottle, f"{bottle.name} is on the shelf with {bottle.left_g:.4g} g in it.")
        return done if not warnings else replace(done, body=done.body | {"warnings": warnings})


def _unknown(book: Book, bottle: StockBottle) -> list[str]:
    """What the bottle says that no recipe of the book knows, which may be new. Raises ValueProblem for a name that the recipes
    write with other capitals: no sheet would find the bottle."""
    lines = book.list()
    pigments = {p for line in lines for p in line.doses_phr}
    using = [line.name for line in lines if bottle.pigment in line.doses_phr][:_LOOKED_AT]
    resins = [book.recipe(name).recipe.resin for name in using]
    parts = {part.name for resin in resins if resin is not None for part in resin.parts}
    told = []
    for what, said, known in (("pigment", bottle.pigment, pigments), ("part", bottle.carrier, parts)):
        if not known or said in known:
            continue
        names = listed(map(plain, sorted(known)))
        if said.casefold() in {one.casefold() for one in known}:
            raise ValueProblem(
                where=f"stock bottle {plain(bottle.name)!r}",
                what=f"its {what} {plain(said)!r} is written otherwise in the book's recipes: {names}",
            )
        told.append(
            f"no recipe of the book knows the {what} {plain(said)!r}, only {names}: no sheet takes the bottle until one does"
        )
    return told


def _told(book: Book, bottle: StockBottle, says: str) -> BookDone:
    return BookDone(
        {"book": str(book.path), **bottle_table(bottle), "says": says, **cautions_table(cautions())},
        recorded="recorded in the book",
    )


def shelve_plan(folder: Where, carrier: str = "", made_on: str = "", book: Where | None = None) -> BookDone:
    """Put the stock bottles of a plan on the shelf, less what its cups take; all of them or none.

    folder: that the plan was written to. carrier: the resin part they are diluted in, where the plan does not know it. A sheet
    and an adjustment then take pigment from the bottles that the chips were dosed from, whose own error cancels. Raises
    NotThere, FileProblem, ValueProblem, InUse.
    """
    check_day("the day of the bottles", made_on)
    path = Path(folder) / BOTTLES_NAME
    if not path.is_file():
        raise NotThere(
            where=folder,
            what="no stock bottles are planned there (bottles.csv is missing)",
            remedy=Remedy.NAME_A_PLAN_WITH_BOTTLES,
        )
    text = load_text(path, caps.TABLE, "the table of the plan's stock bottles")
    planned, taken = bottles_from_text(text, str(path), made_on or today(), carrier)
    said = Path(folder) / SET_NAME
    return _shelved(planned, taken, book, read_setting(said).resin if said.is_file() else None)


def shelve_planned(plan: Mapping[str, Any], book: Where | None = None) -> BookDone:
    """The same of the body of a plan, no file; by what was really weighed, where it was typed. Raises ValueProblem, InUse."""
    weighed = [one for cup in plan["cups"] for one in cup["weigh"]]
    planned = []
    for one in plan["letdowns"]:
        if one["carrier"] == UNKNOWN_PART:
            raise ValueProblem(
                where=f"stock bottle {plain(one['name'])!r}",
                what="the resin of the plan does not say which part takes pigment, so its carrier is not known",
                remedy=Remedy.PLAN_WITH_SUCH_A_RESIN,
            )
        pigment_g, carrier_g = _shown(one, "pigment_g"), _shown(one, "carrier_g")
        grams = pigment_g, carrier_g, max(_left_over(plan, one), 0.0)
        planned.append(
            StockBottle(
                one["name"],
                one["pigment"],
                one["carrier"],
                *grams,
                today(),
                strength_spread=CANCELS,
                resin=one.get("resin", ""),  # a plan of an earlier version does not say
            )
        )
    taken = {
        one["name"]: sum(_shown(weight, "grams") for weight in weighed if weight["letdown"] == one["name"])
        for one in plan.get("from_shelf", ())
    }
    return _shelved(planned, taken, book)


def put_shelf_right(before: Mapping[str, Any], after: Mapping[str, Any], book: Where | None = None) -> list[str]:
    """Bring the bottles of a plan that stand on the shelf up to date with what was really weighed; what was done, in sentences.

    before, after: the body of the plan as it was, and with what was typed now. A bottle is known again by its name and by what
    it was made of. Its strength is then its new share by that on the shelf, which with a model of these chips still cancels.
    """
    try:
        opened_book = open_book(book, create=False)
    except NotThere:
        return []
    told = []
    with opened_book as opened, opened.writing():
        shelf = {one.name: one for one in opened.bottles()}
        for old, new in zip(before["letdowns"], after["letdowns"], strict=True):
            bottle = shelf.get(new["name"])
            if bottle is None or not _is_of_plan(bottle, old):
                continue
            pigment_g, carrier_g = _shown(new, "pigment_g"), _shown(new, "carrier_g")
            strength = float(f"{pigment_g / (pigment_g + carrier_g) / bottle.share:.9g}")
            left_g = bottle.left_g + _left_over(after, new) - _left_over(before, old)
            if strength == bottle.strength and abs(left_g - bottle.left_g) < 1e-9:
                continue
            note = "as it was really weighed"
            opened.set_bottle_strength(bottle.name, strength, CANCELS, note)
            stood = opened.set_bottle_left(bottle.name, min(max(left_g, 0.0), bottle.total_g), note)
            share = numeral(100 * strength, 4)
            told.append(f"On the shelf too: {bottle.name}, {share} % as strong as planned, {stood.left_g:.4g} g left.")
    return told


def _is_of_plan(bottle: StockBottle, row: Mapping[str, Any]) -> bool:
    made = bottle.pigment_g, bottle.carrier_g
    planned = row["pigment_g"], row["carrier_g"]
    weighed = _shown(row, "pigment_g"), _shown(row, "carrier_g")
    of_it = (bottle.pigment, bottle.carrier) == (row["pigment"], row["carrier"])
    return of_it and any(math.dist(made, one) < 1e-6 for one in (planned, weighed))


def _left_over(plan: Mapping[str, Any], row: Mapping[str, Any]) -> float:
    """Grams that are left in a new bottle of a plan once its cups are poured."""
    used_g = sum(_shown(one, "grams") for cup in plan["cups"] for one in cup["weigh"] if one["letdown"] == row["name"])
    return _shown(row, "pigment_g") + _shown(row, "carrier_g") - used_g


def _shown(row: Mapping[str, Any], key: str) -> float:
    """A weight of a plan as the scale showed it, where that was typed."""
    return float(row.get("weighed", {}).get(key, row[key]))


def _shelved(
    planned: Sequence[StockBottle], taken: Mapping[str, float], book: Where | None, resin: Resin | None = None
) -> BookDone:
    """taken: grams out of the bottles that stood there before."""
    with open_book(book) as opened, opened.writing():
        for bottle in planned:
            opened.add_bottle(bottle)
        stood = [opened.use_bottle(name, grams, "chips") for name, grams in taken.items()]
        held = [f"{one.name} with {one.left_g:.4g} g" for one in (*planned, *stood)]
        says = (
            f"On the shelf: {', '.join(held)}, what the chips take already left out. Sheets, adjustments and further plans use "
            "them where they serve; with a model of these chips a bottle's own error cancels."
        )
        shelf = [bottle_table(one) for one in (*planned, *stood)]
        return BookDone(
            {"book": str(opened.path), "bottles": shelf, "says": says, **cautions_table(cautions_for(resin))},
            recorded="recorded in the book",
        )


def change_bottle(
    name: str,
    used_g: float | None = None,
    left_g: float | None = None,
    strength: float | None = None,
    spread: float = 0.0,
    note: str = "",
    book: Where | None = None,
) -> BookDone:
    """Say what was taken from a bottle, what is left in it, or how strong it is. Raises NotThere, ValueProblem."""
    with open_book(book, create=False) as opened:
        bottle = None
        if used_g is not None:
            bottle = opened.use_bottle(name, used_g, note)
        if left_g is not None:
            bottle = opened.set_bottle_left(name, left_g, note)
        if strength is not None:
            bottle = opened.set_bottle_strength(name, strength, spread, note)
        assert bottle is not None, "nothing to change"
        return _told(
            opened, bottle, f"{name}: {bottle.left_g:.4g} g left." if bottle.left_g > 0 else f"{name} is empty."
        )


def check_chip(chip: CheckChip, book: Where | None = None) -> BookDone:
    """Record a check chip as it was read. Raises ValueProblem."""
    check_day("the day of the reading", chip.read_on)
    with open_book(book) as opened:
        opened.add_check_chip(chip)
        count = len(opened.check_chips(chip.pigment, chip.lot))
        says = Note(
            says=f"Recorded check chip {count} of {chip.pigment} lot {chip.lot}.", remedy=Remedy.WORK_OUT_THE_LOT
        )
        return BookDone(
            {"book": str(opened.path), "count": count, **asdict(chip), "says": says},
            recorded=f"recorded as check chip {count}",
        )


def bottle_table(bottle: StockBottle, today: str = "") -> dict[str, Any]:
    """A bottle as a table. n: parts of carrier to one part of pigment, by mass."""
    return {**asdict(bottle), "n": bottle.n, "age_days": bottle.age_days(today)}


def lot_says(lot: Lot) -> str:
    """What a lot means for weighing, in a sentence."""
    if lot.strength is None:
        return (
            f"{lot.pigment} lot {lot.lot}: nobody has measured its strength. Pour its check chip before you use it; until "
            "then it is weighed as if it were as strong as the pigment of the chips."
        )
    turn, apart = "stronger" if lot.strength > 1 else "weaker", 100 * abs(lot.strength - 1)
    told = f"{'as strong as' if apart < 0.05 else f'{apart:.1f} % {turn} than'} the pigment of the chips"
    return f"{lot.pigment} lot {lot.lot} is {told}: sheets divide its doses by {numeral(lot.strength, 4)}."
