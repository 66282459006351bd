"""Is it the set-up, and not single chips, that is wrong? Whole-set explanations of chips that do not agree.

Each idea is the same set told otherwise: under another light, divided by something else, lit from everywhere, with two
dose columns exchanged in some cups. It is fitted as the set itself is, and the log evidences are compared (Kass and
Raftery, J. Am. Stat. Assoc. 90, 773 (1995)). Where the readings say less of their chips than nothing, they are mixed up.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import some
from tintmix.optics.detector import SHIPPED_LIGHTS
from tintmix.optics.diffuse import DiffuseLight
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.exchanged import channels, exchanged_cups, mixed_cups
from tintmix.pigments.inference.gather import Gathered, gather
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import Observations, Readings
from tintmix.pigments.inference.posterior import AskedDeparture, Mixture, posterior

EVIDENCE_NEEDED = 6.0
"""Nats for a set told otherwise against the set as declared. Of sound sets that were looked at none came past 4."""
_WORTH_A_FIT = 2.0
"""Nats at a first look for a fit in full; in sound sets the first look came to 2.0 at most, and was right to 6."""
_MISFIT = {"bands": 1.0, "lab": 0.75, "channels": 0.75}
"""Squared misfit a number (a chip's held at 8, so that one wrong chip is not the set's) past which the set-up is looked at.
Sound spectra have 0.8 to 0.91, five of six sets of sound colours and camera readings 0.4 to 0.75."""
_MOST_OF_A_CHIP = 8.0
_FULL_FITS = 2
"""Ideas that are fitted in full: the best at a first look was the best of all in simulated sets, give or take its twin."""
_COLUMNS_LIKELY = 5.0
"""Nats by which cups must follow the power law better for a fit in full."""
_AS_LIKELY = 3.0
"""Nats within which another light explains the readings as well ("positive", Kass and Raftery), and is named too."""
_PRINCIPAL = 4
"""Directions in which readings that say nothing of their chips are spread: three would be a colour's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """What may be wrong with the whole set.

    what: "light", "observer", "geometry", "relative_to", "unit", "columns", "readings", "base". change: keys of set.toml
    and their values, or {"swap": [pigment, pigment]}; empty where no key puts it right. log_evidence: nats for it, against
    the set as declared. says: it in words.
    """

    what: str
    change: dict[str, Any]
    log_evidence: float
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Idea:
    """The sets told otherwise. lit: the light that takes the place of the straight one. told: of which sets it is said, and
    the rest of the sentence."""

    what: str
    change: dict[str, Any]
    sets: tuple[ChipSet, ...]
    told: str = ""
    lit: DiffuseLight | None = None
    evidence: float = -np.inf

    def observations(self) -> Observations:
        """What the fit would work on."""
        seen = gather(self.sets).observations
        if self.lit is None:
            return seen
        return replace(seen, readings=tuple(r if r.tile else replace(r, tile=self.lit) for r in seen.readings))


def suspicions(gathered: Gathered, mixture: Mixture, departures: tuple[AskedDeparture, ...] = ()) -> list[Suspicion]:
    """The likeliest explanation of the whole set where one is far likelier than that single chips are wrong, else none.

    Only where the chips agree badly: a sound set seldom pays for it.
    """
    if _misfit(mixture) < _MISFIT[gathered.observations.readings[0].form]:
        return []
    here = _evidence(mixture, gathered.sets)
    looked = [_at_a_glance(idea, mixture) for idea in _lights(gathered.sets) + _faces(gathered.sets) + _diffuse(gathered)]
    looked = sorted((i for i in looked if i.evidence - here > _WORTH_A_FIT), key=lambda idea: -idea.evidence)
    found = [_in_full(idea, departures) for idea in looked[:_FULL_FITS]]
    found += _columns(gathered, mixture, departures)
    best = max(found, key=lambda idea: idea.evidence, default=None)
    if (unread := _mixed_up(gathered.observations)) > max(here + EVIDENCE_NEEDED, best.evidence if best else -np.inf):
        return [Suspicion(what="readings", change={}, log_evidence=unread - here, says=_shuffled(gathered))]
    if best is None or best.evidence - here < EVIDENCE_NEEDED:
        return []
    as_likely = [i for i in looked if i is not best and i.what in ("light", "observer") and best.what in ("light", "observer")]
    return [
        Suspicion(what=best.what, change=best.change, log_evidence=best.evidence - here, says=best.says)
    ]


def _misfit(mixture: Mixture) -> float:
    """Squared misfit a number at the likeliest mode, the mean over the chips, no chip's counted in full."""
    best = int(mixture.weights.argmax())
    rows = mixture.forward.rows
    by_chip = np.bincount(rows, mixture.fit.residual[best] ** 2) / np.bincount(rows)
    return float(np.minimum(by_chip, _MOST_OF_A_CHIP).mean())


def _evidence(mixture: Mixture, sets: Iterable[ChipSet]) -> float:
    """Log evidence of the likeliest mode, for readings in the units of their file.

    X, Y, Z become L*a*b* by the white of the light that is assumed: d(L*a*b*)/d(XYZ) goes with its X Y Z to the -1/3.
    """
    best = int(mixture.weights.argmax())
    evidence = float(mixture.fit.evidence[best])
    for reading in mixture.forward.observations.readings:
        if reading.white is not None and any(chips.reading.space == "XYZ" for chips in sets):
            evidence -= len(reading.chips) * float(np.log(reading.white).sum()) / 3
    return evidence


def _at_a_glance(idea: _Idea, mixture: Mixture) -> _Idea:
    """The idea with the evidence of a few steps from the likeliest mode of the set as declared."""
    best = np.array([int(mixture.weights.argmax())])
    forward = replace(mixture.forward.take(best), observations=idea.observations())
    # Four steps: with them the right light came first of 28 in all simulated sets; the spectra need not have come to rest.
    fit = laplace_modes(forward, mixture.fit.z[best], steps=4, tolerance=0.5)
    return replace(idea, evidence=_evidence(Mixture(forward, fit, np.ones(1)), idea.sets))


def _in_full(idea: _Idea, departures: tuple[AskedDeparture, ...]) -> tuple[_Idea, Mixture]:
    mixture = posterior(idea.observations(), departures)
    return replace(idea, evidence=_evidence(mixture, idea.sets)), mixture


def _told(sets: tuple[ChipSet, ...], which: list[bool], **how: Any) -> tuple[ChipSet, ...]:
    return tuple(
        replace(chips, reading=replace(chips.reading, **how), light_curve=None if "light" in how else chips.light_curve)
        if mine
        else chips
        for chips, mine in zip(sets, which, strict=True)
    )


def _lights(sets: tuple[ChipSet, ...]) -> list[_Idea]:
    """Every light whose table ships, and both observers, in place of what sets that were read alike declare."""
    ideas = []
    declared = dict.fromkeys((c.reading.kind, c.reading.light, c.reading.observer) for c in sets if _has_light(c))
    for kind, light, observer in declared:
        which = [(c.reading.kind, c.reading.light, c.reading.observer) == (kind, light, observer) for c in sets]
        for other in SHIPPED_LIGHTS:
            for eye in (2, 10) if kind == "colour" else (observer,):
                if (other, eye) == (light, observer):
                    continue
                change = {"light": other} if other != light else {}
                change |= {"observer": eye} if eye != observer else {}
                ideas.append(
                    _Idea(
                        what="light" if other != light else "observer",
                        change={f"reading.{key}": value for key, value in change.items()},
                        sets=_told(sets, which, **change),
                    )
                )
    return ideas


def _has_light(chips: ChipSet) -> bool:
    return chips.reading.kind != "spectrum" and chips.reading.light != "unknown"


def _faces(sets: tuple[ChipSet, ...]) -> list[_Idea]:
    """What the readings were divided by, and how a tile was touched and lit."""
    ways = {"relative_to": ("air", "untinted", "faces removed")}
    on_tile = {"contact": ("dry", "wetted"), "geometry": ("45/0", "d/8")}
    ideas = []
    for tile, keys in ((False, ways), (True, on_tile)):
        which = [chips.reading.on_tile == tile for chips in sets]
        for key, values in keys.items():
            for value in values:
                if not any(mine and getattr(c.reading, key) != value for c, mine in zip(sets, which, strict=True)):
                    continue
                what = "relative_to" if key == "relative_to" else "geometry"
                told = _told(sets, which, **{key: value})
                ideas.append(_Idea(what=what, change={f"reading.{key}": value}, sets=told))
    return ideas


def _diffuse(sets: tuple[ChipSet, ...]) -> list[_Idea]:
    if all(chips.reading.on_tile for chips in sets):
        return []
    return [_Idea(what="geometry", change={}, sets=sets, lit=DiffuseLight(touching)) for touching in (False, True)]


def _columns(
    gathered: Gathered, mixture: Mixture, departures: tuple[AskedDeparture, ...]
) -> list[tuple[_Idea, Mixture]]:
    """Two dose columns exchanged in some cups, the single-pigment ones first, then the others by what these tell."""
    names = gathered.pigments
    ways = [(0.0, frozenset[str](), pair) for pair in combinations(range(len(names)), 2)]
    for a, b in combinations(range(len(names)), 2):
        ways += [(gain, cups, (a, b)) for gain, cups in exchanged_cups(gathered.observations, a, b, _FULL_FITS)]
    ways.sort(key=lambda way: -way[0])
    ideas = []
    for gain, cups, (a, b) in [way for way in ways if way[0] > 0][:_FULL_FITS] + [way for way in ways if not way[0]]:
        sets = _exchanged(gathered.sets, names[a], names[b], cups)
        there = posterior(gather(sets).observations, departures) if cups else mixture
        everywhere = gather(_exchanged(sets, names[a], names[b], None)).observations
        more = mixed_cups(there, everywhere, a, b)
        if more:
            cups = cups | more
            sets = _exchanged(gathered.sets, names[a], names[b], cups)
            there = posterior(gather(sets).observations, departures)
        if not cups:
            continue
        told = some(sorted(cups))
        holding = {c.cup for c in gathered.chips}
        ideas.append(
            (
                _Idea(
                    what="columns",
                    change={"swap": [names[a], names[b]]},
                    sets=sets,
                    told=told,
                    evidence=_evidence(there, sets) - len(holding) * np.log(2) - np.log(len(names)),
                ),
                there,
            )
        )
    return ideas


def _exchanged(sets: tuple[ChipSet, ...], a: str, b: str, cups: frozenset[str] | None) -> tuple[ChipSet, ...]:
    """The sets with the doses of a and b exchanged in these cups; None: in all."""
    out = []
    for chips in sets:
        names = [pigment.name for pigment in chips.pigments]
        if a not in names or b not in names:
            out.append(chips)
            continue
        order = list(range(len(names)))
        i, j = names.index(a), names.index(b)
        order[i], order[j] = j, i
        out.append(
            replace(
                chips,
                chips=tuple(
                    replace(
                        chip,
                        doses_phr=tuple(chip.doses_phr[k] for k in order),
                        dose_spreads=tuple(chip.dose_spreads[k] for k in order),
                    )
                    if cups is None or chip.cup in cups
                    else chip
                    for chip in chips.chips
                ),
            )
        )
    return tuple(out)


def _mixed_up(observations: Observations) -> float:
    """Log evidence of readings that say nothing of their chips: one Gaussian for all, with a few principal directions."""
    return sum(_said_by_none(reading) for reading in observations.readings)


def _said_by_none(reading: Readings) -> float:
    white = reading.observed / reading.spread
    count, size = white.shape
    values = np.linalg.eigvalsh(np.cov(white.T, bias=True).reshape(size, size))[::-1]
    kept = min(_PRINCIPAL, size)
    # A reading's own error is the least that is left.
    rest = max(float(values[kept:].mean()), 1.0) if size > kept else 1.0
    spread = np.concatenate([np.maximum(values[:kept], rest), np.full(size - kept, rest)])
    return -0.5 * count * float((np.log(spread) + values / spread).sum())
