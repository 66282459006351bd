"""What comes of a plan for pigments that nobody has measured, over what the search foretells of it.

The search's doubt is Gaussian, about spectra as they are in each world: right for choosing cups, too simple for a promise. What
comes was found by pouring plans for three pigments (glasses and random dyes, real films, dyes of narrow bands, in equal parts;
doses that suit, and doses out by a factor of three; moulds to 25 and to 12 mm) and fitting them whole. Five sets of each, seeds
100 to 104: `python -m tests.accuracy.promise_rows` tells how well it holds on others.
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


_ON_TILE = Came(0.95, 1.13, 1.45, 1.0)
_INSIDE: Mapping[Way, Came] = {
    "spectra": Came(0.41, 0.52, 0.77, 1.58),
    "colours": Came(0.88, 1.17, 1.61, 1.19),
    "white tile": _ON_TILE,
    "photos": Came(0.53, 0.83, 1.36, 2.2),
    "JPEGs": Came(0.59, 0.94, 1.67, 4.0),
    "JPEGs, panel unknown": Came(0.65, 1.51, 2.81, 2.1),
}
_BEYOND: Mapping[Way, Came] = {
    "spectra": Came(0.30, 0.44, 0.56, 0.38),
    "colours": Came(0.75, 1.04, 1.41, 0.81),
    "white tile": _ON_TILE,
    "photos": Came(0.56, 0.78, 1.38, 1.0),
    "JPEGs": Came(0.44, 0.58, 0.93, 1.4),
    "JPEGs, panel unknown": Came(0.70, 0.98, 1.74, 1.6),
}
"""At places no thicker than the thickest chip, and at thicker ones. On a white tile, where chips are thin, nearly all places are
thicker, and figures of 8 and 60 mm alike. So are those of raw photos whose panel is known and whose panel is not."""


def what_comes(instrument: Instrument, section_mm: float, thickest_mm: float) -> Came:
    """Of chips read so, at a place of the casting. thickest_mm: of the chips that can be cast.

    >>> from tintmix.pigments.design.sight import spectrophotometer
    >>> what_comes(spectrophotometer(), 8.0, 25.0).middle < 1
    True
    """
    return (_INSIDE if section_mm <= thickest_mm else _BEYOND)[instrument.way]
