"""The check chip of a new lot: what was weighed into it and what it reads, and how strong the lot is."""

from __future__ import annotations

from typing import Any

from tintmix.faces.web import units as numbers
from tintmix.faces.web.routes.chips import tile_asked
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.bench import lot as page_lot
from tintmix.page.bench import trial as page_trial
from tintmix.page.errors import not_typed
from tintmix.page.places import LIGHTS
from tintmix.quantities import CHIP_MM, DOSE_PHR
from tintmix.sheet.cautions import cautions_for, hazards_unsaid

ROUTES = Routes()
WAIT_SECONDS = 8.0
"""An answer takes a second or two; one that takes longer shows its progress."""
SUCH = {"Lab": "71.2 -24 3.1", "tile": "71.2 -24 3.1", "camera": "41 62.5 38"}


@ROUTES.get("/book/lot")
def show(visit: Visit) -> Answer:
    """What is asked, and the answer."""
    workspace, now = visit.workspace, visit.now
    model = page_lot.model_for(workspace, now)
    # Until something is typed, as the chips were read.
    asked = {**page_lot.USUAL, **page_trial.as_the_chips(workspace, now), **now.area("lot").get("asked", {})}
    resin = None if model is None else model.resin
    answer = page_lot.answer_shown(workspace, now) if model is not None else None
    unsaid = hazards_unsaid(resin)
    if answer is not None:
        answer["notes"] = [said for said in answer["notes"] if said not in unsaid]
    return visit.shows(
        "lot.html", "book", model=model, asked=asked, spaces=list(page_lot.SPACES.items()), answer=answer,
        lights=[(key, f"{words} ({key})") for key, words in LIGHTS.items()], cautions=cautions_for(resin), unsaid=unsaid,
        bottles=[] if model is None else page_lot.bottles_of(model),
        by_camera=model is not None and model.camera_weights is not None,
    )  # fmt: skip


@ROUTES.post("/book/lot", show)
def ask(visit: Visit) -> Answer:
    """Keep what was typed, and work out how strong the lot is."""
    visit.change("a check chip", lot={**visit.now.area("lot"), "asked": _asked(visit)})
    work = visit.begin("Working out how strong it is", "/book/lot", page_lot.ask, WAIT_SECONDS)
    if work.state != "failed":
        return work
    visit.now, visit.status, visit.problem = visit.workspace.now(), 422, work.says
    return show(visit)


def _asked(visit: Visit) -> dict[str, Any]:
    form = visit.form
    model = page_lot.model_for(visit.workspace, visit.now)
    before = {**page_lot.USUAL, **visit.now.area("lot").get("asked", {})}
    space = form.choice("space", page_lot.SPACES, "Lab")
    cells = numbers.cells(form.text("colour"))
    if len(cells) != 3:
        raise not_typed(
            "what the chip reads",
            form.text("colour"),
            f"Write three numbers, such as {SUCH[space]}, or read it in a photo.",
        )
    pigment = form.choice("pigment", model.pigments if model else (), "")
    if not pigment:
        raise not_typed("the pigment", "", "Choose the one that was weighed into the check cup.")
    lot, bottle = form.line("lot", "the lot"), form.text("bottle")[:120]
    return {
        "pigment": pigment,
        "dose_phr": form.number("dose", f"the dose of {pigment}", *DOSE_PHR.bounds),
        "lot": "" if bottle else lot,
        "bottle": bottle,
        "thickness_mm": visit.units.mm(form.text("mm"), "the check chip's thickness", before["thickness_mm"], CHIP_MM),
        "space": space,
        "colour": page_trial.checked_colour(
            [numbers.number(one, "the reading") for one in cells], space, "the reading"
        ),
        "light": form.choice("light", LIGHTS, "D65"),
        "observer": {"2": 2, "10": 10}.get(form.text("observer"), 10),
        "on_tile": tile_asked(form, space, before["on_tile"]),
    }


@ROUTES.post("/book/lot/keep", show)
def keep(visit: Visit) -> Answer:
    """How strong it is, into the book."""
    kept = page_lot.keep(visit.workspace, visit.now, visit.form.revision("lot"))
    visit.say(f"Saved in the book: {', '.join(kept)}." if kept else "Nothing was saved: the reading is too doubtful.")
    return "/book/lot#answer"
