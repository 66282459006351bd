"""Draws hold what readings leave open, and no more."""

from __future__ import annotations

import numpy as np
import pytest

from tests.simulation import camera_measured, make_set, to_chipset
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.inference.draws import Draws, beside_the_grid, draw
from tintmix.pigments.inference.forward import LOGS, Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.posterior import Mixture, posterior
from tintmix.pigments.widen import _MOST, _spread


@pytest.fixture(scope="module")
def mixture() -> Mixture:
    return posterior(gather([to_chipset(make_set(5007, "colour", pigments=2))]).observations)


def test_draws_spread_as_far_as_can_be_stay_numbers(mixture: Mixture) -> None:
    drawn = draw(_spread(mixture, 1.1 * _MOST), bend=False)
    logs = np.log(np.concatenate([drawn.base[:, None], drawn.absorptivity], axis=1))
    assert LOGS[0] - 1e-9 <= logs.min() <= logs.max() <= LOGS[1] + 1e-9
    with pytest.raises(FloatingPointError):
        Draws(*(np.full(2, np.nan) for _ in Draws.__slots__))


def test_spectra_may_end_otherwise_as_far_as_the_chips_read_the_same(mixture: Mixture) -> None:
    drawn = draw(mixture)
    past = np.log(drawn.absorptivity / drawn.smooth[:, 1:])
    assert np.all(past[..., GRID_NM >= 720].std(axis=0) > 0.8)
    assert np.all(past[..., (GRID_NM > 500) & (GRID_NM < 600)].std(axis=0) < 0.3)
    # Whitened: each reading moves by about its own error; with the chips not asked, by sixteen times that.
    read = []
    for spectra in (drawn.absorptivity.swapaxes(0, 1), drawn.smooth[:, 1:].swapaxes(0, 1)):
        priors = tuple(SpectrumPrior(np.log(one), np.zeros((1, 41, 0))) for one in (drawn.base, *spectra))
        forward = Forward(mixture.forward.observations, priors)
        read.append(forward.residuals(np.zeros((len(past), forward.layout.size)))[0])
    assert np.sqrt(np.mean((read[0] - read[1]) ** 2)) < 1.5


@pytest.mark.parametrize("family", ["narrow", "glass"])
def test_photographed_chips_of_steep_bands_are_read_beside_the_grid(family: str) -> None:
    sim = camera_measured(make_set(30010, "camera", camera="drawn", panel="LED-B3", pigments=1, family=family))
    mixture = posterior(gather([to_chipset(sim)]).observations)
    beside = beside_the_grid(mixture)
    if family == "glass":
        assert beside is None
        return
    assert beside is not None
    (before,), (after,) = mixture.forward.observations.readings, beside.readings
    more = after.spread / before.spread
    # A photo's own error is 1 %; of such dyes channels are off by 2 % (rms) on the grid.
    assert more.min() >= 1.0
    assert 1.4 < more.max() < 10.0
    assert np.median(more) < 1.2


def test_colours_need_no_error_of_the_grid(mixture: Mixture) -> None:
    assert beside_the_grid(mixture) is None
