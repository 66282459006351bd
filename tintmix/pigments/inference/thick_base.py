"""Is the untinted resin the same in thick pours? Chips without pigment are evidence on it: a thick pour cures hot and yellows.

The log of the base moves by one smooth spectrum between two of their thicknesses, if the untinted chips disagree with one base
by more than their errors; judged by evidence, on these chips alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tintmix.optics.light import ThickBase
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.draws import Draws
from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.inference.posterior import prior_of, two_pass
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, base_basis

EVIDENCE_NEEDED = 3.0
"""Nats for a second base before it is used ("strong", Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995))."""
_POWER_SPREAD = 0.5
"""Of the log of the power by which it changes between the two thicknesses: half-way (in log thickness) the thick base then has a
share of 0.2 to 0.7, give or take two standard deviations of what nobody measured."""
_SEED = 7
"""Any number: the same chips give the same draws."""


@dataclass(frozen=True, slots=True)
class Found:
    """From and to which thickness (mm) the base changes, and the log evidence for it against one base."""

    from_mm: float
    to_mm: float
    log_evidence: float

    def of(self, observations: Observations) -> Observations:
        """The same chips, each with its share of the thick base."""
        rule = ThickBase(log_ratio=np.zeros(len(GRID_NM)), from_mm=self.from_mm, to_mm=self.to_mm)
        return replace(observations, thick=rule.share(observations.thickness_mm))

    def drawn(self, draws: Draws) -> ThickBase:
        """With its draws, as a file will keep them."""
        half = np.random.default_rng(_SEED).standard_normal(len(draws.z) // 2)
        power = np.exp(_POWER_SPREAD * np.column_stack([half, -half]).ravel())
        log_ratio, power = (part.astype("<f4").astype(np.float64) for part in (draws.log_thick, power))
        return ThickBase(log_ratio=log_ratio, from_mm=self.from_mm, to_mm=self.to_mm, power=power)


def thick_base(observations: Observations) -> Found | None:
    """The change of the base that untinted chips ask for, if they do."""
    relative = [r.chips for r in observations.readings if r.relative == "untinted"]
    tells = ~np.any(observations.doses > 0, axis=1)
    tells[np.concatenate(relative or [np.zeros(0, dtype=np.intp)])] = False
    rows = np.flatnonzero(tells)
    levels = np.unique(observations.thickness_mm[rows])
    if len(levels) < 2:
        return None
    blanks = observations.restrict(rows, [])
    plain = _evidence(blanks)
    found = [Found(float(one), float(levels[-1]), 0.0) for one in levels[:-1]]
    found = [replace(one, log_evidence=_evidence(one.of(blanks)) - plain) for one in found]
    best = max(found, key=lambda one: one.log_evidence)
    return best if best.log_evidence > EVIDENCE_NEEDED else None


def _evidence(blanks: Observations) -> float:
    forward = Forward(blanks, (prior_of(BASE_MEAN_LOG, [base_basis(None)]),))
    return float(two_pass(forward, np.zeros((1, forward.layout.size))).evidence[0])


def times_as_yellow(base_per_mm: Array, thick: ThickBase) -> float:
    """How many times as much blue light (400–500 nm) a thick pour's base takes per mm as a thin one's."""
    blue = (GRID_NM >= 400) & (GRID_NM <= 500)
    return float((base_per_mm * np.exp(thick.log_ratio))[..., blue].sum() / base_per_mm[..., blue].sum())
