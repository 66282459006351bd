"""Tint: what a dose looks like where the casting is thin and where it is thick; and the one-cup question."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form, read_form
from tintmix.faces.web.remedies import told
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import told_in_units
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.colour.target import wanted_colours
from tintmix.page.colour.tint import checked_doses, dose_tops, tint_seen
from tintmix.page.errors import needs_first
from tintmix.page.places import LIGHTS, MOST_PLACES, PartWish, part_from, part_of
from tintmix.page.workspace import Snapshot
from tintmix.pigments.model import TintModel

ONE_CUP_CHIPS = 2
STEPS_OF_SLIDER = 1000
SLIDER_POWER = 2
"""A slider's dose grows with the square of its way: near zero a step is a hundredth of a step at the end."""


async def show(request: Request) -> Response:
    """The screen; without a model, the one-cup question."""
    page = page_of(request)
    return _screen(request, page, page.workspace.now())


def _screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    part = part_of(now.area("part"))
    model = model_at_hand(page.workspace, now)
    context: dict[str, Any] = {
        "part": part,
        "light_choices": [(key, f"{words} ({key})") for key, words in LIGHTS.items()],
        "most_places": MOST_PLACES,
        "one_cup_chips": ONE_CUP_CHIPS,
    }
    if model is None:
        return render(request, "cup.html", "tint", context, status=status, problem=problem, typed=typed, snapshot=now)
    context |= _seen(page, now, model, part)
    return render(request, "tint.html", "tint", context, status=status, problem=problem, typed=typed, snapshot=now)


def _seen(page: Page, now: Snapshot, model: TintModel, part: PartWish) -> dict[str, Any]:
    doses = {name: dose for name, dose in now.area("tint").get("doses", {}).items() if name in model.pigments}
    usual, tops = dose_tops(model, {}), dose_tops(model, doses)
    body = tint_seen(model, doses, part, _wanted(page, now, model, part)).body
    sliders = [
        {
            "name": name,
            "dose": doses.get(name, 0.0),
            "usual": usual[name],
            "at": round(STEPS_OF_SLIDER * (doses.get(name, 0.0) / tops[name]) ** (1 / SLIDER_POWER))
            if tops[name]
            else 0,
            "known": 100 * min(float(model.highest_phr[p]) / tops[name], 1.0) ** (1 / SLIDER_POWER)
            if tops[name]
            else 100,
            "highest": float(model.highest_phr[p]),
        }
        for p, name in enumerate(model.pigments)
    ]
    return {
        "seen": body,
        "sliders": sliders,
        "one_cup": model.is_one_cup,
        "target_words": now.area("recipes").get("target_words", ""),
    }


def _wanted(page: Page, now: Snapshot, model: TintModel, part: PartWish) -> list[Any]:
    """What the target wants at each place; nothing where there is no target, or it cannot be used with this model."""
    target = now.area("recipes").get("target")
    if not target or model.is_one_cup:
        return []
    try:
        return wanted_colours(page.workspace, now, model, part)
    except (TintmixError, ImportError):
        return []


async def look(request: Request) -> Response:
    """The colours of some doses, for the script: as quick as can be, and nothing is kept."""
    page = page_of(request)
    try:
        doses = {
            name[5:]: units.number(value, name[5:], 0.0, 100.0)
            for name, value in request.query_params.multi_items()
            if name.startswith("dose.")
        }
        model, part, wanted, chosen = _at_hand(request, page)
    except TintmixError as problem:
        return JSONResponse({"error": told(problem)}, 422)
    try:
        body = tint_seen(model, doses, part, wanted).body
    except TintmixError as problem:
        return JSONResponse({"error": told(problem)}, 422)
    return JSONResponse(body | {"warnings": [told_in_units(sentence, chosen) for sentence in body["warnings"]]})


def _at_hand(request: Request, page: Page) -> tuple[TintModel, PartWish, list[Any], Units]:
    """Model, part, target and units, found once for each revision of the workspace. Raises NotThere."""
    state = request.app.state
    stamp = page.workspace.stamp()
    if getattr(state, "tint_stamp", None) != stamp:
        now = page.workspace.now()
        model = model_at_hand(page.workspace, now)
        if model is None:
            raise needs_first("The tint", "chips that were learnt from")
        part = part_of(now.area("part"))
        state.tint_at_hand = (model, part, _wanted(page, now, model, part), Units.of(now.area("settings")))
        state.tint_stamp = stamp
    found: tuple[TintModel, PartWish, list[Any], Units] = state.tint_at_hand
    return found


async def doses(request: Request) -> Response:
    """Keep the doses: from the script as one lets a slider go, or from the form."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    model = model_at_hand(page.workspace, now)
    if model is None:
        raise needs_first("The tint", "chips that were learnt from")
    script = "application/json" in request.headers.get("accept", "")
    try:
        typed = {name: (form.maybe(f"dose.{name}", name, 0.0, 100.0) or 0.0) for name in model.pigments}
        tint = {**now.area("tint"), "doses": checked_doses(model, typed)}
        label = _label(now.area("tint").get("doses", {}), tint["doses"])
        new = page.workspace.change(label, {"tint": tint}, {"tint": form.revision("tint")}, merge=True)
    except TintmixError as problem:
        if script:
            raise
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    if script:
        return JSONResponse({"revision": new.revision_of("tint"), "undo": new.undo[-1][1] if new.undo else ""})
    return go("/tint")


async def kept(request: Request) -> Response:
    """The doses that are kept, and their revision: for a tab that found them changed."""
    now = page_of(request).workspace.now()
    return JSONResponse({"revision": now.revision_of("tint"), "doses": now.area("tint").get("doses", {})})


def _label(before: dict[str, float], after: dict[str, float]) -> str:
    changed = sorted(name for name in {*before, *after} if before.get(name, 0.0) != after.get(name, 0.0))
    return f"dose of {changed[0]}" if len(changed) == 1 else "doses"


async def places(request: Request) -> Response:
    """The places on the casting, the light, and the least light wanted."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        part = _typed_part(form, now)
        page.workspace.change("places on the casting", {"part": part.as_area()}, {"part": form.revision("part")})
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    back = form.choice("back", ("tint", "recipes", "chips"), "tint")
    return go(f"/{back}")


def _typed_part(form: Form, now: Snapshot) -> PartWish:
    chosen = Units.of(now.area("settings"))
    before = part_of(now.area("part"))
    names, thicknesses = [], []
    for i in range(MOST_PLACES):
        text = form.text(f"place_{i}_mm")
        if not text:
            continue
        name = form.line(f"place_{i}_name", "the name of a place")
        was = before.places[i].thickness_mm if i < len(before.places) else None
        names.append(name)
        thicknesses.append(chosen.mm(text, f"the thickness of {name or 'a place'} ({chosen.length_unit})", was))
    floor = form.number("floor_percent", "the least light wanted (%)", 0.0, 99.0) / 100
    return part_from(names, thicknesses, floor, form.choice("light", LIGHTS, "D65"))


async def cup(request: Request) -> Response:
    """The one-cup question, answered."""
    # Here, since planning and reading chips take 0.1 s, and the first screen need not wait for them.
    from tintmix.page.colour import cup as page_cup

    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        chosen = Units.of(now.area("settings"))
        readings = []
        for i in range(ONE_CUP_CHIPS):
            if not form.text(f"chip_{i}_mm") and (i or form.text("demo")):
                continue
            mm = chosen.mm(form.text(f"chip_{i}_mm"), f"the thickness of chip {i + 1} ({chosen.length_unit})")
            lab = (
                form.number(f"chip_{i}_L", f"L* of chip {i + 1}", 0.0, 100.0),
                form.number(f"chip_{i}_a", f"a* of chip {i + 1}", -200.0, 200.0),
                form.number(f"chip_{i}_b", f"b* of chip {i + 1}", -200.0, 200.0),
            )
            readings.append((mm, lab))
        thick = chosen.mm(form.text("thick_mm"), f"the casting's thickest place ({chosen.length_unit})", 60.0)
        before = part_of(now.area("part"))
        thin = min(before.thicknesses_mm)
        thin = thin if thin < thick else thick / 8
        part = part_from(["thin", "thick"], [thin, thick], before.floor, before.light)
        chips = page_cup.demo_cup() if form.text("demo") else page_cup.cup_set(readings)
    except TintmixError as problem:
        return _screen(request, page, now, status=422, problem=problem, typed=form.typed)
    work = page.works.start(
        "Learning from your cup", "/tint", lambda work: page_cup.learn_cup(page.workspace, chips, part, work)
    )
    await run_in_threadpool(work.wait, 1.5)
    return go(f"/work/{work.name}")


ROUTES = [
    Route("/tint", show),
    Route("/tint/look", look),
    Route("/tint/now", kept),
    Route("/tint/doses", doses, methods=["POST"]),
    Route("/tint/places", places, methods=["POST"]),
    Route("/tint/cup", cup, methods=["POST"]),
]
