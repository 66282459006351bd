"""The rows of chips.csv as chips: every cell read, every bad one kept to be told together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from tintmix.chips.chip import DOSE_CEILING_PHR, THICKEST_MM, Chip, Reading, Weights, chip_name_problem
from tintmix.chips.columns import Columns
from tintmix.files.errors import Cell
from tintmix.files.table import number_of, say
from tintmix.numerals import numeral
from tintmix.weighing.scale import scale_spread_g

_YES = ("", "yes", "y", "true", "1")
_NO = ("no", "n", "false", "0")
HAZE_WORDS = {"clear": 0.01, "slight": 0.05}
"""What a word says of the haze, as a fraction, good to a factor of two. "milky" is refused."""


@dataclass(slots=True)
class RowReader:
    """Reads one table's rows; `bad` gathers the cells that cannot be used."""

    columns: Columns
    reading: Reading
    decimal_comma: bool
    bad: list[Cell] = field(default_factory=list)
    _rows_of: dict[str, int] = field(default_factory=dict)

    def chip(self, row: int, cells: Sequence[str]) -> Chip | None:
        """The chip of a row, or None where a cell of it is bad."""
        before = len(self.bad)
        if any(cells[len(self.columns.header) :]):
            self._say(row, f"column {len(self.columns.header) + 1}", "stands beyond the last column of the header")
        name = self._name(row, cells)
        cup = self._text(cells, "cup") or name
        if cup != name and (problem := chip_name_problem(cup)):
            self._say(row, "cup", f"{say(cup)} {problem}")
        thickness = self._thickness(row, cells)
        doses, spreads, weights = self._doses(row, cells)
        values = self._values(row, cells)
        haze = self._number(row, cells, "haze_percent", 0.0, 100.0, hundredths=True)
        word = self._haze_word(row, cells, haze)
        spread = self._number(row, cells, "reading_spread", 0.0, 20.0)
        if spread == 0:
            self._say(row, "reading_spread", "is 0; no instrument is that good, give a small number, or empty the cell")
        said = self._text(cells, "use").lower()
        if said not in _YES + _NO:
            self._say(row, "use", f'{say(said)} is neither "yes" nor "no"')
        check = self._text(cells, "check_chip").lower()
        if check not in _YES + _NO:
            self._say(row, "check_chip", f'{say(check)} is neither "yes" nor "no"')
        note = self._text(cells, "note")
        if any(not (c.isprintable() or c in "\n\r\t") for c in note):
            self._say(row, "note", "holds control characters; type it again")
        if len(self.bad) > before:
            return None
        assert thickness is not None
        return Chip(
            name,
            cup,
            doses,
            thickness,
            values,
            spreads,
            HAZE_WORDS.get(word, haze),
            use=said in _YES,
            note=note,
            row=row,
            weights=weights,
            check=check in _YES and check != "",
            reading_spread=spread,
            haze_word=word,
        )

    def _say(self, row: int, column: str, problem: str) -> None:
        self.bad.append(Cell(row, column, problem))

    def _cell(self, cells: Sequence[str], column: int) -> str:
        return cells[column] if column < len(cells) else ""

    def _text(self, cells: Sequence[str], name: str) -> str:
        column = self.columns.fixed.get(name)
        return "" if column is None else self._cell(cells, column)

    def _name(self, row: int, cells: Sequence[str]) -> str:
        name = self._text(cells, "chip")
        problem = chip_name_problem(name)
        if not name:
            self._say(row, "chip", "is empty; each chip needs a name")
        elif problem:
            self._say(row, "chip", f"{say(name)} {problem}")
        elif name in self._rows_of:
            first = self._rows_of[name]
            self._say(
                row,
                "chip",
                f"{say(name)} is also the chip of row {first}; each row is one chip, so name them apart (b1, b1-again)",
            )
        else:
            self._rows_of[name] = row
        return name

    def _thickness(self, row: int, cells: Sequence[str]) -> float | None:
        cell = self._text(cells, "thickness_mm")
        value = number_of(cell, self.decimal_comma)
        if value is None:
            self._say(
                row, "thickness_mm", f"{say(cell)} is not a finite number" if cell else "is empty; measure the chip"
            )
        elif not 0 < value <= THICKEST_MM:
            self._say(row, "thickness_mm", f"{say(cell)}; it must be above 0 and at most {numeral(THICKEST_MM)} mm")
        return value

    def _haze_word(self, row: int, cells: Sequence[str], haze: float | None) -> str:
        word = self._text(cells, "haze").lower()
        if word == "milky":
            problem = '"milky" chips scatter too much for the straight-through model; leave the chip out with use = no'
            self._say(row, "haze", problem)
        elif word and word not in HAZE_WORDS:
            problem = f'{say(word)} is none of "clear", "slight" and "milky"; numbers stand in haze_percent'
            self._say(row, "haze", problem)
        elif word and haze is not None:
            self._say(row, "haze", "is given as a word and in haze_percent; keep one of the two")
        return word if word in HAZE_WORDS else ""

    def _number(
        self, row: int, cells: Sequence[str], name: str, lowest: float, highest: float, hundredths: bool = False
    ) -> float | None:
        """A number of an optional column; None where the cell is empty or bad. lowest, highest: as the file has it."""
        column = self.columns.fixed.get(name)
        return (
            None if column is None else self._bounded(row, self._cell(cells, column), name, lowest, highest, hundredths)
        )

    def _bounded(
        self, row: int, cell: str, name: str, lowest: float, highest: float, hundredths: bool = False
    ) -> float | None:
        if not cell:
            return None
        value = number_of(cell, self.decimal_comma, hundredths)
        if value is None:
            self._say(row, name, f"{say(cell)} is not a finite number")
            return None
        scale = 0.01 if hundredths else 1.0
        if not lowest * scale <= value <= highest * scale:
            self._say(row, name, f"{say(cell)}; it must be from {numeral(lowest)} to {numeral(highest)}")
            return None
        return value

    def _doses(self, row: int, cells: Sequence[str]) -> tuple[tuple[float, ...], tuple[float, ...], Weights | None]:
        """Doses in phr, their relative spreads, and the weights where they were given."""
        in_grams = [dose.in_grams for dose in self.columns.doses]
        resin_g = self._number(row, cells, "resin_g", 0.0, 1e5)
        scale_g = self._number(row, cells, "scale_g", 0.0, 1e3)
        if scale_g == 0:
            self._say(row, "scale_g", "is 0; give the scale's smallest step, in g")
        doses: list[float] = []
        spreads: list[float] = []
        grams: list[float | None] = []
        for dose in self.columns.doses:
            name = f"{dose.pigment}_g" if dose.in_grams else f"{dose.pigment}_phr"
            highest = 1e5 if dose.in_grams else DOSE_CEILING_PHR
            value = self._bounded(row, self._cell(cells, dose.column), name, 0.0, highest) or 0.0
            spread = self.reading.dose_spread
            if dose.in_grams:
                grams.append(value)
                if value > 0 and not resin_g:
                    problem = "is empty; " if resin_g is None else "is 0; "
                    self._say(row, "resin_g", f"{problem}give the grams of mixed resin that {dose.pigment} went into")
                    value = 0.0
                elif value > 0 and resin_g:
                    phr = 100.0 * value / resin_g
                    if phr > DOSE_CEILING_PHR:
                        self._say(
                            row,
                            name,
                            f"{value:g} g in {resin_g:g} g of resin is {numeral(phr, 3)} phr; at most "
                            f"{numeral(DOSE_CEILING_PHR)}",
                        )
                    if scale_g:
                        u = scale_spread_g(scale_g)
                        spread = math.hypot(u / value, u / resin_g)
                    value = phr
            else:
                grams.append(None)
            doses.append(value)
            spreads.append(min(spread, 1e6))
        weights = Weights(tuple(grams), resin_g, scale_g) if any(in_grams) else None
        return tuple(doses), tuple(spreads), weights

    def _values(self, row: int, cells: Sequence[str]) -> tuple[float, ...]:
        """The reading; empty where no cell of it is filled."""
        found = [self._cell(cells, column) for column in self.columns.values]
        if not any(found):
            return ()
        hundredths = self.reading.unit == "percent" and self.reading.kind != "colour"
        values = []
        for cell, column in zip(found, self.columns.values, strict=True):
            value = number_of(cell, self.decimal_comma, hundredths)
            if value is None or abs(value) > 1e6:
                problem = (
                    f"{say(cell)} is not a finite number"
                    if cell
                    else "is empty, though the rest of the reading is there"
                )
                self._say(row, self.columns.header[column], problem)
                value = 0.0
            values.append(value)
        return tuple(values)
