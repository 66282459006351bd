"""A photo on a light panel: chips by their windows, or a piece of glass as a target; clicked, or keyed."""

from __future__ import annotations

from typing import Any, Literal

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tintmix.desk.read.layout import holder_for
from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.render import Page, go, light_percent, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import told_in_units
from tintmix.page.chips import photo as page_photo
from tintmix.page.chips import sets as page_chips
from tintmix.page.chips.photo import Places, checked_box, holder_pdf_of, keep_photo, shown_bytes
from tintmix.page.chips.sets import find_set, read_set
from tintmix.page.colour import target as page_target
from tintmix.page.errors import NoSuchThing, needs_first, not_typed
from tintmix.page.places import part_of
from tintmix.page.workspace import Snapshot

BARE, BLACK = "bare panel", "black card"
SPARE_ROWS = 3
MOST_ROWS = 60
MOST_PIXELS = 100_000
LEAST_SAID = 0.001
"""A part of the bare panel's light below which a channel is not told in numbers."""


def _entry(now: Snapshot) -> dict[str, Any]:
    return find_set(now, now.area("chips").get("active") or "")


async def show(request: Request) -> Response:
    """The photo with its windows; without one, where to choose it."""
    page = page_of(request)
    return _screen(request, page, page.workspace.now())


def _screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", form: Form | None = None
) -> Response:
    entry = _entry(now)
    chips = read_set(page.workspace, entry)
    kept = now.area("chips").get("photos", {}).get(entry["id"], {})
    context = {
        "set": entry, "photo": kept.get("photo"), "panel": kept.get("panel"), "chips": [one.name for one in chips.chips],
        "unread": [one.name for one in chips.chips if one.use and not one.is_read], "rows": _rows(kept.get("places"), form),
        "spare": SPARE_ROWS, "kinds": (BARE, BLACK), "holders": len(holder_for(chips)), "action": "/chips/photo",
        "camera": chips.reading.kind == "camera",
    }  # fmt: skip
    typed = None if form is None else form.typed
    return render(request, "photo.html", "chips", context, status=status, problem=problem, typed=typed, snapshot=now)


def _rows(places: Any, form: Form | None = None) -> list[dict[str, Any]]:
    """The rows of places: as they were just sent, right or wrong, or as they are kept. drawn: whether it can be drawn."""
    if form is not None:
        sent = [
            {"what": form.text(f"place_{i}_what"), "box": [form.text(f"place_{i}_{side}") for side in "xywh"]}
            for i in range(MOST_ROWS)
        ]
        return [
            row | {"drawn": all(side.replace(".", "", 1).isdecimal() for side in row["box"])}
            for row in sent
            if row["what"] or any(row["box"])
        ]
    if not places:
        return []
    named = [(name, box) for name, box in places["chips"].items()]
    named += [(BARE, box) for box in places["opened"]] + [(BLACK, box) for box in places["dark"]]
    return [{"what": what, "box": [round(v) for v in box], "drawn": True} for what, box in named]


async def upload(request: Request) -> Response:
    """A photo of chips, and one of the bare panel where there is one."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    entry = _entry(now)
    try:
        name, content = await form.file("photo", "the photo")
        kept: dict[str, Any] = {"photo": await run_in_threadpool(keep_photo, page.workspace, name, content)}
        for panel_name, panel in (await form.files("panel"))[:1]:
            kept["panel"] = await run_in_threadpool(keep_photo, page.workspace, panel_name, panel)
        area = now.area("chips")
        area["photos"] = {**area.get("photos", {}), entry["id"]: kept}
        page.workspace.change("a photo", {"chips": area}, {"chips": form.revision("chips")})
        for sentence in kept["photo"]["warnings"]:
            page.say(f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}.")
    except TintmixError as problem:
        return _screen(request, page, now, status=status_of(problem), problem=problem)
    return go("/chips/photo")


async def read(request: Request) -> Response:
    """Read the windows, or those of the holder sheet."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    entry = _entry(now)
    area = now.area("chips")
    kept = area.get("photos", {}).get(entry["id"])
    if not kept:
        raise needs_first("Reading chips in a photo", "a photo")
    try:
        places = None if form.text("holder") else _places(form, kept["photo"])
        number = form.maybe("photo_number", "which photo", 1, 99)
        thing, body = await run_in_threadpool(
            page_photo.read_chips_in_photo, page.workspace, entry, kept["photo"], kept.get("panel"), places,
            bool(form.text("replace")), int(number or 1),
        )  # fmt: skip
        chips = page.workspace.chip_set(thing)
        area = page_chips.with_set(now, page_chips.entry_of(entry["id"], thing, chips))
        if places is not None:
            area["photos"][entry["id"]] = {**kept, "places": places.as_table()}
        page.workspace.change("readings of a photo", {"chips": area}, {"chips": form.revision("chips")})
    except TintmixError as problem:
        # The places that were drawn are kept, so that nothing has to be drawn again.
        return _screen(request, page, now, status=status_of(problem), problem=problem, form=form)
    new = sum(row["action"] in ("new", "replaced") for row in body["chips"])
    page.say(f"{new} chip{'s' if new != 1 else ''} read from the photo.")
    for note in body["notes"][:8]:
        page.say(f"{told_in_units(note).rstrip('.')}.")
    return go("/chips")


def _places(form: Form, photo: Any) -> Any:
    chips: dict[str, Any] = {}
    opened, dark = [], []
    for i in range(MOST_ROWS):
        found = _row(form, i, photo)
        if found is None:
            continue
        what, box = found
        if what == BARE:
            opened.append(box)
        elif what == BLACK:
            dark.append(box)
        elif what in chips:
            raise not_typed("the places", what, "Each chip has one place in a photo.")
        else:
            chips[what] = box
    return Places(chips, tuple(opened), tuple(dark))


def _row(form: Form, at: int, photo: Any) -> tuple[str, Any] | None:
    """What a row says lies where; nothing where it is empty. Raises ValueProblem."""
    what = form.text(f"place_{at}_what")
    sides = [form.text(f"place_{at}_{side}") for side in "xywh"]
    if not what or not any(sides):
        return None
    words = ("left", "top", "width", "height")
    box = [
        form.number(f"place_{at}_{side}", f"{word} of {what}", 0, MOST_PIXELS)
        for side, word in zip("xywh", words, strict=True)
    ]
    return what, checked_box(box, photo, f"the place of {what}")


async def look(request: Request) -> Response:
    """What each row reads as it is drawn, for the script; nothing is kept."""
    page = page_of(request)
    now = page.workspace.now()
    photo, panel = _at_hand(request, now)
    form = Form(FormData([*request.query_params.multi_items()]))
    chips: dict[str, Any] = {}
    opened: list[Any] = []
    dark: list[Any] = []
    kinds: dict[int, tuple[str, Any]] = {}
    rows: dict[int, dict[str, Any]] = {}
    for i in range(MOST_ROWS):
        try:
            found = _row(form, i, photo)
        except TintmixError as problem:
            rows[i] = {"srgb": None, "says": "", "doubt": told_in_units(problem)}
            continue
        if found is None:
            continue
        what, box = found
        listed = opened if what == BARE else dark if what == BLACK else None
        if listed is not None:
            kinds[i] = ("opened" if what == BARE else "dark", len(listed))
            listed.append(box)
        elif what in chips:
            rows[i] = {"srgb": None, "says": "", "doubt": f"{what} has a place already."}
        else:
            kinds[i] = ("chips", what)
            chips[what] = box
    seen = await run_in_threadpool(
        page_photo.places_seen, page.workspace, photo, panel, page_photo.Places(chips, tuple(opened), tuple(dark))
    )
    for i, (kind, which) in kinds.items():
        one = seen[kind][which] if kind != "chips" or which in seen["chips"] else None
        if one is not None:
            rows[i] = {"srgb": one["srgb"], "says": _reads(kind, one), "doubt": told_in_units(one["doubt"])}
    return JSONResponse({"rows": rows, "says": told_in_units(seen["says"])})


def _reads(kind: str, one: dict[str, Any]) -> str:
    if kind != "chips":
        return ""
    if one["values"] is None:
        return "" if one["doubt"] else "mark the bare panel to see what it reads"
    parts = zip(("red", "green", "blue"), one["values"], strict=True)
    said = (f"{name} {light_percent(value) if value >= LEAST_SAID else 'hardly any'}" for name, value in parts)
    return f"reads {', '.join(said)} of the bare panel"


def _at_hand(request: Request, now: Snapshot) -> tuple[Any, Any]:
    """The photo at hand, and that of the bare panel where there is one. Raises NoSuchThing."""
    if request.url.path.startswith("/recipes"):
        photo, panel = now.area("recipes").get("photo"), None
    else:
        kept = now.area("chips").get("photos", {}).get(_entry(now)["id"], {})
        photo, panel = kept.get("photo"), kept.get("panel")
    if not photo:
        raise NoSuchThing("photo")
    return photo, panel


async def shown(request: Request) -> Response:
    """The small copy of the photo at hand."""
    page = page_of(request)
    now = page.workspace.now()
    photo, _ = _at_hand(request, now)
    return Response(shown_bytes(page.workspace, photo), media_type="image/png")


async def holder(request: Request) -> Response:
    """The holder sheet of the set at hand, to print."""
    # Here, since fpdf takes a third of a second, and only who prints waits for it.
    from tintmix.faces.paper.holder import holder_pdf

    page = page_of(request)
    now = page.workspace.now()
    entry = _entry(now)
    paper: Literal["A4", "Letter"] = "Letter" if request.query_params.get("paper") == "Letter" else "A4"
    pdf = await run_in_threadpool(
        holder_pdf_of, page.workspace, entry, lambda photos, title: holder_pdf(paper, photos, title)
    )
    name = safe_name(f"{entry['title']} holder", "pdf")
    return Response(
        pdf, media_type="application/pdf", headers={"content-disposition": f'attachment; filename="{name}"'}
    )


# A piece of glass in a photo, as a target


async def show_glass(request: Request) -> Response:
    """The photo of a piece of glass; click it, and the bare panel beside it."""
    page = page_of(request)
    return _glass_screen(request, page, page.workspace.now())


def _glass_screen(
    request: Request, page: Page, now: Snapshot, *, status: int = 200, problem: Said = "", form: Form | None = None
) -> Response:
    area = now.area("recipes")
    rows = _rows(area.get("photo_places"), form)
    typed = None if form is None else form.typed
    context = {
        "photo": area.get("photo"), "rows": rows, "spare": max(1, 3 - len(rows)), "chips": ["the glass"], "unread": ["the glass"],
        "kinds": (BARE, BLACK), "action": "/recipes/photo", "target": area.get("target", {}),
    }  # fmt: skip
    return render(request, "glass.html", "recipes", context, status=status, problem=problem, typed=typed, snapshot=now)


async def upload_glass(request: Request) -> Response:
    """A photo with a piece of glass."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    try:
        name, content = await form.file("photo", "the photo")
        kept = await run_in_threadpool(keep_photo, page.workspace, name, content)
        area = {**now.area("recipes"), "photo": kept, "photo_places": None}
        page.workspace.change("a photo of glass", {"recipes": area}, {"recipes": form.revision("recipes")})
    except TintmixError as problem:
        return _glass_screen(request, page, now, status=status_of(problem), problem=problem)
    return go("/recipes/photo")


async def read_glass(request: Request) -> Response:
    """The clicked glass becomes the target."""
    form = await read_form(request)
    page = page_of(request)
    now = page.workspace.now()
    area = now.area("recipes")
    photo = area.get("photo")
    if not photo:
        raise needs_first("A target from a photo", "a photo")
    try:
        chosen = Units.of(now.area("settings"))
        places = _places(form, photo)
        if "the glass" not in places.chips or not places.opened:
            raise not_typed("the places", "", "Mark the glass, and the bare panel beside it.")
        mm = chosen.mm(form.text("piece_mm"), f"the glass's thickness ({chosen.length_unit})")
        lab, _ = await run_in_threadpool(
            page_photo.colour_in_photo, page.workspace, photo, places.chips["the glass"], places.opened, places.dark
        )
        before = {**page_target.default_target(), **area.get("target", {})}
        limits = {key: before[key] for key in ("tolerance", "pigments", "total_phr", "haze_percent", "leave_out")}
        target = {
            **limits, "kind": "piece", "thickness_mm": mm, "lab": [round(v, 2) for v in lab],
            "name": form.line("piece_name", "the name of the glass") or f"glass in {photo['name']}",
        }  # fmt: skip
        page_target.target_of(page.workspace, target, part_of(now.area("part")))
        area |= {
            "target": target, "target_words": page_target.target_words(target),
            "photo_places": places.as_table(),
        }  # fmt: skip
        page.workspace.change("a target from a photo", {"recipes": area}, {"recipes": form.revision("recipes")})
    except TintmixError as problem:
        return _glass_screen(request, page, now, status=status_of(problem), problem=problem, form=form)
    page.say("The glass in the photo is the target now. A photo's colour is rough: an instrument knows it better.")
    return go("/recipes")


ROUTES = [
    Route("/chips/photo", show),
    Route("/chips/photo", upload, methods=["POST"]),
    Route("/chips/photo/read", read, methods=["POST"]),
    Route("/chips/photo/shown", shown),
    Route("/chips/photo/look", look),
    Route("/chips/holder.pdf", holder),
    Route("/recipes/photo", show_glass),
    Route("/recipes/photo", upload_glass, methods=["POST"]),
    Route("/recipes/photo/read", read_glass, methods=["POST"]),
    Route("/recipes/photo/shown", shown),
    Route("/recipes/photo/look", look),
]
