"""A phone's contrast against the curve written out, and its slopes against finite differences."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reference import batched, slow
from tintmix.optics.tone import toned

LIGHT = np.array([[-0.05, 0.001, 0.02], [0.2, 0.7, 1.1]])


@pytest.mark.parametrize("contrast", [-0.3, 0.0, 0.3])
def test_a_jpeg_of_a_phone_with_contrast(contrast: float) -> None:
    factor = np.exp(-np.linspace(0, 4, 5))[:, None] * np.ones(421)
    plain = batched.rendered(factor, "LED-B2")
    bent = batched.rendered(factor, "LED-B2", contrast=contrast)
    assert toned(plain, np.array(contrast), np.array(1.0))[0] == pytest.approx(bent, abs=1e-5)


def test_every_way_keeps_the_bare_panel_at_one() -> None:
    for way in ("XYZ Scaling", "CAT16", "Bradford", "Von Kries"):
        assert slow.linear_srgb(slow.white("LED-B1", 2), slow.white("LED-B1", 2), way) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("at", [0, 1, 2])
def test_slopes(at: int) -> None:
    asked = [LIGHT, np.array(0.25), np.array(0.8)]
    step = 1e-7
    up, down = list(asked), list(asked)
    up[at], down[at] = asked[at] + step, asked[at] - step
    numeric = (toned(*up)[0] - toned(*down)[0]) / (2 * step)
    assert toned(*asked)[1 + at] == pytest.approx(numeric, abs=1e-5)
