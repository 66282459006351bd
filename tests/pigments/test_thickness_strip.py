"""One tint at many thicknesses at once, against the general way."""

from __future__ import annotations

import numpy as np
import pytest

from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.pigments.fit import fit
from tintmix.pigments.thickness_strip import strip_colours


@pytest.mark.parametrize("doses", [{}, {"mix": 1.0}, {"mix": 0.3}])
@pytest.mark.parametrize("light", ["D65", "A"])
def test_the_same_means_as_look(doses: dict[str, float], light: str) -> None:
    model = fit(read_chips(demo("one-cup")))
    thicknesses = np.array([0.5, 8.0, 60.0])
    colours, through = strip_colours(model, doses, thicknesses, light, 10)
    look = model.look(doses, thicknesses.tolist(), light, 10)
    assert np.allclose(colours, look.lab, atol=1e-3)
    assert np.allclose(through, look.luminous_transmittance, atol=1e-6, rtol=1e-5)
