"""How a chip is foreseen, as a text: "#cfe8dc", or "34 %" where only the light through it is."""

from __future__ import annotations

import re

import numpy as np

from tintmix.numerals import percent
from tintmix.optics.colour import encoded, lab, xyz_of_srgb
from tintmix.optics.spectrum import Array

_WHITE = np.array([0.9505, 1.0, 1.089])
"""Of sRGB (IEC 61966-2-1)."""
_COLOUR, _LIGHT = re.compile(r"#[0-9a-fA-F]{6}"), re.compile(r"< ?(\d+(?:\.\d+)?) ?%|(\d+(?:\.\d+)?) ?%")


def light_foreseen(fraction: float) -> str:
    """The text of a chip of which only the light through is foreseen.

    >>> light_foreseen(0.341)
    '34 %'
    """
    return percent(fraction)


def foreseen_hex(told: str) -> str:
    """A colour for a screen or a printer, grey where only the light is foreseen; nothing where the text tells nothing.

    >>> foreseen_hex("#cfe8dc"), foreseen_hex("34 %"), foreseen_hex("green")
    ('#cfe8dc', '#9e9e9e', '')
    """
    if _COLOUR.fullmatch(told):
        return told.lower()
    if (found := _LIGHT.fullmatch(told)) is None:
        return ""
    level = round(255 * float(encoded(np.array(min(float(found[1] or found[2]), 100.0) / 100))))
    return "#" + f"{level:02x}" * 3


def foreseen_lab(told: str) -> Array | None:
    """The same as L*a*b*; None where the text tells nothing.

    >>> float(foreseen_lab("34 %")[0].round(0))
    65.0
    """
    colour = foreseen_hex(told)
    return lab(xyz_of_srgb(colour, _WHITE), _WHITE) if colour else None
