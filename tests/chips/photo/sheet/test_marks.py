"""The holder sheet in simulated photos: found at any rotation, never taken for another, and wrong placing told."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.photo_simulation import Camera, Shot, draw_camera, holder_scene, pose, raw_codes, through_lens
from tintmix.chips.photo.load import Photo
from tintmix.chips.photo.sheet import holder, marks
from tintmix.chips.photo.sheet.marks import FoundSheet, find_sheet
from tintmix.chips.photo.sheet.plane import homography, project
from tintmix.errors import FileProblem

MIDDLES = np.array([[one.x_mm, one.y_mm] for one in holder.WINDOWS])
WIDTH = 1000


@pytest.fixture(scope="module")
def camera() -> Camera:
    return draw_camera(np.random.default_rng(5))


def shoot(camera: Camera, seed: int = 0, photos: int = 1, **changes: object) -> tuple[Photo, NDArray[np.float64]]:
    """A photo of a holder with grey chips, 1000 × 750, and the true map."""
    shot = Shot(**{"width": WIDTH, "height": WIDTH * 3 // 4, "glare": 0.0, **changes})  # type: ignore[arg-type]
    rng = np.random.default_rng(seed)
    contents = {one.name: np.full(3, rng.uniform(0.05, 0.95)) for one in holder.WINDOWS if one.role == "chip"}
    to_pixels = pose(shot)
    scene = through_lens(holder_scene(contents, shot, to_pixels, rng), shot)
    # Veiling glare, level: the simulation's own takes most of its time.
    return Photo("chips.png", raw_codes(scene + 0.02, camera, shot, rng), rendered=False), to_pixels


def off_mm(sheet: FoundSheet, to_pixels: NDArray[np.float64]) -> float:
    return float(np.hypot(*(project(np.linalg.inv(to_pixels), sheet.pixels(MIDDLES)) - MIDDLES).T).max())


# The long version, 200 photos with and without a mark covered: python -m tests.accuracy.holder_rows
@pytest.mark.parametrize("seed", range(6))
def test_found_at_any_rotation(camera: Camera, seed: int) -> None:
    rng = np.random.default_rng([seed, 1])
    covered = (1 + seed % 4,) if seed % 2 else ()
    photo, to_pixels = shoot(
        camera, seed, turn=rng.uniform(0, 360), tilt=rng.uniform(0, 12), tilt_towards=rng.uniform(0, 360),
        blur=rng.uniform(0, 2.2), fill=rng.uniform(0.75, 0.97), around=float(rng.choice([0.0, 1.0])), covered=covered,
    )  # fmt: skip
    sheet = find_sheet(photo)
    assert sheet.marks == 4 - len(covered)
    assert off_mm(sheet, to_pixels) < 1.0


def test_two_sheets_in_one_photo_are_refused(camera: Camera) -> None:
    # Which of them is meant cannot be told, and with a list of two photos the chips would get each other's names.
    one, _ = shoot(camera, turn=90.0, fill=0.9)
    both = Photo("both.png", np.concatenate([one.codes, one.codes]), rendered=False)
    with pytest.raises(FileProblem, match="two holder sheets are in the photo"):
        find_sheet(both)
    # Of the second one only two marks are to be seen: that is no sheet.
    half = Photo(
        "half.png", np.concatenate([one.codes, one.codes[:, :500].repeat(2, axis=1)[: one.height // 3]]), rendered=False
    )
    assert find_sheet(half).marks == 4


def test_slant_is_told(camera: Camera) -> None:
    assert find_sheet(shoot(camera, tilt=20.0)[0]).slant == pytest.approx(np.cos(np.radians(20)), abs=0.01)
    assert find_sheet(shoot(camera, tilt=0.0)[0]).slant == pytest.approx(1.0, abs=0.005)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"mirrored": True}, "the holder sheet is seen mirrored"),
        ({"covered": (1, 2, 3, 4)}, "not found: no mark was seen, and three of the four are needed"),
        ({"covered": (1, 3)}, "only the marks of 2 dots and 4 dots were seen"),
        ({"covered": (1, 3, 4)}, "only the mark of 2 dots was seen"),
        ({"tilt": 38.0}, "looks about 38° aslant at the holder sheet"),
        ({"exposure": 0.0005}, "not found"),
    ],
)
def test_a_wrong_sheet_is_said_so(camera: Camera, changes: dict[str, object], says: str) -> None:
    with pytest.raises(FileProblem, match=says):
        find_sheet(shoot(camera, **changes)[0])


def test_marks_that_are_not_where_they_belong_are_no_sheet(camera: Camera) -> None:
    photo, to_pixels = shoot(camera)
    codes = photo.codes.copy()
    places = [tuple(np.rint(project(to_pixels, mark)).astype(int)) for mark in holder.MARKS_MM[[1, 2]]]
    (x, y), (u, v) = places
    r = 44
    one, other = codes[y - r : y + r, x - r : x + r].copy(), codes[v - r : v + r, u - r : u + r].copy()
    codes[y - r : y + r, x - r : x + r], codes[v - r : v + r, u - r : u + r] = other, one
    with pytest.raises(FileProblem, match=r"do not lie as on the sheet|mirrored"):
        find_sheet(Photo("chips.png", codes, rendered=False))


def test_what_merely_looks_like_marks_is_no_mirrored_sheet() -> None:
    rng, ring = np.random.default_rng(1), np.array([[-20.0, -20], [20, -20], [20, 20], [-20, 20]])
    for _ in range(20):
        middles = rng.uniform(0, 1000, (4, 2))
        seen = {dots: [marks.Mark(dots, at, at + ring)] for dots, at in enumerate(middles, 1)}
        assert marks._best(seen) == (None, False)


def test_half_a_sheet_beside_a_whole_one_is_not_mixed_up_with_it(camera: Camera) -> None:
    photo, to_pixels = shoot(camera, fill=0.7)
    codes = photo.codes.copy()
    x, y = np.rint(project(to_pixels, holder.MARKS_MM[2])).astype(int)
    r = 36
    codes[20 : 20 + 2 * r, 20 : 20 + 2 * r] = codes[y - r : y + r, x - r : x + r]
    sheet = find_sheet(Photo("chips.png", codes, rendered=False))
    assert sheet.marks == 4
    assert off_mm(sheet, to_pixels) < 0.5


@pytest.mark.parametrize("kind", ["black", "white", "noise", "checks", "rings"])
def test_pictures_without_a_sheet_are_refused_in_good_time(kind: str) -> None:
    rng = np.random.default_rng(3)
    y, x = np.mgrid[0:900, 0:1200]
    picture = {
        "black": np.zeros((900, 1200)),
        "white": np.ones((900, 1200)),
        "noise": rng.random((900, 1200)),
        "checks": ((x // 24 + y // 24) % 2).astype(float),
        "rings": (np.maximum(np.abs(x % 60 - 30), np.abs(y % 60 - 30)) % 20 > 8).astype(float),
    }[kind]
    codes = np.repeat((picture * 60_000).astype(np.uint16)[..., None], 3, axis=2)
    started = time.monotonic()
    with pytest.raises(FileProblem):
        find_sheet(Photo("chips.png", codes, rendered=False))
    assert time.monotonic() - started < 20.0


def test_a_large_photo_is_searched_small_and_found_at_its_own_size(camera: Camera) -> None:
    photo, to_pixels = shoot(camera)
    large = np.repeat(np.repeat(photo.codes, 3, axis=0), 3, axis=1)
    sheet = find_sheet(Photo("large.png", large, rendered=False))
    # Pixel k of the small photo became pixels 3k to 3k + 2, whose middle is 3k + 1.
    wanted = 3 * project(to_pixels, MIDDLES) + 1
    assert np.abs(sheet.pixels(MIDDLES) - wanted).max() < 3.0


def test_homography_takes_points_where_a_known_one_does() -> None:
    rng = np.random.default_rng(0)
    for _ in range(20):
        known = np.array([[1, 0.2, 30], [-0.1, 1.1, -20], [3e-4, -2e-4, 1.0]]) + rng.normal(0, 1e-4, (3, 3))
        page = rng.uniform(-100, 100, (9, 2))
        found = homography(page, project(known, page))
        assert found is not None
        assert np.allclose(project(found, page), project(known, page), atol=1e-8)


def test_points_in_a_line_have_no_homography_or_none_that_is_finite() -> None:
    line = np.column_stack([np.arange(6.0), 2 * np.arange(6.0)])
    found = homography(line, np.zeros((6, 2)))
    assert found is None or not np.any(np.isnan(found))
