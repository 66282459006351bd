"""What is written is read back the same, to the last bit of every number."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.chips.folders import COLOUR_CSV, COLOUR_TOML, NM, put, spectrum_csv, toml
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading
from tintmix.chips.folder import read_chips, write_chips
from tintmix.errors import CannotWrite, ValueProblem
from tintmix.resin import Part, Resin

_text = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=12).map(str.strip)
_name = _text.filter(lambda t: t != "" and t.isprintable())
_pigment_name = _name.filter(lambda t: not set(t) & set(",;=\"'") and t != "mix")
_note = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Zl", "Zp"]), max_size=20).map(
    lambda t: "".join(c for c in t if c.isprintable()).strip()
)
_small = st.floats(0, 1)
_above = st.floats(1e-6, 1)


def _pigment(name: str, number: float, text: str) -> Pigment:
    return Pigment(name, lot=text, stock=text, max_phr=number * 100, density_g_per_cm3=1 + number, price_per_g=number)


@st.composite
def sets(draw: st.DrawFn) -> ChipSet:
    """A chip set of any kind that a folder can hold."""
    kind = draw(st.sampled_from(["spectrum", "colour", "camera"]))
    names = draw(st.lists(_pigment_name, min_size=1, max_size=3, unique=True))
    pigments = tuple(_pigment(n, draw(_above), draw(_text)) if draw(st.booleans()) else Pigment(n) for n in names)
    if draw(st.integers(0, 9)) == 0:
        pigments = (Pigment("mix"),)
    space = draw(st.sampled_from(["Lab", "XYZ"])) if kind == "colour" else None
    with_light = kind != "spectrum" and draw(st.booleans())
    with_camera = kind == "camera" and draw(st.booleans())
    reading = Reading(
        kind=kind,
        relative_to=draw(st.sampled_from(["air", "untinted", "faces removed"])),
        geometry=draw(st.sampled_from(["total", "regular"])),
        unit="fraction" if kind == "colour" else draw(st.sampled_from(["fraction", "percent"])),
        light="lamp.csv" if with_light else draw(st.sampled_from(["D65", "A"])) if kind != "spectrum" else "D65",
        observer=draw(st.sampled_from([2, 10])) if kind == "colour" else 10,
        camera="camera.csv" if with_camera else "rendered",
        reading_spread=draw(_above),
        zero_spread=draw(_small) if kind == "camera" else 0.001,
        dose_spread=draw(_small),
        thickness_spread_mm=draw(_small),
        wavelengths_nm=(360.0, *NM[:4], 470.5, *NM[4:], 1000.0) if kind == "spectrum" else None,
        space=space,
    )
    size = reading.channels
    values = st.just(()) | st.tuples(*[(st.floats(2, 80) if kind == "colour" else st.floats(0, 0.9))] * size)
    chips = []
    for name in draw(st.lists(_name, min_size=1, max_size=4, unique=True)):
        doses = tuple(draw(st.just(0.0) | st.floats(0, 100)) for _ in pigments)
        haze = draw(st.none() | st.floats(0, 0.3))
        chips.append(
            Chip(
                name, name, doses, draw(st.floats(0.01, 500)), draw(values), (), haze, draw(st.booleans()), draw(_note)
            )
        )
    resin = Resin(
        draw(_name),
        draw(st.floats(1.3, 1.7)),
        1.1,
        2.0,
        "B",
        8,
        24,
        draw(_text),
        (Part("A", 100, "isocyanate"), Part("B", 90.5)),
    )
    nm = np.array([380.0, 550.25, 780.0])
    light = (nm, np.array([draw(_small), 1.0, draw(_small)])) if with_light else None
    camera = (nm, np.array([[draw(_above), 1.0, 0.5]] * 3)) if with_camera else None
    return ChipSet(reading, pigments, tuple(chips), resin, draw(_text), None, {}, (), light, camera)


@given(sets())
def test_written_and_read_is_the_same(chips: ChipSet) -> None:
    with tempfile.TemporaryDirectory() as folder:
        write_chips(chips, folder)
        back = read_chips(folder)
    assert back.canonical().keys() == chips.canonical().keys()
    assert back.chips == chips.chips
    assert back.reading == chips.reading
    assert back.pigments == chips.pigments
    assert back.resin == chips.resin
    assert back == chips
    assert back.digest() == chips.digest()
    assert back.defaults_used == {}


@pytest.mark.parametrize(
    ("set_toml", "csv"),
    [
        (COLOUR_TOML, COLOUR_CSV),
        (toml("spectrum"), spectrum_csv()),
        (toml("spectrum", 'unit = "percent"', "reading_spread = 0.01"), spectrum_csv("57.1")),
        (toml("camera", pigments=()), "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,.5,.5\nb,3,1\n"),
        (
            toml("colour"),
            "chip,thickness_mm,azure_g,resin_g,scale_g,haze_percent,L,a,b,use,note\n"
            'a,3,,,,,90,0,0,,"x ""y"", z"\nb,3,.3,20,.01,35,90,0,0,,\nc,3,.3,20,,7.1,90,0,0,no,\n',
        ),
    ],
)
def test_a_folder_comes_back_with_its_defaults_and_warnings(tmp_path: Path, set_toml: str, csv: str) -> None:
    chips = read_chips(put(tmp_path / "a", set_toml, csv))
    back = read_chips(write_chips(chips, tmp_path / "b"))
    assert back == chips
    assert back.defaults_used == chips.defaults_used
    assert back.warnings == chips.warnings
    assert [c.left_out for c in back.chips] == [c.left_out for c in chips.chips]
    again = write_chips(back, tmp_path / "b")
    assert (again / "chips.csv").read_bytes() == (write_chips(back, tmp_path / "c") / "chips.csv").read_bytes()


def test_says_who_made_it_and_when(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    chips = read_chips(put(tmp_path / "a", COLOUR_TOML, COLOUR_CSV))
    text = (write_chips(chips, tmp_path / "b") / "set.toml").read_text(encoding="utf-8")
    assert text.startswith("format = 1\n")
    assert 'made_by = "tintmix ' in text
    assert 'made_at = "1970-01-01T00:00:00Z"' in text


def test_a_set_toml_that_says_the_same_keeps_its_comments(tmp_path: Path) -> None:
    set_toml = COLOUR_TOML.replace("[reading]", "# read on the window sill\n[reading]")
    chips = read_chips(put(tmp_path, set_toml, COLOUR_CSV))
    brighter = replace(chips, chips=tuple(replace(c, values=(50.0, 1.0, 2.0)) for c in chips.chips))
    write_chips(brighter, tmp_path)
    assert (tmp_path / "set.toml").read_text(encoding="utf-8") == set_toml
    assert read_chips(tmp_path).chips[0].values == (50, 1, 2)
    write_chips(replace(chips, title="another"), tmp_path)
    assert "window sill" not in (tmp_path / "set.toml").read_text(encoding="utf-8")
    assert read_chips(tmp_path).title == "another"


def test_a_resin_in_a_file_of_its_own_stays_there(tmp_path: Path) -> None:
    set_toml = "format = 1\nresin = 'resin.toml'\n" + toml("colour", pigments=("azure", "emerald")).removeprefix(
        "format = 1\n"
    )
    chips = read_chips(put(tmp_path, set_toml, COLOUR_CSV, resin_toml="format = 1\nname = 'r'\n"))
    write_chips(chips, tmp_path)
    assert (tmp_path / "set.toml").read_text(encoding="utf-8") == set_toml
    assert read_chips(write_chips(chips, tmp_path / "copy")) == chips


def test_a_set_that_is_still_to_be_read_needs_no_columns_for_its_readings(tmp_path: Path) -> None:
    unread = ChipSet(Reading("spectrum"), (Pigment("azure"),), (Chip("a", "a", (0.1,), 3.0),))
    write_chips(unread, tmp_path / "b")
    assert read_chips(tmp_path / "b") == unread


def test_what_a_folder_cannot_say_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    chips = read_chips(put(tmp_path / "a", COLOUR_TOML, COLOUR_CSV))
    curve = (np.array([400.0, 700.0]), np.array([1.0, 1.0]))
    with pytest.raises(ValueProblem, match="names no CSV file"):
        write_chips(replace(chips, light_curve=curve), tmp_path / "b")
    with pytest.raises(CannotWrite):
        write_chips(chips, tmp_path / "no" / "such")
    assert not (tmp_path / "b").exists()
    assert not (tmp_path / "no").exists()
