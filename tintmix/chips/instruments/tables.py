"""Where tables stand in an instrument's text: wavelengths down a column or across a header, or a header of colour letters;
one below the other as often as the instrument wrote them, each with the lines above it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tintmix.chips.instruments.cells import Row, is_missing, parted_into, value_of
from tintmix.chips.instruments.heads import colours_of, is_wave_run, wave_of, waves_of
from tintmix.chips.instruments.words import quantity_in, wave_scale

LEAST_WAVES = 5
"""Wavelengths that make a header or a column of its own, without a head that says so."""
_LEAST_HEADED = 2
"""The same where the head says that they are wavelengths: two in a row are a series."""
_HEADER_ROWS = 4
"""Names, heads, units, and one to spare."""
_UNIT = re.compile(
    r"[\[(]?\s*(?:nm|µm|um|cm\s?-?\^?-?1|%\s?\w{0,14}|a\.?u\.?|abs\.?|counts?|adc|1|-|nanomet\w+|percent|none)?\s*[\])]?",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Table:
    """A table as it stands. columns: wavelengths go down a column. heads: the rows that head it, nearest to the numbers
    first. body: its rows. waves: the columns of wavelengths. above: what stands above it and below the table before."""

    columns: bool
    heads: tuple[Row, ...]
    body: list[Row]
    waves: tuple[int, ...] = ()
    above: list[Row] = field(default_factory=list)

    def head(self, column: int, which: int = 0) -> str:
        """A column's head in the row nearest to the numbers that is no row of units; which: 1 for the row above that."""
        rows = [row for row in self.heads if not is_units(row)] or list(self.heads)
        return rows[which].cell(column) if which < len(rows) else ""

    def units(self, column: int) -> str:
        """What a row of units says of a column."""
        return next((row.cell(column) for row in self.heads if is_units(row)), "")

    @property
    def line(self) -> int:
        """Where it begins."""
        return self.heads[0].number if self.heads else self.body[0].number


def tables_of(rows: Sequence[Row]) -> tuple[list[Table], list[Row]]:
    """All tables, and the rows that belong to none and stand below the last."""
    found: list[Table] = []
    above: list[Row] = []
    at = 0
    while at < len(rows):
        made = _across(rows, at) or _down(rows, at, above, found)
        if made is None:
            above.append(rows[at])
            at += 1
            continue
        table, at = made
        heads = {row.number for row in table.heads}
        table.above, above = [row for row in above if row.number not in heads], []
        found.append(table)
    return found, above


def is_units(row: Row) -> bool:
    """Whether a row holds nothing but units.

    >>> is_units(Row(2, ("[nm]", "[% transmittance]"), "")), is_units(Row(1, ("nm", "b1"), ""))
    (True, False)
    """
    return len(row.filled) > 1 and all(_UNIT.fullmatch(cell) for cell in row.filled)


def _across(rows: Sequence[Row], at: int) -> tuple[Table, int] | None:
    """A row a sample, under a header of wavelengths or of colour letters."""
    head = rows[at]
    if not waves_of(head.cells) and not colours_of(head.cells):
        return None
    end = at + 1
    # A row of units below the header belongs to it.
    units = (rows[end],) if end < len(rows) and is_units(rows[end]) else ()
    end += len(units)
    if end < len(rows) and len(rows[end].cells) > len(head.cells) and _by_blanks(head) and _used(head)[0] == 0:
        # Names stand there without a head.
        head = Row(head.number, ("", *head.cells), head.text, head.comment)
    used, waves = _used(head), [group.columns for group in waves_of(head.cells)]
    if _is_headed_column(head, rows[end : end + LEAST_WAVES]):
        # Its samples are called "chip 401" and so on.
        return None
    if all(value_of(cell) is not None for cell in head.filled) and end < len(rows) and waves_of(rows[end].cells):
        return None
    body: list[Row] = []
    for row in rows[end:]:
        row = _levelled(row, head, used)
        numbers = sum(value_of(row.cell(column)) is not None for column in used)
        empty = all(is_missing(row.cell(column)) for column in used)
        if numbers * 2 < len(used) and not (empty and body and len(row.filled) == 1 and row.cells[0]):
            break
        if waves and [group.columns for group in waves_of(row.cells)] == waves:
            break
        body.append(row)
        end += 1
    return (Table(False, (*units, head), body), end) if body and any(_holds(row, used) for row in body) else None


def _is_headed_column(head: Row, below: Sequence[Row]) -> bool:
    """Whether wavelengths go down a column that a header names so."""
    headed = [c for c, cell in enumerate(head.cells) if len(cell) > 1 and wave_scale(cell) is not None]
    return any(is_wave_run([wave_of(row.cell(c)) for row in below]) for c in headed)


def _used(head: Row) -> list[int]:
    """The columns of a header that hold readings."""
    waves = {column for group in waves_of(head.cells) for _, column in group.columns}
    return sorted(waves | {column for group in colours_of(head.cells) for column in group.columns})


def _by_blanks(row: Row) -> bool:
    return " ".join(row.cells) == " ".join(row.text.lstrip("#% ").split())


def _holds(row: Row, used: Sequence[int]) -> bool:
    return any(value_of(row.cell(column)) is not None for column in used)


def _levelled(row: Row, head: Row, used: Sequence[int]) -> Row:
    """A row with blanks inside its name, so parted by blanks that it has more cells than the header: the name is one."""
    more = len(row.cells) - len(head.cells)
    if more <= 0 or used[0] == 0 or used[-1] != len(head.cells) - 1 or not _by_blanks(row):
        return row
    return Row(row.number, (" ".join(row.cells[: more + 1]), *row.cells[more + 1 :]), row.text, row.comment)


def _down(rows: Sequence[Row], at: int, above: Sequence[Row], before: Sequence[Table]) -> tuple[Table, int] | None:
    """Wavelengths down a column."""
    first = rows[at]
    if not _is_numbers(first):
        return None
    lead = next((c for c, cell in enumerate(first.cells) if wave_of(cell) is not None), None)
    if lead is None:
        return None
    run = []
    for row in rows[at:]:
        # A row whose value is none still belongs to the table, so that it can be named.
        if row.comment != first.comment or not (_is_numbers(row) or wave_of(row.cell(lead)) is not None):
            break
        run.append(row)
    width = max(len(row.cells) for row in run)
    heads = _headers(above, first, len(first.filled))
    headed = [c for row in heads for c in range(width) if wave_scale(row.cell(c)) is not None and _mostly(run, c)]
    # An X beside a column of wavelengths is a colour's.
    headed = [c for c in headed if any(len(row.cell(c)) > 1 for row in heads)] or headed
    pairs = (c for row in heads for c in _pairs(row, width))
    waves = [*dict.fromkeys(headed or pairs)] or _unheaded(run, width)
    waves = [c for c in waves if wave_of(first.cell(c)) is not None]
    if not waves:
        return None
    run = run[: _one_way(run, waves[0])]
    if len(run) < (_LEAST_HEADED if headed else LEAST_WAVES):
        return None
    if not heads and not above and before and before[-1].columns and before[-1].waves == tuple(sorted(waves)):
        # A spectrum that begins again under the same heads.
        heads = before[-1].heads
    return Table(True, tuple(heads), run, tuple(sorted(waves))), at + len(run)


def _is_numbers(row: Row) -> bool:
    filled = row.filled
    numbers = sum(value_of(cell) is not None or wave_of(cell) is not None for cell in filled)
    missing = sum(is_missing(cell) for cell in filled)
    if numbers == 1:
        return len(row.cells) > 1 and numbers + missing == len(filled)
    return numbers >= 2 and 2 * (numbers + missing) >= len(filled)


def _mostly(run: Sequence[Row], column: int) -> bool:
    return sum(wave_of(row.cell(column)) is not None for row in run) * 2 >= len(run)


def _pairs(row: Row, width: int) -> list[int]:
    """Columns headed "… x" beside "… y"."""
    cells = [row.cell(c).lower() for c in range(width)]
    return [
        c
        for c, cell in enumerate(cells[:-1])
        if re.search(r"(?:^|[\s_.\-(])x\)?$", cell) and re.search(r"(?:^|[\s_.\-(])y\)?$", cells[c + 1])
    ]


def _unheaded(run: Sequence[Row], width: int) -> list[int]:
    """Columns that go one way, as wavelengths do: the first, and others as long and alike where values stand between."""
    likely = [c for c in range(width) if is_wave_run([wave_of(row.cell(c)) for row in run])]
    return [c for c in likely if c == likely[0] or (c - likely[0]) % 2 == 0] if likely else []


def _one_way(run: Sequence[Row], column: int) -> int:
    """How many rows go on rising, or falling, as they began."""
    way = 0.0
    last: float | None = None
    for i, row in enumerate(run):
        nm = wave_of(row.cell(column))
        if nm is None:
            # A second pair of columns may be the longer one.
            if i and _holds(row, range(len(row.cells))) and not row.cell(column):
                continue
            return i
        if last is not None:
            step = nm - last
            if way and step * way < 0:
                return i
            way = way or step
        last = nm
    return len(run)


def _headers(above: Sequence[Row], first: Row, width: int) -> tuple[Row, ...]:
    """The rows that head numbers, nearest first: units, heads, and the names above them. width: cells that are filled below."""
    found: list[Row] = []
    heads: Row | None = None
    for row in reversed(above[-_HEADER_ROWS:]):
        if (found[-1].number if found else first.number) - row.number > _HEADER_ROWS:
            break
        if heads is None and is_units(row) and not found:
            found.append(row)
        elif heads is None:
            cells = row.cells
            by_blanks = len(row.filled) == 1 or _by_blanks(row)
            if by_blanks and len(row.filled) != width and wave_scale(row.filled[0]) is not None:
                cells = parted_into(row.text, width) or cells
            heads = Row(row.number, cells, row.text, row.comment)
            if not _heads(heads, width):
                break
            found.append(heads)
        else:
            if _names(row, heads, width):
                found.append(row)
            break
    return tuple(found)


def _heads(row: Row, width: int) -> bool:
    """Whether a row heads columns: it names wavelengths or "… x", or has a word for every column of more than two."""
    count = len(row.filled)
    if any(wave_scale(cell) is not None for cell in row.filled) or _pairs(row, len(row.cells)):
        return count >= 2 or width == 1
    if count >= 2 and all(quantity_in(cell) is not None for cell in row.filled):
        return True
    return width > 2 and count >= width - 1 and not row.filled[0].endswith((":", "="))


def _names(row: Row, heads: Row, width: int) -> bool:
    """Whether a row above the heads holds names: one for each pair of columns, or one for each column."""
    waves = sum(wave_scale(cell) is not None for cell in heads.filled) or len(_pairs(heads, len(heads.cells)))
    if waves > 1:
        return len(row.cells) >= waves and len(row.filled) <= width and len(row.filled) * 2 >= waves
    return width > 2 and len(row.filled) >= width - 1 and not row.filled[0].endswith((":", "="))


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
