"""Which further cup would help most, and by how much: read off the draws, without a new fit.

The draws give the joint spread of what a cup would read and of the colours that matter. Under a linear-Gaussian update
the spread that is left is C_tt − C_tr (C_rr + R)⁻¹ C_rt (Rasmussen & Williams eq. A.6, with sample covariances).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from tintmix.numerals import chip_mm, numeral
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.gather import Gathered
from tintmix.pigments.model import TintModel

_LAB_SPREAD, _DOSE_SPREAD = 0.3, 0.02
"""A colorimeter's spread in L*, a*, b*, and the relative one of a dose: as formats.md has them where a set says nothing."""
_WORTH_SAYING = 0.05
"""A cup that lessens the typical error by less than this part is not worth pouring."""


@dataclass(frozen=True, slots=True)
class Advice:
    """sentence: the best next cup, or that none is needed. by_pigment: the same, a sentence each."""

    sentence: str
    by_pigment: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Cup:
    doses: Array
    thicknesses: Array


def advise(gathered: Gathered, model: TintModel) -> Advice:
    """Candidates: the blank where there is none, each pigment pale and strong, and every pair; judged on random
    mixtures, as thick as the thickest chip and 2.5 times that.
    """
    cups = _candidates(gathered, model)
    asked, asked_mm = probes(model)
    target = model.lab_draws(asked, asked_mm)
    off = (target - target.mean(axis=0)).reshape(len(target), -1)
    now = float(np.sqrt((off**2).sum(axis=1).mean() / len(asked)))
    gains = np.array([1 - _left(model, cup, off, len(asked)) / max(now, 1e-9) for cup in cups])
    by_pigment = []
    for p, name in enumerate(model.pigments):
        mine = [c for c, cup in enumerate(cups) if cup.doses[p] > 0]
        best = max(mine, key=lambda c: gains[c]) if mine else None
        if best is None or gains[best] < _WORTH_SAYING:
            by_pigment.append(f"no further cup of {name} would help much.")
        else:
            by_pigment.append(
                f"{_describe(cups[best], model)} would lessen the typical error by {100 * gains[best]:.0f} %."
            )
    if not len(cups) or gains.max() < _WORTH_SAYING:
        return Advice("No single further cup would help much: the chips pin the colours down.", tuple(by_pigment))
    best = int(gains.argmax())
    return Advice(
        f"The cup that would help most: {_describe(cups[best], model)}; {fall(now, gains[best])}.", tuple(by_pigment)
    )


def fall(now: float, gain: float) -> str:
    """By what part the typical uncertainty of a colour (in L*a*b*) would fall; from what to what, where that can be seen.

    >>> fall(0.9, 0.3), fall(0.31, 0.12)
    ('the typical uncertainty of a colour, now about 0.9 in L*a*b*, would fall to about 0.6', 'the typical uncertainty of a \
colour, now about 0.3 in L*a*b*, would lessen by 12 %')
    """
    before, after = f"{now:.1f}", f"{now * (1 - gain):.1f}"
    would = f"lessen by {100 * gain:.0f} %" if before == after else f"fall to about {after}"
    return f"the typical uncertainty of a colour, now about {before} in L*a*b*, would {would}"


def _candidates(gathered: Gathered, model: TintModel) -> list[_Cup]:
    observations = gathered.observations
    thicknesses = np.unique(observations.thickness_mm)
    shown = thicknesses if len(thicknesses) <= 2 else thicknesses[[0, -1]]
    cups = []
    count = len(model.pigments)
    if np.all(np.any(observations.doses > 0, axis=1)):
        cups.append(_Cup(np.zeros(count), shown[-1:]))
    middle = np.array([np.exp(np.log(np.unique(d[d > 0])).mean()) for d in gathered.doses_phr.T])
    for p in range(count):
        for dose in (middle[p] / 2, model.highest_phr[p]) if not model.is_one_cup else (0.5,):
            doses = np.zeros(count)
            doses[p] = _round_dose(dose)
            cups.append(_Cup(doses, shown))
    for a, b in combinations(range(count), 2):
        doses = np.zeros(count)
        doses[[a, b]] = _round_dose(middle[a]), _round_dose(middle[b])
        cups.append(_Cup(doses, shown))
    # Every pair of up to fourteen pigments, and each alone: what comes after would only take time.
    return cups[:120]


def _round_dose(dose: float) -> float:
    return float(f"{dose:.1g}")


def probes(model: TintModel) -> tuple[Array, Array]:
    """Twelve mixtures (N, P) and their thicknesses (N,): the sort of thing a maker will ask for."""
    # Any seed: the same model gives the same advice.
    rng = np.random.default_rng(11)
    count = len(model.pigments)
    if model.is_one_cup:
        doses = np.repeat([[1.0], [0.5]], 2, axis=0)
        return doses, model.thickest_mm * np.array([1.0, 2.5, 1.0, 2.5])
    doses = rng.uniform(0, 1, (12, count)) * model.highest_phr * 0.5
    # At most three pigments at once, as in a recipe.
    for row in doses:
        row[rng.permutation(count)[3:]] = 0.0
    return doses, model.thickest_mm * np.tile([1.0, 2.5], 6)


def _left(model: TintModel, cup: _Cup, off: Array, probes: int) -> float:
    chips = len(cup.thicknesses)
    doses = np.tile(cup.doses, (chips, 1))
    read = model.lab_draws(doses, cup.thicknesses).reshape(len(off), -1)
    away = read - read.mean(axis=0)
    stronger = model.lab_draws(doses * (1 + _DOSE_SPREAD), cup.thicknesses).reshape(len(off), -1)
    by_dose = (stronger - read).mean(axis=0)
    noise = _LAB_SPREAD**2 * np.eye(read.shape[1]) + np.outer(by_dose, by_dose)
    scale = len(off) - 1
    known = away.T @ away / scale + noise
    shared = off.T @ away / scale
    total = (off**2).sum() / scale
    return float(np.sqrt(max(total - np.trace(shared @ np.linalg.solve(known, shared.T)), 0.0) / probes))


def _describe(cup: _Cup, model: TintModel) -> str:
    chips = " and ".join(map(chip_mm, cup.thicknesses)) + " mm"
    parts = [f"{name} {numeral(dose)}" for name, dose in zip(model.pigments, cup.doses, strict=True) if dose > 0]
    if not parts:
        return f"one untinted cup (chip of {chips})"
    if model.is_one_cup:
        return f"one cup at {numeral(cup.doses[0])} of the strength (chips of {chips})"
    return f"one cup of {' + '.join(parts)} phr (chips of {chips})"
