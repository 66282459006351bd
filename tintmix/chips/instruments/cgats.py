"""CGATS.17 and ISO 28178 ASCII text: keywords, a data format, data sets; many tables a file.

Written to the published field names (ANSI CGATS.17-2009, ISO 28178:2009; from memory of the standard's tables):
SAMPLE_ID, SAMPLE_NAME, LAB_L …, LAB_C, LAB_H, XYZ_X …, XYY_X, XYY_Y, XYY_CAPY, and SPECTRAL_NM, SPECTRAL_PCT,
SPECTRAL_DEC, either as pairs of wavelength and value or with the wavelength in the field's name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from tintmix.chips.instruments.errors import broken, no_samples, not_light, too_many_samples
from tintmix.chips.instruments.meaning import HEAD, KEYWORD, Words, meaning_of, settled
from tintmix.chips.instruments.sample import MOST_SAMPLES, Sample, SampleFile, Space, bounded, spectrum
from tintmix.errors import Remedy
from tintmix.files.table import number_of
from tintmix.files.words import plain

_FORM = "a CGATS text"
_MOST_FIELDS = 5_000
"""Six times the 801 wavelengths of a fine spectrum: a file that says more is damaged or made to fill a memory."""
_LONGEST_LINE = 200_000
"""Forty characters for each of these."""
_WAVE = re.compile(
    r"((?:SPECTRAL|SPEC)?_?(?:NM|PCT|DEC|R|T|RADIANCE|REFL|TRANS)?)_?([0-9]{3,4}(?:\.[0-9]{1,6})?)(?:_?NM)?",
    re.IGNORECASE,
)
_NORMS = {
    "100": "percent",
    "100.0": "percent",
    "100.000000": "percent",
    "1": "fraction",
    "1.0": "fraction",
    "1.000000": "fraction",
}
"""What a full reading is."""
_MOST_KEYWORDS = 200
"""Kept of one table: real headers have some dozens."""
_TOKEN = re.compile(r'"((?:[^"]|"")*)"|(["#])|(\S+)')
_COLOURS: dict[Space, tuple[str, str, str]] = {
    "Lab": ("LAB_L", "LAB_A", "LAB_B"),
    "XYZ": ("XYZ_X", "XYZ_Y", "XYZ_Z"),
    "xyY": ("XYY_X", "XYY_Y", "XYY_CAPY"),
    "LCh": ("LAB_L", "LAB_C", "LAB_H"),
}


@dataclass(slots=True)
class _Table:
    said: dict[str, str] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    fields: list[str] = field(default_factory=list)
    told_sets: int | None = None
    sets: list[tuple[int, list[str]]] = field(default_factory=list)


def parse_cgats(text: str, where: str, stem: str = "") -> SampleFile:
    """The samples of all tables of a CGATS text; each has a name, so stem is not used. Raises FileProblem."""
    samples: list[Sample] = []
    unread: list[_Table] = []
    for table in _tables(text, where):
        found = [*_samples(table, where)]
        if not found and table.sets:
            unread.append(table)
        samples += found
        bounded(samples, where)
    if unread and not samples:
        fields = plain(", ".join(unread[0].fields), 60)
        reason = (
            f"the fields above line {unread[0].sets[0][0]} ({fields}) hold no spectrum and no L*a*b*, XYZ, xyY or LCh"
        )
        raise no_samples(where, reason, Remedy.EXPORT_COLOURS)
    return SampleFile(where, "CGATS", settled(samples, where))


def _tables(text: str, where: str) -> Iterator[_Table]:
    table, state = _Table(), "keywords"
    waiting: list[str] = []
    for number, raw in enumerate(text.splitlines(), 1):
        if len(raw) > _LONGEST_LINE:
            raise broken(where, _FORM, f"line {number} is longer than {_LONGEST_LINE} characters")
        words = _tokens(raw, number, where)
        if not words:
            continue
        first = words[0].upper()
        if first == "BEGIN_DATA_FORMAT":
            state, table.fields, words = "fields", [], words[1:]
        elif first == "BEGIN_DATA":
            if not table.fields:
                raise broken(where, _FORM, f"line {number}: data begin, but no BEGIN_DATA_FORMAT says what they are")
            state, words, waiting = "data", words[1:], []
        elif first == "END_DATA":
            if waiting:
                said = f"the last set has {len(waiting)} values for {len(table.fields)} fields"
                raise broken(where, _FORM, f"line {number}: {said}")
            if table.told_sets not in (None, len(table.sets)):
                said = f"{len(table.sets)} stand there, the last in line {number - 1}; it may be cut short"
                raise broken(where, _FORM, f"NUMBER_OF_SETS is {table.told_sets}, but {said}")
            yield table
            # Keywords hold for the tables that follow, until they are said anew.
            table, state = _Table(dict(table.said), dict(table.lines)), "keywords"
            continue
        else:
            words = words if state != "data" else _by_tabs(raw, words, waiting, table)
        if state == "fields":
            ends = [i for i, word in enumerate(words) if word.upper() == "END_DATA_FORMAT"]
            table.fields += words[: ends[0]] if ends else words
            state = "keywords" if ends else state
            if len(table.fields) > _MOST_FIELDS:
                raise too_many_samples(where, "fields", _MOST_FIELDS)
        elif state == "data":
            waiting += words
            if len(waiting) > len(table.fields):
                raise broken(where, _FORM, f"line {number} has {len(waiting)} values for {len(table.fields)} fields")
            if waiting and len(waiting) == len(table.fields):
                if len(table.sets) >= MOST_SAMPLES:
                    raise too_many_samples(where, "samples", MOST_SAMPLES)
                table.sets.append((number, waiting))
                waiting = []
        elif first == "NUMBER_OF_SETS" and len(words) > 1 and words[1].isdigit() and len(words[1]) < 9:
            table.told_sets = int(words[1])
        elif len(table.said) < _MOST_KEYWORDS and len(words) > 1:
            _keep(table.said, first, " ".join(words[1:])[:500])
            table.lines[first] = number
    if state == "data":
        raise broken(where, _FORM, "it has no END_DATA, so it may be cut short")


def _by_tabs(raw: str, words: list[str], waiting: list[str], table: _Table) -> list[str]:
    """A set's values: by tabs where a name with blanks makes more words of it than there are fields."""
    cells = [cell.strip().strip('"') for cell in raw.rstrip("\r\n\t ").split("\t")]
    return cells if not waiting and len(words) != len(table.fields) and len(cells) == len(table.fields) else words


def _keep(said: dict[str, str], key: str, value: str) -> None:
    """A keyword's value; WEIGHTING_FUNCTION says several things, one after the other."""
    again = key == "WEIGHTING_FUNCTION" and value.split(",")[0] not in said.get(key, "")
    said[key] = f"{said[key]} {value}" if again and key in said else value


def _tokens(line: str, number: int, where: str) -> list[str]:
    """Words parted by white space; a quoted string is one, with "" for a quote; # begins a comment."""
    words: list[str] = []
    for found in _TOKEN.finditer(line):
        quoted, mark, word = found.groups()
        if mark == "#":
            break
        if mark:
            raise broken(where, _FORM, f"line {number}: a quote is opened and never closed")
        words.append(word if quoted is None else quoted.replace('""', '"'))
    return words


def _samples(table: _Table, where: str) -> Iterator[Sample]:
    heads = [name.upper() for name in table.fields]
    place = {name: heads.index(name) for name in heads}
    space = next((space for space, needed in _COLOURS.items() if all(h in place for h in needed)), None)
    spectral, prefix = _spectral(heads, where)
    words = Words(
        tuple(
            (table.lines.get(key, 0), key.lower().replace("_", " "), _plain_words(value))
            for key, value in table.said.items()
        )
    )
    unit = (
        "percent"
        if "PCT" in prefix
        else "fraction"
        if "DEC" in prefix
        else _NORMS.get(table.said.get("SPECTRAL_NORM", ""))
    )
    near = [
        (
            HEAD,
            {"R": "reflectance", "REFL": "reflectance", "T": "transmittance", "TRANS": "transmittance"}.get(
                prefix.strip("_"), ""
            ),
        )
    ]
    for number, cells in table.sets:
        told: dict[str, Any] = {"source": f"{where}, line {number}", "line": number}
        read = partial(_number, cells, table.fields, told["source"])
        ids = [cells[place[h]].strip() for h in ("SAMPLE_NAME", "SAMPLE_ID", "SAMPLEID", "STRING") if h in place]
        names = [shown for name in ids if (shown := plain(name, 80))] or [f"set {number}"]
        told["other_name"] = names[1] if len(names) > 1 and names[1] != names[0] else ""
        if space is not None:
            values = tuple(read(place[h]) for h in _COLOURS[space])
            meant = replace(meaning_of(near, words, colour=True), asks=())
            yield Sample(names[0], "colour", values, space, **meant.fields(), **told)
        if spectral:
            nm = [at if isinstance(at, float) else read(at) for at, _ in spectral]
            meant = meaning_of(near, words, place=f"line {number}: ")
            if meant.none is not None:
                raise not_light(where, number, meant.none)
            if unit is not None:
                meant = replace(
                    meant,
                    unit=unit,
                    read_from={**meant.read_from, "unit": HEAD if prefix in ("PCT", "DEC") else KEYWORD},
                )
            yield spectrum(_FORM, name=names[0], nm=nm, values=[read(c) for _, c in spectral], **meant.fields(), **told)


def _plain_words(value: str) -> str:
    """What a keyword says, less what a white base is called ("Abs" for absolute), which is no absorbance."""
    return re.sub(r"WhiteBase\s*[=:]\s*\w+", "", value, flags=re.IGNORECASE)


def _spectral(heads: Sequence[str], where: str) -> tuple[list[tuple[float | int, int]], str]:
    """Where a spectrum stands: the wavelength, or its column, beside the column of the value; and what heads it besides."""
    pairs: list[tuple[float | int, int]] = [
        (i, i + 1)
        for i, head in enumerate(heads[:-1])
        if head == "SPECTRAL_NM" and heads[i + 1] in ("SPECTRAL_PCT", "SPECTRAL_DEC")
    ]
    waves = [(float(m.group(2)), i, m.group(1)) for i, head in enumerate(heads) if (m := _WAVE.fullmatch(head))]
    if not pairs and len({nm for nm, _, _ in waves}) < len(waves):
        raise broken(where, _FORM, "a wavelength heads two fields")
    if pairs:
        return pairs, heads[pairs[0][1]]
    return (
        ([(nm, i) for nm, i, _ in waves], waves[0][2].removeprefix("SPECTRAL").strip("_"))
        if len(waves) >= 5
        else ([], "")
    )


def _number(cells: Sequence[str], fields: Sequence[str], source: str, column: int) -> float:
    value = number_of(cells[column].strip(), decimal_comma=True)
    if value is None or abs(value) > 1e9:
        raise broken(source, _FORM, f"{plain(fields[column], 30)} is {plain(cells[column], 30)!r}, which is no number")
    return value
