"""Chip sets with curves of their own come in and go out whole; what is named and not chosen is asked for."""

from __future__ import annotations

import io
import math
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.faces.web.conftest import Client, ok
from tests.faces.web.test_chips import at_hand
from tintmix.chips.folder import read_chips, write_chips

SETTING = b"""format = 1
title = "raw photos"
resin = "my resin.toml"
[reading]
kind = "camera"
camera = "my camera.csv"
light = "Panel.CSV"
"""
TABLE = b"chip,cup,thickness_mm,azure_phr,R,G,B\nA1,A,3,0,0.91,0.91,0.90\nB1,B,3,0.02,0.6,0.8,0.9\nB2,B,12,0.02,0.3,0.6,0.85\n"
RESIN = b'format = 1\nname = "clear"\nrefractive_index = 1.49\n'


def bell(nm: int, middle: int) -> float:
    return math.exp(-(((nm - middle) / 40) ** 2))


CAMERA = "nm,R,G,B\n" + "\n".join(f"{nm},{bell(nm, 600)},{bell(nm, 540)},{bell(nm, 460)}" for nm in range(380, 781, 10))
LIGHT = "nm,power\n" + "\n".join(f"{nm},{0.1 + bell(nm, 560)}" for nm in range(380, 781, 10))
FILES = {
    "chips.csv": TABLE, "set.toml": SETTING, "my camera.csv": CAMERA.encode(), "Panel.CSV": LIGHT.encode(),
    "my resin.toml": RESIN,
}  # fmt: skip


def send(client: Client, files: dict[str, bytes]) -> Any:
    return client.fill("/chips/upload", files=[("files", item) for item in files.items()])


def test_a_set_with_its_curves_comes_in_whole(client: Client) -> None:
    answer = send(client, FILES)
    assert "Not yet" not in answer.text
    chips = at_hand(client)
    assert chips.resin.refractive_index == 1.49
    assert chips.camera_curve is not None
    assert chips.light_curve is not None
    nm, rgb = chips.camera_curve
    assert rgb[nm == 600, 0] == pytest.approx(bell(600, 600))
    # Named by the server, whatever its owner called it.
    assert (chips.reading.camera, chips.reading.light) == ("camera.csv", "light.csv")
    names = {
        path.name for path in client.workspace.set_folder(client.workspace.now().area("chips")["active"]).iterdir()
    }
    assert names == {"chips.csv", "set.toml", "camera.csv", "light.csv"}


def test_and_goes_out_whole(client: Client, tmp_path: Path) -> None:
    send(client, FILES)
    assert "the whole set (zip)" in client.get("/chips").text
    answer = client.get("/chips/set.zip")
    assert answer.headers["content-disposition"] == 'attachment; filename="raw-photos.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        again = {name: packed.read(name) for name in packed.namelist()}
    before = at_hand(client)
    send(client, again)
    assert at_hand(client) == before
    write_chips(before, tmp_path / "set")
    assert read_chips(tmp_path / "set") == before


@pytest.mark.parametrize("missing", ["my camera.csv", "Panel.CSV", "my resin.toml", "chips.csv"])
def test_what_is_named_and_not_chosen_is_asked_for(client: Client, missing: str) -> None:
    answer = send(client, {name: content for name, content in FILES.items() if name != missing})
    assert answer.status_code == 422
    assert missing in answer.text or missing == "chips.csv"
    assert not client.workspace.now().areas


def test_a_wrong_curve_is_told_by_its_owners_name(client: Client) -> None:
    answer = send(client, FILES | {"my camera.csv": b"nm,R\n400,1\n"})
    assert answer.status_code == 422
    assert "my camera.csv" in answer.text
    assert "/tmp" not in answer.text


@pytest.mark.parametrize("name", ["../../../etc/passwd", "/etc/passwd", "..\\secret.csv", "a\x00b.csv"])
def test_no_name_of_a_file_leads_anywhere(client: Client, name: str) -> None:
    """A name in set.toml is looked for among what was chosen only."""
    setting = SETTING.replace(b'"my camera.csv"', f'"{name.encode("unicode_escape").decode()}"'.encode())
    answer = send(client, FILES | {"set.toml": setting})
    assert answer.status_code == 422
    assert not client.workspace.now().areas


def test_files_that_belong_to_no_set_are_passed_over_and_told(client: Client) -> None:
    answer = send(client, FILES | {"README.md": b"# notes"})
    assert "Not imported, because set.toml does not name them: README.md." in answer.text
    assert len(at_hand(client).chips) == 3


def test_not_endlessly_many(client: Client) -> None:
    files = FILES | {f"{i}.csv": b"x" for i in range(12)}
    assert send(client, files).status_code == 422


def test_a_set_is_read_in_by_its_table_alone(client: Client) -> None:
    table = ("any.csv", b"chip,cup,thickness_mm,azure_phr,L,a,b\nA,A,3,0,96,0,1\n")
    answer = client.fill("/chips/upload", {"upload_title": "mine"}, files=[("files", table)])
    assert "Not yet" not in answer.text
    assert at_hand(client).title == "mine"


def test_an_instruments_unit_can_be_said(client: Client) -> None:
    """0.5 percent or half: where a file does not say, the maker does."""
    ok(client.fill("/chips/begin", {"kind": "spectrum", "pigments": "azure", "thicknesses": "3"}))
    nm = range(400, 701, 10)
    content = ("sample," + ",".join(map(str, nm)) + "\nclear 3 mm," + ",".join("88.5" for _ in nm) + "\n").encode()
    ok(
        client.fill(
            "/chips/instrument",
            {"unit": "percent", "quantity": "transmittance"},
            files={"instrument": ("a.csv", content)},
        )
    )
    assert np.allclose(at_hand(client).chips[0].values, 0.885)
    # What the chip itself contradicts is asked where the file is looked at.
    dark = {"instrument": ("b.csv", content.replace(b"88.5", b"0.07"))}
    looked = ok(client.fill("/chips/instrument", {"look": "1"}, files=dark))
    assert "would let 7 % of the light through" in looked.text


def test_an_instruments_file_is_looked_at_mapped_and_put_in(client: Client) -> None:
    ok(client.fill("/chips/begin", {"kind": "spectrum", "pigments": "azure", "thicknesses": "3 12"}))
    content = ("nm;S 1;S 2\n" + "".join(f"{nm};0.88;0.9\n" for nm in range(400, 701, 10))).encode()
    odd = b"made up\n" + b"".join(f"x{i};{nm};a;b;0.5\n".encode() for i, nm in enumerate(range(400, 701, 10)))
    files = [("instrument", ("../day.csv", content)), ("instrument", ("odd.csv", odd))]
    answer = ok(client.fill("/chips/instrument", {"look": "1"}, files=files))
    for words in ("day.csv", "S 1", "0.880", "none, leave it out", "not understood", "x0", "which column is what"):
        assert words in answer.text, words
    assert not any(chip.is_read for chip in at_hand(client).chips)
    refused = client.fill("/chips/instrument/layout", {"column_1": "wave", "first_line": "2"})
    assert refused.status_code == 422
    said = {
        "column_1": "wave",
        "column_4": "reading",
        "first_line": "2",
        "quantity": "transmittance",
        "layout": "old one",
    }
    answer = ok(client.fill("/chips/instrument/layout", said))
    assert "not understood" not in answer.text
    assert "as old one" in answer.text
    assert client.fill("/chips/instrument/put", {"samples": "3"}).status_code == 422
    done = ok(
        client.fill(
            "/chips/instrument/put", {"samples": "3", "chip_0": "clear 3 mm", "chip_1": "", "chip_2": "clear 12 mm"}
        )
    )
    assert "2 chips read." in done.text
    chips = at_hand(client).chips
    assert (chips[0].values[0], chips[1].values[0]) == (0.88, 0.5)
    assert client.get("/chips/instrument").status_code == 404
    # What was said of the file holds for the next one like it.
    again = client.fill(
        "/chips/instrument",
        {"replace": "1", "others": "1"},
        files={"instrument": ("clear 12 mm.csv", odd.replace(b"0.5", b"0.49"))},
    )
    assert "1 chip read." in ok(again).text


def test_a_file_that_contradicts_itself_is_asked_about_where_it_is_looked_at(client: Client) -> None:
    ok(client.fill("/chips/begin", {"kind": "spectrum", "pigments": "azure", "thicknesses": "3"}))
    content = ("nm;clear 3 mm %T\n" + "".join(f"{nm};0.88\n" for nm in range(400, 701, 10))).encode()
    asked = ok(client.fill("/chips/instrument", {"look": "1"}, files={"instrument": ("a.csv", content)}))
    assert "look like fractions" in asked.text
    settled = ok(client.fill("/chips/instrument/again", {"unit": "fraction"}))
    assert "look like fractions" not in settled.text
    ok(client.fill("/chips/instrument/put", {"samples": "1", "chip_0": "clear 3 mm"}))
    assert at_hand(client).chips[0].values[0] == 0.88
