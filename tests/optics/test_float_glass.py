"""The thickness law and the faces together, on real glass: measured absorption against published transmittance."""

import csv
from pathlib import Path

import numpy as np
import pytest

from tests.authorities.compared import compared
from tests.reference.absorbers import read_columns
from tintmix.optics.absorption import LN10
from tintmix.optics.detector import luminous
from tintmix.optics.light import through
from tintmix.optics.plate import face_reflectance
from tintmix.optics.spectrum import to_grid

# Soda-lime float glass in the visible, as the figure in design/measures.md has it.
INDEX = 1.525
SOURCE = "absorption: Rubin, Sol. Energy Mater. 12, 275 (1985); published light: the NREL window-glass data set"


def published():
    path = Path(__file__).parent.parent / "authorities" / "float_glass_published.csv"
    with path.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return [(row["glass"], float(row["thickness_mm"]), float(row["Tv"]), float(row["Rv"])) for row in rows]


def test_fourteen_thicknesses():
    assert len(published()) == 14


@pytest.mark.parametrize(("glass", "thickness_mm", "seen", "reflected"), published())
def test_visible_transmittance_and_reflectance(glass, thickness_mm, seen, reflected):
    # Rubin 1985 gives the natural-log coefficient. Tolerances: data README, published values are rounded and glasses
    # differ.
    table = read_columns("soda_lime_glass.csv")
    absorbance = to_grid(table["nm"], table[glass] / LN10)
    assert np.isfinite(absorbance).all()
    photopic = luminous("D65")
    plate = through(absorbance, thickness_mm, INDEX)
    compared("float glass, light through", plate @ photopic, seen, within=0.015, source=SOURCE)
    # What the back face sends back is the light inside the plate once more: R = ρ (1 + τ T), physics §2.
    back = face_reflectance(INDEX) * (1 + through(absorbance, thickness_mm, INDEX, None) * plate)
    compared("float glass, light reflected", back @ photopic, reflected, within=0.0015, source=SOURCE)
