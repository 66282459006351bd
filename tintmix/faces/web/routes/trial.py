"""Trial chip: it came out off; what to do about the tinted side that is left."""

from __future__ import annotations

import re
from typing import Any

from tintmix.errors import TintmixError
from tintmix.faces.web import units as numbers
from tintmix.faces.web.routes.chips import tile_asked
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.numerals import capital, length_mm
from tintmix.page.bench import trial as page_trial
from tintmix.page.errors import about_box, needs_first, not_typed
from tintmix.page.places import LIGHTS
from tintmix.page.recipe import recipe_at_hand
from tintmix.quantities import CHIP_MM, GRAMS, MINUTES
from tintmix.sheet.cautions import cautions_for, hazards_unsaid
from tintmix.weighing.weighed import tinted_label

ROUTES = Routes()
_HEX = re.compile(r"#?([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")
WAIT_SECONDS = 8.0
"""An answer takes two or three seconds; one that takes longer shows its progress."""
SUCH = {
    "sRGB": "#cfe8dc, or 207 232 220", "Lab": "71.2 -24 3.1", "tile": "71.2 -24 3.1",
    "XYZ": "41 48 52", "camera": "41 62.5 38",
}  # fmt: skip


@ROUTES.get("/trial")
def show(visit: Visit) -> Answer:
    """What is asked, and the answer."""
    workspace, now = visit.workspace, visit.now
    area, sheet = now.area("trial"), now.area("sheet")
    found = recipe_at_hand(workspace, now)
    kept = page_trial.sheet_at_hand(workspace, now, found)
    asked = {**page_trial.USUAL, **area.get("asked", {})}
    rounds = page_trial.rounds_of(area, sheet)
    from_chips = page_trial.as_the_chips(workspace, now)
    context: dict[str, Any] = {
        "found": found, "sheet": kept, "asked": asked, "rounds": rounds, "spaces": list(page_trial.SPACES.items()),
        "most_chips": page_trial.MOST_CHIPS, "lights": [(key, f"{words} ({key})") for key, words in LIGHTS.items()],
        "weights": {}, "given": sheet.get("weights", {}), "made_g": None, "made_shown": "", "left_g": asked["left_g"],
        "answer": None, "light": "D65", "observer": 10, "thick_mm": None,
        "lots_before": page_trial.lots_of_the_last(workspace, now),
        "tile_mm": page_trial.thickest_on_tile_mm(workspace, now),
        "from_chips": from_chips,
        "other_sheet": bool(sheet.get("sheet")) and kept is None,
    }  # fmt: skip
    if found is not None:
        if from_chips and not area.get("asked"):
            asked |= from_chips
        context["light"], context["observer"] = page_trial.light_of(asked, found)
        context["thick_mm"] = max(map(length_mm, found.recipe.sections), default=None)
        context["answer"] = page_trial.answer_shown(workspace, now, found)
        if context["light"] not in LIGHTS:
            context["lights"].append((context["light"], context["light"]))
    if kept is not None:
        context["weights"] = page_trial.weights_asked(kept)
        try:
            context["made_g"], guess = page_trial.left_guess(kept, sheet, rounds)
            context["left_g"] = asked["left_g"] or guess
            scales, made_g = kept.sheet.weighed.scales, context["made_g"]
            context["made_shown"] = scales.shown(made_g, scales.part_place(made_g))
            if visit.units.mass_unit != "g":
                context["made_shown"] = f"{visit.units.mass(made_g)} {visit.units.mass_unit}"
        except TintmixError as trouble:
            visit.problem = visit.problem or trouble
    # An answer to another recipe may be for another resin: then all are told.
    resin = None
    if found is not None and not (context["answer"] and context["answer"]["of_another"]):
        resin = found.recipe.resin if kept is None else kept.sheet.resin
    unsaid = hazards_unsaid(resin)
    if context["answer"]:
        # What stands at the head of the page need not be told with the answer too.
        context["answer"]["warnings"] = [said for said in context["answer"]["warnings"] if said not in unsaid]
    tinted = None if resin is None else resin.takes_pigment
    context["tinted_left"] = f"{'Tinted resin' if tinted is None else capital(tinted_label(tinted))} left"
    return visit.shows("trial.html", "trial", cautions=cautions_for(resin), unsaid=unsaid, **context)


@ROUTES.post("/trial/ask", show)
def ask(visit: Visit) -> Answer:
    """What was read and what is left; then what to do."""
    now = visit.now
    found = recipe_at_hand(visit.workspace, now)
    if found is None:
        raise needs_first("A trial", "a recipe")
    trial = now.area("trial")
    areas: dict[str, Any] = {"trial": {**trial, "asked": _asked(visit)}}
    kept = page_trial.sheet_at_hand(visit.workspace, now, found)
    if kept is not None:
        sheet = now.area("sheet")
        sheet["weights"] = _weights(visit, kept)
        if not visit.form.text("as_weighed"):
            page_trial.check_weights(kept, sheet["weights"])
        page_trial.pot_now(kept, sheet, page_trial.rounds_of(trial, sheet))
        areas["sheet"] = sheet
    visit.change("what the trial read", **areas)
    work = visit.begin("Working out what to do", "/trial", page_trial.ask, WAIT_SECONDS)
    if work.state != "failed":
        return work
    visit.now, visit.status, visit.problem = visit.workspace.now(), 422, work.says
    return show(visit)


def _asked(visit: Visit) -> dict[str, Any]:
    form, units = visit.form, visit.units
    before = {**page_trial.USUAL, **visit.now.area("trial").get("asked", {})}
    space = form.choice("space", page_trial.SPACES, "Lab")
    chips = []
    for at in range(page_trial.MOST_CHIPS):
        mm, colour, chip = form.text(f"chip_{at}_mm"), form.text(f"chip_{at}_colour"), f"trial chip {at + 1}"
        if mm or colour:
            was = before["chips"][at]["thickness_mm"] if at < len(before["chips"]) else None
            thickness = units.mm(mm, f"the thickness of {chip}", was, CHIP_MM)
            with about_box(f"chip_{at}_colour"):
                chips.append({"thickness_mm": thickness, "colour": _colour(colour, space, f"the colour of {chip}")})
    if not chips:
        raise not_typed("the trial chip", "", "Type how thick it is, and what was read.")

    def maybe(name: str, words: str) -> float | None:
        text = form.text(name)
        return units.grams(text, words, before[f"{name}_g"], GRAMS) if text else None

    light, mixed = form.text("light"), bool(form.text("mixed"))
    return {
        "space": space,
        "chips": chips,
        "on_tile": tile_asked(form, space, before["on_tile"]),
        "light": light if light and light in (*LIGHTS, before["light"]) else None,
        "observer": {"2": 2, "10": 10}.get(form.text("observer")),
        "left_g": units.grams(form.text("left"), "the tinted resin that is left", before["left_g"], GRAMS),
        "pot_g": maybe("pot", "what the pot holds"),
        "need_g": maybe("need", "the mixed resin that the pour needs"),
        "mixed_min": form.number("mixed_min", "minutes since it was mixed", *MINUTES.bounds) if mixed else None,
    }


def _colour(text: str, space: str, field: str) -> list[float]:
    if space == "sRGB" and (found := _HEX.fullmatch(text)):
        return [float(int(part, 16)) for part in found.groups()]
    cells = numbers.cells(text)
    if len(cells) != 3:
        raise not_typed(field, text, f"Write three numbers with spaces between, such as {SUCH[space]}.")
    return page_trial.checked_colour([numbers.number(cell, field) for cell in cells], space, field)


def _weights(visit: Visit, kept: Any) -> dict[str, float]:
    """The sheet's weights with those that were typed here; one left at what the sheet asked for stays untyped."""
    weights: dict[str, float] = visit.now.area("sheet").get("weights", {})
    for key, line in page_trial.weights_asked(kept).items():
        if text := visit.form.text(f"weight.{key}"):
            grams = visit.units.grams(text, f"the weight of {line.what}", weights.get(key, line.grams))
            if key in weights or grams != line.grams:
                weights[key] = grams
    return weights


@ROUTES.post("/trial/topped", show)
def topped(visit: Visit) -> Answer:
    """What was added is noted; the next trial begins from there."""
    form, units = visit.form, visit.units
    added = {
        name[:120]: units.grams(text, f"the weight of {name[:40]}")
        for name, text in zip(form.texts("added"), form.texts("added_grams"), strict=False)
        if text
    }
    plain = form.text("plain")
    plain_g = units.grams(plain, "the untinted resin") if plain else 0.0
    sure = bool(form.text("as_weighed"))
    page_trial.topped_up(visit.workspace, visit.now, added, plain_g, form.revision("trial"), sure)
    visit.say("Saved. If you can wait, mix, cure and read another small sample, and ask again here.")
    return "/trial"


@ROUTES.post("/trial/lots", show)
def lots(visit: Visit) -> Answer:
    """How strong the lots are, into the book."""
    form = visit.form
    chosen = {name: form.line(f"lot.{name}", f"the lot of {name}") for name in form.texts("keep") if name}
    if not chosen:
        raise not_typed("the lots", "", "Tick those whose strength is to be kept.")
    for sentence in page_trial.keep_lots(visit.workspace, visit.now, chosen, form.revision("trial")):
        visit.say(sentence)
    return "/trial#lots"


@ROUTES.post("/trial/anew")
def anew(visit: Visit) -> Answer:
    """Another pot: the trial forgotten, top-ups and all. Undo brings it back."""
    visit.change("forgetting the trial", trial={})
    return "/trial"
