"""The check chip of a new lot or a stock bottle, on the page: what was weighed, what was read, and how strong it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.book.book import book_to_ask
from tintmix.desk.bench.lot import lot_for
from tintmix.desk.bench.trial_reading import TrialReading
from tintmix.page.bench.trial import tile_of
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, by_known_names, needs_first
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel

SPACES = {"Lab": "L* a* b*", "tile": "L* a* b* on a tile", "camera": "camera, R G B in % of the bare panel"}
USUAL: dict[str, Any] = {
    "pigment": "", "dose_phr": None, "lot": "", "bottle": "", "thickness_mm": None, "space": "Lab", "colour": None,
    "light": "D65", "observer": 10, "on_tile": None,
}  # fmt: skip


def model_for(workspace: Workspace, now: Snapshot) -> TintModel | None:
    """The model that a check chip is held against; None where there is none, or one of one cup alone."""
    model = model_at_hand(workspace, now)
    return None if model is None or model.is_one_cup else model


def bottles_of(model: TintModel) -> list[tuple[str, str]]:
    """The bottles of the book that hold one of the model's pigments: name, and pigment."""
    with by_known_names(), book_to_ask(None) as book:
        return (
            [] if book is None else [(one.name, one.pigment) for one in book.bottles() if one.pigment in model.pigments]
        )


def _answered(workspace: Workspace, now: Snapshot, asked: Mapping[str, Any], keep: bool) -> dict[str, Any]:
    name = now.area("pigments").get("model")
    if model_for(workspace, now) is None or name is None:
        raise needs_first("A check chip", "pigments that were learnt from chips")
    mm, colour = (float(asked["thickness_mm"]),), tuple(float(v) for v in asked["colour"])
    trial = (
        TrialReading(mm, channels=((colour[0] / 100, colour[1] / 100, colour[2] / 100),))
        if asked["space"] == "camera"
        else TrialReading(
            mm,
            ((colour[0], colour[1], colour[2]),),
            on_tile=tile_of(asked) if asked["space"] == "tile" else None,
            light=asked["light"],
            observer=int(asked["observer"]),
        )
    )
    lots = {asked["pigment"]: asked["lot"]} if asked["lot"] else {}
    with by_known_names((workspace.file(name), "the pigments")):
        return lot_for(
            workspace.file(name), {asked["pigment"]: asked["dose_phr"]}, trial, lots, asked["bottle"], keep=keep
        )


def ask(workspace: Workspace, work: Work) -> str:
    """Work out how strong the lot is, and keep the answer; where to go on. Raises NotThere, and what is wrong."""
    now = workspace.now()
    area = now.area("lot")
    asked = {**USUAL, **area.get("asked", {})}
    answer = {"body": _answered(workspace, now, asked, keep=False), "asked": asked}
    work.progress(1.0)
    area |= {"answer": workspace.keep_json(answer), "kept": []}
    workspace.change("the check chip", {"lot": area}, {"lot": now.revision_of("lot")})
    return "/book/lot#answer"


def keep(workspace: Workspace, now: Snapshot, expected: int) -> list[str]:
    """Put the strength that was found into the book. Raises NoSuchThing, and what is wrong with lot, bottle or book."""
    area = now.area("lot")
    if not area.get("answer"):
        raise NoSuchThing("answer of a check chip")
    asked = workspace.json(area["answer"])["asked"]
    kept: list[str] = _answered(workspace, now, asked, keep=True)["kept"]
    workspace.change("keeping a lot's strength", {"lot": area | {"kept": kept}}, {"lot": expected})
    return kept


def answer_shown(workspace: Workspace, now: Snapshot) -> dict[str, Any] | None:
    """The answer, and whether what it was asked for has changed since."""
    area = now.area("lot")
    if not area.get("answer"):
        return None
    try:
        kept = workspace.json(area["answer"])
    except NoSuchThing:
        return None
    earlier = kept["asked"] != {**USUAL, **area.get("asked", {})}
    return {**kept["body"], "asked": kept["asked"], "kept": area.get("kept", []), "earlier": earlier}
