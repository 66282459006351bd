"""Pigments: what the chips taught, how far to trust it, and what to pour next."""

from __future__ import annotations

from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.colour import pigments as page_pigments
from tintmix.page.errors import needs_first
from tintmix.page.places import part_of

ROUTES = Routes()


@ROUTES.get("/pigments")
def show(visit: Visit) -> Answer:
    """The strength curves; without any, what is missing."""
    now = visit.now
    model, part = page_pigments.model_at_hand(visit.workspace, now), part_of(now.area("part"))
    body = None
    if model is not None:
        body = page_pigments.pigments_body(visit.workspace, now, model, part.light, part.observer)
    sets = now.area("chips").get("sets", [])
    return visit.shows("pigments.html", "pigments", sets=sets, shown_mm=page_pigments.SHOWN_MM, body=body)


@ROUTES.post("/pigments/learn")
def learn(visit: Visit) -> Answer:
    """Learn from some sets, in the background."""
    wanted = visit.form.texts("set")
    sets = [one for one in visit.now.area("chips").get("sets", []) if one["id"] in wanted]
    if not sets:
        raise needs_first("Learning the pigments", "a chip set with readings")
    count, chosen = sum(one["read"] for one in sets), [one["id"] for one in sets]
    return visit.begin(
        f"Learning from {count} chips", "/pigments",
        lambda workspace, work: page_pigments.learn(workspace, chosen, work), 0.3,
    )  # fmt: skip
