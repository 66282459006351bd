"""A plan of chips: asked for, followed at the bench, its bottles put on the shelf, and put right by what was really poured."""

from __future__ import annotations

import re
from typing import Any

from tintmix.desk.book.shelf import put_shelf_right, shelve_planned
from tintmix.desk.plan.plan import Order
from tintmix.desk.plan.text import casting_steps
from tintmix.errors import TintmixError
from tintmix.faces.remedies import told_on_page
from tintmix.faces.web import units
from tintmix.faces.web.pigment_lines import doses_of
from tintmix.faces.web.routes.chips import at_hand, resin_asked, seen_for, show, thicknesses, way_asked
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.chips import poured as page_poured
from tintmix.page.chips import sets as page_chips
from tintmix.page.errors import NoSuchThing, about_box, not_typed
from tintmix.page.places import PartWish, Place, part_of, part_with
from tintmix.page.values import to_table
from tintmix.page.work import Work
from tintmix.page.workspace import Workspace
from tintmix.quantities import CUP_G, EDGE_MM
from tintmix.sheet.cautions import cautions_for, hazards_unsaid
from tintmix.weighing.cups import Moulds
from tintmix.weighing.scales import Bench, scale_from_text

ROUTES = Routes()
WAIT_SECONDS = 8.0
"""Most plans are made by then; a longer one shows that it goes on."""
_UNIT = re.compile(r"\s*(mm|inch|in|\")$")


@ROUTES.get("/chips/plan")
def bench(visit: Visit) -> Answer:
    """The plan of the set at hand, to follow at the bench; it prints."""
    resin = page_chips.resin_at_hand(visit.workspace, visit.now)
    plan, cautions = _plan_at_hand(visit), cautions_for(resin)
    by_photo = page_chips.find_set(visit.now, visit.now.area("chips").get("active") or "")["kind"] == "camera"
    return visit.shows(
        "plan.html", "chips", plan=plan, cautions=cautions, unsaid=hazards_unsaid(resin), by_photo=by_photo,
        bench_steps=casting_steps(resin),
    )  # fmt: skip


def _plan_at_hand(visit: Visit) -> Any:
    plan = _plan_or_none(visit)
    if plan is None:
        raise NoSuchThing("plan")
    return plan


def _plan_or_none(visit: Visit) -> Any:
    area = visit.now.area("chips")
    name = area.get("plans", {}).get(area.get("active"))
    return None if name is None else visit.workspace.json(name)


@ROUTES.post("/chips/plan", show)
def plan(visit: Visit) -> Answer:
    """A set planned: which cups, how strong, how thick, and what to weigh."""
    form = visit.form
    with about_box("plan_places"):
        part = _part(visit)
    with about_box("cast"):
        cast = thicknesses(form.text("cast"), visit.units, may_be_empty=True)
    cups = form.whole("cups", "how many cups", 1, 60)
    kind, on_tile = way_asked(form, "plan_kind", "plan_")
    light, observer = seen_for(form, "plan_") if kind == "colour" else ("", 10)
    with about_box("plan_pigments"):
        pigments = doses_of(form.text("plan_pigments"))
    order = Order(
        pigments=pigments,
        sections_mm=part.thicknesses_mm,
        cast_mm=tuple(cast),
        cups=cups,
        kind=kind,
        on_tile=on_tile,
        light=light,
        observer=observer,
        bench=Bench(
            resin=scale_from_text(form.text("resin_scale", "0.1") or "0.1"),
            pigment=scale_from_text(form.text("scale", "0.01") or "0.01"),
        ),
        moulds=Moulds(
            cup_g=visit.units.grams(form.text("cup_least") or visit.units.mass(50), "the least resin", None, CUP_G),
            chip_mm=visit.units.mm(form.text("chip_edge") or visit.units.length(30), "a chip's edge", None, EDGE_MM),
        ),
        title=form.line("plan_title", "the name of the set") or "planned chips",
    )
    new_bottles, resin, now = bool(form.text("new_bottles")), resin_asked(visit), visit.now
    expected = {area: form.revision(area) for area in ("chips", "part")}

    def make(workspace: Workspace, work: Work) -> str:
        chips, body = page_chips.planned_set(order, resin, workspace, now, new_bottles)
        work.progress(1.0)
        thing = workspace.keep_set(chips)
        area = page_chips.with_set(now, thing, chips)
        # What is kept is text; the units are put in when it is shown.
        kept = workspace.keep_json(body | {"warnings": [told_on_page(warning) for warning in body["warnings"]]})
        area["plans"] = {**area.get("plans", {}), thing: kept}
        workspace.change("a planned chip set", {"chips": area, "part": to_table(part)}, expected)
        return "/chips/plan"

    work = visit.begin("Planning your chips", "/chips", make, WAIT_SECONDS)
    if work.state == "failed" and isinstance(work.says, TintmixError):
        raise work.says
    return work


@ROUTES.post("/chips/plan/shelf", bench)
def shelve(visit: Visit) -> Answer:
    """The plan's stock bottles onto the book's shelf, less what its cups take."""
    visit.say(shelve_planned(_plan_at_hand(visit)).body["says"])
    return "/chips/plan"


@ROUTES.get("/chips/poured")
def poured(visit: Visit) -> Answer:
    """What was really weighed and poured, to be typed."""
    entry = at_hand(visit)
    chips, plan = visit.workspace.chip_set(entry["thing"]), _plan_or_none(visit)
    bottles, weights = page_poured.boxes_of(plan) if plan is not None else ([], {})
    cups: dict[str, list[tuple[int, Any]]] = {}
    for at, chip in enumerate(chips.chips):
        cups.setdefault(chip.cup, []).append((at, chip))
    used = {cup for cup, rows in cups.items() if any(chip.use for _, chip in rows)}
    names = [pigment.name for pigment in chips.pigments]
    doses = {cup: {n: d for n, d in zip(names, rows[0][1].doses_phr, strict=True) if d} for cup, rows in cups.items()}
    return visit.shows(
        "poured.html", "chips", set=entry, bottles=bottles, weights=weights, cups=cups, used=used,
        doses=doses,
    )  # fmt: skip


@ROUTES.post("/chips/poured", poured)
def put_right(visit: Visit) -> Answer:
    """Keep what was really poured."""
    form, workspace, chosen = visit.form, visit.workspace, visit.units
    entry, area = at_hand(visit), visit.now.area("chips")
    chips, plan = workspace.chip_set(entry["thing"]), _plan_or_none(visit)
    bottles, weights = page_poured.boxes_of(plan) if plan is not None else ([], {})
    typed = {
        box.name: chosen.grams(form.text(box.name), f"the weight of {box.what}", box.weighed_g)
        for box in (*bottles, *(one for rows in weights.values() for one in rows))
        if form.text(box.name)
    }
    # By number: a chip's name may hold anything.
    thick = {
        chip.name: chosen.mm(form.text(f"thick_{at}"), f"the thickness of {chip.name}", chip.thickness_mm)
        for at, chip in enumerate(chips.chips)
        if form.text(f"thick_{at}")
    }
    names = list(dict.fromkeys(chip.cup for chip in chips.chips))
    left_out = {cup for at, cup in enumerate(names) if not form.text(f"poured_{at}")}
    if not form.text("as_thick"):
        page_poured.check_thicknesses(chips, plan, thick)
    if not form.text("as_weighed"):
        page_poured.check_typed(plan, typed)
    new, changed = page_poured.as_poured(chips, plan, typed, left_out, thick)
    area |= page_chips.with_set(visit.now, workspace.keep_set(new), new, entry["id"])
    if changed is not None:
        area["plans"] = {**area["plans"], entry["id"]: workspace.keep_json(changed)}
    visit.change("what was really poured", chips=area)
    visit.say("Saved as it was poured.")
    for said in [] if plan is None or changed is None else put_shelf_right(plan, changed):
        visit.say(said)
    return "/chips"


def _part(visit: Visit) -> PartWish:
    """The part with the places that were typed, a line each: its name and its thickness, or the thickness alone; those of a
    traced casting stay. Raises ValueProblem."""
    old, text = part_of(visit.now.area("part")), visit.form.data.get("plan_places")
    if not isinstance(text, str):
        return old
    seen = [place for place in old.places if place.seen]
    before = {place.name: place.thickness_mm for place in old.places if not place.seen}
    typed: list[Place] = []
    for line in text.replace(";", "\n").splitlines():
        for cell in units.cells(line) if all(one[:1].isdigit() for one in units.cells(line)) else [line.strip()]:
            name, _, thick = _UNIT.sub("", cell).rpartition(" ")
            name = name.strip(" ,:=")
            typed.append(Place(name, visit.units.mm(thick, name or "a place on the casting", before.get(name))))
    if not typed and not seen:
        raise not_typed(
            "how thick the casting is", text, "Type the thinnest and the thickest place at least, such as 8 45."
        )
    return part_with([*typed, *seen], old.floor, old.light)
