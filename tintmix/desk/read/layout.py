"""Which chip lies where: in the holder sheet by holder.csv and as the maker says, in a photo by named places."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.errors import NoMatch
from tintmix.chips.names import cup_in
from tintmix.chips.photo.foreseen import foreseen_lab
from tintmix.chips.photo.region import INSET, Rectangle, rectangle
from tintmix.chips.photo.sheet.holder import (
    LAID_NAME,
    WINDOWS,
    Tag,
    chip_window,
    foreseen_from_text,
    laid_from_text,
    laid_to_text,
    lay_out,
)
from tintmix.chips.readings.matching import plain_name, read_map
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.files import caps
from tintmix.files.text import load_text
from tintmix.files.words import did_you_mean, plain
from tintmix.files.write import Outputs
from tintmix.numerals import numeral

Laid = Mapping[str, str]
"""Window → chip."""
Draw = Callable[[Sequence[Laid], str, Mapping[str, Tag]], bytes]
"""Makes the sheet (PDF) of what lies where in each photo, the set's name, and what stands at each chip's window."""


def chips_in_windows(chips: ChipSet, mapping: Sequence[str], number: int | None, where: str) -> dict[str, str]:
    """Window → chip, by the set's holder.csv and "WINDOW=CHIP" texts, which go before it; CHIP empty leaves the window out.

    number: which photo of holder.csv, from 1. Raises ValueProblem, NoMatch, what `load_text` and `read_map` raise.
    """
    photos = _laid(chips.folder)
    named = read_map(mapping).items()
    said = {chip_window(place, f"{plain(place, 40)}={plain(chip, 60)}"): chip for place, chip in named}
    if len(said) < len(mapping):
        raise ValueProblem(what="a window is named twice; one chip lies in it")
    count = max(1, len(photos))
    if (number is None and count > 1 and not said) or (number is not None and not 1 <= number <= count):
        raise ValueProblem(
            where=LAID_NAME,
            what=f"lays the chips out for {count} photos" if number is None else f"has no photo {number}",
            remedy=Remedy.WHICH_PHOTO,
            numbers=f"a number from 1 to {count}" if count > 1 else "1, or leave it out",
        )
    laid = dict(photos[(number or 1) - 1]) if photos and (number is not None or count == 1) else {}
    laid = {place: chip for place, chip in laid.items() if chip not in said.values()} | said
    out = {place: chip_called(chip, chips) for place, chip in laid.items() if chip}
    if not out:
        what = "nothing tells which chip lies in which window of the holder sheet"
        raise ValueProblem(where=where, what=what, remedy=Remedy.LAY_THE_CHIPS_OUT)
    twice = [chip for chip in out.values() if list(out.values()).count(chip) > 1]
    if twice:
        raise ValueProblem(what=f"{twice[0]} is laid in two windows; a chip lies in one")
    return {one.name: out[one.name] for one in WINDOWS if one.name in out}


def chips_at(chips: ChipSet, texts: Sequence[str]) -> dict[str, Rectangle]:
    """Chip → place in the photo, from "CHIP=x,y,w,h" texts. Raises ValueProblem."""
    out: dict[str, Rectangle] = {}
    for text in texts:
        asked, box = named_place(text)
        try:
            chip = chip_called(asked, chips)
        except NoMatch:
            near = did_you_mean(asked, [one.name for one in chips.chips])
            raise ValueProblem(where=plain(text, 60), what=f"no chip is called {plain(asked, 40)}; {near}") from None
        if chip in out:
            raise ValueProblem(where=plain(text, 60), what=f"names {chip} a second time; give each chip one place")
        out[chip] = box
    return out


def check_apart(chips: Mapping[str, Rectangle], opened: Sequence[Rectangle], dark: Sequence[Rectangle]) -> None:
    """That no place lies over another, as far as both are read. Raises ValueProblem.

    >>> check_apart({"b1": rectangle("0,0,100,100")}, [rectangle("100,0,100,100")], [])
    """
    named = [("open", opened), ("dark", dark)]
    places = [*chips.items(), *((f"{kind} place {i}", box) for kind, them in named for i, box in enumerate(them, 1))]
    for (other, two), (name, one) in combinations(places, 2):
        low = np.maximum(one.corners[0] + INSET * one.sides, two.corners[0] + INSET * two.sides)
        high = np.minimum(one.corners[2] - INSET * one.sides, two.corners[2] - INSET * two.sides)
        if np.all(high > low):
            raise ValueProblem(where=name, what=f"lies over {other} in the photo; give each a place of its own")


def named_place(text: str) -> tuple[str, Rectangle]:
    """A name and its place in a photo, from "NAME=x,y,w,h". Raises ValueProblem.

    >>> named_place("b1=10,20,300,200")[0]
    'b1'
    """
    name, _, box = text.rpartition("=")
    if not name.strip() or not box.strip():
        none = "names no place; write CHIP=x,y,w,h in pixels"
        what = none if name.strip() else "is not CHIP=x,y,w,h in pixels, such as b1=1200,800,300,300"
        raise ValueProblem(where=plain(text, 60), what=what)
    return name.strip(), rectangle(box)


def chip_called(name: str, chips: ChipSet) -> str:
    """The set's chip of that name; letter case and blanks do not count. Raises NoMatch."""
    names = [chip.name for chip in chips.chips]
    found = [name] if name in names else [one for one in names if plain_name(one) == plain_name(name)]
    if len(found) != 1:
        raise NoMatch([] if found else [name], names, [f"{name} ({' or '.join(found[:3])})"] if found else [])
    return found[0]


def holder_for(
    chips: ChipSet, foreseen: Mapping[str, str] | None = None, kept: Sequence[Laid] = ()
) -> tuple[dict[str, str], ...]:
    """Where the chips of a set lie: all that are in use. A sheet that is printed stays right: chips that are left out, removed or
    added later move no other, and what is marked as a check chip goes into K1 or K2.

    foreseen: as holder.csv has it; like colours are then laid apart. kept: as the chips were laid out before.
    """
    names = [chip.name for chip in chips.chips]
    known = dict(foreseen or {})
    colours = {chip: lab for chip, told in known.items() if (lab := foreseen_lab(told)) is not None}
    photos = [dict(photo) for photo in kept or lay_out(list(colours) or names, (), colours)]
    free = [one.name for one in WINDOWS if one.role == "chip"]
    for name in names:
        if not any(name in photo.values() for photo in photos):
            room = next((i for i, photo in enumerate(photos) if set(free) - set(photo)), len(photos))
            photos += [{}] if room == len(photos) else []
            photos[room][next(one for one in free if one not in photos[room])] = name
    used = [chip for chip in chips.chips if chip.use]
    checks = dict(zip([one.name for one in WINDOWS if one.check], [c.name for c in used if c.check], strict=False))
    there = {chip.name for chip in used} - set(checks.values())
    told = [{window: chip for window, chip in photo.items() if chip in there} | checks for photo in photos]
    return tuple({one.name: photo[one.name] for one in WINDOWS if one.name in photo} for photo in told)


def tags_for(chips: ChipSet, foreseen: Mapping[str, str] | None = None) -> dict[str, Tag]:
    """What stands at the window of each chip."""
    told, tags = foreseen or {}, {}
    for chip in chips.chips:
        # A thickness that is in its name is the one that it is known by, though it came out a little otherwise.
        stem = cup_in(chip.name)
        below = chip.name[len(stem) :].strip() or f"{numeral(chip.thickness_mm)} mm"
        tags[chip.name] = Tag(stem, below, told.get(chip.name, ""))
    return tags


def foreseen_in(folder: Path | None) -> dict[str, str]:
    """What holder.csv in a set's folder foresees of its chips. Raises what `foreseen_from_text` raises."""
    if folder is None or not (folder / LAID_NAME).exists():
        return {}
    path = folder / LAID_NAME
    return foreseen_from_text(load_text(path, caps.LAYOUT, "the layout of a holder sheet"), plain(str(path), 300))


def write_holder(set_path: str | Path, where: str | Path, draw: Draw, replace_old: bool = False) -> dict[str, Any]:
    """The holder sheet for a set, and holder.csv in its folder, which stays as it is where it is there already; what came of
    it, as JSON has it.

    Raises what `read_chips` and `Outputs` raise.
    """
    chips = read_chips(set_path)
    assert chips.folder is not None
    kept = _laid(chips.folder)
    foreseen = foreseen_in(chips.folder)
    photos = kept or holder_for(chips)
    other = f"the set's readings are of kind {chips.reading.kind}; a photo needs kind camera"
    notes: list[Note | str] = [other] if chips.reading.kind != "camera" else []
    if not foreseen:
        notes.append(
            "no plan predicted how these chips look: the sheet has no swatches, and like colours may lie side by side"
        )
    written = [str(where)]
    with Outputs([chips.folder], replace_old) as outputs:
        sheet = draw(photos, chips.title or chips.folder.name, tags_for(chips, foreseen))
        outputs.at(where, "holder sheet").write_bytes(sheet)
        if not kept:
            outputs.at(chips.folder / LAID_NAME).write_text(laid_to_text(photos), encoding="utf-8")
            written.append(str(chips.folder / LAID_NAME))
    laid = {chip for photo in photos for chip in photo.values()}
    missing = [chip.name for chip in chips.chips if chip.use and chip.name not in laid]
    if kept and missing:
        lacks = f"{LAID_NAME} was there already and has no window for {', '.join(missing)}"
        notes.append(f"{lacks}; delete it to have all chips laid out anew")
    if len(photos) > 1:
        says = f"there are more chips than windows, so they take {len(photos)} photos."
        notes.append(Note(says=says, remedy=Remedy.NUMBER_THE_PHOTOS))
    return {"set": str(chips.folder), "photos": [dict(photo) for photo in photos], "notes": notes, "written": written}


def _laid(folder: Path | None) -> tuple[dict[str, str], ...]:
    if folder is None or not (folder / LAID_NAME).exists():
        return ()
    path = folder / LAID_NAME
    return laid_from_text(load_text(path, caps.LAYOUT, "the layout of a holder sheet"), plain(str(path), 300))
