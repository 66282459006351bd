"""Which further cup would help most, and by how much: as the posterior will be, read off the draws, without a new fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from tintmix.numerals import chip_mm, listed, numeral
from tintmix.optics.detector import eye, luminous
from tintmix.optics.light import through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.optics.tile import Tile
from tintmix.pigments.design.fedorov_exchange import losses
from tintmix.pigments.design.forecast import Reader, aim_at, pool_of, typical
from tintmix.pigments.design.sight import Instrument, colorimeter, spectrophotometer
from tintmix.pigments.inference.cameras import leaning, tone_of
from tintmix.pigments.inference.gather import Gathered
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.model import TintModel

_WORTH_SAYING = 0.1
"""A cup that lessens the typical uncertainty by less than this part is not worth pouring: what comes differs from what is
promised by as much (`python -m tests.accuracy.advice_rows`)."""
LARGE = 1.0
"""ΔE00: the uncertainty above which something is wanting. Two colours side by side begin to differ."""
_FAR_BETTER = 0.7
"""Another reading is named before a cup where it leaves less than this part of what the cup would leave."""
_LEAST_LIGHT = 0.03
"""Luminous: nobody asks for colours that are blacker, and there a ΔE00 is small whatever is known."""
_SAME_DOSE = 0.1
"""Relative: a cup whose doses are within this of one that is there would be the same cup again."""
_KNOWN = 0.1
"""Part of its spread to which a measurement leaves each unknown of a camera, a panel or haze: well below one."""

NOT_WHILE_AT_ODDS = (
    "What another cup would bring cannot be told while the chips contradict each other: find out why first."
)


@dataclass(frozen=True, slots=True)
class Advice:
    """sentence: the best next cup, that none is needed, or what else is. by_pigment: a sentence on each. figures: as `fit` has
    them in JSON, None where nothing can be told."""

    sentence: str
    by_pigment: tuple[str, ...]
    figures: dict[str, Any] | None


def advise(
    gathered: Gathered, observations: Observations, latents: Array, model: TintModel, tellable: TintModel
) -> Advice:
    """Candidates: the blank where there is none, each pigment pale and strong, and every pair; judged on random mixtures, as
    thick as the thickest chip and 2.5 times that.

    observations: with what leans their detectors; latents: (D, L), how they lean under each draw. Haze that is not known is in
    it: each draw's colours are without its scatter, and what it would read straight through is with it. tellable: the model with
    the same draws without what no reading tells, which stays as it is whatever is poured.
    """
    asked, nearing = (one.lab_draws(*probes(model)) for one in (model, tellable))
    now = typical(asked)
    reader = reader_of(gathered, observations, latents)
    doses, thicknesses = _candidates(gathered, model)
    pool = pool_of(tellable, reader, doses, thicknesses)
    left = losses(pool, aim_at(nearing), [], np.arange(len(doses)))
    # The best of all, and the best with each pigment.
    with_it = [np.flatnonzero(doses[:, p] > 0) for p in range(doses.shape[1])]
    firsts = [int(mine[left[mine].argmin()]) for mine in with_it]
    after = {c: typical(asked, pool.told[0, c], nearing) for c in {int(left.argmin()), *firsts}}
    cups = {c: _describe(doses[c], thicknesses[c], model) for c in after}
    by_pigment = [
        f"{cups[c]} would lessen the typical uncertainty of a colour by {100 * (1 - after[c] / now):.0f} %."
        if after[c] <= (1 - _WORTH_SAYING) * now
        else f"no further cup of {name} would help much."
        for name, c in zip(model.pigments, firsts, strict=True)
    ]
    best = min(after, key=lambda c: after[c])
    helps = after[best] <= (1 - _WORTH_SAYING) * now
    other = _other_readings(gathered, observations, latents, model, reader, asked) if now >= LARGE else {}
    other = {says: then for says, then in other.items() if then < _FAR_BETTER * after[best]}
    if other or (now >= LARGE and not helps):
        sentence = _no_cup(now, after[best], other, model)
    elif helps:
        sentence = f"The cup that would help most: {cups[best]}; {fall(now, after[best], model)}."
    else:
        about = f"{now:.1f}" if now >= 0.05 else "less than 0.1"
        sentence = f"No single further cup would help much: {_uncertainty(model)}, is about {about} ΔE00."
    figures = {
        "typical_delta_e00": now,
        "doses_phr": {p: float(dose) for p, dose in zip(model.pigments, doses[best], strict=True) if dose > 0},
        "thicknesses_mm": thicknesses[best].tolist(),
        "then_delta_e00": after[best],
        "helps": helps and not other,
        "instead": other,
    }
    return Advice(sentence, tuple(by_pigment), figures)


def fall(now: float, after: float, model: TintModel) -> str:
    """What the typical uncertainty of a colour (ΔE00) is and to what it would fall, or by what part where that cannot be seen."""
    before, then = f"{now:.1f}", f"{after:.1f}"
    would = f"lessen by {100 * (1 - after / now):.0f} %" if before == then else f"fall to about {then}"
    return f"{_uncertainty(model)}, now about {before} ΔE00, would {would}"


def _uncertainty(model: TintModel) -> str:
    """The words for what `probes` judge.

    >>> from types import SimpleNamespace
    >>> _uncertainty(SimpleNamespace(thickest_mm=12.0))
    'the typical uncertainty of a colour, at 12 mm as the thickest chip and at 2.5 times that'
    """
    thickest_mm, thicker_mm = _judged_mm(model)
    times = numeral(thicker_mm / thickest_mm)
    return f"the typical uncertainty of a colour, at {numeral(thickest_mm)} mm as the thickest chip and at {times} times that"


def _judged_mm(model: TintModel) -> tuple[float, float]:
    return model.thickest_mm, 2.5 * model.thickest_mm


def what_cups_would_bring(model: TintModel, reader: Reader, doses_phr: Array, thicknesses_mm: Array) -> dict[str, Any]:
    """Of a plan's cups (C, P) with chips (C, k): what the model's own fit would promise of them, by the same mixtures."""
    asked = model.lab_draws(*probes(model))
    now, after = typical(asked), typical(asked, pool_of(model, reader, doses_phr, thicknesses_mm).told[0])
    return {
        "before": now,
        "after": after,
        "says": f"By the mixtures that the fit judges by: {fall(now, after, model)}.",
    }


def _no_cup(now: float, after: float, other: dict[str, float], model: TintModel) -> str:
    more = "the mix" if model.is_one_cup else "these pigments"
    return (
        f"Pouring more of {more} will not help much: the best further cup would lessen {_uncertainty(model)}, now about "
        f"{now:.1f} ΔE00, by {max(100 * (1 - after / now), 0):.0f} %.{rather(other)}"
    )


def rather(other: Mapping[str, float]) -> str:
    """What else would help, the best first, each with the typical uncertainty that it would leave; nothing where nothing would.

    >>> rather({"measure the camera": 1.62, "read three chips with a colorimeter": 1.04})
    ' Rather read three chips with a colorimeter (about 1.0) or measure the camera (about 1.6).'
    """
    ways = [f"{says} (about {then:.1f})" for says, then in sorted(other.items(), key=lambda way: way[1])]
    return f" Rather {listed(ways, 'or')}." if ways else ""


def _other_readings(
    gathered: Gathered, observations: Observations, latents: Array, model: TintModel, reader: Reader, asked: Array
) -> dict[str, float]:
    """What else could be done with the chips that are there, and the typical uncertainty that it would leave."""
    then: dict[str, float] = {}
    kinds = {chips.reading.kind for chips in gathered.sets}
    rows = _telling_rows(gathered)
    doses, thickness = gathered.doses_phr[rows], observations.thickness_mm[rows, None]
    chips = f"read {'three chips' if len(rows) == 3 else 'the chips' if len(rows) > 1 else 'the chip'} with a "
    if kinds == {"camera"}:
        better = replace(reader, instrument=colorimeter(eye("D65", 10)))
        then[chips + "colorimeter"] = typical(asked, pool_of(model, better, doses, thickness).told[0])
    if latents.shape[1] and any(chips.reading.camera != "rendered" for chips in gathered.sets):
        lamp = any(chips.reading.light == "unknown" for chips in gathered.sets)
        camera = any(chips.reading.camera == "unknown" for chips in gathered.sets)
        what = "measure " + " and ".join(["the camera"] * camera + ["the panel's light"] * lamp)
        then[what] = typical(asked, _once_known(latents))
    if model.draws_scatter is not None:
        then["read the haze of the chips"] = typical(asked, _once_known(model.draws_scatter))
    if kinds == {"colour"}:
        better = replace(reader, instrument=spectrophotometer())
        then[chips + "spectrophotometer"] = typical(asked, pool_of(model, better, doses, thickness).told[0])
    return then


def _once_known(latents: Array) -> Array:
    """What it tells (L, D) when each of these (D, L) is measured well."""
    spread = np.maximum(latents.std(axis=0), 1e-12)
    return np.asarray(((latents - latents.mean(axis=0)) / (_KNOWN * spread * np.sqrt(len(latents) - 1))).T)


def _telling_rows(gathered: Gathered) -> list[int]:
    """At most three chips, of one pigment each where there are such: the thickest of its middle dose."""
    doses, thickness = gathered.doses_phr, gathered.observations.thickness_mm
    rows: list[int] = []
    for p in range(doses.shape[1]):
        mine = np.flatnonzero((doses[:, p] > 0) & (np.count_nonzero(doses, axis=1) == 1))
        mine = mine if len(mine) else np.flatnonzero(doses[:, p] > 0)
        middle = np.sort(doses[mine, p])[len(mine) // 2]
        mine = mine[doses[mine, p] == middle]
        rows.append(int(mine[thickness[mine].argmax()]))
    return list(dict.fromkeys(rows))[:3]


def reader_of(gathered: Gathered, observations: Observations, latents: Array) -> Reader:
    """The instrument that read most of the chips, as it leans under each draw, and the errors that its set states."""
    reading = max(observations.readings, key=lambda one: len(one.chips))
    told = gathered.sets[gathered.set_of[int(reading.chips[0])]].reading
    if reading.bands is not None:
        first, last = GRID_NM[reading.bands[[0, -1]]]
        instrument = spectrophotometer(float(np.median(reading.spread)), float(first), float(last))
    else:
        weights = leaning(reading, latents)
        assert weights is not None
        leant, weights = (weights, weights.mean(axis=0)) if weights.ndim == 3 else (None, weights)
        if reading.form == "lab":
            instrument = Instrument(weights, reading.white, float(np.median(reading.spread)))
        else:
            instrument = Instrument(
                weights, None, told.zero_spread, told.reading_spread, leant=leant, tone=tone_of(reading, latents)
            )
    instrument = replace(instrument, tile=reading.tile if isinstance(reading.tile, Tile) else None)
    return Reader(instrument=instrument, dose_spread=told.dose_spread, thickness_spread_mm=told.thickness_spread_mm)


def _candidates(gathered: Gathered, model: TintModel) -> tuple[Array, Array]:
    """Cups (C, P) and their chips (C, k), in moulds that the maker has; none that is in the set already."""
    there = gathered.doses_phr
    thicknesses = np.unique(gathered.observations.thickness_mm)
    shown = thicknesses if len(thicknesses) <= 2 else thicknesses[[0, -1]]
    count = len(model.pigments)
    unit = np.eye(count)
    middle = np.array([np.exp(np.log(np.unique(d[d > 0])).mean()) for d in there.T])
    high = model.highest_phr
    cups = [np.zeros(count)]
    if model.is_one_cup:
        cups.append(0.5 * unit[0])
    else:
        cups += [dose * unit[p] for p in range(count) for dose in (middle[p] / 2, middle[p], high[p])]
        pairs = list(combinations(range(count), 2))
        cups += [middle * (unit[a] + unit[b]) for a, b in pairs]
        cups += [high / 2 * (unit[a] + unit[b]) for a, b in pairs]
    # Every pair of up to nine pigments, and each alone: what comes after would only take time.
    doses = np.array([[float(f"{dose:.1g}") for dose in cup] for cup in cups[:120]])
    doses = doses[[not np.any(np.all(np.abs(there - cup) <= _SAME_DOSE * cup, axis=1)) for cup in doses]]
    # Each pigment has one at least: where all of its own are there, another strength.
    doses = np.concatenate([doses, (0.75 * high * unit)[~np.any(doses > 0, axis=0)]])
    return doses, np.tile(shown, (len(doses), 1))


def probes(model: TintModel) -> tuple[Array, Array]:
    """Twelve mixtures (N, P) and their thicknesses (N,): the sort of thing a maker will ask for, none of them black."""
    # Any seed: the same model gives the same advice.
    rng = np.random.default_rng(11)
    count = len(model.pigments)
    if model.is_one_cup:
        doses = np.repeat([[1.0], [0.5]], 2, axis=0)
        return doses, np.tile(_judged_mm(model), 2)
    doses = rng.uniform(0, 1, (12, count)) * model.highest_phr * 0.5
    # At most three pigments at once, as in a recipe.
    for row in doses:
        row[rng.permutation(count)[3:]] = 0.0
    thickness = np.tile(_judged_mm(model), 6)
    # At most twelve steps of 0.7, a factor of 72 in dose.
    for _ in range(12):
        left = through(model.mean_resin.per_mm(doses), thickness, model.refractive_index) @ luminous("D65")
        doses = np.where((left < _LEAST_LIGHT)[:, None], 0.7 * doses, doses)
    return doses, thickness


def _describe(doses: Array, thicknesses: Sequence[float] | Array, model: TintModel) -> str:
    chips = f"chip{'s' if len(thicknesses) > 1 else ''} of {' and '.join(map(chip_mm, thicknesses))} mm"
    parts = [f"{name} {numeral(dose)}" for name, dose in zip(model.pigments, doses, strict=True) if dose > 0]
    if not parts:
        return f"one untinted cup ({chips})"
    if model.is_one_cup:
        return f"one cup at {numeral(doses[0])} of the strength ({chips})"
    return f"one cup of {' + '.join(parts)} phr ({chips})"
