"""What belongs to no step: the first page, settings, undo, the demo, work in the background."""

from __future__ import annotations

import time

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from tintmix.faces.web.forms import read_form
from tintmix.faces.web.units import LENGTHS, MASSES
from tintmix.faces.web.visit import Answer, Routes, Visit, wants_json
from tintmix.faces.web.words import told_in_units
from tintmix.page.steps import STEPS, steps_of
from tintmix.sheet.cautions import cautions as all_cautions

ROUTES = Routes()


WAYS = (
    (
        "phone",
        "A phone and a light panel",
        "The chips are read in a photo of them on the panel.",
        "measure-with-a-phone",
    ),
    (
        "colorimeter",
        "A hand-held colorimeter",
        "It reads L*a*b*: two chips of each cup, on its white tile.",
        "measure-with-a-colorimeter",
    ),
    (
        "spectrophotometer",
        "A spectrophotometer",
        "It reads spectra, which tell most: one chip of each cup is enough.",
        "measure-with-an-instrument",
    ),
)
"""What a maker may have to read chips with: a key, its name, what it does, and its page of Help."""


@ROUTES.get("/")
def home(visit: Visit) -> Answer:
    """What tintmix is, and where to begin; where a job is on its way, the step to go on with."""
    steps = steps_of(visit.now)
    begun = any(step.state == "done" for step in steps)
    going = next((step for step in steps if step.state == "open"), steps[0]) if begun else None
    return visit.shows("home.html", "", ways=WAYS, going=going)


@ROUTES.get("/cautions")
def cautions(visit: Visit) -> Answer:
    """All cautions, for whatever a resin may hold."""
    return visit.shows("cautions.html", "", cautions=all_cautions())


@ROUTES.post("/settings")
def settings(visit: Visit) -> Answer:
    """Units and surround."""
    chosen = {
        "length": visit.form.choice("length", LENGTHS, "mm"),
        "mass": visit.form.choice("mass", MASSES, "g"),
        "surround": visit.form.choice("surround", ("grey", "dark"), "grey"),
    }
    visit.change("units and surround", settings=chosen)
    return _back(visit)


@ROUTES.post("/undo")
def undo(visit: Visit) -> Answer:
    """The last change taken back."""
    visit.workspace.undo()
    visit.say(f"Undone: {visit.now.undo[-1][1]}.")
    return _back(visit)


@ROUTES.post("/redo")
def redo(visit: Visit) -> Answer:
    """The last undo taken back."""
    visit.workspace.redo()
    return _back(visit)


@ROUTES.post("/demo")
def demo(visit: Visit) -> Answer:
    """The shipped chips, learnt from, with a target: everything filled."""
    # Here, since it imports every step of the job, and the first screen need not wait for that.
    from tintmix.page.demo import fill

    return visit.begin("Learning from the demo's chips", "/tint", fill, 0.2)


async def go_on(request: Request) -> Response:
    """From an older list, or an empty one, in the place of a damaged one: before there is anything that a visit could see."""
    form, page = await read_form(request), request.app.state.page
    revision = form.count("revision", 0) if form.text("revision") else None
    await run_in_threadpool(page.workspace.go_on_from, revision)
    page.told.append("The list of what the page keeps is whole again.")
    return RedirectResponse("/", 303)


ROUTES.append(Route("/go-on", go_on, methods=["POST"]))


@ROUTES.get("/work/{name}")
def work(visit: Visit) -> Answer:
    """How far some work is; when it is done, the page it goes on to."""
    found = visit.page.works.find(visit.request.path_params["name"])
    if wants_json(visit.request):
        seconds = round(time.monotonic() - found.started, 1)
        told = {name: getattr(found, name) for name in ("what", "state", "part", "goes_to")}
        return {**told, "says": told_in_units(found.says), "seconds": seconds}
    return found if found.state == "done" else visit.shows("work.html", "", work=found)


@ROUTES.post("/work/{name}/stop")
def stop(visit: Visit) -> Answer:
    """Stop it."""
    found = visit.page.works.find(visit.request.path_params["name"])
    found.stop()
    found.wait(2.0)
    if found.state == "stopped":
        visit.say(found.says)
    return found.back if found.state != "running" else found


def _back(visit: Visit) -> str:
    screen = visit.form.text("back")
    return f"/{screen}" if screen in STEPS else "/"
