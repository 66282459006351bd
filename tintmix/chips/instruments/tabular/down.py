"""A column a sample: spectra whose wavelengths go down a column."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tintmix.chips.instruments.errors import NoReading, too_many_samples
from tintmix.chips.instruments.meaning import CELLS, HEAD, Words, meaning_of
from tintmix.chips.instruments.ordinates import NO_SHARE, no_reading_in
from tintmix.chips.instruments.sample import MOST_SAMPLES, spectrum
from tintmix.chips.instruments.tabular.cells import Row, is_missing, value_of
from tintmix.chips.instruments.tabular.gathered import FORM, Found
from tintmix.chips.instruments.tabular.heads import IDS, LEAST_WAVES, NAMES, column_of, wave_of
from tintmix.chips.instruments.tabular.keywords import TITLES
from tintmix.chips.instruments.tabular.tables import Table
from tintmix.chips.instruments.words import is_beside, quantity_in, to_nm, wave_scale, without_quantity
from tintmix.errors import Remedy
from tintmix.files.errors import Cell
from tintmix.files.table import no_number
from tintmix.files.words import plain
from tintmix.numerals import counted

_GENERIC = {
    "", "sample", "samples", "data", "spectrum", "spectra", "value", "values", "y", "y_value", "yvalue", "signal", "intensity",
    "measurement", "raw", "result", "raw data", "rawdata", "processed", "reading", "probe", "y axis", "y-axis", "ordinate",
    "scan", "spectral data", "messwert", "muestra", "campione", "échantillon", "amplitude", "absolute", "mean", "average",
    "average of", "corrected", "unit", "units", "scope", "total", "direct", "regular", "normal", "specular", "diffuse",
    "spectral", "internal",
    "log", "log10", "factor", "degree", "grad", "facteur de", "factor de", "fattore di", "fator de",
}  # fmt: skip
"""Heads that name no sample."""
_NOT_BESIDE_A_QUANTITY = re.compile(
    r"(?:sample|reference|ref|dark|raw|blank|baseline|signal|scope|background|intensity)\W*"
    r"(?:signal|scan|intensity|beam|spectrum|data)?\W*(?:[\[(].*)?"
)
"""Heads of what was measured on the way, where another column holds what came of it."""
_COUNTERS = re.compile(
    r"(?:no|nr|n°|nº|#|index|pixel|pixels|point|points|time|zeit|date|idx|i|row|unnamed.*)\.?\W*(?:\[?\(?m?s\)?\]?)?"
)
_MARKS = re.compile(r"[\W_]*(?:xy ?data|data ?points?|data|spectral data|raw ?data|table)[\W_]*")


_LETTER_BEFORE = re.compile(r"(?P<letter>%?[TRA]%?)[\s_:]+(?P<name>.+?)(?:\s*[\[(]%[\])])?")
_LETTER_BEHIND = re.compile(r"(?P<name>.+?)[\s_\-.]+(?P<letter>%?[TRA]%?)(?:\s*[\[(]%[\])])?")
_REMARKS = ("comment", "description", "location", "title", "file", "filename", "file name")
"""Of the heads of names, those under which the same may stand in every row of one spectrum."""
_BRACKETED = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_QUANTITIES = {"T": "transmittance", "R": "reflectance", "A": "absorbance"}


@dataclass(frozen=True, slots=True)
class _Column:
    at: int
    wave: int
    head: str
    above: str
    units: str


def read_down(table: Table, words: Words, found: Found, block: int) -> None:
    """The samples of a table whose wavelengths go down a column. block: its number among several. Raises FileProblem."""
    if (tagged := _by_name(table)) is not None:
        # A row a sample and wavelength: each sample's rows are a table.
        for name, body in tagged.items():
            part = Table(True, table.heads, body, table.waves, table.above)
            _read_down(part, words, found, block, name)
        return
    _read_down(table, words, found, block, "")


def _by_name(table: Table) -> dict[str, list[Row]] | None:
    """The rows of each sample, where a column names the sample in every row; None where there is no such column."""
    heads = [table.head(c) for c in range(max(len(row.cells) for row in table.body))]
    at = column_of(heads, [word for word in NAMES if word not in _REMARKS])
    at = column_of(heads, IDS) if at is None else at
    if at is None or at in table.waves:
        return None
    parts: dict[str, list[Row]] = {}
    for row in table.body:
        parts.setdefault(row.cell(at), []).append(Row(row.number, _without(row.cells, at), row.text, row.comment))
    # A column of counts is called "Sample", too.
    return parts if "" not in parts and len(parts) * LEAST_WAVES <= len(table.body) else None


def _without(cells: tuple[str, ...], at: int) -> tuple[str, ...]:
    return (*cells[:at], "", *cells[at + 1 :])


def _read_down(table: Table, words: Words, found: Found, block: int, tag: str) -> None:
    columns = _value_columns(table, words, found)
    letters = len(columns) == 1 or all(quantity_in(one.head) for one in columns)
    named = [(one, _name_of(one, table, letters)) for one in columns]
    # What stands in brackets behind the only reading is how it was worked out; behind one of several, whose it is.
    named = [
        (one, name if not _BRACKETED.fullmatch(name) else "" if len(named) == 1 else name[1:-1]) for one, name in named
    ]
    if not any(name and name == one.above for one, name in named):
        # What stands above the heads and names no sample is free words.
        words = replace(words, lines=(*(row.text for row in table.names_rows), *words.lines))
    named = _told_apart(named)
    above = [one.above if name != one.above else "" for one, name in named]
    above = above if all(quantity_in(one.above) for one in columns) else [""] * len(above)
    title = plain(words.value(*TITLES) or _title(table), 80)
    metas = [
        meaning_of([(HEAD, one.head), (HEAD, one.units), (HEAD, above[i])], words,
                   letters=letters, place=f"line {table.line}: ")
        for i, one in enumerate(columns)
    ]  # fmt: skip
    unnamed = [meant.quantity for (_, name), meant in zip(named, metas, strict=True) if not name]
    for (one, name), meant in zip(named, metas, strict=True):
        if len(found.samples) >= MOST_SAMPLES:
            raise too_many_samples(found.where, "samples", MOST_SAMPLES)
        if meant.none is not None:
            found.none.append((table.line, meant.none))
            continue
        nm, values, in_percent = _read(table, one, found)
        if len(nm) < 2 or found.bad:
            continue
        if meant.turned:
            values = meant.turned.absorbance(values)
            found.notes.append(f"line {table.line} counts in {meant.turned.name}, turned into absorbance")
        elif in_percent and meant.quantity != "absorbance":
            meant = replace(meant, unit="percent", read_from={**meant.read_from, "unit": CELLS})
        other = ""
        if not name and unnamed.count(meant.quantity) > 1:
            name = f"column {one.at + 1}"
        if tag:
            # Each row says whose it is; a head can only tell one sample's several columns apart.
            name, other = (f"{tag} {name}", tag) if name and len(columns) > 1 else (tag, name or found.stem)
        elif not name:
            name, other = (title or f"block {block}", "") if block else (found.stem, title)
        elif len(columns) == 1 and not block:
            other = found.stem
        found.add(
            spectrum(
                FORM, f"{found.where}, line {table.line}, column {one.at + 1}", plain(name, 80) or f"column {one.at + 1}", nm,
                values,
                line=table.line, other_name="" if other == name else other, **meant.fields(),
            )
        )  # fmt: skip


def _lettered(columns: Sequence[_Column]) -> Sequence[_Column]:
    """The columns with T, R or A spelled out where each has such a letter before or behind its name, and they make sense: all the
    same, or one sample's several."""
    parts = [_LETTER_BEFORE.fullmatch(one.head) or _LETTER_BEHIND.fullmatch(one.head) for one in columns]
    split = [(part["name"], part["letter"].strip("%")) for part in parts if part is not None]
    by_name = len({name for name, _ in split}) < len(split) == len(set(split))
    # Samples may be called "A 1", "A 2", and "T 1", "T 2".
    alike = {letter for _, letter in split} in ({"T"}, {"R"}) and not any(name.isdigit() for name, _ in split)
    if len(split) < max(len(columns), 2) or not (by_name or alike):
        return columns
    return [
        replace(one, head=f"{part['name']} {_QUANTITIES[part['letter'].strip('%')]}{' %' if '%' in one.head else ''}")
        for one, part in zip(columns, parts, strict=True)
        if part is not None
    ]


def _value_columns(table: Table, words: Words, found: Found) -> list[_Column]:
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
    every = [*_lettered(every)]
    # Curves of an observer or of a camera are no readings of a sample.
    initials = {one.head.lower()[:1] for one in every if len(one.head) < 6}
    weights = next((letters for letters in ("xyz", "rgb") if {*letters} <= initials), "")
    if {one.head.lower() for one in every} == {"n", "k"}:
        weights = "nk"
    passed = len(found.none)
    kept: list[_Column] = []
    for one in every:
        text = f"{one.head} {one.units}"
        if is_beside(one.head) and not all(is_beside(other.head) for other in every):
            found.notes.append(
                f"line {table.line}, column {one.at + 1} ({plain(one.head, 30)}) tells how sure the reading is, and is none"
            )
        elif _COUNTERS.fullmatch(one.head.lower()) and len(every) > 1 and one.head:
            continue
        elif not one.head and table.heads and one.at < table.waves[0]:
            # A number for each row, as a program for tables puts it in front.
            continue
        elif none := no_reading_in(text):
            found.none.append((table.line, none))
        elif one.head and one.head.lower()[:1] in weights and len(one.head) < 6:
            found.none.append((table.line, NoReading(text.strip(), NO_SHARE, Remedy.EXPORT_TRANSMITTANCE)))
        else:
            kept.append(one)
    if kept and len(found.none) > passed:
        names = ", ".join(plain(none.said, 30) for _, none in found.none[passed:][:4])
        found.notes.append(f"line {table.line}: {names} passed over, being no share of light")
    if {one.head.lower() for one in kept} == {"d", "r", "s", "p"}:
        # Dark, reference and sample beside what was worked out of them.
        kept = [replace(one, head="") for one in kept if one.head.lower() == "p"]
    if any(quantity_in(one.head) and (len(one.head) == 1 or not without_quantity(one.head)) for one in kept):
        kept = [one for one in kept if quantity_in(one.head) or not _NOT_BESIDE_A_QUANTITY.fullmatch(one.head.lower())]
    if len(kept) == 1 and re.search(r"intensi|a\.\s?u\.", kept[0].head.lower()) and not quantity_in(kept[0].head):
        meant = meaning_of([], replace(words, lines=()))
        if meant.quantity is None:
            found.none.append((table.line, NoReading(kept[0].head, NO_SHARE, Remedy.EXPORT_TRANSMITTANCE)))
            return []
    return kept


def _name_of(one: _Column, table: Table, letters: bool) -> str:
    """A column's name: its head without quantity and unit, else what stands above it, or above its wavelengths."""
    own = without_quantity(one.head)
    without_y = re.sub(r"(?:^|(?<=[\s_.\-(]))y\)?$", "", own, flags=re.IGNORECASE)
    own = own if own == without_y else without_y.strip(" _-.(")
    if own.lower() not in _GENERIC and not (letters and len(own) == 1 and quantity_in(own)):
        return own
    places = [
        one.above,
        *(
            (table.head(c, i) for i in (1, 0) for c in (one.wave, one.wave - 1) if c >= 0)
            if len(table.waves) > 1
            else ()
        ),
    ]
    return next(
        (
            text
            for text in places
            if text and wave_scale(text) is None and without_quantity(text).lower() not in _GENERIC
        ),
        "",
    )


def _told_apart(named: Sequence[tuple[_Column, str]]) -> list[tuple[_Column, str]]:
    """The columns with their names; beside samples, "Mean" and its like are names, too."""
    own = [without_quantity(one.head) for one, _ in named]
    beside = any(name for _, name in named)
    return [
        (one, name or (word if beside and own.count(word) == 1 else ""))
        for (one, name), word in zip(named, own, strict=True)
    ]


def _title(table: Table) -> str:
    """A line by itself just above the heads."""
    line = table.line
    for row in reversed(table.above[-3:]):
        alone = len(row.filled) == 1 and line - row.number <= 3 and len(row.text) < 80
        if alone and not re.search(r"[:=<>]", row.text) and not _MARKS.fullmatch(row.text.lower()):
            return re.sub(r"\s*-\s*(?:raw\s?data|rohdaten)$", "", row.filled[0], flags=re.IGNORECASE)
        if (
            row is table.above[0]
            and len(table.above) <= 3
            and len(row.filled) <= 3
            and not re.search(r"[:=<>]", row.text)
        ):
            # The first of a few lines above a block, whose title holds the sign that parts cells.
            return row.text.strip(' "')
        line = row.number
    return ""


def _read(table: Table, one: _Column, found: Found) -> tuple[list[float], list[float], bool]:
    """A column's wavelengths in nm, its values, and whether "%" stands behind each; cells without a value are passed over."""
    scale = wave_scale(table.head(one.wave))
    if scale is None or scale == 1.0:
        in_row = wave_scale(table.units(one.wave)) if table.units(one.wave) else None
        scale = in_row if in_row is not None else 1.0
    nm: list[float] = []
    values: list[float] = []
    gaps: list[tuple[int, str]] = []
    in_percent = True
    for row in table.body:
        at, cell = wave_of(row.cell(one.wave)), row.cell(one.at)
        if at is None or is_missing(cell):
            if at is not None and cell:
                gaps.append((row.number, cell))
            continue
        value = value_of(cell)
        if value is None or abs(value) > 1e9:
            found.bad.append(Cell(row.number, plain(one.head or f"column {one.at + 1}", 30), no_number(cell)))
            return [], [], False
        in_percent = in_percent and cell.endswith("%")
        nm.append(to_nm(at, scale))
        values.append(value)
    if nm and scale == 1.0 and max(nm) < 4.0:
        # Micrometres, whether the head says so or not: nothing else that is light counts so low.
        nm = [1e3 * one for one in nm]
    if gaps:
        line, cell = gaps[0]
        found.notes.append(
            f"column {one.at + 1}: {counted(len(gaps), 'cell')} without a value (“{plain(cell, 12)}” in line {line}) left out"
        )
    return nm, values, in_percent
