"""What the estimator is shown beside: three-channel Beer-Lambert, and a fit from one start at one smoothness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.simulation import SimSet
from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import lab, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.pigments import fit as fit_module
from tintmix.pigments.inference.draws import draw
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.posterior import Mixture, grey_levels
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, SMOOTHNESS, base_basis, pigment_basis
from tintmix.pigments.model import TintModel

Array = NDArray[np.float64]
_XYZ_TO_RGB = np.linalg.inv(np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]))
"""IEC 61966-2-1: the three channels that a maker with an image editor would take logarithms of."""


def three_channel_errors(sim: SimSet, questions: int, beyond: float) -> Array:
    """ΔE00 of `three_channel_lab` at the set's own questions."""
    doses, thickness = sim.questions(questions, beyond)
    return delta_e00(sim.truth_lab(doses, thickness), three_channel_lab(sim, doses, thickness))


def three_channel_lab(sim: SimSet, doses: Array, thickness: Array) -> Array:
    """L*a*b* (N, 3) by Beer's law fitted to the logarithms of three colour channels by least squares."""
    white = eye("D65", 10).bare
    if sim.kind == "camera":
        channels = sim.readings
    else:
        measured = sim.readings
        if sim.kind == "spectrum":
            weights = eye("D65", 10).weights[: measured.shape[1]]
            measured = lab(measured @ weights / weights.sum(axis=0) * white, white)
        channels = _channels(measured, white)
    clear = 2 * sim.refractive_index / (sim.refractive_index**2 + 1)
    absorbance = -np.log10(np.clip(channels, 1e-3, None) / clear)
    design = sim.thickness_mm[:, None] * np.hstack([np.ones((len(sim.names), 1)), sim.doses_phr])
    strength = np.linalg.lstsq(design, absorbance, rcond=None)[0]
    asked = thickness[:, None] * np.hstack([np.ones((len(doses), 1)), doses])
    light = clear * 10.0 ** -(asked @ strength)
    xyz = light @ np.linalg.inv(_XYZ_TO_RGB).T * (white / (np.linalg.inv(_XYZ_TO_RGB).sum(axis=1)))
    return lab(np.clip(xyz, 0, None), white)


def _channels(measured: Array, white: Array) -> Array:
    rgb_white = np.linalg.inv(_XYZ_TO_RGB).sum(axis=1)
    return xyz_of_lab(measured, white) / white * rgb_white @ _XYZ_TO_RGB.T


def one_start_fit(chips: ChipSet) -> TintModel:
    """The same posterior and nuisances, from the grey start alone, at one smoothness, as one Gaussian."""
    gathered = gather((chips,))
    observations = gathered.observations
    columns = pigment_basis(*SMOOTHNESS[3]).columns[None]
    priors = [SpectrumPrior(np.full((1, 41), BASE_MEAN_LOG), base_basis().columns[None])]
    priors += [SpectrumPrior(np.full((1, 41), level), columns) for level in grey_levels(observations)]
    forward = Forward(observations, tuple(priors))
    fitted = laplace_modes(forward, np.zeros((1, forward.layout.size)), steps=40)
    return fit_module._assemble(gathered, draw(Mixture(forward, fitted, np.ones(1))))
