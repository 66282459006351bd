"""What can be wrong with a picture: where it should go, and what it is asked to show."""

from __future__ import annotations

from tintmix.errors import TintmixError
from tintmix.numerals import numeral


class NothingToShow(TintmixError):
    """A picture of nothing."""

    def __init__(self, picture: str, missing: str) -> None:
        super().__init__(f"{picture}: there is nothing to show, since {missing}.")


class TooManySections(TintmixError):
    """More sections than fit side by side."""

    def __init__(self, picture: str, count: int, limit: int) -> None:
        super().__init__(f"{picture}: {count} places do not fit side by side, {limit} do. Draw them in two pictures.")


class RangeOutOfSense(TintmixError):
    """A range of thickness that is none."""

    def __init__(self, low_mm: float, high_mm: float, limit_mm: float) -> None:
        super().__init__(
            f"a strip from {numeral(low_mm)} to {numeral(high_mm)} mm cannot be drawn; it begins at 0 mm or more, "
            f"ends thicker than it begins, and at most at {numeral(limit_mm)} mm."
        )


class FloorOutOfSense(TintmixError):
    """A floor on the light that is no fraction."""

    def __init__(self, floor: float) -> None:
        super().__init__(
            f"a floor of {numeral(floor)} on the light that comes through cannot be; "
            "it is a fraction between 0 and 1 (8 % is 0.08)."
        )


class TargetsDisagree(TintmixError):
    """Targets or tolerances that are not one for each section."""

    def __init__(self, what: str, given: int, sections: int) -> None:
        super().__init__(
            f"{given} {what} are given for {sections} places; give one for each, none where a place has none."
        )
