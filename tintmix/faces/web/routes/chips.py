"""Chips: begin a set, plan it, type or upload what was read, and see at once what each chip reads and which is doubtful."""

from __future__ import annotations

import re
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.chips.folder import chips_text, set_text
from tintmix.desk.book.shelf import shelve_planned
from tintmix.desk.plan.plan import Order
from tintmix.desk.plan.text import casting_steps
from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.remedies import told
from tintmix.faces.web.render import Page, go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import told_in_units
from tintmix.page.chips import sets as page_chips
from tintmix.page.chips import upload as page_upload
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, not_typed
from tintmix.page.places import part_of
from tintmix.page.steps import is_stale
from tintmix.page.workspace import Snapshot
from tintmix.sheet.cautions import cautions_for
from tintmix.weighing.scales import Bench, scale_from_text

KINDS = ("colour", "spectrum", "camera")
QUANTITIES = ("transmittance", "absorbance", "reflectance")
UNITS = ("fraction", "percent")
SPACES = ("Lab", "XYZ", "xyY", "LCh", "sRGB")


async def show(request: Request) -> Response:
    """The set at hand by cup; without one, how to begin."""
    page = page_of(request)
    return _screen(request, page, page.workspace.now())


def _screen(
    request: Request,
    page: Page,
    now: Snapshot,
    *,
    status: int = 200,
    problem: Said = "",
    typed: Any = None,
    opened: str = "",
) -> Response:
    area = now.area("chips")
    sets = area.get("sets", [])
    part = part_of(now.area("part"))
    context: dict[str, Any] = {
        "sets": sets, "active": area.get("active"), "opened": opened, "part": part,
        "kinds": list(page_chips.KIND_WORDS.items()), "body": None, "plan": None, "spaces": SPACES,
    }  # fmt: skip
    entry = next((one for one in sets if one["id"] == area.get("active")), None)
    if entry is not None:
        pigments = now.area("pigments")
        learnt = pigments.get("from", {}).get(entry["id"]) == entry["thing"]
        model = model_at_hand(page.workspace, now) if learnt else None
        chips = page_chips.read_set(page.workspace, entry)
        context["body"] = page_chips.set_body(chips, model.report if model is not None else None)
        context["learnt"] = learnt
        context["stale"] = is_stale(sets, pigments)
        context["plan"] = area.get("plans", {}).get(entry["id"])
    return render(request, "chips.html", "chips", context, status=status, problem=problem, typed=typed, snapshot=now)


def _refused(request: Request, page: Page, now: Snapshot, problem: TintmixError, form: Form, opened: str) -> Response:
    return _screen(request, page, now, status=status_of(problem), problem=problem, typed=form.typed, opened=opened)


async def begin(request: Request) -> Response:
    """A set by hand, with an untinted cup."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    chosen = Units.of(now.area("settings"))
    try:
        chips = page_chips.begin(
            form.line("title", "the name of the set"),
            form.choice("kind", KINDS, "colour"),  # type: ignore[arg-type]
            "D65",
            10,
            _names(form.text("pigments")),
            form.line("cup", "the name of the cup", "A1") or "A1",
            _thicknesses(form.text("thicknesses"), chosen),
            page_chips.resin_at_hand(page.workspace, now),
        )
        page_chips.put_set(page.workspace, now, "a new chip set", chips, form.revision("chips"))
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "begin")
    return go("/chips")


async def plan(request: Request) -> Response:
    """A set planned: which cups, how strong, how thick, and what to weigh."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    chosen = Units.of(now.area("settings"))
    try:
        cast = _thicknesses(form.text("cast"), chosen, may_be_empty=True)
        cups = form.maybe("cups", "how many cups", 1, 60)
        order = Order(
            pigments=_doses_of(form.text("plan_pigments")),
            sections_mm=part_of(now.area("part")).thicknesses_mm,
            cast_mm=tuple(cast),
            cups=None if cups is None else int(cups),
            kind=form.choice("plan_kind", KINDS, "colour"),  # type: ignore[arg-type]
            bench=Bench(
                resin=scale_from_text(form.text("resin_scale", "0.1") or "0.1"),
                pigment=scale_from_text(form.text("scale", "0.01") or "0.01"),
            ),
            title=form.line("plan_title", "the name of the set") or "planned chips",
        )
        resin = page_chips.resin_at_hand(page.workspace, now)
        chips, body = await run_in_threadpool(page_chips.planned_set, order, resin, page.workspace, now)
        thing = page.workspace.keep_set(chips)
        area = page_chips.with_set(now, page_chips.entry_of(thing, thing, chips))
        # What is kept is text; the units are put in when it is shown.
        kept = page.workspace.keep_json(body | {"warnings": [told(warning) for warning in body["warnings"]]})
        area["plans"] = {**area.get("plans", {}), thing: kept}
        page.workspace.change("a planned chip set", {"chips": area}, {"chips": form.revision("chips")})
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "plan")
    return go("/chips/plan")


async def bench(request: Request) -> Response:
    """The plan of the set at hand, to follow at the bench; it prints."""
    page = page_of(request)
    now = page.workspace.now()
    area = now.area("chips")
    name = area.get("plans", {}).get(area.get("active"))
    if name is None:
        raise NoSuchThing("plan")
    return _bench_screen(request, page, now, name)


def _bench_screen(request: Request, page: Page, now: Snapshot, name: str, **more: Any) -> Response:
    resin = page_chips.resin_at_hand(page.workspace, now)
    context = {
        "plan": page.workspace.json(name),
        "cautions": cautions_for(resin),
        "bench_steps": casting_steps(resin),
    }
    return render(request, "plan.html", "chips", context, snapshot=now, **more)


async def shelve(request: Request) -> Response:
    """The plan's stock bottles onto the book's shelf, less what its cups take."""
    await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    area = now.area("chips")
    name = area.get("plans", {}).get(area.get("active"))
    if name is None:
        raise NoSuchThing("plan")
    try:
        done = await run_in_threadpool(shelve_planned, page.workspace.json(name))
    except TintmixError as problem:
        return _bench_screen(request, page, now, name, status=status_of(problem), problem=problem)
    page.say(done.body["says"])
    return go("/chips/plan")


async def upload(request: Request) -> Response:
    """A whole set: chips.csv, set.toml where there is one, and the files that this names."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        found = await run_in_threadpool(
            page_upload.uploaded_set,
            await form.files("files"),
            form.choice("upload_kind", KINDS, "colour"),  # type: ignore[arg-type]
            form.line("upload_title", "the name of the set") or "my chips",
        )
        page_chips.put_set(page.workspace, now, "an uploaded chip set", found.chips, form.revision("chips"))
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "upload")
    if found.passed_over:
        page.say(f"Passed over, as set.toml does not name them: {', '.join(found.passed_over)}.")
    return go("/chips")


async def choose(request: Request) -> Response:
    """Another set at hand."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    entry = page_chips.find_set(now, form.text("set"))
    page.workspace.change(
        "the set at hand", {"chips": {**now.area("chips"), "active": entry["id"]}}, {"chips": form.revision("chips")}
    )
    return go("/chips")


async def remove_set(request: Request) -> Response:
    """Remove the set at hand from the page."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    entry = page_chips.find_set(now, form.text("set"))
    page.workspace.change(
        f"removing {entry['title']}", {"chips": page_chips.without_set(now, entry["id"])},
        {"chips": form.revision("chips")},
    )  # fmt: skip
    page.say(f"Removed: {entry['title']}. Undo brings it back.")
    return go("/chips")


async def readings(request: Request) -> Response:
    """Typed or pasted colours into the set at hand."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        entry = page_chips.find_set(now, now.area("chips").get("active") or "")
        thing, body = await run_in_threadpool(
            page_chips.typed_readings, page.workspace, entry, form.text("colours"), form.choice("space", SPACES, "Lab"),
            bool(form.text("replace")),
        )  # fmt: skip
        _put_readings(page, now, form, entry, thing, body)
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "readings")
    return go("/chips")


async def instrument(request: Request) -> Response:
    """Instrument files into the set at hand."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        entry = page_chips.find_set(now, now.area("chips").get("active") or "")
        files = await form.files("instrument")
        if not files:
            raise not_typed("the instrument's file", "", "Choose one or more files.")
        thing, body = await run_in_threadpool(
            page_chips.uploaded_readings, page.workspace, entry, files, bool(form.text("replace")),
            bool(form.text("others")), form.choice("quantity", QUANTITIES, "") or None, form.choice("unit", UNITS, "") or None,
        )  # fmt: skip
        _put_readings(page, now, form, entry, thing, body)
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "instrument")
    return go("/chips")


def _put_readings(page: Page, now: Snapshot, form: Form, entry: Any, thing: str, body: Any) -> None:
    chips = page.workspace.chip_set(thing)
    area = page_chips.with_set(now, page_chips.entry_of(entry["id"], thing, chips))
    page.workspace.change("new readings", {"chips": area}, {"chips": form.revision("chips")})
    new = sum(row["action"] in ("new", "replaced") for row in body["chips"])
    page.say(f"{new} chip{'s' if new != 1 else ''} read.")
    for note in body["notes"][:6]:
        page.say(f"{told_in_units(note).rstrip('.')}.")


async def add_cup(request: Request) -> Response:
    """A cup more."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        entry = page_chips.find_set(now, now.area("chips").get("active") or "")
        chips = page_chips.read_set(page.workspace, entry)
        doses = {
            pigment.name: form.maybe(f"cup_dose.{pigment.name}", f"the dose of {pigment.name}", 0.0, 100.0) or 0.0
            for pigment in chips.pigments
        }
        mm = _thicknesses(form.text("cup_thicknesses"), Units.of(now.area("settings")))
        chips = page_chips.with_cup(chips, form.line("cup_name", "the name of the cup"), doses, mm)
        page_chips.put_set(page.workspace, now, "a cup more", chips, form.revision("chips"), entry["id"])
    except TintmixError as problem:
        return _refused(request, page, now, problem, form, "cup")
    return go("/chips")


async def download(request: Request) -> Response:
    """chips.csv or set.toml of the set at hand."""
    page = page_of(request)
    now = page.workspace.now()
    entry = page_chips.find_set(now, now.area("chips").get("active") or "")
    chips = page_chips.read_set(page.workspace, entry)
    is_table = request.url.path.endswith("chips.csv")
    text = chips_text(chips) if is_table else set_text(chips)
    name = safe_name(f"{entry['title']} {'chips' if is_table else 'set'}", "csv" if is_table else "toml")
    return Response(
        text, media_type="text/csv" if is_table else "application/toml",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip


async def packed(request: Request) -> Response:
    """The set at hand with its curves, in one file."""
    page = page_of(request)
    now = page.workspace.now()
    entry = page_chips.find_set(now, now.area("chips").get("active") or "")
    content = await run_in_threadpool(page_upload.set_as_zip, page.workspace, entry["thing"])
    name = safe_name(entry["title"], "zip")
    return Response(
        content, media_type="application/zip", headers={"content-disposition": f'attachment; filename="{name}"'}
    )


def _names(text: str) -> list[str]:
    return [" ".join(part.split()) for part in text.replace(";", ",").replace("\n", ",").split(",") if part.strip()]


def _doses_of(text: str) -> dict[str, float | None]:
    """Pigments with the dose meant for the casting, where it is known: a line each, "azure 0.02"."""
    out: dict[str, float | None] = {}
    for line in text.replace(";", "\n").splitlines():
        words = line.replace("=", " ").split()
        if not words:
            continue
        name = words[0].strip(",")
        dose = units.number(words[-1], f"the dose of {name}", 0.0, 100.0) if len(words) > 1 else None
        out[name] = dose
    if not out:
        raise not_typed("the pigments", "", "Type each in a line, such as azure, or azure 0.02.")
    return out


def _thicknesses(text: str, chosen: Units, may_be_empty: bool = False) -> list[float]:
    """Thicknesses parted by blanks or semicolons, or by commas that no digits touch on both sides."""
    cells = [cell for cell in re.split(r"[;\s]+|,(?=\s)|,$", text.strip()) if cell]
    if len(cells) == 1 and cells[0].count(",") > 1:
        cells = cells[0].split(",")
    if not cells and not may_be_empty:
        raise not_typed("the thicknesses", "", "Type them with blanks between, such as 3 12.")
    return [chosen.mm(cell, f"a thickness ({chosen.length_unit})") for cell in cells[:20]]


ROUTES = [
    Route("/chips", show),
    Route("/chips/begin", begin, methods=["POST"]),
    Route("/chips/plan", bench),
    Route("/chips/plan", plan, methods=["POST"]),
    Route("/chips/plan/shelf", shelve, methods=["POST"]),
    Route("/chips/upload", upload, methods=["POST"]),
    Route("/chips/choose", choose, methods=["POST"]),
    Route("/chips/remove", remove_set, methods=["POST"]),
    Route("/chips/readings", readings, methods=["POST"]),
    Route("/chips/instrument", instrument, methods=["POST"]),
    Route("/chips/cup", add_cup, methods=["POST"]),
    Route("/chips/chips.csv", download),
    Route("/chips/set.toml", download),
    Route("/chips/set.zip", packed),
]
