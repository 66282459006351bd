"""Why a batch cannot be weighed with the scales at hand, and how large a batch could be."""

from __future__ import annotations

import math

from tintmix.weighing.batch import LARGEST_G
from tintmix.weighing.choice import choose
from tintmix.weighing.errors import CannotBeWeighed, no_room_for_carrier, too_little, too_much
from tintmix.weighing.layout import Job, part_totals, room_of, unplaced, with_batch
from tintmix.weighing.scales import FILLED, LEAST_STEPS, MOST_PORTIONS


def no_scale(what: str, grams: float, job: Job, diluted: bool = False) -> CannotBeWeighed | CannotBeWeighed:
    """No scale can weigh it: too little for the finest, or too much for the largest. diluted: bottles were tried too."""
    if grams < LEAST_STEPS * job.scales.finest_g:
        return too_little(what, grams, job.batch_g, job.scales.finest_g, _enough(job), diluted)
    most = max(job.scales.limit_g("resin"), job.scales.limit_g("pigment"))
    return too_much(what, grams, most / FILLED, MOST_PORTIONS)


def refusal(job: Job, pigment: str) -> CannotBeWeighed | CannotBeWeighed | CannotBeWeighed:
    """Why there is no way to weigh this pigment."""
    need = next(need for need in job.needs if need.pigment == pigment)
    grams = need.model_g / need.strength
    finest = job.scales.finest_g
    with_room = choose(job.needs, job.moved_by, job.scales, math.inf, math.inf)
    if grams >= LEAST_STEPS * finest or with_room == pigment:
        return no_scale(pigment, grams, job, diluted=True)
    part_g = part_totals(job.resin, job.batch_g)[job.tinted]
    return no_room_for_carrier(pigment, job.tinted, part_g, finest, _enough(job))


def _enough(job: Job) -> float | None:
    """About the smallest larger batch that can be weighed, to two figures, rounded up; None where none is found."""
    low, high = job.batch_g, job.batch_g
    while not _is_weighable(with_batch(job, high)):
        low, high = high, 2.0 * high
        if high > LARGEST_G:
            return None
    for _ in range(5):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if _is_weighable(with_batch(job, middle)) else (middle, high)
    unit = 10.0 ** (math.floor(math.log10(high)) - 1)
    rounded = math.ceil(high / unit - 1e-9) * unit
    return rounded if _is_weighable(with_batch(job, rounded)) else 1.1 * rounded


def _is_weighable(job: Job) -> bool:
    return unplaced(job) is None and not isinstance(
        choose(job.needs, job.moved_by, job.scales, math.inf, room_of(job)), str
    )
