"""What can be wrong with the recipe book, and with what is put into it or asked of it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from tintmix.errors import TintmixError
from tintmix.files.words import plain
from tintmix.numerals import numeral


class BookMissing(TintmixError):
    """No book where one is read."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: there is no recipe book. `tintmix book keep RECIPE` starts one; name another with --book FILE."
        )


class BookPlace(TintmixError):
    """A place where no book can be made."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: no recipe book can be made there ({reason}). Name a file in a folder that exists and that you "
            "may write to, with --book FILE."
        )


class BookForeign(TintmixError):
    """A file that is not a recipe book."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: is not a recipe book of tintmix ({reason}); it was left as it is. Name another file with --book."
        )


class BookTooNew(TintmixError):
    """A book that a later version has written."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            f"{where}: is in book format {found}, and this version knows up to {known}; it was left as it is. "
            "Bring tintmix up to date."
        )


class BookLocked(TintmixError):
    """A book that another program holds."""

    def __init__(self, where: object, seconds: float) -> None:
        super().__init__(
            f"{where}: another program holds the book, and {numeral(seconds)} s of waiting did not help; nothing was changed. "
            "Close what uses it and try again."
        )


class BookReadOnly(TintmixError):
    """A book that may be read but not written."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: the book can only be read there, so nothing was kept. "
            "Take away its write protection, or name another with --book FILE."
        )


class BookFull(TintmixError):
    """No room on the disk."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: the disk is full, so this was not kept; all that was kept before is still there. "
            "Make room and do it again."
        )


class BookDisk(TintmixError):
    """A disk that fails while the book is read or written."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: the disk refused ({plain(reason, 100)}), so this was not done; what was kept before was not "
            "touched. See whether the disk has room and is sound, then do it again."
        )


class BookDamaged(TintmixError):
    """A book whose file is broken."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: the book's file is damaged ({plain(reason, 100)}). Put it aside, take the last backup in its "
            "place, and import what you exported since."
        )


class RecipeNotInBook(TintmixError):
    """A name that no kept recipe has."""

    def __init__(self, where: object, name: str, known: Iterable[str]) -> None:
        known = list(known)
        near = difflib.get_close_matches(name[:120], known, n=1)
        more = f" and {len(known) - 8} more" if len(known) > 8 else ""
        told = f"did you mean {plain(near[0])}?" if near else f"kept are {', '.join(map(plain, known[:8]))}{more}."
        super().__init__(f"{where}: no recipe {plain(name)!r} is kept there; {told if known else 'the book is empty.'}")


class RevisionNotInBook(TintmixError):
    """A revision that is not there."""

    def __init__(self, name: str, revision: int, known: Iterable[int]) -> None:
        listed = ", ".join(str(number) for number in known)
        super().__init__(f"recipe {plain(name)!r} has no revision {revision}; it has {listed}.")


class NameOutOfSense(TintmixError):
    """A name under which nothing can be found again."""

    def __init__(self, what: str, name: str) -> None:
        super().__init__(
            f"{plain(name)!r} cannot be the name of a {what}; a name has 1 to 120 characters on one line, "
            "and no space at its ends."
        )


class ModelGone(TintmixError):
    """A recipe whose model is not to be found."""

    def __init__(self, recipe: str, named: str, digest: str) -> None:
        told = f"its model file {plain(named, 200)}" if named else "its model, which it does not name,"
        super().__init__(
            f"recipe {plain(recipe)!r}: {told} (digest {digest[:12]}) is neither there, nor beside the recipe, nor in "
            "the book. Put the file back beside the recipe, or fit the same chips again."
        )


class NotItsModel(TintmixError):
    """A model that is another than the recipe was made from."""

    def __init__(self, recipe: str, model: object, found: str, wanted: str) -> None:
        super().__init__(
            f"{model}: is not the model that recipe {plain(recipe)!r} was made from (digest {found[:12]}, the recipe says "
            f"{wanted[:12]}). Name that model, or solve again with this one."
        )


class PlaceTaken(TintmixError):
    """A file that would be written over."""

    def __init__(self, where: object, what: str) -> None:
        super().__init__(f"{where}: is there already, and {what} does not overwrite it. Name a new file.")


class PlaceUnknown(TintmixError):
    """A reading of a place that the recipe's casting does not have."""

    def __init__(self, place: str, recipe: str, known: Iterable[str]) -> None:
        super().__init__(
            f"recipe {plain(recipe)!r} has no place {plain(place)!r} on its casting; a reading is of one of "
            f"{', '.join(known)}."
        )


class PourNotInBook(TintmixError):
    """A pour that is not there."""

    def __init__(self, recipe: str, number: int, count: int) -> None:
        told = f"it has pours 1 to {count}" if count else "no pour of it is recorded yet"
        super().__init__(f"recipe {plain(recipe)!r} has no pour {number}; {told}.")


class NothingToRecord(TintmixError):
    """An addition that adds nothing."""

    def __init__(self, recipe: str, number: int) -> None:
        super().__init__(
            f"pour {number} of {plain(recipe)!r}: nothing is given to add to it. Give a reading, a photo or a note."
        )


class AmountOutOfSense(TintmixError):
    """A weight or another amount that cannot be."""

    def __init__(self, what: str, value: object, sense: str) -> None:
        super().__init__(f"{what}: {plain(value)} cannot be; it must be {sense}.")


class DateOutOfSense(TintmixError):
    """A day that is none."""

    def __init__(self, what: str, found: object) -> None:
        super().__init__(f"{what}: {plain(found)!r} is no day; write it as year-month-day, such as 2027-03-01.")


class BottleNotInBook(TintmixError):
    """A stock bottle that is not on the shelf."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        listed = ", ".join(known)
        told = f"on the shelf are {listed}" if listed else "the shelf is empty"
        super().__init__(f"no stock bottle {plain(name)!r} with anything in it is in the book; {told}.")


class BottleThere(TintmixError):
    """A second bottle of one name."""

    def __init__(self, name: str, left_g: float) -> None:
        super().__init__(
            f"a stock bottle {plain(name)!r} with {left_g:.4g} g in it is on the shelf already. "
            "Give the new one another name, or say that the old one is empty."
        )


class BottleHoldsLess(TintmixError):
    """More taken from a bottle than it holds."""

    def __init__(self, name: str, grams: float, left_g: float) -> None:
        super().__init__(
            f"stock bottle {plain(name)!r} holds {left_g:.4g} g by the book, and {grams:.4g} g are to be taken from it. "
            "Weigh what is in it and say so with --left, or make a new one."
        )


class PhotoTooLarge(TintmixError):
    """A photo that would swell the book."""

    def __init__(self, where: object, size: int, limit: int) -> None:
        super().__init__(
            f"{where}: {size / 1e6:.1f} MB, and the book takes photos up to {numeral(limit / 1e6)} MB. Make it smaller, or keep "
            "only its fingerprint with --photo-fingerprint."
        )


class NotAnExport(TintmixError):
    """A file that is not an export of a book."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: is not an export that can be read ({plain(reason, 160)}); nothing was imported. "
            "Export it again with `tintmix book export`."
        )


class ExportTooNew(TintmixError):
    """An export that a later version has written."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            f"{where}: is in export format {plain(found)}, and this version reads up to {known}; nothing was imported. "
            "Bring tintmix up to date."
        )


class ExportDamaged(TintmixError):
    """An export whose content is not what was written."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: the export was changed or damaged after it was written ({plain(reason, 160)}); nothing was "
            "imported. Export it again."
        )


class NothingToCompare(TintmixError):
    """A recipe with one revision."""

    def __init__(self, name: str) -> None:
        super().__init__(f"recipe {plain(name)!r} has one revision, so there is nothing to compare it with.")


class NothingToRescale(TintmixError):
    """A re-scaling that says neither a resin nor a lot."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"recipe {plain(name)!r}: say what changes, --resin FILE or --lot pigment=LOT. Another batch needs no new "
            "recipe: `tintmix sheet --batch` takes any."
        )


class PigmentNotInRecipe(TintmixError):
    """A lot of a pigment that the recipe does not use."""

    def __init__(self, name: str, pigment: str, known: Iterable[str]) -> None:
        super().__init__(f"recipe {plain(name)!r} uses no pigment {plain(pigment)!r}; it uses {', '.join(known)}.")
