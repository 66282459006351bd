"""Sentences of the rooms below, which the shell shares, in the page's words: no option of the shell, the maker's own units."""

from __future__ import annotations

import re
from collections.abc import Callable

from tintmix.faces.remedies import Said
from tintmix.faces.web.remedies import told
from tintmix.faces.web.units import MM_PER_INCH, Units, shown
from tintmix.page.errors import not_kept

SAID = (
    ("say which with --map SAMPLE=CHIP", "call the samples as the chips are called"),
    (
        "say --map SAMPLE=CHIP, leave one out with --map SAMPLE=, or pass over all others with --others-ignored",
        "call the samples as the chips are called, or tick “pass over samples that are no chip of this set”",
    ),
    ("Read it from a photo, with --photo.", "Read it from a photo."),
    ("Say --unit ", "Choose as unit "),
    ("or --unit percent", "or percent"),
    ("or --unit fraction", "or fraction"),
    ("Say --quantity ", "Choose as quantity "),
    ("taken as set.toml has them", "taken as the set has them"),
    ("give haze_percent, or read with an integrating sphere", "read with an integrating sphere where you can"),
    ("`tintmix solve --keep`", "Recipes"),
)
"""What the shell says, and the page instead."""
_LEFT_OVER = (
    (re.compile(r" \(--[a-z][^)]*\)"), ""),
    (re.compile(r",? (?:and give it |and name it )?with --[a-z-]+(?: [A-Z][^\s.;]*)?"), ""),
)
_CANNOT_WRITE = re.compile(r"^.*: cannot be written \((.*)\)\. Name a (?:file in a )?folder .*$", re.DOTALL)
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
    unwritten = _CANNOT_WRITE.match(sentence)
    if unwritten:
        # The page writes nowhere but into its own folder, which the maker does not name on a screen.
        sentence = str(not_kept(unwritten.group(1).lower()))
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
