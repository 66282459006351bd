"""What instruments really write, into a set: names, maps, gloss, questions, and what is shown before anything is put in."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.chips.folders import toml
from tests.chips.instruments.corpus_made import absorbance, down, percent
from tests.desk.read.test_instrument import COLOURS, TILE, colour_set, file, put, read_files, snapshot, spectra_set
from tintmix.chips.convert import Wish
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.chips.instruments.errors import Asked
from tintmix.desk.read.instrument import look_into
from tintmix.errors import FileProblem, Remedy, ValueProblem

NM = tuple(map(float, range(380, 731, 10)))


def values(folder: Path, name: str) -> tuple[float, ...]:
    return next(chip.values for chip in read_chips(folder).chips if chip.name == name)


def test_one_file_a_chip_goes_by_its_files_name_and_two_are_not_averaged(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    files = [
        file(tmp_path, f"{name}.csv", down("nm;A", level, sep=";", turn=absorbance))
        for name, level in (("b1", 0.8), ("b2", 0.4))
    ]
    with pytest.raises(ValueProblem, match="not in what was read"):
        read_files(folder, files, ["A=b1"])
    done = read_files(folder, files)
    assert [(row.chip, row.readings) for row in done.put.rows] == [("b1", 1), ("b2", 1)]
    assert values(folder, "b2")[0] == pytest.approx(0.4 * 0.6, rel=1e-3)


def test_files_whose_samples_are_all_called_alike_go_by_their_own_names(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    files = [
        file(tmp_path, f"{name}.csv", down("nm;probe 7", level, sep=";")) for name, level in (("b1", 0.8), ("b2", 0.4))
    ]
    with pytest.raises(ValueProblem, match="stands in"):
        read_files(folder, files, ["probe 7=b1"])
    assert [row.chip for row in read_files(folder, files).put.rows] == ["b1", "b2"]


def test_a_map_takes_a_star_and_is_remembered_for_the_next_file_like_it(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    first = file(tmp_path, "monday.csv", down("nm;S 1;S 2", 0.8, 0.4, sep=";"))
    assert [row.chip for row in read_files(folder, [first], ["S *=b*"]).put.rows] == ["b1", "b2"]
    again = file(tmp_path, "tuesday.csv", down("nm;S 1;S 2", 0.79, 0.39, sep=";"))
    done = read_files(folder, [again], replace_old=True)
    assert [row.action for row in done.put.rows] == ["replaced", "replaced"]
    assert any("as in the last file like this: S * = b*" in str(note) for note in done.body["notes"])
    other = file(tmp_path, "other.csv", down("nm;S 1;S 3", 0.8, 0.4, sep=";"))
    with pytest.raises(ValueProblem, match="no chip is called S 1"):
        read_files(folder, [other])


def test_of_both_ways_of_measuring_gloss_the_one_that_fits_is_taken(tmp_path: Path) -> None:
    text = "Name,L*(SCI),a*(SCI),b*(SCI),L*(SCE),a*(SCE),b*(SCE)\nb1,80,-12,-19,70,-12.5,-20.1\n"
    folder = colour_set(tmp_path, COLOURS, *TILE, "geometry = 'd/8'")
    read_files(folder, [file(tmp_path, "e.csv", text)])
    assert values(folder, "b1") == (70.0, -12.5, -20.1)


def test_of_two_lights_the_sets_own_is_taken(tmp_path: Path) -> None:
    text = "Name,L*(A),a*(A),b*(A),L*(D65),a*(D65),b*(D65)\nb1,77,-15,-25,78,-12,-20\n"
    folder = colour_set(tmp_path)
    read_files(folder, [file(tmp_path, "e.csv", text)])
    assert values(folder, "b1") == (78.0, -12.0, -20.0)


def test_reflection_is_not_taken_for_transmission(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    before = snapshot(folder)
    for head in ("nm;b1 %R", "Geometry: 45/0\nnm;b1", "Mode: SCE\nnm;b1"):
        with pytest.raises(ValueProblem, match="reflection"):
            read_files(folder, [file(tmp_path, "e.csv", down(head, 0.4, sep=";", turn=percent))])
    assert snapshot(folder) == before


QUESTIONS = [
    ("percent like fractions", down("nm;b1 %T", 0.8, sep=";"), {"unit": "fraction"}),
    ("an untinted chip of absorbance 0.04", down("nm;clear", 0.09, sep=";"), {"quantity": "absorbance"}),
    ("an untinted chip of absorbance 0.8", down("nm;clear Abs", 1.05, sep=";"), {"quantity": "transmittance"}),
    ("the fuller chip brighter", down("nm;b1;b2", 0.1, 0.9, sep=";"), {"quantity": "absorbance"}),
    ("absorbance or percent", down("nm;b1", 4.5, sep=";"), {"quantity": "absorbance"}),
]


@pytest.mark.parametrize(("what", "text", "settles"), QUESTIONS, ids=[one[0] for one in QUESTIONS])
def test_a_question_names_what_settles_it_and_is_told_on_a_dry_run(
    tmp_path: Path, what: str, text: str, settles: dict[str, str]
) -> None:
    folder, path = spectra_set(tmp_path), file(tmp_path, "e.csv", text)
    with pytest.raises(Asked) as asked:
        read_files(folder, [path])
    assert asked.value.remedy is not None
    dry = read_files(folder, [path], dry_run=True)
    assert len(dry.body["files"][0]["asks"]) == 1
    assert dry.body["would_write"] == []
    assert read_files(folder, [path], wish=Wish(**settles)).put.changed


def test_of_a_pale_chip_alone_it_is_asked_what_was_measured(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    pale = file(tmp_path, "pale.csv", down("nm;b1", 0.9, sep=";", turn=absorbance))
    with pytest.raises(Asked, match="does not say what was measured") as asked:
        read_files(folder, [pale])
    assert asked.value.remedy is Remedy.SAY_WHICH_QUANTITY
    read_files(folder, [pale], wish=Wish(quantity="absorbance"))
    # Its earlier reading tells: absorbance is asked again, and light through is not.
    with pytest.raises(Asked):
        read_files(folder, [pale], replace_old=True)
    again = file(tmp_path, "again.csv", down("nm;b1", 0.85, sep=";"))
    assert read_files(folder, [again], replace_old=True).put.changed
    # So does a chip that holds more and, as absorbance, would let more through.
    with pytest.raises(Asked):
        read_files(folder, [file(tmp_path, "either.csv", down("nm;b2", 0.4, sep=";"))])
    fuller = file(tmp_path, "fuller.csv", down("nm;b2", 0.05, sep=";"))
    assert read_files(folder, [fuller]).put.changed


def test_a_file_blanked_with_resin_is_read_relative_to_it(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    text = "Blank: untinted resin chip\n" + down("nm;b1;b2", 0.9, 0.4, sep=";", turn=percent)
    assert (
        look_into([read_samples(file(tmp_path, "e.csv", text))])["files"][0]["samples"][0]["relative_to"] == "untinted"
    )
    done = read_files(folder, [tmp_path / "e.csv"])
    assert done.body["set_changes"] == {"relative_to": "untinted"}
    assert read_chips(folder).reading.relative_to == "untinted"
    said = put(
        tmp_path / "air", toml("spectrum", 'relative_to = "air"'), "chip,thickness_mm,azure_phr\nb1,3,0.1\nb2,3,0.4\n"
    )
    with pytest.raises(ValueProblem, match="read against untinted resin"):
        read_files(said, [tmp_path / "e.csv"])


def test_one_chip_that_cannot_be_read_can_be_left_out(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    lines = down("nm;b_1;b2", 0.9, 0.01, sep=";", turn=absorbance).splitlines()
    dark = "\n".join(f"{one.rpartition(';')[0]};>2.2" if "500" <= one[:3] <= "570" else one for one in lines)
    path = file(tmp_path, "e.csv", dark.replace("nm;b_1;b2", "nm;b_1 Abs;b2 Abs") + "\n")
    with pytest.raises(FileProblem, match="the spectrum of b2 has no value") as refused:
        read_files(folder, [path])
    assert refused.value.facts == {"sample": "b2"}
    assert [row.chip for row in read_files(folder, [path], ["b2="]).put.rows] == ["b1"]


def test_a_dark_chip_in_a_file_of_its_own_is_of_the_unit_that_the_others_show(tmp_path: Path) -> None:
    folder = spectra_set(tmp_path)
    files = [
        file(tmp_path, f"{n}.csv", down("nm;T", level, sep=";", turn=percent))
        for n, level in (("b1", 0.8), ("b2", 0.009))
    ]
    read_files(folder, files)
    assert values(folder, "b2")[0] == pytest.approx(0.009 * 0.6, rel=1e-3)


def test_without_a_set_every_sample_is_shown_as_it_was_understood(tmp_path: Path) -> None:
    path = file(tmp_path, "b1.csv", down("Baseline 100%T\nnm;Abs", 0.8, sep=";", turn=absorbance))
    (told,) = look_into([read_samples(path)])["files"]
    (sample,) = told["samples"]
    assert (told["shape"], told["asks"]) == ("delimited", [])
    assert (sample["name"], sample["chip"], sample["line"], sample["quantity"]) == ("b1", None, 2, "transmittance")
    assert sample["read_from"]["quantity"] == "column head, of absorbance"
    assert sample["values"][0] == pytest.approx(0.48, rel=1e-3)
    assert sample["wavelengths_nm"][0] == 380
    # Y of a light of 0.6 to 0.9 of 0.8 is near 0.6, whose L* is 116 · 0.6^(1/3) − 16 (CIE 15).
    assert sample["lab"][0] == pytest.approx(116 * 0.6 ** (1 / 3) - 16, abs=2)
    assert math.isfinite(sample["lab"][2])
    assert sample["srgb"].startswith("#")


def test_a_set_begun_on_a_tile_takes_reflection_that_the_file_calls_absolute(tmp_path: Path) -> None:
    """`WhiteBase=Abs` is a white that is absolute, and no absorbance."""
    nm = ",".join(f"{one:g}" for one in NM)
    tile = "nm,reflectance\n" + "".join(f"{one:g},0.9\n" for one in NM)
    folder = put(
        tmp_path / "t",
        toml("spectrum", "relative_to = 'white tile'", "tile = 'tile.csv'"),
        f"chip,thickness_mm,azure_phr,{nm}\nb1,3,0.1{',' * len(NM)}\n",
    )
    (folder / "tile.csv").write_text(tile)
    rows = " ".join("0.4" for _ in NM)
    text = f'CGATS.17\nMEASUREMENT_SOURCE "WhiteBase=Abs"\nBEGIN_DATA_FORMAT\nSAMPLE_NAME {" ".join(f"nm{one}" for one in NM)}\n'
    read_files(folder, [file(tmp_path, "e.txt", f"{text}END_DATA_FORMAT\nBEGIN_DATA\nb1 {rows}\nEND_DATA\n")])
    assert values(folder, "b1")[0] == 0.4


@pytest.mark.parametrize("kind", ["spectrum", "colour"])
def test_a_table_by_hand_without_columns_for_readings_is_read_into(tmp_path: Path, kind: str) -> None:
    folder = put(tmp_path / "hand", toml(kind), "chip;thickness_mm;azure_phr\nclear;3,0;\nb1;3,0;0,05\n")
    assert not any(chip.is_read for chip in read_chips(folder).chips)
    text = down("nm;b1 Transmittance", 0.8, sep=";") if kind == "spectrum" else "name;L*;a*;b*\nb1;78,2;-12,5;-20,1\n"
    read_files(folder, [file(tmp_path, "e.csv", text)])
    assert values(folder, "b1")[0] == pytest.approx(0.48 if kind == "spectrum" else 78.2)
    assert values(folder, "clear") == ()


def test_noise_where_no_eye_sees_does_not_refuse_a_spectrum(tmp_path: Path) -> None:
    folder = put(tmp_path / "hand", toml("spectrum"), "chip,thickness_mm,azure_phr\nb1,3,0.1\n")
    noise = "".join(f"{nm},{-400 if nm % 20 else 250}\n" for nm in range(300, 360, 10))
    read_files(folder, [file(tmp_path, "b1.csv", down("nm,%T\n" + noise.rstrip(), 0.8, turn=percent))])
    assert read_chips(folder).reading.wavelengths_nm == NM
    assert values(folder, "b1")[0] == pytest.approx(0.48)
