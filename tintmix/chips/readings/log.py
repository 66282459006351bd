"""What a reading day leaves in a set's folder: chips.csv with the new readings, set.toml where it learnt something,
and under readings/ a log of every number that was read and the table as it stood before.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import count
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import or_refused
from tintmix.chips.folder import CHIPS_NAME, SET_NAME, chips_text, parse_chips
from tintmix.chips.readings.put import Put
from tintmix.chips.set_file import parse_setting, read_setting
from tintmix.files import caps
from tintmix.files.canonical import json_text
from tintmix.files.stamp import made_at, made_by
from tintmix.files.table import number_of, read_sheet, table_text
from tintmix.files.text import load_text, parse_toml
from tintmix.files.words import plain

LOG_FORMAT = 1
"""Of log.csv; a newer one is refused."""
LOG_FOLDER = "readings"
_TEXT_COLUMNS = ("chip", "cup", "note", "use", "haze", "check_chip", "camera")


def planned(put: Put, old: ChipSet, changes: Mapping[str, Any], sources: Sequence[str]) -> dict[str, str | bytes]:
    """The files that hold what was read: name in the folder → content, chips.csv last. Nothing is written.

    The table is read back as `read_chips` would before it is given out, so that a reading which no chip can have is
    refused here. Raises ValueProblem, and what reading the folder raises.
    """
    assert old.folder is not None
    log: dict[str, str | bytes] = {}
    files: dict[str, str | bytes] = {}
    stamp = f"{LOG_FOLDER}/{_stamp(old.folder)}"
    set_toml, chips_csv = old.folder / SET_NAME, old.folder / CHIPS_NAME
    setting = read_setting(set_toml)
    if changes:
        log[f"{stamp}-before-{SET_NAME}"] = text = load_text(set_toml, caps.SET, "the set's own file")
        files[SET_NAME] = amended = amend(text, changes)
        setting = parse_setting(parse_toml(amended, set_toml), set_toml)
    if put.changed:
        before = load_text(chips_csv, caps.SET, "the table of the set's chips")
        heads = read_sheet(before, CHIPS_NAME, key="chip").header
        files[CHIPS_NAME] = after = in_dialect(chips_text(put.chips, heads), before)
        where = ", ".join(sources) or "the reading"
        with or_refused(where, _stood(put, where)):
            parse_chips(after, setting, "the table")
        if any(chip.is_read for chip in old.chips):
            log[f"{stamp}-before-{CHIPS_NAME}"] = before
    if any(row.action in ("new", "replaced", "check") for row in put.rows):
        log[f"{stamp}.json"] = log_text(put, old, sources)
    return log | files


def _stood(put: Put, where: str) -> dict[int, str]:
    """Row of the set's table → where its new reading stood, and its chip."""
    told = {row.chip: row.source.removeprefix(f"{where}, ") for row in put.rows if row.action in ("new", "replaced")}
    return {
        # The header is row 1.
        at: f"{told[chip.name]}, chip {plain(chip.name, 60)}".removeprefix(", ")
        for at, chip in enumerate(put.chips.chips, 2)
        if chip.name in told
    }


def log_text(put: Put, old: ChipSet, sources: Sequence[str]) -> str:
    """The log of one go as JSON: every repeat as it was read, before any correction, and what came of it."""
    was = {chip.name: list(chip.values) for chip in old.chips if chip.is_read}
    body: dict[str, Any] = {
        "format": LOG_FORMAT,
        "made_by": made_by(),
        "made_at": made_at(),
        "sources": list(sources),
        "kind": put.chips.reading.kind,
        "space": put.chips.reading.space,
        "wavelengths_nm": list(put.chips.reading.wavelengths_nm or ()) or None,
        "chips": [
            row.body() | {"read": put.raw[row.chip].tolist(), "value": list(row.values), "before": was.get(row.chip)}
            for row in put.rows
        ],
        "drift": put.drift_body(),
    }
    return json_text(body, on_one_line=True)


def amend(text: str, changes: Mapping[str, Any]) -> str:
    """set.toml with some keys of [reading] set, all else as its maker wrote it, comments and all.

    >>> amend('format = 1 # one\\n[reading]\\nkind = "colour"\\n', {"light": "D50"})
    'format = 1 # one\\n[reading]\\nkind = "colour"\\nlight = "D50"\\n'
    """
    import tomlkit  # 40 ms, which only a set that learns something new need spend

    document = tomlkit.parse(text)
    reading: Any = document["reading"]
    reading.update(changes)
    return tomlkit.dumps(document)


def in_dialect(table: str, before: str) -> str:
    """A comma-separated table in the delimiter, decimal mark and byte order mark of the one that it replaces.

    >>> in_dialect("chip,L\\nb1,50.5\\n", "chip;L\\nb1;50,1\\n")
    'chip;L\\nb1;50,5\\n'
    """
    mark = "\ufeff" if before.startswith("\ufeff") else ""
    first = next((line for line in before.splitlines() if line.strip()), "")
    sheet = read_sheet(before, CHIPS_NAME, key="chip")
    if not sheet.decimal_comma:
        return mark + table
    numeric = [i for i, head in enumerate(sheet.header) if head not in _TEXT_COLUMNS]
    cells = [row[i] for _, row in sheet.rows for i in numeric if i < len(row)]
    comma = any(re.fullmatch(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?", cell) for cell in [*cells, *sheet.header])
    written = read_sheet(table, CHIPS_NAME, key="chip")
    text = {i for i, head in enumerate(written.header) if head in _TEXT_COLUMNS}

    def said(i: int, cell: str) -> str:
        return cell.replace(".", ",") if comma and i not in text and number_of(cell) is not None else cell

    rows = [written.header, *(row for _, row in written.rows)]
    put = [[said(i, cell) for i, cell in enumerate(row)] for row in rows]
    return mark + table_text(put, "\t" if "\t" in first else ";")


def _stamp(folder: Path) -> str:
    """The time as a file's name, and a number where one of that second is there already."""
    base, logs = made_at().replace(":", "-"), folder / LOG_FOLDER
    taken = [path.name for path in logs.iterdir()] if logs.is_dir() else []
    stamps = (base if number == 1 else f"{base}-{number}" for number in count(1))
    return next(one for one in stamps if not any(name.startswith((f"{one}.", f"{one}-before")) for name in taken))
