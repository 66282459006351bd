"""The pictures of each step. Only this module asks `pictures`, and so matplotlib, for anything."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from tintmix import pictures
from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import lab
from tintmix.optics.detector import Light, light_from_spectrum
from tintmix.optics.section import Ground, Section
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import Look, TintModel
from tintmix.recipes.casting import insert_on
from tintmix.recipes.search.aim import Aim, lay
from tintmix.recipes.solve import Answer
from tintmix.recipes.target import Target
from tintmix.shape.shape_file import read_shape
from tintmix.shape.values import CastingShape

_BESIDE = 3
"""Recipes shown side by side: more are too small to judge."""


def strengths(model: TintModel, where: Path) -> None:
    """Each pigment's absorptivity over the spectrum, with its band."""
    pictures.save_picture(pictures.strengths_picture(model), where)


def misfits(model: TintModel, chips: ChipSet, where: Path) -> None:
    """The chips as read beside what the model makes of them, under the light that the set's colours are compared in."""
    reading = chips.reading
    light: str | Light = "D65"
    observer = {"spectrum": 10, "camera": 2}.get(reading.kind, reading.observer)
    if reading.kind == "colour":
        light = reading.light
        if chips.light_curve is not None:
            light = light_from_spectrum(reading.light, *chips.light_curve)
    pictures.save_picture(pictures.residuals_picture(model.report, light, observer), where)


def paths(shape: CastingShape, where: Path) -> None:
    """How far the light that is seen has gone in a casting, beside the resin straight along the view."""
    pictures.save_picture(pictures.paths_picture(shape), where)


def wedge(model: TintModel, look: Look, ground: Ground, where: Path, light: str | Light = "D65") -> None:
    """The tint from thin to thick, with the sections that were looked at."""
    figure = pictures.wedge_picture(model, _used(look.doses_phr), look.sections, light, look.observer, behind=ground)
    pictures.save_picture(figure, where)


def casting(
    model: TintModel, look: Look, shape: Path, painted: ArrayLike | None, where: Path, light: str | Light = "D65"
) -> None:
    """The casting of a shape's file in the tint that was looked at. painted: its insert, in place of the shape's own."""
    shown = read_shape(shape)
    tint = pictures.Tinted(caption=shape.name.removesuffix(".shape.json"), doses_phr=_used(look.doses_phr))
    brass = insert_on(shown, light, look.observer) if painted is None else painted
    pictures.save_picture(pictures.casting_picture(model, shown, [tint], brass, light, look.observer), where)


def answer_casting(model: TintModel, target: Target, found: Answer, shape: Path, where: Path) -> None:
    """The casting in the best recipes side by side, or untinted where there is none."""
    shown = read_shape(shape)
    best = found.proposals[:_BESIDE]
    tints = [pictures.Tinted(caption=f"recipe {n}", doses_phr=_used(one.doses_phr)) for n, one in enumerate(best, 1)]
    tints = tints or [pictures.Tinted(caption="untinted", doses_phr={})]
    brass = insert_on(shown, target.light, target.observer)
    pictures.save_picture(pictures.casting_picture(model, shown, tints, brass, target.light, target.observer), where)


def answer(model: TintModel, target: Target, found: Answer, where: Path) -> None:
    """The best recipe, or the untinted resin where there is none: what is wanted beside what will come."""
    aim = lay(model, target)
    look = model.look(_best(found), aim.sections, target.light, target.observer)
    pictures.save_picture(pictures.swatches_picture(look, _wanted(aim), _tolerances(target)), where)


def answer_wedge(model: TintModel, target: Target, found: Answer, where: Path) -> None:
    """The best recipe from thin to thick, and where less light comes through than the target's limit."""
    figure = pictures.wedge_picture(
        model, _best(found), lay(model, target).sections, target.light, target.observer, _floor(target)
    )
    pictures.save_picture(figure, where)


def answer_thickness(model: TintModel, target: Target, found: Answer, where: Path) -> None:
    """Light through and difference from the target against thickness."""
    aim = lay(model, target)
    figure = pictures.thickness_picture(
        model,
        _best(found),
        aim.sections,
        _wanted(aim),
        _tolerances(target),
        target.light,
        target.observer,
        _floor(target),
        _glass_at(aim),
    )
    pictures.save_picture(figure, where)


def _best(found: Answer) -> dict[str, float]:
    return dict(found.proposals[0].doses_phr) if found.proposals else {}


def _used(doses_phr: Mapping[str, float]) -> dict[str, float]:
    return {name: dose for name, dose in doses_phr.items() if dose}


def _wanted(aim: Aim) -> list[Array | None]:
    wanted: list[Array | None] = [None] * len(aim.sections)
    for place, colour in zip(aim.coloured, aim.target_lab, strict=True):
        wanted[place] = colour
    return wanted


def _tolerances(target: Target) -> list[float | None]:
    return [section.tolerance for section in target.sections]


def _floor(target: Target) -> float | None:
    return target.limits.luminous_transmittance or None


def _glass_at(aim: Aim) -> Callable[[Array], Array] | None:
    """The glass piece's colour at any thickness, before the bare light."""
    glass = aim.glass
    if glass is None:
        return None

    def at(thickness_mm: Array) -> Array:
        factors = np.array([glass.factor(Section("", float(t))) for t in thickness_mm])
        return lab(factors @ aim.detector.weights, aim.detector.bare)

    return at
