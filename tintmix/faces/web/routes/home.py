"""What belongs to no step: the first page, settings, undo, the demo, work in the background."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from tintmix.faces.web.forms import read_form
from tintmix.faces.web.render import go, page_of, render
from tintmix.faces.web.units import LENGTHS, MASSES
from tintmix.faces.web.words import told_in_units
from tintmix.page.steps import STEPS
from tintmix.sheet.cautions import cautions as all_cautions


async def home(request: Request) -> Response:
    """The tint is what one came for."""
    return RedirectResponse("/tint", 307)


async def cautions(request: Request) -> Response:
    """All cautions, for whatever a resin may hold."""
    return render(request, "cautions.html", "", {"cautions": all_cautions()})


async def settings(request: Request) -> Response:
    """Units and surround."""
    form = await read_form(request)
    chosen = {
        "length": form.choice("length", LENGTHS, "mm"),
        "mass": form.choice("mass", MASSES, "g"),
        "surround": form.choice("surround", ("grey", "dark"), "grey"),
    }
    page_of(request).workspace.change(
        "units and surround", {"settings": chosen}, {"settings": form.revision("settings")}
    )
    return go(_back(form.text("back")))


async def undo(request: Request) -> Response:
    """The last change taken back."""
    form = await read_form(request)
    page = page_of(request)
    label = page.workspace.now().undo[-1:]
    page.workspace.undo()
    page.say(f"Taken back: {label[0][1]}.")
    return go(_back(form.text("back")))


async def redo(request: Request) -> Response:
    """The last undo taken back."""
    form = await read_form(request)
    page = page_of(request)
    page.workspace.redo()
    return go(_back(form.text("back")))


async def demo(request: Request) -> Response:
    """The shipped chips, learnt from, with a target: everything filled."""
    # Here, since it imports every step of the job, and the first screen need not wait for that.
    from tintmix.page import demo as page_demo

    await read_form(request)
    page = page_of(request)
    work = page.works.start(
        "Learning from the demo's chips", "/tint", lambda work: page_demo.fill(page.workspace, work)
    )
    # The demo takes a second or two: one that is quick need not show its progress.
    await run_in_threadpool(work.wait, 0.2)
    return go(f"/work/{work.name}")


async def work(request: Request) -> Response:
    """How far some work is; when it is done, the page it goes on to."""
    page = page_of(request)
    found = page.works.find(request.path_params["name"])
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({**found.body, "says": told_in_units(found.says)})
    if found.state == "done":
        return go(found.goes_to)
    return render(request, "work.html", "", {"work": found})


async def stop(request: Request) -> Response:
    """Stop it."""
    await read_form(request)
    page = page_of(request)
    found = page.works.find(request.path_params["name"])
    found.stop()
    await run_in_threadpool(found.wait, 2.0)
    if found.state == "stopped":
        page.say(found.says)
    return go(found.back if found.state != "running" else f"/work/{found.name}")


def _back(screen: str) -> str:
    return f"/{screen}" if screen in STEPS else "/"


ROUTES = [
    Route("/", home),
    Route("/cautions", cautions),
    Route("/settings", settings, methods=["POST"]),
    Route("/undo", undo, methods=["POST"]),
    Route("/redo", redo, methods=["POST"]),
    Route("/demo", demo, methods=["POST"]),
    Route("/work/{name}", work),
    Route("/work/{name}/stop", stop, methods=["POST"]),
]
