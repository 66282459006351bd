"""What can go wrong when a recipe meets a scale: scales, batches, bottles, dose bases."""

from __future__ import annotations

from collections.abc import Iterable

from tintmix.errors import TintmixError
from tintmix.files.words import did_you_mean, number_plain, plain
from tintmix.numerals import numeral


class BadScale(TintmixError):
    """A scale that cannot be."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"the scale cannot be used: {what}. Write its smallest step in grams, as 0.01, "
            "or readability:repeatability:capacity, as 0.01:0.02:200."
        )


class BadScales(TintmixError):
    """Bench that are not told as resin and pigment."""

    def __init__(self, text: str, reason: str) -> None:
        super().__init__(
            f"the scale {plain(text)!r} {reason}. Write one scale for all, as 0.01, "
            "or one each, as resin=0.1:0.1:2000 and pigment=0.001."
        )


class BadBottle(TintmixError):
    """A stock bottle that cannot be."""

    def __init__(self, name: object, problem: str) -> None:
        super().__init__(f"stock bottle {plain(name)!r}: {problem}. Correct what is kept of that bottle.")


class BadBottleTable(TintmixError):
    """A table of a plan's stock bottles that cannot be used."""

    def __init__(self, where: str, problem: str) -> None:
        super().__init__(f"{where}: {problem}. Correct it there.")


class CarrierNotSaid(TintmixError):
    """A planned bottle of which nobody knows what it is diluted in."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"stock bottle {plain(name)!r}: the resin of the plan does not say which part takes pigment, so its carrier "
            "is not known. Plan with a resin that says so."
        )


class NoBottlesPlanned(TintmixError):
    """A folder without the stock bottles of a plan."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"{folder}: no stock bottles are planned there (bottles.csv is missing). Name the folder that a plan with stock "
            "bottles was written to."
        )


class BadBatch(TintmixError):
    """A batch, a volume or a waste allowance that is no amount."""

    def __init__(self, what: str, value: object, unit: str, least: float, most: float, at_least: bool = False) -> None:
        lowest = "at least" if at_least else "above"
        super().__init__(
            f"{what} is {number_plain(value)} {unit}; it must be {lowest} {numeral(least)} and at most "
            f"{number_plain(most)} {unit}. "
            "Give another number."
        )


class NoDensity(TintmixError):
    """A batch by volume of a resin whose density nobody told."""

    def __init__(self, resin: str, why: str) -> None:
        super().__init__(
            f"resin {plain(resin)!r}: {why} needs its density, and neither density_g_per_cm3 of the resin nor of every "
            "part is given. Write it into the resin file, or give the batch in grams."
        )


class NoParts(TintmixError):
    """A resin that does not say what it is mixed from."""

    def __init__(self, resin: str) -> None:
        super().__init__(
            f"resin {plain(resin)!r}: its parts and their weights are not given. Write a [[part]] table for each into the "
            "resin file, and name that file with --resin."
        )


class NoTintedPart(TintmixError):
    """A resin of several parts that does not say which of them pigment goes into."""

    def __init__(self, resin: str, parts: Iterable[str]) -> None:
        listed = ", ".join(plain(part, 30) for part in parts)
        super().__init__(
            f"resin {plain(resin)!r}: takes_pigment is missing, so the part that pigment goes into is not known. "
            f"Write it into the resin file; its parts are {listed}."
        )


class NoSuchPart(TintmixError):
    """A part that the resin has not."""

    def __init__(self, part: str, resin: str, parts: Iterable[str]) -> None:
        super().__init__(
            f"resin {plain(resin)!r} has no part {plain(part)!r}; {plain(did_you_mean(part, parts), 200).rstrip('?')}."
        )


class BadDose(TintmixError):
    """A dose that is no amount."""

    def __init__(self, pigment: str, dose: object, unit: str = "phr", most: float = 1000.0) -> None:
        super().__init__(
            f"the dose of {plain(pigment)} is {number_plain(dose)} {unit}; a dose is a number from 0 to "
            f"{number_plain(most)}. Correct it."
        )


class BadStrength(TintmixError):
    """A lot's strength that cannot be."""

    def __init__(self, pigment: str, factor: object, spread: object) -> None:
        super().__init__(
            f"the strength of {plain(pigment)} is {plain(factor)} with a relative spread of {plain(spread)}; the strength "
            "must lie between 0.01 and 100, the spread between 0 and 1. Correct it, or read the lot's check chip again."
        )


class BatchTooSmall(TintmixError):
    """An amount that no scale at hand can weigh."""

    def __init__(
        self, what: str, grams: float, batch_g: float, finest_g: float, enough_g: float | None, diluted: bool = False
    ) -> None:
        not_even = ", not even from a stock bottle diluted twice" if diluted else ""
        cure = f"make at least {_round(enough_g)} g, or use" if enough_g is not None and enough_g > batch_g else "use"
        super().__init__(
            f"a batch of {batch_g:g} g asks for {grams:.3g} g of {plain(what)}, which a scale that shows {finest_g:g} g "
            f"cannot weigh{not_even} (ten of its steps are the least that is asked of it): {cure} a finer scale."
        )


class NoRoomForCarrier(TintmixError):
    """A stock bottle would bring more of the tinted part than the part holds."""

    def __init__(self, pigment: str, part: str, part_g: float, finest_g: float, enough_g: float | None) -> None:
        cure = f"make at least {_round(enough_g)} g, or use" if enough_g is not None else "use"
        super().__init__(
            f"{plain(pigment)} is too little to be weighed neat on a scale that shows {finest_g:g} g, and every stock "
            f"bottle of it would bring more of part {plain(part)} than there is room for ({part_g:.4g} g in all): "
            f"{cure} a finer scale."
        )


class CapacityExceeded(TintmixError):
    """More than a scale can take in any sensible number of weighings."""

    def __init__(self, what: str, grams: float, capacity_g: float, most_portions: int) -> None:
        super().__init__(
            f"{grams:.6g} g of {plain(what)} would take more than {most_portions} weighings on a scale that holds "
            f"{capacity_g:g} g, the vessel included: make a smaller batch or use a larger scale."
        )


class BadBasis(TintmixError):
    """A dose basis that is not known."""

    def __init__(self, basis: str, known: Iterable[str]) -> None:
        super().__init__(
            f"{plain(basis)!r} is no dose basis; {plain(did_you_mean(basis, known), 200).rstrip('?')}. Write one of these."
        )


class BasisNeeds(TintmixError):
    """A conversion for which a number is missing."""

    def __init__(self, basis: str, missing: str) -> None:
        super().__init__(f"a dose as {plain(basis)} needs {missing}. Give that too.")


class BadMeasure(TintmixError):
    """A density, a drop's mass or a temperature that cannot be."""

    def __init__(self, what: str, value: object, unit: str, least: float, most: float, at_least: bool = False) -> None:
        lowest = "at least" if at_least else "above"
        super().__init__(
            f"{what} is {number_plain(value)} {unit}; it must be {lowest} {numeral(least)} and at most {numeral(most)} {unit}. "
            "Measure it again."
        )


def _round(grams: float) -> str:
    return f"{grams:.0f}" if grams >= 10 else f"{grams:.2g}"
