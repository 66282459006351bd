"""What is no chip of a set, in a photo: the glass that is the target, a trial, a lot's check chip, a pour's own chip."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import URL
from starlette.responses import Response

from tintmix.faces.web import photo_form
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.bench import book as page_book
from tintmix.page.bench import lot as page_lot
from tintmix.page.bench import trial as page_trial
from tintmix.page.chips import things as page_things
from tintmix.page.chips.kept_photo import Places
from tintmix.page.chips.things import Where
from tintmix.page.colour import target as page_target
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, needs_first, not_typed
from tintmix.page.places import part_of
from tintmix.page.values import to_table
from tintmix.quantities import CHIP_MM

ROUTES = Routes()
GLASS, OTHER_GLASS = "the glass", "the same glass, another thickness"
CHECK_CHIP = "the check chip"
AS_THE_CHIPS = (
    "with bare panel beside it, taken as the chips' photos were: "
    "by the same camera, from the same place, in the same format"
)


@dataclass(frozen=True, slots=True)
class Thing:
    """What may lie in the photo. mm: how thick, as far as it is known. needed: whether nothing can be done without it. place:
    whether it stands for a place of a casting, which is mm thick. typed_at: the box of another screen where its thickness may
    have been typed already, as keep.js has it."""

    name: str
    mm: float | None = None
    needed: bool = False
    place: bool = False
    typed_at: str = ""


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a photo is read for. area: where the page keeps it. things: what may lie in it. take: what is done with what was
    read, and where to go on. named: whether it is asked how to call it."""

    area: str
    screen: str
    address: str
    title: str
    lede: str
    button: str
    back_words: str
    things: Callable[[Visit], list[Thing]]
    take: Callable[[Visit, Where, Mapping[str, float]], str]
    back: Callable[[Visit], str]
    named: bool = False


def _kept(visit: Visit, purpose: Purpose) -> dict[str, Any]:
    kept: dict[str, Any] = visit.now.area(purpose.area).get("by_photo", {})
    # A photo that is kept of another pour is not this one's.
    of_another = purpose is POUR and any(kept.get(key) != value for key, value in _of_pour(visit).items())
    return {} if of_another else kept


def _show(visit: Visit, purpose: Purpose, **more: Any) -> Answer:
    kept, things = _kept(visit, purpose), purpose.things(visit)
    told, names = photo_form.shown(kept), [one.name for one in things]
    rows = photo_form.rows_of(visit, kept.get("places"))
    context: dict[str, Any] = {"about": "", "fields": {}, "back": purpose.back(visit)} | more
    return visit.shows(
        "thing.html", purpose.screen, **told, **context, job=purpose, action=purpose.address, things=things,
        names=names, rows=rows, spare=max(1, 3 - len(rows)),
        windows=photo_form.windows_told(told["holder"].get("filled")),
    )  # fmt: skip


def _upload(visit: Visit, purpose: Purpose, **more: Any) -> str:
    kept = photo_form.uploaded(visit) | more
    area = {**visit.now.area(purpose.area), "by_photo": kept}
    of = "a pour's chip" if purpose is POUR else purpose.things(visit)[0].name.removeprefix("the ")
    visit.change(f"a photo of {of}", False, **{purpose.area: area})
    return purpose.address


def _read(visit: Visit, purpose: Purpose) -> str:
    """Where what is asked for lies, and how thick it is, as the form says; then what is done with it."""
    form, kept = visit.form, _kept(visit, purpose)
    if not kept.get("photo"):
        raise needs_first("Reading it in a photo", "a photo")
    things = purpose.things(visit)
    windows, places = None, Places({})
    if form.text("holder"):
        known = dict(photo_form.windows_told())
        chosen = {one.name: form.text(f"thing_{at}_window") for at, one in enumerate(things)}
        windows = {name: window for name, window in chosen.items() if window in known}
    else:
        places = photo_form.places_of(form, kept["photo"])
    there = places.chips if windows is None else windows
    for one in things:
        if one.needed and one.name not in there:
            raise not_typed(one.name, "", "Say where it lies: in which window, or mark its place in the photo.")
    if not there:
        raise not_typed("the photo", "", "Say where what is to be read lies: in which window, or mark its place.")
    if windows is None and not places.opened and not kept.get("panel"):
        raise not_typed("the places", "", f"Mark {next(iter(there))}, and the bare panel beside it.")
    thick = {
        one.name: visit.units.mm(form.text(f"thing_{at}_mm"), f"the thickness of {one.name}", one.mm, CHIP_MM)
        for at, one in enumerate(things) if one.name in there
    }  # fmt: skip
    linear = photo_form.linear_of(form)
    return purpose.take(visit, Where(kept["photo"], kept.get("panel"), windows, places, linear), thick)


def _with_places(kept: Mapping[str, Any], where: Where) -> dict[str, Any]:
    return dict(kept) if where.windows is not None else {**kept, "places": to_table(where.places)}


def _tell(visit: Visit, found: page_things.Found) -> None:
    for note in found.notes:
        visit.say(note)


# The glass that is the target


def _glass(visit: Visit) -> list[Thing]:
    target = visit.now.area("recipes").get("target", {})
    piece = target if target.get("kind") == "piece" else {}
    return [
        Thing(GLASS, piece.get("thickness_mm"), needed=True),
        Thing(OTHER_GLASS, piece.get("second_thickness_mm")),
    ]


def _take_glass(visit: Visit, where: Where, thick: Mapping[str, float]) -> str:
    workspace, area = visit.workspace, visit.now.area("recipes")
    model = model_at_hand(workspace, visit.now)
    found = page_things.read_things(workspace, model, where, may_be_rough=True)
    if OTHER_GLASS in thick and not found.channels:
        raise not_typed(OTHER_GLASS, "", "A second piece tells more only where the chips were read by the same camera.")
    before = {**page_target.USUAL, **area.get("target", {})}
    lab, camera = found.labs.get(GLASS), found.channels.get(GLASS)
    target = {
        **{key: before[key] for key in ("tolerance", "pigments", "total_phr", "haze_percent", "leave_out")},
        "kind": "piece",
        "thickness_mm": thick[GLASS],
        "lab": lab and [round(v, 2) for v in lab],
        "camera": camera and [round(v, 5) for v in camera],
        "name": visit.form.line("piece_name", "the name of the glass") or f"glass in {where.photo['name']}",
    }
    if OTHER_GLASS in thick:
        target["second_thickness_mm"] = thick[OTHER_GLASS]
        target["second_camera"] = [round(v, 5) for v in found.channels[OTHER_GLASS]]
    page_target.target_of(workspace, target, part_of(visit.now.area("part")))
    new = {
        "target": target,
        "target_words": page_target.target_words(target),
        "by_photo": _with_places(area["by_photo"], where),
    }
    visit.change("a target from a photo", recipes=area | new)
    by = "read by the camera of the chips" if camera else "a rough colour: the chips' own camera would know it better"
    more = "" if OTHER_GLASS in thick or not camera else (
        ". A second piece of it, thicker or thinner, would tell far better how it goes on in thick places"
    )  # fmt: skip
    visit.say(f"The glass in the photo is the target now, {by}{more}.")
    _tell(visit, found)
    return "/recipes"


# A trial chip


def _trial(visit: Visit) -> list[Thing]:
    asked = (visit.now.area("trial").get("asked") or {}).get("chips") or []
    names = ["the trial chip", *(f"trial chip {n}" for n in range(2, page_trial.MOST_CHIPS + 1))]
    return [
        Thing(
            name, asked[at]["thickness_mm"] if at < len(asked) else None, not at, typed_at=f"/trial:trial:chip_{at}_mm"
        )
        for at, name in enumerate(names)
    ]


def _take_trial(visit: Visit, where: Where, thick: Mapping[str, float]) -> str:
    area = visit.now.area("trial")
    found = page_things.read_things(visit.workspace, model_at_hand(visit.workspace, visit.now), where)
    chips = [
        {"thickness_mm": mm, "colour": [round(100 * v, 3) for v in found.channels[name]]} for name, mm in thick.items()
    ]
    asked = {**page_trial.USUAL, **area.get("asked", {}), "space": "camera", "chips": chips}
    visit.change(
        "a trial chip from a photo", trial=area | {"asked": asked, "by_photo": _with_places(area["by_photo"], where)}
    )
    _tell(visit, found)
    return "/trial"


# The check chip of a lot


def _lot(visit: Visit) -> list[Thing]:
    mm = visit.now.area("lot").get("asked", {}).get("thickness_mm")
    return [Thing(CHECK_CHIP, mm, needed=True, typed_at="/book/lot:lot:mm")]


def _take_lot(visit: Visit, where: Where, thick: Mapping[str, float]) -> str:
    area = visit.now.area("lot")
    found = page_things.read_things(visit.workspace, model_at_hand(visit.workspace, visit.now), where)
    read = {"space": "camera", "colour": [round(100 * v, 3) for v in found.channels[CHECK_CHIP]]}
    asked = {**page_lot.USUAL, **area.get("asked", {}), "thickness_mm": thick[CHECK_CHIP], **read}
    visit.change(
        "a check chip from a photo", lot=area | {"asked": asked, "by_photo": _with_places(area["by_photo"], where)}
    )
    visit.say("The check chip is read. Say below what was weighed, and ask how strong it is.")
    _tell(visit, found)
    return "/book/lot"


# A pour's own chip


def _of_pour(visit: Visit) -> dict[str, Any]:
    """Which pour: as the address or the form says, else as it is kept. Raises NoSuchThing."""
    form, kept = visit.form, visit.now.area("book").get("by_photo", {})
    if form.text("name"):
        return {"name": form.text("name")[:120], "number": form.count("number", 0)}
    if "name" not in kept:
        raise NoSuchThing("pour in the book")
    return {"name": kept["name"], "number": kept["number"]}


def _pour(visit: Visit) -> list[Thing]:
    pour = _of_pour(visit)
    return [Thing(name, mm, place=True) for name, mm in page_book.places_of_pour(pour["name"], pour["number"])]


def _take_pour(visit: Visit, where: Where, thick: Mapping[str, float]) -> str:
    pour = _of_pour(visit)
    wanted = {name: place for name, place in where.wanted().items() if name in thick}
    visit.say(page_book.read_pour(pour["name"], pour["number"], where.order(visit.workspace), wanted, thick))
    return _address(visit)


def _address(visit: Visit) -> str:
    return str(URL("/book/recipe").include_query_params(name=_of_pour(visit)["name"]))


GLASS_PHOTO = Purpose(
    "recipes", "recipes", "/recipes/photo", "A piece of glass in a photo",
    f"A piece of glass on the light panel, the room dark, {AS_THE_CHIPS}. Lay a thicker or thinner piece of the same glass "
    "beside it, if you can: one thickness tells little of how it goes on in thick places.",
    "Use as the target", "Back to the recipes", _glass, _take_glass, lambda _: "/recipes", named=True,
)  # fmt: skip
TRIAL_PHOTO = Purpose(
    "trial", "trial", "/trial/photo", "A trial chip in a photo",
    f"The trial chip on the light panel, the room dark, {AS_THE_CHIPS}.",
    "Read the chip", "Back to the trial", _trial, _take_trial, lambda _: "/trial",
)  # fmt: skip
LOT_PHOTO = Purpose(
    "lot", "book", "/book/lot/photo", "A check chip in a photo",
    f"The cured check chip on the light panel, the room dark, {AS_THE_CHIPS}.",
    "Read the chip", "Back to the check chip", _lot, _take_lot, lambda _: "/book/lot",
)  # fmt: skip
POUR = Purpose(
    "book", "book", "/book/pour/photo", "A pour's own chip in a photo",
    f"A chip that was cast from the pour, best as thick as the place that it stands for, on the light panel, the room "
    f"dark, {AS_THE_CHIPS}.",
    "Read it into the book", "Back to the recipe", _pour, _take_pour, _address,
)  # fmt: skip


def _told_of_pour(visit: Visit) -> dict[str, Any]:
    pour = _of_pour(visit)
    return {"about": f"Pour {pour['number']} of {pour['name']}", "fields": pour}


def _routes(purpose: Purpose) -> None:
    """The four addresses of a purpose."""

    def told(visit: Visit) -> dict[str, Any]:
        return _told_of_pour(visit) if purpose is POUR else {}

    def at_hand(visit: Visit) -> dict[str, Any]:
        kept = _kept(visit, purpose)
        if not kept.get("photo"):
            raise NoSuchThing("photo")
        return kept

    def show(visit: Visit) -> Answer:
        return _show(visit, purpose, **told(visit))

    def upload(visit: Visit) -> Answer:
        return _upload(visit, purpose, **(_of_pour(visit) if purpose is POUR else {}))

    def shown(visit: Visit) -> Answer:
        return Response(visit.workspace.file(at_hand(visit)["photo"]["shown"]).read_bytes(), media_type="image/png")

    ROUTES.get(purpose.address)(show)
    ROUTES.post(purpose.address, show)(upload)
    ROUTES.post(f"{purpose.address}/read", show)(lambda visit: _read(visit, purpose))
    ROUTES.get(f"{purpose.address}/look")(lambda visit: photo_form.seen_at(visit, at_hand(visit)))
    ROUTES.get(f"{purpose.address}/shown")(shown)


for _purpose in (GLASS_PHOTO, TRIAL_PHOTO, LOT_PHOTO, POUR):
    _routes(_purpose)
