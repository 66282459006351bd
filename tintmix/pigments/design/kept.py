"""What comes of a plan for pigments that nobody has measured, over what the search foretells of it.

The search's doubt is Gaussian, about spectra as they are in each world: right for choosing cups, too simple for a promise. What
comes was found by pouring plans for three pigments (glasses and random dyes, real films, dyes of narrow bands, in equal parts;
doses that suit, and doses out by a factor of three; moulds to 25 and to 12 mm) and fitting them whole: 36 to 63 sets of each
way, 126 of raw photos, seeds from 100. `python -m tests.accuracy.promise_rows` tells how well it holds on others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tintmix.pigments.design.sight import Instrument, Way


@dataclass(frozen=True, slots=True)
class Came:
    """The typical error that came, in parts of what was foretold. middle: in the middle set. low, high: half of the sets lie
    between. starter: the middle one after the untinted cup and one of each pigment."""

    low: float
    middle: float
    high: float
    starter: float


_ON_TILE = Came(0.95, 1.27, 1.70, 1.2)
"""Chips on a tile are thin: nearly all places are thicker, and figures of 8 and 60 mm alike."""
_INSIDE: Mapping[Way, Came] = {
    "spectra": Came(0.31, 0.49, 0.82, 3.0),
    "colours": Came(1.04, 1.43, 2.17, 1.44),
    "white tile": _ON_TILE,
    "photos": Came(0.63, 0.97, 2.00, 1.6),
    "JPEGs": Came(0.58, 1.13, 2.50, 1.8),
    "JPEGs, panel unknown": Came(0.60, 2.20, 5.40, 1.6),
}
"""At places no thicker than the thickest chip. Of raw photos the figures are alike whether the panel is known or not."""
_BEYOND: Mapping[Way, Came] = {
    "spectra": Came(0.32, 0.41, 0.57, 0.50),
    "colours": Came(0.80, 1.12, 1.46, 0.73),
    "white tile": _ON_TILE,
    "photos": Came(0.65, 1.09, 1.60, 1.25),
    "JPEGs": Came(0.60, 0.95, 1.69, 1.2),
    "JPEGs, panel unknown": Came(0.83, 1.46, 2.99, 0.9),
}
"""At thicker ones."""


def what_comes(instrument: Instrument, section_mm: float, thickest_mm: float) -> Came:
    """Of chips read so, at a place of the casting. thickest_mm: of the chips that can be cast.

    >>> from tintmix.pigments.design.sight import spectrophotometer
    >>> what_comes(spectrophotometer(), 8.0, 25.0).middle < 1
    True
    """
    return (_INSIDE if section_mm <= thickest_mm else _BEYOND)[instrument.way]
