"""Aligned tables of text, for the terminal and for sheets as text."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

import click


class Laid(str):
    """Text in lines already, which is not wrapped again."""

    __slots__ = ()


def table(
    heads: Sequence[str], rows: Iterable[Sequence[object]], left: Iterable[int] = (0,), indent: str = "  "
) -> Laid:
    """An aligned table; the columns whose numbers are in `left` are set left, the others right. Columns without
    anything in them are left out.

    >>> print(table(["chip", "mm"], [["b1", "3"], ["clear", "12"]], indent=""))
    chip   mm
    b1      3
    clear  12
    """
    cells = [[str(cell) for cell in row] for row in rows]
    kept = [c for c in range(len(heads)) if any(row[c] for row in cells)]
    lines = [[heads[c] for c in kept]] + [[row[c] for c in kept] for row in cells]
    widths = [max(map(_columns, column)) for column in zip(*lines, strict=True)]
    set_left = {kept.index(c) for c in left if c in kept}
    out = []
    for line in lines:
        parts = []
        for c, cell in enumerate(line):
            gap = " " * (widths[c] - _columns(cell))
            parts.append(cell + gap if c in set_left else gap + cell)
        out.append((indent + "  ".join(parts)).rstrip())
    return Laid("\n".join(out))


def _columns(text: str) -> int:
    """Columns a cell takes on the screen: escape sequences take none."""
    letters = [character for character in click.unstyle(text) if not unicodedata.combining(character)]
    return len(letters) + sum(unicodedata.east_asian_width(letter) in "WF" for letter in letters)


def folded(text: str, columns: int, first: str = "", indent: str = "") -> list[str]:
    """A text in lines of at most so many columns, the first one with its own indent."""
    made = textwrap.wrap(text, columns, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False)
    return made or [first]
