"""Chips that should read alike and do not: replicates, of the same doses and thickness, poured or read twice."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tintmix.numerals import numeral
from tintmix.optics.colour import SRGB_TO_XYZ, lab_with_slope
from tintmix.optics.detector import eye
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.gather import Gathered

SURE = 3.5
"""Standard deviations past which replicates are said to disagree: of 100 sound pairs none came there."""
_SAME_DOSE = 1e-6
"""Relative: doses typed alike, whatever their arithmetic left in the last digits."""
_SAME_THICKNESS = 0.1
"""Relative: what a thicker chip of the same cup reads otherwise the model takes off, safely over a tenth."""


def replicate_warnings(
    gathered: Gathered, measured: Array, fitted: Array, stronger: Array, thicker: Array, step: float
) -> list[str]:
    """A sentence for each pair of chips that differ by more than their readings, cups and callipers allow.

    measured, fitted: L*a*b* (N, 3) of each row, as read and as the model has it at the doses and thickness written
    down. stronger, thicker: fitted with dose or thickness raised by the part `step`. What the model says of the
    difference in thickness is taken off; what is left is held against reading, dose (of two cups) and thickness
    spreads.
    """
    spread = _reading_spread(gathered)
    by_dose = np.linalg.norm(stronger - fitted, axis=1) / step
    by_thickness = np.linalg.norm(thicker - fitted, axis=1) / step
    off = measured - fitted
    chips, sets = gathered.chips, gathered.sets
    told: list[tuple[float, str]] = []
    for i, j in _alike(gathered):
        one, other = chips[i], chips[j]
        reading = sets[gathered.set_of[i]].reading
        variance = spread[i] ** 2 + spread[j] ** 2
        for row, chip in ((i, one), (j, other)):
            variance += (by_thickness[row] * reading.thickness_spread_mm / chip.thickness_mm) ** 2
            if one.cup != other.cup:
                variance += (by_dose[row] * max(chip.dose_spreads, default=0.0)) ** 2
        far = float(np.linalg.norm(off[i] - off[j]))
        # Three numbers, each of about this spread: the length of their difference is √3 of it on average.
        limit = SURE * float(np.sqrt(variance))
        # 0.3: what one value of a colorimeter may be off anyway; no eye sees it.
        if far > max(limit, 0.3):
            where = f"both of cup {one.cup}" if one.cup == other.cup else f"cups {one.cup} and {other.cup}"
            told.append(
                (
                    far / limit,
                    f"{one.name} and {other.name} should read alike ({where}, same doses and thickness) but lie "
                    f"{far:.1f} apart in L*a*b*, where {limit:.1f} would be chance; check labels, weights and faces",
                )
            )
    # The worst five: one bad chip is in as many pairs as it has sisters.
    return [sentence for _, sentence in sorted(told, reverse=True)[:5]]


def _alike(gathered: Gathered) -> Iterator[tuple[int, int]]:
    """Pairs of rows of one set, of the same doses and thickness, that are not one chip."""
    chips, doses = gathered.chips, gathered.doses_phr
    thickness, sets = np.array([chip.thickness_mm for chip in chips]), np.array(gathered.set_of)
    for i in range(len(chips)):
        after = slice(i + 1, None)
        thick = np.abs(thickness[after] - thickness[i]) <= _SAME_THICKNESS * np.maximum(thickness[after], thickness[i])
        dosed = np.abs(doses[after] - doses[i]) <= _SAME_DOSE * np.maximum(np.maximum(doses[after], doses[i]), 1e-12)
        for j in np.flatnonzero((sets[after] == sets[i]) & thick & dosed.all(axis=1)) + i + 1:
            if chips[i].name != chips[j].name:
                yield i, int(j)


def scatter_warnings(gathered: Gathered) -> list[str]:
    """Which pigments make the resin hazy, from the haze that was read: those that scatter 2 % and more."""
    law = gathered.haze
    if law is None:
        return []
    told = []
    thickest = max(chip.thickness_mm for chip in gathered.chips)
    for p, name in enumerate(gathered.pigments):
        most = float(gathered.observations.doses[:, p].max())
        haze = 1.0 - float(np.exp(-thickest * most * law.per_mm_phr[p]))
        if haze >= 0.02:
            told.append(
                f"{name} hazes: at its strongest ({numeral(most, 3)} phr) it scatters about {100 * haze:.0f} % of the light "
                f"in {numeral(thickest)} mm; look and solve count it"
            )
    return told


def _reading_spread(gathered: Gathered) -> Array:
    """One standard deviation (N,) of each row's L*a*b*, from that of its reading."""
    out = np.zeros(len(gathered.chips))
    for reading in gathered.observations.readings:
        rows = reading.chips
        if reading.form == "lab":
            out[rows] = reading.spread.mean(axis=1)
            continue
        if reading.bands is not None:
            eye_weights = eye("D65", 10).weights
            weights = eye_weights[reading.bands] * (eye_weights.sum(axis=0) / eye_weights[reading.bands].sum(axis=0))
        else:
            # Camera channels as if they were linear sRGB, as check.py compares them.
            weights = SRGB_TO_XYZ.T
        _, slope = lab_with_slope(np.clip(reading.observed, 0.0, None) @ weights, weights.sum(axis=0))
        by_channel = slope @ weights.T
        out[rows] = np.sqrt(((by_channel * reading.spread[:, None, :]) ** 2).sum(axis=-1).mean(axis=-1))
    return out
