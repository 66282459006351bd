"""Recipe book: what was kept and poured, whether it still comes out the same, and the book itself carried elsewhere and back."""

from __future__ import annotations

import re
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import URL
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import units as numbers
from tintmix.faces.web.chart_svg import history
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.render import go, page_of, render
from tintmix.faces.web.status import status_of
from tintmix.faces.web.units import Units
from tintmix.files.stamp import today
from tintmix.page.bench import book as page_book
from tintmix.page.errors import NoSuchThing, not_typed
from tintmix.sheet.cautions import cautions, cautions_in

NOTE_LETTERS = 2000
WORD_LETTERS = 120


async def show(request: Request) -> Response:
    """The list, those with the words that are sought."""
    return await _list(request, request.query_params.get("q", "")[:WORD_LETTERS])


async def _list(
    request: Request, words: str = "", checked: Any = None, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    try:
        body = await run_in_threadpool(page_book.listed, words)
    except TintmixError as trouble:
        # The book cannot be read: say so, and still offer what helps.
        body = {"there": True, "count": 0, "recipes": [], "bottles": [], "lots": [], "book": ""}
        problem, status = problem or trouble, 422
    context = {"body": body, "words": words, "checked": checked, "most": page_book.MOST_SHOWN, "cautions": cautions()}
    return render(request, "book.html", "book", context, status=status, problem=problem, typed=typed)


def _asked(values: Any) -> tuple[str, int | None]:
    name, revision = values.get("name", ""), values.get("revision", "")
    if not isinstance(name, str) or not isinstance(revision, str) or not name or len(name) > WORD_LETTERS:
        raise NoSuchThing("recipe in the book")
    return name, _count(revision)


def _count(text: str) -> int | None:
    return int(text) if text.isdecimal() and text.isascii() and len(text) < 7 else None


def _address(name: str, revision: int | None = None) -> str:
    address = URL("/book/recipe").include_query_params(name=name)
    return str(address if revision is None else address.include_query_params(revision=revision))


async def recipe(request: Request) -> Response:
    """A recipe: what it is, what its pours came out as, and whether they drift."""
    name, revision = _asked(request.query_params)
    return await _recipe(request, name, revision)


async def _recipe(
    request: Request, name: str, revision: int | None, *, status: int = 200, problem: Said = "", typed: Any = None
) -> Response:
    body = await run_in_threadpool(page_book.shown, name, revision)
    charts = []
    for place in body["history"]["places"]:
        if len(place["pours"]) < 2:
            continue
        called = [one["number"] for one in place["pours"]]
        drawn = []
        for what, title in page_book.CHART_TITLES.items():
            label = f"{place['place']}: {title}, pours {called[0]} to {called[-1]}"
            drawn.append((title, history(place["charts"][what], called, label)))
        charts.append({"place": place, "drawn": drawn})
    context = {
        "body": body, "charts": charts, "today": today(), "newest": body["revisions"][-1]["revision"],
        "typed_for": (typed or {}).get("number", ""), "cautions": cautions_in(body),
    }  # fmt: skip
    return render(request, "book_recipe.html", "book", context, status=status, problem=problem, typed=typed)


async def compare(request: Request) -> Response:
    """Two revisions side by side."""
    name, _ = _asked(request.query_params)
    first, second = (_count(request.query_params.get(key, "")) for key in ("first", "second"))
    body = await run_in_threadpool(page_book.compared, name, first, second)
    return render(request, "book_compare.html", "book", {"body": body})


async def use(request: Request) -> Response:
    """A recipe of the book to the bench again."""
    form = await read_form(request)
    page = page_of(request)
    name, revision = _asked(form.data)
    try:
        now = page.workspace.now()
        await run_in_threadpool(page_book.take_out, page.workspace, now, name, revision, form.revision("recipes"))
    except NoSuchThing:
        raise
    except TintmixError as problem:
        return await _recipe(request, name, revision, status=status_of(problem), problem=problem)
    page.say(f"{name} is chosen for Sheet and Trial chip.")
    return go("/sheet")


async def pour(request: Request) -> Response:
    """Record a pour."""
    form = await read_form(request)
    page = page_of(request)
    name, revision = _asked(form.data)
    units = Units.of(page.workspace.now().area("settings"))
    try:
        text = form.text("batch")
        batch = units.grams(text, f"mixed resin ({units.mass_unit})", None, 0.1) if text else None
        day, cure = form.line("poured_on", "the day of the pour"), form.line("cure", "how it was cured")
        weights = _weights(form.text("weights"), units)
        said = await run_in_threadpool(page_book.record, name, revision, day, batch, weights, cure, _note(form))
    except NoSuchThing:
        raise
    except TintmixError as problem:
        typed = {**form.typed, "number": "new"}
        return await _recipe(request, name, revision, status=status_of(problem), problem=problem, typed=typed)
    page.say(said)
    return go(_address(name, revision))


def _weights(text: str, units: Units) -> dict[str, float]:
    out: dict[str, float] = {}
    for line in text.splitlines()[:200]:
        if not line.strip():
            continue
        found = re.fullmatch(r"\s*(.+?)[\s:=]+(\S+)(?:\s*(?:g|oz))?\s*", line)
        if found is None:
            raise not_typed("what was weighed", line.strip(), "Write a line each, such as azure 1+50 4.82.")
        out[found[1]] = units.grams(found[2], f"the weight of {found[1][:40]} ({units.mass_unit})")
    return out


def _note(form: Form, name: str = "note") -> str:
    note = form.text(name)
    if len(note) > NOTE_LETTERS:
        raise not_typed("the note", note, f"Write at most {NOTE_LETTERS} letters.")
    return note


async def add(request: Request) -> Response:
    """Readings, photos, a note, or the reason to leave it out, added to a pour."""
    form = await read_form(request)
    page = page_of(request)
    name, revision = _asked(form.data)
    try:
        number = _count(form.text("number"))
        if number is None:
            raise NoSuchThing("pour in the book")
        readings = _readings(form)
        photos = await form.files("photos")
        day, aside = form.line("read_on", "the day of the reading"), form.line("set_aside", "why it is left out")
        said = await run_in_threadpool(page_book.add_to_pour, name, number, readings, day, _note(form), aside, photos)
    except NoSuchThing:
        raise
    except TintmixError as problem:
        return await _recipe(request, name, revision, status=status_of(problem), problem=problem, typed=form.typed)
    page.say(said)
    return go(_address(name, revision))


def _readings(form: Form) -> list[tuple[str, tuple[float, float, float]]]:
    places = form.texts("place")[:20]
    out = []
    for at, place in enumerate(places):
        texts = [form.text(f"{axis}_{at}") for axis in "Lab"]
        if not any(texts):
            continue
        L, a, b = (
            numbers.number(text, f"{axis}* of {place}", low, high)
            for text, (axis, low, high) in zip(texts, (("L", 0, 110), ("a", -250, 250), ("b", -250, 250)), strict=True)
        )
        out.append((place, (L, a, b)))
    return out


async def bottle(request: Request) -> Response:
    """What is left in a stock bottle, weighed again."""
    form = await read_form(request)
    page = page_of(request)
    units = Units.of(page.workspace.now().area("settings"))
    try:
        name = form.line("bottle", "the stock bottle")
        left = units.grams(form.text("left"), f"what is left in {name} ({units.mass_unit})")
        said = await run_in_threadpool(page_book.bottle_left, name, left)
    except TintmixError as problem:
        return await _list(request, status=status_of(problem), problem=problem, typed=form.typed)
    page.say(said)
    return go("/book#shelf")


async def bring_in(request: Request) -> Response:
    """An export into the book."""
    form = await read_form(request)
    page = page_of(request)
    try:
        label, content = await form.file("export", "the exported book")
        said = await run_in_threadpool(page_book.imported, label, content)
    except TintmixError as problem:
        return await _list(request, status=status_of(problem), problem=problem, typed=form.typed)
    page.say(said)
    return go("/book")


async def check(request: Request) -> Response:
    """Whether all is as it was written."""
    await read_form(request)
    try:
        checked = await run_in_threadpool(page_book.checked)
    except NoSuchThing:
        raise
    except TintmixError as problem:
        return await _list(request, status=status_of(problem), problem=problem)
    return await _list(request, checked=checked)


def _download(content: bytes, kind: str, name: str) -> Response:
    return Response(content, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'})


async def export(request: Request) -> Response:
    """The book, or a recipe of it, as one JSON file."""
    name = request.query_params.get("name") or None
    text = await run_in_threadpool(page_book.exported, name)
    return _download(text.encode(), "application/json", safe_name(name or "recipe book", "json"))


async def backup(request: Request) -> Response:
    """A verified copy of the book's file."""
    return _download(await run_in_threadpool(page_book.backup), "application/octet-stream", "recipe-book-copy.db")


async def recipe_file(request: Request) -> Response:
    """A recipe as recipe.json, as it was kept."""
    name, revision = _asked(request.query_params)
    text = await run_in_threadpool(page_book.recipe_text, name, revision)
    return _download(text.encode(), "application/json", safe_name(name, "json"))


async def photo(request: Request) -> Response:
    """A photo of a pour."""
    sha256 = request.path_params["sha256"]
    found = None
    if re.fullmatch(r"[0-9a-f]{64}", sha256):
        found = await run_in_threadpool(page_book.photo, sha256)
    if found is None:
        raise NoSuchThing("photo")
    return Response(found[0], media_type=found[1])


ROUTES = [
    Route("/book", show),
    Route("/book/recipe", recipe),
    Route("/book/compare", compare),
    Route("/book/use", use, methods=["POST"]),
    Route("/book/pour", pour, methods=["POST"]),
    Route("/book/add", add, methods=["POST"]),
    Route("/book/bottle", bottle, methods=["POST"]),
    Route("/book/import", bring_in, methods=["POST"]),
    Route("/book/check", check, methods=["POST"]),
    Route("/book/export.json", export),
    Route("/book/backup.db", backup),
    Route("/book/recipe.json", recipe_file),
    Route("/book/photo/{sha256}", photo),
]
