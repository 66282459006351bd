"""Draws hold what readings leave open, and no more."""

from __future__ import annotations

import numpy as np

from tests.simulation import make_set, to_chipset
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.inference.draws import draw
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.posterior import posterior


def test_spectra_may_end_otherwise_as_far_as_the_chips_read_the_same() -> None:
    mixture = posterior(gather([to_chipset(make_set(5007, "colour", pigments=2))]).observations)
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
