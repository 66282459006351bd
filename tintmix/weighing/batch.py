"""How much resin a mould takes: from its volume, or from the water that fills it."""

from __future__ import annotations

import math

from tintmix.errors import Remedy
from tintmix.files.words import plain
from tintmix.quantities import BATCH_G, VOLUME_CM3, WASTE_PERCENT
from tintmix.resin import Resin
from tintmix.weighing.errors import MeasureMissing

WATER_G_PER_CM3 = 0.998207
"""Air-free water at 20 °C and 101 325 Pa: Tanaka, Girard, Davis, Peuto, Bignell, Metrologia 38, 301 (2001), the formula that the
CIPM recommends. 5 °C off changes it by 0.1 %."""


def batch_from_volume(volume_cm3: float, resin: Resin, waste_percent: float = 0.0) -> float:
    """Grams of mixed resin, all parts, for a mould of this volume: V·ρ·(1 + waste/100).

    volume_cm3: what the liquid fills, in cm³ (1 ml = 1 cm³). waste_percent: added for what stays in the cup and on the
    stick. The resin's density is its own where it is said, or that of its parts, volumes added. The shrinkage of the
    cure needs no more: the mould is filled with liquid. Raises ValueProblem, MeasureMissing.

    >>> round(batch_from_volume(400.0, Resin(density_g_per_cm3=1.06), 10.0), 6)
    466.4
    """
    VOLUME_CM3.check("the volume of the mould", volume_cm3)
    WASTE_PERCENT.check("the waste allowance", waste_percent)
    grams = volume_cm3 * mixed_density(resin, "a batch by volume") * (1.0 + waste_percent / 100.0)
    return BATCH_G.check("the batch", grams)


def batch_from_water(water_g: float, resin: Resin, waste_percent: float = 0.0) -> float:
    """Grams of mixed resin for a mould that holds so many grams of water from a tap that stood in the room.

    V = m/ρ. Water and resin are weighed in the same air, which lifts both alike (within 1e-4): no buoyancy is taken off. Raises
    ValueProblem, MeasureMissing.

    >>> round(batch_from_water(399.283, Resin(density_g_per_cm3=1.06)), 2)
    424.0
    """
    BATCH_G.check("the water that fills the mould", water_g)
    return batch_from_volume(water_g / WATER_G_PER_CM3, resin, waste_percent)


def mixed_density(resin: Resin, why: str) -> float:
    """Density of the mixed resin in g/cm³: as said, or Σm/Σ(m/ρ) of its parts. why: for the error. Raises MeasureMissing."""
    if resin.density_g_per_cm3 is not None:
        return resin.density_g_per_cm3
    known = [(part.parts_by_weight, part.density_g_per_cm3) for part in resin.parts if part.density_g_per_cm3]
    if not known or len(known) < len(resin.parts):
        raise MeasureMissing(
            where=f"resin {plain(resin.name)!r}",
            what=f"{why} needs its density, and neither density_g_per_cm3 of the resin nor of every part is given",
            remedy=Remedy.WRITE_THE_DENSITY,
        )
    return math.fsum(mass for mass, _ in known) / sum(mass / density for mass, density in known)
