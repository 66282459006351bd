"""Equally weighted draws from the mixture posterior: what every prediction is pushed through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.forward import LOGS, Forward, SpectrumPrior
from tintmix.pigments.inference.levenberg_marquardt import Damping
from tintmix.pigments.inference.observations import Index, Observations
from tintmix.pigments.inference.posterior import Mixture, systematic
from tintmix.pigments.inference.prior import leading, matern52

COUNT = 300
"""Enough that a 95 % band is met to about one per cent: √(0.95 · 0.05/300) = 0.0126."""
FEW_NUMBERS = 30
"""Sets with no more numbers than this leave wide valleys, along which a Gaussian is too straight: their draws are
bent. Unbent, ten simulated cups of two chips were off by 6.4 ΔE00 at three times their thickness, bent by 0.7 (`python -m
tests.accuracy.constants cups`).
"""
JPEG_NUMBERS, JPEG_STEPS = 120, 2
"""JPEGs of up to forty chips leave wide valleys too: a phone sees less of a spectrum than it is asked for. Unbent, the median
band of 24 sets is 3.2 times the median error, bent 2.9, at the same coverage; with 2 steps as with 12, in a third of the time.
More numbers take much memory, and leave narrower valleys. Raw photos stay unbent: of twenty sets whose camera and panel are
unknown, bands cover 95 % and are 2.7 times the error; bent they cover 90 %, in twice the time."""
BETWEEN_NODES, BY_BEND = 0.0015, 0.05
"""Log ε that a node misses of what lies between it and its neighbours: times √(peak/ε), for weak absorptions have a structure of
their own, and by the square of its second difference, for steep bands hide more there. Of 40 sets of true spectra on the grid,
ellipsoids then cover 94 % of glasses and 92 % of dyes whose bands are 15 to 40 nm wide (52 % without the second); with 0.007 at
all strengths bands of films were twice as wide for the same. With neither, glasses read as spectra are covered by 88 %."""
ROUGH, ENDS, ROUGH_LENGTH_NM, _ROUGH_RANK = 0.25, 1.2, 30.0, 14
"""Of log ε of pigments read as colours, what a smooth spectrum goes past: steps, windows and floors. Spread everywhere, and
beside it past 680 and below 400 nm, where the eye weighs little (growing from 640 and 440 nm on); length; directions, which
leave out 0.1. A nearly black casting is seen by such light alone. Of sixteen sets of films that nothing was tuned on, bands of
castings with 0.05 to 1 % of the light cover 90 % (87 % without), with less light 95 % (87 %); with more than 2 %, where
they are wider by a seventh, 98 % (97 %)."""
STEEP = 1.0
"""Times a reading's own variance, past which what the grid misses of a photographed chip counts in the fit. Of 16 sets of mixed
pigments none has a reading past 0.5; of 28 sets of dyes whose bands are 15 to 40 nm wide, 27 have one past 1."""
_BLOCK = 32
"""Rows: with 16 or 64 draws take a tenth longer."""
VIVID_MISSED = 0.03
"""Of what a chip's brightest channel is above its darkest: by so much more a JPEG of such dyes is off. Of 14 sets by phones,
ellipsoids then cover 57 % with nothing, 69 % with 0.02, and 78 % with 0.05, where errors are a fifth larger."""
_COUNTS = 0.01
"""Weight of a mode whose spectra count there."""
_SEED = 5
"""Any number: the same chips give the same draws."""
_DAMPING = Damping(first=0.1, ease=0.2, stiffen=6.0, most=1e6)
"""Near its own Gaussian a draw starts almost right: less damped than the fit. With ten times or a tenth of first,
errors of the same cups change by 0.05 ΔE00 at most in the mean; stiffen = 3 adds 0.16."""


@dataclass(frozen=True, slots=True)
class Draws:
    """base: (D, K); absorptivity: (D, P, K); departure: (D, P); z: of each draw, whitened. smooth: (D, P + 1, K), of base and
    pigments by the fit's smooth basis alone: to stand for the draws where a single spectrum must. told: (D, P + 1, K), with all
    that readings tell something of, and without what none ever will. log_thick: (D, K), see `Forward`. All are finite. Raises
    FloatingPointError.
    """

    base: Array
    absorptivity: Array
    smooth: Array
    told: Array
    departure: Array
    z: Array
    log_thick: Array

    def __post_init__(self) -> None:
        """A number that is none would make every answer one."""
        if not all(np.isfinite(getattr(self, name)).all() for name in self.__slots__):
            raise FloatingPointError("a draw of what the chips taught is no finite number")


def draw_among(mixtures: Sequence[Mixture], odds: Sequence[float], bend: bool = True) -> Draws:
    """Draws from several posteriors of the same unknowns, each by its odds: where the readings leave open what they were."""
    shares = np.asarray(odds, dtype=np.float64) / np.sum(odds)
    pairs = np.bincount(systematic(shares, COUNT // 2), minlength=len(shares))
    parts = [draw(one, 2 * int(own), bend) for one, own in zip(mixtures, pairs, strict=True) if own]
    return Draws(*(np.concatenate([getattr(part, name) for part in parts]) for name in Draws.__slots__))


def draw(mixture: Mixture, count: int = COUNT, bend: bool = True, latents: Array | None = None) -> Draws:
    """Antithetic pairs from each Gaussian of the mixture, as many as its weight asks for. bend: those of few readings back to
    what was read. latents: (count, L), the camera of each draw, known from elsewhere; the rest is then drawn given it."""
    rng = np.random.default_rng(_SEED)
    pairs = count // 2
    owner = systematic(mixture.weights, pairs)
    component = np.repeat(owner, 2)
    z, shared = mixture.fit.z[component], mixture.forward.shared
    for g in np.unique(owner):
        mine = np.flatnonzero(owner == g)
        root = np.linalg.cholesky(mixture.fit.precision[g])
        step = _back_substituted(root, rng.standard_normal((len(shared), len(mine)))).T
        z[2 * mine[:, None], shared] += step
        z[2 * mine[:, None] + 1, shared] -= step
    forward = mixture.forward
    if latents is not None:
        z = _given_latents(mixture, component, z, latents)
    numbers = len(forward.rows)
    if bend and (steps := steps_bent(forward)):
        z = _bent(mixture, forward.take(component), z, component, steps)
    logs = [
        (prior.mean if len(prior.mean) == 1 else prior.mean[component]) + _by_mode(prior.basis, component, z[:, at])
        for prior, at in zip(forward.priors, forward.layout.absorbers, strict=True)
    ]
    smooth = np.exp(np.clip(np.stack(logs, axis=1), *LOGS))
    log, past = np.log(smooth), np.zeros_like(smooth)
    unseen = np.stack(
        [_unseen(rng, prior.left_out, owner, log[:, j]) for j, prior in enumerate(forward.priors)], axis=1
    )
    if numbers > FEW_NUMBERS and all(reading.form == "lab" for reading in forward.observations.readings):
        past[:, 1:] = _gone_past(rng, mixture, owner).swapaxes(0, 1)
    # Spread past what was known before any chip, a spectrum leaps from node to node, and what it may hide grows by the square.
    least, most = LOGS[0] - log, LOGS[1] - log
    spectra, told = (smooth * np.exp(np.clip(more, least, most)) for more in (unseen + past, past))
    # Chips that contradict each other spread it past any ratio of two bases.
    log_thick = np.clip(forward.log_thick(z), LOGS[0] - LOGS[1], LOGS[1] - LOGS[0])
    return Draws(spectra[:, 0], spectra[:, 1:], smooth, told, forward.departure(z), z, log_thick)


def _given_latents(mixture: Mixture, component: Index, z: Array, latents: Array) -> Array:
    """Draws (D, Z) of Gaussians moved to where their camera is this one (D, L): with P their precision, s all else and l the
    camera, by -P_ss⁻¹ P_sl Δl, which leaves a draw of s given l."""
    shared = np.asarray(mixture.forward.shared)
    slots = np.arange(z.shape[1])[mixture.forward.layout.latents]
    camera = np.isin(shared, slots)
    out = z.copy()
    away = latents - z[:, slots]
    for g in np.unique(component):
        mine, precision = np.flatnonzero(component == g), mixture.fit.precision[g]
        pull = precision[np.ix_(~camera, camera)] @ away[mine].T
        out[np.ix_(mine, shared[~camera])] -= np.linalg.solve(precision[np.ix_(~camera, ~camera)], pull).T
    out[:, slots] = latents
    return out


def steps_bent(forward: Forward) -> int:
    """Steps by which draws are bent back to what was read: none where there are many readings."""
    numbers = len(forward.rows)
    if numbers <= FEW_NUMBERS:
        return 12
    rendered = any(reading.tone is not None for reading in forward.observations.readings)
    return JPEG_STEPS if rendered and numbers <= JPEG_NUMBERS else 0


def _back_substituted(root: Array, right: Array) -> Array:
    """(rootᵀ)⁻¹ right, root lower triangular: a block of rows at a time from the last, for a solve knows nothing of triangles."""
    out = right.copy()
    for end in range(len(root), 0, -_BLOCK):
        here = slice(max(end - _BLOCK, 0), end)
        out[here] = np.linalg.solve(root[here, here].T, out[here])
        out[: here.start] -= root[here, : here.start].T @ out[here]
    return out


def _by_mode(columns: Array, mode: Index, z: Array) -> Array:
    """columns @ z (D, K) of coordinates z (D, rank), each row by the columns (G or 1, K, rank) of its mode (D,)."""
    if len(columns) == 1:
        return np.asarray(z @ columns[0].T)
    out = np.empty((len(z), columns.shape[1]))
    for g in np.unique(mode):
        mine = mode == g
        out[mine] = z[mine] @ columns[g].T
    return out


def _unseen(rng: np.random.Generator, left_out: Array, owner: Index, log: Array) -> Array:
    """What no reading tells of log absorptivities (D, K), in antithetic pairs: the directions that the basis leaves out, and
    structure between the nodes of the grid. owner: (D/2,), the mode of each pair."""
    pairs, bands = len(log) // 2, log.shape[1]
    out = np.empty_like(log)
    rest = _by_mode(left_out, owner, rng.standard_normal((pairs, left_out.shape[-1])))
    between = rng.standard_normal((pairs, bands))
    for sign, half in ((1.0, slice(0, None, 2)), (-1.0, slice(1, None, 2))):
        out[half] = sign * (rest + between_nodes(log[half]) * between)
    return out


def between_nodes(log: Array) -> Array:
    """Standard deviation (D, K) of what the nodes of log absorptivities (D, K) miss."""
    # Below a thousandth of its peak a pigment absorbs less than the resin.
    weak = np.exp(0.5 * np.minimum(log.max(axis=1, keepdims=True) - log, np.log(1000.0)))
    bend = np.pad(np.diff(log, 2, axis=1), ((0, 0), (1, 1)))
    return np.asarray(BETWEEN_NODES * weak + BY_BEND * bend**2, dtype=np.float64)


def beside_the_grid(mixture: Mixture) -> Observations | None:
    """The observations, photographed chips read with what the nodes of these spectra miss beside their own error; None where it
    is little, and of a set so large that it is worked in parts.

    Channels of chips of steep bands are off by 2 % (rms) on the grid, a photo's own error is 1 %. Taken for nothing, it is fitted
    by other spectra, and the search rests in worse modes.
    """
    readings = mixture.forward.observations.readings
    if all(one.form != "channels" for one in readings) or mixture.forward.division is not None:
        return None
    modes = np.flatnonzero(mixture.weights > _COUNTS)
    forward, z, weights = mixture.forward.take(modes), mixture.fit.z[modes], mixture.weights[modes]
    base, *logs = (np.log(one) for one in forward.absorptivities(z))
    missed = (SpectrumPrior(log, between_nodes(log)[..., None] * np.eye(len(GRID_NM))) for log in logs)
    slopes = _slopes_along(forward, z, (SpectrumPrior(base, np.zeros((1, len(GRID_NM), 0))), *missed))
    variance = np.average((slopes**2).sum(axis=-1), axis=0, weights=weights)
    told, at, most = [], 0, 0.0
    for one in readings:
        own = variance[at : (at := at + one.observed.size)].reshape(one.observed.shape)
        if one.form == "channels":
            most = max(most, float(own.max()))
            vivid = np.ptp(one.observed, axis=1, keepdims=True) * (VIVID_MISSED if one.tone is not None else 0.0)
            one = replace(one, spread=np.hypot(one.spread * np.sqrt(1 + own), vivid))
        told.append(one)
    return replace(mixture.forward.observations, readings=tuple(told)) if most > STEEP else None


@cache
def _rough() -> Array:
    """The root (K, rank) of the covariance of what a smooth spectrum goes past."""
    ends = np.clip(np.maximum(GRID_NM - 640.0, 440.0 - GRID_NM) / 40.0, 0.0, 1.0)
    spread = np.hypot(ROUGH, ENDS * ends)
    covariance = np.outer(spread, spread) * matern52(GRID_NM[:, None] - GRID_NM, ROUGH_LENGTH_NM)
    return leading(covariance, _ROUGH_RANK)


def _gone_past(rng: np.random.Generator, mixture: Mixture, owner: Index) -> Array:
    """What smooth spectra of pigments go past (P, D, K), as far as the readings allow. owner: (D/2,), the mode of each pair.

    With J the readings' slopes by it, whitened, e ~ N(0, I) and n ~ N(0, I): e - Jᵀ(J Jᵀ + I)⁻¹(J e + n) has the posterior's
    covariance (Matheron's rule; Journel and Huijbregts, *Mining Geostatistics* (1978) ch. 7).
    """
    pigments, root, modes = len(mixture.forward.priors) - 1, _rough(), np.unique(owner)
    forward, z, weight = mixture.forward.take(modes), mixture.fit.z[modes], mixture.fit.weight[modes]
    logs = [np.log(one) for one in forward.absorptivities(z)]
    owned = [np.flatnonzero(owner == g) for g in modes]
    sizes = (pigments * len(root.T), len(forward.rows))
    noise = [[rng.standard_normal((len(mine), size)) for size in sizes] for mine in owned]
    past = []
    if forward.division is None:
        for slopes, (e, n) in zip(_slopes_past(forward, z, logs, weight), noise, strict=True):
            past.append(e - np.linalg.solve(slopes @ slopes.T + np.eye(len(slopes)), (e @ slopes.T + n).T).T @ slopes)
    else:
        # (JᵀJ + I)⁻¹ Jᵀ is the same, and JᵀJ a sum over the parts.
        normals, pulls = [np.eye(sizes[0]) for _ in modes], [np.zeros_like(e) for e, _ in noise]
        for part in forward.division.parts:
            piece = part.piece
            own = [logs[0], *(logs[p + 1] for p in piece.pigments)]
            at = (np.array(piece.pigments, dtype=np.intp)[:, None] * len(root.T) + np.arange(len(root.T))).ravel()
            every = _slopes_past(forward.of_part(part), z[:, part.unknowns], own, weight[:, piece.chips])
            for slopes, normal, pull, (e, n) in zip(every, normals, pulls, noise, strict=True):
                normal[at[:, None], at] += slopes.T @ slopes
                pull[:, at] += (e[:, at] @ slopes.T + n[:, piece.residuals]) @ slopes
        past = [
            e - np.linalg.solve(normal, pull.T).T for normal, pull, (e, _) in zip(normals, pulls, noise, strict=True)
        ]
    out = np.empty((pigments, 2 * len(owner), len(root)))
    for mine, e in zip(owned, past, strict=True):
        log = np.einsum("dpr,kr->pdk", e.reshape(len(mine), pigments, -1), root)
        out[:, 2 * mine], out[:, 2 * mine + 1] = log, -log
    return out


def _slopes_past(forward: Forward, z: Array, logs: Sequence[Array], weight: Array) -> Array:
    """Slopes (G, R, P rank) of the weighted readings by what pigments go past their spectra, whose logs (G, K) these are."""
    root = _rough()
    priors = (SpectrumPrior(logs[0], root[None, :, :0]), *(SpectrumPrior(log, root[None]) for log in logs[1:]))
    return _slopes_along(forward, z, priors) * np.sqrt(weight)[:, forward.rows, None]


def _slopes_along(forward: Forward, z: Array, priors: tuple[SpectrumPrior, ...]) -> Array:
    """Slopes (G, R, D) of the readings by coordinates of spectra about those at z (G, …), which are these priors' means."""
    apart = replace(forward, priors=priors)
    here = np.zeros((len(z), apart.layout.size))
    here[:, apart.layout.departures.start :] = z[:, forward.layout.departures.start :]
    return np.asarray(apart.residuals(here)[1][..., : apart.layout.departures.start], dtype=np.float64)


def _bent(mixture: Mixture, forward: Forward, z: Array, component: Index, steps: int = 12) -> Array:
    """The draws moved as little as need be until each gives the readings that its Gaussian meant it to.

    Where base and pigment are known by their sum alone, straight steps in log ε leave the valley of good fits. Each
    draw d minimises |r(z) − r_d|² + |z − z_d|², r_d = r* + J (z_d − z*): randomised maximum likelihood about one mode
    (Oliver, He, Reynolds, *Proc. 5th Eur. Conf. Math. Oil Recovery*, 1996).
    """
    fit = mixture.fit
    root = np.sqrt(fit.weight)[:, forward.rows]
    meant = (fit.residual * root)[component] + np.einsum("drk,dk->dr", fit.jacobian[component], z - fit.z[component])
    anchor = z
    damping = _DAMPING.start(len(z))
    cost = np.full(len(z), np.inf)
    residual, jacobian = np.empty((0,)), np.empty((0,))
    trial = z
    for step in range(steps + 1):
        fresh, turn = forward.residuals(trial)
        miss = fresh * root[component] - meant
        reached = (miss**2).sum(axis=1) + ((trial - anchor) ** 2).sum(axis=1)
        better = reached < cost
        if step == 0:
            residual, jacobian = miss, turn * root[component][..., None]
        z = np.where(better[:, None], trial, z)
        cost = np.where(better, reached, cost)
        if step == steps:
            break
        residual[better] = miss[better]
        jacobian[better] = turn[better] * root[component][better][..., None]
        damping = np.minimum(_DAMPING.after(damping, better), _DAMPING.most)
        # (JᵀJ + (1 + λ) I) δ = −(Jᵀ r + z − z_d).
        gradient = np.einsum("drk,dr->dk", jacobian, residual) + z - anchor
        # `damped_step` with P = I, in this order of arithmetic: along their wide valleys draws feel the last bit.
        ridge = (1.0 + damping)[:, None]
        gram = np.matmul(jacobian, jacobian.swapaxes(1, 2)) / ridge[..., None]
        gram[:, np.arange(gram.shape[1]), np.arange(gram.shape[1])] += 1.0
        inner = np.linalg.solve(gram, np.einsum("drk,dk->dr", jacobian, gradient / ridge)[..., None])[..., 0]
        trial = z - (gradient - np.einsum("drk,dr->dk", jacobian, inner)) / ridge
    return z
