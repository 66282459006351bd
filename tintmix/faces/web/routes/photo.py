"""A photo on a light panel: chips by their windows, or a piece of glass as a target; clicked, or keyed."""

from __future__ import annotations

from typing import Any, Literal

from starlette.responses import Response

from tintmix.chips.errors import ChipsExchanged
from tintmix.desk.read.layout import holder_for, tags_for
from tintmix.errors import TintmixError
from tintmix.faces.web.forms import Form
from tintmix.faces.web.render import light_percent
from tintmix.faces.web.routes.chips import at_hand, put_readings
from tintmix.faces.web.visit import Answer, Routes, Visit, download
from tintmix.faces.web.words import told_in_units
from tintmix.files import caps
from tintmix.page.bench import trial as page_trial
from tintmix.page.chips import photo as page_photo
from tintmix.page.chips import sets as page_chips
from tintmix.page.colour import target as page_target
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, needs_first, not_typed
from tintmix.page.places import part_of
from tintmix.page.values import to_table

ROUTES = Routes()
BARE, BLACK = "bare panel", "black card"
TRIAL_CHIP = "the trial chip"
SPARE_ROWS = 3
MOST_ROWS = 60
MOST_PIXELS = 100_000
LEAST_SAID = 0.001
"""A part of the bare panel's light below which a channel is not told in numbers."""


@ROUTES.get("/chips/photo")
def show(visit: Visit) -> Answer:
    """The photo with its windows; without one, where to choose it."""
    entry, kept = at_hand(visit), _kept(visit)
    chips = visit.workspace.chip_set(entry["thing"])
    return visit.shows(
        "photo.html", "chips", set=entry, photo=kept.get("photo"), panel=kept.get("panel"), spare=SPARE_ROWS,
        chips=[one.name for one in chips.chips], unread=[one.name for one in chips.chips if one.use and not one.is_read],
        rows=_rows(visit, kept.get("places")), kinds=(BARE, BLACK), holders=len(holder_for(chips)), action="/chips/photo",
        camera=chips.reading.kind == "camera",
        exchanged=visit.problem.pairs if isinstance(visit.problem, ChipsExchanged) else (),
    )  # fmt: skip


def _kept(visit: Visit) -> dict[str, Any]:
    kept: dict[str, Any] = visit.now.area("chips").get("photos", {}).get(at_hand(visit)["id"], {})
    return kept


def _rows(visit: Visit, places: Any) -> list[dict[str, Any]]:
    """The rows of places: as they were just sent, right or wrong, so that nothing has to be drawn again, or as they are kept.

    drawn: whether it can be drawn.
    """
    if "place_0_what" in visit.typed:
        form = visit.form
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


@ROUTES.post("/chips/photo", show)
def upload(visit: Visit) -> Answer:
    """A photo of chips, and one of the bare panel where there is one."""
    entry, area = at_hand(visit), visit.now.area("chips")
    kept = {"photo": _uploaded(visit, "photo")}
    if visit.form.has_file("panel"):
        kept["panel"] = _uploaded(visit, "panel")
    visit.change("a photo", chips={**area, "photos": {**area.get("photos", {}), entry["id"]: kept}})
    for sentence in kept["photo"]["warnings"]:
        visit.say(f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}.")
    return "/chips/photo"


@ROUTES.post("/chips/photo/read", show)
def read(visit: Visit) -> Answer:
    """Read the windows, or those of the holder sheet."""
    form, entry, kept = visit.form, at_hand(visit), _kept(visit)
    if not kept:
        raise needs_first("Reading chips in a photo", "a photo")
    places = None if form.text("holder") else _places(form, kept["photo"])
    number = form.maybe("photo_number", "which photo", 1, 99)
    pairs = list(zip(form.texts("one_chip"), form.texts("other_chip"), strict=False))
    lies = (
        {a: b for one, other in pairs for a, b in ((one, other), (other, one))}
        if form.text("laid") == "exchanged"
        else {}
    )
    thing, body = page_photo.read_chips_in_photo(
        visit.workspace, entry, kept["photo"], kept.get("panel"), places, bool(form.text("replace")), int(number or 1),
        _foreseen(visit, entry), lies, form.text("laid") == "as laid", _linear(form),
    )  # fmt: skip
    photos = visit.now.area("chips")["photos"]
    if places is not None:
        photos[entry["id"]]["places"] = to_table(places)
    return put_readings(visit, entry, thing, body, "readings of a photo", "read from the photo", photos=photos)


def _linear(form: Form) -> bool | None:
    """Whether the photo's light has no curve, as was said; None where nothing was."""
    return {"linear": True, "curve": False}.get(form.text("tones"))


def _foreseen(visit: Visit, entry: Any) -> dict[str, str]:
    name = visit.now.area("chips").get("plans", {}).get(entry["id"])
    return page_chips.foreseen_by(None if name is None else visit.workspace.json(name))


def _uploaded(visit: Visit, box: str) -> dict[str, Any]:
    return page_photo.keep_photo(visit.workspace, *visit.form.upload(box, "the photo", caps.PHOTO))


def _places(form: Form, photo: Any) -> page_photo.Places:
    places, _, wrong = _gathered(form, photo)
    for problem in wrong.values():
        raise problem
    return places


def _gathered(form: Form, photo: Any) -> tuple[page_photo.Places, dict[int, str], dict[int, TintmixError]]:
    """What the rows say lies where; by which name each row's place goes when it is looked at; and which rows are wrong."""
    chips: dict[str, Any] = {}
    others: dict[str, list[Any]] = {BARE: [], BLACK: []}
    stands: dict[int, str] = {}
    wrong: dict[int, TintmixError] = {}
    for i in range(MOST_ROWS):
        try:
            what, box = _row(form, i, photo)
            if what in chips:
                raise not_typed("the places", what, "It has a place already; each chip has one in a photo.")
        except TintmixError as problem:
            wrong[i] = problem
            continue
        if what in others:
            others[what].append(box)
            stands[i] = f"{'open' if what == BARE else 'dark'} place {len(others[what])}"
        elif what:
            chips[what], stands[i] = box, what
    return page_photo.Places(chips, tuple(others[BARE]), tuple(others[BLACK])), stands, wrong


def _row(form: Form, at: int, photo: Any) -> tuple[str, Any]:
    """What lies in a row's place, and where; nothing for an empty row."""
    what, names = form.text(f"place_{at}_what"), [f"place_{at}_{side}" for side in "xywh"]
    if not what or not any(form.text(name) for name in names):
        return "", None
    words = ("left", "top", "width", "height")
    box = [form.number(name, f"{word} of {what}", 0, MOST_PIXELS) for name, word in zip(names, words, strict=True)]
    return what, page_photo.checked_box(box, photo, f"the place of {what}")


@ROUTES.get("/chips/photo/look", "/recipes/photo/look", "/trial/photo/look")
def look(visit: Visit) -> Answer:
    """What each row reads as it is drawn, for the script; nothing is kept."""
    photo, panel = _photos(visit)
    places, stands, wrong = _gathered(visit.form, photo)
    rows = {i: {"srgb": None, "says": "", "doubt": told_in_units(problem)} for i, problem in wrong.items()}
    body = page_photo.places_seen(visit.workspace, photo, panel, places)
    for i, name in stands.items():
        if one := body["seen"].get(name):
            says = _reads(one) if name in places.chips else ""
            rows[i] = {"srgb": one["srgb"], "says": says, "doubt": told_in_units(one["doubt"])}
    return {"rows": rows, "says": told_in_units(body["says"])}


def _reads(one: dict[str, Any]) -> str:
    if one["values"] is None:
        return "" if one["doubt"] else "mark the bare panel to see what it reads"
    parts = zip(("red", "green", "blue"), one["values"], strict=True)
    said = (f"{name} {light_percent(value) if value >= LEAST_SAID else 'hardly any'}" for name, value in parts)
    return f"reads {', '.join(said)} of the bare panel"


def _photos(visit: Visit) -> tuple[Any, Any]:
    area = visit.request.url.path.split("/")[1]
    kept = _kept(visit) if area == "chips" else {"photo": visit.now.area(area).get("photo")}
    if not kept.get("photo"):
        raise NoSuchThing("photo")
    return kept["photo"], kept.get("panel")


@ROUTES.get("/chips/photo/shown", "/recipes/photo/shown", "/trial/photo/shown")
def shown(visit: Visit) -> Answer:
    """The small copy of the photo at hand."""
    return Response(visit.workspace.file(_photos(visit)[0]["shown"]).read_bytes(), media_type="image/png")


@ROUTES.get("/chips/holder.pdf")
def holder(visit: Visit) -> Answer:
    """The holder sheet of the set at hand, a page a photo, to print."""
    # Here, since fpdf takes a third of a second, and only who prints waits for it.
    from tintmix.faces.paper.holder import holder_pdf

    entry = at_hand(visit)
    paper: Literal["A4", "Letter"] = "Letter" if visit.form.text("paper") == "Letter" else "A4"
    chips, foreseen = visit.workspace.chip_set(entry["thing"]), _foreseen(visit, entry)
    pdf = holder_pdf(paper, holder_for(chips, foreseen), entry["title"], tags=tags_for(chips, foreseen))
    return download(pdf, "application/pdf", f"{entry['title']} holder", "pdf")


# A piece of glass in a photo, as a target


@ROUTES.get("/recipes/photo")
def show_glass(visit: Visit) -> Answer:
    """The photo of a piece of glass; click it, and the bare panel beside it."""
    area = visit.now.area("recipes")
    rows = _rows(visit, area.get("photo_places"))
    return visit.shows(
        "glass.html", "recipes", photo=area.get("photo"), rows=rows, spare=max(1, 3 - len(rows)), chips=["the glass"],
        unread=["the glass"], kinds=(BARE, BLACK), action="/recipes/photo", target=area.get("target", {}), of_trial=False,
    )  # fmt: skip


@ROUTES.post("/recipes/photo", show_glass)
def upload_glass(visit: Visit) -> Answer:
    """A photo with a piece of glass."""
    kept = _uploaded(visit, "photo")
    visit.change("a photo of glass", recipes={**visit.now.area("recipes"), "photo": kept, "photo_places": None})
    return "/recipes/photo"


@ROUTES.post("/recipes/photo/read", show_glass)
def read_glass(visit: Visit) -> Answer:
    """The clicked glass becomes the target."""
    form, workspace, area = visit.form, visit.workspace, visit.now.area("recipes")
    photo = area.get("photo")
    if not photo:
        raise needs_first("A target from a photo", "a photo")
    places = _places(form, photo)
    if "the glass" not in places.chips or not places.opened:
        raise not_typed("the places", "", "Mark the glass, and the bare panel beside it.")
    mm = visit.units.mm(form.text("piece_mm"), "the glass's thickness")
    model = model_at_hand(workspace, visit.now)
    channels, lab, notes = page_photo.thing_in_photo(workspace, model, photo, places, "the glass", _linear(form))
    before = {**page_target.USUAL, **area.get("target", {})}
    target = {
        **{key: before[key] for key in ("tolerance", "pigments", "total_phr", "haze_percent", "leave_out")},
        "kind": "piece",
        "thickness_mm": mm,
        "lab": lab and [round(v, 2) for v in lab],
        "camera": channels and [round(v, 5) for v in channels],
        "name": form.line("piece_name", "the name of the glass") or f"glass in {photo['name']}",
    }
    page_target.target_of(workspace, target, part_of(visit.now.area("part")))
    words = page_target.target_words(target)
    new = {"target": target, "target_words": words, "photo_places": to_table(places)}
    visit.change("a target from a photo", recipes=area | new)
    by = (
        "read by the camera of the chips"
        if channels
        else "a photo's colour is rough, and the chips' own camera knows it better"
    )
    visit.say(f"The glass in the photo is the target now: {by}.")
    for sentence in notes:
        visit.say(f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}.")
    return "/recipes"


# A trial chip in a photo


@ROUTES.get("/trial/photo")
def show_trial(visit: Visit) -> Answer:
    """The photo of a trial chip; click it, and the bare panel beside it."""
    area = visit.now.area("trial")
    rows = _rows(visit, area.get("photo_places"))
    asked = (area.get("asked") or {}).get("chips") or [{}]
    return visit.shows(
        "glass.html", "trial", photo=area.get("photo"), rows=rows, spare=max(1, 3 - len(rows)), chips=[TRIAL_CHIP],
        unread=[TRIAL_CHIP], kinds=(BARE, BLACK), action="/trial/photo", target=asked[0], of_trial=True,
    )  # fmt: skip


@ROUTES.post("/trial/photo", show_trial)
def upload_trial(visit: Visit) -> Answer:
    """A photo with a trial chip."""
    kept = _uploaded(visit, "photo")
    visit.change("a photo of a trial", trial={**visit.now.area("trial"), "photo": kept, "photo_places": None})
    return "/trial/photo"


@ROUTES.post("/trial/photo/read", show_trial)
def read_trial_chip(visit: Visit) -> Answer:
    """What the clicked chip reads stands in the form of the trial."""
    form, area = visit.form, visit.now.area("trial")
    photo = area.get("photo")
    if not photo:
        raise needs_first("A trial from a photo", "a photo")
    places = _places(form, photo)
    if TRIAL_CHIP not in places.chips or not places.opened:
        raise not_typed("the places", "", "Mark the chip, and the bare panel beside it.")
    mm = visit.units.mm(form.text("piece_mm"), "the trial chip's thickness")
    model = model_at_hand(visit.workspace, visit.now)
    channels, _, notes = page_photo.thing_in_photo(visit.workspace, model, photo, places, TRIAL_CHIP, _linear(form))
    if channels is None:
        raise needs_first("A trial by photo", "pigments learnt from photos of the same camera, taken in the same way")
    chip = {"thickness_mm": mm, "colour": [round(100 * v, 3) for v in channels]}
    asked = {**page_trial.USUAL, **area.get("asked", {}), "space": "camera", "chips": [chip]}
    new = {"asked": asked, "photo_places": to_table(places)}
    visit.change("a trial chip from a photo", trial=area | new)
    for sentence in notes:
        visit.say(f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}.")
    return "/trial"
