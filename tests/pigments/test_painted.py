"""A picture of a casting shows at each pixel what `look` tells of that pixel's paths."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.paths import LightPaths
from tintmix.optics.section import Section
from tintmix.pigments.model_file import load_model
from tintmix.pigments.painted import painted
from tintmix.shape.values import PathPicture

DOSES = {"azure": 0.01, "emerald": 0.03}


@pytest.fixture
def picture() -> PathPicture:
    """Two pixels beside a bare one: paths of 8 and 60 mm, some of which met an insert once or twice."""
    return PathPicture(
        width=3, height=1, pixel_mm=1.0, lengths_mm=np.array([0.0, 8.0, 60.0]),
        pixels=np.array([0, 0, 1, 1, 1], np.int32), bins=np.array([0, 1, 2, 4, 8], np.int16),
        weights=np.array([0.04, 0.88, 0.3, 0.2, 0.1], np.float32), bare=1.0, sees=np.array([[True, True, False]]),
        straight_mm=np.full((1, 3), 8.0), standard_error=np.zeros((1, 3)), samples=1,
    )  # fmt: skip


@pytest.mark.parametrize(("light", "observer"), [("D65", 10), ("A", 2)])
def test_a_pixel_is_what_look_tells(
    fitted: Callable[[str], Path], picture: PathPicture, light: str, observer: int
) -> None:
    model = load_model(fitted("deck-prism-colours"))
    seen = painted(model, DOSES, picture, 0.4, light, observer)
    white = eye(light, observer).bare
    for pixel in range(2):
        weights = picture.mixture(np.array([pixel]))
        paths = LightPaths(lengths_mm=tuple(picture.lengths_mm), weights=tuple(map(tuple, weights)), reflectance=0.4)
        looked = model.look(DOSES, [Section("there", paths.mean_mm, paths)], light, observer)
        # measures: within ΔE00 0.3. The mean colour of the draws is not quite the colour of their mean light.
        assert delta_e00(lab(seen[0, pixel], white), looked.lab[0]) < 0.05
        np.testing.assert_allclose(seen[0, pixel], looked.xyz[0], rtol=1e-9)
    np.testing.assert_allclose(seen[0, 2], white)
