"""Recipe book: what was kept and poured, whether it still comes out the same, and the book itself carried elsewhere and back."""

from __future__ import annotations

import re
from typing import Any

from starlette.datastructures import URL
from starlette.responses import Response

from tintmix.book.place import place_told
from tintmix.desk.book.pours import Weighed
from tintmix.errors import TintmixError
from tintmix.faces.web.forms import Form
from tintmix.faces.web.routes.chips import tile_asked
from tintmix.faces.web.units import Units
from tintmix.faces.web.visit import Answer, Routes, Visit, download, download_made
from tintmix.files.stamp import today
from tintmix.page.bench import book as page_book
from tintmix.page.bench.trial import as_the_chips, tile_of
from tintmix.page.casting.of_recipe import picture_in, words_for
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import NoSuchThing, not_typed, too_many
from tintmix.page.places import LIGHTS
from tintmix.quantities import BATCH_G, HUE, LIGHTNESS, READ_ABOVE
from tintmix.sheet.cautions import cautions, cautions_in

ROUTES = Routes()
WORD_LETTERS = 120
MOST_WEIGHTS = 40
SPACES = {"Lab": "held against the light", "tile": "as chips as thick as each place, on a white tile"}
MOST_LAB = (LIGHTNESS.most + READ_ABOVE, HUE.most)


@ROUTES.get("/book")
def show(visit: Visit) -> Answer:
    """The list, those with the words that are sought."""
    return _list(visit, visit.form.text("q")[:WORD_LETTERS])


def _list(visit: Visit, words: str = "", checked: Any = None) -> Answer:
    place = place_told()
    try:
        body = page_book.listed(words)
    except TintmixError as trouble:
        # The book cannot be read: say so, and still offer what helps.
        body, place = page_book.NOTHING | {"there": True}, ""
        visit.problem, visit.status = visit.problem or trouble, 422
    return visit.shows(
        "book.html",
        "book",
        body=body,
        words=words,
        checked=checked,
        most=page_book.MOST_SHOWN,
        cautions=cautions(),
        place=place,
    )


def _asked(visit: Visit) -> tuple[str, int | None]:
    name = visit.form.data.get("name", "")
    if not isinstance(name, str) or not name or len(name) > WORD_LETTERS:
        raise NoSuchThing("recipe in the book")
    return name, _count(visit.form, "revision")


def _count(form: Form, box: str) -> int | None:
    text = form.text(box)
    return int(text) if text.isdecimal() and text.isascii() and len(text) < 7 else None


def _address(name: str, revision: int | None) -> str:
    address = URL("/book/recipe").include_query_params(name=name)
    return str(address if revision is None else address.include_query_params(revision=revision))


@ROUTES.get("/book/recipe")
def recipe(visit: Visit) -> Answer:
    """A recipe: what it is, what its pours came out as, and whether they drift."""
    body = page_book.shown(*_asked(visit))
    casting = words_for(visit.workspace, visit.now, body.get("casting") or []) if body["has_model"] else ""
    return visit.shows(
        "book_recipe.html", "book", body=body, casting=casting, titles=page_book.CHART_TITLES, today=today(),
        newest=body["revisions"][-1]["revision"], typed_for=visit.typed.get("number", ""), spaces=list(SPACES.items()),
        from_chips=_chips_of(visit, body), lights=[(key, f"{words} ({key})") for key, words in LIGHTS.items()],
        cautions=cautions_in(body),
    )  # fmt: skip


def _chips_of(visit: Visit, body: dict[str, Any]) -> dict[str, Any]:
    """How the chips of the recipe's model were read, where they are on this page."""
    model = model_at_hand(visit.workspace, visit.now)
    return as_the_chips(visit.workspace, visit.now) if model is not None and model.is_called(body["model"]) else {}


@ROUTES.get("/book/casting.png")
def casting(visit: Visit) -> Answer:
    """The page's traced casting in a recipe's tint."""
    model, doses = page_book.tint_of(*_asked(visit))
    return Response(picture_in(visit.workspace, visit.now, model, doses), media_type="image/png")


@ROUTES.get("/book/compare")
def compare(visit: Visit) -> Answer:
    """Two revisions side by side."""
    body = page_book.compared(_asked(visit)[0], _count(visit.form, "first"), _count(visit.form, "second"))
    return visit.shows("book_compare.html", "book", body=body)


@ROUTES.post("/book/use", recipe)
def use(visit: Visit) -> Answer:
    """A recipe of the book to the bench again."""
    name, revision = _asked(visit)
    expected = {area: visit.form.revision(area) for area in ("recipes", "sheet", "trial")}
    page_book.take_out(visit.workspace, visit.now, name, revision, expected)
    visit.say(f"Sheet and Trial chip now use {name}. Say how much, and make its new sheet.")
    return "/sheet"


@ROUTES.post("/book/pour", recipe)
def pour(visit: Visit) -> Answer:
    """Record a pour."""
    form, (name, revision), text = visit.form, _asked(visit), visit.form.text("batch")
    batch = visit.units.grams(text, "mixed resin", None, BATCH_G) if text else None
    day, cure = form.day("poured_on", "the day of the pour"), form.line("cure", "how it was cured")
    weights = _weights(form.text("weights"), visit.units)
    weighed, as_weighed, again = Weighed(batch, weights), bool(form.text("as_weighed")), bool(form.text("again"))
    visit.say(page_book.record(name, revision, weighed, day, cure, form.note(), as_weighed, again)["says"])
    return _address(name, revision)


def _weights(text: str, units: Units) -> dict[str, float]:
    out: dict[str, float] = {}
    for line in filter(str.strip, text.splitlines()[:200]):
        found = re.fullmatch(r"\s*(.+?)[\s:=]+(\S+)(?:\s*(?:g|oz))?\s*", line)
        if found is None:
            raise not_typed("what was weighed", line.strip(), "Write a line each, such as azure 1+50 4.82.")
        out[found[1]] = units.grams(found[2], f"the weight of {found[1][:40]}")
    if len(out) > MOST_WEIGHTS:
        raise too_many("weights", len(out), MOST_WEIGHTS)
    return out


@ROUTES.post("/book/add", recipe)
def add(visit: Visit) -> Answer:
    """Readings, photos, a note, or the reason to leave it out, added to a pour."""
    form, (name, revision), number = visit.form, _asked(visit), _count(visit.form, "number")
    if number is None:
        raise NoSuchThing("pour in the book")
    readings = [
        (place, form.lab(f"*_{at}", place, MOST_LAB))
        for at, place in enumerate(form.texts("place"))
        if any(form.text(f"{axis}_{at}") for axis in "Lab")
    ]
    tile = tile_asked(form, form.choice("space", SPACES, "Lab")) if readings else None
    on_tile = None
    if tile is not None:
        light = form.choice("tile_light", LIGHTS, "D65")
        on_tile = tile_of({"on_tile": tile}), light, {"2": 2, "10": 10}.get(form.text("tile_observer"), 10)
    day, aside = form.line("read_on", "the day of the reading"), form.line("set_aside", "why it is left out")
    visit.say(page_book.add_to_pour(name, number, readings, day, form.note(), aside, form.files("photos"), on_tile))
    return _address(name, revision)


@ROUTES.post("/book/bottle", show)
def bottle(visit: Visit) -> Answer:
    """What is left in a stock bottle, weighed again."""
    name = visit.form.line("bottle", "the stock bottle")
    left = visit.units.grams(visit.form.text("left"), f"what is left in {name}")
    visit.say(page_book.bottle_left(name, left))
    return "/book#shelf"


@ROUTES.post("/book/import", show)
def bring_in(visit: Visit) -> Answer:
    """An export into the book."""
    visit.say(page_book.imported(*visit.form.file("export", "the exported book")))
    return "/book"


@ROUTES.post("/book/check", show)
def check(visit: Visit) -> Answer:
    """Whether all is as it was written."""
    return _list(visit, checked=page_book.checked())


@ROUTES.get("/book/export.json")
def export(visit: Visit) -> Answer:
    """The book, or a recipe of it, as one JSON file."""
    name = visit.form.text("name") or None
    return download_made(
        lambda place: page_book.exported(place, name), "application/json", name or "recipe book", "json"
    )


@ROUTES.get("/book/backup.db")
def backup(visit: Visit) -> Answer:
    """A verified copy of the book's file."""
    return download_made(page_book.backup, "application/octet-stream", "recipe book copy", "db")


@ROUTES.get("/book/recipe.json")
def recipe_file(visit: Visit) -> Answer:
    """A recipe as recipe.json, as it was kept."""
    name, revision = _asked(visit)
    return download(page_book.recipe_text(name, revision), "application/json", name, "json")


@ROUTES.get("/book/photo/{sha256}")
def photo(visit: Visit) -> Answer:
    """A photo of a pour."""
    sha256 = visit.request.path_params["sha256"]
    found = page_book.photo(sha256) if re.fullmatch(r"[0-9a-f]{64}", sha256) else None
    if found is None:
        raise NoSuchThing("photo")
    return Response(found[0], media_type=found[1])
