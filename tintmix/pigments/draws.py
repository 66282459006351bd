"""Equally weighted draws from the mixture posterior: what every prediction is pushed through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.forward import Forward
from tintmix.pigments.posterior import Mixture

COUNT = 300
"""Enough that a 95 % band is met to about one per cent."""
FEW_NUMBERS = 30
"""Sets with no more numbers than this leave wide valleys, along which a Gaussian is too straight: their draws are
bent.
"""
_SEED = 5


@dataclass(frozen=True, slots=True)
class Draws:
    """base: (D, K); absorptivity: (D, P, K); departure: (D, P); dose_error: (D, U), whitened; component: (D,)."""

    base: Array
    absorptivity: Array
    departure: Array
    z: Array
    component: Array


def draw(mixture: Mixture, count: int = COUNT) -> Draws:
    """Antithetic pairs from each Gaussian of the mixture, as many as its weight asks for."""
    rng = np.random.default_rng(_SEED)
    pairs = count // 2
    edges = np.cumsum(mixture.weights)
    owner = np.minimum(np.searchsorted(edges, (np.arange(pairs) + 0.5) / pairs), len(edges) - 1)
    z = np.empty((2 * pairs, mixture.fit.z.shape[1]))
    for g in np.unique(owner):
        mine = np.flatnonzero(owner == g)
        root = np.linalg.cholesky(mixture.fit.precision[g])
        step = np.linalg.solve(root.T, rng.standard_normal((z.shape[1], len(mine)))).T
        z[2 * mine] = mixture.fit.z[g] + step
        z[2 * mine + 1] = mixture.fit.z[g] - step
    component = np.repeat(owner, 2)
    forward = mixture.forward.take(component)
    if len(forward.rows) <= FEW_NUMBERS:
        z = _bent(mixture, forward, z, component)
    spectra = forward.absorptivities(z)
    absorptivity = np.stack(spectra, axis=1)[:, 1:]
    return Draws(spectra[0], absorptivity, forward.departure(z), z, component)


def _bent(mixture: Mixture, forward: Forward, z: Array, component: Array, steps: int = 6) -> Array:
    """The draws moved as little as need be until each gives the readings that its Gaussian meant it to.

    Where base and pigment are known by their sum alone, straight steps in log ε leave the valley of good fits. Each
    draw d minimises |r(z) − r_d|² + |z − z_d|², r_d = r* + J (z_d − z*): randomised maximum likelihood about one mode
    (Oliver, He, Reynolds, *Proc. 5th Eur. Conf. Math. Oil Recovery*, 1996).
    """
    fit = mixture.fit
    root = np.sqrt(fit.weight)[:, forward.rows]
    meant = (fit.residual * root)[component] + np.einsum("drk,dk->dr", fit.jacobian[component], z - fit.z[component])
    anchor, best = z, z
    worth = np.full(len(z), np.inf)
    for _ in range(steps + 1):
        residual, jacobian = forward.residuals(z)
        miss = residual * root[component] - meant
        cost = (miss**2).sum(axis=1) + ((z - anchor) ** 2).sum(axis=1)
        best = np.where((cost < worth)[:, None], z, best)
        worth = np.minimum(cost, worth)
        jacobian = jacobian * root[component][..., None]
        gram = np.matmul(jacobian, jacobian.swapaxes(1, 2))
        gram[:, np.arange(gram.shape[1]), np.arange(gram.shape[1])] += 1.0
        pull = miss - np.einsum("drk,dk->dr", jacobian, z - anchor)
        z = anchor - np.einsum("drk,dr->dk", jacobian, np.linalg.solve(gram, pull[..., None])[..., 0])
    return best
