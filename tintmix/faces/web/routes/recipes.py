"""Recipes: a target, and the doses that come nearest to it, side by side."""

from __future__ import annotations

import re
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.page.colour import target as page_target
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, not_typed
from tintmix.page.places import LIGHTS, MOST_PLACES, part_of
from tintmix.page.workspace import Snapshot
from tintmix.recipes.search.aim import lay

_HEX = re.compile(r"#[0-9a-fA-F]{6}")


async def show(request: Request) -> Response:
    """Target, limits, and what was found."""
    page = page_of(request)
    return _screen(request, page, page.workspace.now())


def _screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    model = model_at_hand(page.workspace, now)
    area = now.area("recipes")
    part = part_of(now.area("part"))
    target = {**page_target.default_target(), **area.get("target", {})}
    context: dict[str, Any] = {
        "ready": model is not None and not model.is_one_cup, "one_cup": model is not None and model.is_one_cup,
        "target": target, "has_target": "target" in area, "glasses": list(page_target.GLASSES.items()), "part": part,
        "pigments": list(model.pigments) if model is not None else [], "kept": area.get("kept", []),
        "chosen": area.get("chosen"), "answer": None, "wanted": [], "lights": LIGHTS, "most_places": MOST_PLACES,
        "doses": now.area("tint").get("doses", {}),
    }  # fmt: skip
    if model is not None and not model.is_one_cup:
        context["answer"] = page_target.answer_body(page.workspace, now, model)
        if "target" in area:
            try:
                context["wanted"] = page_target.wanted_swatches(page.workspace, now, model, part)
            except TintmixError as trouble:
                problem = problem or trouble
    return render(
        request, "recipes.html", "recipes", context, status=status, problem=problem, typed=typed, snapshot=now
    )


async def set_target(request: Request) -> Response:
    """Keep the target and its limits, and find the recipes for it."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        table = await _typed_target(page, form, now)
        part = part_of(now.area("part"))
        model = model_at_hand(page.workspace, now)
        target = page_target.target_of(page.workspace, table, part)
        if model is not None:
            lay(model, target)
        area = {**now.area("recipes"), "target": table, "target_words": page_target.target_words(table)}
        page.workspace.change("the target", {"recipes": area}, {"recipes": form.revision("recipes")})
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    if form.text("only"):
        return go("/recipes")
    return await _solve(page)


async def find(request: Request) -> Response:
    """Find the recipes for the target at hand."""
    await read_form(request)
    return await _solve(page_of(request))


async def _solve(page: Page) -> Response:
    work = page.works.start("Finding recipes", "/recipes", lambda work: page_target.find_recipes(page.workspace, work))
    await run_in_threadpool(work.wait, 1.0)
    return go(work.goes_to if work.state == "done" else f"/work/{work.name}")


async def _typed_target(page: Page, form: Form, now: Snapshot) -> dict[str, Any]:
    chosen = Units.of(now.area("settings"))
    before = now.area("recipes").get("target", {})
    kind = form.choice("kind", page_target.KINDS, "glass")
    pigments = form.maybe("most_pigments", "how many pigments", 1, 12)
    table: dict[str, Any] = {
        "kind": kind,
        "tolerance": form.number("tolerance", "how near (ΔE00)", 0.1, 50.0),
        "pigments": None if pigments is None else int(pigments),
        "total_phr": form.maybe("total_phr", "pigment altogether", 0.0001, 100.0),
        "haze_percent": form.maybe("haze_percent", "the most haze (%)", 0.0, 100.0),
        "leave_out": [name for name in form.texts("leave_out") if name],
    }
    if kind == "glass":
        table["glass"] = form.choice("glass", page_target.GLASSES, "sea-green")
    elif kind == "piece":
        table["thickness_mm"] = chosen.mm(
            form.text("piece_mm"), f"the glass's thickness ({chosen.length_unit})", before.get("thickness_mm")
        )
        table["name"] = form.line("piece_name", "the name of the glass")
        files = await form.files("piece_file")
        if files:
            table["spectrum"] = await run_in_threadpool(page_target.curve_from_upload, page.workspace, *files[0])
            table["spectrum_name"] = files[0][0]
        elif any(form.text(f"piece_{c}") for c in "Lab"):
            table["lab"] = [
                form.number("piece_L", "L* of the glass", 0.0, 100.0),
                form.number("piece_a", "a* of the glass", -200.0, 200.0),
                form.number("piece_b", "b* of the glass", -200.0, 200.0),
            ]
        elif before.get("spectrum"):
            table |= {"spectrum": before["spectrum"], "spectrum_name": before.get("spectrum_name", "")}
        else:
            raise not_typed("the glass's colour", "", "Type its L*, a*, b*, or choose a file of its transmittance.")
    else:
        table["colours"] = [
            _typed_colour(form, i, place.name) for i, place in enumerate(part_of(now.area("part")).places)
        ]
        if not any(table["colours"]):
            raise not_typed("the colours", "", "Give at least one place a colour, as L* a* b* or as #rrggbb.")
    return table


def _typed_colour(form: Form, at: int, place: str) -> dict[str, Any] | None:
    text = form.text(f"colour_{at}")
    if not text:
        return None
    if _HEX.fullmatch(text):
        return {"srgb": text.lower(), "lab": None}
    cells = [cell for cell in re.split(r"[;\s]+|,(?=\s)", text) if cell]
    if len(cells) != 3:
        raise not_typed(f"the colour of {place}", text, "Write it as #cfe8dc, or as L* a* b*, such as 88 -12 2.")
    lab = [units.number(cell, f"the colour of {place}", -200.0, 200.0) for cell in cells]
    return {"srgb": None, "lab": lab}


async def open_in_tint(request: Request) -> Response:
    """The doses of a found recipe into Tint."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    recipe = page_target.recipe_of(page.workspace, now, _number(form))
    tint = {**now.area("tint"), "doses": recipe["doses_phr"]}
    page.workspace.change("doses of a recipe", {"tint": tint}, {"tint": form.revision("tint")})
    return go("/tint")


async def keep(request: Request) -> Response:
    """Keep a found recipe, or the tint at hand, under a name."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        name = form.line("name", "the name of the recipe")
        if form.text("tint"):
            doses = now.area("tint").get("doses", {})
            page_target.tint_recipe(page.workspace, now, doses, name, form.revision("recipes"))
        else:
            page_target.keep_recipe(page.workspace, now, _number(form), name, form.revision("recipes"))
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    page.say(f"Kept: {name}. It is chosen for Sheet and Trial chip.")
    return go("/recipes")


async def choose(request: Request) -> Response:
    """A kept recipe for Sheet and Trial chip; or one removed."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    area = now.area("recipes")
    found = next((one for one in area.get("kept", []) if one["thing"] == form.text("recipe")), None)
    if found is None:
        raise NoSuchThing("recipe")
    if form.text("remove"):
        area["kept"] = [one for one in area["kept"] if one["thing"] != found["thing"]]
        if area.get("chosen") == found["thing"]:
            area["chosen"] = None
        label = f"removing {found['name']}"
    else:
        area["chosen"], label = found["thing"], f"choosing {found['name']}"
    page.workspace.change(label, {"recipes": area}, {"recipes": form.revision("recipes")})
    return go("/recipes")


async def download(request: Request) -> Response:
    """A kept recipe as recipe.json."""
    page = page_of(request)
    thing = request.path_params["recipe"]
    kept = page.workspace.now().area("recipes").get("kept", [])
    found = next((one for one in kept if one["thing"] == thing), None)
    if found is None:
        raise NoSuchThing("recipe")
    return Response(
        page.workspace.file(thing).read_bytes(), media_type="application/json",
        headers={"content-disposition": f'attachment; filename="{safe_name(found["name"], "json")}"'},
    )  # fmt: skip


def _number(form: Form) -> int:
    text = form.text("number")
    return int(text) if text.isdecimal() and len(text) < 6 else -1


ROUTES = [
    Route("/recipes", show),
    Route("/recipes/target", set_target, methods=["POST"]),
    Route("/recipes/find", find, methods=["POST"]),
    Route("/recipes/tint", open_in_tint, methods=["POST"]),
    Route("/recipes/keep", keep, methods=["POST"]),
    Route("/recipes/choose", choose, methods=["POST"]),
    Route("/recipes/recipe/{recipe}.json", download),
]
