"""Planned cups as grams: the stock bottle of each pigment, and what goes on the scale for each cup."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tintmix.resin import Resin
from tintmix.weighing.scale import CARRIER_SHARE, Bottle, Scale, bottle_for, bottle_spread

DENSITY_G_PER_CM3 = 1.1
SPILL = 1.15
"""More than the moulds hold: what stays in the cup and on the stick (common practice)."""
_CUP_STEP_G = 5.0
_UNKNOWN_SHARE = 0.4
"""The smallest share that a resin part usually has of the mix: taken where the resin's parts are not given."""
_CARRIER_LIMIT = 0.8
_ROUGH = 0.05


@dataclass(frozen=True, slots=True)
class Weighing:
    """One thing on the scale. letdown: the bottle's name, empty where the pigment is weighed as it is. spread: relative."""

    pigment: str
    letdown: str
    grams: float
    spread: float


@dataclass(frozen=True, slots=True)
class Pour:
    """One cup at the bench. doses_phr: as they come of what is weighed, rounded to the scale's steps. parts: (name, grams to
    weigh), the carrier of the letdowns already taken off."""

    name: str
    doses_phr: tuple[float, ...]
    resin_g: float
    weigh: tuple[Weighing, ...]
    parts: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Letdown:
    """A stock bottle to make up. spread: relative, of its strength; it cancels where all is dosed from it."""

    pigment: str
    bottle: Bottle
    carrier: str
    spread: float

    @property
    def name(self) -> str:
        """As it is written on the bottle."""
        return f"{self.pigment} {self.bottle.name}"


@dataclass(frozen=True, slots=True)
class PourPlan:
    """All of it, with what a maker should be told."""

    letdowns: tuple[Letdown, ...]
    pours: tuple[Pour, ...]
    dose_spread: float
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """What the maker weighs and casts with. chip_mm: edge of a chip. batch_g, part_phr: the part's resin and doses where the
    bottles shall also serve it."""

    scale: Scale
    resin_scale: Scale
    cup_g: float = 50.0
    chip_mm: float = 30.0
    batch_g: float = 0.0


def weigh_out(
    names: Sequence[str],
    doses_phr: Sequence[Sequence[float]],
    cast_mm: Sequence[Sequence[float]],
    pigments: Sequence[str],
    part_phr: Sequence[float],
    resin: Resin,
    bench: Bench,
) -> PourPlan:
    """The bottles and weights of some cups. doses_phr: of each cup, by pigment; cast_mm: thicknesses poured from each."""
    mass = cup_mass_g(cast_mm, resin, bench)
    carrier, share = carrier_part(resin)
    needs = [[mass * doses[p] / 100 for doses in doses_phr] for p in range(len(pigments))]
    bottles = _bottles(needs, [bench.batch_g * dose / 100 for dose in part_phr], mass * share, bench.scale)
    letdowns = tuple(
        Letdown(name, bottle, carrier, bottle_spread(bottle.pigment_g, bottle.carrier_g, bench.scale.spread_g))
        for name, bottle in zip(pigments, bottles, strict=True)
        if bottle is not None
    )
    pours = tuple(
        _pour(name, doses, pigments, bottles, resin, mass, bench) for name, doses in zip(names, doses_phr, strict=True)
    )
    spreads = [weighing.spread for pour in pours for weighing in pour.weigh]
    typical = math.sqrt(sum(s * s for s in spreads) / len(spreads)) if spreads else 0.0
    return PourPlan(
        letdowns, pours, max(0.02, float(f"{typical:.1g}")), tuple(_warnings(pours, letdowns, resin, bench))
    )


def cup_mass_g(cast_mm: Sequence[Sequence[float]], resin: Resin, bench: Bench) -> float:
    """Mixed resin for each cup: the least that can be mixed well, or what the fullest cup's moulds hold."""
    density = resin.density_g_per_cm3 or DENSITY_G_PER_CM3
    fullest = max(map(sum, cast_mm)) * bench.chip_mm**2 / 1000 * density * SPILL
    return math.ceil(max(bench.cup_g, fullest) / _CUP_STEP_G - 1e-9) * _CUP_STEP_G


def carrier_part(resin: Resin) -> tuple[str, float]:
    """The part that takes pigment, and its share of the mix."""
    if resin.takes_pigment is None or not resin.parts:
        return "the resin part that takes pigment", _UNKNOWN_SHARE
    total = sum(part.parts_by_weight for part in resin.parts)
    weight = next(part.parts_by_weight for part in resin.parts if part.name == resin.takes_pigment)
    return resin.takes_pigment, weight / total


def _bottles(
    needs: Sequence[Sequence[float]], extra: Sequence[float], part_g: float, scale: Scale
) -> list[Bottle | None]:
    """A bottle for each pigment that needs one, such that no cup gets more carrier than its part holds."""
    most = part_g * CARRIER_SHARE
    while True:
        bottles = [bottle_for(need, scale, most, extra_pigment_g=more) for need, more in zip(needs, extra, strict=True)]
        used = [
            sum(bottle.used_g(need[c]) for bottle, need in zip(bottles, needs, strict=True) if bottle is not None)
            for c in range(len(needs[0]))
        ]
        if max(used) <= _CARRIER_LIMIT * part_g or most < 0.02 * part_g:
            return bottles
        most *= 0.7


def _pour(
    name: str,
    doses_phr: Sequence[float],
    pigments: Sequence[str],
    bottles: Sequence[Bottle | None],
    resin: Resin,
    mass: float,
    bench: Bench,
) -> Pour:
    weigh, doses, carrier_g = [], [], 0.0
    for pigment, dose, bottle in zip(pigments, doses_phr, bottles, strict=True):
        if dose <= 0:
            doses.append(0.0)
            continue
        factor = 1.0 if bottle is None else 1.0 + bottle.n
        grams = max(bench.scale.rounded(mass * dose / 100 * factor), bench.scale.readability_g)
        weigh.append(
            Weighing(pigment, "" if bottle is None else f"{pigment} {bottle.name}", grams, bench.scale.spread_g / grams)
        )
        doses.append(float(f"{100 * grams / factor / mass:.4g}"))
        carrier_g += grams * (1 - 1 / factor)
    total = sum(part.parts_by_weight for part in resin.parts)
    parts = tuple(
        (
            part.name,
            bench.resin_scale.rounded(
                mass * part.parts_by_weight / total - (carrier_g if part.name == resin.takes_pigment else 0.0)
            ),
        )
        for part in resin.parts
    )
    return Pour(name, tuple(doses), mass, tuple(weigh), parts)


def _warnings(pours: Sequence[Pour], letdowns: Sequence[Letdown], resin: Resin, bench: Bench) -> list[str]:
    told = []
    rough = [(pour.name, w) for pour in pours for w in pour.weigh if w.spread > _ROUGH]
    if rough:
        name, worst = max(rough, key=lambda pair: pair[1].spread)
        told.append(
            f"a scale that shows {bench.scale.readability_g:g} g weighs {worst.grams:g} g of {worst.letdown or worst.pigment} "
            f"for cup {name} only to {100 * worst.spread:.0f} %; a scale of {bench.scale.readability_g / 10:g} g would do better."
        )
    if resin.parts and resin.takes_pigment is None:
        told.append(
            "the resin does not say which part takes pigment (takes_pigment), so the carrier in the stock bottles is not taken "
            "off any part: take it off the one that you make the bottles with."
        )
    for letdown in letdowns:
        if letdown.bottle.n > 1 and letdown.spread > _ROUGH:
            told.append(
                f"the stock bottle {letdown.name} is itself uncertain by {100 * letdown.spread:.0f} %: tint the casting from the "
                "same bottle, then that cancels."
            )
    capacity = bench.resin_scale.capacity_g
    if capacity is not None and pours and pours[0].resin_g > capacity:
        told.append(
            f"a cup of {pours[0].resin_g:g} g is more than the scale takes ({capacity:g} g): weigh the parts one by one."
        )
    return told
