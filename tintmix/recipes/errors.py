"""What can be wrong with a target, and with a question put to `solve`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tintmix.errors import TintmixError
from tintmix.files.words import plain
from tintmix.numerals import numeral


class NoSection(TintmixError):
    """A target without a place on the casting."""

    def __init__(self, where: str) -> None:
        super().__init__(f"{where}: has no place; give at least one [[section]] with its thickness_mm and its colour.")


class NothingToAimAt(TintmixError):
    """Sections, but no colour for any of them."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where}: no place has a colour (lab, xyz or srgb) and there is no [glass] to speak for them, so there "
            "is nothing to aim at. Give one place a colour, or describe a glass piece."
        )


class SectionNamedTwice(TintmixError):
    """Two sections of one name."""

    def __init__(self, where: str, name: str) -> None:
        super().__init__(f"{where}: two places are named {name!r}; give each its own name.")


class ThicknessOutOfSense(TintmixError):
    """A thickness that no part has."""

    def __init__(self, where: str, thickness_mm: float, highest_mm: float) -> None:
        super().__init__(
            f"{where}: a thickness of {numeral(thickness_mm)} mm cannot be; it lies above 0 and up to {numeral(highest_mm)} mm."
        )


class NumberOutOfSense(TintmixError):
    """A tolerance, weight, width or refractive index outside what it can be."""

    def __init__(self, where: str, what: str, value: float, sense: str) -> None:
        super().__init__(f"{where}: {what} must be {sense}, it is {numeral(value)}.")


class ColourOutOfSense(TintmixError):
    """A target colour that no transmitted light can have."""

    def __init__(self, where: str, colour: str, reason: str) -> None:
        super().__init__(
            f"{where}: {colour} is no colour that this place can have ({reason}). Measure or choose it again."
        )


class ColourGivenTwice(TintmixError):
    """One thing described in more than one way."""

    def __init__(self, where: str, given: Iterable[str]) -> None:
        super().__init__(f"{where}: is given as {' and as '.join(given)}; keep one of them.")


class InsertIncomplete(TintmixError):
    """A place before an insert whose colour is not given, or an insert without a section before it."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(
            f'{where}: {reason}. A place before an insert says behind = "insert" and one of insert_lab, insert_srgb, '
            "insert_spectrum."
        )


class GroundUnknown(TintmixError):
    """A ground that is none of those offered."""

    def __init__(self, where: str, found: object) -> None:
        super().__init__(f'{where}: behind = {found!r} is not known; it is one of "panel", "white", "dark", "insert".')


class ObserverUnknown(TintmixError):
    """An observer other than 2 or 10 degrees."""

    def __init__(self, where: str, found: object) -> None:
        super().__init__(f"{where}: observer = {found!r} is not known; it is 2 or 10 (degrees).")


class GlassIncomplete(TintmixError):
    """A glass piece that says too little about itself."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(
            f"{where}: {reason}. A glass piece has thickness_mm and one of spectrum, lab, camera, or it has absorption "
            "(nm, and log10_per_mm or ln_per_mm)."
        )


class CurveOutOfSense(TintmixError):
    """A curve file of a target whose values cannot be."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: {reason}.")


class LimitOutOfSense(TintmixError):
    """A limit that is no limit."""

    def __init__(self, where: str, key: str, value: float, sense: str) -> None:
        super().__init__(f"{where}: limits.{key} must be {sense}, it is {numeral(value)}.")


class LimitsContradict(TintmixError):
    """Limits that leave nothing to choose from."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: the limits contradict each other: {reason}.")


class LeaveOutUnknown(TintmixError):
    """A pigment to leave out that the model does not have."""

    def __init__(self, unknown: Sequence[str], known: Iterable[str]) -> None:
        names = ", ".join(repr(name) for name in unknown)
        super().__init__(f"limits.leave_out: the model knows no pigment {names}; it knows {', '.join(known)}.")


class MostOutOfRange(TintmixError):
    """A number of proposals to return that is below one."""

    def __init__(self, most: object) -> None:
        super().__init__(f"the number of recipes to return must be a whole number from 1 to 1000, it is {most!r}.")


class RecipeUnreadable(TintmixError):
    """A file that is not a recipe of this program."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{plain(str(where), 300)}: not a recipe that can be read ({reason}). Make it again with `tintmix solve --keep`."
        )


class NothingToKeep(TintmixError):
    """A recipe asked for where no dose meets the limits."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: there is no recipe to keep, since no dose meets the limits. Loosen them and solve again."
        )
