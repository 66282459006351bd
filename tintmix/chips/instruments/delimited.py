"""Delimited text from an instrument: its tables as samples, by a row, by a column, or by a block each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tintmix.chips.instruments.cells import Row, is_missing, rows_of, value_of
from tintmix.chips.instruments.errors import no_samples, not_light, too_many_samples
from tintmix.chips.instruments.heads import (
    CONDITIONS,
    IDS,
    LEAST_WAVES,
    LIGHTS,
    NAMES,
    OBSERVERS,
    Waves,
    colours_of,
    column_of,
    columns_of,
    heads_wavelengths,
    wave_of,
    waves_of,
)  # fmt: skip
from tintmix.chips.instruments.listed import TITLES, listed_colour
from tintmix.chips.instruments.meaning import HEAD, Words, meaning_of, settled
from tintmix.chips.instruments.sample import MOST_SAMPLES, Ask, Sample, SampleFile, spectrum
from tintmix.chips.instruments.tables import Table, keywords_of, lone_units, tables_of
from tintmix.chips.instruments.words import is_beside, is_no_reading, quantity_in, wave_scale, without_quantity
from tintmix.errors import Note, Remedy
from tintmix.files.errors import BadCells, Cell
from tintmix.files.table import no_number
from tintmix.files.words import plain

FORM = "delimited"
_FORM = "a table of spectra"
_GENERIC = {
    "", "sample", "samples", "data", "spectrum", "spectra", "value", "values", "y", "y_value", "yvalue", "signal", "intensity",
    "measurement", "raw", "result", "raw data", "rawdata", "processed", "reading", "probe", "y axis", "y-axis", "ordinate",
    "scan", "spectral data", "messwert", "muestra", "campione", "échantillon", "amplitude", "absolute", "mean", "average",
    "average of", "corrected", "unit", "units", "scope", "total", "direct", "regular", "normal", "specular", "diffuse",
    "spectral", "internal",
    "log", "log10",
}  # fmt: skip
"""Heads that name no sample."""
_NOT_BESIDE_A_QUANTITY = {
    "sample",
    "reference",
    "ref",
    "dark",
    "raw",
    "blank",
    "baseline",
    "signal",
    "scope",
    "background",
    "intensity",
}
_COUNTERS = re.compile(
    r"(?:no|nr|n°|nº|#|index|pixel|pixels|point|points|time|zeit|date|idx|i|row|unnamed.*)\.?\W*(?:\[?\(?m?s\)?\]?)?"
)
_MARKS = re.compile(r"[\W_]*(?:xy ?data|data ?points?|data|spectral data|raw ?data|table)[\W_]*")
_STATISTICS = re.compile(r"(?:std|st\.? ?dev|s\.d\.|sd|σ|cv|rsd|range|min|max|minimum|maximum|spread|var)\W*.{0,12}")


@dataclass(slots=True)
class _Found:
    """What is gathered on the way through a file."""

    where: str
    stem: str
    samples: list[Sample] = field(default_factory=list)
    bad: list[Cell] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    no_light: list[tuple[int, str]] = field(default_factory=list)

    def add(self, sample: Sample) -> None:
        self.samples.append(sample)
        if len(self.samples) > 2 * MOST_SAMPLES:
            raise too_many_samples(self.where, "samples", MOST_SAMPLES)


def parse_csv(text: str, where: str, stem: str) -> SampleFile:
    """The samples of a delimited text. Raises FileProblem."""
    rows = rows_of(text, where)
    if not rows:
        raise no_samples(where, "it is empty")
    tables, below = tables_of(rows)
    found = _Found(where, stem)
    name = where.replace("\\", "/").rpartition("/")[2]
    first = tables[0].above if tables else []
    down = [table for table in tables if table.columns]
    for number, table in enumerate(tables):
        # What stands above the first table holds for all, and what stands below the last too, where they say nothing themselves.
        around = [table.above, *([first] if number else []), below]
        told = [row for part in around for row in part if not row.comment or ":" in row.text or "=" in row.text]
        lines = tuple(row.text[:300] for part in around for row in part)
        words = Words((*keywords_of(told), *lone_units([row for part in around for row in part])), lines, name)
        if table.columns:
            _down(table, words, found, down.index(table) + 1 if len(down) > 1 else 0)
        else:
            _across(table, words, found)
    if not found.samples and not found.bad:
        found.samples += listed_colour(rows, where, stem)
    if found.bad:
        raise BadCells(where, found.bad)
    if not found.samples:
        raise _refusal(rows, tables, found)
    return SampleFile(where, FORM, settled(found.samples, where), tuple(dict.fromkeys(found.notes)))


def _refusal(rows: Sequence[Row], tables: Sequence[Table], found: _Found) -> Exception:
    if found.no_light:
        line, head = found.no_light[0]
        return not_light(found.where, line, head)
    begins = f"it begins, in line {rows[0].number}, with “{plain(rows[0].text, 40)}”"
    headed = next((row for row in rows if len(row.filled) > 1 and heads_wavelengths(row.cells)), None)
    if headed is not None:
        reason = f"line {headed.number} heads wavelengths, but no table of numbers stands below it"
        return no_samples(found.where, reason, Remedy.CORRECT_AND_READ_AGAIN)
    reason = f'no line heads columns by wavelengths, "nm", or L, a, b; {begins}'
    return no_samples(found.where, reason, Remedy.HEAD_THE_COLUMNS)


# A row a sample


def _across(table: Table, words: Words, found: _Found) -> None:
    head = next(row for row in table.heads if waves_of(row.cells) or colours_of(row.cells))
    heads = head.cells
    waves, colours = waves_of(heads), colours_of(heads)
    used = {c for group in waves for _, c in group.columns} | {c for group in colours for c in group.columns}
    name_at, other_at = _name_columns(table.body, heads, used)
    light_at, observer_at = column_of(heads, LIGHTS), column_of(heads, OBSERVERS)
    conditions = columns_of(heads, CONDITIONS)
    units = " ".join({table.units(c) for c in used})
    for row in table.body:
        name = plain(row.cell(name_at), 80) if name_at is not None else ""
        other = plain(row.cell(other_at), 80) if other_at is not None else ""
        if _STATISTICS.fullmatch(name.lower()) and len(table.body) > 1:
            found.notes.append(f"line {row.number}, {name}, tells how sure the readings are, and is none")
            continue
        name = name or other or (found.stem if len(table.body) == 1 else "")
        if not name and name_at is not None:
            continue
        name = name or f"row {row.number}"
        own = [(HEAD, " ".join(row.cell(c) for c in conditions))]
        if light_at is not None:
            own.append((HEAD, f"light {row.cell(light_at)}"))
        if observer_at is not None and row.cell(observer_at):
            own.append((HEAD, f"{row.cell(observer_at).rstrip('°').removesuffix('deg').strip()}°"))
        said: dict[str, Any] = {
            "source": f"{found.where}, line {row.number}",
            "line": row.number,
            "other_name": "" if other == name else other,
        }
        mine: list[Sample] = []
        for letters in colours:
            read = _cells(row, letters.columns, heads, found.bad)
            if read:
                meant = meaning_of([(HEAD, letters.words), *own], words, colour=True)
                told = {**meant.fields(), "unit": None, "asks": ()}
                mine.append(Sample(name, "colour", tuple(read), letters.space, **told, **said))
        for group in waves:
            # Where a wavelength has no value, as past the end of an instrument's range, it is left out.
            columns = [(nm, c) for nm, c in group.columns if not is_missing(row.cell(c))]
            read = _cells(row, [c for _, c in columns], heads, found.bad) if len(columns) >= LEAST_WAVES else None
            if read:
                meant = meaning_of([*_own_words(group, units), *own], words, place=f"line {row.number}: ")
                nm = [one for one, _ in columns]
                mine.append(spectrum(_FORM, name=name, nm=nm, values=read, **meant.fields(), **said))
        for sample in _told_apart(mine):
            found.add(sample)


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
        worded = [c for c in free if any(texts(c)) and all(value_of(text) is None for text in texts(c) if text)]
        name = next((c for c in worded if len(set(texts(c))) == len(body)), worded[0] if worded else None)
        # A number that goes before the readings is one, too, where it is headed by nothing that is read.
        name = next((c for c in free if any(texts(c)) and c == 0), None) if name is None else name
    return (number, None) if name is None else (name, number)


def _cells(row: Row, columns: Sequence[int], heads: Sequence[str], bad: list[Cell]) -> list[float] | None:
    """The numbers in these columns; None where all are empty, or one is bad."""
    texts = [row.cell(c) for c in columns]
    if all(is_missing(text) for text in texts):
        return None
    values = [value_of(text) for text in texts]
    for text, value, c in zip(texts, values, columns, strict=True):
        if value is None or abs(value) > 1e9:
            bad.append(Cell(row.number, plain(heads[c], 30), no_number(text)))
            return None
    return [v for v in values if v is not None]


# A column a sample


@dataclass(frozen=True, slots=True)
class _Column:
    at: int
    wave: int
    head: str
    above: str
    units: str


def _down(table: Table, words: Words, found: _Found, block: int) -> None:
    columns = _value_columns(table, words, found)
    letters = len(columns) == 1 or all(quantity_in(one.head) for one in columns)
    named = [(one, _name_of(one, table, letters)) for one in columns]
    title = plain(words.value(*TITLES) or _title(table), 80)
    metas = [
        meaning_of([(HEAD, one.head), (HEAD, one.units), (HEAD, one.above if named[i][1] != one.above else "")], words,
                   letters=letters, place=f"line {table.line}: ")
        for i, one in enumerate(columns)
    ]  # fmt: skip
    unnamed = [meant.quantity for (_, name), meant in zip(named, metas, strict=True) if not name]
    for (one, name), meant in zip(named, metas, strict=True):
        if len(found.samples) >= MOST_SAMPLES:
            raise too_many_samples(found.where, "samples", MOST_SAMPLES)
        nm, values = _read(table, one, found)
        if len(nm) < 2 or found.bad:
            continue
        other = ""
        if not name and unnamed.count(meant.quantity) > 1:
            name = f"column {one.at + 1}"
        elif not name:
            name, other = (title or f"block {block}", "") if block else (found.stem, title)
        elif len(columns) == 1 and not block:
            other = found.stem
        found.add(
            spectrum(
                _FORM, f"{found.where}, line {table.line}, column {one.at + 1}", plain(name, 80) or f"column {one.at + 1}", nm,
                values,
                line=table.line, other_name="" if other == name else other, **meant.fields(),
            )
        )  # fmt: skip


def _value_columns(table: Table, words: Words, found: _Found) -> list[_Column]:
    """The columns that hold readings: not those beside them that tell how sure they are, count, or are detector counts."""
    width = max(len(row.cells) for row in table.body)
    every = [
        _Column(
            c,
            max((w for w in table.waves if w < c), default=table.waves[0]),
            table.head(c),
            table.head(c, 1),
            table.units(c),
        )
        for c in range(width)
        if c not in table.waves and any(value_of(row.cell(c)) is not None for row in table.body)
    ]
    # Curves of an observer or of a camera are no readings of a sample.
    initials = {one.head.lower()[:1] for one in every if len(one.head) < 6}
    weights = next((letters for letters in ("xyz", "rgb") if {*letters} <= initials), "")
    kept: list[_Column] = []
    for one in every:
        text = f"{one.head} {one.units}"
        if is_beside(one.head) and len(every) > 1:
            found.notes.append(
                f"line {table.line}, column {one.at + 1} ({plain(one.head, 30)}) tells how sure the reading is, and is none"
            )
        elif _COUNTERS.fullmatch(one.head.lower()) and len(every) > 1 and one.head:
            continue
        elif not one.head and table.heads and one.at < table.waves[0]:
            # A number for each row, as a program for tables puts it in front.
            continue
        elif is_no_reading(text) or (one.head and one.head.lower()[:1] in weights and len(one.head) < 6):
            found.no_light.append((table.line, plain(text.strip(), 40)))
        else:
            kept.append(one)
    if {one.head.lower() for one in kept} == {"d", "r", "s", "p"}:
        # Dark, reference and sample beside what was worked out of them.
        kept = [replace(one, head="") for one in kept if one.head.lower() == "p"]
    if any(quantity_in(one.head) and not without_quantity(one.head) for one in kept):
        kept = [one for one in kept if quantity_in(one.head) or one.head.lower() not in _NOT_BESIDE_A_QUANTITY]
    if len(kept) == 1 and re.search(r"intensi|a\.\s?u\.", kept[0].head.lower()) and not quantity_in(kept[0].head):
        meant = meaning_of([], replace(words, lines=()))
        if meant.quantity is None:
            found.no_light.append((table.line, plain(kept[0].head, 40)))
            return []
    return kept


def _name_of(one: _Column, table: Table, letters: bool) -> str:
    """A column's name: its head without quantity and unit, else what stands above it, or above its wavelengths."""
    own = re.sub(r"(?:^|(?<=[\s_.\-(]))y\)?$", "", without_quantity(one.head), flags=re.IGNORECASE).strip(" _-.(")
    if own.lower() not in _GENERIC and not (letters and len(own) == 1 and quantity_in(own)):
        return own
    places = [
        one.above,
        *((table.head(c, 1) for c in (one.wave, one.wave - 1) if c >= 0) if len(table.waves) > 1 else ()),
    ]
    return next(
        (
            text
            for text in places
            if text and wave_scale(text) is None and without_quantity(text).lower() not in _GENERIC
        ),
        "",
    )


def _title(table: Table) -> str:
    """A line by itself just above the heads."""
    line = table.line
    for row in reversed(table.above[-3:]):
        alone = len(row.filled) == 1 and line - row.number <= 3 and len(row.text) < 80
        if alone and not re.search(r"[:=<>]", row.text) and not _MARKS.fullmatch(row.text.lower()):
            return re.sub(r"\s*-\s*(?:raw\s?data|rohdaten)$", "", row.filled[0], flags=re.IGNORECASE)
        line = row.number
    return ""


def _read(table: Table, one: _Column, found: _Found) -> tuple[list[float], list[float]]:
    """A column's wavelengths in nm, and its values; cells without a value are passed over."""
    scale = wave_scale(table.head(one.wave))
    if scale is None or scale == 1.0:
        in_row = wave_scale(table.units(one.wave)) if table.units(one.wave) else None
        scale = in_row if in_row is not None else 1.0
    nm: list[float] = []
    values: list[float] = []
    for row in table.body:
        at, cell = wave_of(row.cell(one.wave)), row.cell(one.at)
        if at is None or is_missing(cell):
            continue
        value = value_of(cell)
        if value is None or abs(value) > 1e9:
            found.bad.append(Cell(row.number, plain(one.head or f"column {one.at + 1}", 30), no_number(cell)))
            return [], []
        nm.append(1e7 / at if scale == 0 else at * scale)
        values.append(value)
    if nm and scale == 1.0 and max(nm) < 4.0:
        # Micrometres, whether the head says so or not: nothing else that is light counts so low.
        nm = [1e3 * one for one in nm]
    return nm, values
