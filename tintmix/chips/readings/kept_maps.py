"""What a maker said of files: which sample was which chip, and which column was what. Kept beside the readings for the next file
like it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tintmix.chips.instruments.tabular.layout import Layout
from tintmix.errors import TintmixError
from tintmix.files.canonical import json_text
from tintmix.files.plain import table_of
from tintmix.files.text import load_text

MAPS = "readings/maps.json"
LAYOUTS = "readings/layouts.json"
MAPS_FORMAT = 1
"""What formats.md calls it: a file with another number is made anew."""
_BYTES = 1_000_000
"""Fifty shapes of a hundred chips stay below a hundredth of it."""
_MOST = 50
"""Shapes of files that are remembered, the newest first."""


def remembered(folder: Path, samples: Sequence[str], chips: Sequence[str]) -> dict[str, str]:
    """What was said when a file held just these samples; nothing where that was never said, or names a chip that is gone.

    A list that is damaged or newer than this program is passed over: the maker is asked again.
    """
    named = list(dict.fromkeys(samples))
    for one in _kept_maps(folder):
        if one["samples"] == named and {c for c in one["map"].values() if "*" not in c} - {""} <= {*chips}:
            return dict(one["map"])
    return {}


def with_map(folder: Path, samples: Sequence[str], mapping: Mapping[str, str]) -> dict[str, str]:
    """The file that remembers this mapping too, by its name in the set's folder."""
    named = list(dict.fromkeys(samples))
    kept = [{"samples": named, "map": dict(mapping)}, *(one for one in _kept_maps(folder) if one["samples"] != named)]
    return {MAPS: json_text({"format": MAPS_FORMAT, "maps": kept[:_MOST]})}


def layouts(folder: Path) -> list[Layout]:
    """The layouts of files that a maker has described, the newest first."""
    found = []
    for one in _kept(folder / LAYOUTS, "layouts"):
        try:
            found.append(Layout(**{**one, "values": tuple(map(int, one["values"]))}))
        except (TypeError, ValueError, KeyError):
            continue
    return found


def with_layout(folder: Path, layout: Layout) -> dict[str, str]:
    """The file that remembers this layout too, in the place of one of its name."""
    kept = [layout, *(one for one in layouts(folder) if one.name != layout.name)]
    return {LAYOUTS: json_text({"format": MAPS_FORMAT, "layouts": [table_of(one) for one in kept[:_MOST]]})}


def _kept_maps(folder: Path) -> list[dict[str, Any]]:
    return [one for one in _kept(folder / MAPS, "maps") if _is_map(one)]


def _kept(path: Path, key: str) -> list[dict[str, Any]]:
    """The tables of a list; none where it is damaged, or newer than this program."""
    if not path.is_file():
        return []
    try:
        told = json.loads(load_text(path, _BYTES, "what was said of files"))
    except (TintmixError, ValueError, RecursionError):
        return []
    if not isinstance(told, dict) or told.get("format") != MAPS_FORMAT or not isinstance(told.get(key), list):
        return []
    return [one for one in told[key] if isinstance(one, dict)]


def _is_map(one: dict[str, Any]) -> bool:
    if not isinstance(one.get("samples"), list) or not isinstance(one.get("map"), dict):
        return False
    return all(isinstance(text, str) for text in (*one["samples"], *one["map"], *one["map"].values()))
