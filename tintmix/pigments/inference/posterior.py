"""From observations to the posterior: many starts, a few smoothnesses, joint fits, and the mixture of what they found.

A colour is three numbers, and a spectrum that explains them is seldom the only one: a third of all pigments have two
or more that do so equally well. Hence no single best spectrum, but a mixture of Gaussians, each around one joint mode,
weighted by evidence. Spectra measured band by band leave no such doubt: there one mode at full rank serves.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.optics.plate import internal_transmittance
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.laplace import Fit, laplace_modes, without_tails
from tintmix.pigments.inference.observations import Index, Observations, grey_absorbance
from tintmix.pigments.inference.prior import (
    BASE_MEAN_LOG,
    SMOOTHNESS,
    Basis,
    base_basis,
    families,
    pigment_basis,
    start_shapes,
    uneven_basis,
)

AskedDeparture = tuple[int, float, float]
"""Pigment, prior spread of k, and the k to start from."""

MODES_KEPT = 3
"""Spectra of one pigment that explain its chips: a third of real pigments had two or more, in 200 simulated sets."""
EVIDENCE_WINDOW = 5.0
"""Nats: a mode worse than the best by more is left out; it would have less than a hundredth of its weight."""
MODES_DIFFER = 0.5
"""In log ε somewhere in 410–690 nm: closer modes are one."""
_MIDDLE = 1
"""Index into SMOOTHNESS at which the starts are sifted: sharp, or narrow bands lose their mode. At 80 nm, errors of twenty sets
of narrow dyes were 30 % larger, and 9 sets doubted a sound chip in place of 4; for films and glasses it is all one."""


@dataclass(frozen=True, slots=True)
class Mixture:
    """G joint modes: weights (G,) and their Gaussians; one forward model for all of them."""

    forward: Forward
    fit: Fit
    weights: Array

    @property
    def log_weights(self) -> Array:
        """Their logs (G,); of many chips the worst modes have weights that are nothing beside the best."""
        return np.asarray(np.log(np.maximum(self.weights, np.finfo(np.float64).tiny)))


@dataclass(frozen=True, slots=True)
class _Mode:
    """A way to see a single pigment: its basis and how often such are met, coordinates, the base's, and how well it explains its
    own chips."""

    basis: Basis
    share: float
    z: Array
    base: Array
    evidence: float


Progress = Callable[[float], None]
_SINGLES = 0.25
"""Of the time of a posterior of 1000 chips: the single pigments'."""


def posterior(
    observations: Observations, departures: tuple[AskedDeparture, ...] = (), progress: Progress | None = None
) -> Mixture:
    """The mixture posterior of the base and of every pigment. progress: told now and then what part is done."""
    tell = progress or (lambda _: None)
    # Spectra: then the grid is known band by band, and full rank pays.
    if any(reading.form == "bands" for reading in observations.readings):
        return _from_spectra(observations, departures, tell)
    levels = grey_levels(observations)
    known: list[int] = []
    modes: dict[int, list[_Mode]] = {}
    order = sorted(range(len(observations.pigments)), key=lambda p: -len(_alone(observations, p)))
    for pigment in order:
        rows, offset = _chips_for(observations, pigment, known, modes, levels)
        single = observations.restrict(rows, [pigment], offset)
        modes[pigment] = _single_modes(single, levels[pigment])
        known.append(pigment)
        tell(_SINGLES * len(known) / len(order))
    mixtures = bool(np.any((observations.doses > 0).sum(axis=1) > 1))
    # 12, as in the experiments that the estimator rests on, and 16 where chips of mixtures tell combinations apart: with 24
    # the figures of 72 sets of films, glasses and narrow dyes are the same.
    joint = _joint(observations, [modes[p] for p in range(len(modes))], levels, 16 if mixtures else 12, departures)
    tell(1.0)
    return joint


def grey_levels(observations: Observations) -> Array:
    """Log absorptivity (P,) of each pigment were it grey: least squares, never below the prior's reach."""
    absorbance = grey_absorbance(observations) - np.exp(BASE_MEAN_LOG) * observations.thickness_mm
    dosed = observations.doses * observations.thickness_mm[:, None]
    # 0.02: paler chips differ from the base by little more than their errors. With 0.005 or 0.08 no colour moved by 0.13 ΔE00.
    scale = np.maximum(absorbance, 0.02)
    # Relative residuals: a dark chip should not drown the pale ones, which are read best.
    weighted = dosed / scale[:, None]
    # 1e-6: only where chips tell two pigments apart not at all.
    ridge = 1e-6 * np.maximum((weighted**2).sum(axis=0), 1e-12)
    level = np.linalg.solve(weighted.T @ weighted + np.diag(ridge), weighted.T @ (absorbance / scale))
    alone = (weighted * (absorbance / scale)[:, None]).sum(axis=0) / np.maximum((weighted**2).sum(axis=0), 1e-12)
    # Below a twentieth of what the pigment would have alone, others took its light: no level at all would be left.
    level = np.where(level > 0.05 * alone, level, alone)
    return np.log(np.maximum(level, 1e-4))


def _alone(observations: Observations, pigment: int) -> Index:
    others = np.delete(observations.doses, pigment, axis=1)
    return np.flatnonzero((observations.doses[:, pigment] > 0) & ~np.any(others > 0, axis=1))


def _chips_for(
    observations: Observations, pigment: int, known: list[int], modes: dict[int, list[_Mode]], levels: Array
) -> tuple[Index, Array | None]:
    """The chips that tell of one pigment, with the blanks; the absorption of its company where it is never alone."""
    blanks = np.flatnonzero(~np.any(observations.doses > 0, axis=1))
    alone = _alone(observations, pigment)
    if len(alone):
        return np.concatenate([blanks, alone]), None
    with_it = np.flatnonzero(observations.doses[:, pigment] > 0)
    offset = observations.known_per_mm.copy()
    for other in range(len(observations.pigments)):
        if other == pigment:
            continue
        if other in known:
            best = max(modes[other], key=lambda mode: mode.evidence)
            spectrum = np.exp(levels[other] + best.basis.columns @ best.z)
        else:
            spectrum = np.full(len(GRID_NM), np.exp(levels[other]))
        offset += observations.doses[:, other, None] * spectrum
    rows = np.concatenate([blanks, with_it])
    return rows, offset[rows]


def _single_modes(single: Observations, level: float) -> list[_Mode]:
    smoothness, shares = families(single.is_one_cup)
    every = [pigment_basis(*one) for one in smoothness]
    forward, z = _single_problem(single, level, [every[_MIDDLE]], start_shapes()[None])
    fit = two_pass(forward, z, steps=8, first=4, far=True)
    kept = _distinct(fit, forward)
    shapes = [forward.priors[1].basis[0] @ fit.z[b, forward.layout.absorbers[1]] for b in kept]
    forward, z = _single_problem(single, level, every, np.stack([shapes] * len(every)))
    bases = np.tile(fit.z[kept][:, forward.layout.absorbers[0]], (len(every), 1))
    z[:, forward.layout.absorbers[0]] = bases
    refined = laplace_modes(forward, z, steps=8, tolerance=0.02)
    at_base, at_pigment = forward.layout.absorbers
    return [
        _Mode(every[f], shares[f], refined.z[b, at_pigment], refined.z[b, at_base], float(refined.evidence[b]))
        for b, f in enumerate(np.repeat(range(len(every)), len(kept)))
    ]


def _single_problem(single: Observations, level: float, bases: list[Basis], shapes: Array) -> tuple[Forward, Array]:
    """Forward model and starts for one pigment: shapes (len(bases), S, K) become len·S candidates."""
    per = shapes.shape[1]
    forward = Forward(single, (_base_prior(base_basis()), prior_of(level, [b for b in bases for _ in range(per)])))
    z = np.zeros((per * len(bases), forward.layout.size))
    z[:, forward.layout.absorbers[1]] = np.concatenate([b.coordinates(s) for b, s in zip(bases, shapes, strict=True)])
    return forward, z


def _base_prior(basis: Basis) -> SpectrumPrior:
    return prior_of(BASE_MEAN_LOG, [basis])


def prior_of(level: float, bases: Sequence[Basis]) -> SpectrumPrior:
    """Of B candidates, each with its own basis, about one level."""
    columns, left_out = (np.stack([getattr(basis, part) for basis in bases]) for part in ("columns", "left_out"))
    return SpectrumPrior(np.full((1, len(GRID_NM)), level), columns, left_out)


def two_pass(
    forward: Forward, z: Array, steps: int = 12, tolerance: float = 0.01, first: int = 8, far: bool = False
) -> Fit:
    """`first` steps as a Gaussian, so that a far start feels the pull of every chip; then with tails, so that a bad chip loses
    its own. far: as `laplace.without_tails` has it.

    20 steps in all, as in the experiments that the estimator rests on; joint fits need them: with 13, one of 24 sets of real
    dyed films was covered by 40 %.
    """
    near = without_tails(forward, z, first, tolerance=0.1, far=far)
    return laplace_modes(forward, near, steps, tolerance=tolerance)


def _distinct(fit: Fit, forward: Forward) -> list[int]:
    """Candidates within the evidence window of the best that differ from one another in mid-spectrum."""
    # Beyond, an eye sees next to nothing, and what colours tell of a spectrum is the prior's.
    middle = (GRID_NM >= 410) & (GRID_NM <= 690)
    logs = np.log(forward.absorptivities(fit.z)[1])[:, middle]
    kept: list[int] = []
    for b in np.argsort(-fit.evidence):
        if fit.evidence[b] < fit.evidence.max() - EVIDENCE_WINDOW or len(kept) == MODES_KEPT:
            break
        if all(np.abs(logs[b] - logs[other]).max() > MODES_DIFFER for other in kept):
            kept.append(int(b))
    return kept


def _joint(
    observations: Observations,
    modes: list[list[_Mode]],
    levels: Array,
    count: int,
    departures: tuple[AskedDeparture, ...],
) -> Mixture:
    """Joint fits of combinations of single-pigment modes, drawn systematically by evidence."""
    # Any seed: the same chips give the same combinations.
    rng = np.random.default_rng(20240229)
    evidences = [np.array([mode.evidence + np.log(mode.share) for mode in single]) for single in modes]
    picks = np.stack([rng.permutation(systematic(shares_of(own), count)) for own in evidences], axis=1)
    combos, times = np.unique(picks, axis=0, return_counts=True)
    priors = [_base_prior(base_basis())]
    for p, single in enumerate(modes):
        priors.append(prior_of(levels[p], [single[c].basis for c in combos[:, p]]))
    forward = Forward(observations, tuple(priors), tuple((p, spread) for p, spread, _ in departures))
    z = np.zeros((len(combos), forward.layout.size))
    z[:, forward.layout.departures] = [k / spread for _, spread, k in departures]
    singles = np.zeros(len(combos))
    for g, combo in enumerate(combos):
        for p, c in enumerate(combo):
            z[g, forward.layout.absorbers[p + 1]] = modes[p][c].z
            z[g, forward.layout.absorbers[0]] += modes[p][c].base / len(combo)
            singles[g] += modes[p][c].evidence
    fit = two_pass(forward, z)
    return Mixture(forward, fit, shares_of(np.log(times) + fit.evidence - singles))


def shares_of(evidence: Array) -> Array:
    """Weights (G,) that sum to 1, from log evidences."""
    shares = np.exp(evidence - evidence.max())
    return np.asarray(shares / shares.sum(), dtype=np.float64)


def systematic(shares: Array, count: int) -> Index:
    """`count` indices drawn so that each share is met to within one."""
    edges = np.cumsum(shares)
    return np.minimum(np.searchsorted(edges, (np.arange(count) + 0.5) / count), len(shares) - 1)


def _from_spectra(observations: Observations, departures: tuple[AskedDeparture, ...], tell: Progress) -> Mixture:
    """One mode at full rank, from the per-wavelength inversion; smoothness by a short line search of the evidence."""
    levels, logs = _inversion(observations)
    best: tuple[Forward, Fit] | None = None
    smoothness, errors = SMOOTHNESS[0], None
    for tried_before, smoothness in enumerate(SMOOTHNESS):
        tell(tried_before / (len(SMOOTHNESS) + 1))
        bases = [pigment_basis(*smoothness, rank=None)] * len(levels)
        tried = _at_full_rank(observations, departures, levels, logs, bases, errors)
        if best is not None and tried[1].evidence[0] < best[1].evidence[0]:
            break
        best = tried
        # The next begins where this one came to rest: half the steps.
        logs, errors = _found(best)
    assert best is not None
    bases = [uneven_basis(*smoothness, log) for log in logs[1:]]
    return Mixture(*_at_full_rank(observations, departures, levels, logs, bases, errors), np.ones(1))


def _found(best: tuple[Forward, Fit]) -> tuple[list[Array], Array]:
    """The log absorptivities of a mode, and its other unknowns."""
    forward, fit = best
    return [np.log(one[0]) for one in forward.absorptivities(fit.z)], fit.z[0, forward.layout.departures.start :]


def _at_full_rank(
    observations: Observations,
    departures: tuple[AskedDeparture, ...],
    levels: Array,
    logs: Sequence[Array],
    bases: Sequence[Basis],
    errors: Array | None = None,
) -> tuple[Forward, Fit]:
    """The mode nearest these logs (P + 1, K), each pigment with its own basis about its level; errors: all other unknowns."""
    bases = [base_basis(None), *bases]
    priors = [prior_of(level, [basis]) for level, basis in zip((BASE_MEAN_LOG, *levels), bases, strict=True)]
    forward = Forward(observations, tuple(priors), tuple((p, spread) for p, spread, _ in departures))
    z = np.zeros((1, forward.layout.size))
    z[:, forward.layout.departures] = [k / spread for _, spread, k in departures]
    if errors is not None:
        z[0, forward.layout.departures.start :] = errors
    for at, basis, prior, log in zip(forward.layout.absorbers, bases, priors, logs, strict=True):
        z[0, at] = basis.coordinates(log - prior.mean[0])
    # With 24 steps no colour of eight simulated sets moves; with a tenth of the tolerance by 0.001 ΔE00.
    return forward, laplace_modes(forward, z, steps=12, tolerance=0.05)


def _inversion(observations: Observations) -> tuple[Array, list[Array]]:
    """Levels and log absorptivities, band by band, by weighted least squares; gaps filled from the nearest band."""
    absorbers = 1 + len(observations.pigments)
    design = observations.thickness_mm[:, None] * np.hstack([np.ones((len(observations.doses), 1)), observations.doses])
    normal = np.zeros((len(GRID_NM), absorbers, absorbers))
    pull = np.zeros((len(GRID_NM), absorbers))
    for reading in observations.readings:
        if reading.form != "bands":
            continue
        part = np.clip(reading.observed / reading.regular[:, None], 1e-4, None)
        if reading.tile is not None:
            internal = reading.tile.internal(part, observations.refractive_index, reading.bands)
        else:
            internal = (
                part if reading.relative != "air" else internal_transmittance(part, observations.refractive_index)
            )
        # 0.02: darker bands are not weighed down further. With 0.005 or 0.1, or other ridges and floors below, no colour of eight
        # simulated sets moves by more than 0.005 ΔE00: it is only a start.
        absorbance = -np.log10(np.clip(internal, 1e-4, 1.0))
        weight = np.clip(internal, 0.02, None) ** 2
        rows = design[reading.chips]
        normal[reading.bands] += np.einsum("nk,na,nb->kab", weight, rows, rows)
        pull[reading.bands] += np.einsum("nk,na,nk->ka", weight, rows, absorbance)
    scale = normal[:, np.arange(absorbers), np.arange(absorbers)].max(axis=0)
    normal[:, np.arange(absorbers), np.arange(absorbers)] += 1e-6 * np.maximum(scale, 1e-12)
    if np.all(np.any(observations.doses > 0, axis=1)):
        # No untinted chip: chips of one cup tell base and pigment by their sum alone, so that the base starts at its prior.
        pull[:, 0] += normal[:, 0, 0] * np.exp(BASE_MEAN_LOG)
        normal[:, 0, 0] *= 2.0
    found = np.linalg.solve(normal, pull[..., None])[..., 0]
    covered = np.flatnonzero(pull.any(axis=1))
    found = found[covered[np.abs(np.arange(len(GRID_NM))[:, None] - covered).argmin(axis=1)]]
    # A hundredth of the peak: a logarithm needs something above zero.
    floor = np.maximum(0.01 * np.abs(found).max(axis=0), 1e-5)
    logs = np.log(np.maximum(found, floor))
    return logs[:, 1:].mean(axis=0), list(logs.T)
