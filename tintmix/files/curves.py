"""Curves over wavelength from a CSV file: a light's power, a camera's sensitivities, a glass's spectrum."""

from __future__ import annotations

from itertools import pairwise, zip_longest
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tintmix.files import caps
from tintmix.files.errors import BadCells, Cell, bad_curve
from tintmix.files.table import Sheet, cell_of, no_number, number_of, read_sheet, say, table_text
from tintmix.files.text import load_text
from tintmix.numerals import numeral

_NAMES = ("nm", "wavelength_nm", "wavelength", "wavelength (nm)", "wavelength [nm]", "lambda", "lambda_nm", "wl")


def read_curve(path: str | Path) -> tuple[NDArray[np.float64], dict[str, NDArray[np.float64]]]:
    """Wavelengths (M,) in nm, rising, and the other columns by name, (M,) each, as they stand.

    A header row, the wavelength in nm in the first column; comma, semicolon or tab; a decimal comma where the delimiter
    is none; lines that begin with "#" are comments. A file that falls in wavelength is turned round. Raises FileProblem,
    BadCells (cells) among them, and what `load_text` raises.
    """
    return parse_curve(load_text(path, caps.CURVE, "a file of curves"), path)


def read_column(path: str | Path, named: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wavelengths (M,) in nm, and the column of that name, or else the first. Raises what `read_curve` raises."""
    nm, columns = read_curve(path)
    return nm, columns.get(named, next(iter(columns.values())))


def parse_curve(text: str, where: object) -> tuple[NDArray[np.float64], dict[str, NDArray[np.float64]]]:
    """The same from text.

    >>> nm, columns = parse_curve("# a panel\\nnm;power\\n400;0,5\\n500;1\\n", "panel.csv")
    >>> nm.tolist(), columns["power"].tolist()
    ([400.0, 500.0], [0.5, 1.0])
    """
    sheet = read_sheet(text, where, comments=True)
    names = _names(sheet, where)
    bad: list[Cell] = []
    rows: list[list[float]] = []
    for row, cells in sheet.rows:
        if any(cells[len(names) :]):
            bad.append(Cell(row, f"column {len(names) + 1}", "stands beyond the last column of the header"))
        rows.append([])
        for name, cell in zip_longest(names, cells[: len(names)], fillvalue=""):
            value = number_of(cell, sheet.decimal_comma)
            if value is None:
                bad.append(Cell(row, name, no_number(cell, "is empty; a number is needed")))
            rows[-1].append(value or 0.0)
    if bad:
        raise BadCells(where, bad)
    if len(rows) < 2:
        raise bad_curve(where, "fewer than two wavelengths; a curve needs a row for each wavelength")
    table = np.array(rows)
    if table[0, 0] > table[-1, 0]:
        table = table[::-1]
    nm = table[:, 0].copy()
    if np.any(nm <= 0) or np.any(nm > 1e5):
        said = "a wavelength is not between 0 and 100 000; wavelengths stand in the first column, in nm"
        raise bad_curve(where, said)
    first, second = next(((a, b) for a, b in pairwise(nm) if a >= b), (0.0, 1.0))
    if first >= second:
        wrong = f"and {numeral(second)} nm are out of order" if first > second else "nm stands there twice"
        raise bad_curve(where, f"the wavelengths must rise, each once, but {numeral(first)} {wrong}; sort the rows")
    return nm, {name: table[:, i + 1].copy() for i, name in enumerate(names[1:])}


def curve_text(nm: NDArray[np.float64], columns: dict[str, NDArray[np.float64]]) -> str:
    """The CSV text that `parse_curve` reads back as the same floats."""
    table = np.column_stack([nm, *columns.values()])
    return table_text([["nm", *columns], *([cell_of(value) for value in row] for row in table)])


def _names(sheet: Sheet, where: object) -> list[str]:
    names = list(sheet.header)
    while names and not names[-1]:
        names.pop()
    said = ""
    if len(names) < 2:
        said = "it has a single column; a curve needs the wavelength in nm and at least one column of values"
    elif number_of(names[0], sheet.decimal_comma) is not None:
        said = f"its first row holds numbers ({say(names[0])}); put a header row before it, such as nm,power"
    elif names[0].lower() not in _NAMES:
        said = f'its first column is headed {say(names[0])}; the wavelength comes first, headed "nm"'
    elif "" in names or len(set(names)) < len(names):
        said = "a column has no name, or two have the same; name each once"
    if said:
        raise bad_curve(where, said)
    return names
