"""The batch sheet on the page: made once, then kept as it is while it is ticked off and weighed; then into the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tintmix.book.book import open_book
from tintmix.desk.bench.sheet import WASTE_PERCENT, Amount, sheet_for
from tintmix.desk.book.recipes import keep
from tintmix.files.stamp import today
from tintmix.page.bench.old_sheet import with_typed_lines
from tintmix.page.bench.weights import (
    Pot,
    as_typed,
    bottle_shares,
    check_typed,
    made_from,
    off_words,
    pot_of,
    weights_of,
)
from tintmix.page.errors import by_known_names
from tintmix.page.recipe import AtHand, model_thing, recipe_of
from tintmix.page.resins import path_of
from tintmix.page.values import from_table, to_table
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.sheet.lines import Kind
from tintmix.sheet.looks import SeenLook
from tintmix.sheet.sheet import Sheet
from tintmix.weighing.weighed import WeighOut

_MEASURES = {"batch": "batch_g", "volume": "volume_cm3", "water": "water_g"}
WAYS = {"batch": "mixed resin", "volume": "the mould's volume", "water": "water that fills the mould"}
USUAL: dict[str, Any] = {
    "resin": "recipe", "resin_file": None, "resin_name": "", "how": "batch", "amount": 450.0, "waste_percent": WASTE_PERCENT,
    "resin_step_g": 0.1, "resin_most_g": None, "pigment_step_g": 0.01, "pigment_most_g": None, "lots": {}, "new_bottles": False,
}  # fmt: skip
"""What stands in the boxes at first: a kitchen scale for resin, a pocket scale for pigment."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A sheet as it was made."""

    sheet: Sheet
    body: Mapping[str, Any]


# Making one


def resin_path(workspace: Workspace, now: Snapshot, asked: Mapping[str, Any]) -> Path | None:
    """The resin's file; None for the recipe's own resin."""
    if asked["resin"] == asked.get("resin_file") or (asked["resin"] == "own" and asked.get("resin_file")):
        return workspace.file(asked["resin_file"])
    return path_of(workspace, now, asked["resin"])


def scale_texts(asked: Mapping[str, Any]) -> tuple[str, str]:
    """The two scales as `scales_from_text` takes them."""

    def text(kind: str) -> str:
        step, most = asked[f"{kind}_step_g"], asked.get(f"{kind}_most_g")
        return f"{kind}={step:.9g}" + ("" if most is None else f":{step:.9g}:{most:.9g}")

    return text("resin"), text("pigment")


def make(workspace: Workspace, now: Snapshot, recipe: str, asked: Mapping[str, Any] = USUAL) -> dict[str, Any]:
    """The sheet area with a new sheet of a kept recipe in it. asked: keys as USUAL.

    Raises NotThere, and what is wrong with the batch, the scales, the resin.
    """
    found = recipe_of(workspace, now, recipe)
    asked = {**USUAL, **asked}
    model = model_thing(workspace, now, found)
    waste = None if asked["how"] == "batch" else asked["waste_percent"]
    amount = Amount(**{_MEASURES[asked["how"]]: asked["amount"]}, waste_percent=waste)
    resin = resin_path(workspace, now, asked)
    lots = {pigment: lot for pigment, lot in asked["lots"].items() if pigment in found.recipe.doses_phr and lot}
    named = [(found.path, found.recipe.name), *([] if resin is None else [(resin, "the resin")])]
    with by_known_names(*named):
        done = sheet_for(
            found.path, amount, scale_texts(asked), resin, workspace.file(model), lots, new_bottles=asked["new_bottles"]
        )
    sheet = to_table(done.sheet)
    thing = workspace.keep_json({"sheet": sheet, "weighed": sheet.pop("weighed"), "body": done.body})
    boxes = len(tick_keys(Kept(done.sheet, done.body)))
    marks: dict[str, Any] = {"boxes": boxes, "ticks": [], "weights": {}, "notes": {}}
    return {"recipe": recipe, "model": model, "asked": asked, "sheet": thing, **marks}


def kept_sheet(workspace: Workspace, area: Mapping[str, Any]) -> Kept | None:
    """The sheet at hand; None where none was made."""
    if not area.get("sheet"):
        return None
    table = workspace.json(area["sheet"])
    typed = with_typed_lines(table["sheet"], from_table(WeighOut, table["weighed"]))
    sheet = from_table(Sheet, {**typed, "weighed": table["weighed"]})
    book = area.get("book")
    if book and sheet.revision is None:
        sheet = replace(sheet, revision=int(book["revision"]))
    return Kept(sheet, table["body"])


def is_of(now: Snapshot, found: AtHand | None) -> bool:
    """Whether the sheet at hand is of the recipe at hand."""
    return found is not None and now.area("sheet").get("recipe") == found.thing


# Showing it


def tick_keys(kept: Kept) -> list[str]:
    """Every box that can be ticked: the steps and their lines."""
    steps = [f"{s}-{t}" for s, stage in enumerate(kept.sheet.stages) for t in range(len(stage.steps))]
    return [*steps, *weights_of(kept.sheet)]


def blanks_of(kept: Kept) -> dict[str, str]:
    """What is to be written down besides weights, by its box, in words."""
    return {
        f"{s}-{t}-b{n}": blank.what
        for s, stage in enumerate(kept.sheet.stages)
        for t, step in enumerate(stage.steps)
        for n, blank in enumerate(step.blanks)
    }


def castings_of(kept: Kept) -> list[dict[str, str]]:
    """The digests of the castings that its places are seen on."""
    return [{"digest": one.shape_digest} for one in kept.sheet.looks.places if isinstance(one, SeenLook)]


def off_by(kept: Kept, typed: Mapping[str, float], asked: Mapping[str, float] | None = None) -> dict[str, str]:
    """How far each weight is from the one asked for, by its box; nothing where none was typed. asked: grams that are asked for
    now, where they are no longer the sheet's."""
    lines = {
        key: replace(line, grams=(asked or {}).get(key, line.grams)) for key, line in weights_of(kept.sheet).items()
    }
    return {key: off_words(line, typed[key]) if key in typed else "" for key, line in lines.items()}


def strip_body(kept: Kept) -> dict[str, Any]:
    """The thickness strip as svg.strip takes it."""
    strip = kept.sheet.looks.strip
    whole = strip[-1][0]
    stops = [[round(at / whole, 4), colour] for at, colour in strip]
    return {"from_mm": 0.0, "to_mm": whole, "stops": stops, "wide": [], "dark_from_mm": None}


def pot_at_hand(kept: Kept, area: Mapping[str, Any]) -> Pot:
    """The tinted part as it was weighed. Raises ValueProblem."""
    shelved = [one["name"] for one in area.get("shelved", [])]
    return pot_of(kept.sheet, area.get("weights", {}), shelved)


def next_stage(kept: Kept, ticks: Sequence[str]) -> int:
    """The first stage of which not all boxes are ticked; the last where all are."""
    left = [key for key in tick_keys(kept) if key not in set(ticks)]
    return min((int(key.partition("-")[0]) for key in left), default=len(kept.sheet.stages) - 1)


# Into the book


def keep_in_book(workspace: Workspace, now: Snapshot, note: str = "") -> dict[str, Any]:
    """Keep the recipe of the sheet, with its model: the table of `book keep`. Raises what is wrong with the book."""
    area = now.area("sheet")
    found = recipe_of(workspace, now, str(area.get("recipe", "")))
    with by_known_names():
        return keep(found.path, note=note, model=workspace.file(model_thing(workspace, now, found))).body


def new_bottles(kept: Kept, area: Mapping[str, Any]) -> list[str]:
    """The stock bottles of the sheet that are not on the book's shelf yet."""
    shelved = {one["name"] for one in area.get("shelved", [])}
    return [one.name for one in kept.sheet.weighed.letdowns if not one.existing and one.name not in shelved]


def put_on_shelf(
    kept: Kept, area: Mapping[str, Any], sure: bool = False, rounds: Sequence[Mapping[str, Any]] = ()
) -> list[dict[str, Any]]:
    """Put the sheet's new stock bottles on the shelf, as they were weighed, less what went into the batch and its top-ups
    (rounds): name and grams left.

    All of them, or none. sure: also where a weight is far from the one asked for. Raises InUse, ValueProblem.
    """
    if not sure:
        check_typed(kept.sheet, area.get("weights", {}), bottles_only=True)
    grams = as_typed(kept.sheet, area.get("weights", {}))
    shares = bottle_shares(kept.sheet.weighed, grams)
    wanted = set(new_bottles(kept, area))
    done = []
    for one in kept.sheet.weighed.letdowns:
        if one.name not in wanted:
            continue
        total = sum(made_from(one, grams))
        used = sum(grams[Kind.PIGMENT, of.pigment] for of in kept.sheet.weighed.pigments if of.letdown == one.name)
        fed = (of for of in kept.sheet.weighed.letdowns if of.from_letdown == one.name and not of.existing)
        used += sum(made_from(of, grams)[0] for of in fed)
        used += sum(float(grams) for round_ in rounds for name, grams in round_["added"] if name == one.name)
        plain = one.as_bottle(today(), resin=kept.sheet.resin.name)
        share = shares[one.name]
        done.append(
            replace(plain, pigment_g=total * share, carrier_g=total * (1 - share), left_g=max(total - used, 0.0))
        )
    with by_known_names(), open_book() as book, book.writing():
        for bottle in done:
            book.add_bottle(bottle)
    return [{"name": bottle.name, "left_g": bottle.left_g, "rounds": len(rounds)} for bottle in done]


def taken_from_shelf(kept: Kept, area: Mapping[str, Any], rounds: Sequence[Mapping[str, Any]] = ()) -> dict[str, float]:
    """Grams of the book's bottles that the batch and its top-ups took, and that the book does not know of before the pour is
    recorded; nothing once it is."""
    if area.get("pour"):
        return {}
    took, shelved = from_old(kept, area), {one["name"]: one.get("rounds", 0) for one in area.get("shelved", [])}
    bottles = {**dict.fromkeys(took, 0), **shelved}
    for number, one in enumerate(rounds):
        for name, grams in one["added"]:
            if number >= bottles.get(name, len(rounds)):
                took[name] = took.get(name, 0.0) + float(grams)
    return {name: grams for name, grams in took.items() if grams}


def from_old(kept: Kept, area: Mapping[str, Any]) -> dict[str, float]:
    """Grams that the batch takes of the bottles that the book had before."""
    typed = area.get("weights", {})
    old = {one.name for one in kept.sheet.weighed.letdowns if one.existing}
    return {
        line.out_of: typed.get(key, line.grams)
        for key, line in weights_of(kept.sheet).items()
        if line.kind is Kind.PIGMENT and line.out_of in old
    }
