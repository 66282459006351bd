"""Where these pigments do not make a colour: which further pigment, or which resin, would come nearer, each tried out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.numerals import numeral
from tintmix.optics.colour import lab, screen
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.model import TintModel
from tintmix.recipes.search.aim import Aim, lay
from tintmix.recipes.search.choice import choose
from tintmix.recipes.search.descend import Support, grown, largest_subset, least_root, search_supports

NOTABLE = 0.9
"""A tint comes notably nearer where what remains is at most this part of the difference: less is not worth a change."""
SURELY = 1.05
"""The largest ΔE00/tolerance is never below the root of the mean square; of 278 searches on the shelf's models one ended 3 %
below what the descents had, whose point values are not the reported ones. A search that is farther off by this is not polished.
"""
_CENTRES_NM = np.arange(400.0, 701.0, 20.0)
"""Over the spectrum that an eye sees, in steps that are less than half of the narrower band's width."""
_WIDTHS_NM = (50.0, 100.0)
"""Full width at half height: about what single bands of textbook dyes have (common practice)."""
_BANDS = np.concatenate([
    np.exp(-4 * np.log(2) * ((GRID_NM - _CENTRES_NM[:, None]) / width) ** 2) for width in _WIDTHS_NM
])  # fmt: skip
"""Height 1, (32, K): every width at every centre. 4 ln 2: half the height at half the width."""
FURTHER = np.concatenate([_BANDS, 1 - _BANDS, np.ones((1, len(GRID_NM)))])
"""Pigments that are tried, decadic absorptivities per mm and phr (Q, K): one band taken away, one band let through, and grey."""
_GROWN = 4
"""The nearest subsets that each of these is tried with."""
_HUES = (
    (20.0, "pink"), (48.0, "red"), (75.0, "orange"), (112.0, "yellow"), (180.0, "green"), (230.0, "turquoise"), (290.0, "blue"),
    (330.0, "violet"), (360.0, "pink"),
)  # fmt: skip
"""CIELAB hue angles in degrees up to which a colour is called so (common practice)."""
_GREY = 5.0
"""Chroma below which it is called grey."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A pigment that would bring the tint nearer. srgb: its colour, where a plate absorbs nine tenths at its band.

    delta_e00: the largest that would be left with it at hand and all limits kept.
    """

    says: str
    srgb: str
    delta_e00: float


def further_pigment(aim: Aim, supports: Sequence[Support], nearest: float, least: float) -> Missing | None:
    """The pigment of `FURTHER` that brings the largest ΔE00/tolerance farthest below `nearest`, None where none does notably.

    least: the `least_root` of the search without it.
    """
    row, ratio, off = nearest_further(aim, supports, NOTABLE * least)
    if ratio > NOTABLE * nearest:
        return None
    white, bands = aim.detector.bare, len(_BANDS)
    xyz = 10.0 ** -FURTHER[row] @ aim.detector.weights
    around = f"light around {numeral(float(_CENTRES_NM[row % len(_CENTRES_NM)]))} nm"
    takes = f"takes away {around}" if row < bands else f"lets through {around} and little else"
    word, takes = (colour_word(lab(xyz, white)), takes) if row < 2 * bands else ("grey", "takes away all light alike")
    says = f"a further pigment that is {word}, one that {takes}, would bring it to ΔE00 {numeral(off, 2)}"
    return Missing(says, screen(xyz, white).hex[0], off)


def nearest_further(aim: Aim, supports: Sequence[Support], enough: float = np.inf) -> tuple[int, float, float]:
    """The row of `FURTHER` that comes nearest, and its largest ΔE00/tolerance and ΔE00, all limits kept.

    Infinite where no root mean square comes to `enough`.
    """
    many, first = _with(aim, FURTHER), len(aim.model.pigments)
    every = range(first, first + len(FURTHER))
    tried = [(p,) for p in every] + grown(supports[:_GROWN], every, max(largest_subset(many), 1))
    found = search_supports(many, tried, each=1)
    best = int(np.argmin(found.worst(aim.weight)))
    used = [
        int(p) - first
        for p, dose in zip(found.columns[best], found.doses[best], strict=True)
        if dose > 0 and p >= first
    ]
    row = used[0] if used else 0
    if least_root([found]) > SURELY * enough:
        return row, np.inf, np.inf
    one = _with(aim, FURTHER[row : row + 1])
    chosen = choose(one, [search_supports(one, [(first,), *grown(supports[:_GROWN], [first], largest_subset(one))])], 1)
    off = np.round(delta_e00(chosen.told.lab[0, list(aim.coloured)], aim.target_lab), 6)
    return row, float((off / aim.tolerance).max()), float(off.max())


def colour_word(colour: Array) -> str:
    """What L*a*b* (3,) is called.

    >>> colour_word(np.array([60.0, 50.0, -30.0])), colour_word(np.array([90.0, -2.0, 60.0]))
    ('violet', 'yellow')
    """
    hue = float(np.degrees(np.arctan2(colour[2], colour[1]))) % 360.0
    return "grey" if np.hypot(colour[1], colour[2]) < _GREY else next(word for top, word in _HUES if hue <= top)


def with_pigments(model: TintModel, absorptivity: Array) -> TintModel:
    """The model with further pigments (Q, K), known exactly, that take no room and scatter nothing."""
    more, draws = len(absorptivity), len(model.draws_base)

    def and_(values: Array, value: float) -> Array:
        return np.concatenate([values, np.full((*values.shape[:-1], more), value)], axis=-1)

    return replace(
        model,
        pigments=(*model.pigments, *(f"a further pigment {q}" for q in range(more))),
        absorptivity=np.concatenate([model.absorptivity, absorptivity]),
        draws_absorptivity=np.concatenate(
            [model.draws_absorptivity, np.broadcast_to(absorptivity, (draws, *absorptivity.shape))], axis=1
        ),
        draws_departure=and_(model.draws_departure, 0.0),
        departure_per_phr=and_(model.departure_per_phr, 0.0),
        volume_per_phr=and_(model.volume_per_phr, 0.0),
        highest_phr=and_(model.highest_phr, np.inf),
        max_phr=and_(model.max_phr, np.inf),
        haze=None
        if model.haze is None
        else replace(model.haze, per_mm_phr=and_(np.asarray(model.haze.per_mm_phr), 0.0)),
    )


def colourless_resin(aim: Aim, nearest: float) -> str:
    """What the untinted resin's largest ΔE00/tolerance, `nearest`, would come to without its colour; empty if not notably less.

    Of a resin that absorbs nothing, with its two faces; told is the ΔE00 where ΔE00/tolerance is largest.
    """
    none = np.zeros_like(aim.model.base_per_mm)
    seen = [
        through(none, one.section.thickness_mm, aim.model.refractive_index, one.section.ground) for one in aim.places
    ]
    off = np.asarray(delta_e00(lab(np.stack(seen) @ aim.detector.weights, aim.detector.bare), aim.target_lab))
    at = int(np.argmax(off / aim.tolerance))
    if off[at] / aim.tolerance[at] > NOTABLE * nearest:
        return ""
    return f"a resin without colour of its own would bring it to ΔE00 {numeral(float(off[at]), 2)}"


def _with(aim: Aim, absorptivity: Array) -> Aim:
    return lay(with_pigments(aim.model, absorptivity), aim.target)
