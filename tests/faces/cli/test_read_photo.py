"""`tintmix read --photo`, `--stack` and `--print-holder`, and the holder sheet of `tintmix plan`, as a maker calls them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.desk.read.test_instrument import colour_set, file, snapshot
from tests.faces.cli.test_read import BODY
from tests.faces.conftest import Call, Refused
from tests.photo_album import CHIPS, Album, album, camera_set
from tests.photo_simulation import Shot, Tone, draw_camera, holder_scene, jpeg, pose, random_pieces, through_lens
from tintmix.chips.photo.curve import read_tone_curve
from tintmix.chips.photo.sheet.holder import laid_from_text
from tintmix.chips.photo.stack import stack_transmittance

DENSITY = 0.3
SHEETS = {"1.2": 1, "1.3": 2, "1.4": 3, "2.2": 4}


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Album:
    return album(tmp_path_factory.mktemp("album"), width=1000)


@pytest.fixture(scope="module")
def stack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """stack.jpg and bare.jpg of a camera with a contrasty curve for each channel; luminance-… of one that bends luminance."""
    folder = tmp_path_factory.mktemp("stack")
    rng = np.random.default_rng(8)
    camera, shot = draw_camera(rng), Shot(width=1000, height=750, blur=0.5, glare=0.0)
    deep = camera.ratio(random_pieces(np.random.default_rng(2), 1))[0]
    one = stack_transmittance(1, DENSITY)
    # A sheet over a chip, light between their faces as in readings' plate formula (Stokes 1862).
    face = ((1.5 - 1) / (1.5 + 1)) ** 2
    under = deep * one[0] / (1 - face * (1 + deep**2) * one[1])
    contents = {place: np.full(3, stack_transmittance(n, DENSITY)[0]) for place, n in SHEETS.items()}
    contents |= {"3.2": deep, "3.4": under}
    to_pixels = pose(shot)
    for name, laid in (("stack", contents), ("bare", {})):
        lit = through_lens(holder_scene(laid, shot, to_pixels, np.random.default_rng(1)), shot)
        (folder / f"{name}.jpg").write_bytes(jpeg(lit, camera, shot, rng, Tone(contrast=0.6), 95))
        (folder / f"luminance-{name}.jpg").write_bytes(
            jpeg(lit, camera, shot, rng, Tone(contrast=0.6, on_luminance=True), 95)
        )
    return folder


def photos(shots: Album) -> list[object]:
    return ["--photo", shots.folder / "chips.jpg", "--panel", shots.folder / "bare.jpg"]


def test_json_tells_each_chip_and_how_it_was_seen(call: Call, shots: Album, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    said = call("read", folder, *photos(shots), "--dry-run", "--json")
    assert (said.status, said.err) == (0, "")
    assert set(said.json) == BODY | {"photo"}
    assert set(said.json["photo"]) == {"rendered", "tone_curve", "taken_with", "panel", "holder", "glare"}
    row = next(row for row in said.json["chips"] if row["chip"] == "b4")
    assert row["place"] == "2.2"
    assert row["values"] == pytest.approx(shots.truth("b4", rendered=True).tolist(), rel=0.04)
    assert len(row["pixel_spread"]) == 3


def test_text_tells_what_each_chip_lets_through(call: Call, shots: Album, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    said = call("read", folder, *photos(shots))
    assert (said.status, said.err) == (0, "")
    assert "The holder sheet was found; seen" in said.out
    assert "Of the bare panel's light, each chip lets through:" in said.out
    assert " ".join(said.out.split()).count("b4 row 2, second ") == 1
    assert "< 1" in said.out
    assert "rough" in said.out
    assert "Written: chips.csv" in said.out
    again = call("read", folder, *photos(shots))
    assert "as before" in again.out


def test_raw_photos_by_named_places(call: Call, shots: Album, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set", laid=False)
    raw = ["--photo", shots.folder / "chips.png", "--panel", shots.folder / "bare.png", "--linear"]
    from tests.desk.read.test_photo import box

    said = call(
        "read", folder, *raw, "--at", f"b1={box(shots, '1.2')}", "--at", f"b2={box(shots, '1.3')}", "--open", box(shots, "3.3"),
        "--dark", box(shots, "1.5"), "--dark", box(shots, "2.1"), "--json",
    )  # fmt: skip
    assert [row["chip"] for row in said.json["chips"]] == ["b1", "b2"]
    assert said.json["chips"][1]["values"] == pytest.approx(shots.truth("b2").tolist(), rel=0.02)
    assert said.json["photo"]["holder"] is None


def test_the_sheet_is_printed_for_a_set_and_read_back(call: Call, shots: Album, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set", laid=False)
    said = call("read", folder, "--print-holder", tmp_path / "holder.pdf", "--paper", "Letter", "--json")
    assert said.status == 0
    assert (tmp_path / "holder.pdf").read_bytes().startswith(b"%PDF-")
    assert said.json["written"] == [str(tmp_path / "holder.pdf"), str(folder / "holder.csv")]
    done = call("read", folder, *photos(shots), "--json")
    assert [row["chip"] for row in done.json["chips"]] == list(CHIPS)
    told = call("read", folder, "--print-holder", tmp_path / "holder.pdf")
    assert "row 1, second b1" in " ".join(told.out.split())
    assert "Print it at 100 %" in " ".join(told.out.split())


def test_a_plan_for_a_camera_brings_its_holder_sheet(call: Call, tmp_path: Path) -> None:
    base = ["--pigment", "azure=0.02", "--at", "8", "--at", "30", "--cast", "3", "--cast", "12", "--cups", "3"]
    said = call("plan", tmp_path / "chips", *base, "--kind", "camera", "--json")
    assert said.status == 0, said.err
    assert said.json["holder"] == str(tmp_path / "chips" / "holder.pdf")
    assert {"holder.pdf", "holder.csv"} <= set(said.json["files"])
    laid = laid_from_text((tmp_path / "chips" / "holder.csv").read_text(), "h")
    assert sorted(laid[0].values()) == sorted(chip["chip"] for cup in said.json["cups"] for chip in cup["chips"])
    page = (tmp_path / "chips" / "README.md").read_text()
    assert "tintmix read chips --photo chips.dng --panel bare.dng" in page
    other = call("plan", tmp_path / "colours", *base, "--holder", tmp_path / "sheet.pdf")
    assert other.status == 0, other.err
    assert f"{tmp_path / 'sheet.pdf'}" in "".join(other.out.split("\n"))
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-")
    plain = call("plan", tmp_path / "plain", *base, "--json")
    assert plain.json["holder"] is None
    assert "holder.csv" not in plain.json["files"]


def test_a_plan_whose_sheet_cannot_be_written_writes_nothing(refused: Refused, tmp_path: Path) -> None:
    base = ["--pigment", "azure=0.02", "--at", "8", "--at", "30", "--cast", "3", "--cups", "2"]
    assert "cannot be written" in refused(
        "plan", tmp_path / "chips", *base, "--holder", tmp_path / "none" / "sheet.pdf"
    )
    assert list(tmp_path.iterdir()) == []


def stacked(*names: str) -> list[str]:
    return [part for place, n in SHEETS.items() for part in ("--stack", f"{place}={n}")] + [
        part for name in names for part in ("--stack", name)
    ]


def stack_check(stack: Path, *names: str, density: str = "0.3", curve: str = "") -> list[object]:
    shots = ["--photo", stack / f"{curve}stack.jpg", "--panel", stack / f"{curve}bare.jpg"]
    return [*shots, *stacked(*names), "--stack-density", density]


def test_a_stack_of_known_density_measures_the_tone_curve(call: Call, stack: Path, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    said = call("read", folder, *stack_check(stack, "3.4=1 over 3.2", density="0,3"), "--json")
    assert said.status == 0, said.err
    assert said.json["per_channel"] is True
    assert said.json["from_srgb"] > 0.1
    assert said.json["written"] == [str(folder / "tone-curve.csv")]
    curve = read_tone_curve(folder / "tone-curve.csv")
    # The camera's own curve, by the simulation: sRGB's encoded value v bent to v + 0.6 v (1 − v)(2 v − 1).
    v = np.linspace(0.0, 1.0, 256)
    bent = v + 0.6 * v * (1 - v) * (2 * v - 1)
    light = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    wanted = np.interp(v, bent, light)
    panel, low = 220, 120
    measured = curve.table[low:panel, 1] / curve.table[panel, 1]
    assert np.abs(measured / (wanted[low:panel] / wanted[panel]) - 1).max() < 0.03
    before = snapshot(folder)
    again = call("read", folder, *stack_check(stack))
    assert again.status == 2
    assert "is there already" in again.err
    assert snapshot(folder) == before


def test_a_curve_on_luminance_is_told_and_not_written(call: Call, stack: Path, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    said = call("read", folder, *stack_check(stack, "3.4=1 over 3.2", curve="luminance-"))
    assert said.status == 0, said.err
    assert "not one for each channel" in " ".join(said.out.split())
    assert "No curve was written." in said.out
    assert not (folder / "tone-curve.csv").exists()


def test_a_curve_in_the_set_that_is_not_used_is_told(call: Call, shots: Album, tmp_path: Path) -> None:
    from tintmix.chips.photo.curve import curve_to_text, srgb_curve

    folder = camera_set(tmp_path / "set")
    (folder / "tone-curve.csv").write_text(curve_to_text(srgb_curve()))
    said = call("read", folder, *photos(shots), "--dry-run")
    assert "which was not used. Say --curve" in " ".join(said.out.split())
    used = call("read", folder, *photos(shots), "--curve", folder / "tone-curve.csv", "--dry-run", "--json")
    assert used.json["photo"]["tone_curve"].endswith("tone-curve.csv")


def test_bad_input_is_one_sentence_and_changes_nothing(refused: Refused, shots: Album, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    before = snapshot(folder)
    text = file(tmp_path, "notes.jpg", "no photo")
    chips, bare = shots.folder / "chips.jpg", shots.folder / "bare.jpg"
    assert "not a photo that can be read" in refused("read", folder, "--photo", text)
    assert "--panel goes with --photo" in refused("read", folder, "--from", text, "--panel", bare)
    assert "--stack goes with --photo" in refused("read", folder, "--stack", "1.2=1")
    assert "one of these" in refused("read", folder, "--photo", chips, "--from", text)
    assert "one of these" in refused("read", folder, "--photo", chips, "--print-holder", tmp_path / "h.pdf")
    assert "--stack-density" in refused("read", folder, "--photo", chips, "--panel", bare, "--stack", "1.2=1")
    assert "write a density" in refused("read", folder, "--photo", chips, "--stack-density", "thick")
    assert "PLACE=SHEETS" in refused(
        "read", folder, "--photo", chips, "--panel", bare, "--stack", "1.2", "--stack-density", "0.3"
    )
    two = ("--stack", "1.2=1", "--stack", "1.3=2", "--stack-density", "0.3")
    assert "at least three" in refused("read", folder, *photos(shots), *two)
    assert "needs a second photo" in refused(
        "read", folder, "--photo", chips, *stacked(), "--stack-density", "0.3"
    )  # fmt: skip
    assert "Name it with --at PLACE=x,y,w,h" in refused(
        "read", folder, "--photo", chips, "--panel", bare, "--at", "s=9,9,40,40", *stacked(), "--stack-density", "0.3"
    )
    assert "will not be written over" in refused("read", folder, "--print-holder", folder / "chips.csv")
    assert "holder sheet was not found" in refused("read", folder, "--photo", plain_photo(tmp_path))
    assert "cannot be written" in refused("read", folder, "--print-holder", tmp_path / "none" / "h.pdf")
    assert "nowhere" in refused("read", tmp_path / "nowhere", "--photo", chips)
    colours = colour_set(tmp_path / "c")
    assert 'kind = "colour"' in refused("read", colours, "--photo", chips)
    assert snapshot(folder) == before


def plain_photo(folder: Path) -> Path:
    from PIL import Image

    Image.new("RGB", (400, 300), (200, 200, 200)).save(folder / "plain.jpg")
    return folder / "plain.jpg"


def test_a_curve_does_not_take_the_place_of_what_is_read(refused: Refused, stack: Path, tmp_path: Path) -> None:
    folder = camera_set(tmp_path / "set")
    base = ["read", folder, *stack_check(stack)]
    before = snapshot(folder)
    for target in (folder / "chips.csv", stack / "stack.jpg"):
        assert "will not be written over" in refused(*base, "--replace", "--write-curve", target)
    assert snapshot(folder) == before
