"""Check chips: have the camera, the panel or the instrument changed since the set was first read, and by how much?

A reading now is taken as a gain times the first reading, band by band, channel by channel, or by X, Y and Z:
log(now/first) = log g + noise. The gain is smooth over wavelength (a parabola), and a priori within 5 % of 1; least
squares over all check chips, each band weighted by how well it was read. A change of a check chip itself shows as
what is left over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.chips.appearance import as_lab, eye_of
from tintmix.chips.chip import ChipSet
from tintmix.numerals import numeral
from tintmix.optics.colour import lab, xyz_of_lab
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array

PRIOR_SPREAD = 0.05
"""Of a log gain: instruments and panels that wander further are broken, not drifting (common practice)."""
SURE = 3.0
"""Standard deviations past which a gain is called drift."""
WORTH_SAYING = 0.005
"""A gain closer to 1 than this: a chip put back is hardly read better (common practice), and no eye sees it."""


@dataclass(frozen=True, slots=True)
class CheckChip:
    """ΔE00 between a check chip's first reading and today's, and what the gain leaves of it."""

    chip: str
    delta_e00: float
    delta_e00_left: float


@dataclass(frozen=True, slots=True)
class Drift:
    """gain (M,): today's reading over the first one's (of X, Y, Z for colours). drifted: past doubt. says: a sentence."""

    gain: Array
    spread: Array
    chips: tuple[CheckChip, ...]
    drifted: bool
    says: str

    def corrected(self, chips: ChipSet, values: Array) -> Array:
        """Readings (…, M) of today put right, as the set's first day would have read them."""
        return _from_linear(chips, _linear(chips, values) / self.gain)


def drift(chips: ChipSet, pairs: Sequence[tuple[str, Array, Array, int]]) -> Drift:
    """From (chip, first reading, mean of today's, how many today) of each check chip."""
    first = np.stack([p[1] for p in pairs])
    now = np.stack([p[2] for p in pairs])
    before, after = _linear(chips, first), _linear(chips, now)
    relative = _relative_spread(chips, first, before)
    times = np.array([p[3] for p in pairs], dtype=np.float64)[:, None]
    usable = (before > 0) & (after > 0) & (relative < 0.3)
    ratio = np.log(np.where(usable, after, 1.0) / np.where(usable, before, 1.0))
    precision = np.where(usable, 1.0 / (relative**2 * (1.0 + 1.0 / times)), 0.0)
    shape = _shapes(chips, before.shape[1])
    normal = np.einsum("nm,mi,mj->ij", precision, shape, shape) + np.eye(shape.shape[1]) / PRIOR_SPREAD**2
    pull = np.einsum("nm,nm,mi->i", precision, ratio, shape)
    covariance = np.linalg.inv(normal)
    log_gain = shape @ (covariance @ pull)
    spread = np.sqrt(np.einsum("mi,ij,mj->m", shape, covariance, shape))
    gain = np.exp(log_gain)
    drifted = bool(np.any((np.abs(log_gain) > SURE * spread) & (np.abs(log_gain) > WORTH_SAYING)))
    put_right = _from_linear(chips, after / gain)
    labs = [as_lab(chips, v) for v in (first, now, put_right)]
    far, left = delta_e00(labs[0], labs[1]), delta_e00(labs[0], labs[2])
    told = tuple(CheckChip(p[0], float(d), float(r)) for p, d, r in zip(pairs, far, left, strict=True))
    misfit = float((precision * (ratio - log_gain) ** 2).sum())
    free = max(int(np.count_nonzero(precision)) - shape.shape[1], 1)
    odd = len(pairs) > 1 and misfit > free + 5 * np.sqrt(2 * free)
    return Drift(gain, spread, told, drifted, _says(gain, told, drifted, odd))


def _says(gain: Array, chips: Sequence[CheckChip], drifted: bool, odd: bool) -> str:
    names = ", ".join(c.chip for c in chips)
    far = max(c.delta_e00 for c in chips)
    low, high = 100 * (float(gain.min()) - 1), 100 * (float(gain.max()) - 1)
    if not drifted:
        said = f"The check chips ({names}) read as on the first day (within ΔE00 {numeral(far, 2)})."
    else:
        span = f"{low:+.1f} %" if abs(high - low) < 0.3 else f"{low:+.1f} to {high:+.1f} %"
        said = f"The check chips ({names}) read {span} against the first day (ΔE00 up to {numeral(far, 2)}): it has drifted."
    if odd:
        worst = max(chips, key=lambda c: c.delta_e00_left)
        said += f" They do not agree on it; look at {worst.chip}: a check chip may itself have changed, or be dirty."
    return said


def _shapes(chips: ChipSet, size: int) -> Array:
    """How a gain may run over the bands: a parabola for spectra, free for three channels."""
    if chips.reading.kind != "spectrum":
        return np.eye(size)
    nm = np.asarray(chips.reading.wavelengths_nm)
    x = 2 * (nm - nm[0]) / (nm[-1] - nm[0]) - 1
    return np.stack([np.ones(size), x, x * x - 1 / 3], axis=1)


def _linear(chips: ChipSet, values: Array) -> Array:
    """In light: as they are for spectra and channels, XYZ for colours."""
    return xyz_of_lab(values, eye_of(chips).bare) if chips.reading.space == "Lab" else values


def _from_linear(chips: ChipSet, values: Array) -> Array:
    return lab(values, eye_of(chips).bare) if chips.reading.space == "Lab" else values


def _relative_spread(chips: ChipSet, first: Array, linear: Array) -> Array:
    """One standard deviation of a reading, relative, (N, M)."""
    reading = chips.reading
    if reading.kind == "colour":
        # d ln Y = 3 dL*/(L* + 16) (CIE 15, above the linear part); X and Z go with a* and b* likewise.
        lightness = as_lab(chips, first)[:, :1]
        return np.broadcast_to(3 * reading.reading_spread / (np.maximum(lightness, 1.0) + 16), linear.shape)
    absolute = reading.reading_spread if reading.kind == "spectrum" else reading.zero_spread
    own = reading.reading_spread if reading.kind == "camera" else 0.0
    return np.hypot(own, absolute / np.maximum(linear, 1e-6))
