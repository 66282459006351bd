"""What can be wrong with a question about a trial that came out off, or about a new lot."""

from __future__ import annotations

from collections.abc import Iterable

from tintmix.errors import TintmixError
from tintmix.numerals import numeral


class TrialThickness(TintmixError):
    """A trial chip at a thickness that nobody casts."""

    def __init__(self, where: str, thickness_mm: float, highest_mm: float) -> None:
        super().__init__(
            f"{where}: a chip {numeral(thickness_mm)} mm thick was never cast; the thickness lies above 0 and up to "
            f"{numeral(highest_mm)} mm. Measure it where it was read."
        )


class TrialImpossible(TintmixError):
    """A reading that no chip of this resin can give."""

    def __init__(self, where: str, what: str) -> None:
        super().__init__(f"{where}: {what}. Read the chip again, or check the numbers that were typed.")


class TrialNotRead(TintmixError):
    """No reading, or a number of them that does not go with the thicknesses."""

    def __init__(self, thicknesses: int, readings: int) -> None:
        super().__init__(
            f"{thicknesses} thickness{'es' if thicknesses != 1 else ''} and {readings} reading{'s' if readings != 1 else ''} "
            "of it: give one reading for each chip with its thickness in mm, and at least one chip."
        )


class TrialUntinted(TintmixError):
    """A check chip without pigment."""

    def __init__(self) -> None:
        super().__init__("the chip holds no pigment, so it tells of no lot's strength. Name its doses in phr.")


class PotUntinted(TintmixError):
    """A recipe without pigment, and nothing weighed beside it."""

    def __init__(self, recipe: str) -> None:
        super().__init__(
            f"{recipe}: this recipe is the untinted resin, so there is no pigment in the pot to adjust. Find a recipe with "
            "pigment for the colour that you want, and tint the pot by that."
        )


class TrialCameraUnknown(TintmixError):
    """A trial read by a camera of which the model knows nothing."""

    def __init__(self) -> None:
        super().__init__(
            "the trial is given by camera channels, but no chip of this model was read by a camera. Give its L*a*b* or its "
            "spectrum, or name the chip set that says how the camera is known."
        )


class WeightOutOfRange(TintmixError):
    """A weight below zero, or none at all where there must be one, or more than any pot holds."""

    def __init__(self, what: str, grams: float, least: str, most_g: float) -> None:
        super().__init__(
            f"{what}: {grams:g} g cannot be; a weight is {least}, and at most {most_g:g} g. Weigh it again."
        )


class TooLittleToWeigh(TintmixError):
    """A pot so small that no scale at hand weighs it."""

    def __init__(self, left_g: float, step_g: float, least_g: float) -> None:
        super().__init__(
            f"{left_g:g} g of tinted resin are too little for a scale that shows {step_g:g} g: at least {least_g:g} g must "
            "be left. Tint a new pot, or name a finer scale (--scale)."
        )


class MoreCarrierThanPart(TintmixError):
    """Stock bottles that bring more of a part than the batch holds."""

    def __init__(self, part: str, carrier_g: float, part_g: float) -> None:
        super().__init__(
            f"what was weighed from stock bottles brought {carrier_g:.4g} g of part {part}, but the whole batch holds only "
            f"{part_g:.4g} g of it. Check the weights and the batch."
        )


class SpreadOutOfRange(TintmixError):
    """A strength or its spread that is none."""

    def __init__(self, what: str, value: float, sense: str) -> None:
        super().__init__(f"{what} is {numeral(value)}; it must be {sense}.")


class MoreLeftThanMade(TintmixError):
    """More of the tinted part left than there ever was."""

    def __init__(self, left_g: float, made_g: float) -> None:
        super().__init__(
            f"{left_g:g} g of tinted resin are said to be left, but only {made_g:g} g were made. Weigh the pot again, less "
            "the empty pot."
        )


class PotTooSmall(TintmixError):
    """A pot that does not hold what is in it."""

    def __init__(self, pot_g: float, left_g: float) -> None:
        super().__init__(
            f"the pot is said to hold {pot_g:g} g, but {left_g:g} g of tinted resin are in it. Give what it holds when full."
        )


class NotInRecipe(TintmixError):
    """A weight of something that the recipe does not hold."""

    def __init__(self, pigment: str, known: Iterable[str]) -> None:
        super().__init__(
            f"{pigment!r} is no pigment of this model, and no stock bottle such as '{next(iter(known), 'azure')} 1+50'; it knows "
            f"{', '.join(known)}."
        )


class StockUnknown(TintmixError):
    """A stock bottle that cannot be."""

    def __init__(self, name: str, why: str) -> None:
        super().__init__(
            f"stock bottle {name!r}: {why}. Write it as 'azure 1+50', one part pigment in 50 parts of carrier."
        )


class OneCupOnly(TintmixError):
    """A model that knows the mix as a whole only."""

    def __init__(self) -> None:
        super().__init__(
            "this model knows one cup as a whole, not its pigments, so it cannot say which of them to add. Plan and fit chips "
            "of each pigment first."
        )


class ResinPartsUnknown(TintmixError):
    """A resin of which it is not known what parts it has, or which of them takes pigment."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what}, so what goes to it cannot be worked out. Give the resin's file with its parts and takes_pigment (--resin "
            "FILE)."
        )


class NothingToMatch(TintmixError):
    """A recipe without a wanted colour."""

    def __init__(self, where: object) -> None:
        super().__init__(f"{where}: no place on the casting has a colour to come to, so nothing says what is off.")


class AgeOutOfRange(TintmixError):
    """An age of a mix that cannot be."""

    def __init__(self, minutes: float) -> None:
        super().__init__(
            f"mixed {numeral(minutes)} minutes ago cannot be; give the minutes since the parts were mixed, 0 or more."
        )


class PriceOfNothing(TintmixError):
    """A price of something that neither is weighed out."""

    def __init__(self, what: str, known: Iterable[str]) -> None:
        super().__init__(f"a price is given for {what!r}; prices are of 'resin' and of {', '.join(known)}.")


class PriceOutOfRange(TintmixError):
    """A price below zero."""

    def __init__(self, what: str, price: float) -> None:
        super().__init__(f"the price of {what} is {numeral(price)} a gram; a price is zero or more, and finite.")


class HistoryNeedsPart(TintmixError):
    """Grams of pigment, but not into how much."""

    def __init__(self, part: str) -> None:
        super().__init__(
            f"what was weighed is told, but not into how much of part {part}: say how much of it was poured in (--part), or the "
            "batch that was weighed out (--batch)."
        )


class TwoWaysOfReading(TintmixError):
    """A light or an observer beside a chip set that says both."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: the chip set says under which light and for which observer its chips were read. Leave out --light and "
            "--observer, or the set."
        )


class HistoryTwice(TintmixError):
    """The part and the batch both told."""

    def __init__(self, part: str) -> None:
        super().__init__(
            f"how much of part {part} there was is told twice: keep its weight (--part), or the batch that the "
            "sheet was made for (--batch)."
        )


class TrialKindDiffers(TintmixError):
    """A chip set that says how another kind of reading was made."""

    def __init__(self, where: object, has: str, given: str) -> None:
        super().__init__(
            f"{where}: its chips were read as {has}, and the trial is given as {given}. Read the trial as the chips were, or "
            "leave the chip set out and say light and observer."
        )


class TrialSampleCount(TintmixError):
    """A file with more or fewer spectra than trial chips."""

    def __init__(self, where: object, found: int, chips: int, names: Iterable[str]) -> None:
        told = ", ".join(list(names)[:8])
        super().__init__(
            f"{where}: holds {found} spectra ({told}) for {chips} trial chip{'s' if chips != 1 else ''}. Name the one that is "
            "meant with --sample, once for each chip."
        )


class BottleOfAnother(TintmixError):
    """A check chip of one pigment for a stock bottle of another."""

    def __init__(self, bottle: str, pigment: str, used: Iterable[str]) -> None:
        super().__init__(
            f"stock bottle {bottle!r} holds {pigment}, but the check cup was tinted with {', '.join(used)}. Name the bottle it "
            "was weighed from."
        )


class StrengthNotKept(TintmixError):
    """A strength to be kept of which it is not said whose it is."""

    def __init__(self, missing: Iterable[str]) -> None:
        super().__init__(
            f"the lot of {', '.join(missing)} is not named, so nothing can be kept of it. Name it, as in --lot azure=A-18."
        )
