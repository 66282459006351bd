"""One colour, a line a letter, as hand-held instruments send it."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.chips.instruments.cells import Row, value_of
from tintmix.chips.instruments.heads import NAMES, colours_of, letter_of
from tintmix.chips.instruments.meaning import Words, meaning_of
from tintmix.chips.instruments.sample import Sample
from tintmix.chips.instruments.tables import keywords_of
from tintmix.files.words import plain

TITLES = (
    *NAMES, "spectrum name", "sample description", "data set", "dataset", "data file", "sample-id", "id", "sample id",
    "nom échantillon", "proben-id", "proben id", "measurement name", "user label",
)  # fmt: skip
"""Keywords behind which a sample's name stands."""


def listed_colour(rows: Sequence[Row], where: str, stem: str) -> list[Sample]:
    """ "L* = 78.2" and the like, a line each; nothing where the letters of no colour are there."""
    letters: dict[str, tuple[int, float]] = {}
    for line, key, value in keywords_of(rows):
        letter = letter_of(key.upper() if key in ("l", "l*", "x", "y", "z") else key)[0]
        number = value_of(value.split()[0]) if value.split() else None
        if letter and number is not None and abs(number) < 1e6:
            letters.setdefault(letter, (line, number))
    heads = [*letters]
    for group in colours_of(heads)[:1]:
        words = Words(tuple(keywords_of(rows)), tuple(row.text[:300] for row in rows))
        meant = meaning_of([], words, colour=True)
        line = letters[heads[group.columns[0]]][0]
        values = tuple(letters[heads[c]][1] for c in group.columns)
        title = plain(words.value(*TITLES), 80)
        told = {**meant.fields(), "unit": None, "asks": (), "other_name": "" if title == stem else title}
        return [Sample(stem, "colour", values, group.space, source=f"{where}, line {line}", line=line, **told)]
    return []
