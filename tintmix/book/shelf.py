"""The shelf in the book: stock bottles and what is left in them, lots and how strong they are, check chips."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

from tintmix.book.errors import bottle_there, no_such_bottle
from tintmix.book.file import Store
from tintmix.book.recipes import check_name
from tintmix.book.records import BOTTLE, BOTTLE_EVENT, CHECK_CHIP, LOT, Row, add, rows, value_of
from tintmix.book.values import CheckChip, check_date, check_text
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.plain import table_of
from tintmix.files.words import plain
from tintmix.quantities import GRAMS, GRAMS_OR_NONE, SHARE, STRENGTH
from tintmix.weighing.bottle import StockBottle

EMPTY_G = 1e-6
"""Grams below which a bottle counts as empty."""


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot of a pigment and how strong it is against the pigment of the chips: the weight asked is dose/strength.
    strength: None: its check chip is not read yet. spread: relative, one standard deviation. check_chips: how many are in
    the book."""

    pigment: str
    lot: str
    strength: float | None
    spread: float
    on: str = ""
    note: str = ""
    check_chips: int = 0


# Stock bottles --------------------------------------------------------------------------------------------------------


def bottles(store: Store, pigment: str | None = None) -> tuple[StockBottle, ...]:
    """The bottles with something in them, as full and as strong as they are now, in the order in which they were made."""
    with store.reading():
        return tuple(one for _, one in _shelf(store) if pigment in (None, one.pigment))


def add_bottle(store: Store, bottle: StockBottle) -> StockBottle:
    """Put a bottle on the shelf. Raises InUse where one of that name has something in it."""
    check_name(bottle.name, "stock bottle")
    with store.writing() as db:
        if same := _shelf(store, bottle.name):
            raise bottle_there(bottle.name, same[-1][1].left_g)
        add(db, BOTTLE, table_of(bottle))
    return bottle


def use_bottle(store: Store, name: str, grams: float, what: str = "") -> StockBottle:
    """Take grams out of a bottle; the bottle as it is then. Raises NotThere, ValueProblem."""
    grams = GRAMS.check(f"what is taken from {name}", grams)
    check_text("use", what, 0, 500)
    with store.writing():
        _, bottle = _there(store, name)
        if grams > bottle.left_g * (1 + 1e-9) + EMPTY_G:
            raise ValueProblem(
                what=f"stock bottle {plain(name)!r} holds {bottle.left_g:.4g} g by the book, and {grams:.4g} g are to be "
                "taken from it",
                remedy=Remedy.WEIGH_THE_BOTTLE,
            )
        return _happened(store, name, "used", {"grams": grams, "what": what})


def set_bottle_left(store: Store, name: str, grams: float, what: str = "") -> StockBottle:
    """Say how much is in a bottle, as weighed again; 0: it is empty. Raises NotThere, ValueProblem."""
    grams = GRAMS_OR_NONE.check(f"what is left in {name}", grams)
    return _happened(store, name, "weighed again", {"grams": grams, "what": what})


def set_bottle_strength(store: Store, name: str, strength: float, spread: float, note: str = "") -> StockBottle:
    """Say how strong a bottle was found to be. Raises NotThere, ValueProblem."""
    strength, spread = _strength(f"the strength of {name}", strength, spread)
    check_text("note", note, 0, 500)
    return _happened(store, name, "strength", {"strength": strength, "spread": spread, "what": note})


def after(bottle: StockBottle, event: Mapping[str, Any]) -> StockBottle:
    """A bottle after what happened to it. Raises KeyError, TypeError, ValueError, ValueProblem for what cannot have."""
    if event["kind"] == "used":
        return replace(bottle, left_g=max(bottle.left_g - float(event["grams"]), 0.0))
    if event["kind"] == "weighed again":
        return replace(bottle, left_g=float(event["grams"]))
    if event["kind"] == "strength":
        return replace(bottle, strength=float(event["strength"]), strength_spread=float(event["spread"]))
    raise ValueError(f"an event of kind {event['kind']!r}")


def _happened(store: Store, name: str, kind: str, content: Mapping[str, Any]) -> StockBottle:
    with store.writing() as db:
        row, bottle = _there(store, name)
        event = {"bottle": row.digest, "kind": kind, **content}
        then = after(bottle, event)
        add(db, BOTTLE_EVENT, event)
        return then


def _shelf(store: Store, name: str | None = None) -> list[tuple[Row, StockBottle]]:
    """The bottles with something in them, of a name or all, as they are now."""
    shelf = []
    for row in rows(store, BOTTLE) if name is None else rows(store, BOTTLE, "name = ?", (name,)):
        events = rows(store, BOTTLE_EVENT, "bottle_id = ?", (row.id,))
        now = reduce(after, (event.content for event in events), value_of(StockBottle, row.content))
        if now.left_g > EMPTY_G:
            shelf.append((row, now))
    return shelf


def _there(store: Store, name: str) -> tuple[Row, StockBottle]:
    if found := _shelf(store, name):
        return found[-1]
    raise no_such_bottle(name, (one.name for _, one in _shelf(store)))


# Lots and check chips -------------------------------------------------------------------------------------------------


def lot_strengths(store: Store, lots_in_hand: Mapping[str, str]) -> dict[str, tuple[float, float]]:
    """Of some lots (pigment → lot) the strength and its relative spread, as last measured; without those that nobody has."""
    known = {(one.pigment, one.lot): one for one in lots(store) if one.strength is not None}
    found = {pigment: known.get((pigment, lot)) for pigment, lot in lots_in_hand.items()}
    return {pigment: (one.strength, one.spread) for pigment, one in found.items() if one and one.strength is not None}


def set_lot_strength(
    store: Store, pigment: str, lot: str, strength: float | None, spread: float = 0.0, on: str = "", note: str = ""
) -> Lot:
    """Say how strong a lot is against the pigment of the chips; None: it came in, its check chip is not read yet.

    Raises ValueProblem.
    """
    check_text("note", note, 0, 500)
    if on:
        check_date("the day of the lot", on)
    table = {"pigment": pigment, "lot": lot, "strength": strength, "spread": spread, "on": on, "note": note}
    with store.writing() as db:
        add(db, LOT, table_of(lot_of(table), ("check_chips",)))
        return next(one for one in lots(store, pigment) if one.lot == lot)


def lots(store: Store, pigment: str | None = None) -> tuple[Lot, ...]:
    """Every lot that the book knows, each as last measured, by pigment and name."""
    last: dict[tuple[str, str], Lot] = {}
    with store.reading():
        chips = [(row.content["pigment"], row.content["lot"]) for row in rows(store, CHECK_CHIP)]
        for row in rows(store, LOT):
            told = lot_of(row.content)
            key = told.pigment, told.lot
            if told.strength is not None or key not in last:
                last[key] = told
        for key in chips:
            last.setdefault(key, Lot(*key, None, 0.0))
    return tuple(replace(last[key], check_chips=chips.count(key)) for key in sorted(last) if pigment in (None, key[0]))


def lot_of(content: Mapping[str, Any]) -> Lot:
    """What a row of lots says, checked."""
    pigment, lot, strength, spread = (content[key] for key in ("pigment", "lot", "strength", "spread"))
    check_name(pigment, "pigment")
    check_name(lot, "lot")
    if strength is not None:
        strength, spread = _strength(f"the strength of {pigment} lot {lot}", strength, spread)
    return Lot(pigment, lot, strength, float(spread), str(content["on"]), str(content["note"]))


def add_check_chip(store: Store, chip: CheckChip) -> None:
    """Record a check chip of a lot as it was read."""
    with store.writing() as db:
        add(db, CHECK_CHIP, table_of(chip))


def check_chips(store: Store, pigment: str | None = None, lot: str | None = None) -> tuple[CheckChip, ...]:
    """Check chips in the order in which they were recorded."""
    with store.reading():
        found = [value_of(CheckChip, row.content) for row in rows(store, CHECK_CHIP)]
    return tuple(one for one in found if pigment in (None, one.pigment) and lot in (None, one.lot))


def _strength(what: str, strength: float, spread: float) -> tuple[float, float]:
    return STRENGTH.check(what, strength), SHARE.check(f"{what}, its spread", spread)
