"""Photos of chips on a light panel into a chip set: windows of the holder sheet or named places, read, checked, written whole."""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipCamera, ChipSet
from tintmix.chips.errors import ChipsExchanged, or_refused, some
from tintmix.chips.exchanged import exchanged_between, look_exchanged
from tintmix.chips.folder import alone_with, read_chips
from tintmix.chips.photo.errors import BadRegions
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.judge import reads_bare
from tintmix.chips.photo.reading import CENSORED_BELOW, PhotoReading, read_gathered
from tintmix.chips.photo.sheet.holder import told_place
from tintmix.chips.readings.put import Put, Taken, put_readings
from tintmix.desk.read.instrument import ReadDone, keeps_old, put_away
from tintmix.desk.read.layout import chips_at, chips_in_windows, foreseen_in
from tintmix.desk.read.shots import PhotoOrder, Seen, called, check_order, each, filled, gather, seen, uneven
from tintmix.errors import FileProblem, Note, Remedy, ValueProblem
from tintmix.files.plain import finite

CURVE_NAME = "tone-curve.csv"
"""In a set's folder, the tone curve that a stack check measured."""


@dataclass(frozen=True, slots=True)
class _Shot:
    """One photo as it was read. places: chip → window, or nothing. uneven: chip → spread between nine parts of its place."""

    photo: Seen
    reading: PhotoReading
    places: Mapping[str, str]
    uneven: Mapping[str, float]
    notes: tuple[Note | str, ...]
    passed: tuple[str, ...] = ()


def read_photos(
    set_path: str | os.PathLike[str],
    order: PhotoOrder,
    *,
    replace_old: bool = False,
    correct_drift: bool = False,
    others_ignored: bool = False,
    dry_run: bool = False,
    as_laid: bool = False,
    foreseen: Mapping[str, str] | None = None,
) -> ReadDone:
    """Read photos into a set whose readings are of kind "camera". Raises; then the set is as it was.

    as_laid: the chips lie as they are said to, though some look exchanged. foreseen: how chips should look, as holder.csv has
    it; without it the set's own holder.csv is asked.
    """
    with alone_with(os.fspath(set_path), dry_run):
        return _read_photos(set_path, order, replace_old, correct_drift, others_ignored, dry_run, as_laid, foreseen)


def _read_photos(
    set_path: str | os.PathLike[str],
    order: PhotoOrder,
    replace_old: bool,
    correct_drift: bool,
    others_ignored: bool,
    dry_run: bool,
    as_laid: bool,
    foreseen: Mapping[str, str] | None,
) -> ReadDone:
    old = read_chips(set_path)  # type: ignore[arg-type]
    check_order(order)
    _check_kind(old, some([called(picture) for picture in order.photos]))
    shots = each(order, lambda photo, panel: _read_one(old, order, photo, panel, others_ignored))
    where = ", ".join(shot.photo.name for shot in shots)
    if len({shot.photo.rendered for shot in shots}) > 1:
        what = "some of these photos are raw and some are JPEGs or the like"
        raise ValueProblem(where=where, what=what, remedy=Remedy.READ_ONE_KIND_AT_ONCE)
    read = {chip for shot in shots for chip in shot.reading.places}
    chips, changes, camera = _camera(old, shots[0].photo, read, keeps_old(old, read, replace_old))
    taken = _taken(shots, where, camera)
    with or_refused(where):
        put = _with_unevenness(put_readings(chips, taken, replace_old, correct_drift), shots)
    fresh = [row.chip for row in put.rows if row.action in ("new", "replaced")]
    pairs = exchanged_between([{name: one.values for name, one in shot.reading.places.items()} for shot in shots])
    pairs = pairs or look_exchanged(put.chips, fresh, foreseen or foreseen_in(old.folder))
    if pairs and not as_laid:
        raise ChipsExchanged(where, pairs)
    sources = [(shot.photo.name, shot.photo.form, len(shot.reading.places)) for shot in shots]
    opened = [name for shot in shots for name in (shot.photo.name, shot.photo.panel) if name]
    notes = [*dict.fromkeys(note for shot in shots for note in shot.notes), *_notes(old, order, shots)]
    passed = list(dict.fromkeys(name for shot in shots for name in shot.passed))
    done = put_away(put, old, changes, sources, opened, notes, passed, dry_run)
    return ReadDone(put, _told(done.body, shots, put))


def _check_kind(old: ChipSet, where: str) -> None:
    reading = old.reading
    if reading.kind != "camera":
        what = f'a photo gives camera readings, and set.toml says kind = "{reading.kind}"'
        raise ValueProblem(where=where, what=what, remedy=Remedy.SET_FOR_THE_PHOTO)
    if reading.relative_to != "air":
        what = f'a photo is read against the bare panel, and set.toml says relative_to = "{reading.relative_to}"'
        raise ValueProblem(where=where, what=what, remedy=Remedy.RELATIVE_TO_AIR)


def _camera(
    old: ChipSet, photo: Seen, read: Collection[str], keeps: bool
) -> tuple[ChipSet, dict[str, Any], ChipCamera]:
    """The set with its camera and light as the photo is, where set.toml leaves them open and no older reading stays; what that
    changes; and, where the photo is of another kind than the set's, which: then each chip says so itself.

    Raises ValueProblem.
    """
    reading, left = old.reading, old.defaults_used
    changes: dict[str, Any] = {}
    own: ChipCamera = ""
    if photo.rendered != (reading.camera == "rendered"):
        own = "rendered" if photo.rendered else "unknown"
        if "camera" in left and not keeps:
            changes["camera"], own = own, ""
    if "light" in left and not keeps:
        changes["light"] = "unknown"
    changes |= _taken_with(old, photo, read, keeps, own)
    if not changes:
        return old, {}, own
    # Where set.toml says no spread, it goes by the camera.
    spread: dict[str, Any] = {"reading_spread": None} if "reading_spread" in left and "camera" in changes else {}
    fresh = replace(reading, **changes, **spread)
    return replace(old, reading=fresh, defaults_used={k: v for k, v in left.items() if k not in changes}), changes, own


def _taken_with(old: ChipSet, photo: Seen, read: Collection[str], keeps: bool, own: ChipCamera) -> dict[str, Any]:
    """What set.toml learns of the camera. Raises ValueProblem for a second one whose photo shows no check chip that was read."""
    now, before = photo.taken_with, old.reading.taken_with
    if not now or now == before or own:
        return {}
    if not before or not keeps:
        return {"taken_with": now}
    if not any(chip.check and chip.is_read and chip.name in read for chip in old.chips):
        what = f"it was taken with {now}, and the set's chips with {before}: to readings, another camera"
        raise ValueProblem(where=photo.name, what=what, remedy=Remedy.CHECK_CHIPS_FIRST)
    return {}


def _read_one(old: ChipSet, order: PhotoOrder, photo: Photo, panel: Photo | None, others_ignored: bool) -> _Shot:
    if order.at:
        places = chips_at(old, order.at)
        gathered = gather(order, photo, panel, places)
        reading = read_gathered(gathered)
        bare = [name for name, place in reading.places.items() if place.empty]
        if bare:
            raise BadRegions(photo.name, [reads_bare(name) for name in bare])
        return _Shot(seen(gathered), reading, {}, uneven(gathered, {chip: chip for chip in places}), reading.warnings)
    laid = chips_in_windows(old, order.mapping, order.number, photo.name)
    everything = gather(order, photo, panel, {})
    mine = replace(everything, chips={_said(laid[w], w): patch for w, patch in everything.chips.items() if w in laid})
    # What is wrong with the panel's photo is told before what it makes of windows.
    reading = read_gathered(mine, skip_empty=True)
    strangers = list(filled(everything, [w for w in everything.chips if w not in laid]))
    if strangers and not others_ignored:
        windows = "; ".join(map(told_place, strangers[:3])) + (" and others" if len(strangers) > 3 else "")
        raise ValueProblem(
            where=photo.name,
            what=f"something lies in the holder sheet where no chip is laid ({windows})",
            remedy=Remedy.NAME_THE_CHIP,
            window=strangers[0],
        )
    if not reading.places:
        what = f"all windows that should hold a chip are empty ({some(list(laid.values()))}), as in a photo of the bare panel"
        raise FileProblem(where=photo.name, what=what, remedy=Remedy.GIVE_BOTH_PHOTOS)
    chip_of = {_said(chip, w): chip for w, chip in laid.items()}
    empty = [said for said in mine.chips if said not in reading.places]
    notes = list(reading.warnings)
    if empty:
        many = len(empty) > 1
        notes.append(
            f"the window{'s' if many else ''} of {', '.join(empty)} {'are' if many else 'is'} empty, so nothing was read there"
        )
    renamed = {chip_of[said]: replace(place, name=chip_of[said]) for said, place in reading.places.items()}
    return _Shot(
        seen(everything),
        replace(reading, places=renamed),
        {chip: w for w, chip in laid.items()},
        uneven(mine, {said: chip_of[said] for said in reading.places}),
        tuple(notes),
        tuple(map(told_place, strangers)),
    )


def _said(chip: str, place: str) -> str:
    return f"{chip} in {told_place(place)}"


def _taken(shots: Sequence[_Shot], where: str, camera: ChipCamera) -> list[Taken]:
    """What was read of each chip, a row for each photo that shows it."""
    rows: dict[str, list[Any]] = {}
    for shot in shots:
        for chip, place in shot.reading.places.items():
            rows.setdefault(chip, []).append(place.values)
    return [Taken(chip, np.array(values), where, camera) for chip, values in rows.items()]


def _with_unevenness(put: Put, shots: Sequence[_Shot]) -> Put:
    """Chips whose place was uneven get a spread of their own: the set's, and half that between the nine parts, in squares.

    Half: what makes a place uneven (a slope of light, a smear, settled pigment) moves its mean by less than its parts.
    """
    fresh = {row.chip for row in put.rows if row.action in ("new", "replaced")}
    chips = []
    for chip in put.chips.chips:
        parts = [shot.uneven[chip.name] for shot in shots if chip.name in shot.uneven]
        stated = put.chips.reading.by(chip.camera).reading_spread
        own = float(np.hypot(stated, 0.5 * max(parts, default=0.0)))
        if chip.name in fresh and own > 1.25 * stated:
            chip = replace(chip, reading_spread=float(f"{max(own, chip.reading_spread or 0.0):.3g}"))
        chips.append(chip)
    return replace(put, chips=replace(put.chips, chips=tuple(chips)))


def _notes(old: ChipSet, order: PhotoOrder, shots: Sequence[_Shot]) -> list[Note | str]:
    told: list[Note | str] = []
    if shots[0].photo.rendered:
        told.append(
            "these are JPEGs or the like, which are rough readings: channels below 1 % only say that little came through. "
            "Raw photos are several times better"
        )
        if order.curve is None and old.folder is not None and (old.folder / CURVE_NAME).exists():
            says = f"the set holds a measured tone curve, {CURVE_NAME}, which was not used."
            told.append(Note(says=says, remedy=Remedy.USE_THE_CURVE, facts={"curve": old.folder / CURVE_NAME}))
    if not any(shot.reading.glare is not None for shot in shots):
        told.append("no black place was named, so glare is not known; nothing below 20 % of the panel can be read so")
    return told


def _told(body: dict[str, Any], shots: Sequence[_Shot], put: Put) -> dict[str, Any]:
    """The body with what only a photo tells."""
    own = {chip.name: chip.reading_spread for chip in put.chips.chips}
    for row, done in zip(body["chips"], put.rows, strict=True):
        seen = [shot.reading.places[done.chip] for shot in shots if done.chip in shot.reading.places]
        row["place"] = next((shot.places[done.chip] for shot in shots if done.chip in shot.places), None)
        row["values"] = list(done.values)
        row["pixel_spread"] = np.mean([place.spread for place in seen], axis=0).tolist()
        row["reading_spread"] = own[done.chip] if done.action in ("new", "replaced") else None
        row["below_1_percent"] = [c for c, v in zip("RGB", done.values, strict=True) if v < CENSORED_BELOW]
    sheet, glare, first = shots[0].reading.sheet, shots[0].reading.glare, shots[0].photo
    body["photo"] = {
        "rendered": first.rendered,
        "tone_curve": first.tone_curve,
        "taken_with": first.taken_with,
        "panel": [shot.photo.panel for shot in shots if shot.photo.panel],
        "holder": None if sheet is None else {"marks": sheet.marks, "aslant_degrees": sheet.aslant_degrees},
        "glare": None if glare is None else glare.tolist(),
    }
    cleaned: dict[str, Any] = finite(body)
    return cleaned
