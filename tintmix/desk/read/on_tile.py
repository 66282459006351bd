"""A chip of a known recipe that was read on a white tile: how it looks held against the light, as a pour is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.desk.read.things import LookOf
from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.absorption import effective_doses
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.light import through
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust.belief import SURPRISE, Trial, believe, trial_set

POUR_SPREAD = 0.3
"""Relative spread of each pigment's strength in a pour: what came out is asked, so little is taken for granted of it."""
NOT_KEPT = 2 * SURPRISE
"""Chi-square a value from which on a chip is no chip of this recipe, or was read otherwise: it tells nothing of the pour."""


def look_on_tile(
    model: TintModel,
    doses_phr: Mapping[str, float],
    read: Sequence[float],
    thickness_mm: float,
    like: ChipSet,
    light: str,
    observer: int,
    name: str,
) -> LookOf:
    """How a chip of this recipe that reads so looks against the bare light: the model's draws, moved to explain the reading.

    read: L*a*b* as the set `like` was read, on its tile. Raises ValueProblem for what cannot be read so, and where no strength of
    the pigments explains it.
    """
    chips = trial_set(like.reading, [(thickness_mm, read)], doses_phr, model.refractive_index, like, name)
    found = believe(model, [Trial(doses_phr, chips, {})], lot_spread=POUR_SPREAD)
    if found.surprise > NOT_KEPT:
        raise ValueProblem(
            where=name,
            what=f"it reads L* a* b* {', '.join(numeral(float(v), 4) for v in read)} on its tile, which no strength of "
            f"this recipe's pigments explains at {numeral(thickness_mm)} mm",
            remedy=Remedy.READ_CHIP_AGAIN,
        )
    none = np.zeros(len(model.pigments))
    strong = effective_doses(model.dose_vector(doses_phr), model.volume_per_phr, none) * np.exp(found.log_pot)
    per_mm = found.base + np.einsum("dp,dpk->dk", effective_doses(strong, none, found.departure), found.absorptivity)
    detector = eye(light, observer)
    labs = lab(through(per_mm, thickness_mm, model.refractive_index) @ detector.weights, detector.bare)
    mean = labs.mean(axis=0)
    return LookOf(lab=mean, covariance=np.cov(labs.T), delta_e00_95=float(within_95(delta_e00(labs, mean)[:, None])[0]))
