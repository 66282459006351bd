"""Why a pot may be off by more than lots and scales usually are: something weighed wrong, or a lot that is quite another.

A reading of the pot hardly tells the two apart, and they ask for other top-ups: a lot's strength acts on what is added too.
So both are believed, each by what the reading says of it: a mixture of normals, its parts weighed by their evidence (Gelman
et al., *Bayesian Data Analysis*, 3rd ed., §22).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.observations import Index

SLIP = 0.2
"""The chance that something was weighed wrong, where nobody says what was weighed, in a pot that is asked about: one in five
(common practice). With 0.1, 3 of 12 simulated slips ended beyond their bands of 95 %."""
SLIP_ALL_THE_SAME = 0.04
"""The same where the weights are told: what was read wrong off the scale is told wrong, too."""
OTHER_LOT = 0.03
"""The chance that a lot of which nothing is known is of quite another strength (common practice)."""
FAR = math.log(2)
"""Spread of the logarithm of either: half the dose or twice is ordinary for a slip."""
TOLD = 0.1
"""A slip that is believed less than this is not asked about: nine times of ten it would be in vain."""
_MORE = 1.5
"""Nor one that the reading makes believed by less than this, against before: of such a pigment it tells nothing."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Why the pot is off. pigment: its index; None: nothing but what lots and scales usually do. slipped: whether it was weighed
    wrong, else its lot is another. before, belief: how much it is believed before the reading, and after. factor: on what was
    weighed, or of the lot's strength, then."""

    pigment: int | None
    slipped: bool
    before: float
    belief: float = 1.0
    factor: float = 1.0

    @property
    def is_to_ask(self) -> bool:
        """Whether one should ask if that was weighed wrong."""
        return self.slipped and self.belief >= max(TOLD, _MORE * self.before)


def possible(doses: Array, said: Sequence[bool], known: Sequence[bool]) -> list[Cause]:
    """What may be the cause, before the reading, nothing unusual first. doses (P,): in the pot; said: whose weights are told;
    known: whose lot's strength is.

    >>> [cause.before for cause in possible(np.array([0.1, 0.0]), [False, False], [True, True])]
    [0.8, 0.2]
    """
    there = np.flatnonzero(doses > 0).tolist()
    causes = [Cause(p, True, (SLIP_ALL_THE_SAME if said[p] else SLIP) / len(there)) for p in there]
    causes += [Cause(p, False, OTHER_LOT / len(there)) for p in there if not known[p]]
    return [Cause(None, False, 1.0 - math.fsum(cause.before for cause in causes)), *causes]


def shares(causes: Sequence[Cause], log_evidence: Sequence[float]) -> Array:
    """How much each cause is believed after the reading."""
    log = np.log([cause.before for cause in causes]) + np.asarray(log_evidence)
    share = np.exp(log - log.max())
    return np.asarray(share / share.sum())


def dealt(share: Array, count: int) -> Index:
    """Which cause each of `count` draws is moved by (count,): as many of each as it is believed, and mixed."""
    ends = np.floor(np.cumsum(share) * count + 0.5).astype(int)
    ends[-1] = count
    cause = np.repeat(np.arange(len(share)), np.diff(ends, prepend=0))
    return np.asarray(np.random.default_rng(20240614).permutation(cause), dtype=np.intp)
