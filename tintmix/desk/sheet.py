"""A recipe to a batch sheet: what to weigh on the scales at hand, in what order, and what will come of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tintmix.chips.write import made_at, made_by
from tintmix.desk.book_model import model_of
from tintmix.desk.output import Outputs, Where
from tintmix.desk.sheet_body import body_of, notes_of
from tintmix.errors import TintmixError
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.recipes.again import moves, places_of
from tintmix.recipes.recipe_file import Recipe, read_recipe
from tintmix.resin import Resin, read_resin
from tintmix.shop.batch import batch_from_volume, batch_from_water
from tintmix.shop.bottle import StockBottle
from tintmix.shop.scales import Scales, scales_from_text
from tintmix.shop.sheet import Sheet, make_sheet
from tintmix.shop.sheet_errors import (
    BatchNotSaid,
    BatchSaidTwice,
    LotOfNothing,
    ModelOfAnother,
    NoResin,
    OneCupRecipe,
    RecipeNowhere,
    RevisionOfFile,
    SheetEnding,
    WasteOfBatch,
)
from tintmix.shop.sheet_looks import looks_of, stronger
from tintmix.shop.weigh import weigh_out
from tintmix.shop.weighed import WeighOut

if TYPE_CHECKING:
    from tintmix.shop.book import Book

SCALES = ("resin=0.1", "pigment=0.01")
"""Where nobody says: a kitchen scale for resin, a pocket scale for pigment."""
WASTE_PERCENT = 10.0
"""Added to a mould's volume where nobody says: what stays in the cups and on the stick (common practice)."""
ENDINGS = (".pdf", ".txt")

Render = Callable[[Sheet], bytes]


@dataclass(frozen=True, slots=True)
class Amount:
    """How much to mix: grams of mixed resin, or the mould's volume in cm³, or the water that fills it in grams; one of them.
    waste_percent: of the latter two."""

    batch_g: float | None = None
    volume_cm3: float | None = None
    water_g: float | None = None
    waste_percent: float | None = None

    def grams(self, resin: Resin) -> float:
        """Grams of mixed resin. Raises BatchNotSaid, BatchSaidTwice, WasteOfBatch, BadBatch, NoDensity."""
        said = {"--batch": self.batch_g, "--volume": self.volume_cm3, "--water": self.water_g}
        given = [name for name, value in said.items() if value is not None]
        if not given:
            raise BatchNotSaid
        if len(given) > 1:
            raise BatchSaidTwice(given)
        if self.batch_g is not None:
            if self.waste_percent is not None:
                raise WasteOfBatch
            return self.batch_g
        waste = WASTE_PERCENT if self.waste_percent is None else self.waste_percent
        if self.volume_cm3 is not None:
            return batch_from_volume(self.volume_cm3, resin, waste)
        assert self.water_g is not None
        return batch_from_water(self.water_g, resin, waste)


@dataclass(frozen=True, slots=True)
class Shelf:
    """What is at hand: stock bottles, and each lot's strength (factor, relative spread) against the model's pigment."""

    bottles: tuple[StockBottle, ...] = ()
    strengths: Mapping[str, tuple[float, float]] | None = None


@dataclass(frozen=True, slots=True)
class SheetDone:
    """A batch sheet. body: as `sheet --json`. written: the file, if one was."""

    body: dict[str, Any]
    sheet: Sheet
    weighed: WeighOut
    written: tuple[str, ...] = ()


def sheet_for(
    recipe: Where,
    amount: Amount,
    scales: Sequence[str] = (),
    resin: Where | None = None,
    model: Where | None = None,
    lots: Mapping[str, str] | None = None,
    book: Where | None = None,
    revision: int | None = None,
    new_bottles: bool = False,
    out: Where | None = None,
    render: Render | None = None,
) -> SheetDone:
    """The batch sheet of a recipe file, or of a recipe of the book by its name. render: the sheet as the bytes of `out`.

    resin, model: files that stand in for what the recipe names. lots: in hand, where they are not the recipe's. new_bottles:
    leave the book's stock bottles where they are. Raises what is wrong with any of these, or with the place to write to; then
    nothing is written.
    """
    if out is not None and Path(out).suffix.lower() not in ENDINGS:
        raise SheetEnding(out)
    reading = [path for path in (recipe, resin, model) if path is not None]
    with Outputs(reading) as outputs:
        place = None if out is None else outputs.at(out)
        at_hand = scales_from_text(list(scales) or list(SCALES))
        with _opened(book) as kept:
            found = _find(recipe, revision, kept)
            used = {**found.recipe.lots, **_checked(lots or {}, found.recipe)}
            shelf = _shelf(kept, found.recipe, used, new_bottles)
            learnt = _model(found, model, kept)
        own = found.recipe.resin if resin is None else read_resin(resin)
        if own is None:
            raise NoResin(recipe)
        done = sheet_of(found.recipe, learnt, own, amount, at_hand, used, shelf, found.folder, found.revision)
        if place is not None and render is not None:
            place.write_bytes(render(done.sheet))
    return done if out is None else replace(done, written=(str(out),))


def sheet_of(
    recipe: Recipe,
    model: TintModel,
    resin: Resin,
    amount: Amount,
    scales: Scales,
    lots: Mapping[str, str],
    shelf: Shelf = Shelf(),
    folder: Path = Path(),
    revision: int | None = None,
) -> SheetDone:
    """The same with all at hand."""
    doses = {pigment: dose for pigment, dose in recipe.doses_phr.items() if dose > 0}
    if model.is_one_cup:
        raise OneCupRecipe(recipe.name, doses.get("mix", 0.0))
    batch_g = amount.grams(resin)
    today = made_at()[:10]
    places = places_of(recipe, model, folder, recipe.name)
    weighed = weigh_out(
        doses,
        resin,
        batch_g,
        scales,
        moves=moves(model, places, doses),
        shelf=shelf.bottles,
        today=today,
        strengths=shelf.strengths,
        lots=lots,
    )
    times = stronger(resin, weighed.tinted_part.name)
    looks = looks_of(model, places, weighed.achieved_phr, times, weighed.delta_e00_95)
    notes = notes_of(recipe, resin, weighed, looks, lots, shelf.strengths or {})
    sheet = make_sheet(recipe, resin, weighed, looks, lots, today, made_by(), revision, notes)
    return SheetDone(body_of(sheet, weighed, recipe, times, lots), sheet, weighed)


@dataclass(frozen=True, slots=True)
class _Found:
    """A recipe, and where it came from."""

    recipe: Recipe
    path: Path | None
    revision: int | None

    @property
    def folder(self) -> Path:
        """Where the files stand that its target names."""
        return Path() if self.path is None else self.path.parent


@contextmanager
def _opened(book: Where | None) -> Iterator[Book | None]:
    """The recipe book, if there is one: a sheet never makes one, and changes nothing in it."""
    from tintmix.shop.book_file import book_place

    if book is None and not book_place().exists():
        yield None
        return
    # Imported here: who keeps no book need not wait for it.
    from tintmix.shop.book import open_book

    with open_book(book, create=False) as opened:
        yield opened


def _find(recipe: Where, revision: int | None, book: Book | None) -> _Found:
    path = Path(recipe)
    if _is_file(path) or path.suffix.lower() == ".json":
        if revision is not None:
            raise RevisionOfFile(recipe)
        read = read_recipe(path)
        return _Found(read, path, _revision(read, book))
    if book is None:
        raise RecipeNowhere(recipe)
    kept = book.recipe(str(recipe), revision)
    return _Found(kept.recipe, None, kept.revision)


def _is_file(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _revision(recipe: Recipe, book: Book | None) -> int | None:
    """The revision under which the book holds just this recipe."""
    if book is None:
        return None
    try:
        kept = book.revisions(recipe.name)
    except TintmixError:
        return None
    digest = recipe.digest()
    return next((one.revision for one in kept if one.digest == digest), None)


def _model(found: _Found, named: Where | None, book: Book | None) -> TintModel:
    if named is None:
        return model_of(found.recipe, found.path, book)
    model = load_model(named)
    if found.recipe.model and model.digest() != found.recipe.model:
        raise ModelOfAnother(named, found.recipe.name)
    return model


def _checked(lots: Mapping[str, str], recipe: Recipe) -> Mapping[str, str]:
    for pigment in lots:
        if pigment not in recipe.doses_phr:
            raise LotOfNothing(pigment, recipe.doses_phr)
    return lots


def _shelf(book: Book | None, recipe: Recipe, lots: Mapping[str, str], new_bottles: bool) -> Shelf:
    if book is None:
        return Shelf()
    strengths = {}
    for pigment in recipe.doses_phr:
        known = book.lot_strength(pigment, lots[pigment]) if lots.get(pigment) else None
        if known is not None:
            strengths[pigment] = known
    return Shelf(() if new_bottles else tuple(book.bottles()), strengths)
