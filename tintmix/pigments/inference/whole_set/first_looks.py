"""First looks at what may be wrong with a whole set, without a fit: which cups have two dose columns exchanged, by the colour
of what was poured; which readings are in no order; which other light the readings may have been taken under.

The absorbance of a broad channel grows with dose times thickness nearly as a power a little below 1,
log A = α + γ log(c t), with α and γ of the pigment's own. Each way of dealing the single-pigment cups out to the two
pigments is judged by how well it follows that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import lab, xyz_of_lab
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.forward import Forward
from tintmix.pigments.inference.gather import Gathered, detector_of
from tintmix.pigments.inference.laplace import laplace_modes, newton_step, with_tails
from tintmix.pigments.inference.observations import Index, Mask, Observations, Readings
from tintmix.pigments.inference.posterior import AskedDeparture, Mixture, posterior, shares_of
from tintmix.pigments.inference.prior import BASE_MEAN_LOG

_POWER, _POWER_SPREAD = 0.9, 0.15
"""γ and its spread: of 60 simulated pigments read as X, Y, Z at 3 and 12 mm."""
_BY_POWER = 0.15
"""What log A departs from the power law by, one standard deviation, in the same pigments."""
_NOISE = 0.01
"""Absorbance, of a usual reading of a pale chip."""
_TELLING = 4.0
"""Twice the nats by which a cup of a mixture must read better exchanged: 2 nats, as little as speaks for anything."""
_MODES = 4
"""Modes that are tried without the doubted chips, or two exchanged: the likeliest of the right kind are within a few nats."""
_PRINCIPAL = 4
"""Directions in which readings that say nothing of their chips are spread: three would be a colour's."""
_ASTRAY, _SUSPECTS, _STAYS_ASTRAY = 3, 8, 0.25
"""Pairs of chips out of order from which two may have changed places, how many chips that stand in most of them are asked, and
the part of the pairs that their exchange may leave. Of 120 sets in which two had changed places it tells 62 pairs, all of them
right; of 120 sound sets none has two chips out of order."""
_WAYS = 1024
"""Past ten cups not every way of dealing them out is tried at first: each of these is mended cup by cup."""


def channels(observations: Observations) -> Array:
    """Absorbance (N, 3) of each row in three broad channels, its faces and the resin's own taken off."""
    out = _of_chips(observations)
    blank = ~np.any(observations.doses > 0, axis=1)
    thickness = observations.thickness_mm
    own = np.full(3, np.exp(BASE_MEAN_LOG))
    if blank.any():
        own = (out[blank] * thickness[blank, None]).sum(axis=0) / (thickness[blank] ** 2).sum()
    return np.asarray(out - own * thickness[:, None])


def _of_chips(observations: Observations) -> Array:
    """Absorbance (N, 3) of each row in three broad channels, its faces taken off."""
    n = observations.refractive_index
    out = np.zeros((len(observations.doses), 3))
    for reading in observations.readings:
        if reading.form == "lab":
            part = xyz_of_lab(reading.observed, np.ones(3))
        elif reading.form == "channels":
            part = reading.observed
        else:
            part = np.stack([third.mean(axis=1) for third in np.array_split(reading.observed, 3, axis=1)], axis=1)
        top = 2 * n / (n * n + 1) if reading.relative == "air" else 1.0
        if reading.tile is not None:
            top = float(reading.tile.factor(np.ones(len(GRID_NM)), n)[0].mean())
        # 1e-3: what is darker is read as noise.
        out[reading.chips] = -np.log10(np.maximum(part / top, 1e-3))
    return out


def exchanged_cups(observations: Observations, a: int, b: int, most: int) -> list[tuple[float, frozenset[str]]]:
    """Ways of exchanging a and b in some of the cups that hold one of them alone, that follow the power law better than the
    labels do: the gain, half a squared misfit, and the cups. At most so many, the best first."""
    doses = observations.doses
    alone = (doses[:, [a, b]] > 0).any(axis=1) & ((doses > 0).sum(axis=1) == 1)
    rows = np.flatnonzero(alone)
    cups = list(dict.fromkeys(observations.cups[r] for r in rows))
    if len(cups) < 3:
        return []
    at = np.array([cups.index(observations.cups[r]) for r in rows])
    declared = np.zeros(len(cups), dtype=bool)
    declared[at] = doses[rows, b] > 0
    absorbance = np.maximum(channels(observations)[rows], _NOISE)
    x = np.log(doses[rows].sum(axis=1) * observations.thickness_mm[rows])
    weight = 1 / (_BY_POWER**2 + (_NOISE / absorbance) ** 2)
    sums = _sums(np.log(absorbance), x - x.mean(), weight, at, len(cups))
    # The first cup stays: with all of them exchanged the data are the same under other names.
    free = len(cups) - 1
    if 2**free <= _WAYS:
        flips = (np.arange(2**free)[:, None] >> np.arange(free)) & 1
    else:
        # Any seed: the same chips give the same ways.
        flips = np.random.default_rng(20240229).integers(0, 2, (_WAYS, free))
        flips[0] = 0
    flips = np.column_stack([np.zeros(len(flips), dtype=int), flips])

    def misfit(flips: Index) -> Array:
        return _misfit(declared ^ (flips > 0), sums)

    told = misfit(flips)
    if 2**free > _WAYS:
        best = flips[told.argsort()[:8]]
        for _ in range(2 * free):
            around = np.concatenate([best, *(best ^ (np.arange(free + 1) == j) for j in range(1, free + 1))])
            around = np.unique(around, axis=0)
            before, best = best, around[misfit(around).argsort()[:8]]
            if np.array_equal(before, best):
                break
        flips = np.concatenate([flips[:1], best])
        told = misfit(flips)
    found = []
    for w in told.argsort()[: most + 1]:
        gain = 0.5 * float(told[0] - told[w])
        if gain > 0:
            found.append((gain, frozenset(cup for cup, out in zip(cups, flips[w], strict=True) if out)))
    return found[:most]


def _sums(log_absorbance: Array, x: Array, weight: Array, cup: Index, cups: int) -> Array:
    """What the power law of each cup's rows is judged by: (6, C, 3), sums of weight times 1, x, x², y, xy and y²."""
    x = x[:, None]
    y = log_absorbance - _POWER * x
    sums = np.zeros((6, cups, weight.shape[1]))
    for into, of in zip(sums, (np.ones_like(x), x, x**2, y, x * y, y * y), strict=True):
        np.add.at(into, cup, weight * of)
    return sums


def _misfit(is_b: Mask, sums: Array) -> Array:
    """Weighted squared misfit (W,) of the power laws of two pigments, is_b (W, C) telling which a cup holds; sums: of `_sums`."""
    total = np.zeros(len(is_b))
    for group in (is_b, ~is_b):
        one, by_x, by_xx, by_y, by_xy, by_yy = group.astype(np.float64) @ sums
        by_xx = by_xx + 1 / _POWER_SPREAD**2
        determinant = np.maximum(one * by_xx - by_x**2, 1e-12)
        total += (by_yy - (by_xx * by_y**2 - 2 * by_x * by_y * by_xy + one * by_xy**2) / determinant).sum(axis=1)
        total[~group.any(axis=1)] = np.inf
    return total


def mixed_cups(mixture: Mixture, exchanged: Observations, a: int, b: int) -> frozenset[str]:
    """The cups that hold a or b beside another pigment and read as if the two were exchanged, by the likeliest mode.
    exchanged: the same observations with a and b exchanged everywhere."""
    best = np.array([int(mixture.weights.argmax())])
    here = mixture.forward.take(best)
    z = mixture.fit.z[best].copy()
    z[:, here.layout.doses] = 0.0
    rows, misfits = here.rows, []
    for seen in (here.observations, exchanged):
        there = Forward(seen, here.priors, here.departures)
        # The doses' errors are as many as the cups' pigments, which differ between the two; all else is as the mode has it.
        kept = z[0, : here.layout.doses.start], z[0, here.layout.thicknesses], z[0, here.layout.thick]
        own = np.concatenate([kept[0], np.zeros(len(seen.heavy)), *kept[1:]])
        residual = there.misfits(own[None])[0]
        size = np.bincount(rows)
        # As the fit has it: a chip that agrees with neither tells nothing.
        misfits.append(with_tails(np.bincount(rows, residual**2).astype(np.float64), size)[0])
    doses = here.observations.doses
    beside = ((doses > 0).sum(axis=1) > 1) & (doses[:, a] != doses[:, b])
    gain = np.where(beside, misfits[0] - misfits[1], 0.0)
    return frozenset(
        cup for cup in here.observations.cups if gain[_rows_of(here.observations.cups, cup)].sum() > _TELLING
    )


def exchanged(sets: tuple[ChipSet, ...], a: str, b: str, cups: frozenset[str] | None) -> tuple[ChipSet, ...]:
    """The sets with the doses of a and b exchanged in these cups; None: in all."""
    out = []
    for chips in sets:
        names = [pigment.name for pigment in chips.pigments]
        if a not in names or b not in names:
            out.append(chips)
            continue
        order = list(range(len(names)))
        i, j = names.index(a), names.index(b)
        order[i], order[j] = j, i
        out.append(
            replace(
                chips,
                chips=tuple(
                    replace(
                        chip,
                        doses_phr=tuple(chip.doses_phr[k] for k in order),
                        dose_spreads=tuple(chip.dose_spreads[k] for k in order),
                    )
                    if cups is None or chip.cup in cups
                    else chip
                    for chip in chips.chips
                ),
            )
        )
    return tuple(out)


def turned(chips: ChipSet) -> ChipSet:
    """A set of L*, a*, b* with a* and b* exchanged."""
    each = (replace(c, values=(c.values[0], *c.values[:0:-1])) if c.is_read else c for c in chips.chips)
    return replace(chips, chips=tuple(each))


def out_of_order(observations: Observations, within_cups: bool) -> tuple[int, int]:
    """Of the pairs of chips of which one must be darker (of one cup thicker, of one single-pigment thickness stronger), how many
    are not, and how many there are. within_cups: of the former kind only."""
    absorbance, darker = channels(observations).sum(axis=1), _must_be_darker(observations)
    if within_cups:
        cups = np.array(observations.cups)
        darker &= cups[:, None] == cups
    return int(np.count_nonzero(darker & (absorbance[:, None] < absorbance))), int(np.count_nonzero(darker))


def _must_be_darker(observations: Observations) -> Mask:
    """Whether a row (N, 1) has to be darker than another (1, N): as thick and as strong at least, and more of one of them."""
    doses, thickness = observations.doses, observations.thickness_mm
    more = np.all(doses[:, None] >= doses, axis=-1) & (thickness[:, None] >= thickness)
    less = np.any(doses[:, None] > doses, axis=-1) | (thickness[:, None] > thickness)
    return np.asarray(more & less & np.any(doses[:, None] > 0, axis=-1))


def changed_places(observations: Observations) -> tuple[int, int] | None:
    """Two rows of which one, without the other's reading, stands in the way of all order; None where there are none.

    An untinted chip that changed places with a tinted one makes all resin look tinted: every other chip is then off by what
    is taken for the resin's, and no search finds its way back.
    """
    absorbance, darker = _of_chips(observations).sum(axis=1), _must_be_darker(observations)

    def unlike(read: Array) -> Mask:
        return np.asarray(darker & (read[:, None] < read))

    astray = unlike(absorbance)
    if np.count_nonzero(astray) < _ASTRAY:
        return None
    suspects = np.argsort(-(astray.sum(axis=0) + astray.sum(axis=1)), kind="stable")[:_SUSPECTS]
    left = {}
    for one, other in combinations(suspects.tolist(), 2):
        read = absorbance.copy()
        read[[one, other]] = read[[other, one]]
        left[one, other] = np.count_nonzero(unlike(read))
    best = min(left, key=left.__getitem__)
    return best if left[best] <= _STAYS_ASTRAY * np.count_nonzero(astray) else None


def said_by_none(reading: Readings) -> float:
    """Log evidence of readings that say nothing of their chips: one Gaussian for all, with a few principal directions."""
    white = reading.observed / reading.spread
    count, size = white.shape
    # A few chips are no distribution.
    if count < 2 * _PRINCIPAL:
        return -np.inf
    values = np.linalg.eigvalsh(np.cov(white.T, bias=True).reshape(size, size))[::-1]
    kept = min(_PRINCIPAL, size)
    # A reading's own error is the least that is left.
    rest = max(float(values[kept:].mean()), 1.0) if size > kept else 1.0
    spread = np.concatenate([np.maximum(values[:kept], rest), np.full(size - kept, rest)])
    return float(-0.5 * count * (np.log(spread) + values / spread).sum())


def by_other_lights(told: Sequence[Sequence[ChipSet]], gathered: Gathered, mixture: Mixture) -> Array:
    """Nats (I,) for the sets told under other lights, each by one Gauss-Newton step from the likeliest mode: 0 where nothing is
    said, as of a camera that is not quite known.

    With the slopes of the declared light, all are read off one spectrum of each chip: a score test (Rao, Proc. Camb. Phil.
    Soc. 44, 50 (1948)), for a hundredth of the price of a fit. In the end the evidence of a fit came within 3 nats
    of it, or above, where the light was right.
    """
    best = np.array([int(mixture.weights.argmax())])
    forward, fit, z = mixture.forward.take(best), mixture.fit, mixture.fit.z[best]
    residual, at = np.tile(fit.residual[best], (1 + len(told), 1)), 0
    for reading in forward.observations.readings:
        place = slice(at, at := at + reading.observed.size)
        if reading.form == "bands" or reading.latents is not None:
            continue
        own = gathered.set_of[int(reading.chips[0])]
        detectors = [found for sets in (gathered.sets, *told) if (found := detector_of(sets[own])) is not None]
        weights = np.hstack([detector.weights for detector in detectors])
        empty = np.zeros((len(reading.chips), weights.shape[1]))
        bare = replace(
            reading, form="channels", weights=weights, white=None, censored=None, observed=empty, spread=empty + 1.0
        )
        values = replace(forward, observations=replace(forward.observations, readings=(bare,))).misfits(z)[0]
        for i, (detector, value) in enumerate(
            zip(detectors, np.split(values.reshape(empty.shape), len(detectors), axis=1), strict=True)
        ):
            observed = reading.observed
            if reading.white is not None:
                value = lab(value, detector.bare)
                if gathered.sets[own].reading.space == "XYZ":
                    observed = lab(xyz_of_lab(observed, reading.white), detector.bare)
            misfit = (value - observed) / reading.spread
            if reading.censored is not None:
                misfit = np.where((reading.censored != 0) & (reading.censored * misfit >= 0), 0.0, misfit)
            residual[i, place] = misfit.ravel()
    rows, prior = forward.rows, fit.prior[best[0]]
    root = np.sqrt(fit.weight[best[0]])[rows]
    step, moved = newton_step(forward, fit.take(best), residual * root)
    residual = residual + moved / root
    chi2 = np.stack([np.bincount(rows, one**2) for one in residual]).astype(np.float64)
    objective = with_tails(chi2, np.bincount(rows))[0].sum(axis=1) + (prior * (z + step) ** 2).sum(axis=1)
    return np.asarray(0.5 * (objective[0] - objective[1:]))


def without(mixture: Mixture, doubted: Mask, departures: tuple[AskedDeparture, ...]) -> Mixture:
    """All chips, from the modes that those which are not doubted have by themselves; the mixture itself, where that is likelier.

    A few readings that are far off may keep the search from the right modes, and all else then seems to explain the set better.
    """
    return _from_modes_of(posterior(mixture.forward.observations.unread(np.flatnonzero(doubted)), departures), mixture)


def in_order(mixture: Mixture, one: int, other: int, departures: tuple[AskedDeparture, ...]) -> Mixture:
    """All chips as they are labelled, from the modes that they have with the readings of two exchanged; the mixture itself, where
    that is likelier."""
    return _from_modes_of(posterior(mixture.forward.observations.exchanged(one, other), departures), mixture)


def _from_modes_of(other: Mixture, mixture: Mixture) -> Mixture:
    """The mixture's chips from the likeliest modes of another; the mixture itself, where that is likelier."""
    best = np.argsort(-other.weights)[:_MODES]
    forward = replace(other.forward.take(best), observations=mixture.forward.observations)
    fit = laplace_modes(forward, other.fit.z[best])
    likelier = fit.evidence.max() > mixture.fit.evidence.max()
    return Mixture(forward, fit, shares_of(fit.evidence)) if likelier else mixture


def _rows_of(cups: Sequence[str], cup: str) -> Index:
    return np.flatnonzero([name == cup for name in cups])
