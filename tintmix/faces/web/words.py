"""Sentences of the rooms below, which the shell shares, in the page's words: no option of the shell, the maker's own units."""

from __future__ import annotations

import re
from collections.abc import Callable

from tintmix.faces.remedies import Said
from tintmix.faces.web.remedies import told
from tintmix.faces.web.units import MM_PER_INCH, Units, shown

SAID = (("`tintmix solve --keep`", "Recipes"),)
"""What the shell says, and the page instead."""
_LEFT_OVER = (
    (re.compile(r" \(--[a-z][^)]*\)"), ""),
    (re.compile(r",? (?:and give it |and name it )?with --[a-z-]+(?: [A-Z][^\s.;]*)?"), ""),
)
_MM = re.compile(r"((?:\d+(?:\.\d+)?(?:, | and | to ))*)(\d+(?:\.\d+)?)( mm\b)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_FIRST_WORD = re.compile(r"[a-z]+(?=[ ,:])")


def page_words(said: Said, units: Units | None = None) -> str:
    """A sentence for the page, its first letter large, thicknesses in the unit that was chosen.

    >>> page_words("one cup (chips of 3 and 25.4 mm) would help", Units("inch"))
    'One cup (chips of 0.118 and 1 inch) would help'
    """
    sentence = told(said)
    for before, instead in SAID:
        sentence = sentence.replace(before, instead)
    if "--" in sentence:
        for pattern, words in _LEFT_OVER:
            sentence = pattern.sub(words, sentence)
    if units is not None and units.length_unit != "mm":
        sentence = _MM.sub(_in(units), sentence)
    return sentence[:1].upper() + sentence[1:] if _FIRST_WORD.match(sentence) else sentence


def _in(units: Units) -> Callable[[re.Match[str]], str]:
    def convert(found: re.Match[str]) -> str:
        text = f"{found.group(1)}{found.group(2)}"
        return _NUMBER.sub(lambda one: shown(float(one.group()) / MM_PER_INCH, 3), text) + f" {units.length_unit}"

    return convert
