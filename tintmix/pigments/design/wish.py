"""What a maker has and wants of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from tintmix.errors import ValueProblem
from tintmix.optics.detector import eye
from tintmix.optics.spectrum import Array
from tintmix.pigments.design.forecast import Reader
from tintmix.pigments.design.sight import Instrument, colorimeter
from tintmix.quantities import MOULD_MM, TOTAL_PHR

MOST_CUPS = 40
"""More than a maker pours in one go."""
MOST_CHIPS_A_CUP = 4
"""The cup's own dose error is in all of them, so that each further one tells less."""
MOST_LENGTHS = 12
"""Places, and moulds: far more than any part or bench has, and a bound on what is drawn and printed."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the maker has and wants.

    part_phr: (P,), the dose of each pigment meant for the casting. sections_mm: of the part. cast_mm: thicknesses that can be
    cast. chips_per_cup: thicknesses poured from each cup. least_phr, max_phr: (P,), the smallest dose that can be weighed and
    the largest allowed. dose_spread: relative, a cup. Raises ValueProblem.
    """

    part_phr: Array
    sections_mm: tuple[float, ...]
    cast_mm: tuple[float, ...]
    cups: int
    chips_per_cup: int = 1
    instrument: Instrument = field(default_factory=lambda: colorimeter(eye("D65", 10)))
    refractive_index: float = 1.5
    least_phr: Array | None = None
    max_phr: Array | None = None
    max_total_phr: float | None = None
    dose_spread: float = 0.02
    thickness_spread_mm: float = 0.05

    def __post_init__(self) -> None:
        check_lengths(self.sections_mm, self.cast_mm)
        for value in self.part_phr:
            TOTAL_PHR.check("a dose for the casting", value)
        if not 1 <= self.cups <= MOST_CUPS:
            raise ValueProblem(what="the number of cups", found=self.cups, limit=f"from 1 to {MOST_CUPS}")
        if not 1 <= self.chips_per_cup <= MOST_CHIPS_A_CUP:
            raise ValueProblem(
                what="the number of chips from a cup", found=self.chips_per_cup, limit=f"from 1 to {MOST_CHIPS_A_CUP}"
            )

    @property
    def reader(self) -> Reader:
        """How the cups will be poured and read."""
        return Reader(
            instrument=self.instrument, dose_spread=self.dose_spread, thickness_spread_mm=self.thickness_spread_mm
        )


def check_lengths(sections_mm: Sequence[float], cast_mm: Sequence[float]) -> None:
    """See that places and moulds have sensible thicknesses, and are few enough. Raises ValueProblem."""
    for what, each, values in (
        ("place on the casting", "a place on the casting", sections_mm),
        ("thickness that can be cast", "a thickness to cast", cast_mm),
    ):
        if not 1 <= len(values) <= MOST_LENGTHS:
            raise ValueProblem(
                what=f"a plan needs at least one {what} and takes at most {MOST_LENGTHS}; it got {len(values)}"
            )
        for value in values:
            MOULD_MM.check(each, value)
