"""A dose in other words: per 100 g of one part, by volume, in drops, in per cent; and back to phr.

phr is grams of pigment as supplied per 100 g of mixed resin, all parts, before pigment. All of the others are proportional to it
but the per cent of the whole, which counts the pigment itself.
"""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace

from tintmix.errors import NotThere, Remedy, ValueProblem
from tintmix.files.words import did_you_mean, number_plain, plain
from tintmix.quantities import DENSITY_G_PER_CM3, DROP_G, Quantity
from tintmix.resin import Resin
from tintmix.weighing.batch import mixed_density
from tintmix.weighing.errors import MeasureMissing, no_parts

PHR = "phr"
OF_PART = "part"
OF_WHOLE = "percent of the whole"
IN_VOLUME = "g per 100 cm3"
BY_VOLUME = "percent by volume"
DROPS = "drops"
BASES = (PHR, OF_PART, OF_WHOLE, IN_VOLUME, BY_VOLUME, DROPS)
"""The bases by name; that of one part is written `part A`."""
_IN_ANY_BASIS = Quantity(least=0.0, most=1e6)
"""No dose is larger in any basis; a recipe's is far smaller."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What a conversion may need beside the dose. None: not known.

    pigment_density_g_per_cm3: of the pigment as supplied. drop_g: mass of one drop of it, measured (weigh 50 and divide).
    Raises ValueProblem.
    """

    pigment_density_g_per_cm3: float | None = None
    drop_g: float | None = None

    def __post_init__(self) -> None:
        if self.pigment_density_g_per_cm3 is not None:
            DENSITY_G_PER_CM3.check("the pigment's density", self.pigment_density_g_per_cm3)
        if self.drop_g is not None:
            DROP_G.check("the mass of a drop", self.drop_g)


def to_phr(value: float, basis: str, resin: Resin, measures: Measures | None = None) -> float:
    """A dose in some basis as phr. Raises ValueProblem, MeasureMissing, NotThere.

    - `part B`: grams per 100 g of part B. phr = value × (share of B in the mix).
    - `percent of the whole`: 100 p/(p + r), pigment p in resin r. phr = 100 value/(100 − value).
    - `g per 100 cm3`: grams per 100 cm³ of mixed resin of density ρ. phr = value/ρ.
    - `percent by volume`: volumes of pigment per 100 volumes of mixed resin. phr = value × ρ(pigment)/ρ.
    - `drops`: drops per 100 g of mixed resin. phr = value × (mass of a drop).

    2 g per 100 g of part B, of 90 parts of B in 190:

    >>> from tintmix.resin import Part
    >>> resin = Resin(parts=(Part("A", 100), Part("B", 90)), takes_pigment="B")
    >>> round(to_phr(2.0, "part B", resin), 6)
    0.947368
    """
    replace(_IN_ANY_BASIS, unit=basis).check("the dose of pigment", value)
    if _parsed(basis)[0] == OF_WHOLE:
        if value >= 100:
            told = f"{number_plain(value)} % of the whole, which leaves no resin"
            raise ValueProblem(what="the dose of pigment", found=told, limit="below 100 %")
        return 100.0 * value / (100.0 - value)
    return value * _phr_per_unit(basis, resin, measures or Measures())


def from_phr(dose_phr: float, basis: str, resin: Resin, measures: Measures | None = None) -> float:
    """A dose in phr in some other basis; see `to_phr`.

    >>> round(from_phr(0.02, "drops", Resin(), Measures(drop_g=0.025)), 6)
    0.8
    """
    replace(_IN_ANY_BASIS, unit=PHR).check("the dose of pigment", dose_phr)
    if _parsed(basis)[0] == OF_WHOLE:
        return 100.0 * dose_phr / (100.0 + dose_phr)
    return dose_phr / _phr_per_unit(basis, resin, measures or Measures())


def drops_for(dose_phr: float, batch_g: float, drop_g: float) -> float:
    """Drops of pigment for a batch of mixed resin: dose × batch/100 ÷ the mass of a drop.

    >>> round(drops_for(0.02, 450.0, 0.025), 6)
    3.6
    """
    return from_phr(dose_phr, DROPS, Resin(), Measures(drop_g=drop_g)) * batch_g / 100.0


def all_bases(dose_phr: float, resin: Resin, measures: Measures) -> dict[str, float]:
    """The dose in every basis that what is known allows, phr first."""
    out = {PHR: dose_phr}
    names = [f"{OF_PART} {part.name}" for part in resin.parts] if len(resin.parts) > 1 else []
    for basis in (*names, OF_WHOLE, IN_VOLUME, BY_VOLUME, DROPS):
        with suppress(MeasureMissing):
            out[basis] = from_phr(dose_phr, basis, resin, measures)
    return out


def _phr_per_unit(basis: str, resin: Resin, measures: Measures) -> float:
    kind, part = _parsed(basis)
    if kind == OF_PART:
        return part_share(resin, part)
    if kind == DROPS:
        return _needed(measures.drop_g, basis, "the mass of a drop in g (weigh 50 drops and divide)")
    grams = 1.0
    if kind == BY_VOLUME:
        grams = _needed(measures.pigment_density_g_per_cm3, basis, "the pigment's density in g/cm³")
    return grams if kind == PHR else grams / mixed_density(resin, "a dose by volume")


def part_share(resin: Resin, part: str) -> float:
    """A part's share of the mixed resin by mass. Raises NotThere."""
    if not resin.parts:
        raise no_parts(resin.name)
    weights = {one.name: one.parts_by_weight for one in resin.parts}
    if part not in weights:
        near = plain(did_you_mean(part, weights), 200)
        raise NotThere(what=f"resin {plain(resin.name)!r} has no part {plain(part)!r}; {near}")
    return weights[part] / math.fsum(weights.values())


def _parsed(basis: str) -> tuple[str, str]:
    text = " ".join(basis.split())
    head, _, rest = text.partition(" ")
    if head.lower() == OF_PART and rest:
        return OF_PART, rest
    text = text.lower().replace("%", "percent").replace("cm³", "cm3")
    if text in BASES and text != OF_PART:
        return text, ""
    near = did_you_mean(basis, [f"{OF_PART} A" if name == OF_PART else name for name in BASES])
    raise ValueProblem(what=f"{plain(basis)!r} is no dose basis; {plain(near, 200)}")


def _needed(value: float | None, basis: str, missing: str) -> float:
    if value is None:
        raise MeasureMissing(what=f"a dose as {plain(basis)} needs {missing}", remedy=Remedy.GIVE_THAT_TOO)
    return value
