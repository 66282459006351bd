"""check_chip, reading_spread, the haze words, and the white tile: read, written, refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.chips.folders import put, toml
from tintmix.chips.chip import Reading
from tintmix.chips.folder import read_chips, write_chips
from tintmix.errors import FileProblem, ValueProblem
from tintmix.files.errors import BadCells, BadTable

CSV = """\
chip,thickness_mm,azure_phr,L,a,b,haze,check_chip,reading_spread,use
clear,3,,95,0,0,clear,,,
b1,3,0.1,70,-5,-9,slight,yes,0.2,
"""


def test_they_are_read_and_written_back(tmp_path: Path) -> None:
    chips = read_chips(put(tmp_path / "a", toml("colour"), CSV))
    clear, b1 = chips.chips
    assert (clear.haze, b1.haze) == (0.01, 0.05)
    assert (clear.check, b1.check) == (False, True)
    assert (clear.reading_spread, b1.reading_spread) == (None, 0.2)
    again = read_chips(write_chips(chips, tmp_path / "b"))
    assert again == chips
    assert "slight" in (tmp_path / "b" / "chips.csv").read_text()


def test_a_set_that_says_none_of_them_has_the_digest_it_had(tmp_path: Path) -> None:
    plain = "chip,thickness_mm,azure_phr,L,a,b\nb1,3,0.1,70,-5,-9\n"
    one = read_chips(put(tmp_path / "a", toml("colour"), plain))
    assert not {"check", "reading_spread", "haze_word"} & set(one.canonical()["chips"][0])
    assert not {"tile", "tile_lab", "contact"} & set(one.canonical()["reading"])


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("slight", "milky", "scatter too much"),
        ("slight", "cloudy", "none of"),
        ("yes", "maybe", "neither"),
        ("0.2", "0", "no instrument"),
    ],
)
def test_what_they_cannot_say(tmp_path: Path, old: str, new: str, says: str) -> None:
    with pytest.raises(BadCells, match=says):
        read_chips(put(tmp_path, toml("colour"), CSV.replace(old, new)))


TILE_CSV = "chip,thickness_mm,azure_phr,L,a,b\nclear,2,,93,0,1\nb1,2,0.1,70,-5,-9\n"


def test_a_white_tile_is_read_and_written_back(tmp_path: Path) -> None:
    lines = ("relative_to = 'white tile'", "tile_lab = [95.1, 0, 1]", "geometry = 'd/8'")
    chips = read_chips(put(tmp_path / "a", toml("colour", *lines), TILE_CSV))
    assert (chips.reading.geometry, chips.reading.contact, chips.reading.tile_lab) == ("d/8", "dry", (95.1, 0.0, 1.0))
    assert chips.defaults_used["contact"] == "dry"
    assert read_chips(write_chips(chips, tmp_path / "b")) == chips


def test_a_tiles_spectrum_comes_from_its_file(tmp_path: Path) -> None:
    lines = ("relative_to = 'white tile'", "tile = 'tile.csv'", "contact = 'wetted'")
    tile = "nm,reflectance\n380,0.8\n500,0.85\n780,0.86\n"
    chips = read_chips(put(tmp_path / "a", toml("colour", *lines), TILE_CSV, tile_csv=tile))
    assert chips.tile_curve is not None
    assert read_chips(write_chips(chips, tmp_path / "b")) == chips
    with pytest.raises(FileProblem, match="percent"):
        read_chips(put(tmp_path / "c", toml("colour", *lines), TILE_CSV, tile_csv=tile.replace("0.8", "8")))


@pytest.mark.parametrize(
    ("kind", "lines", "says"),
    [
        ("colour", ("relative_to = 'white tile'",), "needs the bare tile"),
        ("colour", ("relative_to = 'white tile'", "tile_lab = [20, 0, 0]"), "L\\* from 50"),
        ("colour", ("relative_to = 'white tile'", "tile_lab = [95, 0, 0]", "geometry = 'total'"), "45/0"),
        ("camera", ("relative_to = 'white tile'", "tile_lab = [95, 0, 0]"), "light panel"),
        ("spectrum", ("relative_to = 'white tile'", "tile_lab = [95, 0, 0]"), "tile's own"),
        ("colour", ("geometry = '45/0'",), "white tile"),
        ("colour", ("relative_to = 'white tile'", "tile = '../x.csv'"), "beside"),
    ],
)
def test_a_tile_that_is_not_told_of_rightly(tmp_path: Path, kind: str, lines: tuple[str, ...], says: str) -> None:
    with pytest.raises(BadTable, match=says):
        read_chips(put(tmp_path, toml(kind, *lines), TILE_CSV))


def test_a_reading_in_code_checks_itself() -> None:
    with pytest.raises(ValueProblem, match="needs the bare tile"):
        Reading("colour", relative_to="white tile")
    with pytest.raises(ValueProblem, match="belongs to"):
        Reading("colour", geometry="d/8")


def test_a_chip_lighter_than_the_bare_tile_is_no_reading_of_it(tmp_path: Path) -> None:
    lines = ("relative_to = 'white tile'", "tile_lab = [85, 0, 1]")
    with pytest.raises(BadCells, match="the bare white tile"):
        read_chips(put(tmp_path, toml("colour", *lines), TILE_CSV))


def test_thick_chips_on_a_tile_are_said(tmp_path: Path) -> None:
    lines = ("relative_to = 'white tile'", "tile_lab = [95, 0, 1]")
    chips = read_chips(put(tmp_path, toml("colour", *lines), TILE_CSV.replace("b1,2", "b1,9")))
    assert any("b1 is thick for a white tile" in warning for warning in chips.warnings)


def test_fluorescence_is_noticed(tmp_path: Path) -> None:
    nm = range(400, 710, 10)
    glow = ["0.945" if 500 <= n <= 540 else "0.7" for n in nm]
    table = "chip,thickness_mm,azure_phr," + ",".join(map(str, nm)) + "\nclear,3,," + ",".join(["0.92"] * len(nm))
    chips = read_chips(put(tmp_path, toml("spectrum"), table + "\nb1,3,0.1," + ",".join(glow) + "\n"))
    # n 1.5: a clear plate 0.9231; 0.945 is 7 standard deviations above it in five bands (physics §15).
    assert any("fluorescent" in warning for warning in chips.warnings)
