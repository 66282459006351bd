"""Trial chip: it came out off; what to do about the tinted side that is left."""

from __future__ import annotations

import re
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units as numbers
from tintmix.faces.web.forms import Form, read_form
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.page.bench import trial as page_trial
from tintmix.page.bench.recipe import recipe_at_hand
from tintmix.page.errors import needs_first, not_typed
from tintmix.page.places import LIGHTS, THICKEST_MM, THINNEST_MM
from tintmix.page.workspace import Snapshot
from tintmix.sheet.cautions import cautions_for

_HEX = re.compile(r"#?([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")
WAIT_SECONDS = 8.0
"""An answer takes two or three seconds; one that takes longer shows its progress."""


async def show(request: Request) -> Response:
    """What is asked, and the answer."""
    page = page_of(request)
    return await run_in_threadpool(_screen, request, page, page.workspace.now())


def _screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    workspace = page.workspace
    area, sheet = now.area("trial"), now.area("sheet")
    found = recipe_at_hand(workspace, now)
    kept = page_trial.sheet_at_hand(workspace, now, found)
    asked = {**page_trial.USUAL, **area.get("asked", {})}
    rounds = area.get("rounds", [])
    context: dict[str, Any] = {
        "found": found, "sheet": kept, "asked": asked, "rounds": rounds, "spaces": list(page_trial.SPACES.items()),
        "most_chips": page_trial.MOST_CHIPS, "lights": [(key, f"{words} ({key})") for key, words in LIGHTS.items()],
        "weights": [], "made_g": None, "left_g": asked["left_g"], "answer": None, "light": "D65", "observer": 10,
        "thick_mm": None, "other_sheet": bool(sheet.get("sheet")) and kept is None,
    }  # fmt: skip
    if found is not None:
        context["light"], context["observer"] = page_trial.light_of(asked, found)
        context["thick_mm"] = max((one["thickness_mm"] for one in found.recipe.sections), default=None)
        context["answer"] = page_trial.answer_shown(workspace, now, found)
        if context["light"] not in LIGHTS:
            context["lights"].append((context["light"], context["light"]))
    if kept is not None:
        given = sheet.get("weights", {})
        context["weights"] = [
            {
                "key": key, "into": line.into, "what": line.what, "asked_g": line.grams,
                "grams": given.get(key, line.grams), "typed": key in given,
            }
            for key, line in page_trial.weights_asked(kept).items()
        ]  # fmt: skip
        try:
            context["made_g"], guess = page_trial.left_guess(kept, sheet, rounds)
            context["left_g"] = asked["left_g"] or guess
        except TintmixError as trouble:
            problem = problem or trouble
    # An answer to another recipe may be for another resin: then all are told.
    resin = None
    if found is not None and not (context["answer"] and context["answer"]["of_another"]):
        resin = found.recipe.resin if kept is None else kept.sheet.resin
    context["cautions"] = cautions_for(resin)
    return render(request, "trial.html", "trial", context, status=status, problem=problem, typed=typed, snapshot=now)


async def ask(request: Request) -> Response:
    """What was read and what is left; then what to do."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        found = recipe_at_hand(page.workspace, now)
        if found is None:
            raise needs_first("A trial", "a recipe")
        asked = _asked(form, now)
        areas: dict[str, Any] = {"trial": {**now.area("trial"), "asked": asked}}
        expected = {"trial": form.revision("trial")}
        kept = page_trial.sheet_at_hand(page.workspace, now, found)
        if kept is not None:
            sheet = now.area("sheet")
            sheet["weights"] = _weights(form, now, kept)
            page_trial.pot_now(kept, sheet, now.area("trial").get("rounds", []))
            areas["sheet"], expected["sheet"] = sheet, form.revision("sheet")
        now = page.workspace.change("what the trial read", areas, expected)
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    work = page.works.start("Working out what to do", "/trial", lambda work: page_trial.ask(page.workspace, work))
    await run_in_threadpool(work.wait, WAIT_SECONDS)
    if work.state == "failed":
        return _screen(request, page, page.workspace.now(), status=422, problem=work.says)
    return go(work.goes_to if work.state == "done" else f"/work/{work.name}")


def _asked(form: Form, now: Snapshot) -> dict[str, Any]:
    units = Units.of(now.area("settings"))
    before = {**page_trial.USUAL, **now.area("trial").get("asked", {})}
    space = form.choice("space", page_trial.SPACES, "Lab")
    chips = []
    for at in range(page_trial.MOST_CHIPS):
        mm, colour = form.text(f"chip_{at}_mm"), form.text(f"chip_{at}_colour")
        if not mm and not colour:
            continue
        was = before["chips"][at]["thickness_mm"] if at < len(before["chips"]) else None
        words = f"the thickness of trial chip {at + 1} ({units.length_unit})"
        thickness = units.mm(mm, words, was, THINNEST_MM, THICKEST_MM)
        chips.append(
            {"thickness_mm": thickness, "colour": _colour(colour, space, f"the colour of trial chip {at + 1}")}
        )
    if not chips:
        raise not_typed("the trial chip", "", "Type how thick it is, and what was read.")
    unit = units.mass_unit

    def maybe(name: str, words: str) -> float | None:
        text = form.text(name)
        return units.grams(text, f"{words} ({unit})", before[f"{name}_g"], 0.01) if text else None

    light = form.text("light")
    known = (*LIGHTS, *([before["light"]] if before["light"] else []))
    return {
        "space": space,
        "chips": chips,
        "light": light if light in known else None,
        "observer": {"2": 2, "10": 10}.get(form.text("observer")),
        "left_g": units.grams(form.text("left"), f"the tinted resin that is left ({unit})", before["left_g"], 0.01),
        "pot_g": maybe("pot", "what the pot holds"),
        "need_g": maybe("need", "the mixed resin that the pour needs"),
        "mixed_min": form.number("mixed_min", "minutes since it was mixed", 0.0, 100_000.0)
        if form.text("mixed")
        else None,
    }


def _colour(text: str, space: str, field: str) -> list[float]:
    found = _HEX.fullmatch(text) if space == "sRGB" else None
    if found is not None:
        return [float(int(part, 16)) for part in found.groups()]
    cells = [cell for cell in re.split(r"[;\s]+|,(?=\s)", text) if cell]
    if len(cells) != 3:
        such = "#cfe8dc, or 207 232 220" if space == "sRGB" else "71.2 -24 3.1" if space == "Lab" else "41 48 52"
        raise not_typed(field, text, f"Write three numbers with spaces between, such as {such}.")
    return page_trial.checked_colour([numbers.number(cell, field) for cell in cells], space, field)


def _weights(form: Form, now: Snapshot, kept: Any) -> dict[str, float]:
    """The sheet's weights with those that were typed here; one left at what the sheet asked for stays untyped."""
    units = Units.of(now.area("settings"))
    weights: dict[str, float] = now.area("sheet").get("weights", {})
    for key, line in page_trial.weights_asked(kept).items():
        text = form.text(f"weight.{key}")
        if not text:
            continue
        was = weights.get(key, line.grams)
        grams = units.grams(text, f"the weight of {line.what} ({units.mass_unit})", was, 0.0, 1e6)
        if key in weights or grams != line.grams:
            weights[key] = grams
    return weights


async def topped(request: Request) -> Response:
    """What was added is noted; the next trial begins from there."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    units = Units.of(now.area("settings"))
    try:
        added = {}
        for name, text in zip(form.texts("added"), form.texts("added_grams"), strict=False):
            if text:
                added[name[:120]] = units.grams(text, f"the weight of {name[:40]} ({units.mass_unit})")
        text = form.text("plain")
        plain = units.grams(text, f"the untinted resin ({units.mass_unit})") if text else 0.0
        page_trial.topped_up(page.workspace, now, added, plain, form.revision("trial"))
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    page.say("Noted. Mix, cure and read another small sample if you can wait, and ask again here.")
    return go("/trial")


async def lots(request: Request) -> Response:
    """How strong the lots are, into the book."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        chosen = {
            pigment: form.line(f"lot.{pigment}", f"the lot of {pigment}") for pigment in form.texts("keep") if pigment
        }
        if not chosen:
            raise not_typed("the lots", "", "Tick those whose strength is to be kept.")
        _, told = await run_in_threadpool(page_trial.keep_lots, page.workspace, now, chosen, form.revision("trial"))
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    for sentence in told:
        page.say(sentence)
    return go("/trial#answer")


async def anew(request: Request) -> Response:
    """Another pot: the trial forgotten, top-ups and all. Undo brings it back."""
    form = await read_form(request)
    page_of(request).workspace.change("forgetting the trial", {"trial": {}}, {"trial": form.revision("trial")})
    return go("/trial")


ROUTES = [
    Route("/trial", show),
    Route("/trial/ask", ask, methods=["POST"]),
    Route("/trial/topped", topped, methods=["POST"]),
    Route("/trial/lots", lots, methods=["POST"]),
    Route("/trial/anew", anew, methods=["POST"]),
]
