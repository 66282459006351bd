"""Pours in the book: recorded, added to, and charted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tintmix.book.book import Book, open_book
from tintmix.book.errors import photo_too_large, pigment_not_in_recipe
from tintmix.book.pours import KeptPour
from tintmix.book.values import Photo, PlaceReading, Pour
from tintmix.desk.book.asked import check_as_asked
from tintmix.desk.book.recipes import BookDone, pour_table
from tintmix.files import caps
from tintmix.files.stamp import today
from tintmix.files.text import load_bytes
from tintmix.files.write import Where
from tintmix.sheet.cautions import cautions_for, cautions_table

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Found:
    """What was found of a cast part. readings: place to L*a*b*, in the order of reading. fingerprint_only: photos whose
    bytes stay out of the book."""

    readings: Sequence[tuple[str, Lab]] = ()
    light: str = ""
    observer: int = 0
    read_on: str = ""
    photos: Sequence[Where] = ()
    fingerprint_only: Sequence[Where] = ()

    def place_readings(self) -> tuple[PlaceReading, ...]:
        """As the book takes them. Raises ValueProblem."""
        return tuple(PlaceReading(place, lab, self.light, self.observer, self.read_on) for place, lab in self.readings)

    def pictures(self) -> tuple[Photo, ...]:
        """The photos' bytes or fingerprints. Raises NotThere, CannotReach, FileProblem."""
        kept = [_photo(path, True) for path in self.photos]
        return (*kept, *(_photo(path, False) for path in self.fingerprint_only))


@dataclass(frozen=True, slots=True)
class Weighed:
    """What was weighed for a pour, in grams, and from what. from_bottles: taken from stock bottles of the book."""

    batch_g: float | None = None
    weights_g: Mapping[str, float] = field(default_factory=dict)
    from_bottles: Mapping[str, float] = field(default_factory=dict)
    lots: Mapping[str, str] = field(default_factory=dict)


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
) -> BookDone:
    """Record a pour of a kept recipe; lots that are not said are the recipe's. as_weighed: also weights that are far from what
    it asks. Raises what is wrong with any of it; then nothing is recorded."""
    readings, photos = found.place_readings(), found.pictures()
    weights = {**weighed.weights_g, **weighed.from_bottles}
    with open_book(book, create=False) as opened:
        recipe = opened.recipe(name, revision).recipe
        for pigment in weighed.lots:
            if pigment not in recipe.doses_phr:
                raise pigment_not_in_recipe(name, pigment, recipe.doses_phr)
        lots = {**recipe.lots, **weighed.lots}
        pour = Pour(poured_on or today(), weighed.batch_g, weights, lots, cure, note)
        if not as_weighed:
            check_as_asked(recipe, pour.batch_g, pour.weights_g, opened.bottles(), opened.lot_strengths(lots))
        kept = opened.add_pour(
            name, pour, revision, readings=readings, photos=photos, from_bottles=weighed.from_bottles
        )
        return _told(opened, kept, f"Recorded pour {kept.number} of {name}.")


def add(
    name: str,
    number: int,
    found: Found = Found(),
    note: str = "",
    set_aside: str = "",
    book: Where | None = None,
) -> BookDone:
    """Add to a recorded pour. set_aside: why the history leaves it out. Raises NotInBook, ValueProblem."""
    readings, photos = found.place_readings(), found.pictures()
    with open_book(book, create=False) as opened:
        kept = opened.add_to_pour(name, number, readings=readings, photos=photos, note=note, set_aside=set_aside)
        return _told(opened, kept, f"Added to pour {number} of {name}.")


def _told(book: Book, kept: KeptPour, says: str) -> BookDone:
    cautions = cautions_for(book.recipe(kept.name, kept.revision).recipe.resin)
    return BookDone({"book": str(book.path), **pour_table(kept), "says": says, **cautions_table(cautions)})


def _photo(path: Where, keep_bytes: bool) -> Photo:
    content = load_bytes(path, caps.PHOTO, "a photo")
    if keep_bytes and len(content) > caps.BOOK_PHOTO:
        raise photo_too_large(path, len(content), caps.BOOK_PHOTO)
    return Photo.of(Path(path).name, content, keep_bytes)
