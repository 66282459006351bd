"""Files that instruments wrote, as two public libraries ship them for tests: read by us, and by a plain split of the text."""

from __future__ import annotations

import importlib.util
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest

from tests.authorities.compared import compared
from tintmix.chips.instruments.dispatch import parse_samples

COLOUR, CXF = "colour-science's io/tests/resources", "colour-cxf's tests/resources"


def shipped(library: str, name: str) -> bytes:
    """A file beside a library's code, which is not imported."""
    found = importlib.util.find_spec(library)
    folder = Path(next(iter(found.submodule_search_locations or ()))) if found else Path()
    paths = sorted(folder.rglob(name))
    if not paths:
        pytest.skip(f"{library} came without {name}")
    return paths[0].read_bytes()


def rows(data: bytes, least: int) -> np.ndarray:
    """The numbers of all lines that hold at least so many and nothing else behind a name."""
    kept = []
    for line in data.decode("utf-8", "replace").splitlines():
        cells = line.replace(",", " ").replace("nm", "").split()
        numbers = [cell for cell in cells if cell.replace(".", "", 1).replace("e-", "", 1).isdigit()]
        if len(numbers) >= least and len(cells) - len(numbers) <= 1:
            kept.append([float(cell) for cell in numbers[-least:]])
    return np.array(kept)


def test_a_chart_measured_by_a_hand_held_spectrophotometer() -> None:
    data = shipped("colour", "*_Digital_Colour_Checker.txt")
    found = parse_samples(data, "chart", "chart").samples
    theirs = rows(data, 36)
    assert len(found) == len(theirs) == 10
    ours = np.array([sample.values for sample in found])
    compared("a measured chart, 10 spectra in a text file", ours, theirs, within=1e-12, source=COLOUR)
    assert found[0].wavelengths_nm[0] == 380.0


def test_a_lamp_measured_by_a_spectrometer() -> None:
    data = shipped("colour", "*.xls.txt")
    (found,) = parse_samples(data, "lamp", "lamp").samples
    theirs = np.array([value for nm, value in rows(data, 2) if 380 <= nm <= 780])
    compared("a measured lamp, 1 nm", found.values, theirs, within=1e-12, source=COLOUR)


def test_a_cxf_file_of_an_instrument() -> None:
    """144 fields, each with a colour and a spectrum."""
    data = shipped("colour_cxf", "sample.cxf")
    space, document = "{http://colorexchangeformat.com/CxF3-core}", ElementTree.fromstring(data)
    colours = [
        [float(one.findtext(space + letter) or "nan") for letter in "LAB"]
        for one in document.iter(f"{space}ColorCIELab")
    ]
    spectra = [
        [float(cell) for cell in (one.text or "").split()] for one in document.iter(f"{space}ReflectanceSpectrum")
    ]
    found = parse_samples(data, "cxf", "cxf").samples
    for kind, theirs in (("colour", colours), ("spectrum", spectra)):
        ours = [sample.values for sample in found if sample.kind == kind]
        assert len(ours) == 144
        compared(f"a CxF3 file, each {kind}", ours, theirs, within=1e-9, source=CXF)
