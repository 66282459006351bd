"""The formulas of slow.py for many sections at once, in plain numpy; test_slow.py holds the two together."""

from __future__ import annotations

import functools

import numpy as np

from tests.reference import slow
from tests.reference.slow import NM, Array


def internal(
    doses: Array, thickness_mm: Array, base: Array, absorptivity: Array, volume_per_phr: float = 0.01
) -> Array:
    """Internal transmittance (N, 421) of doses (N, P) and thickness (N,)."""
    doses = np.atleast_2d(doses)
    volume = doses / (1.0 + volume_per_phr * doses.sum(axis=1, keepdims=True))
    absorbance = np.asarray(thickness_mm)[..., None] * (base + volume @ absorptivity)
    return np.asarray(np.exp(-np.log(10.0) * absorbance), dtype=np.float64)


def plate(internal_transmittance: Array, index: float = 1.5) -> Array:
    """External transmittance: the closed form of the series that slow.py adds up."""
    face = ((index - 1.0) / (index + 1.0)) ** 2
    return np.asarray(
        (1.0 - face) ** 2 * internal_transmittance / (1.0 - (face * internal_transmittance) ** 2), dtype=np.float64
    )


@functools.cache
def eye(light: str, observer: int) -> Array:
    """Weights (421, 3), Y of the bare light = 100."""
    weights = slow.light_power(light)[:, None] * slow.matching_functions(observer)
    return np.asarray(100.0 * weights / weights[:, 1].sum(), dtype=np.float64)


def lab(factor: Array, light: str = "D65", observer: int = 10) -> Array:
    """L*a*b* (N, 3) against the bare light."""
    weights = eye(light, observer)
    ratio = factor @ weights / weights.sum(axis=0)
    x, y, z = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), (841 / 108) * ratio + 4 / 29).T
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=1)


def luminous(factor: Array, light: str = "D65") -> Array:
    """Luminous transmittance (N,), 2 degree y-bar."""
    return np.asarray(factor @ eye(light, 2)[:, 1] / 100.0, dtype=np.float64)


def channels(factor: Array, sensitivities: Array, panel: str) -> Array:
    """Camera channels (N, 3) as parts of the bare panel."""
    weights = slow.light_power(panel)[:, None] * sensitivities
    return np.asarray(factor @ (weights / weights.sum(axis=0)), dtype=np.float64)


def rendered(
    factor: Array, panel: str, adaptation: str = "CAT16", contrast: float = 0.0, sensitivities: Array | None = None
) -> Array:
    """Linear sRGB (N, 3) of the transmitted light as the codes of a JPEG say, the bare panel being (1, 1, 1); not clipped.

    adaptation: how XYZ come to sRGB's white, by colour-science's name. contrast: the codes' v is v + c v (1 - v)(2 v - 1).
    sensitivities: (421, 3) of a phone that makes XYZ of its channels by the best matrix for `samples`; None: the eye's.
    """
    seen, white = factor @ eye(panel, 2), slow.white(panel, 2)
    if sensitivities is not None:
        known = channels(samples(), sensitivities, panel)
        free = np.linalg.lstsq(
            known[:, :2] - known[:, 2:], samples() @ eye(panel, 2) / white - known[:, 2:], rcond=None
        )[0]
        seen = white * (channels(factor, sensitivities, panel) @ np.vstack([free, 1.0 - free.sum(axis=0)]))
    linear = np.stack([slow.linear_srgb(one, white, adaptation) for one in seen])
    if not contrast:
        return linear
    v = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    v = np.clip(v, 0.0, 1.0)
    v = v + contrast * v * (1.0 - v) * (2.0 * v - 1.0)
    return np.asarray(np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4), dtype=np.float64)


@functools.cache
def samples() -> Array:
    """Transmittances (60, 421) of random dyes, one to three at a time: what a phone's matrix is made to render right."""
    from tests.reference import absorbers

    rng = np.random.default_rng(7)
    out = []
    for _ in range(60):
        mix = np.sum([rng.uniform(0.2, 1.0) * absorbers.random_dye(rng) for _ in range(rng.integers(1, 4))], axis=0)
        out.append(10.0 ** (-np.exp(rng.uniform(np.log(0.03), np.log(2.0))) * mix / mix[40:341].mean()))
    return np.array(out)


_NODES_NM: Array = np.arange(400.0, 701.0, 20.0)
# Mean and standard deviation over 52 published cameras: design notes, readings, table "a prior for an unknown camera".
_CAMERA_MEAN: Array = np.array(
    [
        [0.01, 0.05, 0.04, 0.03, 0.05, 0.07, 0.14, 0.16, 0.19, 0.69, 0.97, 0.71, 0.47, 0.26, 0.08, 0.01],
        [0.00, 0.06, 0.13, 0.20, 0.52, 0.76, 0.97, 0.96, 0.80, 0.54, 0.25, 0.08, 0.04, 0.02, 0.01, 0.00],
        [0.02, 0.46, 0.89, 0.99, 0.91, 0.59, 0.26, 0.12, 0.05, 0.03, 0.02, 0.01, 0.01, 0.01, 0.00, 0.00],
    ]
)
_CAMERA_SPREAD: Array = np.array(
    [
        [0.01, 0.04, 0.03, 0.02, 0.02, 0.03, 0.04, 0.09, 0.17, 0.15, 0.03, 0.07, 0.09, 0.08, 0.05, 0.01],
        [0.00, 0.03, 0.05, 0.07, 0.11, 0.15, 0.04, 0.03, 0.04, 0.06, 0.06, 0.03, 0.02, 0.01, 0.01, 0.00],
        [0.03, 0.17, 0.05, 0.03, 0.04, 0.05, 0.05, 0.05, 0.03, 0.02, 0.02, 0.01, 0.01, 0.01, 0.00, 0.00],
    ]
)


def drawn_camera(rng: np.random.Generator, correlation_nm: float = 40.0) -> Array:
    """Sensitivities (421, 3) of a colour-filter camera drawn from readings.md's prior, each channel's peak 1.

    Deviations at the table's wavelengths are Gaussian, correlated over 40 nm (common practice: filters are smooth);
    in between PCHIP, which neither overshoots nor goes below zero.
    """
    from scipy.interpolate import PchipInterpolator

    apart = (_NODES_NM[:, None] - _NODES_NM[None, :]) / correlation_nm
    smooth = np.linalg.cholesky(np.exp(-(apart**2) / 2) + 1e-6 * np.eye(len(_NODES_NM)))
    drawn = []
    for mean, spread in zip(_CAMERA_MEAN, _CAMERA_SPREAD, strict=True):
        nodes = np.maximum(mean + spread * (smooth @ rng.normal(0, 1, len(_NODES_NM))), 0.0)
        nm = np.concatenate([[370.0, 380.0], _NODES_NM, [720.0, 740.0]])
        curve = PchipInterpolator(nm, np.concatenate([[0.0, 0.0], nodes, [0.0, 0.0]]))(np.clip(NM, 370, 740))
        drawn.append(curve / curve.max())
    return np.stack(drawn, axis=1)
