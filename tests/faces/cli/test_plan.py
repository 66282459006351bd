"""`tintmix plan` as a maker calls it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.faces.conftest import Call, undocumented
from tintmix.chips.folder import read_chips
from tintmix.faces.cli.main import COMMANDS

BASIC = (
    "--pigment",
    "azure=0,02",
    "--pigment",
    "emerald=0.01 phr",
    "--at",
    "8",
    "--at",
    "60mm",
    "--cast",
    "3",
    "--cast",
    "12",
)


def test_the_command_is_listed_where_the_job_begins() -> None:
    names = list(COMMANDS)
    assert names.index("plan") < names.index("fit")


def test_text_and_folder(call: Call, tmp_path: Path) -> None:
    said = call("plan", tmp_path / "chips", *BASIC)
    assert said.status == 0
    for words in ("6 cups, 12 chips", "untinted", "azure 1+", "60 mm", "README.md"):
        assert words in said.out, said.out
    assert len(read_chips(tmp_path / "chips").chips) == 12
    page = (tmp_path / "chips" / "README.md").read_text(encoding="utf-8")
    assert "(or `tintmix read`)" in page
    assert "Then `tintmix fit chips --model FILE`." in page


def test_json(call: Call, tmp_path: Path) -> None:
    said = call("plan", tmp_path / "chips", *BASIC, "--cups", "8", "--chips-per-cup", "1", "--json")
    body = said.json
    assert not undocumented("plan", body)
    assert [len(cup["chips"]) for cup in body["cups"]] == [1] * 8
    assert body["cups"][0]["doses_phr"] == {}
    assert body["cups"][0]["chips"][0]["thickness_mm"] == 12.0
    assert {one["section_mm"] for one in body["expected"]} == {8.0, 60.0}
    assert body["part_phr"] == {"azure": 0.02, "emerald": 0.01}
    assert body["files"] == ["chips.csv", "set.toml", "README.md", "bottles.csv"]
    assert body["warnings"] == []


def test_a_resin_is_weighed_out_part_by_part(call: Call, tmp_path: Path) -> None:
    (tmp_path / "resin.toml").write_text(
        'format = 1\nname = "invented"\ntakes_pigment = "B"\n[[part]]\nname = "A"\nparts_by_weight = 100\n'
        '[[part]]\nname = "B"\nparts_by_weight = 90\n'
    )
    arguments = (
        *BASIC,
        "--resin",
        tmp_path / "resin.toml",
        "--scale",
        "resin=0.1",
        "--scale",
        "pigment=0.001",
        "--batch",
        "450",
    )
    body = call("plan", tmp_path / "chips", *arguments, "--json").json
    assert [part["name"] for part in body["cups"][0]["parts"]] == ["A", "B"]
    assert body["letdowns"][0]["carrier"] == "B"
    # Enough for the part: 0.02 phr of 450 g.
    assert body["letdowns"][0]["pigment_g"] >= 0.09
    # A weight is shown as its scale shows it, with the zeros at its end: in the text, and on the page for the bench.
    bottle, cup = body["letdowns"][0], body["cups"][1]
    assert re.fullmatch(r"\d+\.\d{3} g", bottle["pigment_shown"])
    assert re.fullmatch(r"\d+\.\d{1,3} g", bottle["carrier_shown"])
    out = call("plan", tmp_path / "again", *arguments).out
    page = (tmp_path / "again" / "README.md").read_text(encoding="utf-8")
    for shown in (bottle["pigment_shown"], bottle["carrier_shown"], cup["weigh"][0]["shown"], cup["shown"]):
        assert shown in out
        assert shown in page


def test_without_a_dose_it_says_that_it_guesses(call: Call, tmp_path: Path) -> None:
    said = call("plan", tmp_path / "chips", "--pigment", "azure", "--at", "8")
    assert said.status == 0
    assert "guess" in said.out
    assert "3, 6, 12 mm" in said.out


def test_chips_for_a_white_tile(call: Call, tmp_path: Path) -> None:
    said = call(
        "plan", tmp_path / "chips", "--pigment", "azure=0.02", "--at", "8", "--at", "60", "--tile", "95.2,-0.4,1.1"
    )
    assert said.status == 0
    for words in ("white tile", "4 mm at most", "1, 2, 4 mm"):
        assert words in " ".join(said.out.split()), said.out
    assert "Thicker chips tell more" not in said.out
    reading = read_chips(tmp_path / "chips").reading
    assert (reading.tile_lab, reading.contact, reading.geometry) == ((95.2, -0.4, 1.1), "dry", "45/0")
    wet = ("--tile", "95,2;-0,4;1,1", "--contact", "wetted", "--sphere", "--json")
    body = call("plan", tmp_path / "wet", "--pigment", "azure=0.02", "--at", "8", *wet).json
    assert body["relative_to"] == "white tile"
    reading = read_chips(tmp_path / "wet").reading
    assert (reading.tile_lab, reading.contact, reading.geometry) == ((95.2, -0.4, 1.1), "wetted", "d/8")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--at", "8"), "no pigment is named"),
        (("--pigment", "azure"), "--at"),
        (("--pigment", "=0.1", "--at", "8"), "names no pigment"),
        (("--pigment", "azure=x", "--at", "8"), "not a number"),
        (("--pigment", "azure=-1", "--at", "8"), "must be from"),
        (("--pigment", "azure", "--at", "8", "--chip-size", "nan"), "--chip-size"),
        (("--pigment", "azure", "--at", "8", "--batch", "nan"), "--batch"),
        (("--pigment", "azure", "--at", "8", "--cup-mass", "1e-308"), "must be from 1 to 5000 g"),
        ((*(f"--pigment=p{i}" for i in range(500)), "--at", "8"), "plan at most 12"),
        (("--pigment", "azure", "--pigment", "azure=1", "--at", "8"), "named twice"),
        (("--pigment", "azure", "--at", "0"), "from 0.2 to 500 mm"),
        (("--pigment", "azure", "--at", "8", "--scale", "x"), "scale cannot be used"),
        (("--pigment", "azure", "--at", "8", "--scale", "spoon=1"), "is for 'spoon'"),
        (("--pigment", "azure", "--at", "8", "--scale", "0.1", "--scale", "0.01"), "second of its kind"),
        (("--pigment", "azure", "--at", "8", "--cups", "1"), "at least 2"),
        (("--pigment", "azure", "--at", "8", "--cups", "x"), "--cups"),
        (("--pigment", "azure", "--at", "8", "--light", "moon"), "moon"),
        (("--pigment", "azure", "--at", "8", "--model", "none.json"), "none.json"),
        (("--pigment", "azure", "--at", "8", "--resin", "none.toml"), "none.toml"),
        (("--pigment", "azure;", "--at", "8"), "semicolon"),
        (("--pigment", "azure", "--at", "8", "--tile", "white"), "three numbers"),
        (("--pigment", "azure", "--at", "8", "--tile", "9,0,0"), "tile_lab"),
        (("--pigment", "azure", "--at", "8", "--tile", "95,0,0", "--cast", "6"), "at most 4 mm"),
        (("--pigment", "azure", "--at", "8", "--tile", "95,0,0", "--kind", "spectrum"), "colours only"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_is_written(
    refused: Call, tmp_path: Path, arguments: tuple[str, ...], says: str
) -> None:
    assert says in refused("plan", tmp_path / "chips", *arguments)
    assert not (tmp_path / "chips").exists()


def test_a_folder_with_something_in_it_is_left_alone(refused: Call, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    assert "overwrites nothing" in refused("plan", tmp_path, *BASIC)
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]
