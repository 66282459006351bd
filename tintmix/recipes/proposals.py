"""What is told of each dose vector worth showing: colours, how sure they are, how touchy, the match elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tintmix.numerals import SUREST, depth_in_words, numeral
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.light import through
from tintmix.optics.paths import PathLength
from tintmix.optics.section import Section, of_clear
from tintmix.optics.spectrum import Array
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.search.choice import Chosen
from tintmix.recipes.target import light_name, triple

_EVEN = 0.5
"""Of a recipe with less chance one should not hear that it comes within tolerance."""
USUAL = 0.75
"""How far castings usually are from what is told, in parts of how far the posterior's draws are: its bands have to hold of sets
that turn out worse than their chips show, too. So a chance is told of draws brought nearer by this. Of 1370 recipes for sets
that were read in seven ways it was, for each way, 0 to 10 of 100 lower than the part that came; of the draws as they are, 2 to
13 (`python -m tests.accuracy.chance_rows`, seeds from 30300).
"""
ERROR = 0.05
"""The error of a dose whose cost in ΔE00 is told: what a drop too much or a poor scale easily makes."""


@dataclass(frozen=True, slots=True)
class SectionMatch:
    """One section of a proposal.

    lab: mean over the posterior, as `look` gives it. target_lab, delta_e00: None where the section is only reported.

    delta_e00_95: 95 % of the posterior lies within it of lab. target_delta_e00_95: within which of target_lab 95 % of what the
    target may be lies; None where its colour is given, or its glass by a spectrum. haze_percent: None where no chip told of haze.
    """

    name: str
    thickness_mm: float | None
    behind: str | None
    lab: tuple[float, float, float]
    lab_covariance: Array
    target_lab: tuple[float, float, float] | None
    tolerance: float
    delta_e00: float | None
    delta_e00_95: float
    target_delta_e00_95: float | None
    luminous_transmittance: float
    haze_percent: float | None

    @property
    def depth(self) -> str:
        """How thick it is, in words."""
        return f"{numeral(self.thickness_mm or 0.0, 4)} mm"


@dataclass(frozen=True, slots=True)
class SeenMatch(SectionMatch):
    """The same of a place that is seen by paths: it has no thickness, and nothing behind it.

    straight_mm, path_mm: as its shape has them. luminous_transmittance: as seen, against the bare light; of_clear: against the
    same place in clear resin, None where no light comes at all.
    """

    straight_mm: float
    path_mm: PathLength
    of_clear: float | None

    @property
    def depth(self) -> str:
        """Its straight depth beside its path, in words."""
        return depth_in_words(self.straight_mm, self.path_mm.mean)


@dataclass(frozen=True, slots=True)
class Under:
    """The match under another light: largest ΔE00 over the sections whose target has a spectrum; was that estimated?"""

    worst_delta_e00: float
    estimated: bool


@dataclass(frozen=True, slots=True)
class Extrapolated:
    """Whether a dose, and a thickness, is beyond those of the chips."""

    dose: bool
    thickness: bool


@dataclass(frozen=True, slots=True)
class Proposal:
    """A recipe that was found.

    worst_ratio: largest ΔE00/tolerance, by which proposals are ranked. rms_delta_e00: √(Σ w ΔE² / Σ w).
    chance_within_tolerance: that every section is within its tolerance at once, by USUAL draws, SUREST at most; None
    where the chips contradict each other.
    delta_e00_per_5_percent: largest change of any section when that pigment is 5 % too much or too little. under:
    None where the target has no spectrum.
    """

    doses_phr: Mapping[str, float]
    total_phr: float
    worst_ratio: float
    worst_delta_e00: float
    rms_delta_e00: float
    chance_within_tolerance: float | None
    sections: tuple[SectionMatch, ...]
    delta_e00_per_5_percent: Mapping[str, float]
    under: Mapping[str, Under] | None
    extrapolated: Extrapolated

    @property
    def within(self) -> bool:
        """Whether every section is within its tolerance."""
        return self.worst_ratio <= 1.0

    @property
    def likely(self) -> bool:
        """Whether it is more likely than not that every section comes out so."""
        return self.chance_within_tolerance is not None and self.chance_within_tolerance >= _EVEN


def proposals(aim: Aim, chosen: Chosen) -> tuple[Proposal, ...]:
    """All that is told of the chosen dose vectors, in their order."""
    doses, told = chosen.doses, chosen.told
    coloured = list(aim.coloured)
    from_mean = delta_e00(told.lab_draws, told.lab[:, None])
    spread = within_95(from_mean, axis=1)
    off = np.round(delta_e00(told.lab[:, coloured], aim.target_lab), 6)
    doubts = target_doubts(aim)
    deviation = told.lab_draws - told.lab[:, None]
    usual = (told.lab[:, None] + USUAL * deviation)[:, :, coloured]
    chance = (delta_e00(usual, aim.target_draws) <= aim.tolerance).all(axis=2).mean(axis=1)
    covariance = np.einsum("ndsi,ndsj->nsij", deviation, deviation) / max(told.lab_draws.shape[1] - 1, 1)
    rms = np.sqrt(off**2 @ aim.weight / aim.weight.sum())
    ratio = off / aim.tolerance
    touchy = _touchy(aim, doses)
    under = _under(aim, doses)
    model = aim.model
    too_thick = aim.judged_mm > model.thickest_mm * (1 + 1e-9)
    return tuple(
        Proposal(
            doses_phr={model.pigments[p]: float(doses[i, p]) for p in np.flatnonzero(doses[i] > 0)},
            total_phr=float(doses[i].sum()),
            worst_ratio=float(ratio[i].max()),
            worst_delta_e00=float(off[i].max()),
            rms_delta_e00=float(rms[i]),
            chance_within_tolerance=None if model.health.contradicts else min(float(chance[i]), SUREST),
            sections=tuple(
                _match(
                    aim,
                    section,
                    lab=triple(told.lab[i, s]),
                    lab_covariance=covariance[i, s],
                    target_lab=triple(aim.target_lab[coloured.index(s)]) if s in coloured else None,
                    tolerance=aim.target.sections[s].tolerance,
                    delta_e00=float(off[i, coloured.index(s)]) if s in coloured else None,
                    delta_e00_95=float(spread[i, s]),
                    target_delta_e00_95=doubts.get(s),
                    luminous_transmittance=float(told.luminous[i, s]),
                    haze_percent=None if told.haze is None else float(100 * told.haze[i, s]),
                )
                for s, section in enumerate(aim.sections)
            ),
            delta_e00_per_5_percent={model.pigments[p]: float(touchy[i, p]) for p in np.flatnonzero(doses[i] > 0)},
            under=None if under is None else {name: one[i] for name, one in under.items()},
            extrapolated=Extrapolated(bool(np.any(doses[i] > model.highest_phr * (1 + 1e-9))), bool(too_thick)),
        )
        for i in range(len(doses))
    )


def target_doubts(aim: Aim) -> dict[int, float]:
    """Section → ΔE00 from its target's colour within which 95 % of what the glass may look like there lies; of those where it is
    not known."""
    if aim.glass is None or not aim.glass.is_estimated:
        return {}
    spread = within_95(delta_e00(aim.target_draws, aim.target_lab), axis=0)
    return {s: float(off) for s, off in zip(aim.coloured, spread, strict=True) if aim.speaking[s]}


def _match(aim: Aim, section: Section, **told: Any) -> SectionMatch:
    if section.seen is None:
        return SectionMatch(
            name=section.name, thickness_mm=section.thickness_mm, behind=section.ground.name, **told
        )  # fmt: skip
    return SeenMatch(
        name=section.name,
        thickness_mm=None,
        behind=None,
        straight_mm=section.seen.straight_mm,
        path_mm=section.seen.path_mm,
        of_clear=of_clear(section, told["luminous_transmittance"], aim.into_light),
        **told,
    )


def factors(aim: Aim, doses: Array) -> Array:
    """Factors (…, S, K) by which the light of every section is seen, by the mean absorptivities; doses (…, P)."""
    resin, n = aim.model.mean_resin, aim.model.refractive_index
    per_mm = resin.per_mm(doses)
    return np.stack(
        [through(resin.at(per_mm, one.thickness_mm), one.thickness_mm, n, one.ground) for one in aim.sections], axis=-2
    )


def _touchy(aim: Aim, doses: Array) -> Array:
    """Largest ΔE00 over the sections (N, P) when one dose is 5 % off, either way."""
    pigments = doses.shape[1]
    scale = np.stack([1 + ERROR * np.eye(pigments), 1 - ERROR * np.eye(pigments)])
    varied = doses[:, None, None, :] * scale
    colours = lab(factors(aim, varied) @ aim.detector.weights, aim.detector.bare)
    plain = lab(factors(aim, doses) @ aim.detector.weights, aim.detector.bare)
    return np.asarray(delta_e00(colours, plain[:, None, None]).max(axis=(1, 3)))


def _under(aim: Aim, doses: Array) -> dict[str, list[Under]] | None:
    """The match under the other lights, where the glass speaks for a section (physics §8).

    Under the first light a small difference is left in most recipes; so that it is not counted as metamerism, the
    recipe's XYZ under the other light are multiplied by target/recipe under the first.
    """
    speaking = [s for s, speaks in enumerate(aim.speaking) if speaks]
    if aim.glass is None or not speaking:
        return None
    sample = factors(aim, doses)[:, speaking]
    piece = np.stack([aim.glass.factor(aim.sections[s]) for s in speaking])
    weights = aim.detector.weights
    scale = (piece @ weights) / np.maximum(sample @ weights, 1e-12)
    matches: dict[str, list[Under]] = {}
    for light in aim.target.also_under:
        other = eye(light, aim.target.observer)
        seen_then = lab(sample @ other.weights * scale, other.bare)
        worst = delta_e00(seen_then, lab(piece @ other.weights, other.bare)).max(axis=1)
        matches[light_name(light)] = [Under(float(value), aim.glass.is_estimated) for value in worst]
    return matches
