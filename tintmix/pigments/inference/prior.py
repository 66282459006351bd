"""What is believed of an absorption spectrum before any chip: smooth over wavelength, of any strength.

x = log ε on the model's grid, Gaussian: covariance s² Matérn-5/2(ℓ) + s_L² + 0.02². The level term lets strengths
differ by orders of magnitude; smoothness (s, ℓ) is not one value but a few, averaged by evidence. Rasmussen &
Williams, *Gaussian Processes for Machine Learning* (2006), eq. 4.17 (Matérn) and ch. 5 (evidence).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from tintmix.optics.spectrum import GRID_NM, Array

SMOOTHNESS: tuple[tuple[float, float], ...] = (
    (1.5, 18.0), (1.5, 28.0), (1.5, 50.0), (1.5, 80.0), (1.5, 112.0), (1.5, 160.0),
)  # fmt: skip
"""(s, ℓ in nm) of a pigment's spectrum, from sharp bands to broad ones; the fit averages over them. Without the first two the
bands cover 68 % of dyes whose bands are 15 to 40 nm wide (`python -m tests.accuracy.truth_rows`); with them, 94 %."""
SHARES: tuple[float, ...] = (0.01, 0.10, 0.15, 0.40, 0.14, 0.20)
"""Of these before any chip: about how often each is the likeliest for spectra of eleven glasses, thirty-one dyed films, random
dyes and mixtures of them. With equal shares errors of films are 4 % larger, of one cup 30 %."""

# Sharper than SMOOTHNESS at the same shares: the reason stands below ONE_CUP_SHARES.
ONE_CUP_SMOOTHNESS: tuple[tuple[float, float], ...] = (
    (4.0, 28.0), (2.6, 28.0), (2.2, 50.0), (1.8, 80.0), (1.8, 112.0), (1.8, 160.0),
)  # fmt: skip
"""The same of one cup, whose colour at one or two thicknesses says little of its spectrum: what is believed before is most of the
band. A steep band between clear windows lets a thick casting stay light, and one colour tells it from a broad band not at all:
the first family is there for it."""
ONE_CUP_SHARES: tuple[float, ...] = (0.25, 0.12, 0.13, 0.26, 0.10, 0.14)
"""Of these, of one cup. Read at 12 mm and told at 60 mm, bands of 60 cups of steep narrow dyes cover 90 % with it, 75 %
with s = 2.6 and ℓ = 18 nm at a share of 0.05 in its place; those of mixtures and films cover 100 % either way, and are 6 and 17 %
wider, four times the median error, which stays as it is. With a share of 0.4 93 % are covered and errors of mixtures grow by a
fifth; with s = 5 fewer are covered, for less of such a family is left where the readings speak.

A library in their place gains nothing: 2900 sums of one to three made-up band-shaped colorants (like films, glasses, dyes, narrow
dyes), each with a little smoothness of its own. A colour at 12 mm of films, glasses or dyes has as much evidence as narrow dyes
as it has as what it is, so that errors only change places. With a fifth of narrow dyes, errors of films, mixtures and glasses
fall by 9 to 21 %, and narrow dyes are covered by 67 to 73 % in place of 83 % (30 cups of each); with two fifths they stay."""

PIGMENT_RANK = 24
"""Leading directions that the fit works on; what they leave out is added to the draws. With 30, ellipsoids of thirty sets of
narrow bands cover 95 % where they cover 94 % with these, in a third more time."""
PIGMENT_LEVEL_SPREAD = 1.5
"""Of the level, about that of a grey fit, in log ε: of 120 simulated pigments it was off by 0.89 root mean square.
With 1, as in the experiments that the estimator rests on, errors and coverage of 40 simulated ladders are the same to 2 %
(`python -m tests.accuracy.constants fits`)."""
BASE_RANK = 8
"""A clear resin's spectrum is smooth: eight directions served in the same experiments, and leave out 0.03 of its log."""
BASE_SPREAD, BASE_LENGTH_NM, BASE_LEVEL_SPREAD = 1.5, 160.0, 1.5
"""s, ℓ and the level of the base, as in the same experiments."""
BASE_MEAN_LOG = float(np.log(0.003))
"""Untinted clear resin: about 0.003 per mm, give or take a factor of 4 (common practice for yellowish clear resins)."""
ROUGHNESS = 0.02
"""Standard deviation, in log ε, of what is left over after the smooth part."""


THICK_SPREAD, THICK_LENGTH_NM, THICK_RANK = 0.7, 160.0, 6
"""Of the log ratio of a thick pour's base to a thin one's, shape and level alike, so that a pour three times yellower is no
surprise; as smooth as the base itself. Six directions leave out 0.03 of it."""


@dataclass(frozen=True, slots=True)
class Basis:
    """x = mean + columns @ z with z ~ N(0, I): columns (K, rank).

    left_out: (K, K), the root of what is left of the prior's covariance: directions that readings of colours hardly see.
    """

    columns: Array
    left_out: Array

    def coordinates(self, shape: Array) -> Array:
        """The whitened coordinates (…, rank) whose spectrum is closest to `shape` (…, K), a departure from the mean.

        Least squares with the prior as a light ridge, so that a shape outside the basis gives no wild coordinates.
        """
        # 1e-3: small against the squared length of any direction that matters, so that shapes inside the basis stay as they are.
        columns = self.columns
        ridge = columns.T @ columns + 1e-3 * np.eye(columns.shape[1])
        return np.asarray(np.linalg.solve(ridge, columns.T @ shape[..., None])[..., 0], dtype=np.float64)


def matern52(distance: Array, length: float) -> Array:
    """Matérn covariance with ν = 5/2: (1 + √5 d/ℓ + 5 d²/3ℓ²) exp(−√5 d/ℓ). Rasmussen & Williams eq. 4.17.

    >>> bool(matern52(np.array([0.0]), 80.0)[0] == 1.0)
    True
    """
    u = np.sqrt(5.0) * np.abs(distance) / length
    return np.asarray((1 + u + u * u / 3) * np.exp(-u), dtype=np.float64)


@cache
def pigment_basis(spread: float, length_nm: float, rank: int | None = PIGMENT_RANK) -> Basis:
    """The leading eigenvectors of a pigment's prior covariance, scaled by the root of their eigenvalues."""
    return _basis(spread, length_nm, PIGMENT_LEVEL_SPREAD, rank)


@cache
def base_basis(rank: int | None = BASE_RANK) -> Basis:
    """The same for the untinted resin, which is smoother: few coordinates serve."""
    return _basis(BASE_SPREAD, BASE_LENGTH_NM, BASE_LEVEL_SPREAD, rank)


@cache
def thick_basis() -> Basis:
    """Of the log ratio of a thick pour's base to a thin one's."""
    covariance = THICK_SPREAD**2 * (matern52(GRID_NM[:, None] - GRID_NM, THICK_LENGTH_NM) + 1.0)
    whole = leading(covariance, None)
    return Basis(whole[:, :THICK_RANK], whole[:, THICK_RANK:])


def uneven_basis(spread: float, length_nm: float, log: Array) -> Basis:
    """At full rank, for a pigment whose spectrum is nearly known: rougher where it is weak beside its own peak.

    A floor of stray light, a second dye, or the chips' own faces leave steps there that are large in the logarithm and
    small in absorbance: (peak/ε)^0.8 times as rough, half a log unit at most. Without, the strongest chip was doubted in 9 of
    20 faultless sets of real dyed films; with a power of 0.5, in 2; with this, in none (`python -m tests.accuracy.truth_rows`).
    """
    rough = np.minimum(ROUGHNESS * np.exp(0.8 * (log.max() - log)), 0.5)
    return _basis(spread, length_nm, PIGMENT_LEVEL_SPREAD, None, rough)


def _basis(spread: float, length_nm: float, level: float, rank: int | None, rough: Array | float = ROUGHNESS) -> Basis:
    covariance = spread**2 * matern52(GRID_NM[:, None] - GRID_NM, length_nm) + level**2
    covariance[np.diag_indices_from(covariance)] += rough**2
    whole = leading(covariance, None)
    columns, left_out = whole[:, :rank], whole[:, len(whole) if rank is None else rank :]
    columns.setflags(write=False)
    return Basis(columns, left_out)


def leading(covariance: Array, count: int | None) -> Array:
    """The leading eigenvectors (K, count) of a covariance (K, K), scaled by the root of their eigenvalues; None: all."""
    values, vectors = np.linalg.eigh(covariance)
    order = np.argsort(values)[::-1][:count]
    columns = vectors[:, order] * np.sqrt(np.maximum(values[order], 0.0))
    # The sign of an eigenvector is free; fixing it keeps results alike between linear-algebra libraries.
    columns *= np.where(columns[np.abs(columns).argmax(axis=0), np.arange(columns.shape[1])] < 0, -1.0, 1.0)
    return np.asarray(columns, dtype=np.float64)


def families(is_one_cup: bool) -> tuple[tuple[tuple[float, float], ...], tuple[float, ...]]:
    """(s, ℓ in nm) of each family of spectra, and their shares before any chip, for colours.

    >>> [sum(families(is_one_cup)[1]) for is_one_cup in (False, True)]
    [1.0, 1.0]
    """
    return (ONE_CUP_SMOOTHNESS, ONE_CUP_SHARES) if is_one_cup else (SMOOTHNESS, SHARES)


def start_shapes() -> Array:
    """Band-shaped departures from a grey level (11, K) from which a search begins, so that no mode is missed.

    The grey level itself; seven peaks (400 … 700 nm, σ 40 nm: one strong band on a weak floor); three windows (500,
    550, 600 nm, σ 45 nm: light only there).
    """
    peaks = [2.5 * _bump(centre, 40.0) - 1.0 for centre in range(400, 701, 50)]
    windows = [1.0 - 2.5 * _bump(centre, 45.0) for centre in (500, 550, 600)]
    return np.stack([np.zeros(len(GRID_NM)), *peaks, *windows])


def _bump(centre_nm: float, sigma_nm: float) -> Array:
    return np.asarray(np.exp(-0.5 * ((GRID_NM - centre_nm) / sigma_nm) ** 2), dtype=np.float64)
