"""What a maker has to know before mixing, chosen by the hazards of the resin's parts. The sentences are data: cautions.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from tintmix.numerals import listed
from tintmix.resin import HAZARDS, Resin
from tintmix.weighing.weighed import part_named

ALL = "all"
COMMON_PRACTICE = "common practice"
STEPS = ("", "vacuum", "leftovers", "cure")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One sentence. hazard: of HAZARDS, or "all". source: where the fact was looked up, or "common practice". checked: ISO
    date on which the source was read, empty for common practice. grave: it kills or maims, so it is never told in small or
    grey letters. acts: of STEPS, the step of the work at which it is told once more.

    >>> Caution(hazard="all", sentence="Sand wet.", source="common practice").cited
    'common practice'
    """

    hazard: str
    sentence: str
    source: str
    checked: str = ""
    grave: bool = False
    acts: str = ""

    def __post_init__(self) -> None:
        if self.hazard not in (*HAZARDS, ALL) or self.hazard == "none":
            raise ValueError(f"cautions.toml: {self.hazard!r} is no hazard")
        if not (self.sentence.strip() and self.source.strip()):
            raise ValueError("cautions.toml: a caution without a sentence or a source")
        if self.acts not in STEPS:
            raise ValueError(f"cautions.toml: {self.acts!r} is no step of the work")
        if self.checked:
            date.fromisoformat(self.checked)
        elif self.source != COMMON_PRACTICE:
            raise ValueError(f"cautions.toml: nobody says when {self.source!r} was read")

    @property
    def cited(self) -> str:
        """The source and when it was read, as it stands in a list of sources."""
        return f"{self.source}; read {self.checked}" if self.checked else self.source


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))


@cache
def cautions() -> tuple[Caution, ...]:
    """All of them, in the order in which they are told: the data sheet's precedence, then what kills or maims, then the rest.

    >>> cautions()[0].hazard, cautions()[1].hazard, cautions()[1].grave
    ('all', 'isocyanate', True)
    """
    return tuple(Caution(**one) for one in _tables()["caution"])


def in_short(told: Sequence[Caution]) -> tuple[str, ...]:
    """The same cautions in a few sentences: what to do before a bottle is opened, one for each hazard among them, what holds for
    all; none where none are told.

    >>> [said.split(",")[0] for said in in_short([one for one in cautions() if one.hazard in ("all", "isocyanate")])][1]
    'Isocyanate'
    """
    hazards = {one.hazard for one in told}
    return tuple(one["sentence"] for one in _tables()["short"] if one["hazard"] in hazards)


BEFORE_OPENING: str = _tables()["short"][0]["sentence"]
"""The first thing to do wherever something is mixed. Which gloves and why, the cautions say."""


def cautions_for(resin: Resin | None) -> tuple[Caution, ...]:
    """Those that a resin's parts call for, and those for all. Where no part is told, or not what each holds, every caution: the
    resin may hold anything.

    >>> from tintmix.resin import Part
    >>> urethane = Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90, "none")))
    >>> sorted({one.hazard for one in cautions_for(urethane)})
    ['all', 'isocyanate']
    >>> len(cautions_for(None)) == len(cautions())
    True
    """
    if resin is None or any(part.hazard is None for part in resin.parts) or not resin.parts:
        return cautions()
    return tuple(one for one in cautions() if one.hazard == ALL or resin.has_hazard(one.hazard))


def hazards_unsaid(resin: Resin | None) -> tuple[str, ...]:
    """Why all cautions are told of a resin that lists its parts: one sentence, or none.

    >>> from tintmix.resin import Part
    >>> hazards_unsaid(Resin(parts=(Part("A", 100), Part("B", 90, "none"))))
    ("the resin's file does not say what part A holds: all cautions are told.",)
    """
    parts = () if resin is None else resin.parts
    unsaid = [part_named(part.name) for part in parts if part.hazard is None]
    if not unsaid:
        return ()
    hold = "its parts hold" if len(unsaid) == len(parts) > 1 else f"{listed(unsaid)} hold{'s' * (len(unsaid) == 1)}"
    return (f"the resin's file does not say what {hold}: all cautions are told.",)


def told_again_at(step: str, resin: Resin | None) -> tuple[str, ...]:
    """The sentences that are told once more at a step of the work (of STEPS), where they act.

    >>> len(told_again_at("vacuum", None))
    1
    """
    return tuple(one.sentence for one in cautions_for(resin) if one.acts == step)


def sources_of(told: Sequence[Caution]) -> tuple[tuple[str, str], ...]:
    """Where they are from, each source once: (the numbers of its sentences as they are told, counted from 1; the source).

    >>> one = Caution(hazard="all", sentence="Sand wet.", source="common practice")
    >>> sources_of([one, one])
    (('1, 2', 'common practice'),)
    """
    numbers: dict[str, list[str]] = {}
    for number, one in enumerate(told, start=1):
        numbers.setdefault(one.cited, []).append(str(number))
    return tuple((", ".join(found), source) for source, found in numbers.items())


def cautions_table(told: Sequence[Caution]) -> dict[str, Any]:
    """As a JSON answer holds them: the sentences, and of each where it is from and how grave it is."""
    return {
        "cautions": [one.sentence for one in told],
        "caution_sources": [
            {"hazard": one.hazard, "source": one.source, "checked": one.checked, "grave": one.grave} for one in told
        ],
    }


def cautions_in(body: Mapping[str, Any]) -> tuple[Caution, ...]:
    """The cautions of a JSON answer again.

    >>> cautions_in(cautions_table(cautions()))[1].grave
    True
    """
    pairs = zip(body["cautions"], body["caution_sources"], strict=True)
    return tuple(Caution(sentence=sentence, **about) for sentence, about in pairs)
