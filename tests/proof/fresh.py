"""Rows of the accuracy programs on seeds that nobody had looked at, as they were found once and are kept: tables of the page.

`TINTMIX_FIRST_SEED=20000 python -m tests.accuracy.truth_rows 20`, and likewise the others that the tables name, prints them anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

Row = dict[str, Any]
FAMILIES = {
    "mixed": "glasses and random dyes", "narrow": "dyes of narrow bands", "new film": "dyed films",
    "glass": "glasses", "dye": "random dyes",
}  # fmt: skip


def table(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """In Markdown."""
    names = list(heads)
    lines = [names, ["---"] * len(names), *([str(cell) for cell in row] for row in rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def percent(share: float | None) -> str:
    """Whole per cent; a dash where there is none."""
    return "–" if share is None else f"{100 * share:.0f} %"


def _error(row: Row) -> str:
    return f"{row['median']:.2f} / {row['p95']:.2f}"


def _times(row: Row) -> str:
    return f"{row['wide']:.1f}"


def _of(key: str) -> Callable[[Row], str]:
    return lambda row: f"{row[key]} of {row['sets']}"


ERROR, HOLDS, WIDE = "ΔE00, median / 95 %", "95 % bands hold", "band, times the error"
TABLES: dict[str, tuple[str, str, dict[str, Callable[[Row], object]]]] = {
    "bands": (
        "truth_rows", "chips, castings of 36 to 60 mm",
        {ERROR: _error, "worst set": lambda row: row["worst"], HOLDS: lambda row: percent(row["band"]), WIDE: _times,
         "a sound chip doubted": _of("doubted")},
    ),
    "block": (
        "blank_rows", "a thick untinted block among the chips",
        {ERROR: _error, HOLDS: lambda row: percent(row["band"]), "said that thick pours differ": _of("said"),
         "block doubted": _of("doubted")},
    ),
    "bend": (
        "blank_rows", "Beer's law broken",
        {ERROR: _error, HOLDS: lambda row: percent(row["band"]), "told": _of("told"), "a chip doubted": _of("doubted")},
    ),
    "one_fault": (
        "blank_rows", "one chip wrong in its",
        {"named": _of("named"), "and nobody else": _of("nobody_else"), "as what it is": _of("as_what")},
    ),
    "set_up": ("set_up_rows", "a set read otherwise than it says", {"named": lambda row: row["named"]}),
    "one_cup": (
        "cup_rows", "one cup, seen at 60 mm",
        {"chips, mm": lambda row: row["read"], ERROR: _error, HOLDS: lambda row: percent(row["band"]), WIDE: _times},
    ),
}  # fmt: skip


def words(found: Row) -> str:
    """A table for each kind and seeds, with its program."""
    parts = []
    for key, (program, what, columns) in TABLES.items():
        every = found["tables"].get(key, [])
        for first in dict.fromkeys(row["first"] for row in every):
            rows = [row for row in every if row["first"] == first]
            heads = [what, *columns]
            body = [(FAMILIES.get(row["what"], row["what"]), *(tell(row) for tell in columns.values())) for row in rows]
            seeds = f"{rows[0]['sets']} sets a row, seeds from {first}"
            parts.append(f"`tests.accuracy.{program}`, {seeds}:\n\n{table(heads, body)}")
    return "\n\n".join(parts)
