"""What can be wrong with a fit, a model or a question put to it."""

from collections.abc import Iterable

from tintmix.errors import TintmixError
from tintmix.numerals import numeral


class NothingToFit(TintmixError):
    """No chip with a reading is left."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where}: no chip has a reading that can be used; at least one is needed. "
            "Read a chip, or take `use = no` off one."
        )


class PigmentWithoutChips(TintmixError):
    """A pigment of the set is in no chip that could be used."""

    def __init__(self, pigment: str, where: str) -> None:
        super().__init__(
            f"{where}: no usable chip holds {pigment}, so nothing is known of its strength. "
            f"Pour one cup with it, or take its column and its table out of the set."
        )


class SetsDisagree(TintmixError):
    """Two sets of one fit differ in what they must share."""

    def __init__(self, what: str, first: object, second: object) -> None:
        super().__init__(
            f"the chip sets of one fit must share the {what}, but one says {first} and another {second}. "
            "Fit them apart, or correct the set that is wrong."
        )


class NoCameraKnown(TintmixError):
    """A piece read by a camera of which the model knows nothing."""

    def __init__(self) -> None:
        super().__init__(
            "the glass is given by camera channels, but no chip of this model was read by a camera. "
            "Give its lab or its spectrum, or fit a set of camera readings taken beside it."
        )


class UnknownPigment(TintmixError):
    """A dose of a pigment that the model has never seen."""

    def __init__(self, pigment: str, known: Iterable[str]) -> None:
        super().__init__(f"this model knows no pigment {pigment!r}; it knows {', '.join(known)}.")


class DoseOutOfRange(TintmixError):
    """A dose that is negative or not a number."""

    def __init__(self, pigment: str, dose_phr: float) -> None:
        super().__init__(
            f"a dose of {numeral(dose_phr, 4)} phr of {pigment} cannot be; a dose is zero or more, and finite."
        )


class ThicknessOutOfRange(TintmixError):
    """A thickness that is not a positive number."""

    def __init__(self, thickness_mm: float) -> None:
        super().__init__(
            f"a thickness of {numeral(thickness_mm, 4)} mm cannot be; a thickness is above 0 mm and at most 1000 mm."
        )


class ModelUnreadable(TintmixError):
    """A file that is not a model of this program."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: not a tintmix model that can be read ({reason}). Make it again with `tintmix fit`.")


class PlanImpossible(TintmixError):
    """A plan that cannot be made of what was given."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what}.")
