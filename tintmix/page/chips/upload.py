"""A whole chip set brought to the page, and taken from it: its table, its set.toml, and the curves that this names."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet, Kind
from tintmix.chips.folder import parse_chips
from tintmix.chips.set_file import parse_setting
from tintmix.files.table import TABLE_BYTES
from tintmix.files.text import TOML_BYTES, decode_text, parse_toml
from tintmix.page.errors import by_known_names, not_typed, too_many
from tintmix.page.workspace import Workspace

MOST_FILES = 12
CURVES = {"light": "light.csv", "camera": "camera.csv", "tile": "tile.csv"}
"""Keys of [reading] that may name a file, and what the page calls it."""
RESIN = "resin.toml"
SET, TABLE = "set.toml", "chips.csv"
File = tuple[str, bytes]


@dataclass(frozen=True, slots=True)
class Uploaded:
    """A set, and the names of files that were none of it."""

    chips: ChipSet
    passed_over: tuple[str, ...]


def uploaded_set(files: Sequence[File], kind: Kind, title: str) -> Uploaded:
    """A set from its files, in any order: chips.csv, set.toml where there is one, and what that names beside it.

    Their owner's names only tell which is which; what is set down for reading has names made here. kind, title: of a set
    without set.toml. Raises ValueProblem, and what is wrong with the files.
    """
    if len(files) > MOST_FILES:
        raise too_many("files of a set", len(files), MOST_FILES)
    by_name = {name.lower(): (name, content) for name, content in files}
    setting = by_name.pop(SET, None)
    if setting is None:
        tomls = [name for name in by_name if name.endswith(".toml")]
        setting = by_name.pop(tomls[0]) if len(tomls) == 1 else None
    told: dict[str, Any] = {"format": 1, "title": title, "reading": {"kind": kind}}
    if setting is not None:
        told = _table_of(setting[1])
    beside = _named(told, by_name)
    table = by_name.pop(TABLE, None)
    if table is None:
        tables = [name for name in by_name if name.endswith((".csv", ".tsv", ".txt"))]
        if len(tables) != 1:
            raise not_typed("the files", "", "Choose chips.csv, and with it set.toml and the files that it names.")
        table = by_name.pop(tables[0])
    passed = tuple(name for name, _ in by_name.values())
    return Uploaded(_parsed(table, told, beside), passed)


def _table_of(content: bytes) -> dict[str, Any]:
    return parse_toml(decode_text(content, SET, TOML_BYTES), SET)


def _named(told: dict[str, Any], by_name: dict[str, File]) -> dict[str, File]:
    """The files that set.toml names, by our names for them, taken out of `by_name`; `told` names them so from now on."""
    found: dict[str, File] = {}
    reading = told.get("reading")
    if isinstance(reading, dict):
        for key, ours in CURVES.items():
            said = reading.get(key)
            if isinstance(said, str) and said.lower().endswith(".csv"):
                found[ours] = _taken(said, by_name)
                reading[key] = ours
    if isinstance(told.get("resin"), str):
        found[RESIN] = _taken(told["resin"], by_name)
        told["resin"] = RESIN
    return found


def _taken(said: str, by_name: dict[str, File]) -> File:
    last = said.replace("\\", "/").rpartition("/")[2]
    if last.lower() not in by_name:
        raise not_typed("the files", "", f"set.toml names {last[:80]} beside it; choose that file too.")
    return by_name.pop(last.lower())


def _parsed(table: File, told: dict[str, Any], beside: dict[str, File]) -> ChipSet:
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder) / SET
        for ours, (_, content) in beside.items():
            (Path(folder) / ours).write_bytes(content)
        text = decode_text(table[1], table[0], TABLE_BYTES)
        names = [(where, SET), *((Path(folder) / ours, name) for ours, (name, _) in beside.items())]
        with by_known_names(*names):
            return parse_chips(text, parse_setting(told, where), table[0])


def set_as_zip(workspace: Workspace, thing: str) -> bytes:
    """chips.csv, set.toml and the curves of a kept set, as one file."""
    folder = workspace.set_folder(thing)
    chips = workspace.chip_set(thing)
    held = (
        (chips.reading.light, chips.light_curve),
        (chips.reading.camera, chips.camera_curve),
        (chips.reading.tile, chips.tile_curve),
    )
    names = [TABLE, SET, *(name for name, curve in held if curve is not None)]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in names:
            packed.writestr(name, (folder / name).read_bytes())
    return out.getvalue()
