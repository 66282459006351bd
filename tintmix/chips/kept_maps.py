"""Which sample was which chip, as its maker said it: kept beside the readings for the next file with the same samples in it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tintmix.errors import TintmixError
from tintmix.files.canonical import json_text
from tintmix.files.text import load_text

MAPS = "readings/maps.json"
MAPS_FORMAT = 1
_BYTES = 1_000_000
_MOST = 50
"""Shapes of files that are remembered, the newest first."""


def remembered(folder: Path, samples: Sequence[str], chips: Sequence[str]) -> dict[str, str]:
    """What was said when a file held just these samples; nothing where that was never said, or names a chip that is gone.

    A list that is damaged or newer than this program is passed over: the maker is asked again.
    """
    named = list(dict.fromkeys(samples))
    for one in _kept(folder):
        if one["samples"] == named and {c for c in one["map"].values() if "*" not in c} - {""} <= {*chips}:
            return dict(one["map"])
    return {}


def with_map(folder: Path, samples: Sequence[str], mapping: Mapping[str, str]) -> dict[str, str]:
    """The file that remembers this mapping too, by its name in the set's folder."""
    named = list(dict.fromkeys(samples))
    kept = [{"samples": named, "map": dict(mapping)}, *(one for one in _kept(folder) if one["samples"] != named)]
    return {MAPS: json_text({"format": MAPS_FORMAT, "maps": kept[:_MOST]})}


def _kept(folder: Path) -> list[dict[str, Any]]:
    path = folder / MAPS
    if not path.is_file():
        return []
    try:
        told = json.loads(load_text(path, _BYTES, "the list of maps"))
    except (TintmixError, ValueError, RecursionError):
        return []
    if not isinstance(told, dict) or told.get("format") != MAPS_FORMAT or not isinstance(told.get("maps"), list):
        return []
    return [one for one in told["maps"] if _is_map(one)]


def _is_map(one: object) -> bool:
    if not isinstance(one, dict) or not isinstance(one.get("samples"), list) or not isinstance(one.get("map"), dict):
        return False
    return all(isinstance(text, str) for text in (*one["samples"], *one["map"], *one["map"].values()))
