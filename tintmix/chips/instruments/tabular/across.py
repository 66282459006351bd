"""A row a sample: spectra under a header of wavelengths, colours under a header of letters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from tintmix.chips.instruments.conditions import geometry_in, light_in, under_of
from tintmix.chips.instruments.meaning import CELLS, HEAD, Words, meaning_of
from tintmix.chips.instruments.ordinates import no_reading_in
from tintmix.chips.instruments.sample import Ask, Sample, spectrum
from tintmix.chips.instruments.tabular.cells import Row, is_missing, value_of
from tintmix.chips.instruments.tabular.gathered import FORM, Found
from tintmix.chips.instruments.tabular.heads import (
    CONDITIONS,
    IDS,
    LEAST_WAVES,
    NAMES,
    Waves,
    colours_of,
    column_of,
    columns_of,
    waves_of,
)  # fmt: skip
from tintmix.chips.instruments.tabular.tables import Table
from tintmix.chips.instruments.words import quantity_in, without_quantity
from tintmix.errors import Note, Remedy
from tintmix.files.errors import Cell
from tintmix.files.table import no_number
from tintmix.files.words import plain

_STATISTICS = re.compile(
    r"(?:std|st\.? ?dev|s\.d\.|sd|σ|cv|rsd|range|min|max|minimum|maximum|spread|var)\W*.{0,12}"
    r"|(?:delta|Δ|diff(?:erence)?)\W*e?\W*"
)
_WHEN = re.compile(r"[\d./:\-\sTZ]+(?:[ap]m)?", re.IGNORECASE)
"""A date, or a time of day."""


def read_across(table: Table, words: Words, found: Found) -> None:
    """The samples of a table with a row each. Raises FileProblem."""
    head = next(row for row in table.heads if waves_of(row.cells) or colours_of(row.cells))
    heads = head.cells
    waves, colours = waves_of(heads), colours_of(heads)
    used = {c for group in waves for _, c in group.columns} | {c for group in colours for c in group.columns}
    name_at, other_at = _name_columns(table.body, heads, used)
    conditions = columns_of(heads, CONDITIONS)
    free = [c for c in range(len(heads)) if c not in used and c not in (name_at, other_at)]
    under = [(c, says) for c in free if (says := under_of(heads[c], [row.cell(c) for row in table.body]))]
    over = _over(table, head.number)
    units = " ".join({table.units(c) for c in used})
    in_names = {quantity_in(row.cell(name_at), False) for row in table.body} if name_at is not None else set()
    by_names = [(HEAD, table.body[0].cell(name_at))] if len(in_names) == 1 else []
    made: list[tuple[Row, Sample]] = []
    for at, row in enumerate(table.body):
        name = plain(row.cell(name_at), 80) if name_at is not None else ""
        other = plain(row.cell(other_at), 80) if other_at is not None else ""
        if _STATISTICS.fullmatch(name.lower()) and len(table.body) > 1 and not _is_standard(row, table.body, min(used)):
            found.notes.append(f"line {row.number}, {name}, tells of other readings, and is none")
            continue
        if len(table.body) == 1 and quantity_in(name, False) and not without_quantity(name):
            # The only row is headed by what it is.
            name = ""
        name = name or other or (found.stem if len(table.body) == 1 else "")
        if not name and name_at is not None:
            continue
        name = name or f"row {row.number}"
        own = [(HEAD, _condition(heads[c], row.cell(c))) for c in conditions if row.cell(c)]
        own += by_names
        said: dict[str, Any] = {
            "source": f"{found.where}, line {row.number}",
            "line": row.number,
            "other_name": "" if other == name else other,
        }
        mine: list[Sample] = []
        for letters in colours:
            read = _cells(row, letters.columns, heads, found.bad)
            holes = [c for c in letters.columns if is_missing(row.cell(c))]
            if 0 < len(holes) < len(letters.columns):
                c = holes[0]
                stands = f"“{plain(row.cell(c), 12)}”" if row.cell(c) else "nothing"
                found.holes.append(
                    f"line {row.number} has {stands} under {plain(heads[c], 30)}, so that it is no colour"
                )
            if read:
                near = [
                    (HEAD, letters.words),
                    (HEAD, over.get(letters.columns[0], "")),
                    *_under(under, letters.columns[0], at),
                    *own,
                ]
                meant = meaning_of(near, words, colour=True)
                if meant.none is not None:
                    found.none.append((head.number, meant.none))
                    continue
                told = {**meant.fields(), "unit": None, "asks": ()}
                mine.append(Sample(name, "colour", tuple(read), letters.space, **told, **said))
        for group in waves:
            # Where a wavelength has no value, as past the end of an instrument's range, it is left out.
            columns = [(nm, c) for nm, c in group.columns if not is_missing(row.cell(c))]
            read = _cells(row, [c for _, c in columns], heads, found.bad) if len(columns) >= LEAST_WAVES else None
            in_percent = all(row.cell(c).endswith("%") for _, c in columns)
            if read:
                near = [*_own_words(group, units), (HEAD, over.get(group.columns[0][1], "")), *own]
                meant = meaning_of(near, words, place=f"line {row.number}: ")
                none = no_reading_in(f"{group.words} {units}") or meant.none
                if none is not None:
                    found.none.append((head.number, none))
                    continue
                if meant.turned:
                    read = meant.turned.absorbance(read)
                    found.notes.append(f"line {head.number} counts in {meant.turned.name}, turned into absorbance")
                elif in_percent and meant.quantity != "absorbance":
                    meant = replace(meant, unit="percent", read_from={**meant.read_from, "unit": CELLS})
                nm = [one for one, _ in columns]
                mine.append(spectrum(FORM, name=name, nm=nm, values=read, **meant.fields(), **said))
        made += [(row, sample) for sample in _told_apart(mine)]
    for sample in _apart(made, [c for c in conditions if c in free], heads):
        found.add(sample)


def _is_standard(row: Row, body: Sequence[Row], column: int) -> bool:
    """Whether "Std" is a standard that others are held against: no reading spreads by a third of what it reads."""
    here = value_of(row.cell(column))
    others = [abs(v) for one in body if one is not row and (v := value_of(one.cell(column))) is not None]
    return row.cells[0].lower().startswith("std") and here is not None and bool(others) and abs(here) > max(others) / 3


def _condition(head: str, cell: str) -> str:
    """A cell that says how a row was read, with its head, without which "included" says nothing.

    >>> _condition("SCI/SCE", "E"), _condition("Specular", "included"), _condition("Mode", "SCE")
    ('SCE', 'Specular included', 'Mode SCE')
    """
    if re.search(r"sc[ie]\W+sc[ie]", head.lower()):
        return f"SC{cell}" if cell in ("I", "E") else cell
    return f"{head} {cell}"


def _under(under: Sequence[tuple[int, list[str]]], first: int, at: int) -> list[tuple[str, str]]:
    """What columns say of a row's light and observer for the reading that begins in a column: the nearest before it of each kind,
    where several lights stand in a row."""
    near: dict[bool, str] = {}
    for c, says in under:
        is_light = any(one.startswith("light") for one in says)
        if says[at] and (c < first or is_light not in near):
            near[is_light] = says[at]
    return [(HEAD, says) for says in near.values()]


def _over(table: Table, line: int) -> dict[int, str]:
    """What a row just above the head says of the columns below it, each of its cells up to the next: lights, or gloss."""
    row = table.above[-1] if table.above else None
    if row is None or line - row.number > 1 or len(row.filled) < 2:
        return {}
    says: dict[int, str] = {}
    for c in range(max(map(len, (row.cells, *(one.cells for one in table.body))))):
        cell = row.cell(c)
        if cell and not (light_in(cell) or geometry_in(cell) or quantity_in(cell) or re.match(r"[ABCE]\W", cell)):
            # A name, or something else that ends what was said.
            says[c] = ""
        else:
            says[c] = cell or says.get(c - 1, "")
    return says


def _apart(made: Sequence[tuple[Row, Sample]], conditions: Sequence[int], heads: Sequence[str]) -> list[Sample]:
    """The readings of a table; where two of one name were read otherwise, and nothing that is known tells them apart, they are no
    repeats, and which is meant is asked."""
    first: dict[object, Row] = {}
    done = []
    for row, one in made:
        key = (one.name, one.other_name, one.kind, one.quantity, one.light, one.observer, one.geometry)
        before = first.setdefault(key, row)
        differs = next((c for c in conditions if row.cell(c) != before.cell(c)), None)
        if differs is not None:
            says = (
                f"lines {before.number} and {row.number} are both called {one.name}, but were read otherwise: "
                f"“{plain(heads[differs], 30)}” is {plain(before.cell(differs), 20)} and {plain(row.cell(differs), 20)}"
            )
            one = replace(one, asks=(*one.asks, Ask(about="values", note=Note(says=says, remedy=Remedy.EXPORT_ONE))))
        done.append(one)
    return done


def _told_apart(mine: Sequence[Sample]) -> list[Sample]:
    """The readings of a row; where two are told apart by nothing that is known, which one is meant is asked."""
    keys = [(one.kind, one.quantity, one.light, one.observer, one.geometry) for one in mine]
    done = []
    for one, key in zip(mine, keys, strict=True):
        if keys.count(key) > 1:
            says = f"line {one.line}, {one.name}: it has {keys.count(key)} readings, and nothing says how they differ"
            one = replace(one, asks=(*one.asks, Ask(about="values", note=Note(says=says, remedy=Remedy.EXPORT_ONE))))
        done.append(one)
    return done


def _own_words(group: Waves, units: str) -> list[tuple[str, str]]:
    return [(HEAD, re.sub(r"\bnm\b", " ", group.words)), (HEAD, units)]


def _name_columns(body: Sequence[Row], heads: Sequence[str], used: set[int]) -> tuple[int | None, int | None]:
    """The column of names, and another by which a sample may be known: a name goes before a number."""

    def texts(column: int | None) -> list[str]:
        return [] if column is None else [row.cell(column) for row in body]

    name, number = column_of(heads, NAMES), column_of(heads, IDS)
    free = [c for c in range(max(len(row.cells) for row in body)) if c not in used]
    if name is not None and not any(texts(name)):
        name = None
    if (
        name is not None
        and number is not None
        and len(body) > 1
        and len(set(texts(name))) == 1
        and len(set(texts(number))) == len(body)
    ):
        name, number = number, name
    if name is None and number is None:
        worded = [
            c
            for c in free
            if any(texts(c)) and all(value_of(text) is None and not _WHEN.fullmatch(text) for text in texts(c) if text)
        ]
        name = next((c for c in worded if len(set(texts(c))) == len(body)), worded[0] if worded else None)
        # A number that goes before the readings is one, too, where it is headed by nothing that is read.
        name = next((c for c in free if any(texts(c)) and c == 0), None) if name is None else name
    return (number, None) if name is None else (name, number)


def _cells(row: Row, columns: Sequence[int], heads: Sequence[str], bad: list[Cell]) -> list[float] | None:
    """The numbers in these columns; None where one is missing, or bad."""
    texts = [row.cell(c) for c in columns]
    # A colour without one of its three is none.
    if any(is_missing(text) for text in texts):
        return None
    values = [value_of(text) for text in texts]
    for text, value, c in zip(texts, values, columns, strict=True):
        if value is None or abs(value) > 1e9:
            bad.append(Cell(row.number, plain(heads[c], 30), no_number(text)))
            return None
    return [v for v in values if v is not None]
