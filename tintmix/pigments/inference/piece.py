"""A piece of glass known by a colour or a camera reading only: its likely absorption, from one chip."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tintmix.errors import Remedy, ValueProblem
from tintmix.optics.detector import Light, eye
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.draws import draw
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import Observations, Readings, grey_absorbance
from tintmix.pigments.inference.posterior import Mixture, prior_of, shares_of
from tintmix.pigments.inference.prior import SMOOTHNESS, pigment_basis, start_shapes
from tintmix.pigments.model import TintModel

_LAB_SPREAD, _CAMERA_SPREAD, _CAMERA_ZERO = 0.3, 0.01, 0.001
"""Of a reading: those of `Reading` in `chips.chip`, which formats.md states for a chip set that says nothing."""
_NUDGE = pigment_basis(0.3, 160.0)
"""Directions of the last nudge: smooth, so that the likely spectrum keeps its bands. With 0.3 eight colours were met within 0.02
L*a*b* by 3 to 30 % of absorption; with 0.1 only within 0.18, with 1 the absorption differed by 2 % at most."""


def fit_piece(
    lab: Sequence[float] | None,
    camera: Sequence[float] | None,
    thickness_mm: float,
    refractive_index: float,
    light: str | Light,
    observer: int,
    model: TintModel,
) -> Array:
    """Decadic absorbance per mm (K,) of a piece that reads this L*a*b*, or these camera channels beside the model's
    chips.

    Many spectra read alike; this is the mean of those that are likely, nudged smoothly until it gives the reading
    itself. Raises ValueProblem where camera channels are given and no chip of the model was read by a camera.
    """
    # One chip without pigment: the piece stands where the untinted resin otherwise does.
    seen = Observations(
        pigments=(),
        doses=np.zeros((1, 0)),
        thickness_mm=np.array([thickness_mm]),
        dose_loads=np.zeros((1, 0, 0)),
        heavy=np.zeros(0, dtype=bool),
        poured=np.zeros(1, dtype=np.intp),
        thickness_spread=np.array([1e-3]),
        known_per_mm=np.zeros((1, len(GRID_NM))),
        readings=(_reading(lab, camera, light, observer, model),),
        refractive_index=refractive_index,
    )
    level = float(np.log(np.maximum(grey_absorbance(seen)[0] / thickness_mm, 1e-5)))
    shapes = start_shapes()
    bases = [pigment_basis(*smoothness) for smoothness in SMOOTHNESS]
    forward = Forward(seen, (prior_of(level, [basis for basis in bases for _ in shapes]),))
    z = np.zeros((len(bases) * len(shapes), forward.layout.size))
    z[:, forward.layout.absorbers[0]] = np.concatenate([basis.coordinates(shapes) for basis in bases])
    fit = laplace_modes(forward, z, steps=20, robust=False)
    likely = draw(Mixture(forward, fit, shares_of(fit.evidence))).base.mean(axis=0)
    nudged = Forward(seen, (SpectrumPrior(np.log(likely)[None], _NUDGE.columns[None]),))
    found = laplace_modes(nudged, np.zeros((1, nudged.layout.size)), steps=20, robust=False)
    absorptivity: Array = nudged.absorptivities(found.z)[0][0]
    return absorptivity


def _reading(
    lab: Sequence[float] | None, camera: Sequence[float] | None, light: str | Light, observer: int, model: TintModel
) -> Readings:
    first, one = np.zeros(1, dtype=np.intp), np.ones(1)
    if lab is not None:
        detector = eye(light, observer)
        return Readings(
            "lab", first, np.array([lab], dtype=np.float64), np.full((1, 3), _LAB_SPREAD), "air", one,
            weights=detector.weights, white=detector.bare,
        )  # fmt: skip
    if model.camera_weights is None:
        raise ValueProblem(
            what="the glass is given by camera channels, but no chip of this model was read by a camera",
            remedy=Remedy.DESCRIBE_GLASS_OTHERWISE,
        )
    value = np.array([camera], dtype=np.float64)
    spread = np.hypot(_CAMERA_SPREAD * value, _CAMERA_ZERO)
    return Readings("channels", first, value, spread, "air", one, weights=model.camera_weights, tone=model.camera_tone)
