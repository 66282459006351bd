"""The batch sheet as plain text: for the terminal, and for a printer that knows no PDF."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.faces.cautions_text import KEY, SOURCES, TITLE, caution_lines, source_lines
from tintmix.faces.paper.sheet_words import exactness, facts, ingredient, off_target, through, triple
from tintmix.faces.remedies import told_on_paper as told
from tintmix.faces.text_table import folded, table
from tintmix.numerals import numeral, percent
from tintmix.sheet.lines import Line, Stage, Step, shortened
from tintmix.sheet.looks import CupLook
from tintmix.sheet.sheet import BASIS, Sheet

COLUMNS = 84
"""As wide as fits on paper in a typewriter's letters."""
_ACTUAL = "   actual ________ g"
_SHOWN = 11
_WITH_WANTED = 98
"""Columns from which on the wanted colours stand beside what will come."""


def text_of(sheet: Sheet, columns: int = COLUMNS) -> str:
    """The sheet as text, so many columns wide; ends with a line feed."""
    lines = [
        *folded(sheet.title, columns),
        "=" * min(len(sheet.title), columns),
        *folded(f"Batch sheet: {sheet.headline}.", columns),
        "",
    ]
    for name, value in facts(sheet):
        lines += folded(value, columns, f"{name:<13}", " " * 13)
    lines += ["", *_title(TITLE), *caution_lines(sheet.cautions, columns), "", f"  {KEY}"]
    for note in sheet.notes:
        lines += ["", *folded(note, columns, "  ! ", "    ")]
    lines += ["", *_title("What it will look like"), *_looks(sheet, columns)]
    lines += ["", *_title("What goes in"), *_ingredients(sheet), "", *folded(BASIS, columns)]
    for stage in sheet.stages:
        lines += _stage(stage, sheet, columns)
    lines += ["", *_title("How exact the weighing is"), *_exactness(sheet, columns)]
    lines += ["", "Date ____________________   Signature ______________________________"]
    lines += ["", *_title(SOURCES), *source_lines(sheet.cautions, columns)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def bytes_of(sheet: Sheet) -> bytes:
    """The same for a file."""
    return text_of(sheet).encode("utf-8")


def _looks(sheet: Sheet, columns: int) -> list[str]:
    rows = []
    for place in sheet.looks.places:
        rows.append([
            shortened(place.name, 20), place.depth, triple(place.lab),
            "" if place.target_lab is None else triple(place.target_lab), off_target(place) or "no target",
            f"{place.model_delta_e00_95:.1f}", f"{place.weighing_delta_e00_95:.1f}", percent(place.luminous_transmittance),
        ])  # fmt: skip
    heads = ["place", "at", "L* a* b*", "wanted", "ΔE00", "± model", "± weighing", "light"]
    told = (
        f"Light {sheet.looks.light}, {sheet.looks.observer}° observer. ±: 95 times in 100 the colour lies within so much ΔE00, "
        "by what the chips leave open (model) and by the weighing."
    )
    if columns < _WITH_WANTED:
        heads, rows = heads[:3] + heads[4:], [row[:3] + row[4:] for row in rows]
    return [table(heads, rows, indent=""), "", *folded(told, columns)]


def _ingredients(sheet: Sheet) -> list[str]:
    rows = [[shortened(name, 28) + strong, *row] for name, strong, row in map(ingredient, sheet.ingredients)]
    return [table(["in all", "grams", "wanted, phr", "as weighed, phr"], rows)]


def _stage(stage: Stage, sheet: Sheet, columns: int) -> list[str]:
    lines = [""]
    if stage.clock:
        bar = "#" * columns
        lines += [bar, stage.title.center(columns), bar, "", "started at ____________   poured before ____________", ""]
    else:
        lines += _title(stage.title)
    lines += folded(stage.says, columns) if stage.says else []
    for step in stage.steps:
        lines += ["", *_step(step, sheet, columns)]
    return lines


def _step(step: Step, sheet: Sheet, columns: int) -> list[str]:
    lines = folded(step.title, columns, "[ ] ", "    ")
    for number, said in enumerate(map(told, step.says)):
        lines += folded(said, columns, "    ", "    ")
        if step.shows_cups and number == 0:
            lines += _cups(sheet.looks.cups)
    for line in step.lines:
        lines += _weight(line, columns)
    for blank in step.blanks:
        lines.append(f"    {blank.what} ".ljust(columns - 17, ".") + f" ____________ {blank.unit}".rstrip())
    return lines


def _weight(line: Line, columns: int) -> list[str]:
    room = columns - len(_ACTUAL) - _SHOWN - 9
    what = shortened(line.what, room)
    lines = [f"    [ ] {what} ".ljust(room + 9, ".") + f"{line.shown:>{_SHOWN}}" + _ACTUAL]
    return lines + (folded(line.note, columns, "        ", "        ") if line.note else [])


def _cups(cups: Sequence[CupLook]) -> list[str]:
    return [
        f"      {numeral(cup.depth_mm)} mm deep: L* a* b* {triple(cup.lab)}, {through(cup)}, on a screen {cup.srgb}"
        for cup in cups
    ]


def _exactness(sheet: Sheet, columns: int) -> list[str]:
    told, rows = exactness(sheet)
    lines = folded(told, columns)
    if rows:
        shown = [(shortened(what, 50), *rest) for what, *rest in rows]
        lines.append(table(["what may be off", "spread (1 sd)", "ΔE00, alone"], shown))
    for advice in sheet.weighed.advice if sheet.weighed.meets_aim else ():
        lines += folded(advice, columns)
    return lines


def _title(text: str) -> list[str]:
    return [text.upper(), "-" * len(text)]
