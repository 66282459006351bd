"""What the rooms below have to tell, in the page's words: what to do by its buttons, lengths and weights in the maker's unit."""

from __future__ import annotations

import re

from tintmix.faces.remedies import Said, told_on_page
from tintmix.faces.web.units import MM_PER_INCH, Units, shown

_MM = re.compile(r"((?:\d+(?:\.\d+)?(?:, | and | to ))*)(\d+(?:\.\d+)?)( mm\b)")
_GRAMS = re.compile(r"(?<![\d.,])(?!100 g)(\d+(?:\.\d+)?) g\b")
"""Not the 100 g of mixed resin that doses are told for."""
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_FIRST_WORD = re.compile(r"[a-z]+(?=[ ,:])")


def told_in_units(said: Said, units: Units | None = None) -> str:
    """A sentence for the page, its first letter large, lengths and weights in the units that were chosen.

    >>> told_in_units("one cup (chips of 3 and 25.4 mm) would help", Units("inch"))
    'One cup (chips of 0.118 and 1 inch) would help'
    """
    sentence = told_on_page(said)
    if units is not None:
        sentence = weights_in_chosen_unit(lengths_in_chosen_unit(sentence, units), units)
    return sentence[:1].upper() + sentence[1:] if _FIRST_WORD.match(sentence) else sentence


def lengths_in_chosen_unit(sentence: str, units: Units) -> str:
    """The lengths of a sentence, which the rooms below give in mm, in the unit that the page shows.

    >>> lengths_in_chosen_unit("3, 12 and 25.4 mm", Units("inch")), lengths_in_chosen_unit("3 mm", Units("mm"))
    ('0.118, 0.472 and 1 inch', '3 mm')
    """
    if units.length_unit == "mm":
        return sentence

    def convert(found: re.Match[str]) -> str:
        text = f"{found.group(1)}{found.group(2)}"
        return _NUMBER.sub(lambda one: shown(float(one.group()) / MM_PER_INCH, 3), text) + f" {units.length_unit}"

    return _MM.sub(convert, sentence)


def weights_in_chosen_unit(sentence: str, units: Units) -> str:
    """The weights of a sentence, which the rooms below give in g as a scale shows them, with the page's unit behind each.

    >>> weights_in_chosen_unit("About 12.5 g will be left over.", Units("mm", "oz"))
    'About 12.5 g (0.4409 oz) will be left over.'
    >>> weights_in_chosen_unit("0.02 g per 100 g of mixed resin", Units())
    '0.02 g per 100 g of mixed resin'
    """
    if units.mass_unit == "g":
        return sentence
    return _GRAMS.sub(lambda one: f"{one.group()} ({units.mass(float(one.group(1)), 4)} {units.mass_unit})", sentence)
