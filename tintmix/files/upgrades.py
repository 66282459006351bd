"""Formats of files, and how a file that an older version wrote goes on: read through small steps, copied before it is
written anew. A file that is newer than this version is refused and left alone.

To change a format, append a step to the kind's `Format`, which stands beside its reader (SET_FORMAT, RESIN_FORMAT,
TARGET_FORMAT, MODEL_FORMAT, RECIPE_FORMAT, STATE_FORMAT): a function that makes the table of the next format from that
of the last. The newest format is one more than there are steps; readers see the newest tables only. A key that may be
missing needs no step and no new format. The recipe book has steps of its own, in SQL.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.errors import TintmixError
from tintmix.files.errors import FormatMissing, too_new
from tintmix.files.text import load_toml

Step = Callable[[dict[str, Any]], dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A kind of file and its formats. what: the kind, as in "chip set". steps: the first makes format 2 of format 1.

    >>> form = Format(what="lamp", steps=(lambda old: old | {"watt": old.pop("power")},))
    >>> form.up_to_date({"format": 1, "power": 5}, "lamp.toml")
    {'format': 2, 'watt': 5}
    """

    what: str
    steps: tuple[Step, ...] = ()

    @property
    def newest(self) -> int:
        """The format that this version writes."""
        return 1 + len(self.steps)

    def up_to_date(self, table: Mapping[str, Any], where: object) -> dict[str, Any]:
        """The table as the newest format has it; the one given is left as it is. Raises FormatMissing, FileProblem."""
        found = table.get("format")
        if type(found) is not int or found < 1:
            raise FormatMissing(where, found, self.newest)
        if found > self.newest:
            raise too_new(where, found, self.newest, self.what)
        table = dict(table)
        for step in self.steps[found - 1 :]:
            # A copy all the way down, so that a step may change what it is given.
            table = step(deepcopy(table))
        return table | {"format": self.newest}

    def copy_of_older(self, path: Path) -> Path | None:
        """Where a copy goes before this version writes over the file at `path`; None where nothing older stands there.

        Raises FileProblem.
        """
        found = _format_in(path)
        if found is None or found == self.newest:
            return None
        if found > self.newest:
            raise too_new(path, found, self.newest, self.what)
        return copy_place(path, found)


def copy_place(path: Path, found: int) -> Path:
    """The name of a copy of a file in an older format, beside it.

    >>> copy_place(Path("state.json"), 1).name
    'state.format-1.json'
    """
    return path.with_name(f"{path.stem}.format-{found}{path.suffix}")


def _format_in(path: Path) -> int | None:
    """The format that a file says it is in; None where there is none, or it says nothing of the kind."""
    try:
        if not path.is_file() or not path.stat().st_size:
            return None
        table = load_toml(path, "a file") if path.suffix == ".toml" else json.loads(path.read_text(encoding="utf-8"))
    except (TintmixError, OSError, ValueError, RecursionError):
        return None
    found = table.get("format") if isinstance(table, dict) else None
    return found if type(found) is int and found > 0 else None
