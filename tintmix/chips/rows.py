"""The rows of chips.csv as chips: every cell read, every bad one kept to be told together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tintmix.chips.chip import Chip, ChipCamera, Reading, Weights
from tintmix.chips.columns import Columns
from tintmix.chips.names import chip_name_problem
from tintmix.files.errors import Cell
from tintmix.files.table import no_number, number_of, say
from tintmix.numerals import numeral
from tintmix.quantities import CHIP_MM, DOSE_PHR
from tintmix.weighing.scales import scale_spread_g

_YES = ("", "yes", "y", "true", "1")
_NO = ("no", "n", "false", "0")
HAZE_WORDS = {"clear": 0.01, "slight": 0.05}
"""What a word says of the haze, as a fraction, good to a factor of two. "milky" is refused."""


CAMERA_WORDS: Mapping[str, ChipCamera] = {"rendered": "rendered", "raw": "unknown"}
"""What the column camera says of a chip's photo, and what it means."""


@dataclass(slots=True)
class RowReader:
    """Reads one table's rows; `bad` gathers the cells that cannot be used."""

    columns: Columns
    reading: Reading
    decimal_comma: bool
    bad: list[Cell] = field(default_factory=list)
    _rows_of: dict[str, int] = field(default_factory=dict)
    _row: int = 0
    _cells: Sequence[str] = ()

    def chip(self, row: int, cells: Sequence[str]) -> Chip | None:
        """The chip of a row, or None where a cell of it is bad."""
        self._row, self._cells = row, cells
        before = len(self.bad)
        if any(cells[len(self.columns.header) :]):
            self._say(f"column {len(self.columns.header) + 1}", "stands beyond the last column of the header")
        name = self._name()
        cup = self._text("cup") or name
        if cup != name and (problem := chip_name_problem(cup)):
            self._say("cup", f"{say(cup)} {problem}")
        thickness = self._thickness()
        doses, spreads, weights = self._doses()
        values = self._values()
        haze = self._number("haze_percent", 100.0, hundredths=True)
        word = self._haze_word(haze)
        spread = self._number("reading_spread", 20.0)
        if spread == 0:
            self._say("reading_spread", "is 0; no instrument is that good, give a small number, or empty the cell")
        use, check = self._yes("use", when_empty=True), self._yes("check_chip", when_empty=False)
        note, camera = self._text("note"), self._camera()
        if any(not (c.isprintable() or c in "\n\r\t") for c in note):
            self._say("note", "holds control characters; type it again")
        if len(self.bad) > before:
            return None
        assert thickness is not None
        return Chip(
            name, cup, doses, thickness, values, spreads, HAZE_WORDS.get(word, haze), use=use, note=note, row=row,
            weights=weights, check=check, reading_spread=spread, haze_word=word, camera=camera,
        )  # fmt: skip

    def _say(self, column: str, problem: str) -> None:
        self.bad.append(Cell(self._row, column, problem))

    def _cell(self, column: int | None) -> str:
        return "" if column is None or column >= len(self._cells) else self._cells[column]

    def _text(self, name: str) -> str:
        return self._cell(self.columns.fixed.get(name))

    def _yes(self, name: str, when_empty: bool) -> bool:
        said = self._text(name).lower()
        if said and said not in _YES + _NO:
            self._say(name, f'{say(said)} is neither "yes" nor "no"')
        return said in _YES if said else when_empty

    def _name(self) -> str:
        name = self._text("chip")
        first = self._rows_of.setdefault(name, self._row)
        if not name:
            self._say("chip", "is empty; each chip needs a name")
        elif problem := chip_name_problem(name):
            self._say("chip", f"{say(name)} {problem}")
        elif first != self._row:
            said = "each row is one chip, so name them apart (b1, b1-again)"
            self._say("chip", f"{say(name)} is also the chip of row {first}; {said}")
        return name

    def _thickness(self) -> float | None:
        cell = self._text("thickness_mm")
        value = number_of(cell, self.decimal_comma)
        if value is None:
            self._say("thickness_mm", no_number(cell, "is empty; measure the chip"))
        elif not CHIP_MM.holds(value):
            self._say("thickness_mm", f"{say(cell)}; it must be {CHIP_MM.limit}")
        return value

    def _haze_word(self, haze: float | None) -> str:
        word = self._text("haze").lower()
        if word == "milky":
            said = '"milky" chips scatter too much for the straight-through model; leave the chip out with use = no'
            self._say("haze", said)
        elif word and word not in HAZE_WORDS:
            self._say("haze", f'{say(word)} is none of "clear", "slight" and "milky"; numbers stand in haze_percent')
        elif word and haze is not None:
            self._say("haze", "is given as a word and in haze_percent; keep one of the two")
        return word if word in HAZE_WORDS else ""

    def _camera(self) -> ChipCamera:
        said = self._text("camera").lower()
        if said and (self.reading.kind != "camera" or said not in CAMERA_WORDS):
            words = " nor ".join(f'"{word}"' for word in CAMERA_WORDS)
            self._say("camera", f"{say(said)} is neither {words}, of a photo of another kind than set.toml says")
        camera = CAMERA_WORDS.get(said, "")
        return "" if camera == self.reading.camera else camera

    def _number(self, name: str, highest: float, hundredths: bool = False, column: int | None = None) -> float | None:
        """A number from zero to what is highest in the file; None where the cell is empty or bad. column: where it is no
        fixed one."""
        cell = self._text(name) if column is None else self._cell(column)
        if not cell:
            return None
        value = number_of(cell, self.decimal_comma, hundredths)
        if value is None:
            self._say(name, no_number(cell))
        elif not 0 <= value <= highest * (0.01 if hundredths else 1.0):
            self._say(name, f"{say(cell)}; it must be from 0 to {numeral(highest)}")
            return None
        return value

    def _doses(self) -> tuple[tuple[float, ...], tuple[float, ...], Weights | None]:
        """Doses in phr, their relative spreads, and the weights where they were given."""
        resin_g, scale_g = self._number("resin_g", 1e5), self._number("scale_g", 1e3)
        if scale_g == 0:
            self._say("scale_g", "is 0; give the scale's smallest step, in g")
        doses: list[float] = []
        spreads: list[float] = []
        grams: list[float | None] = []
        for dose in self.columns.doses:
            name = self.columns.header[dose.column]
            value = self._number(name, 1e5 if dose.in_grams else DOSE_PHR.most, column=dose.column) or 0.0
            spread = self.reading.dose_spread
            grams.append(value if dose.in_grams else None)
            if dose.in_grams and value > 0 and not resin_g:
                how = "empty" if resin_g is None else "0"
                self._say("resin_g", f"is {how}; give the grams of mixed resin that {dose.pigment} went into")
            elif dose.in_grams and value > 0 and resin_g:
                phr = 100.0 * value / resin_g
                if phr > DOSE_PHR.most:
                    said = f"is {numeral(phr, 3)} phr; at most {numeral(DOSE_PHR.most)}"
                    self._say(name, f"{numeral(value)} g in {numeral(resin_g)} g of resin {said}")
                if scale_g:
                    u = scale_spread_g(scale_g)
                    spread = math.hypot(u / value, u / resin_g)
                value = phr
            doses.append(value)
            spreads.append(min(spread, 1e6))
        weighed = any(dose.in_grams for dose in self.columns.doses)
        return tuple(doses), tuple(spreads), Weights(tuple(grams), resin_g, scale_g) if weighed else None

    def _values(self) -> tuple[float, ...]:
        """The reading; empty where no cell of it is filled."""
        found = [self._cell(column) for column in self.columns.values]
        if not any(found):
            return ()
        hundredths = self.reading.unit == "percent" and self.reading.kind != "colour"
        values = [number_of(cell, self.decimal_comma, hundredths) for cell in found]
        for cell, value, column in zip(found, values, self.columns.values, strict=True):
            if value is None or abs(value) > 1e6:
                self._say(self.columns.header[column], no_number(cell))
        return tuple(value or 0.0 for value in values)
