"""Where tables stand in an instrument's text: wavelengths down a column or across a header, or a header of colour letters;
one below the other as often as the instrument wrote them, each with the lines above it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tintmix.chips.instruments.ordinates import other_axis
from tintmix.chips.instruments.tabular.cells import Row, is_missing, parted_into, value_of
from tintmix.chips.instruments.tabular.heads import IDS, NAMES, colours_of, is_grid, is_wave_run, wave_of, waves_of
from tintmix.chips.instruments.words import quantity_in, wave_scale

LEAST_WAVES = 5
"""Wavelengths that make a header or a column of its own, without a head that says so."""
_LEAST_HEADED = 2
"""The same where the head says that they are wavelengths: two in a row are a series."""
_HEADER_ROWS = 4
"""Names, heads, units, and one to spare."""
_NAME_ROWS = 12
"""A row each for date, time, operator, mode and the like may stand between heads and the row of names."""
_LOOKS_AHEAD = 200
"""Rows by which columns of wavelengths are told."""
_MOST_TRIES = 8
"""Rows of a run of numbers that may be tried as its first: more would take time that grows with the square of its length."""
_WHEN = re.compile(
    r"(?:\d{1,4}[/.\-]\d{1,2}[/.\-]\d{1,4}(?:[ T]\d{1,2}:\d\d(?::\d\d)?)?|\d{1,2}:\d\d(?::\d\d)?)\s?(?:[ap]m|Z)?",
    re.IGNORECASE,
)
"""A date, a time of day, or both."""
_UNIT = re.compile(
    r"[\[(]?\s*(?:nm|µm|um|cm\s?-?\^?-?1|%\s?\w{0,14}|m?a\.?u\.?|m?abs\.?|mod|db|counts?|adc|1|-|nanomet\w+|percent|none)?\s*[\])]?",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Table:
    """A table as it stands. columns: wavelengths go down a column. heads: the rows that head it, nearest to the numbers
    first. body: its rows. waves: the columns of wavelengths. above: what stands above it and below the table before. nm: what its
    first column of wavelengths counts."""

    columns: bool
    heads: tuple[Row, ...]
    body: list[Row]
    waves: tuple[int, ...] = ()
    above: list[Row] = field(default_factory=list)
    nm: set[float] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._count(self.body)

    def add(self, body: Sequence[Row]) -> None:
        """More rows of it."""
        self.body += body
        self._count(body)

    def _count(self, body: Sequence[Row]) -> None:
        if self.columns:
            self.nm |= {at for row in body if (at := wave_of(row.cell(self.waves[0]))) is not None}

    def head(self, column: int, which: int = 0) -> str:
        """A column's head in the row nearest to the numbers that is no row of units; which: 1 for the row above that."""
        rows = [row for row in self.heads if not is_units(row)] or list(self.heads)
        return rows[which].cell(column) if which < len(rows) else ""

    def units(self, column: int) -> str:
        """What a row of units says of a column."""
        return next((row.cell(column) for row in self.heads if is_units(row)), "")

    @property
    def names_rows(self) -> list[Row]:
        """The rows above its heads."""
        return [row for row in self.heads if not is_units(row)][1:]

    @property
    def line(self) -> int:
        """Where it begins."""
        return self.heads[0].number if self.heads else self.body[0].number


def tables_of(rows: Sequence[Row]) -> tuple[list[Table], list[Row]]:
    """All tables, and the rows that belong to none and stand below the last."""
    found: list[Table] = []
    above: list[Row] = []
    at = tries = 0
    while at < len(rows):
        made = _across(rows, at)
        table, end = made or _down(rows, at, above, found)
        if table is None:
            # What a run of numbers has above its first wavelength is seldom more than a row or two.
            tries = 0 if end == at else tries + 1
            ends = end if tries >= _MOST_TRIES else at + 1
            above += rows[at:ends]
            at = ends
            continue
        tries = 0
        heads = {row.number for row in table.heads}
        table.above, above = [row for row in above if row.number not in heads], []
        at = end
        if made or not found or not _goes_on(found[-1], table):
            found.append(table)
        else:
            found[-1].add(table.body)
    return found, above


def _goes_on(before: Table, table: Table) -> bool:
    """Whether a table is the rest of the one before: under its heads, or under the same again on another page, with wavelengths
    that the other has not."""
    if not before.columns or before.waves != table.waves:
        return False
    again = before.heads and [row.cells for row in table.heads] == [row.cells for row in before.heads]
    # What heads each page alike, but for its number, is no other reading's.
    anew = [row for row in table.above if _unpaged(row) not in map(_unpaged, before.above)]
    if table.heads != before.heads and not (again and len(anew) <= 1 and before.nm and table.nm):
        return False
    told = [row for row in anew if ":" in row.text or "=" in row.text]
    if not before.nm or not table.nm or told:
        return False
    if before.nm.isdisjoint(table.nm):
        if table.heads == before.heads:
            return True
        # On another page: it begins where the other ends.
        low, high = sorted((before, table), key=lambda one: min(one.nm))
        step = (max(before.nm) - min(before.nm)) / max(len(before.nm) - 1, 1)
        return 0 < min(high.nm) - max(low.nm) <= 1.5 * step
    return table.heads == before.heads and len(table.body) < LEAST_WAVES


def _unpaged(row: Row) -> str:
    return (
        re.sub(r"\d+", "", row.text) if re.search(r"\b(?:page|seite|p[aá]gina|blatt)", row.text.lower()) else row.text
    )


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
    for at in range(end, len(rows)):
        row = _levelled(rows[at], head, used)
        numbers = sum(value_of(row.cell(column)) is not None for column in used)
        empty = all(is_missing(row.cell(column)) for column in used)
        if numbers * 2 < len(used) and not (empty and body and len(row.filled) == 1 and row.cells[0]):
            break
        if waves and [group.columns for group in waves_of(row.cells)] == waves:
            break
        if not waves and (waves_of(row.cells) or colours_of(row.cells)):
            # Another table's header.
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


def _down(rows: Sequence[Row], at: int, above: Sequence[Row], before: Sequence[Table]) -> tuple[Table | None, int]:
    """Wavelengths down a column, and where they end; None, and where the numbers end that are none."""
    first = rows[at]
    if not _is_numbers(first):
        return None, at
    heads = _headers(above, first, len(first.filled))
    last = before[-1] if before and not heads and not above and before[-1].columns else None
    goes_on = last is not None and wave_of(first.cell(last.waves[0])) is not None
    waves, headed = ([*last.waves], False) if last is not None and goes_on else _waves(rows, at, heads, above)
    run = _run(rows, at, waves[0] if waves else None)
    # A spectrum that begins again under the same heads, or goes on.
    again = last is not None and last.waves == tuple(waves) and _is_within(run, last)
    if not waves or not (again or len(run) >= (_LEAST_HEADED if headed else LEAST_WAVES)):
        return None, at + max(len(run), 1)
    end = at + len(run)
    if last is not None and again:
        heads = last.heads
    elif not heads and above and first.number - above[-1].number <= 2 and _names_pairs(above[-1], waves):
        heads = (Row(first.number, (), ""), above[-1])
    if len(waves) > 1 and _is_wrapped(run, waves):
        run = [Row(row.number, row.cells[c : c + 2], row.text) for row in run for c in waves if row.cell(c)]
        heads, waves = tuple(Row(row.number, row.cells[:2], row.text) for row in heads), waves[:1]
    return Table(True, tuple(heads), run, tuple(waves)), end


def _waves(rows: Sequence[Row], at: int, heads: Sequence[Row], above: Sequence[Row]) -> tuple[list[int], bool]:
    """The columns of wavelengths of the numbers that begin here, and whether their heads say so."""
    first = rows[at]
    begins = [row for row in rows[at : at + _LOOKS_AHEAD] if row.comment == first.comment]
    width = max(len(row.cells) for row in begins)
    headed = [c for row in heads for c in range(width) if wave_scale(row.cell(c)) is not None and _mostly(begins, c)]
    # An X beside a column of wavelengths is a colour's.
    headed = [c for c in headed if any(len(row.cell(c)) > 1 for row in heads)] or headed
    pairs = (c for row in heads for c in _pairs(row, width))
    head = next((row for row in reversed(above[-_MOST_TRIES:]) if not (_is_numbers(row) or _is_when(row))), None)
    waves = [*dict.fromkeys(headed or pairs)] or _unheaded(begins, width, head)
    return sorted(c for c in waves if wave_of(first.cell(c)) is not None), bool(headed)


def _is_within(run: Sequence[Row], last: Table) -> bool:
    """Whether rows count wavelengths, or what the table before them may well have: no numbers that stand below it."""
    if is_wave_run([wave_of(row.cell(last.waves[0])) for row in run[:_LOOKS_AHEAD]]):
        return True
    low, high = min(last.nm, default=0.0), max(last.nm, default=0.0)
    nm = [wave_of(row.cell(last.waves[0])) for row in run]
    return bool(nm) and all(
        one is not None and low - 0.1 * (high - low) <= one <= high + 0.1 * (high - low) for one in nm
    )


def _run(rows: Sequence[Row], at: int, lead: int | None) -> list[Row]:
    """The rows of numbers from here on, as far as the column that leads goes one way; all of them where it turns back at once, so
    that it is in no order."""
    first = rows[at]
    run: list[Row] = []
    way = last = 0.0
    in_no_order = False
    for i in range(at, len(rows)):
        row = rows[i]
        nm = None if lead is None else wave_of(row.cell(lead))
        # A row whose value is none still belongs to the table, so that it can be named.
        if row.comment != first.comment or not (_is_numbers(row) or nm is not None):
            break
        if lead is not None and nm is None and (row.cell(lead) or not _holds(row, range(len(row.cells)))):
            # A second pair of columns may be the longer one.
            break
        if nm is not None:
            step = nm - last if run else 0.0
            if step * way < 0 and not in_no_order:
                if len(run) >= LEAST_WAVES:
                    break
                in_no_order = True
            way, last = step or way, nm
        run.append(row)
    return run


def _names_pairs(row: Row, waves: Sequence[int]) -> bool:
    """Whether a row holds nothing but a name for each of several columns of wavelengths, or for the column beside it."""
    at = [c for c, cell in enumerate(row.cells) if cell]
    return len(waves) > 1 and len(at) == len(waves) and (at == [*waves] or at == [c + 1 for c in waves])


def _is_wrapped(run: Sequence[Row], waves: Sequence[int]) -> bool:
    """Whether one spectrum goes on from pair to pair of columns, and then in the next row."""
    if any(b - a != 2 for a, b in pairwise(waves)):
        return False
    nm = [one for row in run for c in waves if (one := wave_of(row.cell(c))) is not None]
    rises = [b > a for a, b in pairwise(nm)]
    return len(nm) >= LEAST_WAVES and len(set(nm)) == len(nm) and (all(rises) or not any(rises))


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


def _unheaded(run: Sequence[Row], width: int, head: Row | None) -> list[int]:
    """Columns that go one way, as wavelengths do, and that their heads do not call otherwise: the first, and others as long and
    alike where values stand between; or a first one in no order that counts light from end to end."""
    columns = [[wave_of(row.cell(c)) for row in run] for c in range(width)]
    likely = [
        c for c, cells in enumerate(columns) if is_wave_run(cells) or (c == 0 and is_grid([*filter(None, cells)]))
    ]
    likely = [c for c in likely if head is None or not other_axis(head.cell(c))]
    return [c for c in likely if c == likely[0] or (c - likely[0]) % 2 == 0] if likely else []


def _headers(above: Sequence[Row], first: Row, width: int) -> tuple[Row, ...]:
    """The rows that head numbers, nearest first: units, heads, and the names above them. width: cells that are filled below."""
    found: list[Row] = []
    named: list[Row] = []
    heads: Row | None = None
    below = first.number
    for row in reversed(above[-_NAME_ROWS:]):
        if below - row.number > _HEADER_ROWS or (heads is None and first.number - row.number > _NAME_ROWS):
            break
        below = row.number
        if _is_when(row):
            # When each column was read heads nothing.
            continue
        if heads is None and is_units(row) and not found:
            found.append(row)
        elif heads is None:
            cells = row.cells
            by_blanks = len(row.filled) == 1 or _by_blanks(row)
            if by_blanks and len(row.filled) != width and wave_scale(row.filled[0]) is not None:
                cells = parted_into(row.text, width) or cells
            heads = Row(row.number, cells, row.text, row.comment)
            if not _heads(heads, width):
                # Names just above what looks like units, "nm, %T, nm, %T".
                found += [row] if found and _names(row, found[0], width) else []
                break
            found.append(heads)
        elif _names(row, heads, width):
            named.append(row)
        else:
            break
    if named:
        # Of several rows above the heads, that which says that it holds names, or else words.
        best = [row for row in named if row.cells[0].lower().strip(" :=") in (*NAMES, *IDS)]
        best += [row for row in named if any(value_of(cell) is None for cell in row.filled[1:])] or named
        found.append(best[0])
    return tuple(found)


def _is_when(row: Row) -> bool:
    """Whether a row holds nothing but a date or a time of day for each column."""
    return len(row.filled) > 1 and all(_WHEN.fullmatch(cell) for cell in row.filled[1:])


def _heads(row: Row, width: int) -> bool:
    """Whether a row heads columns: it names wavelengths or "… x", or has a word for every column of more than two."""
    count = len(row.filled)
    if any(wave_scale(cell) is not None for cell in row.filled) or _pairs(row, len(row.cells)):
        return count >= 2 or width == 1 or (len(row.cells) == width and bool(row.cells[0]))
    if count >= 2 and all(quantity_in(cell) is not None for cell in row.filled):
        return True
    return width > 2 and count >= width - 1 and not row.filled[0].endswith((":", "="))


def _names(row: Row, heads: Row, width: int) -> bool:
    """Whether a row above the heads holds names: one for each pair of columns, or one for each column."""
    waves = sum(wave_scale(cell) is not None for cell in heads.filled) or len(_pairs(heads, len(heads.cells)))
    if waves > 1:
        return len(row.cells) >= waves and len(row.filled) <= width and len(row.filled) * 2 >= waves
    if width == 2 and len(row.filled) == 2 and wave_scale(row.cells[0]) is not None:
        # Words for units stand below what is headed.
        return True
    says_so = row.cells[0].lower().strip(" :=") in (*NAMES, *IDS)
    return width > 2 and len(row.filled) >= width - 1 and (says_so or not row.filled[0].endswith((":", "=")))
