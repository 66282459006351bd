"""Pigments: what the chips taught, how far to trust it, and what to pour next."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.faces.web.forms import read_form
from tintmix.faces.web.render import go, page_of, render
from tintmix.page.colour import pigments as page_pigments
from tintmix.page.errors import needs_first
from tintmix.page.places import part_of


async def show(request: Request) -> Response:
    """The strength curves; without any, what is missing."""
    page = page_of(request)
    now = page.workspace.now()
    model = page_pigments.model_at_hand(page.workspace, now)
    sets = now.area("chips").get("sets", [])
    context = {"body": None, "sets": sets, "shown_mm": page_pigments.SHOWN_MM}
    if model is not None:
        part = part_of(now.area("part"))
        context["body"] = page_pigments.pigments_body(page.workspace, now, model, part.light, part.observer)
    return render(request, "pigments.html", "pigments", context, snapshot=now)


async def learn(request: Request) -> Response:
    """Learn from some sets, in the background."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    sets = now.area("chips").get("sets", [])
    chosen = [one["id"] for one in sets if one["id"] in form.texts("set")]
    if not chosen:
        raise needs_first("Learning the pigments", "a chip set with readings")
    count = sum(one["read"] for one in sets if one["id"] in chosen)
    work = page.works.start(
        f"Learning from {count} chips", "/pigments", lambda work: page_pigments.learn(page.workspace, chosen, work)
    )
    await run_in_threadpool(work.wait, 0.3)
    return go(f"/work/{work.name}")


ROUTES = [
    Route("/pigments", show),
    Route("/pigments/learn", learn, methods=["POST"]),
]
