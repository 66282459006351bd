"""Does Beer's law hold for each pigment? One parameter, c/(1 + k c), judged by evidence (physics §5).

A cup poured wrong looks like a departure, so that one is used outright only where the evidence also stands with any one cup
left out. Where it may be either, or small, predictions reckon with both, each by its evidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

import numpy as np

from tintmix.numerals import numeral
from tintmix.optics.absorption import MOST_BENT
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.draws import steps_bent
from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.laplace import Fit, evaluated
from tintmix.pigments.inference.observations import Index, Mask, Observations
from tintmix.pigments.inference.parts import reduced
from tintmix.pigments.inference.posterior import Mixture, shares_of, two_pass

RELATIVE_SPREAD = 0.3
"""Prior spread of k c at the strongest chip."""
EVIDENCE_NEEDED = 3.0
"""Nats for a departure before it is used ("strong", Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995))."""
_STARTS = np.array([-1.5, -0.7, 0.0, 0.7, 1.5])
"""Where k is looked for, in units of its prior spread."""
_LEVELS = 3
"""Doses of a pigment: from two, strength and departure are not told apart but by their errors."""
_WEIGHT_ASKED = 0.01
"""Of the heaviest mode's: lighter ones are asked nothing, fewer than three of the 300 draws come from them."""
_SHARE_DRAWN = 1e-3
"""Of the mixture: lighter modes are left out, a third of a draw would come from one."""
_QUIET = 2.0
"""Standard deviations: where no cup's dose error is larger, a departure is small and its mode near. With 0 the figures of
`python -m tests.accuracy.blank_rows` are the same, and a fit takes half as long again."""
_MANY_CUPS = 10
"""Of a pigment: where there are more, their errors cannot all lean one way, and a Newton step finds the departure however far off
the worst cup is. Of 33 pigments in 11 to 28 cups it told a bend at the strongest chip within 0.01 of what a fit tells, and
evidence within 0.4 nats, in a twentieth of the time."""
_HARDLY = 0.5
"""Of the strength at the strongest chip: what leaves a larger bend open tells next to nothing of one."""
NOT_JUDGED = "not judged while the chips do not agree with the set as it is declared"
_TOLERANCE = 0.05
"""Twice the negative log posterior: a fall that evidence, judged to whole nats, does not feel."""
_HELD = 1e12
"""Precision of an unknown held at zero, beside 1 for one that only its prior holds."""
_BY_MODE = ("evidence", "weight", "residual")
WITHOUT_ANY_CUP = 0.5
"""Nats that must be left with the most telling cup out."""


@dataclass(frozen=True, slots=True)
class Departure:
    """pigment: its place. spread: prior spread of k. k: the estimate. log_evidence: for a departure against none. used: beyond
    doubt. at_most: the largest part by which it may weaken or strengthen the pigment at its strongest chip (95 %, if there is
    one); None where fewer than three doses tell.
    """

    pigment: int
    spread: float
    k: float
    log_evidence: float
    used: bool
    at_most: float | None = None


def judge(observations: Observations, mixture: Mixture) -> list[Departure]:
    """One verdict a pigment: a linear first look costs one evaluation; only what stands out is fitted in full."""
    found = []
    for pigment in range(len(observations.pigments)):
        doses = observations.doses[:, pigment]
        spread = RELATIVE_SPREAD / float(doses.max())
        if _levels(observations, pigment) < _LEVELS:
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


def told(found: Departure, up_to_phr: float) -> str:
    """What the chips say of Beer's law, in words."""
    bent = 1 - 1 / (1 + max(found.k * up_to_phr, MOST_BENT))
    effect = f"{numeral(100 * abs(bent), 2)} % {'weaker' if bent > 0 else 'stronger'} at {numeral(up_to_phr)} phr"
    if found.used:
        return f"bends ({effect}), allowed for"
    if found.at_most is None:
        return f"not looked for: fewer than {_LEVELS} doses"
    if found.log_evidence > 0:
        return f"may bend ({effect}), or its strongest cup is off: both are reckoned with"
    if found.at_most > _HARDLY:
        return f"hardly told: a bend by half or more up to {numeral(up_to_phr)} phr is not excluded"
    return f"no sign of a bend up to {numeral(up_to_phr)} phr (at most {np.ceil(100 * found.at_most):.0f} %)"


def averaged(
    observations: Observations, mixture: Mixture, departures: list[Departure]
) -> tuple[Mixture, list[Departure]]:
    """The mixture with modes beside its own in which one pigment departs, each weighted by its evidence; and the verdicts
    that follow. A departure is as likely as not before any chip is seen.
    """
    inside = dict(mixture.forward.departures)
    asked = [d for d in departures if d.pigment not in inside and _levels(observations, d.pigment) >= _LEVELS]
    forward = replace(mixture.forward, departures=(*inside.items(), *((d.pigment, d.spread) for d in asked)))
    added = np.arange(len(inside), len(inside) + len(asked)) + forward.layout.departures.start
    told = [_bounded(observations, mixture, d) if d.used else d for d in departures]
    # Each part: a fit, the unknowns that it holds at zero, its log weights, and which modes of the mixture it came from.
    parts = [(mixture.fit, added, mixture.log_weights, np.arange(len(mixture.weights)))]
    kept = np.flatnonzero(mixture.weights > _WEIGHT_ASKED * mixture.weights.max())
    before = mixture.fit.take(kept)
    errors = np.abs(before.z[:, mixture.forward.layout.doses]).max(axis=0, initial=0.0)
    quiet = [
        bool(
            errors[own := observations.dose_loads.of_pigment(d.pigment)][observations.heavy[own]].max(initial=0.0)
            < _QUIET
            or observations.heavy[own].sum() > _MANY_CUPS
        )
        for d in asked
    ]
    at = mixture.forward.layout.departures.stop
    ways = tuple((d.pigment, d.spread) for d in asked)
    more = _asked(mixture.forward.take(kept), before, ways) if any(quiet) else None
    for j, (d, column) in enumerate(zip(asked, added, strict=True)):
        one = replace(mixture.forward.take(kept), departures=(*inside.items(), ways[j]))
        if quiet[j] and more is not None:
            fit = _with_one_more(before, more.of(j), at, one)
        else:
            z = np.insert(before.z, at, 0.0, axis=1)
            # They have learnt to do without k.
            z[:, one.layout.doses] = 0.0
            fit = two_pass(one, z, steps=6, tolerance=_TOLERANCE)
        log_weights = mixture.log_weights[kept] + fit.evidence - before.evidence
        parts.append((fit, np.setdiff1d(added, column), log_weights, kept))
        share = shares_of(log_weights)
        found = replace(
            d,
            k=float(share @ one.departure(fit.z)[:, d.pigment]),
            log_evidence=float(np.logaddexp.reduce(log_weights)),
        )
        told[d.pigment] = _bounded(observations, Mixture(one, fit, share), found, at)
    every = shares_of(np.concatenate([part[2] for part in parts]))
    drawn = np.split(every > _SHARE_DRAWN, np.cumsum([len(part[2]) for part in parts])[:-1])
    joined = _joined([(part[0], which, part[1]) for part, which in zip(parts, drawn, strict=True)], forward)
    owner = np.concatenate([part[3][which] for part, which in zip(parts, drawn, strict=True)])
    priors = tuple(prior.of_each(len(mixture.weights)).take(owner) for prior in mixture.forward.priors)
    shares = every[np.concatenate(drawn)]
    return Mixture(replace(forward, priors=priors), joined, shares / shares.sum()), told


@dataclass(frozen=True, slots=True)
class _More:
    """Of G modes and departures that the model has not, where they are zero: shared (G, D, …), the precision between the others
    and each; own (G, …), its own; gradient (G, …) of half the objective; reach (G, D, …), by how much the others move against it;
    slopes (G, R, …) of the weighted readings, of a whole set."""

    shared: Array
    own: Array
    gradient: Array
    reach: Array
    slopes: Array | None

    def of(self, j: int) -> _More:
        """Of one departure alone."""
        slopes = None if self.slopes is None else self.slopes[..., j]
        return _More(self.shared[..., j], self.own[..., j], self.gradient[..., j], self.reach[..., j], slopes)

    @property
    def curvature(self) -> Array:
        """Of one departure, all else free (G,)."""
        return np.asarray(self.own - (self.shared * self.reach).sum(axis=1))

    @property
    def log_evidence(self) -> Array:
        """For one departure, by one Newton step (G,): ½ g²/h − ½ log h."""
        return np.asarray(0.5 * self.gradient**2 / self.curvature - 0.5 * np.log(self.curvature))


def _asked(forward: Forward, fit: Fit, ways: tuple[tuple[int, float], ...]) -> _More:
    """What a fit's modes say of departures that its forward model has not."""
    at = forward.layout.departures.stop
    asked = replace(forward, departures=(*forward.departures, *ways))
    z = np.insert(fit.z, [at] * len(ways), 0.0, axis=1)
    slopes: Array | None = None
    if asked.division is None:
        jacobian = asked.residuals(z)[1][..., at : at + len(ways)]
        root = np.sqrt(fit.weight)[:, forward.rows]
        slopes = jacobian * root[..., None]
        shared = np.matmul(fit.jacobian.swapaxes(1, 2), slopes)
        own = 1.0 + (slopes**2).sum(axis=1)
        gradient = (slopes * (fit.residual * root)[..., None]).sum(axis=1)
    else:
        there, new = evaluated(asked, z), np.arange(at, at + len(ways))
        left = reduced(there.jacobians, asked.division, there.prior).precision
        others = np.setdiff1d(np.arange(left.shape[1]), new)
        shared, own, gradient = left[:, others[:, None], new], left[:, new, new], there.gradient[:, new]
    reach = np.asarray(np.linalg.solve(fit.precision, shared), dtype=np.float64)
    return _More(shared, own, gradient, reach, slopes)


def _with_one_more(fit: Fit, more: _More, at: int, forward: Forward) -> Fit:
    """Modes with one more unknown at place `at`, which starts at zero, by one Newton step; forward: the model that has it. Of a
    part's own unknowns, all stay as they are."""
    step = -more.gradient / more.curvature
    # Those that the precision is of.
    known = np.delete(forward.shared, at)
    known = np.where(known > at, known - 1, known)
    kept = np.delete(np.arange(len(known) + 1), at)
    precision = np.empty((len(step), len(kept) + 1, len(kept) + 1))
    precision[:, kept[:, None], kept] = fit.precision
    precision[:, at, kept] = precision[:, kept, at] = more.shared
    precision[:, at, at] = more.own
    z = fit.z.copy()
    z[:, known] -= step[:, None] * more.reach
    residual, jacobians = fit.residual, fit.jacobians
    if more.slopes is not None:
        moved = step[:, None] * (more.slopes - np.matmul(fit.jacobian, more.reach[..., None])[..., 0])
        residual = residual + moved / np.sqrt(fit.weight)[:, forward.rows]
        # They are large, and some draws alone are bent by them.
        jacobians = (np.insert(fit.jacobian, at, more.slopes, axis=2) if steps_bent(forward) else fit.jacobian,)
    return Fit(
        z=np.insert(z, at, step, axis=1),
        evidence=fit.evidence + more.log_evidence,
        precision=precision,
        prior=np.insert(fit.prior, at, 1.0, axis=1),
        weight=fit.weight,
        residual=residual,
        jacobians=jacobians,
    )


def _joined(parts: Sequence[tuple[Fit, Mask, Index]], forward: Forward) -> Fit:
    """Some modes of each fit, as of this model, the unknowns at these places held at zero; Jacobians only where draws are bent by
    them, for they are large."""
    first, count, size = parts[0][0], sum(int(which.sum()) for _, which, _ in parts), forward.layout.size
    rows = first.residual.shape[1] if steps_bent(forward) else 0
    known = len(forward.shared)
    z, jacobian, precision = np.zeros((count, size)), np.zeros((count, rows, size)), np.zeros((count, known, known))
    prior = np.ones((count, size))
    at = 0
    for fit, which, held in parts:
        here = slice(at, at := at + int(which.sum()))
        kept = np.setdiff1d(np.arange(size), held)
        z[here, kept], prior[here, kept] = fit.z[which], fit.prior[which]
        if rows:
            jacobian[here, :, kept] = fit.jacobian[which]
        own, precisions = _runs(held, known), fit.precision[which]
        for (to, of), (across, of_across) in product(own, own):
            precision[here, to, across] = precisions[:, of, of_across]
        precision[here, held, held] = _HELD
    plain = {name: np.concatenate([getattr(fit, name)[which] for fit, which, _ in parts]) for name in _BY_MODE}
    return Fit(z=z, jacobians=(jacobian,), precision=precision, prior=prior, **plain)


def _runs(held: Index, size: int) -> list[tuple[slice, slice]]:
    """The runs of places of `size` between those that are held, and where they stand when these are left out.

    >>> _runs(np.array([2, 3]), 6)
    [(slice(0, 2, None), slice(0, 2, None)), (slice(4, 6, None), slice(2, 4, None))]
    """
    edges = [-1, *held.tolist(), size]
    gaps = [(n, low + 1, high) for n, (low, high) in enumerate(pairwise(edges)) if high > low + 1]
    return [(slice(low, high), slice(low - n, high - n)) for n, low, high in gaps]


def _bounded(observations: Observations, mixture: Mixture, found: Departure, at: int | None = None) -> Departure:
    """With the largest departure that the best mode's Gaussian of k leaves open."""
    best, layout = int(mixture.weights.argmax()), mixture.forward.layout
    if at is None:
        at = layout.departures.start + [p for p, _ in mixture.forward.departures].index(found.pigment)
    sigma = found.spread * np.sqrt(np.linalg.inv(mixture.fit.precision[best])[at, at])
    k = mixture.forward.departure(mixture.fit.z)[best, found.pigment] + 1.96 * sigma * np.array([-1.0, 1.0])
    bent = np.maximum(k * observations.doses[:, found.pigment].max(), MOST_BENT)
    return replace(found, at_most=float(np.abs(bent / (1 + bent)).max()))


def _levels(observations: Observations, pigment: int) -> int:
    doses = observations.doses[:, pigment]
    return len(np.unique(np.round(doses[doses > 0], 9)))


def _at_a_glance(mixture: Mixture, pigment: int, spread: float) -> tuple[float, float]:
    """k and its log evidence from one Newton step at the best mode, all else free: ½ g²/h − ½ log h."""
    best = np.array([int(mixture.weights.argmax())])
    more = _asked(mixture.forward.take(best), mixture.fit.take(best), ((pigment, spread),)).of(0)
    return float(-more.gradient[0] / more.curvature[0]) * spread, float(more.log_evidence[0])


def _without_any_cup(observations: Observations, mixture: Mixture, pigment: int, spread: float) -> float:
    """The least evidence that is left when any one of the pigment's cups is out."""
    doses = observations.doses[:, pigment]
    cups = {cup: dose for cup, dose in zip(observations.cups, doses, strict=True) if dose > 0}
    if len(cups) > _MANY_CUPS:
        # What bends is told by the ends.
        order = sorted(cups, key=lambda cup: cups[cup])
        cups = {cup: cups[cup] for cup in (*order[: _MANY_CUPS // 2], *order[-_MANY_CUPS // 2 :])}
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
