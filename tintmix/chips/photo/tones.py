"""Whether a picture whose file says nothing of its curve has one: what is seen on a light panel tells.

Three things differ between codes that are light (linear) and codes that the curve of sRGB made of it:

- the marks' paper, which lets 30 to 50 % of the panel's light through, stands at that part of the panel's code, or at 58 to 73 %;
- a raw converter's camera channels leave the panel coloured, for sensors see green best; a camera's own picture makes it white;
- the noise of counted light: its variance goes with the light; bent by the curve, it hardly changes with the code.

Each is a ratio of likelihoods, in natural logarithms; together they decide, or leave it open, which is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tintmix.chips.photo.curve import ToneCurve, srgb_curve, straight_curve
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.region import take, trimmed
from tintmix.chips.photo.sheet.holder import MARK_MM, MARKS_MM, RING_OUTER_MM, WINDOWS
from tintmix.chips.photo.sheet.marks import FoundSheet
from tintmix.errors import Note, Remedy, TintmixError
from tintmix.numerals import numeral
from tintmix.optics.spectrum import Array

SURE = 2.0
"""Seven to one."""
_EIGHT_BITS = -3.0
"""Twenty to one against linear light in 8 bits: nearly everything that writes 8 bits bends it."""
_PAPER, _PAPER_SPREAD = float(np.log(0.4)), 0.2
"""Of copying paper, 0.3 to 0.5 (common practice), one standard deviation of the logarithm."""
_WHITE_SPREAD = 0.08
"""Of the logarithm of a channel of a panel that was made white, against green."""
_RAW, _RAW_SPREAD = -0.6, 0.4
"""The same of channels as the sensor has them: red and blue at a third to four fifths of green (common practice)."""
_NOISE_SPREAD, _NOISE_MOST = 0.5, 4.0
"""Of the logarithm of a place's variance about what its light gives; and the most that noise may say, for cameras smooth it."""
_DARKEST, _BRIGHTEST = 0.03, 0.95
"""Of full code: below it read noise rules, above it the picture may be full."""
_FLOOR = 0.002
"""Of full light, what read noise adds to counted light (a sensor of 20 000 electrons, 5 of noise: below it)."""
_MATRIX = -0.1
"""Correlation of the noise of two channels: a matrix takes one off the other, which sensors and converters do not."""
_BLOCK = 48
"""Pixels along a side of what noise is told from."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """For linear light and against the curve of sRGB, in logarithms. matrixed: whether the channels went through a matrix."""

    paper: float
    cast: float
    noise: float
    matrixed: bool
    says: tuple[str, ...]

    @property
    def total(self) -> float:
        """All three."""
        return self.paper + self.cast + self.noise


def settled(
    photo: Photo, panel: Photo | None, lit: Sequence[Array], chips: Sequence[Array], sheet: FoundSheet | None = None
) -> tuple[Photo, Photo | None]:
    """The photo and its panel's with the curve that they show, where their files leave it open; else as they are.

    lit: corners (4, 2) of places of the bare panel; chips: of others. sheet: where it was found, for its open windows and its
    marks' paper.
    """
    if not photo.tones_open:
        # A panel's photo of another kind than the chips' must not pass for one of theirs: it is of the same view.
        alike = panel is not None and panel.tones_open and (panel.width, panel.height) == (photo.width, photo.height)
        return photo, settled(panel, None, lit, (), sheet)[0] if alike and panel is not None else panel
    places = list(lit)
    if sheet is not None:
        places += [sheet.pixels(one.corners_mm) for one in WINDOWS if one.role == "open"]
        chips = [*chips, *(sheet.pixels(one.corners_mm) for one in WINDOWS if one.role in ("chip", "check"))]
    found = evidence(photo, places, chips, sheet)
    prior = _EIGHT_BITS if photo.codes.dtype == np.uint8 else 0.0
    if found.total + prior > SURE:
        return _straight(photo, found), None if panel is None or not panel.tones_open else _straight(panel, found)
    if found.total + prior < -SURE:
        kept = tuple(one for one in photo.warnings if not (isinstance(one, Note) and one.remedy is Remedy.SAY_LINEAR))
        return replace(photo, warnings=kept), panel
    return photo, panel


def evidence(photo: Photo, lit: Sequence[Array], chips: Sequence[Array], sheet: FoundSheet | None = None) -> Evidence:
    """What the codes at some places say. Places that cannot be seen say nothing."""
    coded = replace(photo, curve=_codes(photo), matrix=None)
    bare = [mean for corners in lit if (mean := _mean(coded, corners)) is not None]
    says: list[str] = []
    paper = cast = 0.0
    if bare:
        level = np.median(bare, axis=0)
        cast = _of_cast(level)
        if cast > SURE:
            says.append("the bare panel is far from white in it, as camera channels are")
        if sheet is not None:
            paper = _of_paper(coded, sheet, float(level[1]), says)
    noise, matrixed = _of_noise(coded, [*lit, *chips])
    if noise > SURE:
        says.append("its noise grows with its brightness as that of counted light does")
    return Evidence(paper, cast, noise, matrixed and cast < 0, tuple(says))


def _straight(photo: Photo, found: Evidence) -> Photo:
    deep = photo.codes.dtype != np.uint8
    kept = [one for one in photo.warnings if not (isinstance(one, Note) and one.remedy is Remedy.SAY_LINEAR)]
    what = "linear light of a converted photo" if found.matrixed else "linear camera channels"
    why = f": {'; '.join(found.says)}" if found.says else ""
    kept.append(Note(says=f"it was read as {what}{why}.", remedy=Remedy.SAY_NOT_LINEAR))
    clipped = 65_535 if deep else photo.clipped_at
    return replace(
        photo, rendered=found.matrixed, curve=None if deep else straight_curve(), clipped_at=clipped,
        warnings=tuple(kept), tones_open=False,
    )  # fmt: skip


def _codes(photo: Photo) -> ToneCurve:
    return straight_curve(65_536 if photo.codes.dtype != np.uint8 else 256)


def _light(code: Array) -> Array:
    table = srgb_curve().table[:, 0]
    return np.interp(code, np.linspace(0.0, 1.0, 256), table)


def _mean(coded: Photo, corners: Array) -> Array | None:
    try:
        return take(coded, corners, "").mean
    except TintmixError:
        return None


def _gauss(x: float, mean: float, spread: float) -> float:
    """The logarithm of a Gaussian's density."""
    return -0.5 * ((x - mean) / spread) ** 2 - float(np.log(spread))


def _of_cast(level: Array) -> float:
    """level: (3,) codes of the bare panel."""
    away = np.log(np.maximum(level[[0, 2]], 1e-6) / max(float(level[1]), 1e-6))
    white = sum(_gauss(float(one), 0.0, _WHITE_SPREAD) for one in away)
    # A converter may have made the panel white and left the curve out: half of them do.
    raw = float(np.logaddexp(white, sum(_gauss(float(one), _RAW, _RAW_SPREAD) for one in away)) - np.log(2.0))
    return raw - max(white, -50.0)


def _of_paper(coded: Photo, sheet: FoundSheet, bare: float, says: list[str]) -> float:
    """The paper round the marks' rings, against the open windows. Where its squares are not cut out of the card, nothing."""
    middle, across = (RING_OUTER_MM + MARK_MM) / 4, (MARK_MM - RING_OUTER_MM) / 6
    steps = np.linspace(-1.0, 1.0, 9)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1)
    seen: list[float] = []
    for mark in MARKS_MM:
        for side in np.array([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]):
            # A strip beside the ring, a third of its paper left out on either side.
            half = np.where(side == 0, RING_OUTER_MM / 3, across)
            at = np.floor(sheet.pixels(grid * half + mark + middle * side)).astype(int)
            inside = np.all((at >= 0) & (at < (coded.width, coded.height)), axis=-1)
            if not inside.all():
                continue
            (left, top), (right, bottom) = at.min(axis=(0, 1)), at.max(axis=(0, 1)) + 1
            codes = coded.codes[top:bottom, left:right][at[..., 1] - top, at[..., 0] - left]
            seen.append(float(trimmed(coded.light(codes).reshape(-1, 3))[0][1]))
    if len(seen) < 8 or bare <= 0:
        return 0.0
    part = float(np.median(seen)) / bare
    # Without light from behind, what it sends back is a hundredth or less in light, a tenth by the curve.
    if not 0.15 < part < 0.95:
        return 0.0
    through = float(_light(np.array(part * bare)) / max(float(_light(np.array(bare))), 1e-9))
    told = _gauss(float(np.log(part)), _PAPER, _PAPER_SPREAD) - _gauss(float(np.log(through)), _PAPER, _PAPER_SPREAD)
    if told > SURE:
        parts = f"{numeral(100 * part, 2)} % of the panel's light, and {numeral(100 * through, 2)} % by a curve"
        says.append(f"the paper of the holder's marks lets through {parts}, and paper lets through 30 to 50 %")
    return float(np.clip(told, -8.0, 8.0))


def _of_noise(coded: Photo, places: Sequence[Array]) -> tuple[float, bool]:
    levels, variances, together = [], [], []
    for corners in places:
        block = _block(coded, corners)
        if block is None:
            continue
        steps = np.diff(block, axis=1) / np.sqrt(2.0)
        level = block.reshape(-1, 3).mean(axis=0)
        spread = trimmed(steps.reshape(-1, 3))[1]
        # Steps of 8 bits hide finer noise.
        least = 0.6 / 255.0 if coded.codes.dtype == np.uint8 else 2e-5
        good = (level > _DARKEST) & (level < _BRIGHTEST) & (spread > least)
        levels += level[good].tolist()
        variances += (spread[good] ** 2).tolist()
        if good.all():
            correlation = np.corrcoef(steps.reshape(-1, 3).T)
            together.append(min(float(correlation[0, 1]), float(correlation[1, 2])))
    matrixed = len(together) > 0 and float(np.median(together)) < _MATRIX
    if len(levels) < 6:
        return 0.0, matrixed
    code, seen = np.array(levels), np.log(variances)
    light = _light(code)
    slope = (_light(code + 1e-3) - _light(code - 1e-3)) / 2e-3
    straight, bent = np.log(code + _FLOOR), np.log(light + _FLOOR) - 2 * np.log(slope)
    misfits = [float((((seen - one) - (seen - one).mean()) ** 2).sum()) for one in (bent, straight)]
    # The channels of a place, and places side by side, err together: each third counts.
    told = (misfits[0] - misfits[1]) / (2 * _NOISE_SPREAD**2) / 3.0
    return float(np.clip(told, -_NOISE_MOST, _NOISE_MOST)), matrixed


def _block(coded: Photo, corners: Array) -> NDArray[np.float64] | None:
    """Codes (H, W, 3), as parts of the most, of neighbouring pixels in the middle of a place."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle, half = (low + high) / 2, np.minimum((high - low) / 6, _BLOCK / 2)
    (x0, y0), (x1, y1) = (middle - half).astype(int), (middle + half).astype(int)
    if x0 < 0 or y0 < 0 or x1 > coded.width or y1 > coded.height or min(x1 - x0, y1 - y0) < 6:
        return None
    return np.asarray(coded.light(coded.codes[y0:y1, x0:x1]))
