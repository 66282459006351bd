"""Models to solve on: invented pigments in an invented resin, with a posterior as wide as a good chip set leaves it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.reference.absorbers import draw, random_resin
from tests.reference.slow import NM, Array
from tintmix.optics.difference import residuals
from tintmix.optics.section import Section
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.model import HazeLaw, TintModel
from tintmix.recipes.target import Limits, Target, TargetSection

ON_GRID = np.searchsorted(NM, GRID_NM)


def make_model(
    pigments: int = 5,
    seed: int = 0,
    draws: int = 60,
    spread: float = 0.03,
    haze: bool = False,
    departure: float = 0.0,
    volume: float = 0.01,
) -> TintModel:
    """Pigments and resin of the shelf; draws that vary smoothly over wavelength by `spread` of the logarithm."""
    rng = np.random.default_rng(seed)
    curves, _ = draw(rng, pigments)
    absorptivity, base = curves[:, ON_GRID], random_resin(rng)[ON_GRID]
    distance = (GRID_NM[:, None] - GRID_NM) / 60.0
    smooth = np.linalg.cholesky(np.exp(-0.5 * distance**2) + 1e-8 * np.eye(len(GRID_NM)))
    half = rng.normal(size=((draws + 1) // 2, pigments + 1, len(GRID_NM))) @ smooth.T * spread
    noise = np.concatenate([half, -half])[:draws] if draws > 1 else np.zeros((1, pigments + 1, len(GRID_NM)))
    draws_base, draws_absorptivity = base * np.exp(noise[:, 0]), absorptivity * np.exp(noise[:, 1:])
    k = np.full(pigments, departure)
    return TintModel(
        pigments=tuple(f"p{i}" for i in range(pigments)),
        wavelengths_nm=GRID_NM,
        base_per_mm=draws_base.mean(axis=0),
        absorptivity=draws_absorptivity.mean(axis=0),
        draws_base=draws_base,
        draws_absorptivity=draws_absorptivity,
        draws_departure=np.tile(k, (draws, 1)),
        departure_per_phr=k,
        volume_per_phr=np.full(pigments, volume),
        refractive_index=1.5,
        highest_phr=np.full(pigments, 0.3),
        thickest_mm=12.0,
        max_phr=np.full(pigments, np.inf),
        haze=HazeLaw(0.004, 0.0001, rng.uniform(0.0, 0.05, pigments)) if haze else None,
        chips_digest="0" * 64,
    )


@dataclass(frozen=True, slots=True)
class Problem:
    """A target made from known doses (P,). conditioning: the least ΔE00 that doses changed by a factor e cost."""

    model: TintModel
    target: Target
    doses: Array
    conditioning: float


def known_problem(
    seed: int, pigments: int = 8, used: int = 3, sections: int = 2, draws: int = 60, limits: Limits | None = None
) -> Problem:
    """A target that known doses of `used` pigments meet: thin 3-10 mm, thick 20-60 mm, 3-60 % of the light through."""
    rng = np.random.default_rng([seed, 7])
    model = make_model(pigments, seed, draws)
    thick = rng.uniform(20, 60)
    places = (Section("thin", float(rng.uniform(3, 10))), Section("thick", float(thick)))[2 - sections :]
    which = rng.choice(pigments, used, replace=False)
    doses = np.zeros(pigments)
    share = rng.uniform(0.3, 1.0, used)
    doses[which] = share / share.sum() / model.absorptivity[which].mean(axis=1)
    goal = np.exp(rng.uniform(np.log(0.03), np.log(0.6)))
    low, high = -6.0, 2.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        light = model.look_many(10**middle * doses[None], places[-1:]).luminous[0, 0]
        low, high = (middle, high) if light > goal else (low, middle)
    doses = doses * 10**low
    told = model.look_many(doses[None], places)
    target = Target(
        tuple(
            TargetSection(place.name, place.thickness_mm, lab=tuple(map(float, colour)))
            for place, colour in zip(places, told.lab[0], strict=True)
        ),
        limits=limits or Limits(pigments=used),
    )
    slopes = []
    for p in which:
        nudged = doses.copy()
        nudged[p] *= 1.01
        moved = model.look_many(nudged[None], places).lab[0]
        slopes.append((residuals(told.lab[0], moved) / 0.01).ravel())
    return Problem(model, target, doses, float(np.linalg.svd(np.array(slopes), compute_uv=False)[-1]))
