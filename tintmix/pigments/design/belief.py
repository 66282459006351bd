"""What is believed of the pigments when a plan is made: plausible worlds, and how unsure the next fit would be in each.

In every world the spectra are as they are there; the doubt around them is Gaussian in their logarithms: the fit's own prior
for a pigment that nobody has measured, the spread of the posterior's draws for one that a model knows.

How the constants here and in `worlds`, `sight`, `cups` and `fedorov_exchange` change what is planned is measured by
`python -m tests.accuracy.constants plans`: four plans, whose cups are judged in 144 worlds that the planner did not see.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.optics.colour import lab
from tintmix.optics.detector import eye, luminous
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import TintedResin, light, through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.design.worlds import absorber_shapes, of_absorbance, resins
from tintmix.pigments.inference.prior import SMOOTHNESS, base_basis, pigment_basis
from tintmix.pigments.model import TintModel

PART_ABSORBANCE = 0.7
"""Luminous absorbance of all pigments of a part together, through its thickest section: a fifth of the light is left."""
_TOGETHER = 3
"""So many pigments at most share a part, however many a plan is for: a recipe seldom has more."""
STRENGTH_SPREAD, GUESSED_SPREAD = 0.7, 1.2
"""Spread of the log absorbance of one pigment at the dose that the maker means for the part, a factor of two; and at one that
is a guess, a factor of three."""
RESIN_KNOWN_WITHIN = 1.5
"""ΔE00: an untinted resin whose colour at the thickest section is known as well needs no block. Between just noticeable, 1, and
a good match, 2."""

_SENSIBLE = (0.15, 1.3)
"""Luminous absorbance through the thickest section of parts that are worth planning for: 71 % to 5 % of the light."""

_WORLDS = 48
"""With 24 the cups serve 3 % worse in the mean, 20 % in one plan; with 96 no better, in half as much time again."""
_RANK, _RANK_OF_MANY = 16, 10
"""Directions of an unmeasured pigment: what they leave out is 0.03 and 0.08 of its log ε (the prior's eigenvalues). With 20 all
cups stay as they are; where there are many pigments 16 serve no better."""
_MIDDLE = 3
"""Index into SMOOTHNESS: 80 nm, where most pigments are. With others 5 to 30 % more or less doubt is told; cups serve alike."""
_KNOWN_RANK = 40
"""Directions of pigments that a model knows: 99 % of the variance of the draws of the shipped sets' models."""
_TRIALS = 4000
"""Worlds that are drawn, of which those that look like the cup are kept: eighty for each."""
_TRIAL_SPREAD = 2.0
"""L*a*b*: how near to the trial's colour a plausible mix has to come. Wide enough that some do."""
_SEED = 11
"""Any number: the same question gives the same plan."""


@dataclass(frozen=True, slots=True)
class Belief:
    """S worlds of P pigments. spectra: (S, P + 1, K), the resin's own first, 1/mm and 1/(mm phr). columns: (P + 1, K, D):
    the log spectra are those of the world plus columns @ z, z ~ N(0, I). unknown: which pigments nobody has measured.
    resin_unknown: whether an untinted block is needed. model: what knows all of these pigments, in this order, if one does.
    """

    pigments: tuple[str, ...]
    spectra: Array
    columns: Array
    unknown: tuple[bool, ...]
    resin_unknown: bool
    model: TintModel | None = None

    def internal(self, doses_phr: Array, thickness_mm: float) -> Array:
        """Internal transmittance (S, N, K) of dose vectors (N, P) in each world."""
        return light(self.resins(1.0), doses_phr, thickness_mm, None)

    def resins(self, refractive_index: float, volume_per_phr: float = 0.0) -> TintedResin:
        """What absorbs, in each of the worlds."""
        return TintedResin(
            base_per_mm=self.spectra[:, 0],
            absorptivity=self.spectra[:, 1:],
            volume_per_phr=np.full(len(self.pigments), volume_per_phr),
            refractive_index=refractive_index,
        )


def nothing_known(pigments: Sequence[str], part_phr: Array, thickest_mm: float, guessed: bool = False) -> Belief:
    """Pigments that nobody has measured. part_phr (P,): the dose meant for the casting, which says about how strong each is.

    The worlds are the same for every order of the pigments: each set of spectra is dealt out in all rotations, so that no
    pigment is better served than another by the luck of the draw.
    """
    count = len(pigments)
    rng = np.random.default_rng(_SEED)
    per = max(1, _WORLDS // count)
    spread = GUESSED_SPREAD if guessed else STRENGTH_SPREAD
    wanted = np.exp(rng.normal(np.log(PART_ABSORBANCE / min(count, _TOGETHER)), spread, (per, count)))
    absorbance = of_absorbance(absorber_shapes(rng, per * count).reshape(per, count, -1), wanted)
    base = resins(rng, per, thickest_mm)
    dealt = np.concatenate([np.roll(absorbance, turn, axis=1) for turn in range(count)])
    spectra = np.concatenate([np.tile(base, (count, 1))[:, None], dealt / (part_phr * thickest_mm)[:, None]], axis=1)
    return Belief(tuple(pigments), spectra, _prior_columns(count), (True,) * count, True)


def trial_known(model: TintModel, pigments: Sequence[str], cup_phr: Array, thickest_mm: float) -> Belief:
    """Pigments known only from one cup of their mix, cup_phr (P,): worlds whose mix looks as that cup did.

    Random pigments share the cup's luminous absorbance at random; those worlds are kept, most likely first, whose mix comes
    nearest to the colour that the trial's model gives for its own chip and for the thickest section.
    """
    count = len(pigments)
    rng = np.random.default_rng(_SEED)
    places = np.array([model.thickest_mm, thickest_mm])
    draws = model.draws_base + model.draws_absorptivity[:, 0]
    weights, detector = luminous("D65"), eye("D65", 10)
    # The trial's base and mix cannot be told apart: of what is seen, the pigments have all but what a clear resin takes.
    base = resins(rng, _TRIALS, thickest_mm)
    seen = -np.log10(through(draws, places[0], model.refractive_index, None).mean(axis=0) @ weights)
    # 1.5: shares near equal are a little likelier than one pigment alone.
    share = rng.dirichlet(np.full(count, 1.5), _TRIALS)
    shapes = absorber_shapes(rng, _TRIALS * count).reshape(_TRIALS, count, -1)
    pigment = of_absorbance(shapes, share * max(float(seen), 1e-3))
    mix = of_absorbance(pigment.sum(axis=1), np.full(_TRIALS, float(seen)))
    pigment = pigment * (mix.max(axis=1) / pigment.sum(axis=1).max(axis=1))[:, None, None]
    per_mm = pigment / places[0]
    distance = np.zeros(_TRIALS)
    for place in places:
        was = _colour(draws, place, model.refractive_index)
        now = _colour(base + per_mm.sum(axis=1), place, model.refractive_index)
        off = now - was.mean(axis=0)
        covariance = np.cov(was.T) + _TRIAL_SPREAD**2 * np.eye(len(detector.bare))
        distance += np.einsum("ni,ni->n", off, np.linalg.solve(covariance, off.T).T)
    chance = np.exp(-0.5 * (distance - distance.min()))
    # Without replacement (Efraimidis and Spirakis 2006): the keys u^(1/w), the largest kept.
    keys = np.log(rng.uniform(size=_TRIALS)) / np.maximum(chance, 1e-300)
    kept = np.argsort(-keys)[:_WORLDS]
    spectra = np.concatenate([base[kept][:, None], per_mm[kept] / cup_phr[:, None]], axis=1)
    return Belief(tuple(pigments), spectra, _prior_columns(count), (True,) * count, True)


def model_known(model: TintModel, pigments: Sequence[str], part_phr: Array, thickest_mm: float) -> Belief:
    """Pigments that an earlier model knows, by its draws; those that it does not know are as in `nothing_known`.

    Where its base changes in thick pours the belief has that of the thickest section, which the plan is for.
    """
    count = len(pigments)
    known = [name in model.pigments for name in pigments]
    fresh = [p for p in range(count) if not known[p]]
    at = [model.pigments.index(name) for name in pigments if name in model.pigments]
    worlds = np.linspace(0, len(model.draws_base) - 1, min(_WORLDS, len(model.draws_base))).round().astype(int)
    base = model.draws_base + model.drawn_resins().more(thickest_mm)[:, 0]
    logs = np.log(np.concatenate([base[:, None], model.draws_absorptivity[:, at]], axis=1))
    off = (logs - logs.mean(axis=0)).reshape(len(logs), -1) / np.sqrt(len(logs) - 1)
    _, size, directions = np.linalg.svd(off, full_matrices=False)
    rank = min(_KNOWN_RANK, int(np.count_nonzero(size > 1e-9 * size[0])) or 1)
    joint = (size[:rank, None] * directions[:rank]).reshape(rank, len(at) + 1, -1).transpose(1, 2, 0)
    own = _RANK if len(fresh) <= 3 else _RANK_OF_MANY
    columns = np.zeros((count + 1, len(GRID_NM), rank + own * len(fresh)))
    columns[[0, *(p + 1 for p in range(count) if known[p])], :, :rank] = joint
    spectra = np.empty((len(worlds), count + 1, len(GRID_NM)))
    spectra[:, 0] = base[worlds]
    for p, place in zip([p for p in range(count) if known[p]], at, strict=True):
        spectra[:, p + 1] = model.draws_absorptivity[worlds, place]
    if fresh:
        drawn = nothing_known([pigments[p] for p in fresh], part_phr[fresh], thickest_mm)
        # Steps of 7, so that the rotations in which they are dealt are mixed over the worlds.
        dealt = drawn.spectra[np.arange(len(worlds)) * 7 % len(drawn.spectra), 1:]
        for f, p in enumerate(fresh):
            spectra[:, p + 1] = dealt[:, f]
            at_columns = slice(rank + own * f, rank + own * (f + 1))
            columns[p + 1, :, at_columns] = pigment_basis(*SMOOTHNESS[_MIDDLE]).columns[:, :own]
    colours = _colour(base, thickest_mm, model.refractive_index)
    resin_off = float(np.quantile(delta_e00(colours, colours.mean(axis=0)), 0.95))
    whole = None if fresh else _of_these(model, at)
    return Belief(tuple(pigments), spectra, columns, tuple(not k for k in known), resin_off > RESIN_KNOWN_WITHIN, whole)


def _of_these(model: TintModel, at: Sequence[int]) -> TintModel:
    """The model with these of its pigments, in this order."""
    return replace(
        model,
        pigments=tuple(model.pigments[p] for p in at),
        absorptivity=model.absorptivity[at],
        draws_absorptivity=model.draws_absorptivity[:, at],
        draws_departure=model.draws_departure[:, at],
        departure_per_phr=model.departure_per_phr[at],
        volume_per_phr=model.volume_per_phr[at],
        highest_phr=model.highest_phr[at],
        max_phr=model.max_phr[at],
        haze=None,
    )


def part_dose_of(model: TintModel, pigment: str, pigments: int, thickest_mm: float) -> float:
    """The dose (phr) at which this pigment does its share of a part as dark as parts usually are: for want of a better one.

    At most half of the strongest chip's: a pale yellow would have to be absurdly strong to dim the light.
    """
    place = model.pigments.index(pigment)
    spectrum = model.absorptivity[place]
    wanted = of_absorbance(spectrum, np.asarray(PART_ABSORBANCE / min(pigments, _TOGETHER)))
    return min(float(wanted.max() / (spectrum.max() * thickest_mm)), 0.5 * float(model.highest_phr[place]))


def _prior_columns(count: int) -> Array:
    base = base_basis().columns
    own = pigment_basis(*SMOOTHNESS[_MIDDLE]).columns[:, : _RANK if count <= 3 else _RANK_OF_MANY]
    columns = np.zeros((count + 1, len(GRID_NM), base.shape[1] + count * own.shape[1]))
    columns[0, :, : base.shape[1]] = base
    for p in range(count):
        start = base.shape[1] + p * own.shape[1]
        columns[p + 1, :, start : start + own.shape[1]] = own
    return columns


def _colour(per_mm: Array, thickness_mm: float, refractive_index: float) -> Array:
    detector = eye("D65", 10)
    return lab(through(per_mm, thickness_mm, refractive_index) @ detector.weights, detector.bare)


def too_strong_by(belief: Belief, part_phr: Array, thickest_mm: float) -> float:
    """By what factor the whole mix at the part's doses is stronger than any part that lets light through (above 1), or
    weaker than a tint that one can see (below 1); 1 where it is neither."""
    both = belief.internal(np.stack([part_phr, np.zeros_like(part_phr)]), thickest_mm) @ luminous("D65")
    tinted, clear = -np.log10(np.maximum(both, 1e-12)).T
    absorbance = float(np.median(tinted - clear))
    return float(absorbance / np.clip(absorbance, *_SENSIBLE))
