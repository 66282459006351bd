"""The holder sheet: where its marks and windows are, in millimetres from its middle, x to the right and y down.

One layout for A4 and Letter paper: nothing but the white around it differs, so a photo need not say which it shows.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from tintmix.chips.photo.sheet.plane import SQUARE
from tintmix.errors import ValueProblem
from tintmix.files.table import read_sheet, table_text
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array

Role = Literal["chip", "open", "blocked", "check"]

PITCH_MM = (36.0, 34.0)
"""From window to window, across and down."""
WINDOW_MM = 18.0
"""What is read of it, and 3 mm all round for a chip laid askew."""
READ_MM, READ_BLOCKED_MM = 12.0, 16.0
"""The middle of a window that is read: a thick chip, seen aslant, shifts what is under it by up to 2 mm. Round a blocked one it
is dark too."""
SMALLEST_CHIP_MM, LARGEST_CHIP_MM = 25.0, 32.0
"""3.5 mm over a window all round, and two side by side still part."""
MARK_MM, RING_OUTER_MM, RING_INNER_MM = 30.0, 22.0, 15.5
"""A mark's bright square, and the dark square ring in it."""
DOT_MM = 4.2
"""Four of them fit into a ring with room between (tests/chips/photo/test_holder.py)."""
MARKS_MM: Array = SQUARE * (82.0, 116.5)
"""The middles of the marks of one, two, three and four dots, clockwise from the top left. 8 mm of paper stay around them:
what common printers leave white is at most 6 mm (common practice)."""
MARKS_MM.setflags(write=False)
DOTS_MM: dict[int, tuple[tuple[float, float], ...]] = {
    1: ((0.0, 0.0),),
    2: ((-3.4, 0.0), (3.4, 0.0)),
    3: ((-3.5, 2.9), (3.5, 2.9), (0.0, -3.2)),
    4: ((-3.4, -3.4), (3.4, -3.4), (3.4, 3.4), (-3.4, 3.4)),
}
"""Where the dots stand in a mark that has so many, from its middle."""
EDGE_MM: Array = SQUARE * (97.0, 131.5)
"""The corners of all that the sheet holds, marks included."""
EDGE_MM.setflags(write=False)
LAID_NAME = "holder.csv"
"""In a chip set's folder, which chip lies in which window."""
LAID_COLUMNS = ("photo", "window", "chip")
FORESEEN = "predicted"
"""A fourth column where a plan foresaw the chips: "#cfe8dc", or "34 %" where only the light through is foreseen."""

_ROWS, _COLUMNS = 6, 5
"""As many as fit on A4 and Letter at this pitch with a mark in each corner."""
_ORDINALS = ("first", "second", "third", "fourth", "fifth")
_LETTERS = "ABCDEF"
"""Of the rows, as sheets that were printed by earlier versions call them: A2 is the second window of the first row."""
# One open and one blocked window to each row, scattered so that a smooth surface through them is pinned everywhere.
_OPEN = (0, 4, 2, 2, 0, 4)
_BLOCKED = (4, 0, 4, 0, 4, 0)
"""By row, the column of each from 0."""
_CHECKS = {(2, 3): "K1", (5, 3): "K2"}
"""Near the middle of the upper and the lower half of the sheet."""


_ALIKE = 15.0
"""Distance in L*a*b* over which two chips cease to look alike."""


@dataclass(frozen=True, slots=True)
class Tag:
    """What stands at a chip's window: its name (of a chip by cup and thickness the cup's), its thickness below, and what is
    foreseen of it, as `FORESEEN` has it."""

    name: str
    below: str = ""
    foreseen: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """A place on the sheet. row, column: from 1. check: K1 or K2, a check chip's place. x_mm, y_mm: its middle."""

    row: int
    column: int
    role: Role
    x_mm: float
    y_mm: float
    check: str = ""

    @property
    def name(self) -> str:
        """Row and column, as it is typed: no cup and no part of a resin is called so."""
        return f"{self.row}.{self.column}"

    @property
    def place(self) -> str:
        """The same as it is told."""
        return f"row {self.row}, {_ORDINALS[self.column - 1]}"

    @property
    def corners_mm(self) -> Array:
        """The corners (4, 2) of the part that is read, clockwise from the top left."""
        half = (READ_BLOCKED_MM if self.role == "blocked" else READ_MM) / 2
        return np.asarray(SQUARE * half + (self.x_mm, self.y_mm))


def _windows() -> tuple[Window, ...]:
    out = []
    for row in range(_ROWS):
        for column in range(_COLUMNS):
            check = _CHECKS.get((row + 1, column + 1), "")
            role: Role = "check" if check else "chip"
            role = "open" if column == _OPEN[row] else "blocked" if column == _BLOCKED[row] else role
            x = (column - (_COLUMNS - 1) / 2) * PITCH_MM[0]
            y = (row - (_ROWS - 1) / 2) * PITCH_MM[1]
            out.append(Window(row + 1, column + 1, role, x, y, check))
    return tuple(out)


WINDOWS = _windows()
CHIP_WINDOWS = tuple(window for window in WINDOWS if window.role == "chip")
"""The places for chips, in reading order."""


def window(name: str) -> Window:
    """A place by its row and column, in words or in numbers, or as sheets of earlier versions call it. Raises ValueProblem.

    >>> window("1.2").role, window("K1").name, window("row 2, third").name, window("b3").place, len(CHIP_WINDOWS)
    ('chip', '2.3', '2.3', 'row 2, third', 16)
    """
    wanted = name.strip().lower().replace(",", ".")
    for one in WINDOWS:
        old = f"{_LETTERS[one.row - 1]}{one.column}"
        if wanted and wanted in (one.name, one.check.lower(), one.place.replace(",", "."), old.lower()):
            return one
    what = f"no window of the holder sheet has this name; they run from {WINDOWS[0].name} to {WINDOWS[-1].name}"
    says = f"{what}, row and place in the row"
    raise ValueProblem(where=plain(name, 40) or "a window", what=says)


def told_place(name: str) -> str:
    """A window as it is told: "2.3" is "row 2, third"; what is no window's name stays.

    >>> told_place("2.3"), told_place("b1")
    ('row 2, third', 'b1')
    """
    return next((one.place for one in WINDOWS if one.name == name), name)


def lay_out(
    chips: Sequence[str], check_chips: Sequence[str] = (), colours: Mapping[str, Array] | None = None
) -> tuple[dict[str, str], ...]:
    """Which chip lies in which window, a mapping (window → chip) for each photo that is needed.

    The check chips lie in every photo: in their own places, and those that are left in the first windows. colours: L*a*b* of
    chips as foreseen; chips that are alike are then laid far from each other.

    >>> lay_out(["b1", "k"], ["k"])
    ({'1.2': 'b1', '2.3': 'k'},)
    >>> [len(photo) for photo in lay_out([f"b{i}" for i in range(20)])]
    [16, 4]
    """
    own = [one.name for one in WINDOWS if one.check]
    fixed = dict(zip(own, check_chips, strict=False))
    free = [one.name for one in CHIP_WINDOWS]
    for chip in check_chips[len(own) : len(own) + len(free) - 1]:
        fixed[free.pop(0)] = chip
    rest = [chip for chip in chips if chip not in fixed.values()]
    photos = []
    for start in range(0, max(len(rest), 1), len(free)):
        there = rest[start : start + len(free)]
        laid = fixed | dict(zip(free, _apart(there, free, colours or {}), strict=False))
        photos.append({one.name: laid[one.name] for one in WINDOWS if one.name in laid})
    return tuple(photos)


def _apart(chips: Sequence[str], free: Sequence[str], colours: Mapping[str, Array]) -> list[str]:
    """The chips in such an order that those of like colours lie in windows far from each other: pairs are changed over as long
    as that lessens the sum of likeness over squared distance."""
    order = list(chips)
    if len(order) < 3 or any(chip not in colours for chip in order):
        return order
    at = np.array([(one.column, one.row) for one in map(window, free[: len(order)])], dtype=np.float64)
    near = 1 / (((at[:, None] - at[None]) ** 2).sum(axis=2) + np.eye(len(at)))
    lab = np.array([colours[chip] for chip in order])
    alike = np.exp(-np.sqrt(((lab[:, None] - lab[None]) ** 2).sum(axis=2)) / _ALIKE)
    for matrix in (near, alike):
        np.fill_diagonal(matrix, 0.0)
    lies = np.arange(len(order))
    cost = float((near * alike).sum())
    while True:
        tried = []
        for i, j in combinations(range(len(order)), 2):
            other = lies.copy()
            other[[i, j]] = other[[j, i]]
            tried.append((float((near * alike[np.ix_(other, other)]).sum()), i, j))
        best, i, j = min(tried)
        if best > cost - 1e-9:
            return [order[n] for n in lies]
        cost = best
        lies[[i, j]] = lies[[j, i]]


def laid_to_text(photos: Sequence[Mapping[str, str]], foreseen: Mapping[str, str] | None = None) -> str:
    """holder.csv, which `laid_from_text` and `foreseen_from_text` read back."""
    rows = [[str(number), name, chip] for number, photo in enumerate(photos, 1) for name, chip in photo.items()]
    if not foreseen:
        return table_text([LAID_COLUMNS, *rows])
    return table_text([[*LAID_COLUMNS, FORESEEN], *([*row, foreseen.get(row[2], "")] for row in rows)])


def foreseen_from_text(text: str, where: str) -> dict[str, str]:
    """What holder.csv foresees of each chip; nothing where it has no such column. Raises what `read_sheet` raises.

    >>> foreseen_from_text(laid_to_text(({"1.2": "b1"},), {"b1": "#cfe8dc"}), "holder.csv")
    {'b1': '#cfe8dc'}
    """
    sheet = read_sheet(text, where)
    if [name.lower() for name in sheet.header] != [*LAID_COLUMNS, FORESEEN]:
        return {}
    rows = [([cell.strip() for cell in cells] + [""] * 4)[2:4] for _, cells in sheet.rows]
    return {chip: told for chip, told in rows if chip and told}


def laid_from_text(text: str, where: str) -> tuple[dict[str, str], ...]:
    """Which chip lies in which window, from holder.csv. Raises ValueProblem, and what `read_sheet` raises.

    >>> laid_from_text(laid_to_text(lay_out(["b1", "b2"])), "holder.csv")
    ({'1.2': 'b1', '1.3': 'b2'},)
    """
    sheet = read_sheet(text, where)
    if [name.lower() for name in sheet.header] not in (list(LAID_COLUMNS), [*LAID_COLUMNS, FORESEEN]):
        raise ValueProblem(where=where, what=f"its columns must be {', '.join(LAID_COLUMNS)}")
    photos: list[dict[str, str]] = []
    for row, cells in sheet.rows:
        number, name, chip = ([cell.strip() for cell in cells] + [""] * 3)[:3]
        at = f"{where}, row {row}"
        if not re.fullmatch(r"[1-9][0-9]?", number):
            said = "is no number of a photo; they are numbered 1, 2 and so on"
            raise ValueProblem(where=at, what=f"{plain(number, 20)!r} {said}")
        photos += [{} for _ in range(len(photos), int(number))]
        laid = photos[int(number) - 1]
        place = chip_window(name, at)
        if not chip:
            continue
        if place in laid or chip in laid.values():
            said = f"is named twice in photo {number}"
            raise ValueProblem(where=at, what=f"the window {place} or the chip {plain(chip, 60)} {said}")
        laid[place] = chip
    return tuple(photos)


def chip_window(name: str, where: str) -> str:
    """The name of a window where a chip may lie. Raises ValueProblem.

    >>> chip_window("k1", "k1=b1")
    '2.3'
    """
    one = window(name)
    if one.role in ("open", "blocked"):
        what = f"{one.place}, is the {one.role} window of its row of the holder sheet; no chip lies there"
        raise ValueProblem(where=where, what=what)
    return one.name
