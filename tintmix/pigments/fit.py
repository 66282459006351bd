"""Chips to a TintModel: the whole posterior, the doubts about single chips, and what to pour next."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.check import report
from tintmix.pigments.design.advice import NOT_WHILE_AT_ODDS, Advice, advise, probes
from tintmix.pigments.health import health_of
from tintmix.pigments.inference.cameras import leaning, tone_of
from tintmix.pigments.inference.departure import averaged, judge
from tintmix.pigments.inference.draws import Draws, beside_the_grid, draw, draw_among
from tintmix.pigments.inference.gather import Gathered, gather
from tintmix.pigments.inference.haze import scatter_between, take_scatter_off
from tintmix.pigments.inference.posterior import Mixture, Progress, posterior
from tintmix.pigments.inference.together import each_once
from tintmix.pigments.inference.whole_set.first_looks import changed_places, in_order
from tintmix.pigments.inference.whole_set.slit import slit_found
from tintmix.pigments.model import CameraLatents, TintModel
from tintmix.pigments.model_file import rounded
from tintmix.pigments.thick_base import Change, change_of_base
from tintmix.pigments.widen import wider_draws

_DONE = {"modes": 0.45, "laws": 0.55, "draws": 0.65, "checks": 0.9}
"""Parts of the time of a fit of 1000 chips, up to the end of each."""


def fit(chips: ChipSet | Sequence[ChipSet], progress: Progress | None = None) -> TintModel:
    """A Beer-Lambert model of every pigment in the sets, with its posterior; `.report` holds the fit's JSON.

    One set, or several that become one fit: cups and chips are matched by name, so that a few chips read by a
    colorimeter sharpen many read by a camera. Deterministic: the same chips give the same model to the last digit.
    progress: told now and then what part is done. Raises FileProblem.
    """
    tell = progress or (lambda _: None)
    started = time.perf_counter()
    sets = (chips,) if isinstance(chips, ChipSet) else each_once(chips)
    gathered = gather(sets)
    exchanged = changed_places(gathered.observations)
    change = change_of_base(gathered.observations.exchanged(*exchanged) if exchanged else gathered.observations)
    if change is not None:
        gathered = replace(gathered, observations=change.of(gathered.observations))
    if any(gathered.seen_straight) and not gathered.straight and gathered.haze is None:
        gathered = replace(gathered, observations=scatter_between(gathered.observations, gathered.seen_straight))
    mixture = posterior(gathered.observations, progress=lambda part: tell(_DONE["modes"] * part))
    mixture = slit_found(in_order(mixture, *exchanged, ()) if exchanged else mixture)
    gathered = replace(gathered, observations=mixture.forward.observations)
    asked = judge(gathered.observations, mixture)
    used = tuple((d.pigment, d.spread, d.k) for d in asked if d.used)
    if used:
        mixture = posterior(gathered.observations, used)
        mixture = in_order(mixture, *exchanged, used) if exchanged else mixture
    whole, departures = averaged(gathered.observations, mixture, asked)
    if not exchanged and (beside := beside_the_grid(mixture)) is not None:
        # Predictions alone: what may be wrong with the set is weighed at the errors that it declares.
        whole = averaged(beside, posterior(beside, used), asked)[0]
    tell(_DONE["laws"])
    draws = draw(whole)
    tell(_DONE["draws"])
    latents = _latents_found(gathered, whole, draws)
    gathered = _detectors_found(gathered, whole, draws)
    model = _modelled(gathered, draws, change)
    checks = _DONE["checks"] - _DONE["draws"]
    told, rivals = report(gathered, mixture, model, departures, lambda part: tell(_DONE["draws"] + checks * part))
    tell(_DONE["checks"])
    # What may be wrong with the light, bands hold beside what is declared.
    others = [averaged(one.mixture.forward.observations, one.mixture, asked)[0] for one in rivals]
    stories, odds = [whole, *others], [1.0, *(one.odds for one in rivals)]
    if health_of(told).contradicts:
        draws = wider_draws(gathered, stories, odds, told, lambda spread: _modelled(gathered, spread, change))
        model = _modelled(gathered, draws, change)
    elif rivals:
        draws = draw_among(stories, odds)
        model = _modelled(gathered, draws, change)
    if gathered.straight:
        draws, scatter = take_scatter_off(draws, gathered.haze_told, gathered.haze_prior, gathered.haze)
        scatter = scatter.astype("<f4").astype(np.float64)
        model = replace(_modelled(gathered, draws, change), draws_scatter=scatter)
    # Chips that are doubted do not count as the strongest or the thickest, unless it is the whole set that is suspected.
    highest = np.array([pigment["highest_phr"] for pigment in told["pigments"].values()])
    model = replace(model, highest_phr=highest, thickest_mm=told["thickest_mm"], camera_latents=latents)
    if health_of(told).contradicts:
        advice = Advice(NOT_WHILE_AT_ODDS, ("",) * len(model.pigments), None)
    else:
        tellable = replace(model, draws_base=draws.told[:, 0], draws_absorptivity=draws.told[:, 1:])
        advice = advise(
            gathered, mixture.forward.observations, draws.z[:, whole.forward.layout.latents], model, tellable
        )
    for pigment, says in zip(told["pigments"].values(), advice.by_pigment, strict=True):
        pigment["readings_that_would_help"] = says
    told |= _camera_told(gathered)
    told |= {"next_cup": advice.sentence, "forecast": advice.figures, "seconds": time.perf_counter() - started}
    return replace(model, report=told)


def _modelled(gathered: Gathered, draws: Draws, change: Change | None) -> TintModel:
    model = _assemble(gathered, draws)
    if change is not None:
        model = replace(model, thick=change.drawn(draws))
    return _central(model, draws)


def _assemble(gathered: Gathered, draws: Draws) -> TintModel:
    sets = gathered.sets
    limits = np.full(len(gathered.pigments), np.inf)
    lots: dict[str, str] = {}
    for chips in sets:
        for pigment in chips.pigments:
            p = gathered.pigments.index(pigment.name)
            if pigment.max_phr is not None:
                limits[p] = min(limits[p], pigment.max_phr)
            if pigment.lot:
                lots[pigment.name] = pigment.lot
    base, absorptivity = rounded(draws.base), rounded(draws.absorptivity)
    departure = draws.departure.astype("<f4").astype(np.float64)
    digests = [chips.digest() for chips in sets]
    digest = digests[0] if len(sets) == 1 else hashlib.sha256("".join(digests).encode()).hexdigest()
    photo = next((one for one in gathered.observations.readings if one.form == "channels"), None)
    return TintModel(
        pigments=gathered.pigments,
        wavelengths_nm=GRID_NM,
        base_per_mm=draws.smooth[:, 0].mean(axis=0),
        absorptivity=draws.smooth[:, 1:].mean(axis=0),
        draws_base=base,
        draws_absorptivity=absorptivity,
        draws_departure=departure,
        departure_per_phr=departure.mean(axis=0),
        volume_per_phr=gathered.volume_per_phr,
        refractive_index=sets[0].resin.refractive_index,
        highest_phr=gathered.doses_phr.max(axis=0),
        thickest_mm=float(gathered.observations.thickness_mm.max()),
        max_phr=limits,
        haze=gathered.haze,
        resin=sets[0].resin,
        lots=lots,
        camera_weights=None if photo is None else photo.weights,
        camera_tone=None if photo is None else photo.tone,
        chips_digest=digest,
    )


def _camera_told(gathered: Gathered) -> dict[str, Any]:
    """Of the camera that the model keeps: what its photos call it, and what the check chips read, by which later photos are tied
    to these; nothing where no camera read."""
    reading = next((one for one in gathered.observations.readings if one.form == "channels"), None)
    if reading is None:
        return {}
    chips = gathered.sets[gathered.set_of[int(reading.chips[0])]]
    checks = {chip.name: list(chip.values) for chip in chips.chips if chip.check and chip.is_read}
    return {"camera": {"taken_with": chips.reading.taken_with, "check_chips": checks}}


def _latents_found(gathered: Gathered, mixture: Mixture, draws: Draws) -> CameraLatents | None:
    """What the draws say of the first camera that was not quite known."""
    q = draws.z[:, mixture.forward.layout.latents].astype("<f4").astype(np.float64)
    for reading in mixture.forward.observations.readings:
        if reading.latents is not None and len(reading.latents):
            told = gathered.sets[gathered.set_of[int(reading.chips[0])]].reading
            return CameraLatents(camera=told.camera, light=told.light, draws=q[:, reading.latents])
    return None


def _detectors_found(gathered: Gathered, mixture: Mixture, draws: Draws) -> Gathered:
    """The same with the mean weights of detectors that were not quite known: what the chips say they are."""
    q = draws.z[:, mixture.forward.layout.latents]
    readings = []
    for reading in gathered.observations.readings:
        weights, tone = leaning(reading, q), tone_of(reading, q)
        if weights is not None and weights.ndim == 3:
            found = None if tone is None else tone.mean(axis=0)
            reading = replace(reading, weights=weights.mean(axis=0), tone=found, latents=None)
        readings.append(reading)
    return replace(gathered, observations=replace(gathered.observations, readings=tuple(readings)))


def _central(model: TintModel, draws: Draws) -> TintModel:
    """The model with the spectra that stand for its posterior where a single one must.

    As a rule the mean over the draws. Where little is known, mean absorptivities are dark beyond anything likely; then
    the one draw whose colours lie nearest the mean colours serves better.
    """
    doses, thickness_mm = probes(model)
    seen = model.lab_draws(doses, thickness_mm)
    mean = seen.mean(axis=0)
    off = np.sqrt(((seen - mean) ** 2).sum(axis=-1)).mean(axis=1)
    if np.sqrt(((model.predict_lab(doses, thickness_mm) - mean) ** 2).sum(axis=-1)).mean() <= off.min():
        return model
    base, *absorptivity = draws.smooth[off.argmin()]
    return replace(
        model,
        base_per_mm=base,
        absorptivity=np.array(absorptivity),
        departure_per_phr=model.draws_departure[off.argmin()],
    )
