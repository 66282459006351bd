"""The holder sheet as it is printed: what stands on it, and that a photo of the very page is found again."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest

from tests.photo_simulation import PAPER, Picture, Shot, draw_camera, jpeg, pose, through_lens
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.sheet import holder
from tintmix.chips.photo.sheet.marks import find_sheet
from tintmix.chips.photo.sheet.plane import project
from tintmix.faces.paper.holder import Paper, holder_pdf

DPI = 127
"""5 pixels a millimetre."""
needs_pdftoppm = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm draws the page")


def page(data: bytes, folder: Path, number: int = 1) -> Picture:
    """A page of a PDF as grey values, 1 white, 5 pixels a millimetre."""
    from PIL import Image

    (folder / "sheet.pdf").write_bytes(data)
    call = ["pdftoppm", "-gray", "-r", str(DPI), "-f", str(number), "-l", str(number), "-png", "-singlefile"]
    subprocess.run([*call, str(folder / "sheet.pdf"), str(folder / "page")], check=True)
    with Image.open(folder / "page.png") as picture:
        return np.asarray(picture.convert("L"), dtype=np.float32) / 255


def seen(drawn: Picture, shot: Shot, contents: Mapping[str, np.ndarray]) -> Picture:
    """Light (H, W, 3) of the printed page on black card, cut as it asks, before the lens."""
    from scipy import ndimage

    inverse = np.linalg.inv(pose(shot))
    columns, rows = np.meshgrid(np.arange(shot.width), np.arange(shot.height))
    mm = project(inverse, np.stack([columns, rows], axis=-1).astype(float))
    x, y = mm[..., 0], mm[..., 1]
    high, wide = drawn.shape
    at = np.stack([y * DPI / 25.4 + high / 2 - 0.5, x * DPI / 25.4 + wide / 2 - 0.5])
    print_ = ndimage.map_coordinates(drawn, at, order=1, mode="constant")
    light = np.repeat((shot.face_glow * print_)[..., None], 3, axis=2)
    for cx, cy in holder.MARKS_MM:
        inside = (np.abs(x - cx) < holder.MARK_MM / 2) & (np.abs(y - cy) < holder.MARK_MM / 2)
        light[inside] = PAPER * (0.02 + 0.98 * print_[inside, None])
    for window in holder.WINDOWS:
        inside = (np.abs(x - window.x_mm) < holder.WINDOW_MM / 2) & (np.abs(y - window.y_mm) < holder.WINDOW_MM / 2)
        if window.role != "blocked":
            light[inside] = contents.get(window.name, np.ones(3))
    return np.asarray(light, dtype=np.float32)


@needs_pdftoppm
@pytest.mark.parametrize(("paper", "turn", "covered"), [("Letter", 171.0, False), ("A4", 62.0, True)])
def test_a_photo_of_the_printed_page_is_found(tmp_path: Path, paper: Paper, turn: float, covered: bool) -> None:
    rng = np.random.default_rng([4, int(turn)])
    shot = Shot(turn=turn, tilt=8.0, tilt_towards=30.0, blur=1.5)
    names = {one.name: f"azure {i}-12.5mm" for i, one in enumerate(holder.CHIP_WINDOWS, 1)}
    scene = seen(page(holder_pdf(paper, [names], "sea greens"), tmp_path), shot, dict.fromkeys(names, np.full(3, 0.4)))
    to_pixels = pose(shot)
    if covered:
        x, y = project(to_pixels, holder.MARKS_MM[2]).astype(int)
        scene[max(0, y - 90) : y + 90, max(0, x - 90) : x + 90] = 0.0
    camera = draw_camera(rng)
    photo = open_photo(jpeg(through_lens(scene, shot), camera, shot, rng), "chips.jpg")
    sheet = find_sheet(photo)
    middles = np.array([[one.x_mm, one.y_mm] for one in holder.WINDOWS])
    off = project(np.linalg.inv(to_pixels), sheet.pixels(middles)) - middles
    assert sheet.marks == (3 if covered else 4)
    assert np.hypot(*off.T).max() < (1.0 if covered else 0.5)


@needs_pdftoppm
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_page_is_drawn_to_its_measures(tmp_path: Path, paper: Paper) -> None:
    drawn = page(holder_pdf(paper, [{"A2": "b1"}]), tmp_path)
    high, wide = drawn.shape

    def dark(x: float, y: float) -> bool:
        return float(drawn[round(y * 5 + high / 2), round(x * 5 + wide / 2)]) < 0.2

    middle_of_ring = (holder.RING_OUTER_MM + holder.RING_INNER_MM) / 4
    for dots, (x, y) in enumerate(holder.MARKS_MM, 1):
        assert dark(x + middle_of_ring, y)
        assert dark(x, y - middle_of_ring)
        assert not dark(x + holder.RING_OUTER_MM / 2 + 1.5, y)
        assert all(dark(x + dx, y + dy) for dx, dy in holder.DOTS_MM[dots])
    for window in holder.WINDOWS:
        blocked = window.role == "blocked"
        assert dark(window.x_mm + 6, window.y_mm + 6) == blocked
        row, edge = round((window.y_mm + 5) * 5 + high / 2), round((window.x_mm + holder.WINDOW_MM / 2) * 5 + wide / 2)
        assert drawn[row, edge - 2 : edge + 3].min() < 0.7
    # Printers leave up to 6 mm white (common practice).
    ink = np.argwhere(drawn < 0.9)
    assert ink.min() > 6 * 5
    assert np.all(ink.max(axis=0) < np.array([high, wide]) - 6 * 5)


@pytest.mark.parametrize(("paper", "box"), [("A4", "595.28 841.89"), ("Letter", "612.00 792.00")])
def test_two_pages_of_the_paper_asked_for(paper: Paper, box: str) -> None:
    chips = [f"azure+emerald-{cup} {mm} mm" for cup in range(1, 7) for mm in (3, 12)]
    tags = {chip: holder.Tag(*chip.split(" ", 1), foreseen="34 %") for chip in chips}
    command = "tintmix read my-folder-of-chips-for-the-prism --photo chips.dng --panel bare.dng"
    data = holder_pdf(paper, holder.lay_out(chips), "prism", command, tags).decode("latin-1")
    assert len(re.findall(r"/Type /Page\b(?!s)", data)) == 2
    assert f"[0 0 {box}]" in data
    assert "/PrintScaling /None" in data


def test_the_same_bytes_at_the_same_stated_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert holder_pdf("A4", [{"A2": "b1"}], "one") == holder_pdf("A4", [{"A2": "b1"}], "one")


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the page")
def test_cups_of_two_pigments_keep_their_numbers(tmp_path: Path) -> None:
    """Above its window and in the list: three cups of one mixture differ in nothing else."""
    chips = [f"azure+emerald-{cup} {mm} mm" for cup in (1, 2, 3) for mm in (3, 12)]
    tags = {chip: holder.Tag(*chip.split(" ", 1)) for chip in chips}
    (tmp_path / "sheet.pdf").write_bytes(holder_pdf("A4", holder.lay_out(chips), "plan", tags=tags))
    call = ["pdftotext", "-layout", tmp_path / "sheet.pdf", "-"]
    first, second = subprocess.run(call, capture_output=True, text=True, check=True).stdout.split("\f")[:2]
    for cup in (1, 2, 3):
        assert first.count(f"azure+emerald-{cup}") == 2
    assert [chip for chip in chips if chip not in second] == []


def test_long_and_foreign_names_and_many_photos_fit(caplog: pytest.LogCaptureFixture) -> None:
    chips = [f"Grünblau №{i} {'sehr lang ' * 6}" for i in range(70)]
    assert holder_pdf("Letter", holder.lay_out(chips), "日本 " * 40).startswith(b"%PDF-")
    assert not [record for record in caplog.records if record.levelname == "WARNING"]
