"""One colour, a line a letter, as hand-held instruments send it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from tintmix.chips.instruments.meaning import Words, meaning_of
from tintmix.chips.instruments.sample import Sample
from tintmix.chips.instruments.tabular.cells import Row, value_of
from tintmix.chips.instruments.tabular.heads import colours_of, letter_of
from tintmix.chips.instruments.tabular.keywords import TITLES, keywords_of
from tintmix.files.words import plain

_BLANK = re.compile(r"([A-Za-z]{1,4}[*°]{0,2})\s+([-+]?[0-9]+(?:[.,][0-9]+)?)")
"""A letter and its number with nothing but a blank between."""


def listed_colour(rows: Sequence[Row], where: str, stem: str) -> list[Sample]:
    """ "L* = 78.2" and the like, a line each, of one sample or of several side by side; nothing where the letters of no colour
    are there."""
    letters: dict[str, tuple[Row, list[str]]] = {}
    for row in rows:
        blank = _BLANK.fullmatch(row.text)
        said = [(blank.group(1), blank.group(2))] if blank else [(key, value) for _, key, value in keywords_of([row])]
        for key, value in said:
            letter = letter_of(key.upper() if key in ("l", "l*", "x", "y", "z") else key)[0]
            cells = [*row.cells[1:]] if len(row.filled) > 2 else value.split()[:1]
            if letter and cells and value_of(next(filter(None, cells), "")) is not None:
                letters.setdefault(letter, (row, cells))
    heads = [*letters]
    for group in colours_of(heads)[:1]:
        words = Words(tuple(keywords_of(rows)), tuple(row.text[:300] for row in rows))
        meant = meaning_of([], words, colour=True)
        told = {**meant.fields(), "unit": None, "asks": ()}
        lines = [letters[heads[c]] for c in group.columns]
        first = lines[0][0]
        source = f"{where}, line {first.number}"
        above = next((row for row in reversed(rows) if row.number < min(row.number for row, _ in lines)), None)
        samples = []
        for c in range(len(lines[0][1])):
            values = [value_of(cells[c]) if c < len(cells) else None for _, cells in lines]
            read = tuple(v for v in values if v is not None and abs(v) < 1e6)
            name = plain(above.cell(c + 1), 80) if above is not None else ""
            if len(read) == 3:
                samples.append(
                    Sample(
                        name or f"column {c + 2}", "colour", read, group.space, source=source, line=first.number, **told
                    )
                )
        if len(samples) == 1 and len(lines[0][1]) == 1:
            title = plain(words.value(*TITLES), 80)
            return [replace(samples[0], name=stem, other_name="" if title == stem else title)]
        return samples
    return []
