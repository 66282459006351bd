"""Recipes: a target, and the doses that come nearest to it, side by side."""

from __future__ import annotations

import math
import re
from typing import Any

from tintmix.errors import TintmixError
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form
from tintmix.faces.web.visit import Answer, Routes, Visit, download
from tintmix.page.colour import target as page_target
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import not_typed
from tintmix.page.hexes import hex_of
from tintmix.page.places import LIGHTS, MOST_PLACES, part_of
from tintmix.page.recipe import kept_recipe
from tintmix.page.work import Work
from tintmix.quantities import DELTA_E00, HUE, PERCENT, TOTAL_PHR
from tintmix.recipes.search.aim import lay

ROUTES = Routes()
OF_PHOTO = ("camera", "second_thickness_mm", "second_camera")
"""What a photo told of a piece of glass; it stays until something else is said of its colour."""
_HEX = re.compile(r"#[0-9a-fA-F]{6}")


@ROUTES.get("/recipes")
def show(visit: Visit) -> Answer:
    """Target, limits, and what was found."""
    model, area = model_at_hand(visit.workspace, visit.now), visit.now.area("recipes")
    part = part_of(visit.now.area("part"))
    takes = None if model is None or model.resin is None else model.resin.max_total_phr
    usual = page_target.USUAL | {"total_phr": min(page_target.USUAL["total_phr"], takes or math.inf)}
    context: dict[str, Any] = {
        "ready": model is not None and not model.is_one_cup, "one_cup": model is not None and model.is_one_cup,
        "target": {**usual, **area.get("target", {})}, "resin_takes": takes, "has_target": "target" in area,
        "glasses": list(page_target.GLASSES.items()), "part": part, "pigments": list(model.pigments) if model else [],
        "kept": area.get("kept", []), "chosen": area.get("chosen"), "answer": None, "wanted": [], "lights": LIGHTS,
        "target_words": area.get("target_words", ""),
        "most_places": MOST_PLACES, "doses": visit.now.area("tint").get("doses", {}),
    }  # fmt: skip
    if model is not None and not model.is_one_cup:
        context["answer"] = page_target.answer_body(visit.workspace, visit.now, model)
        if "target" in area:
            try:
                wanted = page_target.wanted_colours(visit.workspace, visit.now, model, part)
                context["wanted"] = [hex_of(lab, part.light, part.observer) for lab in wanted]
            except TintmixError as trouble:
                visit.problem = visit.problem or trouble
    return visit.shows("recipes.html", "recipes", **context)


@ROUTES.post("/recipes/target", show)
def set_target(visit: Visit) -> Answer:
    """Keep the target and its limits, and find the recipes for it."""
    table = _typed_target(visit)
    model = model_at_hand(visit.workspace, visit.now)
    target = page_target.target_of(visit.workspace, table, part_of(visit.now.area("part")))
    if model is not None:
        lay(model, target)
    area = {**visit.now.area("recipes"), "target": table, "target_words": page_target.target_words(table)}
    visit.change("the target", recipes=area)
    return "/recipes" if visit.form.text("only") else find(visit)


@ROUTES.post("/recipes/like-tint", show)
def like_tint(visit: Visit) -> Answer:
    """The tint as it stands on Tint for a target, and the recipes for it."""
    table = page_target.as_target(visit.workspace, visit.now)
    area = {**visit.now.area("recipes"), "target": table, "target_words": page_target.target_words(table)}
    visit.change("the tint as the target", recipes=area)
    return find(visit)


@ROUTES.post("/recipes/find")
def find(visit: Visit) -> Work:
    """Find the recipes for the target at hand."""
    return visit.begin("Finding recipes", "/recipes", page_target.find_recipes, 1.0)


def _typed_target(visit: Visit) -> dict[str, Any]:
    form, before = visit.form, visit.now.area("recipes").get("target", {})
    kind = form.choice("kind", page_target.KINDS, "glass")
    pigments = form.whole("most_pigments", "how many pigments", 1, 12)
    table: dict[str, Any] = {
        "kind": kind,
        "tolerance": form.number("tolerance", "how near (ΔE00)", *DELTA_E00.bounds),
        "pigments": pigments,
        "total_phr": form.maybe("total_phr", "pigment altogether", *TOTAL_PHR.bounds),
        "haze_percent": form.maybe("haze_percent", "the most haze (%)", *PERCENT.bounds),
        "leave_out": [name for name in form.texts("leave_out") if name],
    }
    if kind == "glass":
        table["glass"] = form.choice("glass", page_target.GLASSES, "sea-green")
    elif kind == "piece":
        table["thickness_mm"] = visit.units.mm(
            form.text("piece_mm"), "the glass's thickness", before.get("thickness_mm")
        )
        table["name"] = form.line("piece_name", "the name of the glass")
        files = form.files("piece_file")
        if files:
            table["spectrum"] = page_target.curve_from_upload(visit.workspace, *files[0])
            table["spectrum_name"] = files[0][0]
        elif any(form.text(f"piece_{c}") for c in "Lab"):
            table["lab"] = list(form.lab("piece_*", "the glass"))
        elif before.get("camera") and before.get("kind") == "piece":
            table |= {key: before[key] for key in OF_PHOTO if key in before}
        elif before.get("spectrum"):
            table |= {"spectrum": before["spectrum"], "spectrum_name": before.get("spectrum_name", "")}
        else:
            raise not_typed("the glass's colour", "", "Type its L*, a*, b*, or choose a file of its transmittance.")
    else:
        places = part_of(visit.now.area("part")).places
        table["colours"] = [_typed_colour(form, i, place.name) for i, place in enumerate(places)]
        if not any(table["colours"]):
            raise not_typed("the colours", "", "Give at least one place a colour, as L* a* b* or as #rrggbb.")
    return table


def _typed_colour(form: Form, at: int, place: str) -> dict[str, Any] | None:
    text = form.text(f"colour_{at}")
    if not text:
        return None
    if _HEX.fullmatch(text):
        return {"srgb": text.lower(), "lab": None}
    cells = units.cells(text)
    if len(cells) != 3:
        raise not_typed(f"the colour of {place}", text, "Write it as #cfe8dc, or as L* a* b*, such as 88 -12 2.")
    return {"srgb": None, "lab": [units.number(cell, f"the colour of {place}", *HUE.bounds) for cell in cells]}


@ROUTES.post("/recipes/tint")
def open_in_tint(visit: Visit) -> Answer:
    """The doses of a found recipe into Tint."""
    recipe = page_target.recipe_of(visit.workspace, visit.now, visit.form.count("number", -1))
    visit.change("doses of a recipe", tint={**visit.now.area("tint"), "doses": recipe["doses_phr"]})
    return "/tint"


@ROUTES.post("/recipes/keep", show)
def keep(visit: Visit) -> Answer:
    """Keep a found recipe, or the tint at hand, under a name."""
    form, workspace, now = visit.form, visit.workspace, visit.now
    name = form.line("name", "the name of the recipe")
    if form.text("tint"):
        doses = now.area("tint").get("doses", {})
        page_target.tint_recipe(workspace, now, doses, name, form.revision("recipes"))
    else:
        page_target.keep_recipe(workspace, now, form.count("number", -1), name, form.revision("recipes"))
    visit.say(f"Saved: {name}. Sheet and Trial chip now use it.")
    return "/recipes"


@ROUTES.post("/recipes/choose")
def choose(visit: Visit) -> Answer:
    """A kept recipe for Sheet and Trial chip; or one removed."""
    area, found = visit.now.area("recipes"), kept_recipe(visit.now, visit.form.text("recipe"))
    if visit.form.text("remove"):
        area["kept"] = [one for one in area["kept"] if one["thing"] != found["thing"]]
        if area.get("chosen") == found["thing"]:
            area["chosen"] = None
        label = f"removing {found['name']}"
    else:
        area["chosen"], label = found["thing"], f"choosing {found['name']}"
    visit.change(label, recipes=area)
    return "/recipes"


@ROUTES.get("/recipes/recipe/{recipe}.json")
def recipe_file(visit: Visit) -> Answer:
    """A kept recipe as recipe.json."""
    found = kept_recipe(visit.now, visit.request.path_params["recipe"])
    return download(visit.workspace.file(found["thing"]).read_bytes(), "application/json", found["name"], "json")
