"""One chip: what it reads, and its correction."""

from __future__ import annotations

from typing import Any

from tintmix.faces.web import units
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.chips import sets as page_chips
from tintmix.page.colour.pigments import model_at_hand
from tintmix.quantities import CHIP_MM
from tintmix.weighing.slip import check_thick

ROUTES = Routes()
PATH = "/chips/chip"
"""Which chip stands behind it, as `chip=`: a path would lose a name of dots, and part one at its slashes."""


def _entry(visit: Visit) -> dict[str, Any]:
    return page_chips.find_set(visit.now, visit.form.text("set") or visit.now.area("chips").get("active") or "")


@ROUTES.get(PATH)
def show_chip(visit: Visit) -> Answer:
    """One chip, to be corrected."""
    now, entry, name = visit.now, _entry(visit), visit.request.query_params.get("chip", "")
    chips = visit.workspace.chip_set(entry["thing"])
    chip = page_chips.chip_of(chips, name)
    learnt = now.area("pigments").get("from", {}).get(entry["id"]) == entry["thing"]
    model = model_at_hand(visit.workspace, now) if learnt else None
    body = page_chips.set_body(chips, model.report if model else None)
    return visit.shows(
        "chip.html", "chips", chip=chip, set=chips, entry=entry,
        seen=body["seen"][name],
        heads={"colour": tuple(chips.reading.space or "Lab"), "camera": ("R", "G", "B")}.get(chips.reading.kind, ()),
        active=now.area("chips").get("active"), shared=sum(one.cup == chip.cup for one in chips.chips),
    )  # fmt: skip


@ROUTES.post(PATH, show_chip)
def save_chip(visit: Visit) -> Answer:
    """A chip corrected, left out, or removed."""
    form, entry, name = visit.form, _entry(visit), visit.request.query_params.get("chip", "")
    back = form.text("back") == "pigments"
    chips = visit.workspace.chip_set(entry["thing"])
    if form.text("remove"):
        changed, label = page_chips.without_chip(chips, name), f"removing chip {name}"
    elif use := form.text("use_only"):
        changed, label = page_chips.with_chip(chips, name, use=use == "yes"), f"use of chip {name}"
    else:
        changed, label = _corrected(chips, name, visit), f"chip {name}"
    active = visit.now.area("chips").get("active") if back else entry["id"]
    page_chips.put_set(visit.workspace, visit.now, label, changed, form.revision("chips"), entry["id"], active)
    return "/pigments" if back else "/chips"


def _corrected(chips: Any, name: str, visit: Visit) -> Any:
    form, old = visit.form, page_chips.chip_of(chips, name)
    doses = [
        _same(form.text(f"dose.{pigment.name}"), was, f"the dose of {pigment.name}")
        for pigment, was in zip(chips.pigments, old.doses_phr, strict=True)
    ]
    values: tuple[float, ...] | None = None
    if chips.reading.kind != "spectrum":
        texts = [form.text(f"value_{i}") for i in range(3)]
        if any(texts):
            was = old.values or (None,) * 3
            values = tuple(_same(text, w, "the reading", -300.0) for text, w in zip(texts, was, strict=True))
        elif old.is_read:
            values = ()
    mm = visit.units.mm(form.text("thickness"), "the thickness", old.thickness_mm, CHIP_MM)
    if not form.text("as_thick"):
        check_thick(name, mm, old.thickness_mm)
    use, note = bool(form.text("use")), form.line("note", "the note")
    check = bool(form.text("check")) if chips.reading.kind != "spectrum" or old.check else None
    return page_chips.with_chip(
        chips, name, thickness_mm=mm, doses_phr=doses, values=values, use=use, note=note, check=check
    )


def _same(text: str, was: float | None, field: str, least: float = 0.0) -> float:
    """A number; one that reads as the old one does is the old one, to its last digit."""
    if was is not None and text.replace(",", ".") == units.shown(was, 6):
        return was
    return 0.0 if not text and least == 0.0 else units.number(text, field, least, 300.0)
