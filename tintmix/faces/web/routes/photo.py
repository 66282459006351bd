"""Chips in a photo on a light panel: in the windows of the holder sheet, or where they are drawn or keyed."""

from __future__ import annotations

from typing import Any, Literal

from starlette.responses import Response

from tintmix.chips.errors import ChipsExchanged
from tintmix.chips.photo.sheet.holder import laid_to_text
from tintmix.desk.read.layout import tags_for
from tintmix.faces.web import photo_form
from tintmix.faces.web.routes.chips import at_hand, put_readings
from tintmix.faces.web.visit import Answer, Routes, Visit, download
from tintmix.page.chips import holder as page_holder
from tintmix.page.chips import photo as page_photo
from tintmix.page.errors import NoSuchThing, needs_first, not_typed
from tintmix.page.values import to_table

ROUTES = Routes()
SPARE_ROWS = 3


@ROUTES.get("/chips/photo")
def show(visit: Visit) -> Answer:
    """The photo, and what it shows of the holder sheet; without one, where to choose it."""
    entry, kept = at_hand(visit), _kept(visit)
    chips, foreseen, photos = _set_of(visit)
    unread = [one.name for one in chips.chips if one.use and not one.is_read]
    told = photo_form.shown(kept)
    filled, dark = told["holder"].get("filled", {}), told["holder"].get("dark", ())
    number = page_holder.which_photo(photos, filled, unread)
    return visit.shows(
        "photo.html", "chips", **told, set=entry, spare=SPARE_ROWS, chips=[one.name for one in chips.chips],
        unread=unread, rows=photo_form.rows_of(visit, kept.get("places")), holders=len(photos), number=number,
        windows=page_holder.windows_seen(photos[number - 1], filled, dark, foreseen),
        dark_laid=len(set(dark) & set(photos[number - 1])), action="/chips/photo",
        camera=chips.reading.kind == "camera", check_chips=[one.name for one in chips.chips if one.check],
        any_read=any(one.is_read for one in chips.chips),
        exchanged=visit.problem.pairs if isinstance(visit.problem, ChipsExchanged) else (),
    )  # fmt: skip


def _kept(visit: Visit) -> dict[str, Any]:
    kept: dict[str, Any] = visit.now.area("chips").get("photos", {}).get(at_hand(visit)["id"], {})
    return kept


def _set_of(visit: Visit) -> tuple[Any, dict[str, str], tuple[dict[str, str], ...]]:
    """The set at hand, how its chips are foreseen, and where they lie in each photo."""
    entry, area = at_hand(visit), visit.now.area("chips")
    chips = visit.workspace.chip_set(entry["thing"])
    foreseen = page_holder.foreseen_of(visit.workspace, area, entry["id"])
    return chips, foreseen, page_holder.layout_of(chips, area, entry["id"], foreseen)


@ROUTES.post("/chips/photo", show)
def upload(visit: Visit) -> Answer:
    """A photo of chips, and one of the bare panel where there is one."""
    entry, area = at_hand(visit), visit.now.area("chips")
    kept = photo_form.uploaded(visit)
    visit.change("a photo", chips={**area, "photos": {**area.get("photos", {}), entry["id"]: kept}})
    return "/chips/photo"


@ROUTES.post("/chips/photo/read", show)
def read(visit: Visit) -> Answer:
    """Read the windows of the holder sheet, or the places that were marked."""
    form, entry, kept = visit.form, at_hand(visit), _kept(visit)
    if not kept:
        raise needs_first("Reading chips in a photo", "a photo")
    _, foreseen, photos = _set_of(visit)
    places = None if form.text("holder") else photo_form.places_of(form, kept["photo"])
    number = form.whole("photo_number", "which photo", 1, 99) or 1
    if number > len(photos):
        raise not_typed("which photo", str(number), f"The set's holder sheets are 1 to {len(photos)}.")
    pairs = list(zip(form.texts("one_chip"), form.texts("other_chip"), strict=False))
    lies = (
        {a: b for one, other in pairs for a, b in ((one, other), (other, one))}
        if form.text("laid") == "exchanged"
        else {}
    )
    thing, body = page_photo.read_chips_in_photo(
        visit.workspace, entry, kept["photo"], kept.get("panel"), places, bool(form.text("replace")),
        photos[number - 1], foreseen, lies, form.text("laid") == "as laid", photo_form.linear_of(form),
        bool(form.text("drift")),
    )  # fmt: skip
    kept_photos = visit.now.area("chips")["photos"]
    if places is not None:
        kept_photos[entry["id"]]["places"] = to_table(places)
    return put_readings(visit, entry, thing, body, "readings of a photo", "read from the photo", photos=kept_photos)


@ROUTES.get("/chips/photo/look")
def look(visit: Visit) -> Answer:
    """What each row reads as it is drawn, for the script; nothing is kept."""
    return photo_form.seen_at(visit, _at_hand(visit))


@ROUTES.get("/chips/photo/shown")
def shown(visit: Visit) -> Answer:
    """The small copy of the photo at hand."""
    return Response(visit.workspace.file(_at_hand(visit)["photo"]["shown"]).read_bytes(), media_type="image/png")


def _at_hand(visit: Visit) -> dict[str, Any]:
    kept = _kept(visit)
    if not kept.get("photo"):
        raise NoSuchThing("photo")
    return kept


@ROUTES.get("/chips/holder.pdf")
def holder(visit: Visit) -> Answer:
    """The holder sheet of the set at hand, a page a photo, to print."""
    # Here, since fpdf takes a third of a second, and only who prints waits for it.
    from tintmix.faces.paper.holder import holder_pdf

    entry = at_hand(visit)
    paper: Literal["A4", "Letter"] = "Letter" if visit.form.text("paper") == "Letter" else "A4"
    chips, foreseen, photos = _set_of(visit)
    pdf = holder_pdf(paper, photos, entry["title"], tags=tags_for(chips, foreseen))
    return download(pdf, "application/pdf", f"{entry['title']} holder", "pdf")


@ROUTES.get("/chips/holder.csv")
def layout(visit: Visit) -> Answer:
    """Which chip lies in which window, as the shell takes it beside chips.csv."""
    _, foreseen, photos = _set_of(visit)
    # Under the name that the shell looks for.
    return download(laid_to_text(photos, foreseen), "text/csv", "holder", "csv")
