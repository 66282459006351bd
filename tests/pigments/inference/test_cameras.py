"""What is believed of phones: of a panel that nobody knows, and of channels that were cut off."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.optics.detector import rendered_ways
from tintmix.pigments.inference.cameras import PANELS, rendered_unknown
from tintmix.pigments.inference.gather import gather


@pytest.mark.parametrize("panel", PANELS)
def test_a_phone_before_a_panel_that_nobody_knows_is_believed_possible(panel: str) -> None:
    mean, mix = rendered_unknown()
    np.testing.assert_allclose(mean.bare, 1.0, atol=1e-12)
    directions = mix.reshape(-1, mix.shape[-1])
    for way in rendered_ways(panel):
        off = (way - mean.weights).ravel()
        # 0.002 a band: forty of them together are a photo's own 1 %.
        ridge = directions.T @ directions + 0.002**2 * np.eye(mix.shape[-1])
        q = np.linalg.solve(ridge, directions.T @ off)
        # 45.3: 99.9 % of chi-square with 20 degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4), of 32 that are tried.
        assert q @ q < 45.3
        left = (off - directions @ q).reshape(way.shape)
        assert np.sqrt((left**2).sum(axis=0)).max() < 0.02


def test_a_channel_near_the_bare_panels_may_have_been_cut_off() -> None:
    sim = make_set(902, "camera", camera="rendered", dose_error=0.02, thickness_error=0.05)
    read = sim.readings.copy()
    # Spreads of 1 %: three of them below 1 are 0.97.
    read[0], read[1] = [0.985, 0.9, 0.96], [1.0, 0.5, 1.02]
    told = gather([to_chipset(dataclasses.replace(sim, readings=read))]).observations.readings[0].censored
    assert told is not None
    assert told[:2].tolist() == [[1, 0, 0], [1, 0, 1]]
