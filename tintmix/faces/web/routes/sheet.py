"""Sheet: what to weigh for the batch, step by step, ticked off and weighed here; then into the book."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.remedies import told
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.files.stamp import today
from tintmix.page.bench import sheet as page_sheet
from tintmix.page.bench.recipe import recipe_at_hand, recipe_of
from tintmix.page.bench.weights import seen_as_weighed, weights_of
from tintmix.page.colour import target as page_target
from tintmix.page.errors import ChangedElsewhere, needs_first, not_typed
from tintmix.page.workspace import WORDS, Snapshot

PAPERS = ("A4", "Letter")
CM3_PER_CUBIC_INCH = 16.387064
"""International inch, 1959; exact."""
NOTE_LETTERS = 2000


async def show(request: Request) -> Response:
    """The sheet, or how to get one."""
    page = page_of(request)
    return await run_in_threadpool(_screen, request, page, page.workspace.now())


def _screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    workspace = page.workspace
    area = {"pour": None, "book": None, "shelved": [], **now.area("sheet")}
    found = recipe_at_hand(workspace, now)
    kept = page_sheet.kept_sheet(workspace, area)
    many = now.area("recipes").get("kept", [])
    doses = now.area("tint").get("doses", {})
    context = _choices(now, found, {**page_sheet.USUAL, **area.get("asked", {})}) | {
        "found": found, "kept": many, "recipe_choices": [(one["thing"], one["name"]) for one in many], "sheet": None,
        "papers": PAPERS, "area": area,
        "doses": doses if now.area("pigments").get("model") and "mix" not in doses else {},
    }  # fmt: skip
    if kept is not None:
        ticks, seen = page_sheet.tick_keys(kept), _seen(page, now, kept)
        context |= {
            "sheet": kept.sheet, "body": kept.body, "stages": page_sheet.stages_shown(kept, area),
            "strip": page_sheet.strip_body(kept), "matters": page_sheet.what_matters(kept),
            "bottles": page_sheet.new_bottles(kept, area), "ticked": len(set(area.get("ticks", [])) & set(ticks)),
            "ticks": len(ticks), "seen": seen, "seen_words": weighed_words(seen) if seen else "",
            "other": found is not None and not page_sheet.is_of(now, found), "today": today(),
        }  # fmt: skip
        try:
            context |= {"title": recipe_of(workspace, now, area["recipe"]).recipe.name, "gone": False}
        except TintmixError:
            context |= {"title": kept.sheet.title, "gone": True}
    return render(request, "sheet.html", "sheet", context, status=status, problem=problem, typed=typed, snapshot=now)


def _choices(now: Snapshot, found: Any, asked: dict[str, Any]) -> dict[str, Any]:
    """What can be chosen for a new sheet."""
    resins, lots = [], {}
    if found is not None:
        recipe = found.recipe
        lots = {name: asked["lots"].get(name) or recipe.lots.get(name, "") for name in recipe.doses_phr}
        if recipe.resin is not None and recipe.resin.parts:
            resins.append(("recipe", recipe.resin.name))
    resins += [(key, f"{words} (example)") for key, words in page_sheet.example_resins().items()]
    if asked["resin_file"]:
        resins.append(("own", asked["resin_name"] or "my resin.toml"))
    unit, factor = _volume(Units.of(now.area("settings")))
    ways = list(page_sheet.WAYS.items())
    return {"asked": asked, "lots": lots, "resins": resins, "ways": ways, "volume_unit": unit, "volume": factor}


def _seen(page: Page, now: Snapshot, kept: Any) -> dict[str, Any] | None:
    """What the weights that were typed make; None where none were, or it cannot be told."""
    area = now.area("sheet")
    try:
        pot = page_sheet.pot_at_hand(kept, area)
        if not pot.typed:
            return None
        found = recipe_of(page.workspace, now, area["recipe"])
        return seen_as_weighed(kept.sheet, pot, found.recipe, page.workspace.model(area["model"]))
    except TintmixError:
        return None


async def make(request: Request) -> Response:
    """A new sheet, for this batch on these scales."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        asked = await _asked(page, form, now)
        thing = _chosen(form, now)
        area = await run_in_threadpool(page_sheet.make, page.workspace, now, page_sheet.Wish(thing, asked))
        recipes = {**now.area("recipes"), "chosen": thing}
        expected = {"sheet": form.revision("sheet"), "recipes": form.revision("recipes")}
        page.workspace.change("the batch sheet", {"sheet": area, "recipes": recipes}, expected)
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    return go("/sheet")


def _chosen(form: Form, now: Snapshot) -> str:
    area = now.area("recipes")
    kept = [one["thing"] for one in area.get("kept", [])]
    if not kept:
        raise needs_first("A batch sheet", "a recipe")
    return form.choice("recipe", kept, area.get("chosen") or kept[0])


async def _asked(page: Page, form: Form, now: Snapshot) -> dict[str, Any]:
    units = Units.of(now.area("settings"))
    unit = units.mass_unit
    before = {**page_sheet.USUAL, **now.area("sheet").get("asked", {})}
    how = form.choice("how", page_sheet.WAYS, "batch")
    was = before["amount"] if before["how"] == how else None
    if how == "volume":
        name, factor = _volume(units)
        amount = form.number("volume", f"the mould's volume ({name})", 0.1 / factor, 1e6 / factor) * factor
    else:
        words = f"mixed resin ({unit})" if how == "batch" else f"the water that fills the mould ({unit})"
        amount = units.grams(form.text("grams" if how == "batch" else "water"), words, was, 0.1)
    waste = before["waste_percent"]
    if how != "batch":
        waste = form.number("waste_percent", "added for waste (%)", 0.0, 100.0)
    lots = {name[4:]: form.line(name, f"the lot of {name[4:]}") for name in form.typed if name.startswith("lot.")}
    asked: dict[str, Any] = {
        "resin": form.choice("resin", ("recipe", "own", *page_sheet.EXAMPLES), "recipe"),
        "resin_file": before["resin_file"], "resin_name": before["resin_name"], "how": how, "amount": amount,
        "waste_percent": waste, "new_bottles": bool(form.text("new_bottles")), "lots": lots,
    }  # fmt: skip
    for kind in ("resin", "pigment"):
        step, most = f"{kind}_step_g", f"{kind}_most_g"
        asked[step] = units.grams(
            form.text(f"{kind}_step"), f"the step of the scale for {kind} ({unit})", before[step], 1e-5, 100.0
        )
        text = form.text(f"{kind}_most")
        asked[most] = (
            units.grams(text, f"the most on the scale for {kind} ({unit})", before[most], 0.01) if text else None
        )
    files = await form.files("resin_file")
    if files:
        thing, name = await run_in_threadpool(page_sheet.resin_from_upload, page.workspace, *files[0])
        asked |= {"resin": "own", "resin_file": thing, "resin_name": name}
    elif asked["resin"] == "own" and not asked["resin_file"]:
        raise not_typed("my resin.toml", "", "Choose the file of your resin.")
    return asked


def _volume(units: Units) -> tuple[str, float]:
    return ("cubic inch", CM3_PER_CUBIC_INCH) if units.length_unit == "inch" else ("cm³ (ml)", 1.0)


async def marks(request: Request) -> Response:
    """What was ticked and weighed so far; for the script, which sends it as it is done, or for a button."""
    form = await read_form(request)
    page = page_of(request)
    wants_json = "application/json" in request.headers.get("accept", "")
    now = page.workspace.now()
    try:
        kept = page_sheet.check_there(page_sheet.kept_sheet(page.workspace, now.area("sheet")))
        area = now.area("sheet") | _typed_marks(form, now, kept)
        page_sheet.pot_at_hand(kept, area)
        now = page.workspace.change(
            "what was ticked and weighed", {"sheet": area}, {"sheet": form.revision("sheet")}, merge=True
        )
    except TintmixError as problem:
        status = status_of(problem)
        if wants_json:
            return JSONResponse({"error": told(problem)}, status)
        return _screen(request, page, now, status=status, problem=problem, typed=form.typed)
    if not wants_json:
        return go("/sheet")
    lines = [line for stage in page_sheet.stages_shown(kept, area) for step in stage["steps"] for line in step.lines]
    return JSONResponse(
        {
            "revision": now.revision_of("sheet"), "undo": now.undo[-1][1] if now.undo else "",
            "ticked": len(set(area["ticks"])), "ticks": len(page_sheet.tick_keys(kept)),
            "off": {line.key: line.off for line in lines}, "seen": _told(await run_in_threadpool(_seen, page, now, kept)),
        }
    )  # fmt: skip


def _typed_marks(form: Form, now: Snapshot, kept: Any) -> dict[str, Any]:
    units = Units.of(now.area("settings"))
    before = now.area("sheet").get("weights", {})
    allowed = page_sheet.tick_keys(kept)
    sent = set(form.texts("tick"))
    weights = {}
    for key, line in weights_of(kept.sheet).items():
        text = form.text(f"weight.{key}")
        if text:
            words = f"the actual weight of {line.what} ({units.mass_unit})"
            weights[key] = units.grams(text, words, before.get(key), 0.0, 1e6)
    notes = {}
    for stage in page_sheet.stages_shown(kept, now.area("sheet")):
        for step in stage["steps"]:
            for key, words, _, _ in step.blanks:
                text = form.line(f"note.{key}", words)
                if text:
                    notes[key] = text
    return {"ticks": [key for key in allowed if key in sent], "weights": weights, "notes": notes}


def _told(seen: dict[str, Any] | None) -> dict[str, Any] | None:
    if seen is None:
        return None
    return {"says": weighed_words(seen), "places": [{"srgb": one["srgb"]} for one in seen["places"]]}


def weighed_words(seen: dict[str, Any]) -> str:
    """What was weighed, told as a colour."""
    worst = seen["worst"]
    told = f"As weighed, the colour is off the sheet's by ΔE00 {worst['off']:.1f} at most ({worst['name']}): {worst['says']}."
    if not seen["within"]:
        return (
            told
            + " Not every place is within tolerance of the target any more: stop, and see Trial chip before you mix."
        )
    return told + " Every place is still as near to the target as it should be."


async def use_tint(request: Request) -> Response:
    """The doses of Tint kept as a recipe, and chosen."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        name = form.line("name", "the name of the recipe")
        doses = now.area("tint").get("doses", {})
        page_target.tint_recipe(page.workspace, now, doses, name, form.revision("recipes"))
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    return go("/sheet")


async def paper(request: Request) -> Response:
    """The sheet as a PDF."""
    # Here, since fpdf takes a third of a second, and only who prints waits for it.
    from tintmix.faces.paper.sheet import pdf_of

    page = page_of(request)
    kept = page_sheet.check_there(page_sheet.kept_sheet(page.workspace, page.workspace.now().area("sheet")))
    size = request.query_params.get("paper", "A4")
    content = await run_in_threadpool(pdf_of, kept.sheet, size if size in PAPERS else "A4")
    name = safe_name(f"{kept.sheet.title} {kept.sheet.batch_g:.0f} g", "pdf")
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type="application/pdf", headers=headers)


async def keep(request: Request) -> Response:
    """The recipe, the new stock bottles, or the pour into the book; by the button that was pressed."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        if now.revision_of("sheet") != form.revision("sheet"):
            raise ChangedElsewhere(WORDS.get("sheet", "the sheet"))
        kept = page_sheet.check_there(page_sheet.kept_sheet(page.workspace, now.area("sheet")))
        what = form.choice("what", ("recipe", "shelf", "pour"), "recipe")
        area, label, said = await run_in_threadpool(_into_book, page, now, kept, what, form)
        page.workspace.change(label, {"sheet": area}, {"sheet": form.revision("sheet")})
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed)
    page.say(said)
    return go("/sheet")


def _into_book(page: Page, now: Snapshot, kept: Any, what: str, form: Form) -> tuple[dict[str, Any], str, str]:
    area = now.area("sheet")
    if what == "shelf":
        done = page_sheet.put_on_shelf(kept, area)
        area["shelved"] = [*area.get("shelved", []), *done]
        listed = ", ".join(one["name"] for one in done) or "nothing new"
        return area, "noting the stock bottles", f"On the shelf of the book: {listed}."
    note = form.text("note")
    if len(note) > NOTE_LETTERS:
        raise not_typed("the note", note, f"Write at most {NOTE_LETTERS} letters.")
    if what == "recipe":
        body = page_sheet.keep_in_book(page.workspace, now, note)
        area["book"] = {"name": body["name"], "revision": body["revision"]}
        return area, "noting the revision", body["says"]
    body, new = page_sheet.record_pour(
        page.workspace,
        now,
        kept,
        form.line("poured_on", "the day of the pour"),
        form.line("cure", "how it was cured"),
        note,
    )
    area["book"] = {"name": body["name"], "revision": body["revision"]}
    area["pour"], area["done"] = body["number"], True
    if not new:
        return (
            area,
            "noting the pour",
            f"That is pour {body['number']} in the book already. Is it another? Give it a note.",
        )
    return area, "noting the pour", f"{body['says']} When it is cured, read it and add the reading in the Recipe book."


ROUTES = [
    Route("/sheet", show),
    Route("/sheet/make", make, methods=["POST"]),
    Route("/sheet/marks", marks, methods=["POST"]),
    Route("/sheet/tint", use_tint, methods=["POST"]),
    Route("/sheet/keep", keep, methods=["POST"]),
    Route("/sheet/sheet.pdf", paper),
]
