"""A target laid onto a model: every array that the search needs, made once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.errors import ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab, xyz_of_lab
from tintmix.optics.detector import Detector, eye, luminous
from tintmix.optics.section import DARK, PANEL, WHITE, Ground, Section, seen_section
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.recipes.errors import impossible_colour, limits_contradict
from tintmix.recipes.glass import GlassLook, look_at_glass
from tintmix.recipes.insert_colour import lab_of_srgb, reflectance_of
from tintmix.recipes.target import Target, TargetSection

LARGEST_PHR = 100.0
"""No search goes further: as much pigment as resin. A one-cup mix, whose dose counts cups, has the same bound."""

_FAR_BELOW = -10.0
"""X, Y or Z of a stated L*a*b* may come out a little below zero, by a reading error; beyond this it is no colour."""

_UNSTRETCHED = 0.8
"""A pigment whose effective dose grows faster than its dose (k < 0) is searched up to k c = −0.8, as in the fit."""


@dataclass(frozen=True, slots=True)
class Place:
    """One section with a colour. into_slope: (K, 3P), column 3p + c: −ln 10 · t · ε_p(λ) · W(λ, c), so that the slope of a
    factor by ln τ times it is dXYZ_c / d(effective dose p)."""

    section: Section
    into_slope: Array


@dataclass(frozen=True, slots=True)
class Aim:
    """A target on a model. S sections, C of them with a colour, P pigments, K wavelengths.

    coloured: (C,) indices into sections; target_lab (C, 3); target_draws (D, C, 3), what it may be where the glass is only
    known by a colour or a camera, beside each of the model's draws, D 1 where it is known; tolerance, weight (C,).
    thickest: index of the section at
    which floor and ceiling are judged. floor: luminous transmittance, 0 where none. haze_room: what t·(Σ e s) may
    reach, infinite where there is no ceiling or no haze law. upper: (P,) phr. allowed: pigments that may be used.
    """

    model: TintModel
    target: Target
    sections: tuple[Section, ...]
    detector: Detector
    coloured: tuple[int, ...]
    target_lab: Array
    target_draws: Array
    tolerance: Array
    weight: Array
    places: tuple[Place, ...]
    thickest: int
    into_light: Array
    into_light_slope: Array
    floor: float
    total_phr: float
    haze_slope: Array
    haze_room: float
    upper: Array
    allowed: tuple[int, ...]
    most_pigments: int
    glass: GlassLook | None
    speaking: tuple[bool, ...]

    @property
    def share(self) -> Array:
        """√(w / Σw) / tolerance of each coloured section (C,): what a residual is multiplied by."""
        share: Array = np.sqrt(self.weight / self.weight.sum()) / self.tolerance
        return share

    @property
    def joint(self) -> list[int]:
        """Which of the limits that join pigments are set, by their places in `forward.Sight.over`."""
        set_ = (np.isfinite(self.total_phr), self.floor > 0, np.isfinite(self.haze_room))
        return [place for place, is_set in enumerate(set_) if is_set]

    @property
    def judged(self) -> Section:
        """Where floor and ceiling are judged: the thickest place over the bare light, or, of the longest mean path, as it is
        seen."""
        place = self.sections[self.thickest]
        return place if place.seen is not None else Section(place.name, place.thickness_mm)

    @property
    def judged_at(self) -> str:
        """That place, in words."""
        judged = self.judged
        return f"at {numeral(judged.thickness_mm, 4)} mm" if judged.seen is None else f"at {judged.name} (as seen)"

    @property
    def judged_mm(self) -> float:
        """Its thickness, or its mean path. Of this the haze is reckoned: what scatters on many paths is at most what it is on
        their mean (1 − exp is concave), so that the ceiling holds, and it stays linear in the doses."""
        return self.sections[self.thickest].thickness_mm


def lay(model: TintModel, target: Target) -> Aim:
    """The target on this model. Raises ValueProblem, and what a glass raises."""
    limits = target.limits
    unknown = [name for name in limits.leave_out if name not in model.pigments]
    if unknown:
        raise ValueProblem(
            where="limits.leave_out",
            what=f"the model knows no pigment {', '.join(map(repr, unknown))}; it knows {', '.join(model.pigments)}",
        )
    allowed = tuple(p for p, name in enumerate(model.pigments) if name not in limits.leave_out)
    if not allowed:
        raise limits_contradict(
            target.source, "every pigment that the model has is left out, so nothing is left to tint with"
        )

    detector, photopic = eye(target.light, target.observer), luminous(target.light)
    sections = tuple(_section(one, target) for one in target.sections)
    glass = None if target.glass is None else look_at_glass(target.glass, target, model)
    colours, speaking = _colours(target, sections, detector, glass)
    coloured = tuple(s for s, colour in enumerate(colours) if colour is not None)
    target_lab = np.array([colours[s] for s in coloured])
    thickest = max(range(len(sections)), key=lambda s: sections[s].thickness_mm)
    judged = sections[thickest].thickness_mm
    spectra = model.absorptivity
    room = math.inf
    haze_slope = np.zeros(len(model.pigments))
    if model.haze is not None and limits.haze_percent is not None:
        law = model.haze
        haze_slope = judged * np.asarray(law.per_mm_phr, dtype=np.float64)
        open_part = max(1 - limits.haze_percent / 100, 1e-300)
        room = math.log((1 - law.surface) / open_part) - judged * law.base_per_mm
    total = math.inf if limits.total_phr is None else limits.total_phr
    if model.resin is not None and model.resin.max_total_phr is not None and not model.is_one_cup:
        total = min(total, model.resin.max_total_phr)
    upper, k = np.minimum(model.max_phr, LARGEST_PHR), model.departure_per_phr
    if model.health.contradicts:
        # Its draws are spread over all that a pigment may be: some stay clear at any dose, so that their mean has no dose at
        # which the casting is black. Beyond the chips it tells nothing.
        upper = np.minimum(upper, model.highest_phr)
    count = len(allowed)
    return Aim(
        model=model,
        target=target,
        sections=sections,
        detector=detector,
        coloured=coloured,
        target_lab=target_lab,
        target_draws=_drawn(target_lab, [sections[s] if speaking[s] else None for s in coloured], detector, glass),
        tolerance=np.array([target.sections[s].tolerance for s in coloured]),
        weight=np.array([target.sections[s].weight for s in coloured]),
        places=tuple(
            Place(sections[s], _slopes(sections[s].thickness_mm, detector.weights, spectra)) for s in coloured
        ),
        thickest=thickest,
        into_light=photopic,
        into_light_slope=_slopes(judged, photopic[:, None], spectra),
        floor=limits.luminous_transmittance or 0.0,
        total_phr=total,
        haze_slope=haze_slope,
        haze_room=room,
        upper=np.where(k < 0, np.minimum(upper, _UNSTRETCHED / np.maximum(-k, 1e-12)), upper),
        allowed=allowed,
        most_pigments=count if limits.pigments is None else min(limits.pigments, count),
        glass=glass,
        speaking=speaking,
    )


def _slopes(thickness_mm: float, weights: Array, spectra: Array) -> Array:
    by_pigment = (-LN10 * thickness_mm) * spectra.T[:, :, None] * weights[:, None, :]
    return np.ascontiguousarray(by_pigment.reshape(len(weights), -1))


def _section(one: TargetSection, target: Target) -> Section:
    painted = None if one.insert is None else reflectance_of(one.insert, target.light, target.observer)
    if one.seen is not None:
        return seen_section(one.name, one.seen, painted)
    ground: Ground = {"panel": PANEL, "white": WHITE, "dark": DARK}.get(one.behind, PANEL)
    if one.insert is not None:
        ground = Ground("insert", painted, one.insert.width_mm)
    return Section(one.name, one.length_mm, ground)


def _colours(
    target: Target, sections: tuple[Section, ...], detector: Detector, glass: GlassLook | None
) -> tuple[list[Array | None], tuple[bool, ...]]:
    """Target colour of each section, and whether the glass speaks for it."""
    colours: list[Array | None] = []
    speaking = []
    for one, section in zip(target.sections, sections, strict=True):
        colour: Array | None = None
        if one.lab is not None:
            colour = np.array(one.lab, dtype=np.float64)
            if np.min(xyz_of_lab(colour, detector.bare)) < _FAR_BELOW:
                raise impossible_colour(
                    f"place {one.name!r}", f"lab = {list(one.lab)}", "one of its X, Y, Z would be far below 0"
                )
        elif one.xyz is not None:
            colour = lab(np.array(one.xyz, dtype=np.float64), detector.bare)
        elif one.srgb is not None:
            colour = lab_of_srgb(one.srgb, detector)
        elif glass is not None:
            colour = lab(glass.factor(section) @ detector.weights, detector.bare)
        colours.append(colour)
        speaking.append(colour is not None and not one.has_colour)
    return colours, tuple(speaking)


def _drawn(target_lab: Array, spoken: Sequence[Section | None], detector: Detector, glass: GlassLook | None) -> Array:
    """What the target may be (D, C, 3). spoken: of each coloured section, itself where the glass speaks for it."""
    drawn = [
        target_lab[None, c]
        if one is None or glass is None or (factors := glass.drawn_factors(one)) is None
        else lab(factors @ detector.weights, detector.bare)
        for c, one in enumerate(spoken)
    ]
    return np.stack(np.broadcast_arrays(*drawn), axis=1)
