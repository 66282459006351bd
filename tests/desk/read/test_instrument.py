"""Readings into a set: matched, checked, averaged, kept, corrected; and the set untouched where anything is wrong."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.chips.folders import put, toml
from tests.chips.instruments import instrument_texts as texts
from tintmix.chips.convert import Wish
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments import errors
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.chips.instruments.sample import Space
from tintmix.chips.instruments.tabular.typed_colours import parse_colours
from tintmix.desk.read.instrument import ReadDone, read_into_set
from tintmix.errors import FileProblem, Remedy, TintmixError, ValueProblem

COLOURS = """\
chip;thickness_mm;azure_phr;L;a;b;check_chip
clear;6,0;;;;;
b1;3,02;0,05;;;;
b2;3,0;0,1;60,5;-10,0;-30,0;
k;3,0;0,1;60,0;-10,0;-30,0;yes
"""


def read_files(folder: Path, files: Sequence[Path], mapping: Sequence[str] = (), **how: Any) -> ReadDone:
    return read_into_set(folder, [read_samples(one) for one in files], mapping, **how)


def read_colours(folder: Path, text: str, mapping: Sequence[str] = (), space: Space = "Lab", **how: Any) -> ReadDone:
    return read_into_set(folder, [parse_colours(text, space)], mapping, **how)


def colour_set(folder: Path, csv: str = COLOURS, *lines: str) -> Path:
    return put(folder / "set", "# my own words\n" + toml("colour", *lines), csv)


def spectra_set(folder: Path, *lines: str) -> Path:
    nm = ",".join(str(n) for n in texts.NM)
    blank = "," * len(texts.NM)
    rows = "".join(f"{name},3,{dose}{blank}\n" for name, dose in (("clear", ""), ("b1", 0.1), ("b2", 0.4)))
    return put(folder / "set", toml("spectrum", *lines), f"chip,thickness_mm,azure_phr,{nm}\n{rows}")


def file(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def snapshot(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_new_readings_go_in_old_ones_stay_and_the_table_keeps_its_dialect(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    done = read_colours(folder, "CLEAR 96 0 0.5\nb 1 78.5 -12 -20\nb2 50 0 0\nk 60 -10 -30")
    actions = {row.chip: row.action for row in done.put.rows}
    assert actions == {"clear": "new", "b1": "new", "b2": "kept", "k": "check"}
    assert "b1;3,02;0,05;;78,5;-12;-20" in (folder / "chips.csv").read_text()
    assert read_chips(folder).chips[2].values == (60.5, -10.0, -30.0)
    assert (folder / "set.toml").read_text().startswith("# my own words")


def test_columns_that_the_maker_is_to_fill_stay_when_the_last_chip_is_read(tmp_path: Path) -> None:
    folder = colour_set(tmp_path, "chip,thickness_mm,azure_phr,haze,L,a,b,note\nclear,6,,,,,,\nb1,3,0.05,,,,,\n")
    read_colours(folder, "clear 96 0 0.5\nb1 78.5 -12 -20")
    assert (
        (folder / "chips.csv")
        .read_text()
        .startswith("chip,thickness_mm,azure_phr,haze,L,a,b,note\nclear,6,,,96,0,0.5,\n")
    )


def test_replace_keeps_what_was_there_beside_it(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    before = (folder / "chips.csv").read_text()
    done = read_colours(folder, "b2 50 0 0", replace_old=True)
    assert [row.action for row in done.put.rows] == ["replaced"]
    (kept,) = (folder / "readings").glob("*-before-chips.csv")
    assert kept.read_text() == before
    (log,) = (folder / "readings").glob("*.json")
    body = json.loads(log.read_text())
    assert body["chips"][0]["before"] == [60.5, -10.0, -30.0]
    assert body["chips"][0]["read"] == [[50.0, 0.0, 0.0]]


def test_a_dry_run_changes_nothing(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    before = snapshot(folder)
    done = read_colours(folder, "b1 78 -12 -20", dry_run=True)
    assert "chips.csv" in done.body["would_write"]
    assert snapshot(folder) == before


def test_repeats_are_averaged_and_their_spread_is_kept(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    done = read_colours(folder, "b1 77.7 -12 -20\nb1 (2) 78.7 -12 -20\nb1 #3 78.2 -12 -20")
    (row,) = done.put.rows
    assert (row.readings, row.values) == (3, (78.2, -12.0, -20.0))
    chip = read_chips(folder).chips[1]
    # s² = (4·0.3² + 2·0.25/3)/(4 + 2), over √3: by hand from the rule in put.py.
    assert chip.reading_spread == pytest.approx(np.sqrt((4 * 0.09 + 2 * 0.25 / 3) / 6 / 3), rel=5e-3)


def test_a_drift_is_told_and_corrected_when_asked(tmp_path: Path) -> None:
    folder = colour_set(tmp_path, COLOURS.replace("60,0;-10,0;-30,0;yes", "60,0;0;0;yes"))
    brighter = 116 * np.cbrt(((60 + 16) / 116) ** 3 * 1.06) - 16
    told = read_colours(folder, f"k {brighter} 0 0\nb1 {brighter} 0 0", dry_run=True)
    assert told.body["drift"]["drifted"]
    assert not told.body["drift"]["corrected"]
    done = read_colours(folder, f"k {brighter} 0 0\nb1 {brighter} 0 0", correct_drift=True)
    assert done.body["drift"]["corrected"]
    chips = {chip.name: chip for chip in read_chips(folder).chips}
    assert chips["b1"].values[0] == pytest.approx(60.0, abs=0.4)
    assert chips["k"].values[0] == 60.0


def test_check_chips_that_read_as_before_show_no_drift(tmp_path: Path) -> None:
    done = read_colours(colour_set(tmp_path), "k 60.2 -10.1 -29.8")
    assert not done.body["drift"]["drifted"]
    assert done.body["written"] == [next(name for name in done.body["written"] if name.endswith(".json"))]


@pytest.mark.parametrize("text", [texts.csv_rows({"b1": 0.9, "B2": 0.4}), texts.cgats_spectra({"b1": 0.9, "b2": 0.4}),
                                  texts.csv_columns({"b1": 0.9, "b2": 0.4}, percent=True)])  # fmt: skip
def test_spectra_from_files(tmp_path: Path, text: str) -> None:
    folder = spectra_set(tmp_path)
    read_files(folder, [file(tmp_path, "export.txt", text)])
    chips = read_chips(folder).chips
    assert np.allclose(chips[1].values, texts.values(0.9), atol=1e-4)
    assert not chips[0].is_read


def test_a_file_of_one_spectrum_each(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    files = [file(tmp_path, "1.jdx", texts.jcamp("b1", 0.9)), file(tmp_path, "2.cxf", texts.cxf("b2", 0.5))]
    done = read_files(folder, files)
    assert [s["format"] for s in done.body["sources"]] == ["JCAMP-DX", "CxF3"]
    assert np.allclose(read_chips(folder).chips[2].values, texts.values(0.5))


def test_absorbance_in_wavenumbers_becomes_transmittance_on_the_sets_wavelengths(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    absorbance = texts.jcamp("b1", 0.9, "ABSORBANCE", "1/CM")
    read_files(folder, [file(tmp_path, "1.jdx", absorbance)], ["b1=b1"])
    assert np.allclose(read_chips(folder).chips[1].values, 10 ** -np.array(texts.values(0.9)), atol=1e-3)


def test_where_nothing_is_a_chip_of_the_set_nothing_looks_like_success(tmp_path: Path) -> None:
    folder, text = spectra_set(tmp_path), "nm;S 1\n" + "".join(f"{nm};0.5\n" for nm in texts.NM)
    strangers = [file(tmp_path, "a.csv", text)]
    with pytest.raises(errors.NoMatch, match="the chips are clear, b1, b2") as refused:
        read_files(folder, strangers, others_ignored=True)
    assert refused.value.remedy == Remedy.MAP_THE_SAMPLES
    (note,) = read_files(folder, strangers, dry_run=True).body["notes"]
    assert note.remedy == Remedy.MAP_THE_SAMPLES


def test_spectra_of_two_steps_are_brought_to_the_coarser(tmp_path: Path) -> None:
    fine = "".join(f"{nm};0.5\n" for nm in range(380, 731, 5))
    text = "Sample: b1\nnm;T\n" + fine + "\nSample: b2\nnm;T\n" + "".join(f"{nm};0.4\n" for nm in texts.NM)
    body = read_files(spectra_set(tmp_path), [file(tmp_path, "a.csv", text)], replace_old=True).body
    assert [chip["action"] for chip in body["chips"]] == ["new", "new"]


def test_mapping_and_leaving_out(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    path = file(tmp_path, "e.csv", texts.csv_rows({"1": 0.9, "2": 0.4, "tile": 0.9}))
    done = read_files(folder, [path], ["1=b1", "2=B2", "tile="])
    assert [row.chip for row in done.put.rows] == ["b1", "b2"]
    assert done.body["passed_over"] == ["tile"]


CASES = [
    ("no match", {"x": 0.9}, {}, errors.NoMatch, "no chip is called x"),
    (
        "percent told as fraction",
        {"b1": 90.0},
        {"wish": Wish(quantity="transmittance", unit="fraction")},
        TintmixError,
        ".",
    ),
    ("fuller chip brighter", {"b1": 0.4, "b2": 0.9}, {}, ValueProblem, "look like absorbance"),
    ("mapped to nothing", {"b1": 0.9}, {"mapping": ["b1=zz"]}, ValueProblem, "no chip called"),
    ("mapped from nothing", {"b1": 0.9}, {"mapping": ["q=b1"]}, ValueProblem, "not in what was read"),
    ("reflection", {"b1": 0.9}, {"wish": Wish(quantity="reflectance")}, ValueProblem, "reflection"),
]


@pytest.mark.parametrize(("what", "levels", "options", "error", "says"), CASES, ids=[case[0] for case in CASES])
def test_what_is_refused_leaves_the_set_as_it_was(
    tmp_path: Path, what: str, levels: dict[str, float], options: dict, error: type[TintmixError], says: str
) -> None:
    folder = spectra_set(tmp_path)
    before = snapshot(folder)
    path = file(tmp_path, "e.csv", texts.csv_rows(levels))
    with pytest.raises(error, match=says):
        read_files(folder, [path], **options)
    assert snapshot(folder) == before


@pytest.mark.parametrize(
    ("text", "error", "says"),
    [
        (texts.jcamp("b1", 0.9, "%T"), ValueProblem, "fractions"),
        (texts.csv_rows({"b1": 0.9}) + "b2," + ",".join(["2.0"] * 36) + "\n", TintmixError, "absorbance"),
        (texts.cxf("b1", 0.5, "Reflectance"), ValueProblem, "reflection"),
        (texts.LINKED.replace("380", "340", 1).replace("##FIRSTX=380", "##FIRSTX=340", 1), TintmixError, "."),
        (texts.cgats_colours({"b1": (50, 1, 2)}), ValueProblem, "colours"),
        ("nm;b1\n500;0,5\n600;0,5\n", FileProblem, "are needed"),
    ],
)
def test_files_that_contradict_the_set(tmp_path: Path, text: str, error: type[TintmixError], says: str) -> None:
    folder = spectra_set(tmp_path)
    before = snapshot(folder)
    with pytest.raises(error, match=says):
        read_files(folder, [file(tmp_path, "e.txt", text)])
    assert snapshot(folder) == before


def test_chips_whose_names_differ_by_case_alone_need_a_map(tmp_path: Path) -> None:
    folder = colour_set(tmp_path, "chip,thickness_mm,azure_phr,L,a,b\nB1,3,1,,,\nb 1,3,2,,,\n")
    with pytest.raises(errors.NoMatch, match="either of two"):
        read_colours(folder, "b1 50 0 0")
    read_colours(folder, "b1 50 0 0", ["b1=B1"])
    assert read_chips(folder).chips[0].is_read


def test_light_of_the_file_is_taken_where_the_set_says_none_and_refused_where_it_says_another(tmp_path: Path) -> None:
    path = file(tmp_path, "e.txt", texts.cgats_colours({"b1": (80, -5, -9)}, "D50", 2))
    empty = "chip,thickness_mm,azure_phr,L,a,b\nb1,3,1,,,\n"
    folder = colour_set(tmp_path, empty)
    done = read_files(folder, [path])
    assert done.body["set_changes"] == {"light": "D50", "observer": 2}
    assert (read_chips(folder).reading.light, read_chips(folder).reading.observer) == ("D50", 2)
    other = put(tmp_path / "other", toml("colour", "light = 'D65'"), empty)
    with pytest.raises(ValueProblem, match="says light D50, and set"):
        read_files(other, [path])


@pytest.mark.parametrize(
    ("line", "space"),
    [("b1 50 10 90", "LCh"), ("b1 0.3138 0.331 18.4", "xyY"), ("b1 17.5 18.4 19.7", "XYZ"), ("b1 #808080", "sRGB")],
)
def test_typed_colours_of_every_space(tmp_path: Path, line: str, space: str) -> None:
    folder = colour_set(tmp_path)
    read_colours(folder, line, space=space)  # type: ignore[arg-type]
    lab = read_chips(folder).chips[1].values
    expected = {"LCh": (50, 0, 10), "sRGB": (53.585, 0, 0)}.get(space, (50, 0, 0))
    # sRGB 128 is L* 53.585 (IEC 61966-2-1 and CIE 15, by hand); the others are near grey of L* 50 by construction.
    assert np.allclose(lab, expected, atol=1e-3 if space in ("LCh", "sRGB") else 1.2)


def test_xyz_of_white_one_is_noticed(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    with pytest.raises(ValueProblem, match="bare light = 1"):
        read_colours(folder, "b1 .175 .184 .197", space="XYZ")
    read_colours(folder, "b1 .175 .184 .197", space="XYZ", wish=Wish(unit="fraction"))
    assert read_chips(folder).chips[1].values[0] == pytest.approx(50, abs=0.1)


def test_a_reading_no_chip_can_have_is_refused(tmp_path: Path) -> None:
    folder = colour_set(tmp_path)
    before = snapshot(folder)
    with pytest.raises(ValueProblem, match="nothing was changed"):
        read_colours(folder, "b1 120 0 0")
    assert snapshot(folder) == before


TILE = ("relative_to = 'white tile'", "tile_lab = [95, 0, 1]", "contact = 'wetted'")


def test_reflection_on_a_white_tile_is_read_and_transmission_refused(tmp_path: Path) -> None:
    folder = colour_set(tmp_path, COLOURS, *TILE)
    reflection = texts.cxf("b1", 0.5, "Reflectance", geometry="Specular_Excluded")
    with pytest.raises(ValueProblem, match="geometry d/8"):
        read_files(folder, [file(tmp_path, "r.cxf", reflection)])
    with pytest.raises(ValueProblem):
        read_files(folder, [file(tmp_path, "t.cxf", texts.cxf("b1", 0.5))])
    read_colours(folder, "b1 70 -5 -9")
    assert read_chips(folder).chips[1].values == (70.0, -5.0, -9.0)
