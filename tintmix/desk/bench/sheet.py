"""A recipe to a batch sheet: what to weigh on the scales at hand, in what order, and what will come of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tintmix.book.book import Book, book_to_ask
from tintmix.desk.bench.kept_recipe import Found, find_recipe, lot_of_the_chips, lots_in_hand, model_for
from tintmix.desk.bench.sheet_body import body_of, notes_of
from tintmix.errors import NotThere, Remedy, TintmixError, ValueProblem
from tintmix.files.stamp import made_by, today
from tintmix.files.words import plain
from tintmix.files.write import Outputs, Where
from tintmix.numerals import listed, numeral
from tintmix.pigments.model import TintModel
from tintmix.recipes.again import Places, changed_shapes, doses_changed, moves, places_of
from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import Resin, read_resin
from tintmix.sheet.looks import looks_of, stronger
from tintmix.sheet.sheet import Sheet, make_sheet
from tintmix.weighing.batch import batch_from_volume, batch_from_water
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import USUAL, Bench, scales_from_text
from tintmix.weighing.weigh import weigh_out

if TYPE_CHECKING:
    from tintmix.desk.bench.castings import CastingDrawn

WASTE_PERCENT = 10.0
"""Added to a mould's volume where nobody says: what stays in the cups and on the stick (common practice)."""
ENDINGS = (".pdf", ".txt")

Render = Callable[[Sheet, "Sequence[CastingDrawn]"], bytes]
"""A sheet, and the castings in its tint where they are at hand, as the bytes of a file."""


@dataclass(frozen=True, slots=True)
class Amount:
    """How much to mix: grams of mixed resin, or the mould's volume in cm³, or the water that fills it in grams; one of them.
    waste_percent: of the latter two."""

    batch_g: float | None = None
    volume_cm3: float | None = None
    water_g: float | None = None
    waste_percent: float | None = None

    def grams(self, resin: Resin) -> float:
        """Grams of mixed resin. Raises ValueProblem, MeasureMissing."""
        said = {"grams": self.batch_g, "a volume": self.volume_cm3, "a weight of water": self.water_g}
        given = [name for name, value in said.items() if value is not None]
        if not given:
            raise ValueProblem(what="how much resin is not said", remedy=Remedy.SAY_THE_BATCH)
        if len(given) > 1:
            many = "both" if len(given) == 2 else "all"
            raise ValueProblem(what=f"{listed(given)} {many} say how much resin", remedy=Remedy.GIVE_ONE_OF_THEM)
        if self.batch_g is not None:
            if self.waste_percent is not None:
                raise ValueProblem(
                    what="waste is allowed for beside a batch in grams, which is mixed as it stands",
                    remedy=Remedy.LEAVE_OUT_THE_WASTE,
                )
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
    """A batch sheet. body: its JSON, as formats.md has it. places: where it was looked at. written: the file, if one was."""

    body: dict[str, Any]
    sheet: Sheet
    places: Places
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
    replace_old: bool = False,
) -> SheetDone:
    """The batch sheet of a recipe file, or of a recipe of the book by its name. render: the sheet as the bytes of `out`.

    resin, model: files that stand in for what the recipe names. lots: in hand, where they are not the recipe's. new_bottles:
    leave the book's stock bottles where they are. Raises what is wrong with any of these, or with the place to write to; then
    nothing is written.
    """
    if out is not None and Path(out).suffix.lower() not in ENDINGS:
        raise ValueProblem(where=out, what="a batch sheet is written as .pdf or .txt, by the ending of its name")
    reading = [path for path in (recipe, resin, model) if path is not None]
    with Outputs(reading, replace_old) as outputs:
        place = None if out is None else outputs.at(out, "batch sheet")
        at_hand = scales_from_text(scales or USUAL)
        with book_to_ask(book) as kept:
            found = find_recipe(recipe, revision, kept)
            used = lots_in_hand(found.recipe, lots or {})
            shelf = Shelf()
            if kept is not None:
                shelf = Shelf(() if new_bottles else kept.bottles(), kept.lot_strengths(used))
            learnt = model_for(found, model, kept)
            kept_as = _revision(found, kept)
        own = found.recipe.resin if resin is None else read_resin(resin)
        if own is None:
            raise NotThere(
                where=recipe,
                what="the recipe does not hold its resin, so its parts are not known",
                remedy=Remedy.GIVE_THE_RESIN,
            )
        done = sheet_of(found.recipe, learnt, own, amount, at_hand, used, shelf, found.folder, kept_as)
        if place is not None and render is not None:
            place.write_bytes(render(done.sheet, _drawn(done, learnt, found.folder)))
    return done if out is None else replace(done, written=(str(out),))


def sheet_of(
    recipe: Recipe,
    model: TintModel,
    resin: Resin,
    amount: Amount,
    scales: Bench,
    lots: Mapping[str, str],
    shelf: Shelf = Shelf(),
    folder: Path = Path(),
    revision: int | None = None,
) -> SheetDone:
    """The same with all at hand."""
    doses = {pigment: dose for pigment, dose in recipe.doses_phr.items() if dose > 0}
    if model.is_one_cup and doses:
        raise ValueProblem(
            where=plain(recipe.name, 300),
            what="its one pigment is the whole mix of a cup, which no bottle holds",
            remedy=Remedy.TAKE_THE_CUP_AS_UNIT,
            times=numeral(doses["mix"], 4),
        )
    batch_g = amount.grams(resin)
    day = today()
    places = places_of(recipe, model, folder, recipe.name)
    bottles = tuple(lot_of_the_chips(one, recipe.lots) for one in shelf.bottles)
    weighed = weigh_out(
        doses,
        resin,
        batch_g,
        scales,
        moves=moves(model, places, doses),
        shelf=bottles,
        today=day,
        strengths=shelf.strengths,
        lots=lots,
        is_other_resin=recipe.resin is not None and recipe.resin.name != resin.name,
    )
    unsaid = {one.name for one in bottles if not one.lot and one.knows_its_strength}
    # What comes out of a bottle whose lot nobody says is not called by the lot in hand.
    without = {one.pigment for one in weighed.letdowns if {one.name, one.from_letdown} & unsaid}
    lots = {pigment: lot for pigment, lot in lots.items() if pigment not in without}
    times = stronger(resin, weighed.tinted_part.name)
    looks = looks_of(model, places, weighed.achieved_phr, times, weighed.delta_e00_95, resin)
    shapes = changed_shapes(recipe, folder, recipe.name)
    changed = tuple(str(note) for note in shapes or doses_changed(recipe, model, places, recipe.name))
    notes = changed + notes_of(recipe, resin, weighed, looks, lots, shelf.strengths or {})
    sheet = make_sheet(recipe, resin, weighed, looks, lots, day, made_by(), revision, notes)
    return SheetDone(body_of(sheet, recipe, times, lots), sheet, places)


def _drawn(done: SheetDone, model: TintModel, folder: Path) -> Sequence[CastingDrawn]:
    if not done.sheet.looks.shapes:
        return ()
    from tintmix.desk.bench.castings import castings_drawn  # here: 12 ms, for which thicknesses need not wait

    return castings_drawn(model, done.places, done.sheet.weighed.achieved_phr, folder)


def _revision(found: Found, book: Book | None) -> int | None:
    if book is None or found.revision is not None:
        return found.revision
    try:
        kept = book.revisions(found.recipe.name)
    except TintmixError:
        return None
    digest = found.recipe.digest()
    return next((one.revision for one in kept if one.digest == digest), None)
