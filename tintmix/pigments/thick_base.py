"""Is the untinted resin the same in thick pours? Chips without pigment are evidence on it: a thick pour cures hot and yellows.

The log of the base moves by one smooth spectrum between two thicknesses. It may where untinted chips ask for it, and always
towards an untinted block thicker than any tinted chip: what castings of that thickness take, the block tells, and thin chips
do not gainsay it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.numerals import chip_mm, numeral
from tintmix.optics.light import ThickBase
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.inference.draws import Draws
from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.inference.posterior import Mixture, prior_of, two_pass
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, base_basis
from tintmix.pigments.model import TintModel

EVIDENCE_SAID = 3.0
"""Nats for a second base before it is said ("strong", Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995)). Used it is from 0,
where it is as likely as not."""
_THICKER = 1.1
"""Times the thickest tinted chip: a block of the chips' own mould is none thicker."""
_POWER_SPREAD = 0.7
"""Of the log of the power by which it changes between the two thicknesses: half-way (in log thickness) the thick base then has a
share of 0.06 to 0.84, give or take two standard deviations of what nobody measured."""
_SEED = 7
"""Any number: the same chips give the same draws."""


@dataclass(frozen=True, slots=True)
class Change:
    """From and to which thickness (mm) the base changes."""

    from_mm: float
    to_mm: float

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


def change_of_base(observations: Observations) -> Change | None:
    """Between which thicknesses the base may change; None: one base serves."""
    tells = ~np.any(observations.doses > 0, axis=1)
    for reading in observations.readings:
        if reading.relative == "untinted":
            tells[reading.chips] = False
    rows = np.flatnonzero(tells)
    levels = np.unique(observations.thickness_mm[rows])
    tinted = observations.thickness_mm[np.any(observations.doses > 0, axis=1)]
    thickest_tinted = float(tinted.max(initial=0.0))
    if not len(levels) or not len(tinted):
        return None
    block = bool(levels[-1] > _THICKER * thickest_tinted)
    # Past a block, thin chips are one: that their base changes too, they hardly show.
    thinner = np.union1d(levels[:-1], thickest_tinted) if block else levels[:-1]
    ways = [Change(float(thin), float(levels[-1])) for thin in thinner if not block or thin >= thickest_tinted]
    if not ways or (block and len(ways) == 1):
        return next(iter(ways), None)
    blanks = observations.restrict(rows, [])
    gains = [_evidence(way.of(blanks)) - _evidence(blanks) for way in ways]
    best = int(np.argmax(gains))
    return ways[best] if block or gains[best] > 0 else None


def _evidence(blanks: Observations) -> float:
    forward = Forward(blanks, (prior_of(BASE_MEAN_LOG, [base_basis(None)]),))
    return float(two_pass(forward, np.zeros((1, forward.layout.size))).evidence[0])


def told(mixture: Mixture, model: TintModel, sure: bool = True) -> dict[str, Any] | None:
    """The entry of `health.set_up` and its sentence (`says`), where the chips leave no doubt that thick pours differ; else None.
    sure: whether the chips agree; where they contradict each other, an untinted chip may be the one that is wrong.

    Log evidence by the density ratio of Savage and Dickey at no change (Dickey, Ann. Math. Stat. 42, 204 (1971)): of the best
    mode's Gaussian N(m, S), prior N(0, I): ½ mᵀS⁻¹m + ½ log|S|.
    """
    if model.thick is None:
        return None
    g, place = int(mixture.weights.argmax()), mixture.forward.layout.thick
    at = np.searchsorted(mixture.forward.shared, np.arange(place.start, place.stop))
    covariance = np.linalg.inv(mixture.fit.precision[g])[np.ix_(at, at)]
    mean = mixture.fit.z[g, place]
    evidence = float(0.5 * mean @ np.linalg.solve(covariance, mean) + 0.5 * np.linalg.slogdet(covariance)[1])
    if evidence <= EVIDENCE_SAID:
        return None
    blue = (GRID_NM >= 400) & (GRID_NM <= 500)
    thin = model.draws_base[:, blue]
    ratio = (thin * np.exp(model.thick.log_ratio[:, blue])).sum(axis=1) / thin.sum(axis=1)
    bounds = np.quantile(ratio, (0.025, 0.5, 0.975))
    low, times, high = (numeral(float(one), 2) for one in bounds)
    as_heat = ", as a pour that cured hot yellows" if bounds[0] > 1 else ""
    thick = chip_mm(model.thick.to_mm)
    provided = "" if sure else "if the untinted chips are as the set says, "
    says = (
        f"{provided}untinted resin of {thick} mm takes {times} times ({low} to {high}) as much blue light per mm as that of "
        f"chips up to {chip_mm(model.thick.from_mm)} mm{as_heat}; predictions near {thick} mm rest on the untinted block of "
        "that thickness, and between the two nothing was measured."
    )
    return {"what": "base", "change": {}, "log_evidence": evidence, "says": says, "sure": sure}
