"""The numbers behind a thickness strip: colours and light from thin to thick, and where it becomes too dark. No drawing
here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tintmix.errors import ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.colour import LIFT_BELOW, lab, screen, xyz_of_lab
from tintmix.optics.detector import Light
from tintmix.optics.section import PANEL, Ground, Section
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.quantities import CASTING_MM

_SAMPLES = 320
_AT_ONCE = 64
"""Thicknesses looked at in one call, so that memory does not grow with the strip."""
_THINNEST = 1e-4
"""Of the range: a plate that is next to nothing, where the strip begins at 0 mm."""
_END = 0.05
"""The share of the posterior that lies beyond each of the outer strips."""
_MOST_LIFTS = 3


@dataclass(frozen=True, slots=True)
class Strip:
    """A tint from thin to thick, N thicknesses. White: of the light.

    thickness_mm: (N,), evenly spaced and rising. xyz, lighter_xyz, darker_xyz: (N, 3): the posterior's mean, and what 5
    % of the posterior is lighter or darker than. luminous, luminous_low, luminous_high: (N,), mean and 5 % and 95 %
    points.
    """

    thickness_mm: Array
    xyz: Array
    lighter_xyz: Array
    darker_xyz: Array
    luminous: Array
    luminous_low: Array
    luminous_high: Array
    white_xyz: Array

    @property
    def lightness(self) -> Array:
        """L* (N,) of the mean."""
        return np.asarray(lab(self.xyz, self.white_xyz)[..., 0])


@dataclass(frozen=True, slots=True)
class TooDark:
    """From which thickness on less light than the floor comes through, and between which it lies with 90 % chance.

    thickness_mm is 0 where no thickness lets enough through, and infinite where every one up to 1000 mm does.
    """

    floor: float
    thickness_mm: float
    thinnest_mm: float
    thickest_mm: float

    @property
    def between(self) -> str:
        """That spread in words, where there is one."""
        if not self.thinnest_mm * 1.001 < self.thickest_mm < math.inf:
            return ""
        return f"between {numeral(self.thinnest_mm, 3)} and {numeral(self.thickest_mm, 3)} mm"


@dataclass(frozen=True, slots=True)
class Lift:
    """Part of a strip, from `first` up to but not including `last` (sample numbers), shown `stops` whole stops
    brighter.
    """

    first: int
    last: int
    stops: int


def make_strip(
    model: TintModel,
    doses_phr: Mapping[str, float],
    low_mm: float,
    high_mm: float,
    light: str | Light = "D65",
    observer: int = 10,
    ground: Ground = PANEL,
    samples: int = _SAMPLES,
) -> Strip:
    """The tint at evenly spaced thicknesses from low to high. Raises ValueProblem, and what a look raises.

    The outer strips are the mean L*a*b* of those draws about the 5 % and 95 % points of the light, at each thickness.
    """
    if not (math.isfinite(low_mm) and math.isfinite(high_mm) and 0 <= low_mm < high_mm <= CASTING_MM.most):
        raise ValueProblem(
            what=f"a strip from {numeral(low_mm)} to {numeral(high_mm)} mm cannot be drawn; it begins at 0 mm or more, ends "
            f"thicker than it begins, and at most at {numeral(CASTING_MM.most)} mm"
        )
    thickness = np.linspace(low_mm, high_mm, samples)
    seen_at = np.maximum(thickness, max(_THINNEST * high_mm, CASTING_MM.least))
    parts = []
    for start in range(0, samples, _AT_ONCE):
        sections = [Section(f"{numeral(t)} mm", float(t), ground) for t in seen_at[start : start + _AT_ONCE]]
        parts.append(model.look(doses_phr, sections, light, observer))
    white = parts[0].white_xyz
    luminous = np.concatenate([part.luminous_draws for part in parts], axis=1)
    draws = np.concatenate([part.lab_draws for part in parts], axis=1)
    order = np.argsort(draws[..., 0], axis=0, kind="stable")
    return Strip(
        thickness_mm=thickness,
        xyz=np.concatenate([part.xyz for part in parts]),
        lighter_xyz=xyz_of_lab(_about(draws, order, 1 - _END), white),
        darker_xyz=xyz_of_lab(_about(draws, order, _END), white),
        luminous=np.concatenate([part.luminous_transmittance for part in parts]),
        luminous_low=np.quantile(luminous, _END, axis=0),
        luminous_high=np.quantile(luminous, 1 - _END, axis=0),
        white_xyz=white,
    )


def _about(draws: Array, order: NDArray[np.intp], share: float) -> Array:
    """Mean colour (N, 3) of the twentieth of the draws (D, N, 3) whose rank in lightness is nearest to the share."""
    count = len(draws)
    width = max(1, round(_END * count))
    first = min(max(round(share * count - width / 2), 0), count - width)
    chosen = np.take_along_axis(draws, order[first : first + width, :, None], axis=0)
    return np.asarray(chosen.mean(axis=0))


def too_dark(model: TintModel, doses_phr: Mapping[str, float], floor: float, light: str | Light = "D65") -> TooDark:
    """The thickness at which a plate of this tint lets just the floor through (luminous transmittance, bare light = 1).

    Light through falls with thickness, so bisection in the logarithm finds it: to 1e-6 of itself. Raises
    ValueProblem.
    """
    if not 0 < floor < 1:
        raise ValueProblem(
            what="the floor on the light that comes through",
            found=numeral(floor),
            limit="a fraction above 0 and below 1 (8 % is 0.08)",
        )
    low, high = np.full(3, 1e-3), np.full(3, CASTING_MM.most)
    ends = [_light_through(model, doses_phr, np.array([t]), light)[:, 0] for t in (low[0], high[0])]
    while np.any(high > low * (1 + 1e-6)):
        middle = np.sqrt(low * high)
        passes = np.diagonal(_light_through(model, doses_phr, middle, light)) >= floor
        low, high = np.where(passes, middle, low), np.where(passes, high, middle)
    found = np.where(ends[0] < floor, 0.0, np.where(ends[1] >= floor, np.inf, low))
    return TooDark(floor, float(found[1]), float(found[0]), float(found[2]))


def _light_through(model: TintModel, doses_phr: Mapping[str, float], thickness_mm: Array, light: str | Light) -> Array:
    """5 % point, mean and 95 % point (3, N) of the luminous transmittance."""
    look = model.look(doses_phr, [Section("", float(t)) for t in thickness_mm], light)
    low, high = np.quantile(look.luminous_draws, [_END, 1 - _END], axis=0)
    return np.stack([low, look.luminous_transmittance, high])


def pixels(xyz: Array, white_xyz: Array, columns: int) -> NDArray[np.uint8]:
    """A row of screen colours (1, columns, 3) between evenly spaced samples (N, 3), each at its column's middle."""
    at = (np.arange(columns) + 0.5) / columns * (len(xyz) - 1)
    drawn = np.stack([np.interp(at, np.arange(len(xyz)), channel) for channel in np.asarray(xyz).T], axis=-1)
    return np.rint(np.asarray(screen(drawn, white_xyz).rgb) * 255).astype(np.uint8)[None]


def lifts(strip: Strip) -> tuple[Lift, ...]:
    """The parts darker than L* 20, each with the most stops that clip no colour of it; empty where none is.

    Where a part, lifted, falls below L* 20 again, the next begins; after three the rest is left to the last.
    """
    dark = strip.lightness < LIFT_BELOW
    found: list[Lift] = []
    at = int(np.argmax(dark)) if dark.any() else len(dark)
    while at < len(dark):
        stops = _stops(strip, at)
        again = lab(strip.xyz * 2.0**stops, strip.white_xyz)[:, 0] < LIFT_BELOW
        again[: at + 1] = False
        last = int(np.argmax(again)) if again.any() and len(found) < _MOST_LIFTS - 1 else len(dark)
        found.append(Lift(at, last, stops))
        at = last
    return tuple(found)


def _stops(strip: Strip, first: int) -> int:
    """The most whole stops that keep every screen channel from sample `first` on below its highest."""
    stops = 1
    while stops < 16:
        lifted = screen(strip.xyz[first:] * 2.0 ** (stops + 1), strip.white_xyz).rgb
        if np.max(lifted) >= 1.0 or lab(strip.xyz[first] * 2.0 ** (stops + 1), strip.white_xyz)[0] > 90:
            break
        stops += 1
    return stops


def outside_srgb(strip: Strip, lifted: Sequence[Lift]) -> NDArray[np.bool_]:
    """Where (N,) a screen cannot show the mean as it is, or as lifted."""
    outside = ~np.asarray(screen(strip.xyz, strip.white_xyz).inside_srgb, dtype=np.bool_)
    for lift in lifted:
        part = slice(lift.first, lift.last)
        outside[part] |= ~screen(strip.xyz[part] * 2.0**lift.stops, strip.white_xyz).inside_srgb
    return outside


def runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Where flags are set: (first, last) of each run, the last not included.

    >>> runs(np.array([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
