"""A set in parts: the same modes as whole, and work that grows as the chips do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.laplace import evaluated, laplace_modes, newton_step
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.inference.parts import pieces_of, reduced
from tintmix.pigments.inference.posterior import grey_levels, prior_of
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, base_basis, pigment_basis


def _large(doses: int) -> Observations:
    ladder = tuple(np.geomspace(0.02, 0.2, doses).round(4).tolist())
    return gather((to_chipset(make_set(11, doses=ladder, pairs=3, dose_error=0.02)),)).observations


def _model(seen: Observations, whole: bool) -> Forward:
    levels = grey_levels(seen)
    priors = [prior_of(BASE_MEAN_LOG, [base_basis()]), *(prior_of(one, [pigment_basis(1.5, 80.0)]) for one in levels)]
    return Forward(seen, tuple(priors), ((0, 1.0),), is_part=whole)


def test_a_set_in_parts_comes_to_the_mode_of_the_whole() -> None:
    seen = _large(15)
    parts, whole = _model(seen, whole=False), _model(seen, whole=True)
    assert parts.division is not None
    assert whole.division is None
    start = np.zeros((1, parts.layout.size))
    one, other = (laplace_modes(model, start, steps=6) for model in (parts, whole))
    assert one.z == pytest.approx(other.z, abs=1e-7)
    assert one.evidence == pytest.approx(other.evidence, abs=1e-6)
    # Their precision is that of the shared unknowns, all else free.
    shared = np.ix_(parts.shared, parts.shared)
    assert np.linalg.inv(one.precision[0]) == pytest.approx(np.linalg.inv(other.precision[0])[shared], abs=1e-7)
    misfit = np.stack([other.residual[0], 0.5 * other.residual[0]])
    for ours, theirs in zip(newton_step(parts, one, misfit), newton_step(whole, other, misfit), strict=True):
        assert ours == pytest.approx(theirs, abs=1e-6)


def test_what_a_step_holds_grows_as_the_chips_do() -> None:
    """A Jacobian of the whole would hold nine times as many numbers for three times the chips."""
    held = []
    for doses in (15, 45):
        seen = _large(doses)
        model = _model(seen, whole=False)
        assert model.division is not None
        chips = np.concatenate([piece.chips for piece in pieces_of(seen)])
        assert sorted(chips.tolist()) == list(range(len(seen.doses)))
        now = evaluated(model, np.zeros((1, model.layout.size)))
        left = reduced(now.jacobians, model.division, now.prior)
        arrays = (*now.jacobians, *left.inner, *left.reach)
        held.append(sum(array.size for array in arrays) / len(seen.doses))
    assert held[1] < 1.2 * held[0]


def test_chips_that_share_a_poured_chip_or_a_cup_stay_together() -> None:
    seen = _large(15)
    poured = seen.poured.copy()
    # The last chip of the set and its first, of another cup, are one piece of resin.
    poured[-1] = poured[0]
    for piece in pieces_of(replace(seen, poured=poured)):
        assert (0 in piece.chips) == (len(poured) - 1 in piece.chips)
        inside = {seen.cups[row] for row in piece.chips}
        assert inside.isdisjoint(
            seen.cups[row] for row in set(range(len(poured))) - set(piece.chips.tolist()) if seen.doses[row].any()
        )
