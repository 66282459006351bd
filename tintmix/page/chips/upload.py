"""A whole chip set brought to the page, and taken from it: its table, its set.toml, and the curves that this names."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet, Kind
from tintmix.chips.folder import parse_chips
from tintmix.chips.photo.sheet.holder import LAID_NAME, foreseen_from_text, laid_from_text
from tintmix.chips.set_file import parse_setting
from tintmix.files import caps
from tintmix.files.text import decode_text, parse_toml
from tintmix.page.errors import by_known_names, not_chosen, not_typed, too_many
from tintmix.page.workspace import Workspace

MOST_FILES = 12
CURVES = {"light": "light.csv", "camera": "camera.csv", "tile": "tile.csv"}
"""Keys of [reading] that may name a file, and what the page calls it."""
RESIN = "resin.toml"
SET, TABLE = "set.toml", "chips.csv"
File = tuple[str, bytes]


def uploaded_set(
    files: Sequence[File], kind: Kind, title: str
) -> tuple[ChipSet, tuple[str, ...], dict[str, Any] | None]:
    """A set from its files, in any order: chips.csv, set.toml where there is one, and what that names beside it; the names of
    those that were none of it; and what holder.csv says, if it is there: photos, window → chip of each, and foreseen.

    Their owner's names only tell which is which; what is set down for reading has names made here. kind, title: of a set
    without set.toml. Raises ValueProblem, and what is wrong with the files.
    """
    if len(files) > MOST_FILES:
        raise too_many("files of a set", len(files), MOST_FILES)
    by_name = {name.lower(): (name, content) for name, content in files}
    setting = _picked(by_name, SET, (".toml",))
    told: dict[str, Any] = {"format": 1, "title": title, "reading": {"kind": kind}}
    if setting is not None:
        told = parse_toml(decode_text(setting[1], SET, caps.SET), SET)
    beside = _named(told, by_name)
    laid = by_name.pop(LAID_NAME, None)
    table = _picked(by_name, TABLE, (".csv", ".tsv", ".txt"))
    if table is None:
        raise not_chosen("files", "the chip set", "Choose chips.csv, and with it set.toml and the files that it names.")
    passed = tuple(name for name, _ in by_name.values())
    chips = _parsed(table, told, beside)
    if laid is None or chips.reading.kind != "camera":
        return chips, passed, None
    text = decode_text(laid[1], LAID_NAME, caps.LAYOUT)
    photos, foreseen = laid_from_text(text, LAID_NAME), foreseen_from_text(text, LAID_NAME)
    return chips, passed, {"photos": [dict(photo) for photo in photos], "foreseen": foreseen}


def _picked(by_name: dict[str, File], name: str, endings: tuple[str, ...]) -> File | None:
    """The file of that name, else the only one that ends so, taken out of `by_name`; None where there is none."""
    alike = [other for other in by_name if other.endswith(endings)]
    return by_name.pop(name, None) or (by_name.pop(alike[0]) if len(alike) == 1 else None)


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
        text = decode_text(table[1], table[0], caps.SET)
        names = [(where, SET), *((Path(folder) / ours, name) for ours, (name, _) in beside.items())]
        with by_known_names(*names):
            return parse_chips(text, parse_setting(told, where), table[0])


def set_as_zip(workspace: Workspace, thing: str, laid: str = "") -> bytes:
    """chips.csv, set.toml and the curves of a kept set, as one file. laid: the text of its holder.csv, where it has one."""
    folder = workspace.set_folder(thing)
    chips = workspace.chip_set(thing)
    held = {key: getattr(chips.reading, key) for key in CURVES if getattr(chips, f"{key}_curve") is not None}
    names = [TABLE, SET, *held.values()]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in names:
            packed.writestr(name, (folder / name).read_bytes())
        if laid:
            packed.writestr(LAID_NAME, laid)
    return out.getvalue()
