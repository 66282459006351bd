"""folder.py: what formats.md promises of a chip-set folder, kind by kind, and its warnings."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.chips.folders import COLOUR_CSV, COLOUR_TOML, NM, put, spectrum_csv, toml
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips, write_chips
from tintmix.optics.detector import camera, camera_sensitivities, known_cameras
from tintmix.pigments.inference.gather import detector_of, gather
from tintmix.weighing.scales import scale_spread_g


def colour(folder: Path, csv: str = COLOUR_CSV, set_toml: str = COLOUR_TOML) -> ChipSet:
    return read_chips(put(folder, set_toml, csv))


def test_colours(tmp_path: Path) -> None:
    chips = colour(tmp_path)
    assert chips.title == "a small set"
    assert chips.folder == tmp_path
    assert [p.name for p in chips.pigments] == ["azure", "emerald"]
    assert (chips.pigments[0].lot, chips.pigments[0].max_phr) == ("A-17", 0.8)
    assert [c.name for c in chips.chips] == ["clear", "b1-3", "b1-12", "g1", "g2"]
    b1 = chips.chips[1]
    assert (b1.cup, b1.doses_phr, b1.thickness_mm, b1.values) == ("b1", (0.05, 0.0), 3.02, (78.2, -12.5, -20.1))
    assert b1.dose_spreads == (0.02, 0.02)
    assert b1.row == 3
    assert chips.chips[0].is_blank
    assert chips.reading.space == "Lab"
    assert not chips.is_one_cup
    assert [said.split(":")[0] for said in chips.warnings] == ["haze unknown"]


def test_the_example_of_the_format_is_read_as_it_stands(tmp_path: Path) -> None:
    """set.toml of formats.md, key by key; what says nothing for spectra (light, camera, ...) is left alone."""
    set_toml = """\
format = 1
title = "Deck-prism sea greens, first pour"
[resin]                          # or: resin = "resin.toml", a file beside it (see Resin)
name = "clear casting resin, invented"
refractive_index = 1.50          # default 1.50
cure = "24 h at 23 °C, 4 h at 65 °C"   # free text; a pour with another cure warns
[reading]
kind = "spectrum"                # "spectrum" | "colour" | "camera"
relative_to = "air"
geometry = "total"               # "total" (integrating sphere) | "regular" (most bench instruments; a camera's default)
unit = "fraction"                # spectrum, camera: "fraction" | "percent"
light = "D65"
observer = 10                    # colour: 2 | 10
camera = "cameras.csv"
reading_spread = 0.003
zero_spread = 0.001              # camera: absolute, of the dark end
dose_spread = 0.02               # relative, of a cup, where the weights do not say
thickness_spread_mm = 0.05
[pigments.azure]                  # one table for each *_phr (or *_g) column; may be empty
lot = "A-17"
stock = "1+50, 2026-11-02"       # optional: the stock bottle its cups were dosed from
carrier = "solvent-free"         # "water" with an isocyanate resin is refused
kind = "transparent"             # "pearl", "metallic", "white", "opaque" are refused
max_phr = 0.8                    # optional
density_g_per_cm3 = 1.2          # optional
price_per_g = 0.12               # optional
"""
    chips = read_chips(put(tmp_path, set_toml, spectrum_csv().replace(",1,", ",0.1,")))
    assert chips.defaults_used == {}
    assert chips.warnings == ()
    assert chips.resin.cure == "24 h at 23 °C, 4 h at 65 °C"
    assert chips.pigments[0].price_per_g == 0.12
    assert chips.pigments[0].stock == "1+50, 2026-11-02"


def test_defaults_are_stated(tmp_path: Path) -> None:
    """Only `format`, kind and chips are compulsory: what stands in for the rest is said."""
    assert colour(tmp_path).defaults_used == {
        "relative_to": "air", "geometry": "regular", "light": "D65", "observer": 10, "reading_spread": 0.3,
        "dose_spread": 0.02,
        "thickness_spread_mm": 0.05,
    }  # fmt: skip
    spectra = read_chips(put(tmp_path / "s", toml("spectrum", "dose_spread = 0.1"), spectrum_csv()))
    assert spectra.defaults_used == {
        "refractive_index": 1.5, "relative_to": "air", "geometry": "regular", "unit": "fraction", "reading_spread": 0.003,
        "thickness_spread_mm": 0.05,
    }  # fmt: skip
    camera = read_chips(
        put(
            tmp_path / "c",
            "format = 1\n[reading]\nkind = 'camera'",
            "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,.5,.5\n",
        )
    )
    assert camera.defaults_used == {
        "refractive_index": 1.5, "relative_to": "air", "geometry": "regular", "unit": "fraction", "light": "D65",
        "camera": "rendered", "reading_spread": 0.03, "zero_spread": 0.001, "dose_spread": 0.02,
        "thickness_spread_mm": 0.05,
    }  # fmt: skip
    assert any("does not name the camera" in warning for warning in camera.warnings)


def test_xyz(tmp_path: Path) -> None:
    chips = colour(tmp_path, "chip,thickness_mm,mix_phr,X,Y,Z\na,3,1,40,50,60\n", toml("colour", pigments=()))
    assert chips.reading.space == "XYZ"
    assert chips.chips[0].values == (40, 50, 60)


def test_spectra_in_percent(tmp_path: Path) -> None:
    chips = read_chips(put(tmp_path, toml("spectrum", 'unit = "percent"'), spectrum_csv("57")))
    assert chips.reading.wavelengths_nm == NM
    assert chips.chips[1].values == (0.57,) * len(NM)
    assert chips.chips[1].cup == "b1"  # without a column `cup`, each chip is its own


def test_irregular_wavelengths_beyond_the_eye(tmp_path: Path) -> None:
    head = "chip;thickness_mm;mix_phr;300;391,5 nm;400.25;440;480;500;520;560;600;640;680;720;1100"
    chips = read_chips(put(tmp_path, toml("spectrum", pigments=()), head + "\na;3;1" + ";0,5" * 13 + "\n"))
    assert chips.reading.wavelengths_nm is not None
    assert chips.reading.wavelengths_nm[:3] == (300, 391.5, 400.25)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", False), (";", True), ("\t", False), ("\t", True)])
def test_dialects(tmp_path: Path, delimiter: str, comma: bool, newline: str, encoding: str) -> None:
    csv = COLOUR_CSV.replace(",", delimiter)
    if comma:
        csv = csv.replace(".", ",")
    put(tmp_path / "a", COLOUR_TOML.encode(encoding), csv.replace("\n", newline).encode(encoding))
    assert read_chips(tmp_path / "a") == colour(tmp_path / "b")


def test_path_of_set_toml_will_do(tmp_path: Path) -> None:
    chips = colour(tmp_path)
    assert read_chips(str(tmp_path / "set.toml")) == chips


def test_weights_in_place_of_phr(tmp_path: Path) -> None:
    csv = (
        "chip,thickness_mm,azure_g,emerald_phr,resin_g,scale_g,L,a,b\n"
        "clear,6,,,,,96,0,0\n"
        "b1,3,0.4,,20,0.01,80,-5,-9\n"
        "b2,3,0.4,0.1,20,,80,-5,-9\n"
        "g1,3,,0.1,20,0.01,80,-5,-9\n"
    )
    chips = colour(tmp_path, csv)
    clear, b1, b2, g1 = chips.chips
    assert clear.doses_phr == (0, 0)
    assert b1.doses_phr[0] == 100 * 0.4 / 20
    # physics §12: a scale with d = s = 0.01 g has u = 0.0147196 g.
    assert scale_spread_g(0.01) == pytest.approx(0.0147196, abs=5e-8)
    assert b1.dose_spreads[0] == pytest.approx(np.hypot(0.0147196 / 0.4, 0.0147196 / 20), rel=1e-5)
    assert b1.dose_spreads[1] == 0.02  # emerald was given in phr
    assert b2.dose_spreads == (0.02, 0.02)  # no scale given
    assert g1.doses_phr == (0, 0.1)


def test_use_note_and_haze(tmp_path: Path) -> None:
    csv = (
        "chip,thickness_mm,azure_phr,L,a,b,use,note,haze_percent\n"
        'clear,3,,96,0,0,,"round, thick",\n'
        "b1,3,.1,80,0,0,yes,,7\n"
        "b2,3,.1,1000,0,0,No,bubbles,\n"
        "b3,3,.1,80,0,0,,,31\n"
        "b4,3,.1,80,0,0,,,30\n"
    )
    chips = colour(tmp_path, csv, toml("colour"))
    assert [c.use for c in chips.chips] == [True, True, False, False, True]
    assert [c.haze for c in chips.chips] == [None, 0.07, None, 0.31, 0.3]
    assert chips.chips[0].note == "round, thick"
    assert chips.chips[2].left_out == ""
    assert "haze above 30 %" in chips.chips[3].left_out
    assert any("b3 (31 %)" in warning for warning in chips.warnings)


def test_a_planned_chip_has_no_reading_yet(tmp_path: Path) -> None:
    chips = colour(tmp_path, COLOUR_CSV + "later,later,25,0.1,0.1,,,\nshort,short,25,.1,.1\n")
    assert chips.chips[-1].values == chips.chips[-2].values == ()
    assert any("not read yet" in warning and "later, short" in warning for warning in chips.warnings)


def test_one_cup(tmp_path: Path) -> None:
    for tables in ((), ("mix",)):
        chips = colour(
            tmp_path,
            "chip,cup,thickness_mm,mix_phr,L,a,b\nm3,m,3,1,70,1,2\nm12,m,12,1,30,3,4\n",
            toml("colour", 'geometry = "total"', pigments=tables),
        )
        assert chips.is_one_cup
        (warning,) = chips.warnings
        assert "steep" in warning


def test_resin_beside_or_inside(tmp_path: Path) -> None:
    inside = "[[resin.part]]\nname = 'A'\nparts_by_weight = 1\nhazard = 'epoxy resin'\n"
    chips = colour(tmp_path / "a", set_toml=COLOUR_TOML + inside)
    assert chips.resin.parts[0].hazard == "epoxy resin"
    beside = COLOUR_TOML.replace("[resin]\n", 'resin = "resin.toml"\n').replace(
        'name = "clear casting resin, invented"\n', ""
    )
    beside = beside.replace("refractive_index = 1.50\n", "")
    put(tmp_path / "b", beside, COLOUR_CSV, resin_toml="format = 1\nrefractive_index = 1.55\ncure = '24 h'\n")
    chips = read_chips(tmp_path / "b")
    assert (chips.resin.refractive_index, chips.resin.cure) == (1.55, "24 h")
    assert "refractive_index" not in chips.defaults_used


def test_light_and_camera_from_files(tmp_path: Path) -> None:
    set_toml = toml("camera", 'light = "panel.csv"', 'camera = "cam.csv"', pigments=())
    folder = put(
        tmp_path, set_toml, "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,.4,.3\n",
        panel_csv="nm;power\n380;0,1\n550;1\n730;0,2\n",
        cam_csv="# invented\nnm,B,G,R\n400,1,0,0\n550,0,1,0\n700,0,0,1\n",
    )  # fmt: skip
    chips = read_chips(folder)
    assert chips.light_curve is not None
    assert chips.camera_curve is not None
    assert chips.light_curve[1].tolist() == [0.1, 1, 0.2]
    assert chips.camera_curve[1].tolist() == [[0, 0, 1], [0, 1, 0], [1, 0, 0]]  # by name: R, G, B
    assert chips.reading.reading_spread == 0.01


def test_a_camera_by_name(tmp_path: Path) -> None:
    name = known_cameras()[0]
    table = "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,.4,.3\n"
    folder = put(tmp_path, toml("camera", f'camera = "{name.upper()}"', 'light = "d55"', pigments=()), table)
    chips = read_chips(folder)
    assert (chips.reading.camera, chips.camera_curve, chips.reading.light) == (name, None, "D55")
    seen = detector_of(chips)
    assert seen is not None
    np.testing.assert_allclose(seen.weights, camera(*camera_sensitivities(name), "D55").weights)
    (readings,) = gather([chips]).observations.readings
    assert readings.latents is None  # nothing leans: camera and panel are known
    again = tmp_path / "again"
    write_chips(chips, again)
    assert read_chips(again) == chips


def test_light_by_name_in_any_case(tmp_path: Path) -> None:
    chips = colour(tmp_path, set_toml=toml("colour", 'light = "led-b3"', "observer = 2", pigments=("azure", "emerald")))
    assert (chips.reading.light, chips.reading.observer) == ("LED-B3", 2)


WARNINGS = [
    ("no untinted chip", "chip,thickness_mm,azure_phr,L,a,b\nb1,3,.1,80,0,0\nb2,3,.2,80,0,0\n", ()),
    ("azure is in a single chip", "chip,thickness_mm,azure_phr,L,a,b\nc,3,,96,0,0\nb2,3,.2,80,0,0\n", ()),
    ("b1 reads up to 94.9", "chip,thickness_mm,azure_phr,L,a,b\nb1,3,.1,98,0,0\nb2,3,.2,80,0,0\n", ()),
    ("haze unknown", "chip,thickness_mm,azure_phr,L,a,b\nb1,3,.1,80,0,0\n", ('geometry = "regular"',)),
    ("haze unknown", "chip,thickness_mm,azure_phr,L,a,b\nb1,3,.1,80,0,0\n", ()),
]  # fmt: skip


@pytest.mark.parametrize(("said", "csv", "lines"), WARNINGS)
def test_warnings(tmp_path: Path, said: str, csv: str, lines: tuple[str, ...]) -> None:
    chips = colour(tmp_path, csv, toml("colour", *lines))
    assert any(said in warning for warning in chips.warnings), chips.warnings


def test_warns_above_the_clear_plate_up_to_five_percent(tmp_path: Path) -> None:
    """Clear plate, n = 1.5: 2n/(n² + 1) = 0.923077 (Fresnel; Hecht, Optics, ch. 4)."""
    quiet = read_chips(put(tmp_path, toml("spectrum"), spectrum_csv("0.925")))
    assert not any("clear plate" in w for w in quiet.warnings)
    loud = read_chips(put(tmp_path, toml("spectrum"), spectrum_csv("0.969")))
    assert any("up to 0.969, more than a clear plate can give (0.9231)" in w for w in loud.warnings)
    assert any("fluorescent" in w for w in loud.warnings)
    free = read_chips(put(tmp_path, toml("spectrum", 'relative_to = "untinted"'), spectrum_csv("1.004")))
    assert not any("more than" in w for w in free.warnings)


def test_warns_of_doses_beyond_what_is_allowed(tmp_path: Path) -> None:
    set_toml = COLOUR_TOML.replace("max_phr = 0.8", 'max_phr = 0.04\nstock = "1+50"').replace(
        "1.50", "1.5\nmax_total_phr = 0.09"
    )
    chips = colour(tmp_path, set_toml=set_toml)
    assert any("b1-3, b1-12 hold more azure than its max_phr of 0.04" in w for w in chips.warnings)
    assert any("g1 holds more pigment than the resin's max_total_phr of 0.09" in w for w in chips.warnings)


def test_warns_of_a_stock_bottle_that_was_weighed_and_a_coarse_scale(tmp_path: Path) -> None:
    set_toml = toml("colour") + 'stock = "1+50"\n'
    chips = colour(tmp_path, "chip,thickness_mm,azure_g,resin_g,scale_g,L,a,b\nb,3,.02,20,.01,80,0,0\n", set_toml)
    assert any("azure_g is read as grams of azure as supplied" in w for w in chips.warnings)
    assert any("cannot weigh the azure of b to 20 %" in w for w in chips.warnings)


def test_warns_of_fractions_called_percent_and_of_wide_gaps(tmp_path: Path) -> None:
    tinted = spectrum_csv("0.5").replace("clear,3,,", "pale,3,.01,")
    chips = read_chips(put(tmp_path, toml("spectrum", 'unit = "percent"'), tinted))
    assert any("no reading is above 1.5 %" in w for w in chips.warnings)
    wide = "chip,thickness_mm,mix_phr,400,450,500,550,600,650,700\na,3,1" + ",.5" * 7 + "\n"
    chips = read_chips(put(tmp_path, toml("spectrum", pigments=()), wide))
    assert any("50 nm apart" in w for w in chips.warnings)


def test_warns_of_water_where_the_resin_is_not_told(tmp_path: Path) -> None:
    chips = colour(tmp_path, set_toml=COLOUR_TOML + 'carrier = "water"\n')
    assert any("emerald is water-borne" in w for w in chips.warnings)


def test_digest_goes_by_what_is_said(tmp_path: Path) -> None:
    a, b = colour(tmp_path / "a"), colour(tmp_path / "b", COLOUR_CSV.replace(",", ";"))
    assert a.digest() == b.digest()
    assert len({a, b}) == 1
    c = colour(tmp_path / "c", COLOUR_CSV.replace("3.02", "3.03"))
    assert a != c
    assert a.digest() != c.digest()
