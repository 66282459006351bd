"""Readers of instrument files, on files made to the standards."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.chips.instruments import instrument_texts as texts
from tintmix.chips.instruments.dispatch import parse_samples
from tintmix.chips.instruments.sample import Sample
from tintmix.chips.instruments.tabular.typed_colours import parse_colours
from tintmix.errors import FileProblem, TintmixError, ValueProblem


def samples(text: str) -> tuple[Sample, ...]:
    return parse_samples(text.encode(), "file", "stem").samples


def test_csv_with_a_row_a_sample() -> None:
    one, two = samples(texts.csv_rows({"b1": 0.9, "b 2": 0.4}))
    assert (one.name, two.name) == ("b1", "b 2")
    assert one.wavelengths_nm == tuple(map(float, texts.NM))
    assert one.values == tuple(texts.values(0.9))


def test_csv_with_a_column_a_sample_semicolons_and_decimal_commas() -> None:
    one, two = samples(texts.csv_columns({"b1": 0.9, "b2": 0.4}))
    assert np.allclose(one.values, texts.values(0.9))
    assert two.name == "b2"


def test_csv_in_pairs_of_columns_falling_with_words_below() -> None:
    text = '"b1",,"b2",\nWavelength (nm),%T,Wavelength (nm),%T\n' + "".join(
        f"{nm},{nm / 10},{nm},50\n" for nm in range(700, 390, -20)
    )
    one, two = samples(text + "\nLamp,on\n")
    assert (one.name, two.name) == ("b1", "b2")
    assert (one.quantity, one.unit) == ("transmittance", "percent")
    assert one.wavelengths_nm is not None
    assert (one.wavelengths_nm[0], one.values[0]) == (400.0, 40.0)


def test_csv_of_a_colorimeter_says_light_and_observer_in_its_header() -> None:
    (one,) = samples("Title,day 1\nData Name,L*(10°/D65),a*(10°/D65),b*(10°/D65)\nb1,50,1,2\n")
    assert (one.space, one.values, one.light, one.observer) == ("Lab", (50.0, 1.0, 2.0), "D65", 10)


def test_cgats_colours_with_their_weighting_function() -> None:
    one, two = samples(texts.cgats_colours({"b1": (50, 1, 2), "b 2": (60, 3, 4)}, "D50", 2))
    assert (one.light, one.observer, one.space) == ("D50", 2, "Lab")
    assert (two.name, two.other_name, two.values) == ("b 2", "2", (60.0, 3.0, 4.0))


@pytest.mark.parametrize("pairs", [False, True])
def test_cgats_spectra(pairs: bool) -> None:
    (one,) = samples(texts.cgats_spectra({"b1": 0.9}, pairs))
    assert (one.quantity, one.unit, one.geometry) == ("transmittance", "percent", "total")
    assert np.allclose(one.values, 100 * np.array(texts.values(0.9)))


def test_cgats_that_is_cut_short_says_so() -> None:
    with pytest.raises(FileProblem, match="NUMBER_OF_SETS is 2, but 1"):
        samples(texts.cgats_colours({"b1": (1, 2, 3), "b2": (1, 2, 3)}).replace('2 "b2" 1 2 3\n', ""))
    with pytest.raises(FileProblem, match="cut short"):
        samples(texts.cgats_colours({"b1": (1, 2, 3)}).replace("END_DATA\n", ""))


def test_cxf_spectrum_and_colour() -> None:
    one, two = samples(texts.cxf("b1", 0.9))
    assert (one.kind, one.quantity, one.geometry, one.unit) == ("spectrum", "transmittance", "total", "fraction")
    assert one.values == tuple(texts.values(0.9))
    assert (two.space, two.values, two.light, two.observer) == ("Lab", (80.0, -5.0, -9.0), "D65", 10)


def test_cxf_of_a_reflection_instrument() -> None:
    assert samples(texts.cxf("b1", 0.5, "Reflectance", geometry="Specular_Excluded"))[0].geometry == "d/8"
    assert samples(texts.cxf("b1", 0.5, "Reflectance", geometry="Specular_Included"))[0].geometry == "gloss included"


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE x [<!ENTITY a "b">]>',
        '<!DOCTYPE x SYSTEM "file:///etc/passwd">',
        '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
    ],
)
def test_cxf_with_a_document_type_is_refused(head: str) -> None:
    with pytest.raises(FileProblem, match="document type"):
        samples(texts.cxf("b1", 0.9).replace("?>", "?>" + head, 1))


def test_cxf_nested_without_end_is_refused() -> None:
    with pytest.raises(FileProblem, match="nested"):
        samples("<?xml version='1.0'?>" + "<a>" * 5000 + "</a>" * 5000)


@pytest.mark.parametrize("units", ["NANOMETERS", "1/CM"])
def test_jcamp_in_nanometres_and_wavenumbers(units: str) -> None:
    (one,) = samples(texts.jcamp("b1", 0.9, "ABSORBANCE", units))
    assert one.quantity == "absorbance"
    assert np.allclose(one.wavelengths_nm, texts.NM, atol=1e-3)
    assert np.allclose(one.values, texts.values(0.9))


def test_jcamp_squeezed_differences_and_repeats_as_the_library_reads_them(tmp_path: Path) -> None:
    (one,) = samples(texts.SQUEEZED)
    assert np.allclose(one.values, texts.SQUEEZED_VALUES)
    # The library of that name as an independent reader; its repeats after a difference are its own, so without them.
    library = pytest.importorskip("jcamp")
    path = tmp_path / "a.jdx"
    path.write_text(texts.SQUEEZED.replace("j0T", "j0j0"), encoding="ascii")
    read = library.readfile(str(path))
    assert np.allclose(read["x"], one.wavelengths_nm)
    assert np.allclose(read["y"], one.values)


def test_jcamp_blocks() -> None:
    assert [s.name for s in samples(texts.LINKED)] == ["b1", "b2"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (texts.jcamp("b1", 0.9).replace("##END=\n", ""), "cut short"),
        (texts.jcamp("b1", 0.9).replace("NPOINTS=36", "NPOINTS=40"), "begins at x"),
        (texts.jcamp("b1", 0.9).replace("NANOMETERS", "SECONDS"), "XUNITS"),
        (texts.SQUEEZED.replace("D91", "D92"), "does not go on"),
        (texts.jcamp("b1", 0.9).replace("NPOINTS=36", "NPOINTS=99999999"), "must be from"),
    ],
)
def test_jcamp_that_contradicts_itself(text: str, says: str) -> None:
    with pytest.raises(FileProblem, match=says):
        samples(text)


@pytest.mark.parametrize(
    ("line", "values", "space"),
    [
        ("b1 50 1 -2", (50, 1, -2), "Lab"),
        ("b1: 50,5 1,25 -2", (50.5, 1.25, -2), "Lab"),
        ("b1;50,5;1,25;-2", (50.5, 1.25, -2), "Lab"),
        ("b1,50.5,1.25,-2", (50.5, 1.25, -2), "Lab"),
        ("b1, 50, 1, -2", (50, 1, -2), "Lab"),
        ("b1 = XYZ 50 60 70", (50, 60, 70), "XYZ"),
        ("b1 #ff0010", (255, 0, 16), "sRGB"),
    ],
)
def test_typed_colours(line: str, values: tuple[float, ...], space: str) -> None:
    (one,) = parse_colours(line).samples
    assert (one.name, one.space, one.values) == ("b1", space, tuple(map(float, values)))


@pytest.mark.parametrize("text", ["b1 50 1", "50 1 2", "b1 50 x 2", "b1 " + "9" * 500])
def test_typed_colours_that_are_none(text: str) -> None:
    with pytest.raises(ValueProblem, match="line 1"):
        parse_colours(text)


@pytest.mark.parametrize("data", [b"", b"\0\1\2", b"hello", b"\xff\xfe\0", b"a,b\n1,2\n", b"<", b"##"])
def test_what_is_no_instrument_file(data: bytes) -> None:
    with pytest.raises(TintmixError):
        parse_samples(data, "file", "stem")


def test_a_file_without_wavelengths_says_what_is_missing() -> None:
    with pytest.raises(FileProblem, match="no line heads columns by wavelengths"):
        samples("sample,value\nb1,0.5\n")
