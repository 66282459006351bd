"""Tint: what a dose looks like where the casting is thin and where it is thick; and the one-cup question."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tintmix.errors import TintmixError
from tintmix.faces.web import units
from tintmix.faces.web.render import phr
from tintmix.faces.web.units import Units
from tintmix.faces.web.visit import Answer, Routes, Visit, wants_json
from tintmix.faces.web.words import told_in_units
from tintmix.optics.section import Section
from tintmix.page.casting.paint import colours, insert_reflectance
from tintmix.page.casting.wish import casting_of
from tintmix.page.casting.words import shape_words
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.colour.target import chosen_doses, wanted_colours
from tintmix.page.colour.tint import checked_doses, dose_tops, tint_seen
from tintmix.page.errors import needs_first
from tintmix.page.places import LIGHTS, MOST_PLACES, PartWish, part_from, part_of
from tintmix.page.sections import sections_of
from tintmix.page.values import to_table
from tintmix.pigments.model import TintModel
from tintmix.quantities import DOSE_PHR

ROUTES = Routes()
ONE_CUP_CHIPS = 2
CUP_WAYS = {
    "air": "transmission, against a light",
    "45/0": "reflection, 45/0: chips dry on its white tile",
    "d/8": "reflection, a sphere, gloss excluded: chips dry on its white tile",
}
"""How a cup's chips may be read."""
STEPS_OF_SLIDER = 1000
SLIDER_POWER = 2
"""A slider's dose grows with the square of its way: near zero a step is a hundredth of a step at the end."""


@ROUTES.get("/tint")
def show(visit: Visit) -> Answer:
    """The screen; without a model, the one-cup question."""
    part = part_of(visit.now.area("part"))
    model = model_at_hand(visit.workspace, visit.now)
    return visit.shows(
        "cup.html" if model is None else "tint.html", "tint", part=part, most_places=MOST_PLACES,
        light_choices=[(key, f"{words} ({key})") for key, words in LIGHTS.items()], one_cup_chips=ONE_CUP_CHIPS,
        ways=list(CUP_WAYS.items()), casting=_casting_words(visit),
        **({} if model is None else _seen(visit, model, part)),
    )  # fmt: skip


def _seen(visit: Visit, model: TintModel, part: PartWish) -> dict[str, Any]:
    doses = {name: dose for name, dose in visit.now.area("tint").get("doses", {}).items() if name in model.pigments}
    usual, tops = dose_tops(model, {}), dose_tops(model, doses)
    told = {} if model.is_one_cup else model.report.get("pigments", {})
    dots = {name: one["swatch"]["srgb"] for name, one in told.items() if one.get("swatch")}

    def along(dose: float, name: str) -> float:
        return (dose / tops[name]) ** (1 / SLIDER_POWER) if tops[name] else 0.0

    sliders = [
        {
            "name": name, "srgb": dots.get(name), "dose": doses.get(name, 0.0), "usual": usual[name], "highest": highest,
            "at": round(STEPS_OF_SLIDER * along(doses.get(name, 0.0), name)),
            "known": 100 * min(along(highest, name), 1.0) if tops[name] else 100,
        }
        for name, highest in zip(model.pigments, model.highest_phr.tolist(), strict=True)
    ]  # fmt: skip
    return {
        "seen": tint_seen(model, doses, part, _wanted(visit, model, part), sections_of(visit.workspace, part)),
        "sliders": sliders,
        "is_chosen": bool(doses) and doses == chosen_doses(visit.now), "one_cup": model.is_one_cup,
        "target_words": visit.now.area("recipes").get("target_words", ""),
    }  # fmt: skip


def _casting_words(visit: Visit) -> str:
    """What the casting's picture shows; nothing where none was traced."""
    wish = casting_of(visit.now.area("casting"))
    return "" if wish.shape is None else shape_words(wish, visit.workspace.shape(wish.shape))


def _wanted(visit: Visit, model: TintModel, part: PartWish) -> list[Any]:
    """What the target wants at each place; nothing where there is no target, or it cannot be used with this model."""
    if model.is_one_cup or not visit.now.area("recipes").get("target"):
        return []
    try:
        return wanted_colours(visit.workspace, visit.now, model, part)
    except TintmixError:
        return []


@ROUTES.get("/tint/look")
def look(visit: Visit) -> Answer:
    """The colours of some doses, for the script: as quick as can be, and nothing is kept."""
    doses = {
        box[5:]: units.number(value, box[5:], *DOSE_PHR.bounds)
        for box, value in visit.form.typed.items()
        if box.startswith("dose.")
    }
    model, part, wanted, chosen, casting, sections = _at_hand(visit)
    body = tint_seen(model, doses, part, wanted, sections)
    body["warnings"] = [told_in_units(sentence, chosen) for sentence in body["warnings"]]
    if casting is not None:
        body["casting"] = colours(model, doses, *casting, part.light, part.observer)
    return body


AtHand = tuple[TintModel, PartWish, list[Any], Units, tuple[Any, Any] | None, list[Section]]


def _at_hand(visit: Visit) -> AtHand:
    """Model, part, target, units, the casting's lengths of path and its insert's reflectance, and the places to look at, found
    once for each revision of the workspace. Raises NotThere."""
    state = visit.request.app.state
    kept = getattr(state, "tint_at_hand", None)
    if kept is None or kept[0] != visit.now.revision:
        model, part = _model(visit), part_of(visit.now.area("part"))
        kept = visit.now.revision, (
            model, part, _wanted(visit, model, part), visit.units, _casting(visit, part), sections_of(visit.workspace, part),
        )  # fmt: skip
        state.tint_at_hand = kept
    found: AtHand = kept[1]
    return found


def _casting(visit: Visit, part: PartWish) -> tuple[Any, Any] | None:
    wish = casting_of(visit.now.area("casting"))
    if wish.shape is None:
        return None
    srgb = None if wish.insert is None else wish.insert.srgb
    return visit.workspace.shape(wish.shape).picture.lengths_mm, insert_reflectance(srgb, part.light, part.observer)


def _model(visit: Visit) -> TintModel:
    model = model_at_hand(visit.workspace, visit.now)
    if model is None:
        raise needs_first("The tint", "chips that were learnt from")
    return model


@ROUTES.post("/tint/doses", show)
def doses(visit: Visit) -> Answer:
    """Keep the doses: from the script as one lets a slider go, or from the form."""
    model, tint = _model(visit), visit.now.area("tint")
    before = tint.get("doses", {})
    typed = {name: (visit.form.maybe(f"dose.{name}", name, *DOSE_PHR.bounds) or 0.0) for name in model.pigments}
    # A dose that reads as the one that is kept is that one: a box has three digits, a recipe more.
    same = {name for name, dose in before.items() if name in typed and phr(dose) == phr(typed[name])}
    new = checked_doses(model, typed | {name: before[name] for name in same})
    visit.change(_label(before, new), merge=True, tint={**tint, "doses": new})
    if not wants_json(visit.request):
        return "/tint"
    now = visit.now
    return {"revision": now.revision_of("tint"), "undo": now.undo[-1][1] if now.undo else ""}


@ROUTES.get("/tint/now")
def kept(visit: Visit) -> Answer:
    """The doses that are kept, and their revision: for a tab that found them changed."""
    return {"revision": visit.now.revision_of("tint"), "doses": visit.now.area("tint").get("doses", {})}


def _label(before: dict[str, float], after: dict[str, float]) -> str:
    changed = sorted(name for name in {*before, *after} if before.get(name, 0.0) != after.get(name, 0.0))
    return f"dose of {changed[0]}" if len(changed) == 1 else "doses"


@ROUTES.post("/tint/places", show)
def places(visit: Visit) -> Answer:
    """The places on the casting, the light, and the least light wanted."""
    form, old = visit.form, part_of(visit.now.area("part")).places
    before = [place.thickness_mm for place in old]
    names, thicknesses, seen = [], [], []
    for i in range(MOST_PLACES):
        if form.text(f"place_{i}_seen"):
            seen += [
                replace(one, name=form.line(f"place_{i}_name", "the name of a place") or one.seen)
                for one in old
                if one.seen and form.text(f"place_{i}_seen") == f"{one.shape}/{one.seen}"
            ]
        elif text := form.text(f"place_{i}_mm"):
            name = form.line(f"place_{i}_name", "the name of a place")
            was = before[i] if i < len(before) else None
            names.append(name)
            thicknesses.append(visit.units.mm(text, f"the thickness of {name or 'a place'}", was))
    floor = form.number("floor_percent", "the least light wanted (%)", 0.0, 99.0) / 100
    part = part_from(names, thicknesses, floor, form.choice("light", LIGHTS, "D65"), seen)
    visit.change("places on the casting", part=to_table(part))
    return f"/{form.choice('back', ('tint', 'recipes', 'chips'), 'tint')}"


@ROUTES.post("/tint/cup", show)
def cup(visit: Visit) -> Answer:
    """The one-cup question, answered."""
    # Here, since planning and reading chips take 0.1 s, and the first screen need not wait for them.
    from tintmix.page.colour import cup as page_cup

    form, is_demo = visit.form, bool(visit.form.text("demo"))
    readings = []
    for i in range(ONE_CUP_CHIPS):
        text = form.text(f"chip_{i}_mm")
        if text or not (i or is_demo):
            mm = visit.units.mm(text, f"the thickness of chip {i + 1}")
            readings.append((mm, form.lab(f"chip_{i}_*", f"chip {i + 1}")))
    thick = visit.units.mm(form.text("thick_mm"), "the casting's thickest place", 60.0)
    before = part_of(visit.now.area("part"))
    thin = min(before.thicknesses_mm)
    part = part_from(["thin", "thick"], [thin if thin < thick else thick / 8, thick], before.floor, before.light)
    how = form.choice("how", CUP_WAYS, "air")
    tile_lab = form.lab("tile_*", "the bare white tile") if how != "air" and form.text("tile_L") else None
    chips = page_cup.demo_cup() if is_demo else page_cup.cup_set(readings, how, tile_lab)  # type: ignore[arg-type]
    return visit.begin(
        "Learning from your cup", "/tint",
        lambda workspace, work: page_cup.learn_cup(workspace, chips, part, work), 1.5,
    )  # fmt: skip
