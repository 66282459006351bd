"""Which chips are doubted, and what may be wrong with each: as few as explain what does not fit, none for its sister's sake.

A wrong dose, a wrong thickness and two labels changed over each have a misfit of their own shape, and each is one more
unknown (or none): it is fitted, and judged by evidence. What none of them explains is a chip with another fault; the worst
is left out, and the others are judged without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from tintmix.numerals import chip_mm, numeral
from tintmix.optics.absorption import MOST_BENT
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.departure import Departure
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import Gathered
from tintmix.pigments.inference.observations import Index, Mask, Observations
from tintmix.pigments.inference.posterior import Mixture, two_pass

DOUBT_CHIP = 25.0
"""Squared misfit, over what chance gives, past which a chip is doubted (three numbers: one sound chip in 60 000)."""
DOUBT_CUP = 4.5
"""Standard deviations of its dose error past which a cup is doubted."""
_FITS = 16.3
"""Squared misfit of three numbers that a chip keeps at most once its fault is allowed for: more in 1 of 1000 (chi-square). Else a
wrong reading that is a little like another thickness is told as one."""
_NEEDED = 2.0
"""Nats for a fault over the tails, which explain anything a little: what it costs to choose among eight."""
_AS_LIKELY = 3.0
"""Nats within which another fault explains the readings as well ("positive", Kass and Raftery), and is named too."""
_FREE = 0.5
"""Spread of the log of a dose or thickness that may be plainly wrong: a factor of three is within reach."""
_TOLERANCE = 0.05
"""Twice the negative log posterior: a fall that evidence, judged to whole nats, does not feel."""
_MOST = 8
"""Chips that are looked at one by one; where more do not fit, it is the set, and each that does not is doubted."""
_MOST_FITTED = 4
"""Faults of a large set that are fitted with all chips: those whose own chips they explain best. Of 300 chips, three cups poured
half as strong again and three wrong readings were so told as they were."""
Judge = Callable[[Mixture, int], tuple[Array, Array]]


@dataclass(frozen=True, slots=True)
class _Fault:
    """A fault that explains rows: how it is said, and the chips seen so."""

    rows: tuple[int, ...]
    seen: Observations
    says: Callable[[Mixture], str]
    cup: str | None = None
    pigment: int | None = None


@dataclass(frozen=True, slots=True)
class Doubts:
    """doubted: (N,) rows. says: by row, what may be wrong. cups: table of each cup's dose factor."""

    doubted: Mask
    says: dict[int, str]
    cups: list[dict[str, Any]]


def beyond_chance(mixture: Mixture, misfit: Array, of_three: float = DOUBT_CHIP) -> Mask:
    """Rows (N,) whose squared misfit (N,) from what the others say chance does not give: of_three, the most of three numbers."""
    size = np.bincount(mixture.forward.rows, minlength=len(misfit))
    # Chi-square of m numbers set beside that of three: mean m, spread √(2m) (Wilson and Hilferty's cube root).
    normal = ((misfit / size) ** (1 / 3) - (1 - 2 / (9 * size))) / np.sqrt(2 / (9 * size))
    limit = ((of_three / 3) ** (1 / 3) - (1 - 2 / 27)) / np.sqrt(2 / 27)
    return np.asarray(normal > limit)


def doubts(
    gathered: Gathered, mixture: Mixture, misfit: Array, departures: Sequence[Departure], judge: Judge
) -> Doubts:
    """The doubts of a fit. misfit: (N,), of each row from what the others say; judge: that of a mixture's mode."""
    errors = mixture.weights @ mixture.fit.z[:, mixture.forward.layout.doses]
    cups = list(_cups(mixture.forward.observations, errors))
    by_chance = beyond_chance(mixture, misfit)
    in_cups = np.isin(np.array(gathered.observations.cups), [cup["cup"] for cup in cups if cup["doubted"]])
    suspects = np.flatnonzero(by_chance | in_cups)
    found, blamed = _explained(gathered, mixture, departures, judge) if len(suspects) else ({}, set())
    if found is None:
        return Doubts(by_chance | in_cups, {int(row): _CHECK for row in suspects}, cups)
    for cup in cups:
        cup["doubted"] = cup["cup"] in blamed
    doubted = np.zeros(len(misfit), dtype=bool)
    doubted[list(found)] = True
    return Doubts(doubted, found, cups)


_CHECK = "Check its label, its dose, its thickness and its reading."


def _explained(
    gathered: Gathered, mixture: Mixture, departures: Sequence[Departure], judge: Judge
) -> tuple[dict[int, str] | None, set[str | None]]:
    """What may be wrong with which rows, and the cups whose dose it is; None where more than one fault is behind many."""
    here = _again(mixture, mixture.forward.observations)
    said: dict[int, str] = {}
    blamed: set[str | None] = set()
    for turn in range(_MOST):
        misfit = judge(here, 0)[1]
        wrong = beyond_chance(here, misfit)
        if turn and np.count_nonzero(wrong) > _MOST:
            return None, blamed
        errors = here.fit.z[0, here.forward.layout.doses]
        cups = [cup["cup"] for cup in _cups(here.forward.observations, errors) if cup["doubted"]]
        rows = np.flatnonzero(wrong | np.isin(np.array(here.forward.observations.cups), cups))
        rows = np.setdiff1d(rows, list(said))
        if not len(rows):
            break
        rows = rows[np.argsort(-misfit[rows])][:_MOST]
        faults = _worth_a_fit(here, list(_faults(gathered, here.forward.observations, rows)))
        tried = [(fault, _again(mixture, fault.seen)) for fault in faults]
        gains = np.array([fit.fit.evidence[0] - here.fit.evidence[0] for _, fit in tried])
        better = [int(i) for i in np.argsort(-gains) if gains[i] > _NEEDED]
        fitting = [i for i in better if _fits(tried[i][0], tried[i][1], judge)]
        # A cup's error may be past belief, and each of its chips still be as read.
        fitting = fitting or ([] if wrong[rows[0]] else better[:1])
        if fitting:
            best = fitting[0]
            fault, here = tried[best]
            bend = None if fault.pigment is None else departures[fault.pigment]
            if bend is None or not _bends(gathered, bend, fault, float(gains[best])):
                others = [
                    tried[i][0].says(tried[i][1])
                    for i in fitting[1:]
                    if gains[i] > gains[best] - _AS_LIKELY and set(tried[i][0].rows) & set(fault.rows)
                ]
                line = ", or ".join([fault.says(here), *others[:1]])
                said |= dict.fromkeys(fault.rows, f"It reads as if {line}.")
                blamed.add(fault.cup)
        elif wrong[rows[0]]:
            worst = int(rows[0])
            tinted = bool(gathered.doses_phr[worst].any())
            said[worst] = (
                f"Neither another {'dose nor ' if tinted else ''}thickness explains it: check its label and its reading."
            )
            here = _again(mixture, here.forward.observations.unread(np.array([worst])))
        else:
            break
    return said, blamed


def _worth_a_fit(here: Mixture, faults: Sequence[_Fault]) -> list[_Fault]:
    """Of a set in parts, the faults that explain most with the spectra as they are found, the chips around theirs alone being
    fitted; of a whole set all."""
    if here.forward.division is None:
        return list(faults)
    known: dict[tuple[int, ...], float] = {}
    gains = []
    for fault in faults:
        parts = [part.piece for part in here.forward.division.parts if np.isin(fault.rows, part.piece.chips).any()]
        chips = np.sort(np.concatenate([piece.chips for piece in parts]))
        at = tuple(chips.tolist())
        if at not in known:
            known[at] = _beside_the_rest(here, here.forward.observations, chips)
        gains.append(_beside_the_rest(here, fault.seen, chips) - known[at])
    best = [int(i) for i in np.argsort(-np.array(gains))[:_MOST_FITTED] if gains[i] > 0.0]
    return [faults[i] for i in sorted(best)]


def _beside_the_rest(here: Mixture, seen: Observations, chips: Index) -> float:
    """Log evidence of some chips, spectra and Beer's law being as the one mode has them: their own errors alone are fitted."""
    forward, z = here.forward, here.fit.z
    k = forward.departure(z)[0]
    some = seen.restrict(chips, range(len(seen.pigments)))
    some = replace(some, doses=some.doses / (1 + np.maximum(k * some.doses, MOST_BENT)))
    nothing = np.zeros((1, len(GRID_NM), 0))
    alone = Forward(some, tuple(SpectrumPrior(np.log(one), nothing) for one in forward.absorptivities(z)), is_part=True)
    start = np.zeros((1, alone.layout.size))
    start[:, alone.layout.latents], start[:, alone.layout.thick] = (
        z[:, forward.layout.latents],
        z[:, forward.layout.thick],
    )
    return float(two_pass(alone, start, tolerance=_TOLERANCE).evidence[0])


def _fits(fault: _Fault, fit: Mixture, judge: Judge) -> bool:
    """Whether the fault's chips then go with the others."""
    return not beyond_chance(fit, judge(fit, 0)[1], _FITS)[list(fault.rows)].any()


def _bends(gathered: Gathered, bend: Departure, fault: _Fault, gain: float) -> bool:
    """Whether a pigment that colours less in its strongest cup explains it as well as a wrong dose of that cup."""
    doses = gathered.doses_phr[:, bend.pigment]
    strongest = doses[fault.rows[0]] >= doses.max() * (1 - 1e-9)
    return bool(strongest and bend.k > 0 and bend.log_evidence > gain - _AS_LIKELY)


def _again(mixture: Mixture, seen: Observations) -> Mixture:
    """The heaviest mode, of these chips."""
    best = mixture.forward.take(np.array([mixture.weights.argmax()]))
    z = mixture.fit.z[[mixture.weights.argmax()]].copy()
    # The errors have learnt to do without the fault.
    z[:, best.layout.doses] = 0.0
    forward = replace(best, observations=seen)
    return Mixture(forward, two_pass(forward, z, tolerance=_TOLERANCE), np.ones(1))


def _faults(gathered: Gathered, seen: Observations, rows: Index) -> Iterator[_Fault]:
    """Each wrong dose of a cup, each wrong thickness, each pair of labels that may explain these rows."""
    cups = dict.fromkeys(seen.cups[row] for row in rows)
    for cup in cups:
        of_cup = tuple(r for r, name in enumerate(seen.cups) if name == cup)
        errors = seen.dose_loads.of_rows(of_cup)
        for u in errors[seen.heavy[errors]]:
            pigment = seen.dose_loads.largest(u)[0]
            heavy = seen.heavy.copy()
            heavy[u] = False
            yield _Fault(
                of_cup,
                replace(seen, dose_loads=seen.dose_loads.rescaled(u, _FREE), heavy=heavy),
                _dose_words(gathered, of_cup[0], pigment, int(u)),
                cup,
                pigment,
            )
    for row in rows:
        spread = seen.thickness_spread.copy()
        spread[seen.poured[row]] = _FREE
        same = tuple(np.flatnonzero(seen.poured == seen.poured[row]).tolist())
        yield _Fault(same, replace(seen, thickness_spread=spread), _thickness_words(seen, int(row)))
    for one, other in combinations(rows.tolist(), 2):
        if (swapped := seen.exchanged(one, other)) is not seen:
            names = [gathered.chips[row].name for row in (one, other)]
            words = f"the labels of {names[0]} and {names[1]} had changed places"
            yield _Fault((one, other), swapped, lambda _, words=words: words)  # type: ignore[misc]


def _dose_words(gathered: Gathered, row: int, pigment: int, u: int) -> Callable[[Mixture], str]:
    def words(fit: Mixture) -> str:
        error = fit.fit.z[0, fit.forward.layout.doses][u] * fit.forward.observations.dose_loads.at(row, pigment, u)
        dose = gathered.doses_phr[row, pigment]
        unit = "of the cup's strength" if gathered.sets[0].is_one_cup else f"phr of {gathered.pigments[pigment]}"
        return f"its cup held {numeral(float(dose * np.exp(error)), 2)} {unit}, not {numeral(float(dose), 3)}"

    return words


def _thickness_words(seen: Observations, row: int) -> Callable[[Mixture], str]:
    def words(fit: Mixture) -> str:
        at, there = seen.poured[row], fit.forward.observations
        stretch = fit.fit.z[0, fit.forward.layout.thicknesses][at] * there.thickness_spread[at]
        true_mm = seen.thickness_mm[row] * np.exp(stretch)
        return f"it were {numeral(float(true_mm), 2)} mm thick, not {chip_mm(float(seen.thickness_mm[row]))}"

    return words


def _cups(observations: Observations, errors: Array) -> Iterator[dict[str, Any]]:
    """Each cup's dose factor, of errors (U,) of the dose nuisances."""
    loads, own = observations.dose_loads, dict[str, set[int]]()
    for row, u in zip(loads.rows, loads.errors, strict=True):
        if observations.heavy[u]:
            own.setdefault(observations.cups[row], set()).add(int(u))
    for cup in dict.fromkeys(observations.cups):
        if cup in own:
            mine = np.array(sorted(own[cup]))
            worst = mine[np.abs(errors[mine]).argmax()]
            factor = float(np.exp(loads.largest(worst)[1] * errors[worst]))
            yield {"cup": cup, "dose_factor": factor, "doubted": bool(abs(errors[worst]) > DOUBT_CUP)}
