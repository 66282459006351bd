"""What can go wrong on the way to a batch sheet, beyond what scales and bottles say in errors.py."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tintmix.errors import TintmixError
from tintmix.files.words import did_you_mean, plain
from tintmix.numerals import numeral


class BatchNotSaid(TintmixError):
    """A sheet without the size of its batch."""

    def __init__(self) -> None:
        super().__init__(
            "how much resin is not said: give the batch in grams (--batch 450), the mould's volume in cm³ (--volume 400), or "
            "the water that fills it in grams (--water 400)."
        )


class BatchSaidTwice(TintmixError):
    """A batch told in two ways."""

    def __init__(self, given: Sequence[str]) -> None:
        super().__init__(f"{' and '.join(given)} both say how much resin; give one of them.")


class WasteOfBatch(TintmixError):
    """A waste allowance on a batch that is told in grams."""

    def __init__(self) -> None:
        super().__init__(
            "--waste goes with --volume or --water; a --batch in grams is mixed as it stands, so leave --waste out."
        )


class NoResin(TintmixError):
    """A recipe that does not hold its resin."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: the recipe does not hold its resin, so its parts are not known. Name its file with --resin."
        )


class OneCupRecipe(TintmixError):
    """A recipe of a one-cup model: nobody knows what was in the cup."""

    def __init__(self, where: object, dose: float) -> None:
        super().__init__(
            f"{plain(str(where), 300)}: its one pigment is the whole mix of a cup, which no bottle holds. Take "
            f"{numeral(dose, 4)} "
            "times what you put into that cup for as much resin, or make chips of the single pigments."
        )


class SheetEnding(TintmixError):
    """A sheet whose kind the file's ending does not tell."""

    def __init__(self, where: object) -> None:
        super().__init__(f"{where}: a batch sheet is written as .pdf or .txt, by the ending of its name.")


class LotOfNothing(TintmixError):
    """A lot of a pigment that the recipe does not use."""

    def __init__(self, pigment: str, known: Iterable[str]) -> None:
        known = list(known)
        told = f"; {did_you_mean(pigment, known)}" if known else ", which has none"
        super().__init__(f"--lot: the recipe uses no pigment {plain(pigment)!r}{told.rstrip('?')}.")


class RevisionOfFile(TintmixError):
    """A revision asked of a recipe file, which is one."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: is a recipe file, and --revision picks one out of the book; leave it out, or name the recipe as the "
            "book has it."
        )


class RecipeNowhere(TintmixError):
    """A recipe that is neither a file nor in the book."""

    def __init__(self, name: object) -> None:
        super().__init__(
            f"{plain(str(name), 300)}: there is no such file, and no recipe of that name in the book. Name a file that "
            "`tintmix solve --keep` wrote, or a recipe that `tintmix book list` shows."
        )
