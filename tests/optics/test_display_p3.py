"""Display P3: the matrix, and the profile as littleCMS, which Pillow carries, reads it."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from tintmix.optics.display_p3 import P3_OF_SRGB, profile, wide_screen


def test_srgb_in_p3() -> None:
    """CSS Color 4, sample code, linear sRGB to linear Display P3 by way of XYZ."""
    expected = [[0.8224620, 0.1775380, 0.0], [0.0331942, 0.9668058, 0.0], [0.0170826, 0.0723974, 0.9105199]]
    np.testing.assert_allclose(P3_OF_SRGB, expected, atol=4e-4)


def test_what_srgb_cannot_show_p3_may() -> None:
    white = np.array([95.047, 100.0, 108.883])
    # P3's green: x, y = 0.265, 0.690 at a Y of 40.
    seen = wide_screen(np.array([[0.265 / 0.690 * 40, 40.0, 0.045 / 0.690 * 40]]), white)
    assert seen.inside_srgb.tolist() == [True]
    assert seen.rgb[0, 1] > 0.7


@pytest.mark.parametrize("colour", [(200, 120, 40), (10, 160, 150), (128, 128, 128)])
def test_the_profile_means_these_colours(colour: tuple[int, int, int]) -> None:
    codes = np.array(colour) / 255
    linear = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)
    p3 = P3_OF_SRGB @ linear
    levels = np.rint(255 * np.where(p3 <= 0.0031308, 12.92 * p3, 1.055 * p3 ** (1 / 2.4) - 0.055)).astype(np.uint8)
    picture = Image.fromarray(levels.reshape(1, 1, 3))
    read = ImageCms.profileToProfile(
        picture, ImageCms.ImageCmsProfile(io.BytesIO(profile())), ImageCms.createProfile("sRGB")
    )
    # A step of eight bits in P3 and one in sRGB.
    assert np.abs(np.array(read)[0, 0].astype(int) - colour).max() <= 2
