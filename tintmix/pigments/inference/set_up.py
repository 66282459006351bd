"""Is it the set-up, and not single chips, that is wrong? Whole-set explanations of chips that do not agree.

Each idea is the same set told otherwise: under another light, divided by something else, lit from everywhere, with the
columns a and b or, in some cups, two dose columns exchanged. It is fitted as the set itself is, and the log evidences are
compared (Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995)). Where the readings say less of their chips than nothing,
they are mixed up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import some
from tintmix.optics.detector import SHIPPED_LIGHTS
from tintmix.optics.diffuse import DiffuseLight
from tintmix.pigments.inference.departure import Departure
from tintmix.pigments.inference.first_looks import (
    by_other_lights,
    exchanged,
    exchanged_cups,
    mixed_cups,
    out_of_order,
    said_by_none,
    turned,
    without,
)
from tintmix.pigments.inference.gather import Gathered, gather
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import Mask, Observations
from tintmix.pigments.inference.posterior import AskedDeparture, Mixture, posterior

EVIDENCE_NEEDED = 6.0
"""Nats for a set told otherwise against the set as declared. Of sound sets that were looked at none came past 4."""
LIGHT_NEEDED = 4.0
"""The same for another light or observer: of 80 sound sets none came past 1.7, of 120 more two past 4; of 44 read
for the other observer 31 did. With 2.5, 3 of 80 are accused (`python -m tests.accuracy.set_up_rows`)."""
_LIGHT = ("light", "observer")
_WORTH_A_LOOK = 0.1
"""Nats at a first look (`by_other_lights`) for a glance at other lights where the chips agree: 5 of 6 sound sets have less."""
_OBSERVER_WORTH = -3.0
"""The same for the other observer, which a first look puts up to 11 nats too low."""
_NEAR = 8.0
"""Nats behind the first look's best that a light is still worth a glance: the right one was up to 5 behind."""
_MODES = 4
"""Modes that another light's evidence starts from: with all, it was higher by 3 nats at most, and with one, lower by 10."""
_BADLY = 1.0
"""Squared misfit a number past which a glance goes to every light, for slopes of a wrong one tell little; of 80 sound sets of
colours none had more than 0.95."""
_LIGHT_WORTH, _WORTH_A_FIT = -1.0, 2.0
"""Nats at a glance for a light's other modes, and for a fit in full of another idea; in sound sets a glance at the latter came to
2.0 at most, and was right to 6."""
_MISFIT = {"bands": 1.0, "lab": 0.75, "channels": 0.75}
"""Squared misfit a number (a chip's held at 8, so that one wrong chip is not the set's) past which the set-up is looked at.
Sound spectra have 0.8 to 0.91, five of six sets of sound colours and camera readings 0.4 to 0.75."""
_FEW = 0.05
"""Of the chips: so few that are doubted, where the rest agree, are wrong by themselves (one of twenty is a usual slip)."""
_SOME = 0.25
"""Of the chips: as many as may be wrong by themselves, and the set is looked at without them first."""
_MOST_OF_A_CHIP = 8.0
"""So: three times what one sound chip of 26 has at most."""
_FULL_FITS = 2
"""Ideas that are fitted in full: the best at a first look was the best of all in simulated sets, give or take its twin."""
_COLUMNS_LIKELY = 5.0
"""Nats by which cups must follow the power law better for a fit in full."""
_TWO_CHIPS = 10.0
"""Nats for dose columns where no more than two chips are doubted: two labels that changed places look like it; of 80 such sets
two came to 7."""
_AS_LIKELY = 3.0
"""Nats within which another light explains the readings as well ("positive", Kass and Raftery), and is named too."""
_OUT_OF_ORDER = 0.2
"""Of the pairs of chips that have an order: mixed up, half are out of it; two readings exchanged take one or two of a dozen."""


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
    """The sets told otherwise. lit: the light that takes the place of the straight one. evidence: log, of the sets so told,
    and misfit, as `_misfit` has it, where it was looked at."""

    what: str
    change: dict[str, Any]
    sets: tuple[ChipSet, ...]
    says: str
    lit: DiffuseLight | None = None
    evidence: float = -np.inf
    misfit: float = np.inf

    def observations(self, declared: Observations) -> Observations:
        """What the fit would work on, with a base of its own for thick pours where the fit had one."""
        seen = replace(gather(self.sets).observations, thick=declared.thick)
        if self.lit is None:
            return seen
        return replace(seen, readings=tuple(r if r.tile else replace(r, tile=self.lit) for r in seen.readings))


def suspicions(
    gathered: Gathered, mixture: Mixture, departures: Sequence[Departure] = (), doubted: Mask | None = None
) -> list[Suspicion]:
    """The likeliest explanation of the whole set where one is far likelier than that single chips are wrong, else none.

    Another light is looked for at all times, at the price of one reading of the chips; the rest only where they agree badly: a
    sound set seldom pays for it.
    """
    seen = mixture.forward.observations
    # A base that changes with thickness may be what makes a wrong set-up fit.
    usual = _MISFIT[seen.readings[0].form]
    used = tuple((d.pigment, d.spread, d.k) for d in departures if d.used)
    if doubted is not None and 0 < doubted.mean() <= _SOME and _misfit(mixture) >= usual:
        mixture = without(mixture, doubted, used)
    few = doubted is not None and doubted.mean() <= _FEW
    misfit = _misfit(mixture, doubted if few else None)
    bad = misfit >= usual or len(seen.thick) > 0
    here = _evidence(mixture, gathered.sets)
    badly = _misfit(mixture) >= usual
    heads = [_in_full(idea, seen, used) for idea in _heads(gathered.sets)] if badly else []
    if any(idea.evidence - here > EVIDENCE_NEEDED and idea.misfit < usual for idea in heads):
        # Nothing else turns every hue: no light is looked at.
        return [_suspicion(max(heads, key=lambda idea: idea.evidence), here)]
    lights = _lights(gathered.sets)
    gains = by_other_lights([idea.sets for idea in lights], gathered, mixture)
    if misfit < _BADLY:
        least = gains.max(initial=0.0) - _NEAR if gains.max(initial=0.0) > _WORTH_A_LOOK else np.inf
        least_of = {"observer": _OBSERVER_WORTH, "light": least}
        lights = [idea for idea, gain in zip(lights, gains, strict=True) if gain > least_of[idea.what]]
    if not (bad or lights):
        return []
    lights = _looked_at(lights, mixture, here + _LIGHT_WORTH)
    found = [_at_a_glance(idea, mixture, _MODES) for idea in lights[:_FULL_FITS]]
    if bad and not any(idea.evidence - here > EVIDENCE_NEEDED and idea.misfit < usual for idea in found):
        mixed_up = _mixed_up(gathered)
        if mixed_up.evidence - here > EVIDENCE_NEEDED and _within_cups_out_of_order(seen):
            return [_suspicion(mixed_up, here)]
        others = _looked_at(_faces(gathered.sets) + _diffuse(gathered.sets), mixture, here + _WORTH_A_FIT)
        found += [_in_full(idea, seen, used) for idea in others[:_FULL_FITS]]
        found += [*heads, *_columns(gathered, mixture, used), mixed_up]
    best = max(found, key=lambda idea: idea.evidence, default=None)
    needed = dict.fromkeys(_LIGHT, LIGHT_NEEDED)
    if doubted is not None and doubted.sum() <= 2:
        needed["columns"] = _TWO_CHIPS
    if best is None or best.evidence - here < needed.get(best.what, EVIDENCE_NEEDED):
        return []
    says = best.says if best.evidence - here > EVIDENCE_NEEDED else best.says.replace("far better", "better")
    if best.what in _LIGHT:
        twins = [i.change for i in lights if i.evidence > best.evidence - _AS_LIKELY]
        told = [", ".join(f"{_key(key)}" for key in twin.items()) for twin in twins if twin != best.change]
        says += f" {some(told, 3)} would explain the readings as well." if told else ""
    return [_suspicion(replace(best, says=says), here)]


def _suspicion(idea: _Idea, here: float) -> Suspicion:
    return Suspicion(what=idea.what, change=idea.change, log_evidence=idea.evidence - here, says=idea.says)


def _misfit(mixture: Mixture, without: Mask | None = None) -> float:
    """Squared misfit a number at the likeliest mode, the mean over the chips but some, no chip's counted in full."""
    best = int(mixture.weights.argmax())
    rows = mixture.forward.rows
    by_chip = np.bincount(rows, mixture.fit.residual[best] ** 2) / np.bincount(rows)
    return float(np.minimum(by_chip if without is None else by_chip[~without], _MOST_OF_A_CHIP).mean())


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


def _at_a_glance(idea: _Idea, mixture: Mixture, modes: int = 1) -> _Idea:
    """The idea with the evidence of a few steps from the likeliest modes of the set as declared."""
    best = np.argsort(-mixture.weights)[:modes]
    forward = replace(mixture.forward.take(best), observations=idea.observations(mixture.forward.observations))
    # With four steps two observers of forty were left 3 to 6 nats short of where they came to rest.
    fit = laplace_modes(forward, mixture.fit.z[best], steps=8, tolerance=0.1 if modes > 1 else 0.5)
    found = Mixture(forward, fit, fit.evidence)
    return replace(idea, evidence=_evidence(found, idea.sets), misfit=_misfit(found))


def _looked_at(ideas: Sequence[_Idea], mixture: Mixture, least: float) -> list[_Idea]:
    """Those whose evidence at a glance is more, the best first."""
    looked = [_at_a_glance(idea, mixture) for idea in ideas]
    return sorted((idea for idea in looked if idea.evidence > least), key=lambda idea: -idea.evidence)


def _in_full(idea: _Idea, declared: Observations, departures: tuple[AskedDeparture, ...]) -> _Idea:
    seen = idea.observations(declared)
    # With a base of its own for thick pours, where the fit had one, and without.
    ways = [seen, replace(seen, thick=np.zeros(0))] if len(declared.thick) else [seen]
    fits = [posterior(way, departures) for way in ways]
    evidence, best = max((_evidence(one, idea.sets), k) for k, one in enumerate(fits))
    return replace(idea, evidence=evidence, misfit=_misfit(fits[best]))


def _key(item: tuple[str, Any]) -> str:
    """A key of set.toml with its value, as it is typed there."""
    key, value = item
    return f"{key.rpartition('.')[2]} = {value if isinstance(value, int) else chr(34) + value + chr(34)}"


def _mend(change: dict[str, Any]) -> str:
    return f"in set.toml, under [reading], say {' and '.join(_key(item) for item in change.items())}."


def _told(sets: tuple[ChipSet, ...], which: list[bool], **how: Any) -> tuple[ChipSet, ...]:
    return tuple(
        replace(chips, reading=replace(chips.reading, **how), light_curve=None if "light" in how else chips.light_curve)
        if mine
        else chips
        for chips, mine in zip(sets, which, strict=True)
    )


def _of(sets: tuple[ChipSet, ...], which: list[bool]) -> str:
    """Of which sets it is said, where it is not of all."""
    titles = [chips.title or f"set {s + 1}" for s, chips in enumerate(sets) if which[s]]
    return "" if all(which) else f" of {some(titles)}"


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
                change: dict[str, Any] = {"light": other} if other != light else {}
                change |= {"observer": eye} if eye != observer else {}
                keyed = {f"reading.{key}": value for key, value in change.items()}
                how = f"{other} and the {eye}° observer" if kind == "colour" else other
                was = f"{light} and the {observer}° observer" if kind == "colour" else light
                says = (
                    f"the readings{_of(sets, which)} fit together far better as taken under {how} than under {was}, which "
                    f"the set declares: ask the instrument, and if it is so, {_mend(keyed)}"
                )
                what = "light" if other != light else "observer"
                ideas.append(_Idea(what=what, change=keyed, sets=_told(sets, which, **change), says=says))
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
                keyed = {f"reading.{key}": value}
                says = (
                    f"the readings{_of(sets, which)} fit together far better with {_key((key, value))}: if it is so, "
                )
                ideas.append(
                    _Idea(
                        what="relative_to" if key == "relative_to" else "geometry",
                        change=keyed,
                        sets=_told(sets, which, **{key: value}),
                        says=says + _mend(keyed),
                    )
                )
    return ideas


def _heads(sets: tuple[ChipSet, ...]) -> list[_Idea]:
    """The columns a and b exchanged, in each set of L*, a*, b* and in all."""
    mine = [chips.reading.space == "Lab" for chips in sets]
    ways = {tuple(s == own and here for s, here in enumerate(mine)) for own in np.flatnonzero(mine)} | {tuple(mine)}
    ideas = []
    for which in sorted(ways - {(False,) * len(sets)}, reverse=True):
        says = (
            f"the readings{_of(sets, list(which))} fit together far better with a and b exchanged: in the first line of "
            "chips.csv put the head b where a stands, and a where b stands."
        )
        told = tuple(turned(chips) if here else chips for chips, here in zip(sets, which, strict=True))
        ideas.append(_Idea(what="columns", change={"swap": ["a", "b"]}, sets=told, says=says))
    return ideas


def _diffuse(sets: tuple[ChipSet, ...]) -> list[_Idea]:
    which = [not chips.reading.on_tile for chips in sets]
    says = (
        f"the readings{_of(sets, which)} look like those of diffuse light, that goes through a chip from all sides, as on an "
        "opal or in a sphere that lights and gathers; such light takes longer paths and loses more at the faces, and no key "
        "of set.toml puts it right: read the chips again with light that goes straight through."
    )
    return [
        _Idea(what="geometry", change={}, sets=sets, lit=DiffuseLight(touching), says=says)
        for touching in (False, True)
        if any(which)
    ]


def _columns(gathered: Gathered, mixture: Mixture, departures: tuple[AskedDeparture, ...]) -> list[_Idea]:
    """Two dose columns exchanged in some cups: the single-pigment ones by their colours, then the others by what these tell."""
    names, sets, seen = gathered.pigments, gathered.sets, mixture.forward.observations
    pairs = list(combinations(range(len(names)), 2))
    ways = [(gain, cups, pair) for pair in pairs for gain, cups in exchanged_cups(seen, *pair, _FULL_FITS)]
    ways = sorted((way for way in ways if way[0] > _COLUMNS_LIKELY), key=lambda way: -way[0])[:_FULL_FITS]
    ways += [(0.0, frozenset[str](), pair) for pair in pairs]
    ideas: list[_Idea] = []
    for gain, cups, (a, b) in ways:
        # Cups of mixtures alone are asked only where no single-pigment cup is.
        if ideas and not gain:
            break
        told = exchanged(sets, names[a], names[b], cups)
        there = posterior(_as(told, seen), departures) if cups else mixture
        everywhere = _as(exchanged(told, names[a], names[b], None), seen)
        if more := mixed_cups(there, everywhere, a, b):
            cups = cups ^ more
            told = exchanged(sets, names[a], names[b], cups)
            there = posterior(_as(told, seen), departures)
        if cups:
            ideas.append(_columns_idea(gathered, told, there, (names[a], names[b]), cups))
        if cups and _misfit(there) < _MISFIT[seen.readings[0].form]:
            break
    return ideas


def _as(sets: tuple[ChipSet, ...], declared: Observations) -> Observations:
    return replace(gather(sets).observations, thick=declared.thick)


def _columns_idea(
    gathered: Gathered, told: tuple[ChipSet, ...], there: Mixture, pair: tuple[str, str], cups: frozenset[str]
) -> _Idea:
    places = [gathered.pigments.index(name) for name in pair]
    holding = {
        c.cup for c, doses in zip(gathered.chips, gathered.doses_phr, strict=True) if len(set(doses[places])) > 1
    }
    # Exchanged in all the other cups, it is the same under other names: the fewer are told.
    rest = holding - cups
    fewer = cups if len(cups) <= len(rest) else rest
    says = (
        f"the doses of {pair[0]} and {pair[1]} look exchanged in the cups {some(sorted(fewer))} (or in all the others that hold "
        f"one of the two: the colours beside the names tell which): exchange {pair[0]}_phr and {pair[1]}_phr in their rows "
        "of chips.csv."
    )
    # One of two for each cup, and one pair of all.
    paid = len(holding) * np.log(2) + np.log(max(len(gathered.pigments) * (len(gathered.pigments) - 1) / 2, 1))
    change = {"swap": list(pair)}
    return _Idea(what="columns", change=change, sets=told, says=says, evidence=_evidence(there, told) - float(paid))


def _mixed_up(gathered: Gathered) -> _Idea:
    """Readings that say nothing of their chips: one Gaussian for all, with a few principal directions."""
    unlike, pairs = out_of_order(gathered.observations, within_cups=False)
    says = (
        f"the readings do not follow the chips: of {pairs} pairs in which one chip of a cup is thicker, or one cup of a pigment "
        f"stronger, {unlike} read lighter. They look mixed up, or their rows moved against the chips' names: "
        "no key of set.toml puts it right, read the chips again."
    )
    evidence = -np.inf
    # Chips in order say something, however ill they fit.
    if unlike > _OUT_OF_ORDER * pairs:
        evidence = sum(said_by_none(reading) for reading in gathered.observations.readings)
    return _Idea(what="readings", change={}, sets=gathered.sets, says=says, evidence=evidence)


def _within_cups_out_of_order(observations: Observations) -> bool:
    """Whether thickness, which no label and no light alters, is in no order either."""
    unlike, pairs = out_of_order(observations, within_cups=True)
    return pairs >= 5 and unlike > _OUT_OF_ORDER * pairs
