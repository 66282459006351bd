"""What an instrument would read of a chip that has not been poured, and how the reading would turn with each unknown."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.absorption import LN10, effective_doses
from tintmix.optics.colour import lab, lab_with_slope
from tintmix.optics.detector import Detector, luminous
from tintmix.optics.light import light, through, through_with_slope
from tintmix.optics.section import PANEL
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.optics.tile import Tile
from tintmix.pigments.design.belief import Belief
from tintmix.pigments.inference.cameras import leaning, tone_of
from tintmix.pigments.inference.gather import SHARED_SPREAD, detector_of, with_latents
from tintmix.pigments.inference.observations import Readings
from tintmix.pigments.model import CameraLatents

_STRAY = 0.001
"""Part of the bare light that strays into every reading of a colour (common practice): why a chip that is nearly black tells
little. Five times as much doubles the doubt that is forecast; the cups serve alike."""
_SMALL = 1e-4
"""Standard deviations: a step for differences, along which weights turn in proportion."""
_SEED = 7
"""Any number: the same plan sees the same cameras."""
_GROUPED_BANDS = 5
"""Readings of 10 nm taken as one of 50, the least length over which a colour's spectrum is taken to vary: a fifth of the work."""
VOLUME_PER_PHR = 0.01
"""Of the resin, where a pigment's density is unknown and taken as the resin's (physics §1)."""


Way = Literal["spectra", "colours", "white tile", "photos", "JPEGs", "JPEGs, panel unknown"]


@dataclass(frozen=True, slots=True)
class Instrument:
    """weights: (K, C). white: (3,) for a reading in L*a*b*, None for linear channels. spread: of each of L*, a*, b*, or
    absolute (channels). relative: of channels besides. tile: the white tile that the chips lie on, None where light goes
    straight through them. lean: (K, C, L), how the weights turn with what is not known of a camera and its light, a unit
    normal along each; leant: (D, K, C), the weights under each draw of a model, tone: (D or 1, 2), a phone's contrast
    and log level there. Only where something is not known. way: what it is, in a word."""

    weights: Array
    white: Array | None
    spread: float
    relative: float = 0.0
    tile: Tile | None = None
    lean: Array | None = None
    leant: Array | None = None
    tone: Array | None = None
    way: Way = "colours"


def colorimeter(detector: Detector, spread: float = 0.3, tile: Tile | None = None) -> Instrument:
    """L*a*b* under the detector's light, each with this spread; through the chip, or of the chip on a white tile."""
    way: Way = "colours" if tile is None else "white tile"
    return Instrument(detector.weights, detector.bare, spread, tile=tile, way=way)


def channels(detector: Detector, relative: float, zero_spread: float) -> Instrument:
    """A camera's channels, parts of the bare panel."""
    return Instrument(detector.weights, None, zero_spread, relative, way="photos")


def photographed(chips: ChipSet, known: CameraLatents | None = None, draws: int = 0) -> Instrument:
    """The camera of a set, with what is not known of it and of its panel. known: what a model's draws say of the same ones;
    draws: how many, where a model's judge."""
    detector = detector_of(chips)
    assert detector is not None
    told, nothing = chips.reading, np.zeros((0, 3))
    reading = Readings("channels", np.zeros(0, np.intp), nothing, nothing, "air", np.zeros(0), weights=detector.weights)
    (reading,), count = with_latents([(reading, chips)])
    plain = channels(detector, told.reading_spread, told.zero_spread)
    if told.camera == "rendered":
        plain = replace(plain, way="JPEGs, panel unknown" if told.light == "unknown" else "JPEGs")
    if not count:
        return plain
    turned = leaning(reading, _SMALL * np.eye(count))
    assert turned is not None
    lean = np.moveaxis(turned - detector.weights, 0, -1) / _SMALL
    along = np.random.default_rng(_SEED).standard_normal((draws, count))
    if known is not None and (known.camera, known.light, known.draws.shape) == (told.camera, told.light, along.shape):
        along = known.draws
    if not draws:
        return replace(plain, lean=lean)
    return replace(plain, lean=lean, leant=leaning(reading, along), tone=tone_of(reading, along))


def spectrophotometer(spread: float = 0.003, first_nm: float = 400.0, last_nm: float = 700.0) -> Instrument:
    """The bands read, five taken as one: a plan needs no finer."""
    inside = np.flatnonzero((first_nm <= GRID_NM) & (last_nm >= GRID_NM))
    weights = np.zeros((len(GRID_NM), -(-len(inside) // _GROUPED_BANDS)))
    for place, band in enumerate(inside):
        weights[band, place // _GROUPED_BANDS] = 1.0
    weights /= weights.sum(axis=0)
    return Instrument(weights, None, spread / np.sqrt(_GROUPED_BANDS), way="spectra")


@dataclass(frozen=True, slots=True)
class Sight:
    """Of N chips in S worlds. value: (S, N, C). by_unknown: (S, N, C, D + L), by the belief's z and by how
    the instrument leans. by_dose: (S, N, C, P), by the log of each pigment's dose. by_thickness: (S, N, C), by the thickness's.
    spread: (S, N, C, C), covariance of the reading itself. light: (S, N), luminous transmittance in air. returned: (S, N), the
    light that the instrument gets, against a bare panel or tile."""

    value: Array
    by_unknown: Array
    by_dose: Array
    by_thickness: Array
    spread: Array
    light: Array
    returned: Array


def read_ahead(
    instrument: Instrument, belief: Belief, doses_phr: Array, thickness_mm: Array, refractive_index: float
) -> Array:
    """Readings (S, N, C) alone."""
    resins = belief.resins(refractive_index, VOLUME_PER_PHR)
    behind = PANEL if instrument.tile is None else instrument.tile
    value = light(resins, doses_phr, thickness_mm, behind) @ instrument.weights
    return value if instrument.white is None else lab(value, instrument.white)


def look_ahead(
    instrument: Instrument, belief: Belief, doses_phr: Array, thickness_mm: Array, refractive_index: float
) -> Sight:
    """Readings and slopes of chips with doses (N, P), or (S, N, P) where each world has its own, and thickness (N,)."""
    spectra, columns = belief.spectra, belief.columns
    # Amounts (S, N, P + 1): mm of the resin, phr mm of each pigment.
    effective = effective_doses(doses_phr, np.full(len(belief.pigments), VOLUME_PER_PHR), 0.0)
    effective = np.broadcast_to(effective, (len(spectra), *effective.shape[-2:]))
    amount = np.concatenate([np.ones((*effective.shape[:2], 1)), effective], axis=2) * thickness_mm[:, None]
    per_mm = belief.resins(refractive_index, VOLUME_PER_PHR).per_mm(doses_phr)
    behind = PANEL if instrument.tile is None else instrument.tile
    factor, slope = through_with_slope(per_mm, thickness_mm, refractive_index, behind)
    # By absorbance from here on.
    slope = slope * -LN10
    value = factor @ instrument.weights
    turned = np.broadcast_to(instrument.weights.T, (*value.shape, len(GRID_NM)))
    size = value.shape[-1]
    if instrument.white is not None:
        value, turn = lab_with_slope(value, instrument.white)
        turned = turn @ instrument.weights.T
        stray = turn * (_STRAY * instrument.white)
        spread = stray @ stray.swapaxes(-1, -2) + instrument.spread**2 * np.eye(size)
    else:
        spread = ((instrument.relative * value) ** 2 + instrument.spread**2)[..., None] * np.eye(size)
    gain = turned * slope[..., None, :]
    leaning = 0 if instrument.lean is None else instrument.lean.shape[-1]
    by_unknown = np.zeros((*value.shape, columns.shape[-1] + leaning))
    if instrument.lean is not None:
        by_unknown[..., columns.shape[-1] :] = np.einsum("snk,kcl->sncl", factor, instrument.lean, optimize=True)
    by_dose, by_thickness = np.zeros((*value.shape, spectra.shape[1] - 1)), np.zeros(value.shape)
    for a in range(spectra.shape[1]):
        used = np.flatnonzero(np.any(amount[..., a] > 0, axis=0))
        pull = gain[:, used] * (amount[:, used, a, None] * spectra[:, None, a])[:, :, None, :]
        live = np.flatnonzero(np.any(columns[a] != 0, axis=0))
        if len(live):
            block = slice(int(live[0]), int(live[-1]) + 1)
            by_unknown[:, used, :, block] += pull @ columns[a][:, block]
        whole = pull.sum(axis=-1)
        by_thickness[:, used] += whole
        if a:
            by_dose[..., a - 1][:, used] = whole
    seen = luminous("D65")
    returned = through_air = factor @ seen
    if instrument.tile is not None:
        through_air = through(per_mm, thickness_mm, refractive_index) @ seen
        returned = returned / (instrument.tile.reflectance @ seen)
    return Sight(value, by_unknown, by_dose, by_thickness, spread, through_air, returned)


def cup_spread(sight: Sight, thicknesses_mm: Array, dose_spread: float, thickness_spread_mm: float) -> Array:
    """Covariance (S, C, M, M) of what is read of C cups whose chips have these thicknesses (C, k): each reading's own, each
    chip's thickness, and the doses of the cup: of each pigment by itself, and what they share (as the fit has it)."""
    chips, size = thicknesses_mm.shape[1], sight.value.shape[-1]
    shape = (len(sight.value), len(thicknesses_mm), chips * size)
    by_thickness = sight.by_thickness * (thickness_spread_mm / thicknesses_mm.ravel())[:, None]
    each = sight.spread + by_thickness[..., :, None] * by_thickness[..., None, :]
    by_dose = sight.by_dose.reshape(*shape, -1)
    loads = np.concatenate([dose_spread * by_dose, SHARED_SPREAD * by_dose.sum(axis=-1, keepdims=True)], axis=-1)
    joint = loads @ loads.swapaxes(-1, -2)
    each = each.reshape(*shape[:2], chips, size, size)
    for chip in range(chips):
        at = slice(chip * size, (chip + 1) * size)
        joint[..., at, at] += each[:, :, chip]
    return np.asarray(joint)
