"""Under what a tint is seen: a light by name or by file, and what lies behind it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from tintmix.errors import Remedy, ValueProblem
from tintmix.files.curves import read_column
from tintmix.numerals import numeral
from tintmix.optics.colour import lab, xyz_of_srgb
from tintmix.optics.detector import Light, eye, light, light_from_spectrum
from tintmix.optics.insert import smoothest_reflectance
from tintmix.optics.section import DARK, PANEL, WHITE, Ground
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.quantities import lab_problem

GROUNDS = {"panel": PANEL, "white": WHITE, "dark": DARK}
Colour = tuple[float, float, float]


def light_of(named: str) -> str | Light:
    """A CIE light by its name, or the light whose spectrum a CSV file (nm, power) holds. Raises ValueProblem, and what
    is wrong with the file."""
    if not named.lower().endswith(".csv"):
        light(named)
        return named
    return light_from_spectrum(Path(named).name, *read_column(named, "power"))


def insert_ground(insert: str | Colour, width_mm: float | None, seen_under: str | Light, observer: int) -> Ground:
    """An insert behind the resin: its L*a*b*, its "#rrggbb" (the smoothest spectrum of that colour), or a CSV file of
    its reflectance (nm, fraction). width_mm matters below about four thicknesses (physics §11). Raises ValueProblem.
    """
    if isinstance(insert, str) and insert.lower().endswith(".csv"):
        return Ground("insert", tuple(_reflectance(insert).tolist()), width_mm)
    colour = colour_of(insert, seen_under, observer)
    return Ground("insert", tuple(smoothest_reflectance(colour, seen_under, observer).tolist()), width_mm)


def colour_of(said: str | Colour, seen_under: str | Light, observer: int) -> Array:
    """L*a*b* (3,) of "#rrggbb", or of three numbers. Raises ValueProblem."""
    if isinstance(said, str):
        if not re.fullmatch("#[0-9a-fA-F]{6}", said):
            raise _bad_insert(said)
        white = eye(seen_under, observer).bare
        return lab(xyz_of_srgb(said, white), white)
    colour = np.array(said, dtype=np.float64)
    if lab_problem(colour):
        raise _bad_insert("lab=" + ",".join(f"{numeral(value)}" for value in said))
    return colour


def _reflectance(path: str) -> Array:
    nm, values = read_column(path, "reflectance")
    if nm[0] > 400 or nm[-1] < 700:
        raise _bad_insert(path, f"it covers {numeral(nm[0])} to {numeral(nm[-1])} nm, and a colour needs 400 to 700 nm")
    if np.any(values < 0) or np.any(values > 1.05):
        raise _bad_insert(path, "a reflectance is a fraction from 0 to 1; per cent: divide by 100")
    return np.interp(GRID_NM, nm, np.clip(values, 0.0, 1.0))


def _bad_insert(insert: str, what: str = "it is no colour that an insert can have") -> ValueProblem:
    return ValueProblem(where=f"insert {insert}", what=what, remedy=Remedy.COLOUR_OF_AN_INSERT)
