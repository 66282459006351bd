"""What stands around a table as keys and what they say."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from tintmix.chips.instruments.tabular.cells import Row
from tintmix.chips.instruments.tabular.heads import NAMES

TITLES = (
    *NAMES, "spectrum name", "sample description", "data set", "dataset", "data file", "sample-id", "id", "sample id",
    "nom échantillon", "proben-id", "proben id", "measurement name", "user label",
)  # fmt: skip
"""Keywords behind which a sample's name stands."""


def lone_units(rows: Sequence[Row]) -> Iterator[tuple[int, str, str]]:
    """Two lines by themselves, "nm" and what is counted against it, as some exports list their settings.

    >>> list(lone_units([Row(8, ("nm",), "nm"), Row(9, ("A",), "A")]))
    [(9, 'units', 'A')]
    """
    for first, second in pairwise(rows):
        if len(first.filled) == len(second.filled) == 1 and first.text.strip(' "[]()').lower() == "nm":
            yield second.number, "units", second.text


def keywords_of(rows: Sequence[Row]) -> Iterator[tuple[int, str, str]]:
    """What stands above a table as (line, key in small letters, value).

    >>> list(keywords_of([Row(1, ("Mode", "%T"), "Mode;%T"), Row(2, ("Probe: b1",), "Probe: b1"), Row(3, ("b1",), "b1")]))
    [(1, 'mode', '%T'), (2, 'probe', 'b1')]
    """
    for row in rows:
        first = row.filled[0]
        parts = re.match(r"([^:=]{1,60}?)\s*[:=]+\s*(.+)", first)
        if parts and len(row.filled) == 1:
            yield row.number, _key(parts.group(1)), parts.group(2).strip(' "')
        elif len(row.filled) >= 2:
            yield row.number, _key(first), " ".join(row.filled[1:])
        elif (parts := re.match(r"([^:=]{1,60}?)\s*[:=]+\s*(.+)", row.text)) is not None:
            yield row.number, _key(parts.group(1)), parts.group(2).strip(' "')


def _key(text: str) -> str:
    return text.strip(' ":=#[]<>').lower()
