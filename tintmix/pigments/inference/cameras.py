"""What is believed of a camera, or of a light panel, that nobody measured: a mean, and the directions in which it may
lie beside it.

An unknown panel of power p(λ) is p(λ) exp(V(λ) q). The weights w(λ) of an unknown camera's channel, or of a phone that makes
JPEGs, are w(λ) + W(λ) q: a matrix of channels and a way to white are linear in what comes through; of a phone before an unknown
panel W(λ) holds both. All are scaled so that the bare panel reads 1; q ~ N(0, I). A phone's contrast is a number of its own
(`optics.tone`). The q enter the fit beside the pigments, so that a few chips whose colour was measured otherwise sharpen them.

Colour-filter cameras: mean and standard deviation over 52 published sensitivities, each channel's peak 1 (figures given
with the project's design). Cameras of stacked layers do not follow this prior and must be measured.

What bands cover with other constants: `python -m tests.accuracy.constants cameras`; what they cover of simulated cameras, panels
and phones: `python -m tests.accuracy.camera_rows`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import product

import numpy as np

from tintmix.optics.detector import Detector, Light, camera, light, rendered_ways
from tintmix.optics.spectrum import FINE_NM, GRID_NM, Array
from tintmix.pigments.inference.observations import Readings
from tintmix.pigments.inference.prior import leading, matern52

_NM = np.arange(400.0, 701.0, 20.0)
"""Of the two tables below."""
_MEAN = np.array(
    [
        [0.01, 0.05, 0.04, 0.03, 0.05, 0.07, 0.14, 0.16, 0.19, 0.69, 0.97, 0.71, 0.47, 0.26, 0.08, 0.01],
        [0.00, 0.06, 0.13, 0.20, 0.52, 0.76, 0.97, 0.96, 0.80, 0.54, 0.25, 0.08, 0.04, 0.02, 0.01, 0.00],
        [0.02, 0.46, 0.89, 0.99, 0.91, 0.59, 0.26, 0.12, 0.05, 0.03, 0.02, 0.01, 0.01, 0.01, 0.00, 0.00],
    ]
)
"""Means of 52 published cameras, each channel's peak 1 (design notes, readings)."""
_SPREAD = np.array(
    [
        [0.01, 0.04, 0.03, 0.02, 0.02, 0.03, 0.04, 0.09, 0.17, 0.15, 0.03, 0.07, 0.09, 0.08, 0.05, 0.01],
        [0.00, 0.03, 0.05, 0.07, 0.11, 0.15, 0.04, 0.03, 0.04, 0.06, 0.06, 0.03, 0.02, 0.01, 0.01, 0.00],
        [0.03, 0.17, 0.05, 0.03, 0.04, 0.05, 0.05, 0.05, 0.03, 0.02, 0.02, 0.01, 0.01, 0.01, 0.00, 0.00],
    ]
)
"""Their standard deviations."""
_LEAST, _LEAST_SPREAD = 0.002, 0.003
"""In place of .00 in the tables, which is anything below .005: so that such a weight may be off by as much as any may."""
_LENGTH_NM = 40.0
"""About a channel's own width (rms 38 to 49 nm)."""
_DIRECTIONS = 7
"""98 % of a channel's variance."""
PANELS = ("LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-V1", "LED-V2")
"""CIE's typical white LED lamps: what light panels are made of."""
# Other white LED lamps: a blue pump (peak and sigma in nm, height beside the phosphor's), common practice.
_PUMPS = tuple(product((444.0, 452.0, 460.0), (8.0, 12.0), (0.5, 1.0, 2.0)))
_PHOSPHORS = tuple((peak, blue, blue + 18.0) for peak in (540.0, 570.0, 600.0) for blue in (35.0, 45.0))
"""Their phosphors: peak, and sigma on its blue and its red side, in nm (common practice)."""
_PANEL_DIRECTIONS = 8
"""98 % of the variance."""
_PANEL_SPREAD, _PANEL_LENGTH_NM = 0.15, 40.0
"""Smooth leanings beside those among the lamps, in the logarithm and over the width of a phosphor's flank."""
_TRANSMITTANCE_NM = 80.0
"""Over which transmittances of chips go together, as pigments' spectra do in `prior`: what a phone's matrix is the best for."""
_PHONES, _PHONES_SEED = 60, 11
"""Phones drawn to learn how far their weights lie from sRGB's: five for each direction kept."""
_PHONE_PART = 0.6
"""So much of it is believed: makers calibrate their phones better than a matrix alone can. With all of it, the ellipsoid covers
99 % of phones that see as the eye does, and 96 % of those drawn; with this, 91 and 93 % of twenty others."""
_VIVID = 0.05
"""Phones render colours more vivid, or less, than they are: chroma by 5 % (common practice)."""
_LUMA = (0.2126, 0.7152, 0.0722)
"""Y of sRGB's channels: IEC 61966-2-1."""
_RENDERED_DIRECTIONS = 12
"""99 % of the variance. With eight, the ellipsoid covers 86 % of forty phones of drawn sensitivities."""
TONE = np.array([0.0, -0.2])
"""Contrast and log level of a phone's tone (`optics.tone`): sRGB's own curve, the bare panel at four fifths of the brightest."""
TONE_SPREAD = np.array([0.2, 0.2])
"""Their spreads: contrasts of ±0.3 occur, and the bare panel may be at the brightest, or half as bright."""


@cache
def unknown_sensitivities() -> Array:
    """Mean sensitivities (421, 3) at 1 nm of a colour-filter camera."""
    floor = np.log(np.maximum(_MEAN, _LEAST))
    rows = [np.interp(FINE_NM, _NM, row, left=row[0] - 1, right=row[-1] - 1) for row in floor]
    return np.asarray(np.exp(np.stack(rows, axis=1)), dtype=np.float64)


def sensitivity_mix(weights: Array) -> Array:
    """Directions (K, 3, M) in which the weights (K, 3) of an unknown camera may lie beside their mean, a unit normal along each;
    none changes what it reads of the bare panel. Under each panel they are the same camera's."""
    mix = weights[..., None] * _sensitivity_lean()
    return np.asarray(mix - weights[..., None] * mix.sum(axis=0))


@cache
def _sensitivity_lean() -> Array:
    """The same of the sensitivities (K, 3, M), in parts of their mean."""
    means = np.exp(np.stack([np.interp(GRID_NM, FINE_NM, np.log(one)) for one in unknown_sensitivities().T]))
    spreads = [np.interp(GRID_NM, _NM, np.maximum(spread, _LEAST_SPREAD)) for spread in _SPREAD]
    smooth = matern52(GRID_NM[:, None] - GRID_NM, _LENGTH_NM)
    mix = _channel_by_channel([one[:, None] * one * smooth for one in spreads], _DIRECTIONS)
    return np.asarray(mix / means.T[..., None])


@cache
def unknown_panel() -> Light:
    """The geometric mean of white LED lamps, each scaled to the same mean power."""
    return Light("an unknown panel", np.exp(_panel_logs().mean(axis=0)))


@cache
def panel_lean() -> Array:
    """Directions (K, 3, L) in which log powers of an unknown panel may lean: the same for every channel."""
    logs = _panel_logs()[:, np.searchsorted(FINE_NM, GRID_NM)]
    off = logs - logs.mean(axis=0)
    smooth = _PANEL_SPREAD**2 * matern52(GRID_NM[:, None] - GRID_NM, _PANEL_LENGTH_NM)
    columns = leading(off.T @ off / len(off) + smooth, _PANEL_DIRECTIONS)
    return np.repeat(columns[:, None, :], 3, axis=1)


def rendered_mix(panel: Light) -> Array:
    """Directions (K, 3, M) in which the weights of a rendered photo may lie beside their mean: how the phone brings the panel
    to white, its own sensitivities behind the best matrix for them, and how vivid it renders."""
    ways = rendered_ways(panel)
    away = (ways - ways.mean(axis=0)) / np.sqrt(len(ways))
    return _mixed([*away, *_of_phones(panel, ways.mean(axis=0))], _RENDERED_DIRECTIONS)


@cache
def rendered_unknown() -> tuple[Detector, Array]:
    """A rendered photo of an unknown panel, in the mean, and the directions (K, 3, M) in which its weights may lie beside it.

    A phone sets the white of its panel to sRGB's, so that its matrix leans with the panel: weights of the mean panel times what
    another's power is beside it would not be those of any phone.
    """
    rng = np.random.default_rng(_PHONES_SEED)
    # 1e-9: so that rounding leaves the matrix positive definite.
    root = np.linalg.cholesky(matern52(FINE_NM[:, None] - FINE_NM, _PANEL_LENGTH_NM) + 1e-9 * np.eye(len(FINE_NM)))
    leaning = np.exp(_panel_logs() + _PANEL_SPREAD * rng.standard_normal(_panel_logs().shape) @ root.T)
    ways = np.concatenate([rendered_ways(Light("one of many", power)) for power in leaning])
    mean = ways.mean(axis=0)
    away = [*(ways - mean) / np.sqrt(len(ways)), *_of_phones(unknown_panel(), mean)]
    return Detector("photo on an unknown panel", mean, "rendered"), _mixed(
        away, _RENDERED_DIRECTIONS + _PANEL_DIRECTIONS
    )


def _of_phones(panel: Light, centre: Array) -> list[Array]:
    """What a phone's weights differ by from those (K, 3) that it aims at."""
    luma = centre @ np.array(_LUMA)
    phones = _phones(panel, rendered_ways(panel).mean(axis=0))
    return [_VIVID * (centre - luma[:, None]), *(_PHONE_PART * one / np.sqrt(_PHONES) for one in phones)]


def _mixed(away: list[Array], count: int) -> Array:
    flat = np.stack(away).reshape(len(away), -1)
    return leading(flat.T @ flat, count).reshape(*away[0].shape, -1)


def _phones(panel: Light, wanted: Array) -> list[Array]:
    """What the weights of phones, each with the best matrix for smooth transmittances, differ by from those wanted."""
    rng = np.random.default_rng(_PHONES_SEED)
    # 1e-9: so that rounding leaves the matrices positive definite.
    chips, filters = (
        np.linalg.cholesky(matern52(nm[:, None] - nm, length) + 1e-9 * np.eye(len(nm)))
        for nm, length in ((GRID_NM, _TRANSMITTANCE_NM), (_NM, _LENGTH_NM))
    )
    out = []
    for _ in range(_PHONES):
        table = np.maximum(_MEAN + _SPREAD * (rng.standard_normal(_MEAN.shape) @ filters.T), 0.0)
        own = camera(_NM, table.T, panel).weights
        # Each row of the matrix sums to one: neutrals stay neutral.
        free, asked = own[:, :2] - own[:, 2:], wanted - own[:, 2:]
        matrix = np.linalg.lstsq(chips.T @ free, chips.T @ asked, rcond=None)[0]
        out.append(free @ matrix - asked)
    return out


def _channel_by_channel(covariances: Sequence[Array], count: int) -> Array:
    out = np.zeros((len(GRID_NM), 3, 3 * count))
    for c, covariance in enumerate(covariances):
        out[:, c, c * count : (c + 1) * count] = leading(covariance, count)
    return out


def _panel_logs() -> Array:
    """Log powers (N, 421) of white LED lamps: CIE's, and as many times the pump and phosphor of `_PUMPS` and `_PHOSPHORS`."""
    cie = [light(name).power_1nm for name in PANELS]
    made = []
    for (pump, width, much), (peak, blue_side, red_side) in product(_PUMPS, _PHOSPHORS):
        blue = much * np.exp(-0.5 * ((FINE_NM - pump) / width) ** 2)
        made.append(blue + np.exp(-0.5 * ((FINE_NM - peak) / np.where(peak > FINE_NM, blue_side, red_side)) ** 2))
    powers = np.stack(cie * (len(made) // len(cie)) + made)
    # 0.02 of the mean: below it lamps differ by orders of magnitude that no channel sees.
    return np.asarray(np.log(np.maximum(powers / powers.mean(axis=1, keepdims=True), 0.02)), dtype=np.float64)


def leaning(reading: Readings, q: Array) -> Array | None:
    """The detector's weights: (K, C) where known, (B, K, C) where they lean; the bare light reads as before."""
    if reading.weights is None or reading.latents is None or (reading.lean is None and reading.mix is None):
        return reading.weights
    leant = _leant(reading, q)[0]
    scale = reading.weights.sum(axis=0) / leant.sum(axis=1)
    return np.asarray(leant * scale[:, None, :], dtype=np.float64)


def _leant(reading: Readings, q: Array) -> tuple[Array, Array]:
    """The weights before they are scaled (B, K, C), and their slopes by what leans and mixes them (B, K, C, L + M)."""
    assert reading.weights is not None
    # Six standard deviations: a wild step must not overflow.
    q = np.clip(q[:, reading.latents], -6, 6)
    weights, factor, leans, parts = reading.weights[None], np.ones((1, 1, 1)), 0, []
    if reading.lean is not None:
        leans = reading.lean.shape[-1]
        factor = np.exp(np.einsum("kcl,bl->bkc", reading.lean, q[:, :leans]))
    if reading.mix is not None:
        weights = weights + np.einsum("kcm,bm->bkc", reading.mix, q[:, leans : leans + reading.mix.shape[-1]])
    leant = weights * factor
    if reading.lean is not None:
        parts.append(leant[..., None] * reading.lean)
    if reading.mix is not None:
        parts.append(np.broadcast_to(reading.mix, (len(q), *reading.mix.shape)) * factor[..., None])
    return leant, np.concatenate(parts, axis=-1)


def tone_of(reading: Readings, q: Array) -> Array | None:
    """Contrast and log level (B or 1, 2) of a phone's curve; None where there is none."""
    if reading.tone is None:
        return None
    if reading.tone_lean is None or reading.latents is None:
        return reading.tone[None]
    # Four standard deviations: contrast stays below what would turn the curve back.
    return np.asarray(reading.tone + reading.tone_lean * np.clip(q[:, reading.latents[-2:]], -4, 4), dtype=np.float64)


def by_latents(reading: Readings, detector: Array, q: Array, light: Array) -> Array:
    """Slopes (B, n, C, L + M) of what the detector reads by what leans and mixes its weights."""
    leant, turn = _leant(reading, q)
    share = turn.sum(axis=1, keepdims=True) / leant.sum(axis=1, keepdims=True)[..., None]
    scale = detector.sum(axis=1, keepdims=True) / leant.sum(axis=1, keepdims=True)
    slopes = np.matmul(light[:, None], np.moveaxis(scale[..., None] * turn - detector[..., None] * share, 2, 1))
    return np.asarray(slopes.swapaxes(1, 2), dtype=np.float64)
