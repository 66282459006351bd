"""A trial chip's reading as a maker has it: typed colours, a spectrum's file, camera channels; and how it was read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading, default_reading_spread
from tintmix.chips.convert import convert
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.chips.instruments.sample import Sample
from tintmix.desk.plan.tile import OnTile, reading_on
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.files.curves import read_column
from tintmix.files.write import Where
from tintmix.numerals import counted
from tintmix.optics.detector import light as official
from tintmix.pigments.model import TintModel
from tintmix.quantities import CHIP_MM, check_colour
from tintmix.recipes.adjust.belief import trial_set
from tintmix.recipes.adjust.errors import not_one_reading_each

if TYPE_CHECKING:
    from tintmix.desk.read.shots import PhotoOrder

Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class TrialReading:
    """Chips of one cup, and one reading of each.

    colours: with their space, "Lab" or "XYZ" (Y of the bare light = 100). spectrum: an instrument's file; samples: which of
    its spectra, where it holds more. channels: R, G, B, linear, as parts of the bare panel. photo: or a photo by the camera that
    read the model's chips, windows: where each chip lies in it, "x,y,w,h" or "2.3" of the holder sheet; none for the one that
    lies there. like: a chip set that says how it
    was read (its [reading]); on_tile: or the white tile that it lay on; else light, observer, geometry. One of these.
    beside: further chips of the same cup whose L*a*b* is typed, each with its thickness, where a camera read the others; light
    and observer are then theirs.
    """

    thicknesses_mm: tuple[float, ...]
    colours: tuple[Colour, ...] = ()
    space: Literal["Lab", "XYZ"] = "Lab"
    spectrum: Where | None = None
    samples: tuple[str, ...] = ()
    channels: tuple[Colour, ...] = ()
    photo: PhotoOrder | None = None
    windows: tuple[str, ...] = ()
    like: Where | None = None
    on_tile: OnTile | None = None
    light: str | None = None
    observer: int | None = None
    beside: tuple[tuple[float, Colour], ...] = ()

    @property
    def kind(self) -> Literal["colour", "spectrum", "camera"]:
        """What was read."""
        return (
            "spectrum"
            if self.spectrum is not None
            else "camera"
            if self.channels or self.photo is not None
            else "colour"
        )

    @property
    def count(self) -> int:
        """How many readings were given in so many words; a file tells later."""
        if self.photo is not None:
            return len(self.windows) or 1
        return len(self.thicknesses_mm) if self.spectrum is not None else len(self.colours) + len(self.channels)


@dataclass(frozen=True, slots=True)
class Told:
    """The chips as `trial_set` makes them; prices per gram that the chip set knows; what was taken as said; the chips beside."""

    chips: ChipSet
    prices: Mapping[str, float]
    notes: tuple[Note | str, ...]
    beside: tuple[ChipSet, ...] = ()


def read_trial(told: TrialReading, doses_phr: Mapping[str, float], model: TintModel, name: str = "trial") -> Told:
    """Raises ValueProblem, and what is wrong with the files."""
    if not told.thicknesses_mm or told.count != len(told.thicknesses_mm):
        raise not_one_reading_each(len(told.thicknesses_mm), told.count)
    like = _like(told)
    notes: list[Note | str] = []
    reading, values = like.reading, []
    if told.photo is not None:
        # Here, for the trials that were read otherwise.
        from tintmix.desk.read.things import things_in

        named = {f"the {name} chip {i}" if len(told.thicknesses_mm) > 1 else f"the {name} chip": where
                 for i, where in enumerate(told.windows or ("",), 1)}  # fmt: skip
        found = things_in(model, told.photo, named)
        values = [found.values[key].tolist() for key in named]
        own = [float((found.spreads[key] / np.maximum(np.abs(found.values[key]), 1e-9)).min()) for key in named]
        camera = "rendered" if found.photo.rendered else "unknown"
        reading = replace(reading, camera=camera, light="unknown", geometry="regular", reading_spread=max(own))
        notes += found.notes
    elif told.spectrum is not None:
        reading, values = _spectra(told, like, notes)
    else:
        given = told.channels or [
            check_colour(f"the {name} chip's reading", one, told.space, remedy=Remedy.READ_CHIP_AGAIN)
            for one in told.colours
        ]
        reading = replace(like.reading, space=told.space) if told.kind == "colour" else like.reading
        if told.kind == "camera" and told.like is None:
            made = "unknown" if model.camera_tone is None else "rendered"
            reading = replace(
                reading, camera=made, light="unknown", reading_spread=default_reading_spread("camera", made)
            )
        values = [tuple(float(v) for v in one) for one in given]
    chips = trial_set(
        reading, list(zip(told.thicknesses_mm, values, strict=True)), doses_phr, model.refractive_index, like, name
    )
    prices = {p.name: p.price_per_g for p in like.pigments if p.price_per_g is not None}
    return Told(chips, prices, tuple(notes), _beside(told, doses_phr, model, name))


def _beside(told: TrialReading, doses_phr: Mapping[str, float], model: TintModel, name: str) -> tuple[ChipSet, ...]:
    if not told.beside:
        return ()
    if told.kind != "camera":
        what = f"colours are typed beside chips that were read as {told.kind}; they go beside a camera's"
        raise ValueProblem(what=what)
    thicknesses, colours = zip(*told.beside, strict=True)
    typed = TrialReading(thicknesses, colours, light=told.light, observer=told.observer)
    return (read_trial(typed, doses_phr, model, name).chips,)


def _like(told: TrialReading) -> ChipSet:
    if told.like is not None:
        found = read_chips(told.like)
        if found.reading.kind != told.kind:
            raise ValueProblem(
                where=told.like,
                what=f"its chips were read as {found.reading.kind}, and the trial is given as {told.kind}",
                remedy=Remedy.READ_TRIAL_AS_CHIPS,
            )
        if told.light is not None or told.observer is not None:
            raise ValueProblem(
                where=told.like,
                what="the chip set says under which light and for which observer its chips were read",
                remedy=Remedy.LEAVE_OUT_LIGHT_OR_SET,
            )
        return found
    curve = None
    light = told.light or "D65"
    if light.lower().endswith(".csv"):
        curve = read_column(light, "power")
    else:
        light = official(light).name
    if told.on_tile is not None:
        return ChipSet(reading_on(told.on_tile, light, told.observer or 10), (), (), light_curve=curve)
    return ChipSet(
        Reading(told.kind, geometry="total", light=light, observer=told.observer or 10), (), (), light_curve=curve
    )


def _spectra(told: TrialReading, like: ChipSet, notes: list[Note | str]) -> tuple[Reading, list[Sequence[float]]]:
    assert told.spectrum is not None
    file = read_samples(told.spectrum)
    found = [one for one in file.samples if one.kind == "spectrum"]
    picked: list[Sample] = [one for name in told.samples for one in found if name in (one.name, one.other_name)]
    picked = picked if told.samples else found
    count = len(told.thicknesses_mm)
    if len(picked) != count:
        names = ", ".join(one.name for one in found[:8])
        raise ValueProblem(
            where=told.spectrum,
            what=f"it holds {counted(len(picked), 'spectrum', 'spectra')} ({names}) for {counted(count, 'trial chip')}",
            remedy=Remedy.NAME_SAMPLE,
        )
    for thickness in told.thicknesses_mm:
        CHIP_MM.check("its thickness", thickness, "the trial chip", Remedy.MEASURE_WHERE_READ)
    chips = tuple(Chip(f"trial {i}", "trial", (1.0,), mm) for i, mm in enumerate(told.thicknesses_mm))
    unread = replace(like, pigments=(Pigment("tint"),), chips=chips, reading=replace(like.reading, wavelengths_nm=None))
    pairs = [(chip.name, one) for chip, one in zip(chips, picked, strict=True)]
    # A trial is held against what the pot should look like.
    done = convert(unread, pairs, file.where, keeps_old=False, asks_unsaid=False)
    notes += [*file.notes, *done.notes]
    by_chip = {one.chip: one.values.mean(axis=0) for one in done.taken}
    return done.chips.reading, [by_chip[chip.name].tolist() for chip in chips]
