"""What a reading of a trial tells: the model's draws, the strengths of the lots and what was really weighed, moved together.

Prior: the model's posterior draws; for each pigment a lot strength (log-normal about what is known of it) and an error of
what was weighed; an error of the sample's mix and of each chip's thickness. Each draw is then moved to explain the reading
with an error of the reading's own (randomised maximum likelihood: Kitanidis, *Water Resour. Res.* 31 (1995) 2411; Oliver,
He, Reynolds, *ECMOR V* (1996)): exact where all is linear and Gaussian, and, unlike weights, as good with forty bands as
with three numbers. The forward model and its slopes are the fit's own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.chips.checks import check_values
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading
from tintmix.errors import Remedy, ValueProblem
from tintmix.optics.absorption import effective_doses
from tintmix.optics.spectrum import Array
from tintmix.pigments.errors import unknown_pigment
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.known_camera import KnownCamera, known_camera
from tintmix.pigments.inference.observations import DoseLoads, Index, Observations, Readings
from tintmix.pigments.model import TintModel
from tintmix.quantities import CHIP_MM, LOT_SPREADS, SHARE, STRENGTH
from tintmix.recipes.adjust.causes import FAR, Cause, dealt, possible, shares
from tintmix.recipes.adjust.errors import not_one_reading_each
from tintmix.recipes.adjust.move import errors_of_reading, moved
from tintmix.resin import Resin

LOT_SPREAD = 0.15
"""Relative spread of a lot's strength about the last one's, where nothing is known of it (common practice)."""
WEIGH_SPREAD = 0.02
"""The same of what was weighed, where no weights tell."""
MIX_SPREAD = 0.01
"""The same of a trial's doses all together: a small sample's own mixing ratio (common practice)."""
SURPRISE = 2.5
"""Chi-square a value of the reading, from which on something else than lots and scales is likely wrong: of three numbers one
sound reading in 17 comes there."""
_MANY, _MUCH = 10, 1.5
"""From so many numbers on, a reading that is this many times (chi-square) as far off as it should be is trusted less."""
_KEPT = 0.999
"""Part of the draws' variance, of each absorber, that its directions have to hold."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A cup whose chips were read. doses_phr: as weighed, g per 100 g of mixed resin. chips: see `trial_set`. weigh_spreads:
    relative, by pigment (WEIGH_SPREAD where not named). mix_spread: of the doses all together. beside: further chips of the cup,
    which were read in another way."""

    doses_phr: Mapping[str, float]
    chips: ChipSet
    weigh_spreads: Mapping[str, float]
    mix_spread: float = MIX_SPREAD
    beside: tuple[ChipSet, ...] = ()

    @property
    def sets(self) -> tuple[ChipSet, ...]:
        """All chips of the cup, those together that were read in one way."""
        return (self.chips, *self.beside)


@dataclass(frozen=True, slots=True)
class LotStrength:
    """How strong a lot or a bottle is against the model's: factor, and its relative standard deviation. surprise: see
    `Belief`, of the reading that told it."""

    factor: float
    spread: float
    surprise: float = 0.0


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed after the reading: D draws of equal weight, P pigments of the model.

    base (D, K), absorptivity (D, P, K), departure (D, P): the model's, moved. log_strength (D, P): of what will be added
    from the same lots. log_pot (D, P): of what is in the pot, weighing errors of the first cup and all. surprise: the
    reading's chi-square against all that was thought possible, over its number of values; from SURPRISE on
    something else is likely wrong. expected, observed: the first chip's reading as it was foreseen, and as it is. causes: what
    may have made the pot so, as they are believed now; by_cause (D,): which of them each draw is of.
    """

    base: Array
    absorptivity: Array
    departure: Array
    log_strength: Array
    log_pot: Array
    surprise: float
    expected: Array
    observed: Array
    causes: tuple[Cause, ...]
    by_cause: Index

    def strength(self, pigment: int) -> LotStrength:
        """The strength of one pigment's lot: the geometric mean, and the spread of its logarithm."""
        column = self.log_strength[:, pigment]
        return LotStrength(math.exp(float(column.mean())), float(column.std(ddof=1)), self.surprise)

    def slips(self) -> dict[int, tuple[float, float]]:
        """Pigments that may have been weighed wrong → how much of the dose was, then, and how strong the lot is if not."""
        found = {}
        for by, cause in enumerate(self.causes):
            if cause.pigment is not None and cause.is_to_ask:
                rest = self.log_strength[self.by_cause != by, cause.pigment]
                found[cause.pigment] = cause.factor, math.exp(float(rest.mean())) if rest.size else 1.0
        return found

    def take(self, draws: Index) -> Belief:
        """These draws alone."""
        cut = ("base", "absorptivity", "departure", "log_strength", "log_pot", "by_cause")
        return replace(self, **{name: getattr(self, name)[draws] for name in cut})


def trial_set(
    reading: Reading,
    chips: Sequence[tuple[float, Sequence[float]]],
    doses_phr: Mapping[str, float],
    refractive_index: float,
    like: ChipSet | None = None,
    name: str = "trial",
) -> ChipSet:
    """The chips of one cup as (thickness in mm, reading). like: a set whose light, camera or tile curves the reading names.

    Raises ValueProblem.
    """
    if not chips:
        raise not_one_reading_each(0, 0)
    for thickness, _ in chips:
        CHIP_MM.check("its thickness", thickness, f"the {name} chip", Remedy.MEASURE_WHERE_READ)
    pigments = tuple(Pigment(p) for p, dose in doses_phr.items() if dose > 0)
    doses = tuple(float(doses_phr[p.name]) for p in pigments)
    made = tuple(
        Chip(f"{name} {i}" if len(chips) > 1 else name, name, doses, thickness, tuple(values))
        for i, (thickness, values) in enumerate(chips, 1)
    )
    out = ChipSet(
        reading, pigments, made, Resin(refractive_index=refractive_index), name,
        light_curve=None if like is None else like.light_curve,
        camera_curve=None if like is None else like.camera_curve,
        tile_curve=None if like is None else like.tile_curve,
    )  # fmt: skip
    columns = ["value"] * reading.channels
    bad, _ = check_values(reading, [replace(chip, row=0) for chip in out.chips], columns, refractive_index)
    if bad:
        raise ValueProblem(where=f"the {name} chip", what=bad[0].problem, remedy=Remedy.READ_CHIP_AGAIN)
    return out


def believe(
    model: TintModel,
    trials: Sequence[Trial],
    strengths: Mapping[str, tuple[float, float]] | None = None,
    lot_spread: float = LOT_SPREAD,
    unusual: bool = False,
) -> Belief:
    """The draws after the readings of one or more cups.

    strengths: what is known of a lot already, pigment → (factor, relative spread); else (1, lot_spread). The weighing error
    in `log_pot` is the first trial's. unusual: whether something in that may have been weighed wrong, or be of quite another lot
    (`causes`). Deterministic. Raises ValueProblem.
    """
    centre, spread = lots_of(model, strengths or {}, lot_spread)
    weighed = np.array([trials[0].weigh_spreads.get(p, WEIGH_SPREAD) for p in model.pigments])
    observations = observations_of(model, trials, np.exp(centre), spread)
    forward, start, covariance = problem(model, observations)
    layout, count = forward.layout, len(model.pigments)
    causes = [Cause(None, False, 1.0)]
    if unusual:
        said = [p in trials[0].weigh_spreads for p in model.pigments]
        causes = possible(model.dose_vector(trials[0].doses_phr), said, (spread < lot_spread).tolist())
    # How many times as far one unknown may be off by each cause.
    wider = np.ones((len(causes), layout.size))
    for row, cause in zip(wider, causes, strict=True):
        if cause.pigment is not None:
            usual = (weighed if cause.slipped else spread)[cause.pigment]
            row[layout.doses.start + cause.pigment + count * cause.slipped] = FAR / max(usual, 1e-9)

    def of_cause(by: int, rows: Index) -> tuple[Array, Array, float, float]:
        part, prior, begin = forward.take(rows), start[rows] * wider[by], start[rows]
        if told:
            # From where the mean ended in what is wide: a step from a wild start may never come back.
            begin = np.where(wider[by] > 1, told[by][0], begin)
        return moved(part, prior, begin, covariance * wider[by] * wider[by][:, None], errors[rows])

    told: list[tuple[Array, Array, float, float]] = []
    errors = errors_of_reading(forward, len(start))
    last = np.array([len(start) - 1])
    told = [of_cause(by, last) for by in range(len(causes))]
    _, expected, surprise, _ = told[0]
    least = min(one[2] for one in told)
    if least > _MUCH and sum(reading.observed.size for reading in observations.readings) >= _MANY:
        # So many numbers say themselves how well they are known: the model's bands are no finer than its chips were.
        readings = tuple(replace(r, spread=r.spread * math.sqrt(least)) for r in observations.readings)
        forward = replace(forward, observations=replace(observations, readings=readings))
        told = [of_cause(by, last) for by in range(len(causes))]
    share = shares(causes, [one[3] for one in told])
    by_cause = dealt(share, len(start) - 1)
    end = np.empty((len(start) - 1, layout.size))
    for by in np.unique(by_cause).tolist():
        rows = np.flatnonzero(by_cause == by)
        end[rows] = of_cause(by, rows)[0]
    spectra = np.stack(forward.take(np.arange(len(end))).absorptivities(end), axis=1)
    doses = end[:, layout.doses]
    strength = centre + spread * doses[:, :count]
    slipped = weighed * doses[:, count : 2 * count]
    factors = [
        1.0
        if cause.pigment is None or not np.any(by_cause == by)
        else math.exp(float((slipped if cause.slipped else strength)[by_cause == by, cause.pigment].mean()))
        for by, cause in enumerate(causes)
    ]
    return Belief(
        base=spectra[:, 0],
        absorptivity=spectra[:, 1:],
        departure=forward.departure(end),
        log_strength=strength,
        log_pot=strength + slipped,
        surprise=surprise,
        expected=expected,
        observed=observations.readings[0].observed[0],
        causes=tuple(
            replace(cause, belief=float(part), factor=factor)
            for cause, part, factor in zip(causes, share, factors, strict=True)
        ),
        by_cause=by_cause,
    )


def recalibrate(
    model: TintModel,
    trials: Sequence[Trial],
    strengths: Mapping[str, tuple[float, float]] | None = None,
    lot_spread: float = LOT_SPREAD,
) -> dict[str, LotStrength]:
    """How strong the lots (or bottles) in some check chips are against the model's: pigment → (factor, relative spread).

    One chip of one pigment tells it to about its weighing error; two chips of two cups better. Raises as `believe`.
    """
    used = [p for p in model.pigments if any(trial.doses_phr.get(p, 0.0) > 0 for trial in trials)]
    belief = believe(model, trials, strengths, lot_spread)
    return {p: belief.strength(model.pigments.index(p)) for p in used}


def lots_of(model: TintModel, strengths: Mapping[str, tuple[float, float]], lot_spread: float) -> tuple[Array, Array]:
    """Log strength (P,) that is expected of each lot, and its spread. Raises ValueProblem."""
    LOT_SPREADS.check("the spread of a lot's strength (15 % is 0.15)", lot_spread)
    centre, spread = np.zeros(len(model.pigments)), np.full(len(model.pigments), lot_spread)
    for pigment, (factor, relative) in strengths.items():
        if pigment not in model.pigments:
            raise unknown_pigment(pigment, model.pigments)
        STRENGTH.check(f"the strength of {pigment} (1 is the model's own)", factor)
        SHARE.check(f"the spread of {pigment}'s strength (5 % is 0.05)", relative)
        p = model.pigments.index(pigment)
        centre[p], spread[p] = math.log(factor), relative
    return centre, spread


def observations_of(model: TintModel, trials: Sequence[Trial], factor: Array, spread: Array) -> Observations:
    """The chips of all cups as the fit's own arrays. Nuisances: P strengths, then for each cup P weighings and its mix."""
    count = len(model.pigments)
    sets: list[ChipSet] = []
    doses, owner, read_in = [], [], []
    for t, trial in enumerate(trials):
        vector = model.dose_vector(trial.doses_phr)
        if not vector.any():
            raise ValueProblem(
                what="the chip holds no pigment, so it tells of no lot's strength", remedy=Remedy.NAME_DOSES_OF_CHIP
            )
        for one in trial.sets:
            # Chips of two cups, or of two readings, are two chips, whatever they are called.
            named = tuple(replace(c, name=f"{len(sets) + 1}: {c.name}"[:80], cup=f"{t + 1}") for c in one.chips)
            doses += [vector] * len(named)
            owner += [t] * len(named)
            read_in += [len(sets)] * len(named)
            sets.append(replace(one, chips=named))
    gathered = gather(sets).observations
    loads = np.zeros((len(doses), count, count + (count + 1) * len(trials)))
    diagonal = np.arange(count)
    for row, t in enumerate(owner):
        at = count + t * (count + 1)
        loads[row, diagonal, diagonal] = spread
        loads[row, diagonal, at + diagonal] = [trials[t].weigh_spreads.get(p, WEIGH_SPREAD) for p in model.pigments]
        loads[row, :, at + count] = trials[t].mix_spread
    concentration = effective_doses(np.stack(doses), model.volume_per_phr, np.zeros(count)) * factor
    camera = known_camera(model) if any(one.form == "channels" for one in gathered.readings) else None
    readings = tuple(
        _known(reading, sets[read_in[int(reading.chips[0])]], model, concentration, gathered, camera)
        for reading in gathered.readings
    )
    return replace(
        gathered,
        pigments=model.pigments,
        doses=concentration,
        dose_loads=DoseLoads.of(loads),
        heavy=np.zeros(loads.shape[-1], dtype=bool),
        readings=readings,
        latent_count=max((len(one.latents) for one in readings if one.latents is not None), default=0),
    )


def _known(
    reading: Readings,
    chips: ChipSet,
    model: TintModel,
    doses: Array,
    seen: Observations,
    camera: KnownCamera | None,
) -> Readings:
    """The reading by the camera as the model knows it, and past the scatter that the model knows."""
    reading = replace(reading, lean=None, latents=None)
    if reading.form == "channels" and chips.camera_curve is None:
        if camera is None:
            raise ValueProblem(
                what="the trial is given by camera channels, but no chip of this model was read by a camera",
                remedy=Remedy.READ_TRIAL_OTHERWISE,
            )
        reading = camera.on(reading)
    rows = reading.chips
    if chips.reading.geometry == "regular" and model.haze is not None:
        reading = replace(reading, regular=1.0 - model.haze.at(doses[rows], seen.thickness_mm[rows]))
    elif chips.reading.geometry == "regular" and model.draws_scatter is not None:
        base, *pigments = model.draws_scatter.mean(axis=0)
        reading = replace(reading, regular=np.exp(-seen.thickness_mm[rows] * (base + doses[rows] @ np.array(pigments))))
    return reading


def problem(model: TintModel, observations: Observations) -> tuple[Forward, Array, Array]:
    """The forward model about every draw and, last, about their mean; where each starts; the covariance that they share.

    Each absorber's logarithm moves along the directions in which its draws differ; how these go together, over absorbers,
    the covariance tells.
    """
    logs = np.log(np.concatenate([model.draws_base[:, None], model.draws_absorptivity], axis=1))
    mean = logs.mean(axis=0)
    priors, coordinates = [], []
    for a in range(logs.shape[1]):
        away = logs[:, a] - mean[a]
        _, size, directions = np.linalg.svd(away, full_matrices=False)
        power = np.cumsum(size**2) / max(float((size**2).sum()), 1e-300)
        rank = min(int(np.searchsorted(power, _KEPT)) + 1, len(size))
        scale = np.maximum(size[:rank] / math.sqrt(max(len(logs) - 1, 1)), 1e-9)
        basis = directions[:rank].T * scale
        coordinates.append(away @ directions[:rank].T / scale)
        priors.append(SpectrumPrior(np.concatenate([logs[:, a], mean[a][None]]), basis[None]))
    draws = np.concatenate(coordinates, axis=1)
    camera = known_camera(model) if observations.latent_count else None
    bent = np.flatnonzero(np.any(model.draws_departure != 0, axis=0))
    k = model.draws_departure[:, bent]
    own = k.std(axis=0)
    wide = np.maximum(own, 0.01 * np.abs(k).max(axis=0, initial=0.0))
    forward = Forward(observations, tuple(priors), tuple(zip(bent.tolist(), wide.tolist(), strict=True)))
    layout = forward.layout
    count = len(logs)
    start = np.zeros((count + 1, layout.size))
    start[:, layout.departures] = np.concatenate([k, k.mean(axis=0)[None]]) / wide
    if camera is not None:
        start[:count, layout.latents] = camera.coordinates
    rng = np.random.default_rng(20240611)
    rest = slice(layout.doses.start, layout.thicknesses.stop)
    half = rng.standard_normal(((count + 1) // 2, rest.stop - rest.start))
    start[:count, rest] = np.concatenate([half, -half])[rng.permutation(2 * len(half))[:count]]
    covariance = np.eye(layout.size)
    # What the camera that read the chips is taken for, and what the pigments are, go together, too.
    together = draws if camera is None else np.concatenate([draws, camera.coordinates], axis=1)
    places = np.r_[0 : draws.shape[1], layout.latents] if camera is not None else np.arange(draws.shape[1])
    covariance[np.ix_(places, places)] = together.T @ together / max(count - 1, 1)
    covariance[layout.departures, layout.departures] = np.diag((own / wide) ** 2)
    return forward, start, covariance
