"""What a maker has to know before mixing, chosen by the hazards of the resin's parts. The sentences are data: cautions.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from tintmix.resin import HAZARDS, Resin

ALL = "all"
COMMON_PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Caution:
    """One sentence. hazard: of HAZARDS, or "all". source: where the fact was looked up, or "common practice". checked: ISO
    date on which the source was read, empty for common practice.

    >>> Caution("all", "Sand wet.", "common practice").checked
    ''
    """

    hazard: str
    sentence: str
    source: str
    checked: str = ""

    def __post_init__(self) -> None:
        if self.hazard not in (*HAZARDS, ALL) or self.hazard == "none":
            raise ValueError(f"cautions.toml: {self.hazard!r} is no hazard")
        if not (self.sentence.strip() and self.source.strip()):
            raise ValueError("cautions.toml: a caution without a sentence or a source")
        if self.checked:
            date.fromisoformat(self.checked)
        elif self.source != COMMON_PRACTICE:
            raise ValueError(f"cautions.toml: nobody says when {self.source!r} was read")

    @property
    def told(self) -> str:
        """The sentence with its source behind it, as it stands on a batch sheet."""
        return f"{self.sentence} [{self.source}]"


@cache
def cautions() -> tuple[Caution, ...]:
    """All of them, the hazards of parts first, then what holds for every resin.

    >>> cautions()[0].hazard, cautions()[-1].hazard
    ('isocyanate', 'all')
    """
    table = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))
    order = (*HAZARDS, ALL)
    return tuple(sorted((Caution(**one) for one in table["caution"]), key=lambda one: order.index(one.hazard)))


def cautions_for(resin: Resin | None) -> tuple[Caution, ...]:
    """Those that a resin's parts call for, and those for all. Where no part is told, every caution: the resin may hold anything.

    >>> from tintmix.resin import Part
    >>> urethane = Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90)))
    >>> sorted({one.hazard for one in cautions_for(urethane)})
    ['all', 'isocyanate']
    >>> len(cautions_for(None)) == len(cautions())
    True
    """
    if resin is None or not resin.parts:
        return cautions()
    return tuple(one for one in cautions() if one.hazard == ALL or resin.has_hazard(one.hazard))


def sentences_for(resin: Resin | None) -> tuple[str, ...]:
    """The sentences alone."""
    return tuple(one.sentence for one in cautions_for(resin))
