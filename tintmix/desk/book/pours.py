"""Pours in the book: recorded, added to, and charted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from tintmix.book.book import Book, open_book
from tintmix.book.errors import no_such_place, photo_too_large, pigment_not_in_recipe
from tintmix.book.pours import KeptPour
from tintmix.book.values import Photo, PlaceReading, Pour
from tintmix.desk.book.asked import check_as_asked, check_known
from tintmix.desk.book.model import model_of
from tintmix.desk.book.recipes import BookDone, damage_of, pour_table
from tintmix.errors import Remedy, ValueProblem
from tintmix.files import caps
from tintmix.files.stamp import check_day, today
from tintmix.files.text import load_bytes
from tintmix.files.write import Where
from tintmix.numerals import numeral
from tintmix.quantities import CHIP_MM
from tintmix.sheet.cautions import cautions_for, cautions_table

if TYPE_CHECKING:
    from tintmix.desk.plan.tile import OnTile
    from tintmix.desk.read.shots import PhotoOrder
    from tintmix.recipes.recipe_file import Recipe

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Found:
    """What was found of a cast part. readings: place to L*a*b*, in the order of reading. by_photo: or a photo, by the camera that
    read the model's chips, of chips of the pour as thick as the places; windows: place to where its chip lies in it; chips_mm:
    place to how thick its chip is, where that is not as thick as the place: what is kept is the place's colour. like: a chip
    set; the readings are then of such chips too, read as its were, as on its white tile. on_tile: or the tile that they lay on,
    seen under light and observer; what is kept is for those of the target.
    fingerprint_only: photos whose bytes stay out of the book."""

    readings: Sequence[tuple[str, Lab]] = ()
    by_photo: PhotoOrder | None = None
    windows: Sequence[tuple[str, str]] = ()
    chips_mm: Mapping[str, float] = field(default_factory=dict)
    like: Where | None = None
    on_tile: OnTile | None = None
    light: str = ""
    observer: int = 0
    read_on: str = ""
    photos: Sequence[Where] = ()
    fingerprint_only: Sequence[Where] = ()

    def place_readings(self, recipe: Recipe, book: Book) -> tuple[PlaceReading, ...]:
        """As the book takes them: how each place looks against the bare light. Raises ValueProblem, and what is wrong with the
        set, or the model that a reading on a tile is understood by."""
        if self.readings and (self.like is not None or self.on_tile is not None):
            return self._on_tile(recipe, book)
        return tuple(PlaceReading(place, lab, self.light, self.observer, self.read_on) for place, lab in self.readings)

    def _on_tile(self, recipe: Recipe, book: Book) -> tuple[PlaceReading, ...]:
        # Here, for the pours that were read otherwise, or not at all.
        from tintmix.chips.chip import ChipSet
        from tintmix.chips.folder import read_chips
        from tintmix.desk.plan.tile import reading_on
        from tintmix.desk.read.on_tile import look_on_tile

        light, observer = _seen_by(recipe, "", 0)
        if self.on_tile is not None:
            like = ChipSet(reading_on(self.on_tile, *_seen_by(recipe, self.light, self.observer)), (), ())
        else:
            like = read_chips(self.like or "")
            if like.reading.kind != "colour" or not like.reading.on_tile:
                raise ValueProblem(where=self.like, what="its chips are no colours that were read on a white tile")
            if self.light or self.observer:
                what = "the chip set says under which light and for which observer its chips were read"
                raise ValueProblem(where=self.like, what=what, remedy=Remedy.LEAVE_OUT_LIGHT_OR_SET)
        mm = _chip_mm(recipe, [place for place, _ in self.readings])
        model, out = model_of(recipe, book=book), []
        for place, read in self.readings:
            look = look_on_tile(model, recipe.doses_phr, read, mm[place], like, light, observer, f"the chip of {place}")
            seen = ", ".join(numeral(value, 4) for value in read)
            note = f"on a white tile: L* a* b* {seen}; 95 % within ΔE00 {numeral(look.delta_e00_95, 2)}"
            first, second, third = look.lab.tolist()
            out.append(PlaceReading(place, (first, second, third), light, observer, self.read_on, note))
        return tuple(out)

    def photographed(self, recipe: Recipe, book: Book) -> tuple[PlaceReading, ...]:
        """What the photo tells of the places, as the eye would see them. Raises what is wrong with the photo or the model."""
        if self.by_photo is None:
            return ()
        # Here, for the pours that were read otherwise, or not at all.
        from tintmix.desk.read.things import look_of, things_in

        known = _chip_mm(recipe, [place for place, _ in self.windows])
        for place, mm in self.chips_mm.items():
            if place not in known:
                raise ValueProblem(
                    where=place, what="how thick its chip is is said, and not where it lies in the photo"
                )
            CHIP_MM.check(f"the thickness of the chip of {place}", mm, remedy=Remedy.MEASURE_WHERE_READ)
        model = model_of(recipe, book=book)
        found = things_in(model, self.by_photo, dict(self.windows))
        light, observer = _seen_by(recipe, self.light, self.observer)
        absorbs = model.drawn_resins().per_mm(model.dose_vector(recipe.doses_phr)[None]).mean(axis=0)[0]
        out = []
        for place, values in found.values.items():
            mm = known[place]
            chip = float(self.chips_mm.get(place, mm))
            look = look_of(
                model, values, chip, found.spreads[place], like=absorbs, light=light, observer=observer, seen_mm=mm
            )
            seen = ", ".join(numeral(float(value), 4) for value in values)
            note = f"by photo: camera {seen}; 95 % within ΔE00 {numeral(look.delta_e00_95, 2)}"
            if chip != mm:
                note += f"; of a chip of {numeral(chip)} mm, reckoned to the {numeral(mm)} mm of the place"
            first, second, third = look.lab.tolist()
            out.append(PlaceReading(place, (first, second, third), light, observer, self.read_on, note))
        return tuple(out)

    def pictures(self) -> tuple[Photo, ...]:
        """The photos' bytes or fingerprints. Raises NotThere, CannotReach, FileProblem."""
        kept = [_photo(path, True) for path in self.photos]
        return (*kept, *(_photo(path, False) for path in self.fingerprint_only))


@dataclass(frozen=True, slots=True)
class Weighed:
    """What was weighed for a pour, in grams, and from what. from_bottles: taken from stock bottles of the book. by_sheet: a
    batch sheet names the weights, which knows what each is: what went into a bottle, or was taken out for a trial, among them,
    and what came from bottles of the book."""

    batch_g: float | None = None
    weights_g: Mapping[str, float] = field(default_factory=dict)
    from_bottles: Mapping[str, float] = field(default_factory=dict)
    lots: Mapping[str, str] = field(default_factory=dict)
    by_sheet: bool = False


def record(
    name: str,
    weighed: Weighed = Weighed(),
    found: Found = Found(),
    revision: int | None = None,
    poured_on: str = "",
    cure: str = "",
    note: str = "",
    book: Where | None = None,
    as_weighed: bool = False,
    again: bool = False,
) -> BookDone:
    """Record a pour of a kept recipe; lots that are not said are the recipe's. as_weighed: also weights that are far from what
    it asks. again: as `Book.add_pour` takes it. Raises what is wrong with any of it; then nothing is recorded."""
    check_day("the day of the pour", poured_on)
    check_day("the day of the reading", found.read_on)
    photos = found.pictures()
    weights = dict(weighed.weights_g) if weighed.by_sheet else {**weighed.weights_g, **weighed.from_bottles}
    with open_book(book, create=False) as opened:
        recipe = opened.recipe(name, revision).recipe
        readings = (*found.place_readings(recipe, opened), *found.photographed(recipe, opened))
        for pigment in weighed.lots:
            if pigment not in recipe.doses_phr:
                raise pigment_not_in_recipe(name, pigment, recipe.doses_phr)
        lots = {**recipe.lots, **weighed.lots}
        pour = Pour(poured_on or today(), weighed.batch_g, weights, lots, cure, note)
        if not weighed.by_sheet:
            check_known(recipe, pour.weights_g, opened.bottles())
        if not as_weighed:
            check_as_asked(recipe, pour.batch_g, pour.weights_g, opened.bottles(), opened.lot_strengths(lots))
        kept = opened.add_pour(
            name, pour, revision, readings=readings, photos=photos, from_bottles=weighed.from_bottles, again=again
        )
        return _told(opened, kept, f"Recorded pour {kept.number} of {name}.", f"recorded as pour {kept.number}")


def add(
    name: str,
    number: int,
    found: Found = Found(),
    note: str = "",
    set_aside: str = "",
    book: Where | None = None,
) -> BookDone:
    """Add to a recorded pour. set_aside: why the history leaves it out. Raises NotInBook, ValueProblem."""
    check_day("the day of the reading", found.read_on)
    photos = found.pictures()
    with open_book(book, create=False) as opened:
        known = opened.pours(name)
        # Of a number that no pour has, the book tells itself.
        revision = next((one.revision for one in known if one.number == number), None)
        recipe = opened.recipe(name, revision).recipe
        readings = (*found.place_readings(recipe, opened), *found.photographed(recipe, opened))
        kept = opened.add_to_pour(name, number, readings=readings, photos=photos, note=note, set_aside=set_aside)
        return _told(opened, kept, f"Added to pour {number} of {name}.", f"added to pour {number}")


def _told(book: Book, kept: KeptPour, says: str, recorded: str) -> BookDone:
    cautions = cautions_for(book.recipe(kept.name, kept.revision).recipe.resin)
    day = kept.pour.poured_on
    before = dict.fromkeys(one.read_on for one in kept.readings if one.read_on and one.read_on < day)
    warnings = [
        f"a reading is of {read}, before the day of the pour, {day}: one of the two is wrong" for read in before
    ]
    told = {"says": says, **({"warnings": warnings} if warnings else {})}
    return BookDone(
        {"book": str(book.path), **pour_table(kept), **told, **cautions_table(cautions), **damage_of(book)},
        recorded=recorded,
    )


def _seen_by(recipe: Recipe, light: str, observer: int) -> tuple[str, int]:
    """Light and observer; those of the target where nobody says."""
    return light or str(recipe.target.get("light", "D65")), observer or int(recipe.target.get("observer", 10))


def _chip_mm(recipe: Recipe, places: Sequence[str]) -> dict[str, float]:
    """How thick the chip of each place is. Raises NotInBook, and ValueProblem for a place that no chip is as thick as."""
    known = {str(one["name"]): one.get("thickness_mm") for one in recipe.sections}
    for place in places:
        if place not in known:
            raise no_such_place(place, recipe.name, list(known))
        if known[place] is None:
            raise ValueProblem(where=place, what="it is seen by paths of light, and no chip is as thick as it")
    return {place: float(known[place] or 0.0) for place in places}


def _photo(path: Where, keep_bytes: bool) -> Photo:
    content = load_bytes(path, caps.PHOTO, "a photo")
    if keep_bytes and len(content) > caps.BOOK_PHOTO:
        raise photo_too_large(path, len(content), caps.BOOK_PHOTO)
    return Photo.of(Path(path).name, content, keep_bytes)
