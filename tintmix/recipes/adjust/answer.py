"""What `adjust` answers: the outcome, what goes into the pot, the places before and after, and the costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from tintmix.errors import Note
from tintmix.files.plain import table_of
from tintmix.numerals import SUREST
from tintmix.optics.paths import PathLength
from tintmix.optics.section import Section
from tintmix.recipes.adjust.belief import SURPRISE, LotStrength
from tintmix.recipes.adjust.weigh import Addition


class Outcome(StrEnum):
    """What to do."""

    KEEP = "keep"
    TOP_UP = "top-up"
    DILUTE = "dilute"
    START_AGAIN = "start again"
    TOO_LATE = "too late"


@dataclass(frozen=True, slots=True)
class Place:
    """A section before and after. delta_e00: of the mean colour from the target; delta_e00_95: 95 % of what is believed
    possible lies within it of the target."""

    name: str
    thickness_mm: float | None
    target_lab: tuple[float, float, float]
    tolerance: float
    lab: tuple[float, float, float]
    delta_e00: float
    delta_e00_95: float
    chance_within_tolerance: float


@dataclass(frozen=True, slots=True)
class SeenPlace(Place):
    """The same of a place that is seen by paths, which has no thickness."""

    straight_mm: float
    path_mm: PathLength


def place_of(section: Section, **told: Any) -> Place:
    """What is told of a section, as its kind of place."""
    if section.seen is None:
        return Place(name=section.name, thickness_mm=section.thickness_mm, **told)
    seen = section.seen
    return SeenPlace(name=section.name, thickness_mm=None, straight_mm=seen.straight_mm, path_mm=seen.path_mm, **told)


@dataclass(frozen=True, slots=True)
class Cost:
    """What the pour takes from the shelf, the other parts not counted. money: None where a price is not known."""

    resin_g: float
    pigments_g: Mapping[str, float]
    money: float | None


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What to do about a trial that is off.

    aside_g: tinted part that is taken out first, where the pot is too small. additions, plain_g: into the pot, plain_g of the
    untinted part that takes pigment. other_parts: what the whole pot is then mixed with. mixed_g: resin that it makes. before,
    after: the places as the pot is and as it will be (the same where nothing is added). order: what to do at the bench, step
    by step. chance_*: that every place is within tolerance: as it is, adjusted, and of a fresh batch by next_doses_phr, which
    is weighed for these lots. strengths: of the lots, as now believed. costs: "adjust" (where there is a way) and
    "start_again". contradicts: whether the model's own chips contradict each other. slips: pigments that may have been weighed
    wrong.
    """

    outcome: Outcome
    aside_g: float
    additions: tuple[Addition, ...]
    plain_g: float
    part: str
    other_parts: tuple[tuple[str, float], ...]
    tinted_g: float
    mixed_g: float
    before: tuple[Place, ...]
    after: tuple[Place, ...]
    chance_before: float
    chance_after: float
    chance_fresh: float
    next_doses_phr: Mapping[str, float]
    strengths: Mapping[str, LotStrength]
    costs: Mapping[str, Cost]
    surprise: float
    contradicts: bool = False
    slips: tuple[str, ...] = ()
    says: str = ""
    order: tuple[str, ...] = ()
    warnings: tuple[str | Note, ...] = ()

    @property
    def is_doubtful(self) -> bool:
        """Whether the reading is hardly possible."""
        return self.surprise > SURPRISE

    @property
    def tells_chance(self) -> bool:
        """Whether reading and model are sound enough; where not, no chance is told."""
        return not (self.is_doubtful or self.contradicts)

    def as_table(self) -> dict[str, Any]:
        """Its JSON, as formats.md has it, for `finite`."""
        chances = (self.chance_before, self.chance_after, self.chance_fresh)
        told: dict[str, float | None] = dict(
            zip(("as_it_is", "adjusted", "started_again"), (min(one, SUREST) for one in chances), strict=True)
        )
        untold = {}
        if not self.tells_chance:
            told, untold = dict.fromkeys(told), {"chance_within_tolerance": None}
        before, after = (
            [table_of(one, chance_within_tolerance=min(one.chance_within_tolerance, SUREST)) | untold for one in places]
            for places in (self.before, self.after)
        )
        return {
            "outcome": self.outcome,
            "says": self.says,
            "set_aside_g": self.aside_g,
            "additions": [
                table_of(
                    one,
                    ("made",),
                    letdown=one.letdown or None,
                    make_first=one.made and {"pigment_g": one.made.first_g, "carrier_g": one.made.carrier_g},
                    existing=bool(one.letdown) and one.made is None,
                )
                for one in self.additions
            ],
            "untinted_part": {"name": self.part, "grams": self.plain_g},
            "other_parts": [{"name": name, "grams": grams} for name, grams in self.other_parts],
            "tinted_part_g": self.tinted_g,
            "mixed_resin_g": self.mixed_g,
            "sections_before": before,
            "sections_after": after,
            "chance_within_tolerance": told,
            "next_doses_phr": self.next_doses_phr,
            "lot_strengths": {p: table_of(one, ("surprise",)) for p, one in self.strengths.items()},
            "costs": {key: self.costs.get(key) for key in ("adjust", "start_again")},
            "surprise": self.surprise,
            "order": self.order,
            "warnings": self.warnings,
        }  # fmt: skip
