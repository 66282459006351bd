"""Is it the set-up, and not single chips, that is wrong? Whole-set explanations of chips that do not agree.

Each idea is the same set told otherwise: under another light, divided by something else, lit from everywhere, with the
columns a and b or, in some cups, two dose columns exchanged. It is fitted as the set itself is, and the log evidences are
compared (Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995)). Where the readings say less of their chips than nothing,
they are mixed up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import some
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.departure import Departure
from tintmix.pigments.inference.draws import FEW_NUMBERS
from tintmix.pigments.inference.gather import Gathered, gather
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import Mask, Observations
from tintmix.pigments.inference.posterior import AskedDeparture, Mixture, posterior, shares_of
from tintmix.pigments.inference.whole_set.first_looks import (
    by_other_lights,
    exchanged,
    exchanged_cups,
    mixed_cups,
    out_of_order,
    said_by_none,
    without,
)
from tintmix.pigments.inference.whole_set.glance import (
    MODES,
    at_a_glance,
    evidence_of,
    in_units_read,
    looked_at,
    misfit_of,
    worth_a_glance,
)
from tintmix.pigments.inference.whole_set.ideas import Idea, as_found, diffuse_of, faces_of, heads_of, key_of, lights_of

EVIDENCE_NEEDED = 6.0
"""Nats for a set told otherwise against the set as declared. Of sound sets that were looked at none came past 4."""
LIGHT_NEEDED = 4.0
"""The same for another light or observer: of 300 sound sets none came past 3.4, of 120 read for the other observer 70 did."""
ODDS_BEFORE = {"observer": 0.2, "light": 0.05}
"""Before any chip: of the other observer, and of one other light, against what the set declares. Nobody counted such slips; a
light is one of many, of which the likeliest is so by chance."""
MAY_BE = 1.5
"""Odds of other lights and observers together past which the likeliest is named as what may be, so that it has a third of the
draws; with less, bands hold it and no word accuses. Of 105 sound sets 2 came there, and 4 past 0.7; of 60 read for the other
observer 51 did, or past what is sure, and 53 past 0.7. More is not to be had: by full fits of all modes for either observer 54 of
the 60 are named at the price of 7 sound ones."""
_ODDS_NAMED = 1.0
"""Of a light that is named against what the set declares: who knows the instrument tells which of the two it is, and till then
bands hold either."""
_HELD = 0.35
"""Such odds past which bands hold other lights, though none is named: less likely ones would widen sound sets for nothing. Of 32
sound sets on a white tile one more is wider, by a half, and the median errors are the same to 0.01; of 32 of the other observer
2 more are held, whose bands else cover 0 and 17 %."""
_COUNTS = 0.03
"""Odds below which a rival is left out: it would not reach into bands of 95 %."""
_LIGHT = ("light", "observer")
_BADLY = 1.0
"""Squared misfit a number past which a glance goes to every light, for slopes of a wrong one tell little; of 80 sound sets of
colours none had more than 0.95."""
_LIGHT_WORTH, _WORTH_A_FIT = -2.0, 2.0
"""Nats at a glance for a light's other modes, and for a fit in full of another idea; in sound sets a glance at the latter came to
2.0 at most, and was right to 6."""
_CLEAR = 8.0
"""Nats at a glance past which no closer look would change what is said."""
_ALL_MODES = 12
"""Modes that such a look goes from: the others have next to no weight."""
_MISFIT = {"bands": 1.0, "lab": 0.75, "channels": 0.75}
"""Squared misfit a number (a chip's held at 8, so that one wrong chip is not the set's) past which the set-up is looked at.
Sound spectra have 0.8 to 0.91, five of six sets of sound colours and camera readings 0.4 to 0.75."""
_FEW = 0.05
"""Of the chips: so few that are doubted, where the rest agree, are wrong by themselves (one of twenty is a usual slip)."""
_SOME = 0.25
"""Of the chips: as many as may be wrong by themselves, and the set is looked at without them first."""
_FULL_FITS = 2
"""Ideas that are fitted in full: the best at a first look was the best of all in simulated sets, give or take its twin. The
other observer, the likeliest slip, is fitted beside them."""
_COLUMNS_LIKELY = 5.0
"""Nats by which cups must follow the power law better for a fit in full."""
_TWO_CHIPS = 10.0
"""Nats for dose columns where no more than two chips are doubted: two labels that changed places look like it; of 80 such sets
two came to 7."""
_FEW_CHIPS = 12
"""A set of so many chips may hold a pigment by itself in one chip alone: where that has another's label, both pigments are taken
for each other, and it is their mixtures that do not fit."""
_AS_LIKELY = 3.0
"""Nats within which another light explains the readings as well ("positive", Kass and Raftery), and is named too."""
_OUT_OF_ORDER = 0.2
"""Of the pairs of chips that have an order: mixed up, half are out of it; two readings exchanged take one or two of a dozen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """What may be wrong with the whole set.

    what: "light", "observer", "geometry", "relative_to", "unit", "columns", "labels", "readings", "base". change: keys of
    set.toml and their values, or {"swap": [pigment, pigment]}, {"exchange": [chip, chip]}; empty where no key puts it right.
    log_evidence: nats for it, against the set as declared. says: it in words. sure: whether it is far likelier; if not, it is
    named as what may be, and bands hold both.
    """

    what: str
    change: dict[str, Any]
    log_evidence: float
    says: str
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Rival:
    """Another light or observer that explains the readings nearly as well, or better: what it makes of them, and its odds against
    the set as declared."""

    mixture: Mixture
    odds: float


@dataclass(frozen=True, slots=True)
class Suspected:
    """said: the likeliest explanation of the whole set, where there is one. rivals: what bands have to hold too."""

    said: tuple[Suspicion, ...] = ()
    rivals: tuple[Rival, ...] = ()


def suspicions(
    gathered: Gathered, mixture: Mixture, departures: Sequence[Departure] = (), doubted: Mask | None = None
) -> Suspected:
    """The likeliest explanation of the whole set where one is likelier than that single chips are wrong, else none.

    Another light is looked for at all times, at the price of one reading of the chips; the rest only where they agree badly: a
    sound set seldom pays for it.
    """
    seen = mixture.forward.observations
    # A base that changes with thickness may be what makes a wrong set-up fit.
    usual = _MISFIT[seen.readings[0].form]
    used = tuple((d.pigment, d.spread, d.k) for d in departures if d.used)
    if doubted is not None and 0 < doubted.mean() <= _SOME and misfit_of(mixture) >= usual:
        mixture = without(mixture, doubted, used)
    few = doubted is not None and doubted.mean() <= _FEW
    misfit = misfit_of(mixture, doubted if few else None)
    bad = misfit >= usual or len(seen.thick) > 0
    here = evidence_of(mixture, gathered.sets)
    badly = misfit_of(mixture) >= usual
    heads = [_in_full(idea, seen, used) for idea in heads_of(gathered.sets)] if badly else []
    if any(idea.evidence - here > EVIDENCE_NEEDED and idea.misfit < usual for idea in heads):
        # Nothing else turns every hue: no light is looked at.
        return _named(max(heads, key=lambda idea: idea.evidence), here)
    lights = lights_of(gathered.sets)
    gains = by_other_lights([idea.sets for idea in lights], gathered, mixture)
    if misfit < _BADLY:
        lights = worth_a_glance(lights, gains, mixture, here, bad)
    if not (bad or lights):
        return Suspected()
    lights = looked_at(lights, mixture, here + _LIGHT_WORTH)
    closer = [idea for k, idea in enumerate(lights) if k < _FULL_FITS or idea.what == "observer"]
    weighed = [_weighed(idea, gathered, mixture) for idea in closer]
    if len(mixture.forward.rows) <= FEW_NUMBERS:
        # They hardly tell lights apart: what is declared is believed.
        weighed = [(idea, None) for idea, _ in weighed]
    rivals = tuple(replace(one, odds=min(one.odds, _ODDS_NAMED)) for _, one in weighed if one is not None)
    found = [idea for idea, _ in weighed]
    if bad and not any(idea.evidence - here > EVIDENCE_NEEDED and idea.misfit < usual for idea in found):
        mixed_up = _mixed_up(gathered)
        if mixed_up.evidence - here > EVIDENCE_NEEDED and _within_cups_out_of_order(seen):
            return _named(mixed_up, here)
        others = looked_at(faces_of(gathered.sets) + diffuse_of(gathered.sets), mixture, here + _WORTH_A_FIT)
        found += [_in_full(idea, seen, used) for idea in others[:_FULL_FITS]]
        found += [*heads, *_columns(gathered, mixture, used), mixed_up]
        found += _labels(gathered, seen.thick, used)
    best = max(found, key=lambda idea: idea.evidence, default=None)
    if best is None or (best.what == "labels" and _are_doubted(best, gathered, doubted)):
        return Suspected()
    # A single chip that is wrong may lend another light some nats.
    some_doubted = doubted is not None and bool(doubted.any())
    needed = dict.fromkeys(_LIGHT, EVIDENCE_NEEDED if some_doubted else LIGHT_NEEDED)
    if doubted is not None and doubted.sum() <= 2:
        needed["columns"] = _TWO_CHIPS
    gain = best.evidence - here
    if gain >= needed.get(best.what, EVIDENCE_NEEDED):
        says = best.says if gain > EVIDENCE_NEEDED else best.says.replace("far better", "better")
        if best.what in _LIGHT:
            twins = [i.change for i in lights if i.evidence > best.evidence - _AS_LIKELY]
            told = [" with ".join(key_of(key) for key in twin.items()) for twin in twins if twin != best.change]
            says += f" {some(told, 3)} would explain the readings as well." if told else ""
        sure = _named(replace(best, says=says), here)
        if best.what not in _LIGHT:
            return sure
        as_likely = [idea for idea, _ in weighed if idea.evidence > best.evidence - _AS_LIKELY]
        return replace(
            sure, rivals=tuple(Rival(posterior(idea.observations(seen), used), _ODDS_NAMED) for idea in as_likely)
        )
    if best.what in _LIGHT and sum(one.odds for _, one in weighed if one) > MAY_BE and not some_doubted:
        likeliest = max(weighed, key=lambda one: 0.0 if one[1] is None else one[1].odds)[0]
        return replace(_named(replace(likeliest, says=likeliest.may_say), here, sure=False), rivals=rivals)
    # Else what is declared is believed till the readings speak against it.
    return Suspected(rivals=rivals if sum(one.odds for one in rivals) > _HELD else ())


def _named(idea: Idea, here: float, sure: bool = True) -> Suspected:
    gain = idea.evidence - here
    return Suspected((Suspicion(what=idea.what, change=idea.change, log_evidence=gain, says=idea.says, sure=sure),))


def _weighed(idea: Idea, gathered: Gathered, mixture: Mixture) -> tuple[Idea, Rival | None]:
    """Another light, with its evidence from all modes of the set as declared, and as a rival, made of them, where its odds count.

    Z'/Z = Σ w exp(log Z'_g - log Z_g), each mode g (of weight w) followed to where the other light leads it: what Laplace's
    approximation errs by it errs by at both ends. At an error of 5 % this names 90 % of sets read for the other observer, the
    evidence of the best modes 81 to 85 % (124 sound sets, 120 others). A rival sought
    from the start costs twice the time; of 28 sets nothing else is then said, and the median band of the six that hold one beside
    what is declared is another by 2 % in the median.
    """
    seen, here = mixture.forward.observations, evidence_of(mixture, gathered.sets)
    near = at_a_glance(idea, mixture, MODES)
    if near.evidence - here > _CLEAR:
        return near, None
    best = np.argsort(-mixture.weights)[:_ALL_MODES]
    forward = replace(mixture.forward.take(best), observations=idea.observations(seen))
    followed = laplace_modes(forward, mixture.fit.z[best], steps=12, tolerance=0.05)
    log_weights = (
        mixture.log_weights[best] - np.log(mixture.weights[best].sum()) + followed.evidence - mixture.fit.evidence[best]
    )
    gain = float(np.logaddexp.reduce(log_weights))
    gain += in_units_read(forward.observations, idea.sets) - in_units_read(seen, gathered.sets)
    odds = float(ODDS_BEFORE[idea.what] * np.exp(min(gain, _CLEAR)))
    rival = Rival(Mixture(forward, followed, shares_of(log_weights)), odds) if odds > _COUNTS else None
    return replace(near, evidence=here + gain), rival


def _in_full(idea: Idea, declared: Observations, departures: tuple[AskedDeparture, ...]) -> Idea:
    seen = idea.observations(declared)
    # With a base of its own for thick pours, where the fit had one, and without.
    ways = [seen, replace(seen, thick=np.zeros(0))] if len(declared.thick) else [seen]
    fits = [posterior(way, departures) for way in ways]
    evidence, best = max((evidence_of(one, idea.sets), k) for k, one in enumerate(fits))
    return replace(idea, evidence=evidence, misfit=misfit_of(fits[best]))


def _columns(gathered: Gathered, mixture: Mixture, departures: tuple[AskedDeparture, ...]) -> list[Idea]:
    """Two dose columns exchanged in some cups: the single-pigment ones by their colours, then the others by what these tell."""
    names, sets, seen = gathered.pigments, gathered.sets, mixture.forward.observations
    pairs = list(combinations(range(len(names)), 2))
    ways = [(gain, cups, pair) for pair in pairs for gain, cups in exchanged_cups(seen, *pair, _FULL_FITS)]
    ways = sorted((way for way in ways if way[0] > _COLUMNS_LIKELY), key=lambda way: -way[0])[:_FULL_FITS]
    ways += [(0.0, frozenset[str](), pair) for pair in pairs]
    ideas: list[Idea] = []
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
        if cups and misfit_of(there) < _MISFIT[seen.readings[0].form]:
            break
    return ideas


def _as(sets: tuple[ChipSet, ...], declared: Observations) -> Observations:
    return as_found(gather(sets).observations, declared)


def _columns_idea(
    gathered: Gathered, told: tuple[ChipSet, ...], there: Mixture, pair: tuple[str, str], cups: frozenset[str]
) -> Idea:
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
    return Idea(what="columns", change=change, sets=told, says=says, evidence=evidence_of(there, told) - float(paid))


def _labels(gathered: Gathered, thick: Array, departures: tuple[AskedDeparture, ...]) -> list[Idea]:
    """The two chips that have each other's labels, in a set of few: the likeliest, and with which words."""
    seen = replace(gathered.observations, thick=thick)
    count = len(gathered.chips)
    if count > _FEW_CHIPS:
        return []
    tried = []
    for one, other in combinations(range(count), 2):
        told = seen.exchanged(one, other)
        if told is not seen:
            names = (gathered.chips[one].name, gathered.chips[other].name)
            tried.append((evidence_of(posterior(told, departures), gathered.sets), names))
    if not tried:
        return []
    evidence, names = max(tried)
    # Where two pigments stand for each other in all cups but two, it is as well the others that are exchanged.
    twins = [f"of {a} and {b}" for gain, (a, b) in tried if gain > evidence - _AS_LIKELY and (a, b) != names]
    says = (
        f"the labels of {names[0]} and {names[1]}{', or those '.join(['', *twins])} look exchanged: all chips fit together far "
        "better so. See which by their colours, and exchange their readings in chips.csv."
    )
    evidence -= float(np.log(count * (count - 1) / 2))
    change = {"exchange": [] if twins else list(names)}
    return [Idea(what="labels", change=change, sets=gathered.sets, says=says, evidence=evidence)]


def _are_doubted(labels: Idea, gathered: Gathered, doubted: Mask | None) -> bool:
    """Whether the two chips, and no other, are doubted: then the doubts tell what is wrong with them."""
    names = {chip.name for chip, out in zip(gathered.chips, () if doubted is None else doubted, strict=False) if out}
    return names == set(labels.change["exchange"])


def _mixed_up(gathered: Gathered) -> Idea:
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
    return Idea(what="readings", change={}, sets=gathered.sets, says=says, evidence=evidence)


def _within_cups_out_of_order(observations: Observations) -> bool:
    """Whether thickness, which no label and no light alters, is in no order either."""
    unlike, pairs = out_of_order(observations, within_cups=True)
    return pairs >= 5 and unlike > _OUT_OF_ORDER * pairs
