"""How much the resin and each pigment scatter: from chips whose haze was told, and what is not excluded where none was
(physics §10, ASTM D1003).

A straight-through reading takes scatter for a grey absorption, exp(−t (s₀ + Σ c sₚ)), and nothing in it shows which of the two
it was. So chips are fitted as they read, and each draw of the posterior has a scatter of its own taken off its absorptivities:
what remains is all the light that comes through, as a casting before a panel shows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.chips.rows import HAZE_WORDS
from tintmix.optics.absorption import LN10
from tintmix.optics.detector import eye
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.draws import Draws
from tintmix.pigments.inference.observations import Mask, Observations
from tintmix.pigments.inference.posterior import posterior
from tintmix.pigments.model import HazeLaw

USUAL_MM = 3.0
"""Haze is commonly given at about this thickness (ASTM D1003's usual specimen)."""
BASE_HAZE, PIGMENT_HAZE, SURFACE_HAZE = 0.03, 0.005, 0.003
"""Spreads of half-normal priors: haze of clear casting resin at 3 mm, what each pigment adds there at its strongest, and what
faces scatter. Common practice: cast chips that look clear have 0 to 5 %, dissolved pigments add nothing that a haze meter shows
and finely ground ones up to 1 %, and polished faces have some tenths of a per cent.
`python -m tests.accuracy.haze_rows` prints what the bands cover."""
CLEAR_PER_MM, BY_YELLOW, GREYER_SPREAD, CLEARER_SPREAD = 0.0006, 0.15, 0.45, 1.0
"""Absorptivity of an untinted clear resin to the eye: a median, to which a part of what it absorbs more in the blue than in the
red is added, and spreads of the logarithm above and below. 10 mm of a water-clear one absorb between 0.2 and 3.3 % of the light:
at the bottom nothing that a plate's faces do not hide, at the top what a maker would call grey (common practice). What absorbs
more is yellow, by a band in the ultraviolet that falls off to a seventh or so. What chips show beyond it is rather scatter,
which is grey. With 0.3 both ways a resin of 0.0002 per mm with 0.5 % of haze at 3 mm was told 1.7 L* too dark at 45 mm, and no
band held it."""
_BLUE, _RED = (GRID_NM >= 430) & (GRID_NM <= 460), (GRID_NM >= 600) & (GRID_NM <= 650)
"""Where a yellow resin takes most and least of what the eye sees."""
CLEAN_SHARE, CLEAN_HAZE = 0.33, 0.001
"""The part of resins, filtered and degassed well, that scatter next to nothing: this spread in place of BASE_HAZE."""
READ_SPREAD = 0.003
"""Of a haze meter's reading, absolute (ASTM D1003: between laboratories, at some per cent of haze)."""
WORD_RANGE = 2.2
"""A word says its haze to this factor: "clear", 1 %, ends where "slight", 5 %, begins, near 2.2 %; √5. Nothing is too clear to
be called clear."""
WORD_EDGE, WORD_SHARED, WORD_CHIPS = 0.15, 0.25, 3.0
"""Spread, in log haze, of where one word gives way to the next: chip by chip, and of the one person who looks; and how many
chips that were looked at say together, for chips of one resin are not told one by one: counted each, bands cover 85 %."""
_EYE = (eye("D65", 10).weights / eye("D65", 10).bare)[:, 1]
"""How the eye weighs bands by their light (CIE 15)."""
_SEEN = (GRID_NM >= 430) & (GRID_NM <= 680)
"""Bands that every instrument sees well; outside, what is left may come near zero."""
_LEFT = 0.02
"""Of an absorptivity, left at least: none is negative, and its logarithm is kept."""
_LEAST = 1e-9
"""Absorptivity to the eye of a base, at least: some of the eye's weights are below zero, and wild draws go there."""
_POINTS, _SWEEPS, _REACH = 64, 20, 5.0
"""Of a conditional's grid, ± 5 standard deviations; sweeps over coordinates that haze readings tie together. With 200 points
or 60 sweeps no figure of `python -m tests.accuracy.haze_rows` moves by more than 0.01."""
_TRIED_PER_MM = (0.0, 0.005, 0.012, 0.025)
"""Scatter of the resin at which two ways of reading are compared first: haze of 0, 1.5, 3.5 and 7 % at 3 mm. The parabola through
the best three then finds it to 0.001 per mm, a tenth of its prior's spread."""
_SEED = 7
"""Any number: the same chips give the same draws."""


@dataclass(frozen=True, slots=True)
class HazeTold:
    """What is told of haze: design (R, 2 + P) times (−ln(1 − h₀), s₀, sₚ) is depth (R,), by a number or, where `by_word` (R,),
    a word."""

    design: Array
    depth: Array
    by_word: Mask

    @property
    def spread(self) -> Array:
        """Standard deviations (R,) of depth: d(−ln(1 − H)) = dH/(1 − H); of a word half of what it says."""
        return np.where(self.by_word, 0.5 * self.depth, READ_SPREAD * np.exp(self.depth))


def told_haze(effective: Array, thickness_mm: Array, haze: Array, by_word: Mask) -> HazeTold:
    """The rows whose haze was told. effective: (N, P); haze: (N,), NaN where it was not.

    −ln(1 − H) = −ln(1 − h₀) + t (s₀ + Σ cₚ sₚ). A word tells nothing of faces: "clear" at all thicknesses would else be theirs.
    """
    told = np.isfinite(haze)
    h, t, c, word = haze[told], thickness_mm[told], effective[told], by_word[told]
    design = np.column_stack([np.where(word, 0.0, 1.0), t, t[:, None] * c])
    return HazeTold(design, -np.log1p(-h), word)


def prior_spreads(highest: Array, one_cup: bool, untinted: bool = False) -> Array:
    """Spreads (2 + P,) of half-normal priors of −ln(1 − h₀), s₀ and sₚ. highest: (P,), each pigment's strongest chip.

    A cup of a ready mix holds resin and pigment in one: its pigment may scatter as the resin does. untinted: chips were read
    against clear resin, whose scatter then stands on both sides.

    >>> prior_spreads(np.array([0.2]), False).round(4).tolist()
    [0.003, 0.01, 0.0083]
    """
    pigment = np.hypot(BASE_HAZE, PIGMENT_HAZE) if one_cup else PIGMENT_HAZE
    base = BASE_HAZE * (1e-6 if untinted else 1.0)
    return np.concatenate([[SURFACE_HAZE, base / USUAL_MM], pigment / USUAL_MM / highest])


def fit_haze(told: HazeTold, prior: Array) -> HazeLaw | None:
    """Scatter per mm of the resin, and per mm and phr of each pigment, none below zero; None where no chip told.

    Linear in the unknowns: non-negative least squares, with the prior's spreads (2 + P,) as a ridge.

    >>> t = np.array([3.0, 12.0, 3.0, 12.0]); c = np.array([[0.0], [0.0], [0.1], [0.1]])
    >>> told = told_haze(c, t, 1 - np.exp(-t * (0.001 + 0.05 * c[:, 0])), np.zeros(4, dtype=bool))
    >>> law = fit_haze(told, np.array([0.005, 0.01, 0.1]))
    >>> round(law.base_per_mm, 4), round(float(law.per_mm_phr[0]), 3)
    (0.001, 0.05)
    """
    if not len(told.depth):
        return None
    # Imported here: scipy takes some 0.3 s, and only chips whose haze was told need it.
    from scipy.optimize import nnls

    design = np.vstack([told.design / told.spread[:, None], np.diag(1 / prior)])
    found, _ = nnls(design, np.concatenate([told.depth / told.spread, np.zeros(len(prior))]))
    return HazeLaw(float(1 - np.exp(-found[0])), float(found[1]), found[2:])


def haze_of(law: HazeLaw | None, effective: Array, thickness_mm: Array, haze: Array, by_word: Mask) -> Array:
    """Haze (n,) of each chip: what the law says of all, and of what a chip's own number departs from it as much as is the chip's
    and not the reading's. haze: (n,), NaN where it was not told; a word tells no more of its chip than the law.

    Shrinkage by the variance that the readings leave unexplained (Efron and Morris, J. Am. Stat. Assoc. 70, 311 (1975)).

    >>> haze_of(None, np.zeros((2, 1)), np.full(2, 3.0), np.full(2, np.nan), np.zeros(2, dtype=bool)).tolist()
    [0.0, 0.0]
    """
    if law is None:
        return np.zeros(len(haze))
    of_all = law.at(effective, thickness_mm)
    off = np.where(np.isnan(haze) | by_word, np.nan, haze - of_all)
    if np.isnan(off).all():
        return of_all
    own = max(float(np.nanmean(off**2)) - READ_SPREAD**2, 0.0)
    return np.asarray(of_all + own / (own + READ_SPREAD**2) * np.nan_to_num(off))


def take_scatter_off(draws: Draws, told: HazeTold, prior: Array, law: HazeLaw | None) -> tuple[Draws, Array]:
    """Draws whose absorptivities are without scatter, and the scatter (D, 1 + P), per mm and per mm and phr, of each.

    draws: as fitted to straight-through readings, of which `law` was already taken off. Each draw's scatter has the
    half-normal priors times what is told of haze, below what the draw absorbs where it is clearest (of the base: to the eye, and
    times the prior of what a clear resin absorbs). Gibbs sampling: each coordinate from a grid, accepted as far as the words
    allow.
    """
    rng = np.random.default_rng(_SEED)
    spectra = [draws.base, *draws.absorptivity.swapaxes(0, 1)]
    off = np.zeros(len(spectra)) if law is None else np.array([law.base_per_mm, *law.per_mm_phr])
    least = [np.maximum(draws.base @ _EYE, _LEAST), *(one[:, _SEEN].min(axis=1) for one in spectra[1:])]
    most = np.stack([LN10 * (1 - _LEFT) * one + s for one, s in zip(least, off, strict=True)], axis=1)
    most = np.hstack([np.full((len(most), 1), np.inf), most])
    weight = np.where(told.by_word, 0.0, told.spread**-2.0)
    precision = (told.design * weight[:, None]).T @ told.design + np.diag(prior**-2.0)
    pull = (told.depth * weight) @ told.design
    at = np.tile(np.concatenate([[0.0], off]), (len(most), 1))
    yellow = draws.base[:, _BLUE].mean(axis=1) - draws.base[:, _RED].mean(axis=1)
    usual = np.log(CLEAR_PER_MM + BY_YELLOW * np.maximum(yellow, 0.0))
    looks = np.log(told.depth[told.by_word]) + WORD_SHARED * rng.standard_normal((len(most), 1))
    fits = _words_fit(told, at, looks)
    for _ in range(_SWEEPS if len(told.depth) else 1):
        for j in range(len(prior)):
            mean = (pull[j] - at @ precision[:, j]) / precision[j, j] + at[:, j]
            trial = at.copy()
            trial[:, j] = _drawn(rng, mean, precision[j, j] ** -0.5, most[:, j], usual if j == 1 else None)
            fit = _words_fit(told, trial, looks)
            better = np.log(rng.random(len(at))) < fit - fits
            at, fits = np.where(better[:, None], trial, at), np.where(better, fit, fits)
    scatter = at[:, 1:]
    less = (scatter - off)[..., None] / LN10
    smooth, seen = (np.maximum(one - less, _LEFT * one) for one in (draws.smooth, draws.told))
    smooth[:, 0], seen[:, 0] = _less(draws.smooth[:, 0], less[:, 0]), _less(draws.told[:, 0], less[:, 0])
    absorptivity = np.maximum(draws.absorptivity - less[:, 1:], _LEFT * draws.absorptivity)
    base, thick = _less(draws.base, less[:, 0]), _less(draws.base * np.exp(draws.log_thick), less[:, 0])
    total = replace(
        draws, base=base, absorptivity=absorptivity, smooth=smooth, told=seen, log_thick=np.log(thick / base)
    )
    return total, scatter


def scatter_between(observations: Observations, seen_straight: Sequence[bool]) -> Observations:
    """Readings of which some saw all the light and others only what goes straight through: these with the resin's scatter that
    explains both best.

    The evidence of the whole fit, times the half-normal prior, over the scatter: a parabola through the best of a few.
    """
    t = observations.thickness_mm

    def at(scatter: float) -> Observations:
        readings = tuple(
            replace(one, regular=one.regular * np.exp(-scatter * t[one.chips]))
            if straight and one.relative != "untinted"
            else one
            for one, straight in zip(observations.readings, seen_straight, strict=True)
        )
        return replace(observations, readings=readings)

    def worth(scatter: float) -> float:
        evidence = posterior(at(scatter)).fit.evidence
        return float(np.logaddexp.reduce(evidence) - 0.5 * (scatter * USUAL_MM / BASE_HAZE) ** 2)

    tried = {scatter: worth(scatter) for scatter in _TRIED_PER_MM}
    for _ in range(2):
        order = sorted(tried)
        middle = min(max(order.index(max(tried, key=tried.__getitem__)), 1), len(order) - 2)
        near = order[middle - 1 : middle + 2]
        bend, slope, _level = np.polyfit(near, [tried[one] for one in near], 2)
        best = float(np.clip(-0.5 * slope / bend, near[0], near[-1])) if bend < 0 else near[1]
        if best not in tried:
            tried[best] = worth(best)
    return at(max(tried, key=tried.__getitem__))


def _less(base: Array, by: Array) -> Array:
    """A base (D, K) less a constant (D, 1), nowhere below a part of itself: its waves, which colours hardly see, are flattened
    until the eye sees the difference."""
    floor = _LEFT * base
    over = np.maximum(base - by - floor, 0.0)
    seen = ((base - by - floor) @ _EYE) / np.maximum(over @ _EYE, 1e-12)
    return np.asarray(floor + over * np.clip(seen, 0.0, 1.0)[:, None])


def _words_fit(told: HazeTold, at: Array, looks: Array) -> Array:
    """Log chance (D,) of the words, given scatter at (D, 2 + P). looks: (D, W), log depth that the words mean to who looked."""
    if not looks.shape[1]:
        return np.zeros(len(at))
    off = np.log(np.maximum(at @ told.design[told.by_word].T, 1e-12)) - looks
    # A logistic curve of slope 1.7 is the normal one to 0.01.
    edge, steep = np.log(WORD_RANGE), 1.7 / WORD_EDGE
    hazier = told.depth[told.by_word] > WORD_RANGE * min(HAZE_WORDS.values())
    too_hazy, too_clear = np.logaddexp(0.0, steep * (off - edge)), np.logaddexp(0.0, -steep * (off + edge))
    return np.asarray(-(too_hazy + hazier * too_clear).mean(axis=1) * min(WORD_CHIPS, len(hazier)))


def _drawn(rng: np.random.Generator, mean: Array, spread: float, most: Array, usual: Array | None) -> Array:
    """One from each Gaussian (D,) between 0 and `most`; of the base (usual: (D,), log absorptivity) times the priors of clean
    resins and of what is left."""
    low = np.clip(mean - _REACH * spread, 0.0, 0.9 * most)
    high = np.minimum(np.maximum(mean, low) + _REACH * spread, most)
    grid = low[:, None] + (high - low)[:, None] * (np.arange(_POINTS) + 0.5) / _POINTS
    log = -0.5 * ((grid - mean[:, None]) / spread) ** 2
    if usual is not None:
        filtered = CLEAN_SHARE / (1 - CLEAN_SHARE) * BASE_HAZE / CLEAN_HAZE
        log += np.log1p(filtered * np.exp(-0.5 * (grid * USUAL_MM / CLEAN_HAZE) ** 2))
        absorbs = np.log((most[:, None] / (1 - _LEFT) - grid) / LN10)
        over = absorbs - usual[:, None]
        log -= absorbs + 0.5 * (over / np.where(over < 0, CLEARER_SPREAD, GREYER_SPREAD)) ** 2
    chance = np.cumsum(np.exp(log - log.max(axis=1, keepdims=True)), axis=1)
    place = (chance < rng.random((len(mean), 1)) * chance[:, -1:]).sum(axis=1)
    within = (place + rng.random(len(mean))) / _POINTS
    return np.asarray(low + (high - low) * within, dtype=np.float64)
