"""Does Beer's law hold for each pigment? One parameter, c/(1 + k c), judged by evidence (physics §5).

A cup poured wrong looks like a departure, so the evidence must also stand with any one cup left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.observations import Index, Observations
from tintmix.pigments.inference.posterior import Mixture, two_pass

RELATIVE_SPREAD = 0.3
"""Prior spread of k c at the strongest chip."""
EVIDENCE_NEEDED = 3.0
"""Nats for a departure before it is used ("strong", Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995))."""
_STARTS = np.array([-1.5, -0.7, 0.0, 0.7, 1.5])
"""Where k is looked for, in units of its prior spread."""
WITHOUT_ANY_CUP = 0.5
"""Nats that must be left with the most telling cup out."""


@dataclass(frozen=True, slots=True)
class Departure:
    """pigment: its place. spread: prior spread of k. k: the estimate. log_evidence: for a departure against none."""

    pigment: int
    spread: float
    k: float
    log_evidence: float
    used: bool


def judge(observations: Observations, mixture: Mixture) -> list[Departure]:
    """One verdict a pigment: a linear first look costs one evaluation; only what stands out is fitted in full."""
    found = []
    for pigment in range(len(observations.pigments)):
        doses = observations.doses[:, pigment]
        levels = np.unique(np.round(doses[doses > 0], 9))
        spread = RELATIVE_SPREAD / float(doses.max())
        if len(levels) < 3:
            found.append(Departure(pigment, spread, 0.0, 0.0, False))
            continue
        k, evidence = _at_a_glance(mixture, pigment, spread)
        used = False
        if evidence > EVIDENCE_NEEDED / 2:
            k, evidence = _evidence(observations, mixture, np.arange(len(doses)), pigment, spread)
            used = (
                evidence > EVIDENCE_NEEDED
                and _without_any_cup(observations, mixture, pigment, spread) > WITHOUT_ANY_CUP
            )
        found.append(Departure(pigment, spread, float(k), float(evidence), bool(used)))
    return found


def _at_a_glance(mixture: Mixture, pigment: int, spread: float) -> tuple[float, float]:
    """k and its log evidence from one Newton step at the best mode, all else free: ½ g²/h − ½ log h."""
    best = int(mixture.weights.argmax())
    forward = replace(mixture.forward.take(np.array([best])), departures=((pigment, spread),))
    at = forward.layout.departures.start
    residual, jacobian = forward.residuals(np.insert(mixture.fit.z[best], at, 0.0)[None])
    weight = np.sqrt(mixture.fit.weight[best])[forward.rows]
    column = jacobian[0, :, at] * weight
    rest = mixture.fit.jacobian[best]
    shared = rest.T @ column
    curvature = 1.0 + column @ column - shared @ np.linalg.solve(mixture.fit.precision[best], shared)
    gradient = column @ (residual[0] * weight)
    step = -gradient / curvature
    return step * spread, 0.5 * gradient**2 / curvature - 0.5 * np.log(curvature)


def _without_any_cup(observations: Observations, mixture: Mixture, pigment: int, spread: float) -> float:
    """The least evidence that is left when any one of the pigment's cups is out."""
    cups = {cup for cup, dose in zip(observations.cups, observations.doses[:, pigment], strict=True) if dose > 0}
    least = np.inf
    for cup in sorted(cups):
        rows = np.array([r for r, name in enumerate(observations.cups) if name != cup])
        if np.count_nonzero(observations.doses[rows, pigment]) < 2:
            return -np.inf
        least = min(least, _evidence(observations, mixture, rows, pigment, spread)[1])
    return least


def _evidence(
    observations: Observations, mixture: Mixture, rows: Index, pigment: int, spread: float
) -> tuple[float, float]:
    """k and log evidence for it at the best mode, from two descents: on the blanks and the chips of this pigment alone where
    these have two doses, else on all chips."""
    mixed = np.any(np.delete(observations.doses, pigment, axis=1) > 0, axis=1)
    alone = rows[~mixed[rows]]
    rows = alone if len(np.setdiff1d(observations.doses[alone, pigment], 0.0)) >= 2 else rows
    kept = list(range(len(observations.pigments))) if mixed[rows].any() else [pigment]
    part = observations.restrict(rows, kept)
    g = int(mixture.weights.argmax())
    one = mixture.forward.take(np.array([g]))
    absorbers = [0, *(p + 1 for p in kept)]
    priors = tuple(one.priors[a] for a in absorbers)
    place = kept.index(pigment)
    plain = Forward(part, priors)
    z = np.zeros((1, plain.layout.size))
    for j, a in enumerate(absorbers):
        z[0, plain.layout.absorbers[j]] = mixture.fit.z[g, mixture.forward.layout.absorbers[a]]
    without = two_pass(plain, z)
    asked = Forward(part, priors, ((place, spread),))
    at = asked.layout.departures.start
    # The dose errors have learnt to do without k: start them afresh, and k on both sides.
    starts = np.repeat(np.insert(z, at, 0.0, axis=1), len(_STARTS), axis=0)
    starts[:, at] = _STARTS
    with_k = two_pass(asked, starts)
    best = int(with_k.evidence.argmax())
    k = float(asked.departure(with_k.z)[best, place])
    return k, float(with_k.evidence[best] - without.evidence[0])
