"""The recipe book on the page: listed, searched, shown with its pours, compared, charted, carried elsewhere and back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tintmix.book.book import open_book, open_book_if_there
from tintmix.book.errors import NotInBook, model_gone
from tintmix.book.place import book_place, stands_at
from tintmix.book.values import Photo, PlaceReading
from tintmix.desk.book import pours
from tintmix.desk.book import recipes as desk_book
from tintmix.desk.book import shelf as book_shelf
from tintmix.desk.book.compare import compare
from tintmix.desk.book.history import history
from tintmix.desk.book.pours import Weighed
from tintmix.desk.book.shelf import change_bottle
from tintmix.desk.plan.tile import OnTile
from tintmix.desk.read.shots import PhotoOrder
from tintmix.files.canonical import canonical_json
from tintmix.files.stamp import check_day, today
from tintmix.page.chips.kept_photo import DECODING, close_all
from tintmix.page.errors import NoSuchThing, by_known_names, first_of, not_typed, set_down
from tintmix.page.hexes import hex_of
from tintmix.page.recipe import keep_model, put_recipe
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel
from tintmix.recipes.recipe_file import recipe_to_table

MOST_SHOWN = 100
CHART_TITLES = {
    "delta_e00": "how far off what was wanted (ΔE00)",
    "L": "light or dark (L*)",
    "a": "red or green (a*)",
    "b": "yellow or blue (b*)",
}
KINDS = {
    "recipes": ("recipe", "recipes"), "recipe": ("recipe", "recipes"), "models": ("model", "models"),
    "model": ("model", "models"), "photos": ("photo", "photos"), "photo": ("photo", "photos"), "pour": ("pour", "pours"),
    "pour_addition": ("addition to a pour", "additions to pours"), "bottle": ("stock bottle", "stock bottles"),
    "bottle_event": ("use of a bottle", "uses of bottles"), "lot": ("entry of a lot", "entries of lots"),
    "check_chip": ("check chip", "check chips"),
}  # fmt: skip
PHOTO_KINDS = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"))
"""How the photos begin that every browser shows."""
NOTHING: dict[str, Any] = {"there": False, "count": 0, "recipes": [], "bottles": [], "lots": []}
"""What a book that was not begun holds."""
Lab = tuple[float, float, float]


@contextmanager
def _of_book(what: str = "recipe in the book") -> Iterator[None]:
    """What the book does not hold is nothing that the page can show. Raises NoSuchThing, and what is wrong with the book."""
    with by_known_names():
        try:
            yield
        except NotInBook:
            raise NoSuchThing(what) from None


def listed(words: str) -> dict[str, Any]:
    """The recipes whose names hold the words, what stands on the shelf, and the lots; where nothing is kept yet, nothing."""
    with by_known_names():
        if not stands_at(book_place()):
            return NOTHING
        done = desk_book.list_recipes(words=words, most=MOST_SHOWN).body
        bottles, lots = book_shelf.bottles().body["bottles"], book_shelf.lots().body["lots"]
    return {**done, "there": True, "bottles": bottles, "lots": lots}


def shown(name: str, revision: int | None) -> dict[str, Any]:
    """A recipe with its places as colours, its pours, and what the history says. Raises NoSuchThing."""
    with _of_book():
        body = desk_book.show(name, revision).body
        told = history(name).body
    light, observer = body["target"].get("light", "D65"), int(body["target"].get("observer", 10))
    for section in body["sections"]:
        section["srgb"] = hex_of(section["lab"], light, observer)
        section["wanted"] = hex_of(section.get("target_lab"), light, observer)
    for pour in body["pours"]:
        for reading in pour["readings"]:
            reading["srgb"] = hex_of(reading["lab"], reading["light"], reading["observer"])
        for one in pour["photos"]:
            one["shown"] = photo(one["sha256"]) is not None
    return {**body, "places": body["sections"], "history": told, "light": light, "observer": observer}


def tint_of(name: str, revision: int | None) -> tuple[TintModel, Mapping[str, float]]:
    """The model and the doses of a recipe. Raises NoSuchThing, NotThere."""
    with _of_book(), open_book(create=False) as book:
        recipe = book.recipe(name, revision).recipe
        model = book.model(recipe.model)
    if model is None:
        raise model_gone(name, recipe.model_file, recipe.model)
    return model, recipe.doses_phr


def compared(name: str, first: int | None, second: int | None) -> dict[str, Any]:
    """Two revisions side by side, their places as colours. Raises NoSuchThing, NotThere."""
    with _of_book():
        body = compare(name, first, second).body
        with open_book(create=False) as book:
            targets = {key: book.recipe(name, body[key]["revision"]).recipe.target for key in ("first", "second")}
    for section in body["sections"]:
        for key, target in targets.items():
            seen_by = target.get("light", "D65"), int(target.get("observer", 10))
            section[f"{key}_srgb"] = hex_of(section[f"{key}_lab"], *seen_by)
    return body


def take_out(
    workspace: Workspace, now: Snapshot, name: str, revision: int | None, expected: Mapping[str, int]
) -> Snapshot:
    """A recipe of the book, with its model, chosen on the page: to be weighed again, on a sheet of its own, which is yet to be
    made for its batch. Raises NoSuchThing, NotThere."""
    with _of_book():
        with open_book(create=False) as book:
            kept = book.recipe(name, revision)
            model = book.model(kept.recipe.model)
        if model is None:
            raise model_gone(name, kept.recipe.model_file, kept.recipe.model)
    table = recipe_to_table(kept.recipe)
    recipes = put_recipe(workspace, now.area("recipes"), table, keep_model(workspace, model))
    # The boxes of the last sheet stay; what was ticked and weighed there was of another pour.
    asked = now.area("sheet").get("asked")
    sheet = {"asked": {**asked, "lots": {}, "resin": "recipe"}} if asked else {}
    areas = {"recipes": recipes, "sheet": sheet, "trial": {}}
    return workspace.change(f"taking {name} out of the book", areas, expected)


def recipe_text(name: str, revision: int | None) -> str:
    """The recipe file as it was kept. Raises NoSuchThing."""
    with _of_book(), open_book(create=False) as book:
        return canonical_json(recipe_to_table(book.recipe(name, revision).recipe))


def record(
    name: str,
    revision: int | None,
    weighed: Weighed,
    poured_on: str,
    cure: str,
    note: str,
    as_weighed: bool = False,
    again: bool = False,
) -> dict[str, Any]:
    """Record a pour: the table of it, and what to say of it.

    again: also where the same was recorded just now. Raises NoSuchThing, InUse, and what is wrong with the book.
    """
    with _of_book():
        done = pours.record(
            name, weighed, revision=revision, poured_on=poured_on, cure=cure, note=note, as_weighed=as_weighed,
            again=again,
        )  # fmt: skip
    return done.body


def add_to_pour(
    name: str,
    number: int,
    readings: Sequence[tuple[str, Lab]],
    read_on: str,
    note: str,
    set_aside: str,
    photos: Sequence[tuple[str, bytes]] = (),
    on_tile: tuple[OnTile, str, int] | None = None,
) -> str:
    """Add to a pour what came to be known later; what was done, in a sentence. on_tile: the readings are of chips as thick as
    the places on this tile, under this light, for this observer. Raises NoSuchThing, ValueProblem."""
    if not (readings or note or set_aside or photos):
        raise not_typed(f"pour {number}", "", "Type the colour of a place as L*, a*, b*, or a note, or choose a photo.")
    for label, content in photos:
        # The book takes nothing out again: what is no photo must not come in.
        if kind_of_photo(content) is None:
            raise not_typed("the photo", label, "Choose a JPEG or PNG file.")
    if readings and on_tile is not None:
        tile, light, observer = on_tile
        found = pours.Found(readings, on_tile=tile, light=light, observer=observer, read_on=read_on or today())
        with _of_book("pour in the book"):
            pours.add(name, number, found)
        readings = ()
        if not (note or set_aside or photos):
            return f"Added to pour {number} of {name}."
    with _of_book("pour in the book"):
        check_day("the day of the reading", read_on)
        told = [PlaceReading(place, lab, "", 0, read_on) for place, lab in readings]
        pictures = [Photo.of(label, content) for label, content in photos]
        with open_book(create=False) as book:
            book.add_to_pour(name, number, readings=told, photos=pictures, note=note, set_aside=set_aside)
    return f"Added to pour {number} of {name}."


def places_of_pour(name: str, number: int) -> list[tuple[str, float]]:
    """The places of a recorded pour that a chip can be as thick as, with their thickness. Raises NoSuchThing."""
    with _of_book("pour in the book"), open_book(create=False) as book:
        revision = first_of((one.revision for one in book.pours(name) if one.number == number), "pour in the book")
        sections = book.recipe(name, revision).recipe.sections
    return [(str(one["name"]), float(one["thickness_mm"])) for one in sections if one.get("thickness_mm") is not None]


def read_pour(
    name: str, number: int, photos: PhotoOrder, where: Mapping[str, str], thick_mm: Mapping[str, float]
) -> str:
    """Chips of a pour in a photo, by the camera of the recipe's model, into the book; what was done, in a sentence. where: place
    to where its chip lies; thick_mm: place to how thick the chip is. Raises NoSuchThing, and what is wrong with the photo or the
    model."""
    found = pours.Found(by_photo=photos, windows=list(where.items()), chips_mm=thick_mm, read_on=today())
    with _of_book("pour in the book"), DECODING:
        close_all()
        return str(pours.add(name, number, found).body["says"])


def kind_of_photo(content: bytes) -> str | None:
    """The kind of a photo, if it is one that a browser shows.

    >>> kind_of_photo(bytes.fromhex("89504e470d0a1a0a")), kind_of_photo(b"<svg>"), kind_of_photo(b"")
    ('image/png', None, None)
    """
    return next((kind for head, kind in PHOTO_KINDS if content.startswith(head)), None)


def photo(sha256: str) -> tuple[bytes, str] | None:
    """A photo of a pour and its kind, if it is one that a browser shows."""
    book = open_book_if_there()
    if book is None:
        return None
    with book:
        content = book.photo(sha256)
    kind = content and kind_of_photo(content)
    return (content, kind) if content and kind else None


def bottle_left(name: str, left_g: float) -> str:
    """What is left in a stock bottle, weighed again; 0: empty."""
    with by_known_names():
        return str(change_bottle(name, left_g=left_g, note="weighed again").body["says"])


def exported(place: Path, name: str | None = None) -> None:
    """The book, or a recipe of it, as one JSON file at that place. Raises NoSuchThing, CannotWrite."""
    with _of_book("book yet" if name is None else "recipe in the book"), by_known_names((place, "the export")):
        desk_book.export(place, None if name is None else [name])


def imported(label: str, content: bytes) -> str:
    """Bring in an export, all of it or nothing; what it brought, in sentences. Raises what is wrong with it."""
    with set_down((label, content)) as (place,):
        body = desk_book.import_file(place).body
    told = f"New in the book: {counted(body['added'])}. There already: {counted(body['already'])}."
    for one in body["renumbered"]:
        told += f" {one['name']}: revision {one['revision_there']} of the file is revision {one['revision']} here."
    return told


def backup(place: Path) -> None:
    """A verified copy of the book's file at that place. Raises NoSuchThing, and what is wrong with the book."""
    with _of_book("book yet"), by_known_names((place, "the copy")):
        desk_book.backup(place)


def checked() -> dict[str, Any]:
    """Whether all in the book is as it was written, and how much there is. A damaged book is an answer."""
    with _of_book("book yet"):
        body = desk_book.check().body
    return {**body, "counted": counted(body["counts"])}


def counted(counts: Mapping[str, int]) -> str:
    """How many of each kind, those that there are.

    >>> counted({"recipes": 2, "models": 1, "photos": 0})
    '2 recipes, 1 model'
    """
    told = (f"{counts[key]} {words[counts[key] != 1]}" for key, words in KINDS.items() if counts.get(key))
    return ", ".join(told) or "nothing"
