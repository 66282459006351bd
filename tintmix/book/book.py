"""The recipe book: one SQLite file in which recipes, pours and what is on the shelf are kept, and never changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from tintmix.book import care as book_care
from tintmix.book import export as book_export
from tintmix.book import pours as book_pours
from tintmix.book import recipes as book_recipes
from tintmix.book import shelf as book_shelf
from tintmix.book.file import WAIT_SECONDS, Store, book_place, open_store

if TYPE_CHECKING:
    from tintmix.book.care import Backup, Checked
    from tintmix.book.export import Imported
    from tintmix.book.pours import KeptPour
    from tintmix.book.recipes import KeptRecipe, Line
    from tintmix.book.shelf import Lot
    from tintmix.book.values import CheckChip, Photo, PlaceReading, Pour
    from tintmix.pigments.model import TintModel
    from tintmix.recipes.recipe_file import Recipe
    from tintmix.weighing.bottle import StockBottle

__all__ = ["Book", "book_place", "open_book", "open_book_if_there"]


def open_book(path: str | Path | None = None, *, create: bool = True, wait_seconds: float = WAIT_SECONDS) -> Book:
    """The book as named, or TINTMIX_BOOK's, or the one in the user's data folder; made where there is none, if `create`.

    wait_seconds: how long to wait for another program that writes. Raises NotInBook, CannotWrite,
    FileProblem, InUse; a file that is not a book of ours is left as it is.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, open_book(Path(folder) / "book.db") as book:
    ...     book.list()
    ()
    """
    return Book(open_store(book_place(path), create, wait_seconds))


def open_book_if_there(path: str | Path | None = None) -> Book | None:
    """The same for a command that only asks: None where there is no book, and none is made."""
    place = book_place(path)
    return open_book(place, create=False) if place.exists() else None


class Book:
    """An open recipe book. What a method returns is on the disk; what raises has changed nothing. One thread at a time."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._store.close()

    @property
    def path(self) -> Path:
        """The book's file."""
        return self._store.path

    @property
    def read_only(self) -> bool:
        """Whether the file's place lets nothing be kept."""
        return self._store.read_only

    # Recipes ----------------------------------------------------------------------------------------------------------

    def keep(self, recipe: Recipe, model: TintModel | None = None, note: str = "") -> KeptRecipe:
        """Keep a recipe as the next revision of its name, with its model; see `book_recipes.keep`."""
        return book_recipes.keep(self._store, recipe, model, note)

    def list(self, words: str = "") -> tuple[Line, ...]:
        """The newest revision of each name, by name; words: only names that hold all of them."""
        return book_recipes.listed(self._store, words)

    def recipe(self, name: str, revision: int | None = None) -> KeptRecipe:
        """A revision, the newest where none is named. Raises NotInBook."""
        return book_recipes.revision_of(self._store, name, revision)

    def revisions(self, name: str) -> tuple[KeptRecipe, ...]:
        """All revisions of a name, oldest first. Raises NotInBook."""
        return book_recipes.revisions_of(self._store, name)

    def of_digest(self, digest: str) -> KeptRecipe | None:
        """The revision of that digest, if it is in the book."""
        return book_recipes.of_digest(self._store, digest)

    def model(self, digest: str) -> TintModel | None:
        """A model by its digest, if it is in the book."""
        return book_recipes.model_of(self._store, digest)

    # Pours ------------------------------------------------------------------------------------------------------------

    def add_pour(
        self,
        name: str,
        pour: Pour,
        revision: int | None = None,
        *,
        readings: Iterable[PlaceReading] = (),
        photos: Iterable[Photo] = (),
        from_bottles: Mapping[str, float] | None = None,
    ) -> KeptPour:
        """Record a pour, and what it took from stock bottles; see `book_pours.add_pour`."""
        return book_pours.add_pour(self._store, name, pour, revision, readings, photos, from_bottles)

    def add_to_pour(
        self,
        name: str,
        number: int,
        *,
        readings: Iterable[PlaceReading] = (),
        photos: Iterable[Photo] = (),
        note: str = "",
        set_aside: str = "",
    ) -> KeptPour:
        """Add what came to be known later; see `book_pours.add_to_pour`."""
        return book_pours.add_to_pour(self._store, name, number, readings, photos, note, set_aside)

    def pours(self, name: str, revision: int | None = None) -> tuple[KeptPour, ...]:
        """The pours of a recipe, in the order in which they were recorded."""
        return book_pours.pours(self._store, name, revision)

    def photo(self, sha256: str) -> bytes | None:
        """The bytes of a kept photo."""
        return book_pours.photo_bytes(self._store, sha256)

    # The shelf --------------------------------------------------------------------------------------------------------

    def bottles(self, pigment: str | None = None) -> tuple[StockBottle, ...]:
        """Stock bottles with something in them, as they are now."""
        return book_shelf.bottles(self._store, pigment)

    def add_bottle(self, bottle: StockBottle) -> StockBottle:
        """Put a bottle on the shelf. Raises InUse."""
        return book_shelf.add_bottle(self._store, bottle)

    def use_bottle(self, name: str, grams: float, what: str = "") -> StockBottle:
        """Take grams out of a bottle. Raises NotThere, ValueProblem."""
        return book_shelf.use_bottle(self._store, name, grams, what)

    def set_bottle_left(self, name: str, grams: float, what: str = "") -> StockBottle:
        """Say how much is in a bottle, weighed again; 0: empty."""
        return book_shelf.set_bottle_left(self._store, name, grams, what)

    def set_bottle_strength(self, name: str, strength: float, spread: float, note: str = "") -> StockBottle:
        """Say how strong a bottle was found to be."""
        return book_shelf.set_bottle_strength(self._store, name, strength, spread, note)

    def lot_strength(self, pigment: str, lot: str) -> tuple[float, float] | None:
        """Strength of a lot and its relative spread, as last measured; None where nobody has."""
        return book_shelf.lot_strength(self._store, pigment, lot)

    def set_lot_strength(
        self, pigment: str, lot: str, strength: float, spread: float = 0.0, on: str = "", note: str = ""
    ) -> Lot:
        """Say how strong a lot is against the pigment of the chips."""
        return book_shelf.set_lot_strength(self._store, pigment, lot, strength, spread, on, note)

    def add_lot(self, pigment: str, lot: str, on: str = "", note: str = "") -> Lot:
        """A lot came in; its check chip is not read yet."""
        return book_shelf.set_lot_strength(self._store, pigment, lot, None, 0.0, on, note)

    def lots(self, pigment: str | None = None) -> tuple[Lot, ...]:
        """Every lot that the book knows."""
        return book_shelf.lots(self._store, pigment)

    def add_check_chip(self, chip: CheckChip) -> None:
        """Record a check chip as it was read."""
        book_shelf.add_check_chip(self._store, chip)

    def check_chips(self, pigment: str | None = None, lot: str | None = None) -> tuple[CheckChip, ...]:
        """Check chips, in the order in which they were recorded."""
        return book_shelf.check_chips(self._store, pigment, lot)

    # The book itself --------------------------------------------------------------------------------------------------

    def export(self, names: Iterable[str] | None = None) -> str:
        """The book, or some recipes of it, as one JSON text; see `book_export.export`."""
        return book_export.export(self._store, names)

    def import_(self, text: str, where: object) -> Imported:
        """Bring in what an export holds and the book does not; see `book_export.import_`."""
        return book_export.import_(self._store, text, where)

    def backup(self, path: str | Path) -> Backup:
        """A verified copy in a new file; see `book_care.backup`."""
        return book_care.backup(self._store, Path(path))

    def check(self) -> Checked:
        """Whether all is as it was written; see `book_care.check`."""
        return book_care.check(self._store)
