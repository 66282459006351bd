"""What a batch will look like: at the places on the casting, along the thickness strip, and the tinted part alone in a dish."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tintmix.numerals import numeral
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.paths import PathLength
from tintmix.optics.section import Section
from tintmix.pigments.model import TintModel
from tintmix.pigments.thickness_strip import strip_end_mm
from tintmix.recipes.again import Places
from tintmix.resin import Resin
from tintmix.sheet.lines import one_line

CUP_DEPTHS_MM = (10.0, 20.0)
"""Depths of the tinted part in a flat clear dish at which it is looked at (common practice)."""
STRIP_STEPS = 96
_TOO_DARK = 0.01
"""Light through a dish below which an eye sees nothing but black."""

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class PlaceLook:
    """A place on the casting at the doses as they will be weighed.

    lab: mean over the model's posterior; srgb for a screen. model_delta_e00_95, weighing_delta_e00_95: 95 % of what the model,
    and of what the weighing, leaves open lies within it. delta_e00: from the target; None where the place is only reported.
    """

    name: str
    thickness_mm: float | None
    behind: str | None
    lab: Lab
    srgb: str
    luminous_transmittance: float
    model_delta_e00_95: float
    weighing_delta_e00_95: float
    target_lab: Lab | None
    target_srgb: str | None
    tolerance: float
    delta_e00: float | None

    @property
    def depth(self) -> str:
        """How thick it is, in few words."""
        return f"{numeral(self.length_mm)} mm"

    @property
    def length_mm(self) -> float:
        """Its thickness, or the mean path of the light that is seen."""
        return self.thickness_mm or 0.0


@dataclass(frozen=True, slots=True)
class SeenLook(PlaceLook):
    """The same of a place that is seen by paths, which has no thickness and nothing behind it. shape: its file, and SHA-256."""

    straight_mm: float
    path_mm: PathLength
    of_clear: float | None
    shape: str
    shape_digest: str

    @property
    def depth(self) -> str:
        """Its straight depth beside its path, in few words."""
        return f"{numeral(self.straight_mm, 3)} mm, seen through {numeral(self.path_mm.mean, 3)} mm"

    @property
    def length_mm(self) -> float:
        """The mean path."""
        return self.path_mm.mean


@dataclass(frozen=True, slots=True)
class CupLook:
    """The tinted part alone, liquid, this deep in a flat clear dish over a light panel. A coarse check: cure shifts colour.

    beyond: whether as strong a dose was never measured. dark: whether hardly any light comes through.
    """

    depth_mm: float
    lab: Lab
    srgb: str
    luminous_transmittance: float
    beyond: bool
    dark: bool


@dataclass(frozen=True, slots=True)
class Looks:
    """All of it. cups: none of the untinted resin. strip: (thickness in mm, colour for a screen), rising, over bare light.
    light, observer: the target's. thickest_trial_mm: where the model's chips were read on a white tile, the thickest of them,
    past which a trial chip would read too dark."""

    light: str
    observer: int
    places: tuple[PlaceLook, ...]
    cups: tuple[CupLook, ...]
    strip: tuple[tuple[float, str], ...]
    warnings: tuple[str, ...]
    thickest_trial_mm: float | None = None

    @property
    def shapes(self) -> Mapping[str, str]:
        """The files of the shapes whose places they are, each with its SHA-256."""
        return {one.shape: one.shape_digest for one in self.places if isinstance(one, SeenLook)}


def stronger(resin: Resin, tinted: str) -> float:
    """How many times stronger the tinted part is than the mixed resin: total mass over the part's mass (physics §14).

    >>> from tintmix.resin import Part
    >>> round(stronger(Resin(parts=(Part("A", 100.0), Part("B", 90.0))), "B"), 6)
    2.111111
    """
    total = sum(part.parts_by_weight for part in resin.parts)
    return total / next(part.parts_by_weight for part in resin.parts if part.name == tinted)


def looks_of(
    model: TintModel,
    places: Places,
    doses_phr: Mapping[str, float],
    times: float,
    weighing_delta_e00_95: Sequence[float],
    resin: Resin,
) -> Looks:
    """What these doses look like. times: how much stronger the tinted part is than the mix. weighing_delta_e00_95: of each
    place, as `weigh_out` gives it. resin: of the sheet."""
    detector = eye(places.light, places.observer)
    look = model.look(doses_phr, places.sections, places.light, places.observer, cast_in=resin)

    def shown(lab: Sequence[float]) -> str:
        return screen(xyz_of_lab(np.asarray(lab, dtype=np.float64), detector.bare), detector.bare).hex[0]

    colours = look.screen.hex
    told = []
    for s, section in enumerate(places.sections):
        wanted = places.target_lab[s]
        told.append(
            _place(
                section,
                look.of_clear[s],
                lab=_triple(look.lab[s]),
                srgb=colours[s],
                luminous_transmittance=float(look.luminous_transmittance[s]),
                model_delta_e00_95=float(look.delta_e00_95[s]),
                weighing_delta_e00_95=float(weighing_delta_e00_95[s]),
                target_lab=wanted,
                target_srgb=None if wanted is None else shown(wanted),
                tolerance=places.tolerance[s],
                delta_e00=None if wanted is None else float(delta_e00(wanted, look.lab[s])),
            )
        )
    return Looks(
        light=look.light,
        observer=places.observer,
        places=tuple(told),
        cups=_cups(model, places, doses_phr, times) if any(doses_phr.values()) else (),
        strip=_strip(model, places, doses_phr),
        warnings=look.warnings,
        thickest_trial_mm=model.health.thickest_on_tile_mm,
    )


def _place(section: Section, of_clear: float | None, **told: Any) -> PlaceLook:
    name, seen = one_line(section.name), section.seen
    if seen is None:
        return PlaceLook(name=name, thickness_mm=section.thickness_mm, behind=section.ground.name, **told)
    told |= {"straight_mm": seen.straight_mm, "path_mm": seen.path_mm, "of_clear": of_clear}
    told |= {"shape": one_line(seen.shape), "shape_digest": seen.digest}
    return SeenLook(name=name, thickness_mm=None, behind=None, **told)


def _cups(model: TintModel, places: Places, doses_phr: Mapping[str, float], times: float) -> tuple[CupLook, ...]:
    strong = {pigment: dose * times for pigment, dose in doses_phr.items()}
    look = model.look(strong, list(CUP_DEPTHS_MM), places.light, places.observer)
    colours = look.screen.hex
    return tuple(
        CupLook(
            depth,
            _triple(look.lab[s]),
            colours[s],
            float(look.luminous_transmittance[s]),
            look.dose_extrapolated,
            bool(look.luminous_transmittance[s] < _TOO_DARK),
        )
        for s, depth in enumerate(CUP_DEPTHS_MM)
    )


def _strip(model: TintModel, places: Places, doses_phr: Mapping[str, float]) -> tuple[tuple[float, str], ...]:
    thickest = max(section.thickness_mm for section in places.sections)
    at = np.linspace(0.0, strip_end_mm(thickest), STRIP_STEPS + 1)
    middle = (at[1:] + at[:-1]) / 2
    detector = eye(places.light, places.observer)
    lab = model.predict_lab(model.dose_vector(dict(doses_phr)), middle, places.light, places.observer)
    colours = screen(xyz_of_lab(lab, detector.bare), detector.bare).hex
    return tuple(zip(map(float, at[1:]), colours, strict=True))


def _triple(values: Sequence[float]) -> Lab:
    return float(values[0]), float(values[1]), float(values[2])
