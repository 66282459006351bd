"""A piece that is known by a colour or by camera readings only: its likely absorption, from one or a few readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.errors import Remedy, ValueProblem
from tintmix.optics.detector import Light, eye
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.draws import COUNT, Draws, draw
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import CUT_OFF
from tintmix.pigments.inference.known_camera import KnownCamera, known_camera
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import CENSOR_BELOW, DoseLoads, Observations, Readings, grey_absorbance
from tintmix.pigments.inference.posterior import Mixture, prior_of, shares_of
from tintmix.pigments.inference.prior import SHARES, SMOOTHNESS, pigment_basis, start_shapes
from tintmix.pigments.model import TintModel

_LAB_SPREAD, _CAMERA_SPREAD, _CAMERA_ZERO = 0.3, 0.01, 0.001
"""Of a reading: those of `Reading` in `chips.chip`, which formats.md states for a chip set that says nothing."""
_PAIRING = 7
"""Any number: the same chips and readings give the same pairs."""
_NUDGE = pigment_basis(0.3, 160.0)
"""Directions of the last nudge: smooth, so that the likely spectrum keeps its bands. With 0.3 eight colours were met within 0.02
L*a*b* by 3 to 30 % of absorption; with 0.1 only within 0.18, with 1 the absorption differed by 2 % at most."""


@dataclass(frozen=True, slots=True)
class Piece:
    """per_mm: (K,), the likely decadic absorbance per mm, which gives the reading itself. draws: (D, K), one beside each of the
    model's draws: where a camera read it, as that draw has the camera."""

    per_mm: Array
    draws: Array


def fit_piece(
    lab: Sequence[float] | None,
    camera: Sequence[float] | None,
    thickness_mm: float,
    refractive_index: float,
    light: str | Light,
    observer: int,
    model: TintModel,
    second: tuple[float, Sequence[float]] | None = None,
) -> Piece:
    """Decadic absorbance per mm of a piece that reads this L*a*b*, or these camera channels beside the model's chips.
    second: another thickness of it, and the channels there.

    Many spectra read alike; this is the mean of those that are likely, nudged smoothly until it gives the reading
    itself, and how they lie about it. Raises ValueProblem where camera channels are given and no chip of the model was read by a
    camera.
    """
    known = None if lab is not None else _camera_of(model)
    reading = _reading(lab, camera, light, observer, known)
    depths = np.array([thickness_mm])
    if second is not None:
        other = _reading(None, second[1], light, observer, known)
        depths = np.array([thickness_mm, second[0]])
        reading = replace(
            reading,
            chips=np.arange(2),
            observed=np.concatenate([reading.observed, other.observed]),
            spread=np.concatenate([reading.spread, other.spread]),
            regular=np.ones(2),
        )
    seen = _observed([reading], depths, refractive_index, 0 if known is None else known.count)
    drawn = _beside(model, known, seen)
    met = replace(seen, readings=(replace(reading, mix=None, tone_lean=None, latents=None),), latent_count=0)
    nudged = Forward(met, (SpectrumPrior(np.log(drawn.mean(axis=0))[None], _NUDGE.columns[None]),))
    found = laplace_modes(nudged, np.zeros((1, nudged.layout.size)), steps=20, robust=False)
    absorptivity: Array = nudged.absorptivities(found.z)[0][0]
    return Piece(absorptivity, drawn)


def _beside(model: TintModel, known: KnownCamera | None, seen: Observations) -> Array:
    """Draws (D, K) of the piece, one beside each of the model's. Both stand in the order of their modes, which have nothing to do
    with each other: each of the model's goes with any of the piece's."""
    count = len(model.draws_base)
    partner = np.random.default_rng(_PAIRING).permutation(count)
    # Draws come in pairs.
    even = np.resize(partner, count + count % 2)
    cameras = known.coordinates[even] if known is not None and known.count else None
    drawn = np.empty((count, len(GRID_NM)))
    drawn[partner] = _draws(seen, len(even), cameras).base[:count]
    return drawn


def piece_draws(
    camera: Array,
    thickness_mm: Array,
    refractive_index: float,
    model: TintModel,
    spread: Array | None = None,
    like: Array | None = None,
) -> Array:
    """Decadic absorbance per mm (D, K), as likely as each other, of a piece that reads these channels (N, 3) at these
    thicknesses (N,), by the camera that read the model's chips.

    spread: (N, 3), of the readings; None: those of a raw photo. like: (K,), about what it absorbs, as of a recipe that was
    poured; None: any dye or glass. Raises ValueProblem where no chip of the model was read by a camera.
    """
    known = _camera_of(model)
    rows = np.arange(len(camera))
    spread = np.hypot(_CAMERA_SPREAD * camera, _CAMERA_ZERO) if spread is None else spread
    reading = known.on(Readings("channels", rows, camera, spread, "air", np.ones(len(camera)), weights=known.weights))
    if known.tone is not None:
        censored = np.where(camera < CENSOR_BELOW, -1, np.where(camera > 1.0 - CUT_OFF * spread, 1, 0))
        reading = replace(reading, observed=np.maximum(camera, CENSOR_BELOW), censored=censored)
    seen = _observed([reading], thickness_mm, refractive_index, known.count)
    if like is None:
        return _draws(seen).base
    forward = Forward(seen, (SpectrumPrior(np.log(np.maximum(like, 1e-6))[None], _NUDGE.columns[None]),))
    fit = laplace_modes(forward, np.zeros((1, forward.layout.size)), steps=20, robust=False)
    return draw(Mixture(forward, fit, np.ones(1))).base


def _observed(
    readings: Sequence[Readings], thickness_mm: Array, refractive_index: float, latent_count: int
) -> Observations:
    """Chips without pigment: the piece stands where the untinted resin otherwise does."""
    count = len(thickness_mm)
    return Observations(
        pigments=(),
        doses=np.zeros((count, 0)),
        thickness_mm=thickness_mm,
        dose_loads=DoseLoads.of(np.zeros((count, 0, 0))),
        heavy=np.zeros(0, dtype=bool),
        poured=np.arange(count),
        thickness_spread=np.full(count, 1e-3),
        known_per_mm=np.zeros((count, len(GRID_NM))),
        readings=tuple(readings),
        refractive_index=refractive_index,
        latent_count=latent_count,
    )


def _draws(seen: Observations, count: int = COUNT, cameras: Array | None = None) -> Draws:
    level = float(np.log(np.maximum(np.median(grey_absorbance(seen) / seen.thickness_mm), 1e-5)))
    shapes = start_shapes()
    bases = [pigment_basis(*smoothness) for smoothness in SMOOTHNESS]
    forward = Forward(seen, (prior_of(level, [basis for basis in bases for _ in shapes]),))
    z = np.zeros((len(bases) * len(shapes), forward.layout.size))
    z[:, forward.layout.absorbers[0]] = np.concatenate([basis.coordinates(shapes) for basis in bases])
    fit = laplace_modes(forward, z, steps=20, robust=False)
    shared = np.log(np.repeat(SHARES, len(shapes)))
    return draw(Mixture(forward, fit, shares_of(fit.evidence + shared)), count, latents=cameras)


def _reading(
    lab: Sequence[float] | None,
    camera: Sequence[float] | None,
    light: str | Light,
    observer: int,
    known: KnownCamera | None,
) -> Readings:
    """The one reading."""
    first, one = np.zeros(1, dtype=np.intp), np.ones(1)
    if known is None:
        detector = eye(light, observer)
        return Readings(
            "lab", first, np.array([lab], dtype=np.float64), np.full((1, 3), _LAB_SPREAD), "air", one,
            weights=detector.weights, white=detector.bare,
        )  # fmt: skip
    value = np.array([camera], dtype=np.float64)
    spread = np.hypot(_CAMERA_SPREAD * value, _CAMERA_ZERO)
    return known.on(Readings("channels", first, value, spread, "air", one, weights=known.weights))


def _camera_of(model: TintModel) -> KnownCamera:
    known = known_camera(model)
    if known is None:
        raise ValueProblem(
            what="the glass is given by camera channels, but no chip of this model was read by a camera",
            remedy=Remedy.DESCRIBE_GLASS_OTHERWISE,
        )
    return known
