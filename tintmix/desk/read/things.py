"""What is no chip of a set, read from a photo by the camera that read a model's chips: a piece of glass, a trial, a pour's chip.

Readings are compared as camera readings: the same camera, before the same panel, with check chips tying the days. How such a
reading looks to the eye, and how far that may be off, the model's camera tells.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet, Reading
from tintmix.chips.drift import Drift, drift
from tintmix.chips.errors import some
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.reading import PhotoReading, read_gathered
from tintmix.chips.photo.region import Rectangle, rectangle
from tintmix.chips.photo.sheet.holder import WINDOWS, chip_window
from tintmix.desk.read.shots import PhotoOrder, Seen, check_order, each, gather, seen, uneven
from tintmix.errors import FileProblem, Note, Remedy, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.words import plain
from tintmix.files.write import Where
from tintmix.optics.colour import lab
from tintmix.optics.detector import Light, eye
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.light import through
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.piece import piece_draws
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.quantities import CHIP_MM
from tintmix.recipes.target import Glass

_BOX = re.compile(r"\s*-?[\d.]+(\s*[,;\s]\s*-?[\d.]+){3}\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Things:
    """values, spreads: name → channels (3,), and one standard deviation of each. drift: what the check chips in it tell."""

    values: Mapping[str, Array]
    spreads: Mapping[str, Array]
    photo: Seen
    reading: PhotoReading
    drift: Drift | None
    notes: tuple[Note | str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookOf:
    """A colour by the model's camera: L*a*b*, its covariance (3, 3), and what 95 % of the draws lie within."""

    lab: Array
    covariance: Array
    delta_e00_95: float


def read_things(
    model: Where, order: PhotoOrder, places: Sequence[str], thicknesses_mm: Mapping[str, float]
) -> dict[str, Any]:
    """Pieces in a photo, as formats.md has their JSON; nothing is written. places: "NAME=x,y,w,h" in pixels, or "NAME=2.3", a
    window of the holder sheet. Raises what is wrong with the model, the photo, the places, the thicknesses.
    """
    learnt = load_model(model)
    wanted = _named(places)
    for name in wanted:
        if name not in thicknesses_mm:
            raise ValueProblem(where=name, what="its thickness is not said", remedy=Remedy.SAY_ITS_THICKNESS, name=name)
        CHIP_MM.check(f"the thickness of {name}", thicknesses_mm[name], remedy=Remedy.MEASURE_WHERE_READ)
    if strange := [name for name in thicknesses_mm if name not in wanted]:
        raise ValueProblem(where=strange[0], what="its thickness is said, and no place of it in the photo")
    found = things_in(learnt, order, wanted)
    index = Glass(1.0, lab=(50.0, 0.0, 0.0)).refractive_index
    body: dict[str, Any] = {"things": {}}
    for name, values in found.values.items():
        mm = thicknesses_mm[name]
        look = look_of(learnt, values, mm, found.spreads[name], refractive_index=index)
        body["things"][name] = {
            "thickness_mm": mm,
            "camera": values.tolist(),
            "lab": look.lab.tolist(),
            "lab_covariance": look.covariance.tolist(),
            "delta_e00_95": look.delta_e00_95,
        }
    body["photo"] = {
        "file": found.photo.name, "form": found.photo.form, "rendered": found.photo.rendered,
        "taken_with": found.photo.taken_with,
        "glare": None if found.reading.glare is None else found.reading.glare.tolist(),
    }  # fmt: skip
    body["drift"] = None if found.drift is None else {"says": found.drift.says, "drifted": found.drift.drifted}
    done: dict[str, Any] = finite(body | {"notes": found.notes})
    return done


def look_of(
    model: TintModel,
    values: Array,
    thickness_mm: float,
    spread: Array,
    *,
    like: Array | None = None,
    refractive_index: float | None = None,
    light: str | Light = "D65",
    observer: int = 10,
    seen_mm: float | None = None,
) -> LookOf:
    """How a piece that reads so looks at its thickness, or where it is seen_mm thick. like: (K,), about what it absorbs per mm,
    where that is known."""
    index = model.refractive_index if refractive_index is None else refractive_index
    draws = piece_draws(values[None], np.array([thickness_mm]), index, model, spread[None], like)
    detector = eye(light, observer)
    labs = lab(through(draws, thickness_mm if seen_mm is None else seen_mm, index) @ detector.weights, detector.bare)
    mean = labs.mean(axis=0)
    return LookOf(lab=mean, covariance=np.cov(labs.T), delta_e00_95=float(within_95(delta_e00(labs, mean)[:, None])[0]))


def things_in(model: TintModel, order: PhotoOrder, wanted: Mapping[str, str]) -> Things:
    """What the named places read, as parts of the bare panel, by the model's camera; photos given again are averaged.

    wanted: name → "x,y,w,h" or a window of the holder sheet; an empty text is the one window in which something lies. Raises
    ValueProblem, FileProblem.
    """
    told = _of_chips(model)
    check_order(replace(order, at=tuple(wanted), mapping=()))
    boxes = {name: rectangle(text) for name, text in wanted.items() if _BOX.fullmatch(text)}
    if boxes and len(boxes) < len(wanted):
        what = "some places are in pixels and some are windows of the holder sheet; name all in one way"
        raise ValueProblem(what=what)
    windows = {name: chip_window(text, name) for name, text in wanted.items() if text and not boxes}
    twice = [window for window in windows.values() if list(windows.values()).count(window) > 1]
    if twice:
        raise ValueProblem(what=f"window {twice[0]} is named twice; one thing lies in it")
    shots = each(
        order, lambda photo, panel: _read(order, photo, panel, boxes, windows, list(wanted), list(told["checks"]))
    )
    first = shots[0]
    for shot in shots:
        if shot.photo.rendered != told["rendered"]:
            one, other = ("a JPEG or the like", "raw photos") if shot.photo.rendered else ("raw", "JPEGs or the like")
            what = f"it is {one}, and the model's chips were read from {other}"
            raise ValueProblem(where=shot.photo.name, what=what, remedy=Remedy.PHOTO_AS_THE_CHIPS)
    notes = [*dict.fromkeys(note for shot in shots for note in shot.notes)]
    pairs = [
        (chip, np.array(was), np.mean([shot.checks[chip] for shot in shots], axis=0), len(shots))
        for chip, was in told["checks"].items()
        if all(chip in shot.checks for shot in shots)
    ]
    reading = Reading("camera", camera="rendered" if told["rendered"] else "unknown")
    tied = drift(ChipSet(reading, (), ()), pairs) if pairs else None
    now, before = first.photo.taken_with, told["taken_with"]
    if now and before and now != before and tied is None:
        what = f"it was taken with {now}, and the model's chips with {before}: to readings, another camera"
        raise ValueProblem(where=first.photo.name, what=what, remedy=Remedy.CHECK_CHIPS_FIRST)
    gain = np.ones(3)
    if tied is not None:
        notes.append(tied.says)
        if tied.drifted:
            gain = tied.gain
            notes.append("what was read was put right by that.")
    elif told["checks"]:
        notes.append(
            f"the check chips {some(list(told['checks']))} are not in the photo, so drift since then is not known."
        )
    own = 0.03 if told["rendered"] else 0.01
    values = {name: np.mean([shot.values[name] for shot in shots], axis=0) / gain for name in wanted}
    spreads = {
        name: np.hypot(
            np.hypot(own, 0.5 * max(shot.uneven[name] for shot in shots)) * np.abs(values[name]), reading.zero_spread
        )
        for name in wanted
    }
    return Things(
        values=values, spreads=spreads, photo=first.photo, reading=first.reading, drift=tied, notes=tuple(notes)
    )


@dataclass(frozen=True, slots=True)
class _Shot:
    photo: Seen
    reading: PhotoReading
    values: Mapping[str, Array]
    uneven: Mapping[str, float]
    checks: Mapping[str, Array]
    notes: tuple[Note | str, ...]


def _read(
    order: PhotoOrder,
    photo: Photo,
    panel: Photo | None,
    boxes: Mapping[str, Rectangle],
    windows: Mapping[str, str],
    names: Sequence[str],
    checks: Sequence[str],
) -> _Shot:
    everything = gather(order, photo, panel, boxes)
    if boxes:
        reading = read_gathered(everything)
        if bare := [name for name, place in reading.places.items() if place.empty]:
            raise FileProblem(where=photo.name, what=f"nothing but the bare panel shows at the place of {some(bare)}")
        values = {name: place.values for name, place in reading.places.items()}
        own = uneven(everything, {name: name for name in names})
        return _Shot(seen(everything), reading, values, own, {}, reading.warnings)
    held = {one.name: check for one, check in zip([w for w in WINDOWS if w.check], checks, strict=False)}
    mine = dict(windows) or _only(everything, photo.name, names, held)
    held = {window: chip for window, chip in held.items() if window not in mine.values()}
    named = {name: everything.chips[window] for name, window in mine.items()}
    named |= {f"check chip {chip}": everything.chips[window] for window, chip in held.items()}
    reading = read_gathered(replace(everything, chips=named), skip_empty=True)
    if empty := [f"{name} (window {window})" for name, window in mine.items() if name not in reading.places]:
        what = f"nothing lies where {some(empty)} should be"
        raise FileProblem(where=photo.name, what=what, remedy=Remedy.GIVE_BOTH_PHOTOS)
    return _Shot(
        seen(everything),
        reading,
        {name: reading.places[name].values for name in mine},
        uneven(replace(everything, chips=named), {name: name for name in mine}),
        {chip: reading.places[key].values for chip in held.values() if (key := f"check chip {chip}") in reading.places},
        reading.warnings,
    )


def _only(everything: Any, where: str, names: Sequence[str], held: Mapping[str, str]) -> dict[str, str]:
    """The one window in which something lies, for the one thing that is asked for."""
    found = read_gathered(
        replace(everything, chips={w: patch for w, patch in everything.chips.items() if w not in held}), skip_empty=True
    ).places
    if len(names) != 1 or len(found) != 1:
        what = f"something lies in {len(found)} windows of the holder sheet, and it is not said which is what"
        raise ValueProblem(where=where, what=what, remedy=Remedy.SAY_THE_WINDOW)
    return {names[0]: next(iter(found))}


def _named(places: Sequence[str]) -> dict[str, str]:
    out: dict[str, str] = {}
    for text in places:
        name, _, place = text.rpartition("=")
        if not name.strip() or not place.strip():
            what = "is not NAME=x,y,w,h in pixels, nor NAME=2.3 for a window of the holder sheet"
            raise ValueProblem(where=plain(text, 60), what=what)
        if name.strip() in out:
            raise ValueProblem(where=plain(text, 60), what=f"names {plain(name, 40)} a second time")
        out[name.strip()] = place
    return out


def _of_chips(model: TintModel) -> dict[str, Any]:
    """What the fit kept of the camera: whether it made JPEGs, what it is called, and what its check chips read then."""
    if model.camera_weights is None:
        what = "no chip of this model was read from a photo, so it knows no camera"
        raise ValueProblem(what=what, remedy=Remedy.READ_THE_CHIPS_BY_PHOTO)
    kept: Mapping[str, Any] = model.report.get("camera") or {}
    return {
        "rendered": model.camera_tone is not None,
        "taken_with": str(kept.get("taken_with", "")),
        "checks": dict(kept.get("check_chips", {})),
    }
