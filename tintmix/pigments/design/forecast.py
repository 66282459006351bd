"""How unsure a model is of the colours that matter, and how unsure it will be once further cups are read.

For what `fit` advises and for what a plan promises alike. The D draws of the posterior are taken as an ensemble: each cup is
read under every draw, by the instrument as it is there (a camera that is not quite known is learnt along with the pigments).
With Y (D, M) what is read, centred, and R the covariance of its errors, the draws after the reading are X' = T X about their
mean, T = (I + V Vᵀ)^(-1/2), V = Y R^(-1/2) / √(D − 1): the ensemble transform Kalman filter (Bishop, Etherton and Majumdar,
*Mon. Weather Rev.* 129, 420 (2001)). What it promises is held to what comes, through the whole fit, by
`python -m tests.accuracy.advice_rows`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab
from tintmix.optics.difference import delta_e00, residuals_with_slope
from tintmix.optics.light import light
from tintmix.optics.section import PANEL
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.optics.tone import toned
from tintmix.pigments.design.belief import Belief
from tintmix.pigments.design.fedorov_exchange import Aim, Pool
from tintmix.pigments.design.sight import Instrument, cup_spread, look_ahead
from tintmix.pigments.model import TintModel

_SPREAD_FROM = 8
"""Draws under which the errors of a reading are worked out: they differ little from draw to draw."""
_AT_ONCE = 16
"""Cups worked at once: 32 chips under 300 draws are 3 MB, which stay near the core. With all of a plan's at once it takes three
times as long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """How further chips will be read, and how well they are poured: relative a dose, mm a chip."""

    instrument: Instrument
    dose_spread: float
    thickness_spread_mm: float


def pool_of(model: TintModel, reader: Reader, doses_phr: Array, thicknesses_mm: Array) -> Pool:
    """Cups (C, P) with chips (C, k) as the search takes them: one world, whose unknowns are the weights of the draws."""
    told = [
        _told(model, reader, doses_phr[at : at + _AT_ONCE], thicknesses_mm[at : at + _AT_ONCE])
        for at in range(0, len(doses_phr), _AT_ONCE)
    ]
    return Pool(doses_phr, thicknesses_mm, np.concatenate(told)[None])


def _told(model: TintModel, reader: Reader, doses_phr: Array, thicknesses_mm: Array) -> Array:
    """V (C, M, D) of each cup."""
    cups, chips = thicknesses_mm.shape
    each, mm = np.repeat(doses_phr, chips, axis=0), thicknesses_mm.ravel()
    draws, instrument = len(model.draws_base), reader.instrument
    behind = PANEL if instrument.tile is None else instrument.tile
    resins = model.drawn_resins()
    if model.draws_scatter is not None and instrument.tile is None:
        # Further chips will be read straight through, as those were: the instrument takes scatter for absorption.
        scatter = model.draws_scatter[..., None] / LN10
        resins = replace(
            resins, base_per_mm=resins.base_per_mm + scatter[:, 0], absorptivity=resins.absorptivity + scatter[:, 1:]
        )
    value = light(resins, each, mm, behind) @ (instrument.weights if instrument.leant is None else instrument.leant)
    if instrument.tone is not None:
        value = toned(value, instrument.tone[:, :1, None], np.exp(instrument.tone[:, 1:, None]))[0]
    value = value if instrument.white is None else lab(value, instrument.white)
    few = np.linspace(0, draws - 1, min(_SPREAD_FROM, draws)).astype(int)
    belief = Belief(
        model.pigments,
        np.concatenate([model.draws_base[few, None], model.draws_absorptivity[few]], axis=1),
        np.zeros((len(model.pigments) + 1, len(GRID_NM), 0)),
        (False,) * len(model.pigments),
        False,
    )
    sight = look_ahead(replace(instrument, lean=None), belief, each, mm, model.refractive_index)
    spread = cup_spread(sight, thicknesses_mm, reader.dose_spread, reader.thickness_spread_mm).mean(axis=0)
    off = (value - value.mean(axis=0)).reshape(draws, cups, -1) / np.sqrt(draws - 1)
    return np.asarray(np.linalg.solve(np.linalg.cholesky(spread), off.transpose(1, 2, 0)))


def aim_at(lab_draws: Array, groups: int = 1) -> Aim:
    """Colours (D, N, 3) in groups that follow one another, each colour's doubt in parts of what it is now: the typical one is
    to fall, not only the largest."""
    off = lab_draws - lab_draws.mean(axis=0)
    # A hair off: where two colours are one, ΔE00 has no derivative.
    _, metric = residuals_with_slope(lab_draws.mean(axis=0), lab_draws.mean(axis=0) + 1e-6)
    rows = np.einsum("nij,dnj->nid", metric, off)
    rows = rows / np.sqrt(np.maximum((rows**2).sum(axis=(1, 2), keepdims=True), 1e-12))
    return Aim(rows.reshape(1, groups, -1, len(off)))


def typical(lab_draws: Array, told: Array | None = None, tellable: Array | None = None) -> float:
    """The typical uncertainty of colours (D, N, 3): the median ΔE00 from their means, over draws and colours; told (…, D): as it
    will be after readings that tell so much (`pool_of`).

    tellable (D, N, 3): the same colours by the same draws without what no reading tells, where these are at hand. Only they come
    nearer: X' = X - (I - T) X_tellable."""
    mean = lab_draws.mean(axis=0)
    off = (lab_draws - mean).reshape(len(lab_draws), -1)
    if told is not None:
        near = off if tellable is None else (tellable - tellable.mean(axis=0)).reshape(off.shape)
        _, size, along = np.linalg.svd(told.reshape(-1, len(off)), full_matrices=False)
        off = off - along.T @ ((1 - 1 / np.sqrt(1 + size**2))[:, None] * (along @ near))
    return float(np.median(delta_e00(mean + off.reshape(lab_draws.shape), mean)))
