"""Chip sets on the page: what each chip reads, as a colour, beside what the fit makes of it; and every change of a set.

A change makes a new set; the old one stays as it was, for undo.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tintmix.book.book import book_to_ask
from tintmix.chips.appearance import as_lab, eye_of
from tintmix.chips.chip import Chip, ChipSet, Kind, Pigment, Reading
from tintmix.chips.convert import Wish
from tintmix.chips.instruments.tabular.typed_colours import parse_colours
from tintmix.chips.names import chip_name, cup_names
from tintmix.chips.readings.kept_maps import layouts
from tintmix.chips.rows import HAZE_WORDS
from tintmix.desk.plan.plan import planned
from tintmix.desk.plan.tile import OnTile, reading_on
from tintmix.desk.read.instrument import read_into_set
from tintmix.optics.spectrum import Array
from tintmix.page.chips.instrument import parsed
from tintmix.page.errors import by_known_names, first_of, needs_first, not_typed, too_many
from tintmix.page.hexes import hexes, wide_under
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.resin import Resin

MOST_CHIPS = 1000
MOST_SETS = 20
MOST_PIGMENTS = 40
KIND_WORDS = {
    "colour": "colorimeter (L*a*b*)",
    "spectrum": "spectrophotometer",
    "camera": "photo on a light panel",
}
SRGB_WHITE = np.array([0.9505, 1.0, 1.089])
"""IEC 61966-2-1: a camera's readings are told as if its channels were linear sRGB, whose white is the bare panel."""
SPECTRUM_NM = tuple(float(nm) for nm in range(400, 701, 10))


def find_set(now: Snapshot, identity: str) -> dict[str, Any]:
    """The entry of a set. Raises NoSuchThing."""
    return first_of((one for one in now.area("chips").get("sets", []) if one["id"] == identity), "chip set")


def with_set(now: Snapshot, thing: str, chips: ChipSet, identity: str | None = None) -> dict[str, Any]:
    """The chips area with a kept set at hand: in the place of the one of that identity, or added. Raises ValueProblem."""
    area, used = now.area("chips"), [chip for chip in chips.chips if chip.use]
    entry = {
        "id": identity or thing,
        "thing": thing,
        "title": chips.title or "my chips",
        "kind": chips.reading.kind,
        "chips": len(used),
        "read": sum(chip.is_read for chip in used),
        "one_cup": chips.is_one_cup,
    }
    sets = {one["id"]: one for one in area.get("sets", [])} | {entry["id"]: entry}
    if len(sets) > MOST_SETS:
        raise too_many("chip sets", len(sets), MOST_SETS)
    return area | {"sets": list(sets.values()), "active": entry["id"]}


def without_set(now: Snapshot, identity: str) -> dict[str, Any]:
    """The chips area without a set."""
    area = now.area("chips")
    area["sets"] = [one for one in area.get("sets", []) if one["id"] != identity]
    area["active"] = area["sets"][-1]["id"] if area["sets"] else None
    return area


def put_set(
    workspace: Workspace,
    now: Snapshot,
    label: str,
    chips: ChipSet,
    expected: int,
    identity: str | None = None,
    active: str | None = None,
    laid: Mapping[str, Any] | None = None,
) -> Snapshot:
    """Keep a set, as a new one or in the place of `identity`. expected: the revision of the chips area it was made from.
    active: the set at hand afterwards; None: this one. laid: how its holder sheet was laid out, where it brings that."""
    if len(chips.chips) > MOST_CHIPS:
        raise too_many("chips", len(chips.chips), MOST_CHIPS)
    area = with_set(now, workspace.keep_set(chips), chips, identity)
    if laid:
        area["laid"] = {**area.get("laid", {}), area["active"]: dict(laid)}
    return workspace.change(label, {"chips": area | {"active": active or area["active"]}}, {"chips": expected})


# What is shown


def set_body(chips: ChipSet, report: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """A set by cup, and of each chip the colour it reads, and, from a fit's report, the fitted one and how far it is off.

    >>> one = ChipSet(Reading("colour"), (Pigment("azure"),), (Chip("b1", "b1", (0.02,), 3.0, (80, -5, -9)),))
    >>> set_body(one)["seen"]["b1"]["srgb"]
    '#b3cad7'
    """
    told = {row["chip"]: row for row in (report or {}).get("chips", [])}
    read = [chip for chip in chips.chips if chip.is_read]
    labs = as_lab(chips, np.array([chip.values for chip in read], dtype=np.float64)) if read else np.zeros((0, 3))
    fitted = [chip.name for chip in read if told.get(chip.name, {}).get("fitted_lab")]
    models = dict(zip(fitted, _shown(chips, [told[name]["fitted_lab"] for name in fitted]), strict=True))
    shown = dict(zip([chip.name for chip in read], zip(labs.tolist(), _shown(chips, labs), strict=True), strict=True))
    seen: dict[str, dict[str, Any]] = {}
    cups: dict[str, dict[str, Any]] = {}
    for chip in chips.chips:
        row, (lab, (srgb, wide)) = told.get(chip.name, {}), shown.get(chip.name, (None, (None, None)))
        model, model_wide = models.get(chip.name, (None, None))
        seen[chip.name] = {
            "srgb": srgb, "wide": wide, "lab": lab and [round(v, 1) for v in lab], "model": model, "model_wide": model_wide,
            "off": row.get("delta_e00"), "doubted": bool(row.get("doubted")) and chip.use,
        }  # fmt: skip
        doses = {p.name: d for p, d in zip(chips.pigments, chip.doses_phr, strict=True) if d}
        cups.setdefault(chip.cup, {"doses_phr": doses, "chips": []})["chips"].append(chip)
    return {
        "set": chips,
        "title": chips.title or "my chips",
        "how": KIND_WORDS[chips.reading.kind] + (", chips on a white tile" if chips.reading.on_tile else ""),
        "cups": cups,
        "seen": seen,
        "unread": [chip.name for chip in chips.chips if chip.use and not chip.is_read],
        "doubted": [name for name, one in seen.items() if one["doubted"]],
        "curves": any(curve is not None for curve in (chips.light_curve, chips.camera_curve, chips.tile_curve)),
        # Which are not read stands in "unread" already.
        "warnings": [sentence for sentence in chips.warnings if not sentence.startswith("not read yet")],
    }


def _shown(chips: ChipSet, labs: ArrayLike) -> list[tuple[str, dict[str, Any] | None]]:
    """Each colour as sRGB, and as a screen of more colours shows it where it lies beyond."""
    white = SRGB_WHITE if chips.reading.kind == "camera" else eye_of(chips).bare
    return list(zip(hexes(labs, white), wide_under(labs, white), strict=True))


def camera_lab(values: Array) -> tuple[tuple[float, float, float], str]:
    """A camera's channels (3,), as parts of the bare panel, as L*a*b* and "#rrggbb", as if they were linear sRGB."""
    lab = as_lab(ChipSet(Reading("camera"), (), ()), np.asarray(values, dtype=np.float64)[None])
    return (float(lab[0, 0]), float(lab[0, 1]), float(lab[0, 2])), hexes(lab, SRGB_WHITE)[0]


# What is done


def begin(
    title: str,
    kind: Kind,
    pigments: Sequence[str],
    cup: str,
    thicknesses_mm: Sequence[float],
    resin: Resin | None,
    on_tile: OnTile | None = None,
    light: str = "D65",
    observer: int = 10,
) -> ChipSet:
    """A set with one untinted cup, to be filled by hand. on_tile: the white tile that its chips are read on. light,
    observer: those of its colours. Raises ValueProblem."""
    names = [name for name in dict.fromkeys(pigments) if name]
    if not names:
        raise not_typed("the pigments", "", "Name at least one, such as azure.")
    if len(names) > MOST_PIGMENTS:
        raise too_many("pigments", len(names), MOST_PIGMENTS)
    nm = SPECTRUM_NM if kind == "spectrum" else None
    # Of a photo's panel nobody was asked: it is a white LED lamp of some kind, and seldom daylight.
    lit = "unknown" if kind == "camera" else light
    reading = Reading(kind, light=lit, observer=observer, wavelengths_nm=nm, space="Lab" if kind == "colour" else None)
    if on_tile is not None:
        reading = reading_on(on_tile, light, observer)
    chips = ChipSet(reading, tuple(Pigment(name) for name in names), (), resin or Resin(), title or "my chips")
    return with_cup(chips, cup, {}, thicknesses_mm)


def with_cup(chips: ChipSet, cup: str, doses_phr: Mapping[str, float], thicknesses_mm: Sequence[float]) -> ChipSet:
    """The set with a cup more, a chip of each thickness poured from it. cup: its name; empty: by what is in it. Raises
    ValueProblem."""
    if not thicknesses_mm:
        raise not_typed("the thicknesses", "", "Give at least one, such as 3, 12.")
    doses = tuple(float(doses_phr.get(pigment.name, 0.0)) for pigment in chips.pigments)
    cup = cup or cup_names([pigment.name for pigment in chips.pigments], [doses], {chip.cup for chip in chips.chips})[0]
    new = tuple(Chip(chip_name(cup, mm), cup, doses, mm) for mm in thicknesses_mm)
    return replace(chips, chips=(*chips.chips, *new))


def chip_of(chips: ChipSet, name: str) -> Chip:
    """A chip by its name. Raises NoSuchThing."""
    return first_of((chip for chip in chips.chips if chip.name == name), "chip")


def with_chip(chips: ChipSet, name: str, doses_phr: Sequence[float] | None = None, **changed: Any) -> ChipSet:
    """The set with a chip changed, by the fields of a chip; None leaves as it was. Other doses are the whole cup's.

    Raises NoSuchThing, ValueProblem.
    """
    old = chip_of(chips, name)
    changed = {key: value for key, value in changed.items() if value is not None}
    if changed.get("use", old.use) != old.use:
        changed["left_out"] = ""
    rows = [replace(chip, **changed) if chip.name == name else chip for chip in chips.chips]
    if doses_phr is not None and tuple(doses_phr) != old.doses_phr:
        fresh = (chips.reading.dose_spread,) * len(chips.pigments)
        rows = [
            replace(chip, doses_phr=tuple(doses_phr), weights=None, dose_spreads=fresh) if chip.cup == old.cup else chip
            for chip in rows
        ]
    return replace(chips, chips=tuple(rows))


def with_haze(chips: ChipSet, words: Mapping[str, str], sphere: bool = False) -> ChipSet:
    """The set with what its maker saw of the chips: name → "clear", "slight", or "" for a chip not looked at.

    sphere: that an integrating sphere read them, which needs no word. A chip whose haze was read as a number keeps it. Raises
    NoSuchThing, ValueProblem.
    """
    for name, word in words.items():
        chip_of(chips, name)
        if word and word not in HAZE_WORDS:
            raise not_typed(f"the haze of {name}", word, "It is clear or slight; leave a milky chip out.")
    rows = [
        replace(chip, haze=HAZE_WORDS.get(words[chip.name]), haze_word=words[chip.name])
        if chip.name in words and (chip.haze is None or chip.haze_word)
        else chip
        for chip in chips.chips
    ]
    reading = replace(chips.reading, geometry="total") if sphere else chips.reading
    filled = {key: value for key, value in chips.defaults_used.items() if key != "geometry" or not sphere}
    return replace(chips, reading=reading, chips=tuple(rows), defaults_used=filled)


def without_chip(chips: ChipSet, name: str) -> ChipSet:
    """The set without a chip. Raises NoSuchThing, and NotThere for the last one."""
    chip_of(chips, name)
    left = tuple(chip for chip in chips.chips if chip.name != name)
    if not left:
        raise needs_first("Removing the last chip", "another chip in the set; remove the whole set instead")
    return replace(chips, chips=left)


def typed_readings(
    workspace: Workspace, entry: Mapping[str, Any], text: str, space: str, replace_old: bool
) -> tuple[str, dict[str, Any]]:
    """Typed or pasted colours into a copy of a set: its name, and the body of the answer."""
    thing, folder = workspace.copy_set(entry["thing"])
    done = read_into_set(folder, [parse_colours(text, space)], replace_old=replace_old)  # type: ignore[arg-type]
    return thing, done.body


def uploaded_readings(
    workspace: Workspace,
    entry: Mapping[str, Any],
    files: Sequence[tuple[str, bytes]],
    replace_old: bool,
    others: bool,
    quantity: str | None = None,
    unit: str | None = None,
) -> tuple[str, dict[str, Any]]:
    """Instrument files into a copy of a set: its name, and the body of the answer. Their owner's names are only shown.

    quantity, unit: what the numbers are, where the file does not say so or says it wrongly.
    """
    thing, folder = workspace.copy_set(entry["thing"])
    found = [parsed(file, layouts(folder)) for file in files]
    wish = Wish(quantity=quantity, unit=unit)
    done = read_into_set(folder, found, wish=wish, replace_old=replace_old, others_ignored=others)
    return thing, done.body


def planned_set(
    order: Any, resin: Resin | None, workspace: Workspace, now: Snapshot, new_bottles: bool = False
) -> tuple[ChipSet, dict[str, Any]]:
    """A plan as a chip set with empty readings, and the body of the answer. new_bottles: those on the book's shelf stay there."""
    name = now.area("pigments").get("model")
    model = None if name is None else workspace.model(name)
    if model is not None:
        no_dose = any(dose is None for dose in order.pigments.values())
        is_of_others = no_dose if model.is_one_cup else not set(order.pigments) & set(model.pigments)
        model = None if is_of_others else model
    with by_known_names(), book_to_ask(None) as book:
        shelf = () if book is None else book.bottles()
    resin = resin or (model and model.resin) or Resin()
    # A further set may be learnt from together with those that are here: its cups are others.
    cups = {chip.cup for one in now.area("chips").get("sets", []) for chip in workspace.chip_set(one["thing"]).chips}
    done = planned(order, model, resin, "chips", "", shelf=shelf, new_bottles=new_bottles, taken=cups)
    return done.chips, done.body


def foreseen_by(plan: Mapping[str, Any] | None) -> dict[str, str]:
    """How the chips of a plan should look, by name; of a plan that was kept by an earlier version nothing."""
    chips = [chip for cup in (plan or {}).get("cups", []) for chip in cup["chips"]]
    return {chip["chip"]: chip["predicted"] for chip in chips if "predicted" in chip}


def resin_at_hand(workspace: Workspace, now: Snapshot) -> Resin | None:
    """The resin of the set at hand, for a new one."""
    area = now.area("chips")
    thing = next((one["thing"] for one in area.get("sets", []) if one["id"] == area.get("active")), None)
    return None if thing is None else workspace.chip_set(thing).resin
