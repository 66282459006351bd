"""One tint at many thicknesses at once, against the general way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tintmix.pigments.model_file import load_model
from tintmix.pigments.thickness_strip import strip_colours


@pytest.mark.parametrize("doses", [{}, {"mix": 1.0}, {"mix": 0.3}])
@pytest.mark.parametrize("light", ["D65", "A"])
def test_the_same_means_as_look(fitted: Callable[[str], Path], doses: dict[str, float], light: str) -> None:
    model = load_model(fitted("one-cup"))
    thicknesses = np.array([0.5, 8.0, 60.0])
    colours, through = strip_colours(model, doses, thicknesses, light, 10)
    look = model.look(doses, thicknesses.tolist(), light, 10)
    assert np.allclose(colours, look.lab, atol=1e-3)
    assert np.allclose(through, look.luminous_transmittance, atol=1e-6, rtol=1e-5)
