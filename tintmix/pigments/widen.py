"""Draws for chips that contradict each other: spread until they hold what was read.

Where many chips are doubted, what they agree on may be the false part: columns exchanged in half the cups leave two stories, and
the fit tells one of them with all the certainty of its chips. Then only the chips themselves tell how far off it may be.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import count
from typing import Any

import numpy as np

from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.draws import Draws, draw_among
from tintmix.pigments.inference.gather import Gathered
from tintmix.pigments.inference.posterior import Mixture
from tintmix.pigments.model import TintModel

HELD = 0.95
"""Part of the chips that has to lie in the bands, as bands of 95 % promise."""
_CHIPS = 100
"""That are foretold at once: 300 draws of them take 10 MB, of 1000 chips ten times that, several times over."""
_STEP = 2.0**0.5
"""The band that is found is at most this much wider than need be; finer steps take longer than the fit."""
_PRIOR = 30.0
"""Times the draws of a fit are spread until they are as wide as what was known before any chip, to a few per cent; from there on
the prior itself is spread."""
_MOST = 30.0 * 64
"""Times; nothing that a chip can read lies outside such bands."""


def wider_draws(
    gathered: Gathered,
    stories: Sequence[Mixture],
    odds: Sequence[float],
    told: Mapping[str, Any],
    model_of: Callable[[Draws], TintModel],
) -> Draws:
    """Draws whose bands hold 95 % of the chips, each foretold from the others. stories: the posterior, and what other lights make
    of the readings, with their odds. told: the fit's report. model_of: the model that draws make.

    The posterior's Gaussians N(z, P⁻¹) in whitened coordinates, prior N(0, I), become N(z, (I + (P − I)/k²)⁻¹): each chip
    counts as if its reading were k times less sure (of a set in parts, its reading and the errors of its cup together). k is the
    least, by steps, at which they hold.
    """
    off = np.array([chip["left_out_delta_e00"] for chip in told["chips"]])
    # Two stories may hold them as they are.
    for step in count(1 if len(stories) == 1 else 0):
        times = _STEP**step
        draws = draw_among([_spread(one, times) for one in stories], odds, bend=False)
        if times > _MOST or _hold(model_of(draws), gathered, off):
            break
    return draws


def _hold(model: TintModel, gathered: Gathered, off: Array) -> bool:
    """Whether enough of the chips lie in the model's bands, off: (N,), how far each is from where the others put it.
    Those that are furthest off are asked first: these tell soonest that bands are too narrow."""
    order, outside = np.argsort(-off, kind="stable"), 0
    for some in np.split(order, list(range(_CHIPS, len(order), _CHIPS))):
        seen = model.lab_draws(gathered.doses_phr[some], gathered.observations.thickness_mm[some])
        outside += int(np.count_nonzero(off[some] > within_95(delta_e00(seen, seen.mean(axis=0)))))
        if (len(off) - outside) / len(off) < HELD:
            return False
    return True


def _spread(mixture: Mixture, times: float) -> Mixture:
    prior = np.eye(mixture.fit.precision.shape[-1])
    precision = (prior + (mixture.fit.precision - prior) / times**2) / max(1.0, times / _PRIOR) ** 2
    return replace(mixture, fit=replace(mixture.fit, precision=precision))
