"""The cautions as plain text: all that a resin calls for, before the first weight; and where they are from, at the end."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.faces.text_table import folded
from tintmix.sheet.cautions import Caution, sources_of

TITLE = "Before you mix"
SOURCES = "Where the cautions come from"
GRAVE = "▲"
KEY = f"{GRAVE}: it kills or maims."


def caution_lines(told: Sequence[Caution], columns: int) -> list[str]:
    """The sentences, numbered; what kills or maims has a mark before it.

    >>> one = Caution(hazard="all", sentence="Sand wet.", source="common practice", grave=True)
    >>> caution_lines([one], 40)
    ['▲  1. Sand wet.']
    """
    lines = []
    for number, one in enumerate(told, start=1):
        lines += folded(one.sentence, columns, f"{GRAVE if one.grave else ' '} {number:2}. ", " " * 6)
    return lines


def source_lines(told: Sequence[Caution], columns: int) -> list[str]:
    """The sources, each with the numbers of its sentences."""
    lines = []
    for numbers, source in sources_of(told):
        lines += folded(f"{numbers}: {source}", columns, "  ", "      ")
    return lines
