"""A casting resin of one's own, typed in a form as its data sheet says it; kept for plans and batch sheets."""

from __future__ import annotations

from typing import Any

from tintmix.faces.web.units import shown
from tintmix.faces.web.visit import Answer, Routes, Visit, download
from tintmix.page import resins as page_resins
from tintmix.page.errors import NoSuchThing, not_typed
from tintmix.resin import HAZARDS, Part, Resin, resin_to_text

ROUTES = Routes()
ROWS = 4
"""Parts that the form has room for: a resin seldom has more than three."""
BACKS = {"chips": "/chips", "sheet": "/sheet"}
NUMBERS = (
    ("refractive_index", "the refractive index", 1.0, 2.0),
    ("density_g_per_cm3", "the density", 0.3, 5.0),
    ("max_total_phr", "the most pigment", 0.0, 100.0),
    ("pot_life_min", "the pot life", 0.0, 1e5),
    ("demould_h", "the time in the mould", 0.0, 1e5),
)


@ROUTES.get("/resin")
def show(visit: Visit) -> Answer:
    """The form: empty, begun from an example, or with a resin of one's own in it."""
    form, own = visit.form, page_resins.own(visit.now)
    key = form.text("from")
    resin = page_resins.resin_of(visit.workspace, visit.now, key) if key else Resin()
    if resin is None:
        raise NoSuchThing("resin")
    parts = [*resin.parts, *[None] * ROWS][: max(ROWS, len(resin.parts))]
    return visit.shows(
        "resin.html", "", resin=resin, parts=parts, own=own, by_volume=any(p and p.parts_by_volume for p in parts),
        examples=page_resins.examples(), key=key if key in {one["thing"] for one in own} else "",
        hazards=[("", "not said: all cautions are shown"), *((one, one) for one in HAZARDS)], value=shown,
        back=form.choice("back", BACKS, "chips"),
    )  # fmt: skip


@ROUTES.get("/resin/resin.toml")
def taken(visit: Visit) -> Answer:
    """A resin as resin.toml."""
    resin = page_resins.resin_of(visit.workspace, visit.now, visit.form.text("from"))
    if resin is None:
        raise NoSuchThing("resin")
    return download(resin_to_text(resin), "application/toml", resin.name, "toml")


@ROUTES.post("/resin", show)
def save(visit: Visit) -> Answer:
    """Keep the resin, as another one or in the place of the one that was opened."""
    form, expected = visit.form, visit.form.revision("resins")
    key = form.text("from") if form.text("keep") != "another" else ""
    if form.text("keep") == "remove":
        visit.change("removing a resin", resins=page_resins.without(visit.now, key))
        return "/resin"
    resin = _typed(visit)
    page_resins.keep(visit.workspace, visit.now, resin, expected, key)
    visit.say(f"Saved: {resin.name}. Choose it where you plan chips and where you make a batch sheet.")
    return BACKS[form.choice("back", BACKS, "chips")]


def _typed(visit: Visit) -> Resin:
    form = visit.form
    name = form.line("name", "the name of the resin")
    if not name:
        raise not_typed("the name of the resin", "", "Type one; plans and batch sheets call it so.")
    by_volume = form.text("measure") == "volume"
    parts: list[Part] = []
    for at in range(ROWS):
        called = form.line(f"part_{at}_name", f"the name of part {at + 1}")
        boxes = [form.text(f"part_{at}_{box}") for box in ("amount", "density", "hazard")]
        if not called:
            if any(boxes):
                raise not_typed(f"the name of part {at + 1}", "", "Type it, or empty the whole row.")
            continue
        amount = form.number(f"part_{at}_amount", f"how much of part {called}", 1e-3, 1e6)
        density = form.maybe(f"part_{at}_density", f"the density of part {called}", 0.3, 5.0)
        if by_volume and density is None:
            raise not_typed(f"the density of part {called}", "", "A ratio by volume needs it; the data sheet has it.")
        hazard = form.choice(f"part_{at}_hazard", HAZARDS, "") or None
        ratio: dict[str, Any] = {"parts_by_volume": amount} if by_volume else {"parts_by_weight": amount}
        parts.append(Part(called, hazard=hazard, density_g_per_cm3=density, **ratio))
    said = {key: form.maybe(key, words, least, most) for key, words, least, most in NUMBERS}
    takes = form.line("takes_pigment", "the part that takes pigment") or (parts[0].name if len(parts) == 1 else "")
    if takes not in {part.name for part in parts}:
        raise not_typed("the part that takes pigment", takes, "Type the name of one of the parts, as it stands above.")
    more: dict[str, Any] = {key: value for key, value in said.items() if value is not None}
    return Resin(name=name, cure=form.line("cure", "the cure"), takes_pigment=takes, parts=tuple(parts), **more)
