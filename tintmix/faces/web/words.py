"""Sentences of the rooms below, which the shell shares, in the page's words: no option of the shell, the maker's own units."""

from __future__ import annotations

import re
from collections.abc import Callable

from tintmix.faces.remedies import Said
from tintmix.faces.web.remedies import told
from tintmix.faces.web.units import MM_PER_INCH, Units, shown

SAID = (
    (", or name a place of black card beside it with --dark x,y,w,h", ", or mark a piece of black card beside it"),
    ("take a photo with the chips off and give it with --panel", "upload the same view with the chips taken off, too"),
    (
        "Take a second photo with the chips off and give it with --panel, or name a place where the bare panel shows with "
        "--open x,y,w,h.",
        "Upload the same view with the chips taken off, too, or mark a place where the bare panel shows.",
    ),
    ("Name a place where the bare panel shows with --open x,y,w,h", "Mark a place where the bare panel shows"),
    ("and name it with --open x,y,w,h", "and mark it as bare panel"),
    (
        "Write --map A2=CHIP for each, have the sheet printed for this set with --print-holder FILE.pdf, or name places in the "
        "photo with --at CHIP=x,y,w,h.",
        "Print the holder sheet of this set, or mark the places in the photo.",
    ),
    ("Say which one this is with --number", "Type which one this is, as photo number"),
    ("say --number 1, 2 … when you read them", "type the photo's number when you read each"),
    ("--replace puts the new one in its place", "tick “replace” to put the new one in its place"),
    ("lay more sheets in the stack check, or pour a thinner chip", "pour a thinner chip"),
    ("or take its column and its table out of the set", "or leave the chips that hold it out"),
    (", and the tone curve was measured only down to 0.0 %; pour", "; pour"),
    (
        "Say what you mean to use (--pigment NAME=DOSE), or pour one cup of the mix first, fit it and give it with --model.",
        "Write the dose that you mean to use behind its name, or ask the one-cup question on Tint first.",
    ),
    ("cast thinner ones (--cast 2 --cast 4)", "cast thinner ones"),
    ("no pigment is named; name each with --pigment", "no pigment is named; write each in a line"),
    ("`tintmix solve --keep`", "Recipes"),
    ("within tolerance", "near enough"),
    ("leave_out names every pigment that the model has, so", "every pigment is left out, so"),
)
"""What the shell says, and the page instead."""
_LEFT_OVER = (
    (re.compile(r"write --pigment (\S+)=DOSE"), r"write \1 and its dose in a line"),
    (re.compile(r" \(--[a-z][^)]*\)"), ""),
    (re.compile(r",? (?:and give it |and name it )?with --[a-z-]+(?: [A-Z][^\s.;]*)?"), ""),
)

_SECTION = re.compile(r"(?<!\[)\bsection(s?)\b(?!\])")
_MM = re.compile(r"((?:\d+(?:\.\d+)?(?:, | and | to ))*)(\d+(?:\.\d+)?)( mm\b)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_FIRST_WORD = re.compile(r"[a-z]+(?=[ ,:])")


def page_words(said: Said, units: Units | None = None) -> str:
    """A sentence for the page, its first letter large, thicknesses in the unit that was chosen.

    >>> page_words("b1 had a reading already and kept it; --replace puts the new one in its place")
    'b1 had a reading already and kept it; tick “replace” to put the new one in its place'
    >>> page_words("one cup (chips of 3 and 25.4 mm) would help", Units("inch"))
    'One cup (chips of 0.118 and 1 inch) would help'
    """
    sentence = told(said)
    for before, instead in SAID:
        sentence = sentence.replace(before, instead)
    if "--" in sentence:
        for pattern, words in _LEFT_OVER:
            sentence = pattern.sub(words, sentence)
    sentence = _SECTION.sub(r"place\1", sentence)
    if units is not None and units.length_unit != "mm":
        sentence = _MM.sub(_in(units), sentence)
    return sentence[:1].upper() + sentence[1:] if _FIRST_WORD.match(sentence) else sentence


def _in(units: Units) -> Callable[[re.Match[str]], str]:
    def convert(found: re.Match[str]) -> str:
        text = f"{found.group(1)}{found.group(2)}"
        return _NUMBER.sub(lambda one: shown(float(one.group()) / MM_PER_INCH, 3), text) + f" {units.length_unit}"

    return convert
