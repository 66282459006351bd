"""One chip: what it reads, and its correction."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form, read_form
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.page.chips import sets as page_chips
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing
from tintmix.page.workspace import Snapshot


async def show_chip(request: Request) -> Response:
    """One chip, to be corrected."""
    page = page_of(request)
    now = page.workspace.now()
    return _chip_screen(
        request, page, now, _entry(now, request.query_params.get("set", "")), request.path_params["chip"]
    )


def _entry(now: Snapshot, identity: str) -> dict[str, Any]:
    """The set that the link or form names; where it names none, the one at hand. Raises NoSuchThing."""
    return page_chips.find_set(now, identity or now.area("chips").get("active") or "")


def _chip_screen(
    request: Request,
    page: Page,
    now: Snapshot,
    entry: dict[str, Any],
    name: str,
    *,
    status: int = 200,
    problem: Said = "",
    typed: Any = None,
) -> Response:
    chips = page_chips.read_set(page.workspace, entry)
    chip = page_chips.chip_of(chips, name)
    model = model_at_hand(page.workspace, now)
    learnt = now.area("pigments").get("from", {}).get(entry["id"]) == entry["thing"]
    body = page_chips.set_body(chips, model.report if model is not None and learnt else None)
    seen = next(one for cup in body["cups"] for one in cup["chips"] if one["name"] == name)
    heads = {"colour": tuple(chips.reading.space or "Lab"), "camera": ("R", "G", "B")}.get(chips.reading.kind, ())
    context = {"chip": chip, "seen": seen, "heads": heads, "pigments": chips.pigments, "set": body,
               "entry": entry, "active": now.area("chips").get("active"),
               "shared": sum(one.cup == chip.cup for one in chips.chips)}  # fmt: skip
    return render(request, "chip.html", "chips", context, status=status, problem=problem, typed=typed, snapshot=now)


async def save_chip(request: Request) -> Response:
    """A chip corrected, left out, or removed."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    name = request.path_params["chip"]
    entry = _entry(now, form.text("set"))
    back = form.text("back") == "pigments"
    try:
        chips = page_chips.read_set(page.workspace, entry)
        if form.text("remove"):
            changed, label = page_chips.without_chip(chips, name), f"removing chip {name}"
        elif form.text("use_only"):
            changed, label = (
                page_chips.with_chip(chips, name, use=form.text("use_only") == "yes"),
                f"use of chip {name}",
            )
        else:
            changed, label = _corrected(chips, name, form, Units.of(now.area("settings"))), f"chip {name}"
        active = now.area("chips").get("active") if back else entry["id"]
        page_chips.put_set(page.workspace, now, label, changed, form.revision("chips"), entry["id"], active)
    except TintmixError as problem:
        if isinstance(problem, NoSuchThing):
            raise
        status = status_of(problem)
        return _chip_screen(request, page, now, entry, name, status=status, problem=problem, typed=form.typed)
    return go("/pigments" if back else "/chips")


def _corrected(chips: Any, name: str, form: Form, chosen: Units) -> Any:
    old = page_chips.chip_of(chips, name)
    doses = [
        _same(form.text(f"dose.{pigment.name}"), was, f"the dose of {pigment.name}")
        for pigment, was in zip(chips.pigments, old.doses_phr, strict=True)
    ]
    values = None
    if chips.reading.kind != "spectrum":
        texts = [form.text(f"value_{i}") for i in range(3)]
        if any(texts):
            was = old.values or (None,) * 3
            values = [_same(text, w, "the reading", -300.0) for text, w in zip(texts, was, strict=True)]
        elif old.is_read:
            values = []
    return page_chips.with_chip(
        chips, name, thickness_mm=chosen.mm(form.text("thickness"), f"the thickness ({chosen.length_unit})", old.thickness_mm),
        doses_phr=doses, values=values, use=bool(form.text("use")), note=form.line("note", "the note"),
    )  # fmt: skip


def _same(text: str, was: float | None, field: str, least: float = 0.0) -> float:
    """A number; one that reads as the old one does is the old one, to its last digit."""
    if was is not None and text.replace(",", ".") == units.shown(was, 6):
        return was
    return 0.0 if not text and least == 0.0 else units.number(text, field, least, 300.0)


ROUTES = [
    # A chip may have a slash in its name.
    Route("/chips/chip/{chip:path}", show_chip),
    Route("/chips/chip/{chip:path}", save_chip, methods=["POST"]),
]
