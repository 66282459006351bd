"""Casting: what is cast, turned in the hand before it is poured; its places as they are seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from starlette.responses import Response

from tintmix.errors import TintmixError
from tintmix.faces.web.units import LENGTHS, number
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.files import caps
from tintmix.page.casting import kept
from tintmix.page.casting.insert import paint_asked, places_with_insert, screen_colour
from tintmix.page.casting.live import Castings
from tintmix.page.casting.paint import colours, hexes_of_places, insert_reflectance, packed
from tintmix.page.casting.wish import (
    BODIES,
    BRASS,
    LITS,
    RING,
    UNITS,
    Body,
    Casting,
    Insert,
    Seen,
    casting_of,
    casting_words,
    seen_from,
    view_words,
)
from tintmix.page.casting.words import LEFT_OUT, picture_words, shape_words
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, not_typed
from tintmix.page.places import part_of
from tintmix.page.work import Work
from tintmix.page.workspace import Workspace
from tintmix.quantities import BODY_MM
from tintmix.shape.picture import SAMPLES
from tintmix.shape.values import POINTS

ROUTES = Routes()
SOON_SECONDS = 3.0
"""What is wrong with a mesh is told on this screen, if it is found so soon; else on the page of the work."""
TRACE_SECONDS = 1.5


@ROUTES.get("/casting")
def show(visit: Visit) -> Answer:
    """The screen: the casting, its places, and what it is."""
    wish = casting_of(visit.now.area("casting"))
    shape = None if wish.shape is None else visit.workspace.shape(wish.shape)
    model, doses, light, observer = _tint(visit)
    reflectance = insert_reflectance(None if wish.insert is None else wish.insert.srgb, light, observer)
    swatches = [] if shape is None else hexes_of_places(shape.places, model, doses, reflectance, light, observer)
    paint, asked = None, {name: visit.form.text(name) for name in ("should_look", "seen_at")}
    if model is not None and asked["should_look"] and visit.request.method == "GET":
        try:
            paint = paint_asked(visit.workspace, visit.now, model, doses, asked["seen_at"], asked["should_look"])
        except TintmixError as trouble:
            visit.problem, visit.status = trouble, 422
    used = [one.seen for one in part_of(visit.now.area("part")).places]
    return visit.shows(
        "casting.html", "casting", wish=wish, used=used, what=casting_words(wish), bodies=BODIES, ring=RING, brass=BRASS,
        lits=LITS, mesh_units=UNITS, left_out=LEFT_OUT, shape=shape,
        swatches=swatches, tinted=model is not None and any(doses.values()),
        insert_places=places_with_insert(shape) if model is not None else [], paint=paint, asked=asked,
        seen_words=view_words(wish.seen), notes=kept.notes_kept(visit.now.area("casting")),
        says="" if shape is None else shape_words(wish, shape), is_example=not visit.now.area("casting"),
    )  # fmt: skip


@ROUTES.get("/casting/picture")
def picture(visit: Visit) -> Answer:
    """The picture from a view, for the script: coarse at once, finer as more samples are asked for; nothing is kept."""
    wish, seen = casting_of(visit.now.area("casting")), _view(visit)
    samples = visit.form.count("samples", 0)
    model, doses, light, observer = _tint(visit)
    index = kept.index_at_hand(visit.workspace, visit.now)
    found = _castings(visit).refined(visit.workspace, wish, seen, index, min(samples, SAMPLES))
    drawn = found.shown()
    reflectance = insert_reflectance(None if wish.insert is None else wish.insert.srgb, light, observer)
    kept_here = None if wish.shape is None or seen != wish.seen else visit.workspace.shape(wish.shape)
    head = {
        "colours": colours(model, doses, drawn.lengths_mm, reflectance, light, observer), "fine": found.samples, "of": SAMPLES,
        "says": picture_words(wish, seen, drawn) if kept_here is None else shape_words(wish, kept_here),
    }  # fmt: skip
    return Response(packed(drawn, head), media_type="application/octet-stream")


@ROUTES.get("/casting/traced")
def traced(visit: Visit) -> Answer:
    """The picture of the shape that is kept, in the doses that are."""
    wish = casting_of(visit.now.area("casting"))
    if wish.shape is None:
        raise NoSuchThing("traced casting")
    drawn = visit.workspace.shape(wish.shape).picture
    model, doses, light, observer = _tint(visit)
    reflectance = insert_reflectance(None if wish.insert is None else wish.insert.srgb, light, observer)
    shown = colours(model, doses, drawn.lengths_mm, reflectance, light, observer)
    return Response(packed(drawn, {"colours": shown}), media_type="application/octet-stream")


@ROUTES.post("/casting/body", show)
def body(visit: Visit) -> Answer:
    """A body that is made here, with its sizes."""
    form, wish = visit.form, casting_of(visit.now.area("casting"))
    kind = form.choice("kind", BODIES, "prism")
    words, told = BODIES[kind]
    was = wish.body.sizes_mm if wish.body.kind == kind and wish.body.sizes_mm else {}
    sizes = {
        name: visit.units.mm(form.text(f"{kind}_{name}"), f"{words}: {said}", was.get(name), BODY_MM)
        for name, (said, _) in told.items()
    }
    return _put(visit, f"a {words}", replace(wish, body=Body(kind, sizes), points_mm=None))


@ROUTES.post("/casting/mesh", show)
def mesh(visit: Visit) -> Answer:
    """A mesh that was dropped."""
    wish = casting_of(visit.now.area("casting"))
    return _put(visit, "a mesh", replace(wish, body=_uploaded(visit, "mesh", "the mesh"), points_mm=None))


@ROUTES.post("/casting/insert", show)
def insert(visit: Visit) -> Answer:
    """What is cast in: nothing, a ring, or a mesh of its own."""
    form, wish = visit.form, casting_of(visit.now.area("casting"))
    what = form.choice("insert", ("none", "ring", "mesh"), "none")
    if what == "none":
        return _put(visit, "nothing cast in", replace(wish, insert=None))
    srgb = screen_colour(form.text("insert_srgb", BRASS))
    if what == "ring":
        was = wish.insert.body.sizes_mm if wish.insert and wish.insert.body.sizes_mm else {}
        sizes = {
            name: visit.units.mm(form.text(f"ring_{name}"), f"ring: {said}", was.get(name), BODY_MM)
            for name, (said, _) in RING.items()
        }
        return _put(visit, "a ring cast in", replace(wish, insert=Insert(Body("ring", sizes), srgb)))
    if not form.has_file("insert_mesh") and wish.insert is not None and wish.insert.body.kind == "mesh":
        return _put(visit, "the insert's colour", replace(wish, insert=replace(wish.insert, srgb=srgb)))
    return _put(visit, "an insert", replace(wish, insert=Insert(_uploaded(visit, "insert_mesh", "the insert"), srgb)))


@ROUTES.post("/casting/view", show)
def view(visit: Visit) -> Answer:
    """Trace it finely from here: its places, and its shape for the other screens."""
    wish = replace(casting_of(visit.now.area("casting")), seen=_view(visit))
    expected, castings = visit.form.revision("casting"), _castings(visit)
    return _begun(
        visit, f"Tracing the {casting_words(wish)}",
        lambda workspace, work: kept.trace(workspace, castings, wish, expected, work), TRACE_SECONDS,
    )  # fmt: skip


@ROUTES.post("/casting/place", show)
def place(visit: Visit) -> Answer:
    """A place of the picture, named: one of its places, and of the part's."""
    form = visit.form
    wish = replace(casting_of(visit.now.area("casting")), seen=_view(visit))
    name = form.line("name", "the name of the place")
    if not name or name.lower() in POINTS:
        raise not_typed("the name of the place", name, "Type a name other than palest, typical and deepest.")
    across, up = (_length(visit, form.text(box), said) for box, said in (("across", "to the right"), ("up", "up")))
    expected, castings = form.revision("casting"), _castings(visit)
    return _begun(
        visit, f"Looking at {name}",
        lambda workspace, work: kept.name_place(workspace, castings, wish, name, across, up, expected, work), TRACE_SECONDS,
    )  # fmt: skip


@ROUTES.post("/casting/sections", show)
def sections(visit: Visit) -> Answer:
    """Which of its places the tint is looked at, and recipes are found for."""
    names = [name for name in visit.form.texts("place") if name]
    return kept.use_places(visit.workspace, names, visit.form.revision("part"))


def _length(visit: Visit, text: str, said: str) -> float:
    """A length either way, typed in the unit that the page shows."""
    unit = LENGTHS[visit.units.length_unit]
    return number(text, f"{said} ({visit.units.length_unit})", -BODY_MM.most / unit, BODY_MM.most / unit) * unit


def _put(visit: Visit, label: str, wish: Casting) -> Answer:
    expected, castings = visit.form.revision("casting"), _castings(visit)
    castings.rest()
    return _begun(
        visit, f"Reading the {casting_words(wish)}",
        lambda workspace, work: kept.put(workspace, castings, label, wish, expected), SOON_SECONDS,
    )  # fmt: skip


def _begun(visit: Visit, what: str, task: Callable[[Workspace, Work], str], seconds: float) -> Answer:
    """Work; what is soon found to be wrong is wrong with the form."""
    work = visit.begin(what, "/casting", task, seconds)
    if work.state == "failed" and isinstance(work.says, TintmixError):
        raise work.says
    return work


def _uploaded(visit: Visit, box: str, what: str) -> Body:
    name, stream = visit.form.upload(box, what, caps.MESH)
    unit = visit.form.choice(f"{box}_unit", UNITS, "")
    return Body("mesh", None, visit.workspace.keep_content(stream), name, unit or None)


def _view(visit: Visit) -> Seen:
    form = visit.form
    turn, tilt = (form.number(name, name, -3600.0, 3600.0) for name in ("turn", "tilt"))
    return seen_from(turn, tilt, form.choice("lit", LITS, "panel"))


def _tint(visit: Visit) -> tuple[Any, dict[str, float], str, int]:
    """The model and the doses at hand, and the light; no model where none was learnt."""
    part, model = part_of(visit.now.area("part")), model_at_hand(visit.workspace, visit.now)
    doses = visit.now.area("tint").get("doses", {})
    known = {} if model is None else {name: dose for name, dose in doses.items() if name in model.pigments}
    return model, known, part.light, part.observer


def _castings(visit: Visit) -> Castings:
    """Those at hand, from when the screen is first asked for."""
    state = visit.request.app.state
    if not hasattr(state, "castings"):
        state.castings = Castings()
    found: Castings = state.castings
    return found
