"""A picture whose file says nothing of its curve: what the photo shows of it is found, or left open."""

from __future__ import annotations

import numpy as np
import pytest

from tests.chips.photo import photo_files as files
from tests.photo_simulation import (
    Shot,
    draw_camera,
    holder_scene,
    jpeg,
    photographed,
    pose,
    random_pieces,
    raw_codes,
    through_lens,
)
from tintmix.chips.photo.curve import srgb_curve
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.sheet.holder import WINDOWS
from tintmix.chips.photo.sheet.marks import find_sheet
from tintmix.chips.photo.tones import settled
from tintmix.errors import Note, Remedy


@pytest.fixture(scope="module")
def light() -> dict[str, np.ndarray]:
    """One photo as its sensor, a converter without and one with a matrix, and a camera wrote it, as parts of full code."""
    rng = np.random.default_rng(5)
    camera, shot = draw_camera(rng), Shot(width=800, height=600, turn=94.0, tilt=4.0, exposure=0.7)
    taken = photographed(rng, shot, camera, pieces=random_pieces(rng, 18, 1.2))
    raw = raw_codes(taken.chips, camera, shot, rng) / 65_535.0
    white = 0.9 * raw / camera.bare
    mixed = np.clip(white @ camera.matrix.T, 0, 1)
    table = srgb_curve(65_536).table[:, 0]
    coded = np.interp(mixed, table, np.linspace(0, 1, 65_536))
    return {"raw": raw, "white": np.clip(white, 0, 1), "matrix": mixed, "sRGB": coded}


@pytest.mark.parametrize("which", ["raw", "white", "matrix", "sRGB"])
@pytest.mark.parametrize("deep", [True, False])
def test_the_photo_tells_whether_a_curve_is_in_it(light: dict[str, np.ndarray], which: str, deep: bool) -> None:
    codes = np.rint(light[which] * (65_535 if deep else 255)).astype(np.uint16 if deep else np.uint8)
    photo = open_photo(files.png(codes), "chips.png")
    assert photo.tones_open
    found, panel = settled(photo, photo, (), (), find_sheet(photo))
    assert isinstance(panel, Photo)
    # A converter's matrix makes of camera channels what a phone writes, without the curve.
    assert (found.rendered, panel.rendered) == ((which in ("matrix", "sRGB"),) * 2)
    if which == "sRGB":
        assert found.curve is photo.curve
        assert found.warnings == ()
    else:
        assert np.allclose(found.light(found.codes[::9, ::9]), codes[::9, ::9] / (65_535 if deep else 255))
        [told] = [one for one in found.warnings if isinstance(one, Note)]
        assert told.remedy is Remedy.SAY_NOT_LINEAR


def test_without_a_sheet_the_places_tell(light: dict[str, np.ndarray]) -> None:
    for which in ("raw", "sRGB"):
        photo = open_photo(files.png(np.rint(light[which] * 65_535).astype(np.uint16)), "chips.png")
        sheet = find_sheet(photo)
        lit = [sheet.pixels(one.corners_mm) for one in WINDOWS if one.role == "open"]
        chips = [sheet.pixels(one.corners_mm) for one in WINDOWS if one.role == "chip"]
        assert settled(photo, None, lit, chips)[0].rendered == (which == "sRGB")
    # Hardly anything to go by: it is left as it was, and said.
    flat = open_photo(files.png(np.full((80, 120, 3), 30_000, np.uint16)), "chips.png")
    kept, _ = settled(flat, None, [], [])
    assert kept is flat
    assert [one.remedy for one in kept.warnings if isinstance(one, Note)] == [Remedy.SAY_LINEAR]


def test_a_linear_picture_of_the_panel_does_not_pass_for_one_of_a_jpegs() -> None:
    """The chips' photo says what it is; that of the panel is held against what it shows, too."""
    rng = np.random.default_rng(3)
    camera, shot = draw_camera(rng), Shot(width=900, height=675, exposure=0.7)
    bare = through_lens(holder_scene({}, shot, pose(shot), np.random.default_rng(1)), shot)
    chips = open_photo(jpeg(bare, camera, shot, rng), "chips.jpg")
    panel: Photo = open_photo(files.png(raw_codes(bare, camera, shot, rng)), "bare.png")
    assert panel.rendered
    _, told = settled(chips, panel, (), (), find_sheet(chips))
    assert told is not None
    assert not told.rendered
