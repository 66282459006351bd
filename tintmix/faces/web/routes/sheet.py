"""Sheet: what to weigh for the batch, step by step, ticked off and weighed here; then into the book."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from tintmix.errors import TintmixError
from tintmix.faces.web.units import Units
from tintmix.faces.web.visit import Answer, Routes, Visit, download, wants_json
from tintmix.faces.web.words import weights_in_chosen_unit
from tintmix.files.stamp import today
from tintmix.numerals import listed
from tintmix.page import resins as page_resins
from tintmix.page.areas import WORDS
from tintmix.page.bench import pouring
from tintmix.page.bench import sheet as page_sheet
from tintmix.page.bench.trial import pending_answer, rounds_of
from tintmix.page.bench.weights import effects_of, seen_as_weighed, weights_of
from tintmix.page.casting.of_recipe import casting_in, picture_in, words_for
from tintmix.page.colour.target import tint_recipe
from tintmix.page.errors import ChangedElsewhere, needs_first, not_chosen
from tintmix.page.recipe import recipe_at_hand, recipe_of
from tintmix.quantities import BATCH_G, GRAMS, STEP_G, VOLUME_CM3, WASTE_PERCENT
from tintmix.sheet.sheet import matters
from tintmix.weighing.scales import shown

ROUTES = Routes()
PAPERS = ("A4", "Letter")
CM3_PER_CUBIC_INCH = 16.387064
"""International inch, 1959; exact."""


@ROUTES.get("/sheet")
def show(visit: Visit) -> Answer:
    """The sheet, or how to get one."""
    workspace, now = visit.workspace, visit.now
    area = {"pour": None, "book": None, "shelved": [], "ticks": [], "weights": {}, "notes": {}, **now.area("sheet")}
    found, kept = recipe_at_hand(workspace, now), page_sheet.kept_sheet(workspace, area)
    many, doses = now.area("recipes").get("kept", []), now.area("tint").get("doses", {})
    context = _choices(visit, found, {**page_sheet.USUAL, **area.get("asked", {})}) | {
        "found": found, "kept": many, "recipe_choices": [(one["thing"], one["name"]) for one in many], "sheet": None,
        "papers": PAPERS, "area": area,
        "doses": doses if now.area("pigments").get("model") and "mix" not in doses else {},
    }  # fmt: skip
    if kept is not None:
        ticks, seen = page_sheet.tick_keys(kept), _seen(visit, kept)
        context |= {
            "sheet": kept.sheet, "body": kept.body, "day": _day(visit, kept),
            "strip": page_sheet.strip_body(kept), "matters": matters(kept.sheet),
            "bottles": page_sheet.new_bottles(kept, area), "ticked": len(set(area["ticks"]) & set(ticks)),
            "ticks": len(ticks), "seen": seen, "seen_words": weighed_words(seen) if seen else "",
            "planned_only": pouring.planned_only(kept, area),
            "effects": _effects(visit, kept), "next_stage": page_sheet.next_stage(kept, area["ticks"]),
            "casting": words_for(workspace, now, page_sheet.castings_of(kept)),
            "other": found is not None and not page_sheet.is_of(now, found), "today": today(),
        }  # fmt: skip
        context["off"] = page_sheet.off_by(kept, area["weights"], context["day"]["grams"])
        try:
            context |= {"title": recipe_of(workspace, now, area["recipe"]).recipe.name, "gone": False}
        except TintmixError:
            context |= {"title": kept.sheet.title, "gone": True}
    return visit.shows("sheet.html", "sheet", **context)


@ROUTES.get("/sheet/casting.png")
def casting(visit: Visit) -> Answer:
    """The traced casting in the sheet's tint, as it will be weighed."""
    kept = _kept(visit)
    model = visit.workspace.model(visit.now.area("sheet")["model"])
    made = picture_in(visit.workspace, visit.now, model, kept.sheet.weighed.achieved_phr)
    return Response(made, media_type="image/png")


def _choices(visit: Visit, found: Any, asked: dict[str, Any]) -> dict[str, Any]:
    resins, lots = [], {}
    if found is not None:
        recipe = found.recipe
        lots = {name: asked["lots"].get(name) or recipe.lots.get(name, "") for name in recipe.doses_phr}
        if recipe.resin is not None and recipe.resin.parts:
            resins.append(("recipe", recipe.resin.name))
    own = page_resins.choices(visit.now)
    # Of a page of an earlier version, and of a resin that was removed since.
    if asked["resin_file"] and asked["resin_file"] not in dict(own):
        own.append((asked["resin_file"], asked["resin_name"] or "my resin.toml"))
    if resins and resins[0][1] in {words for _, words in own}:
        named = [key for key, words in own if words == resins[0][1]]
        same = {key for key in named if page_resins.resin_of(visit.workspace, visit.now, key) == recipe.resin}
        own = [one for one in own if one[0] not in same]
        if len(same) < len(named):
            resins = [("recipe", f"{resins[0][1]}, as the recipe has it")]
    resins += own
    if asked["resin"] == "own":
        asked = asked | {"resin": asked["resin_file"]}
    unit, factor = _volume(visit.units)
    ways = list(page_sheet.WAYS.items())
    return {"asked": asked, "lots": lots, "resins": resins, "ways": ways, "volume_unit": unit, "volume": factor}


def _kept(visit: Visit) -> page_sheet.Kept:
    kept = page_sheet.kept_sheet(visit.workspace, visit.now.area("sheet"))
    if kept is None:
        raise needs_first("This", "a batch sheet")
    return kept


def _seen(visit: Visit, kept: page_sheet.Kept) -> dict[str, Any] | None:
    """What the weights that were typed make; None where none were, or it cannot be told."""
    area = visit.now.area("sheet")
    try:
        pot = page_sheet.pot_at_hand(kept, area)
        if not pot.typed:
            return None
        found = recipe_of(visit.workspace, visit.now, area["recipe"])
        return seen_as_weighed(kept.sheet, pot, found.recipe, visit.workspace.model(area["model"]))
    except TintmixError:
        return None


def _pot_by_now(visit: Visit, kept: page_sheet.Kept) -> tuple[pouring.Day | None, tuple[str, ...]]:
    """The day of the pour, None where the weights make no pot; what to say of a trial of this pot, nothing once it is poured."""
    now = visit.now
    try:
        day = pouring.on_the_day(kept, now.area("sheet"), now.area("trial"), visit.units.grams_of)
        answer = pending_answer(visit.workspace, now)
    except TintmixError:
        return None, ()
    return day, () if now.area("sheet").get("pour") else pouring.told_of_trial(kept, day, answer)


def _day(visit: Visit, kept: page_sheet.Kept) -> dict[str, Any]:
    """What the other parts are for what is in the pot by now, and what to say beside the blanks."""
    day, trial = _pot_by_now(visit, kept)
    if day is None:
        return {"grams": {}, "shown": {}, "because": "", "told": {}, "trial": ()}
    lines, units = weights_of(kept.sheet), visit.units
    told = {key: weights_in_chosen_unit(text, units) for key, text in day.told.items()}
    said = {
        key: shown(grams, lines[key].scale) if units.mass_unit == "g" else f"{units.mass(grams)} {units.mass_unit}"
        for key, grams in day.others.items()
    }
    return {
        "grams": dict(day.others),
        "shown": said,
        "because": weights_in_chosen_unit(day.because, units),
        "told": told,
        "trial": tuple(weights_in_chosen_unit(said, units) for said in trial),
    }


def _effects(visit: Visit, kept: page_sheet.Kept) -> dict[str, dict[str, Any]]:
    """What each wrong weight does by itself, in colour and in words, by its box."""
    area = visit.now.area("sheet")
    shelved = [one["name"] for one in area.get("shelved", [])]
    try:
        recipe, model = (
            recipe_of(visit.workspace, visit.now, area["recipe"]).recipe,
            visit.workspace.model(area["model"]),
        )
        found = effects_of(kept.sheet, area.get("weights", {}), shelved, recipe, model)
    except TintmixError:
        return {}
    said = "by itself, {name}: {says} (ΔE00 {off:.1f}); left as asked, right as weighed"
    return {
        key: {name: one[name] for name in ("planned", "planned_wide", "srgb", "wide")} | {"says": said.format(**one)}
        for key, one in found.items()
    }


@ROUTES.post("/sheet/make", show)
def make(visit: Visit) -> Answer:
    """A new sheet, for this batch on these scales."""
    asked, resins = _asked(visit)
    recipes = visit.now.area("recipes")
    kept = [one["thing"] for one in recipes.get("kept", [])]
    if not kept:
        raise needs_first("A batch sheet", "a recipe")
    thing = visit.form.choice("recipe", kept, recipes.get("chosen") or kept[0])
    area = page_sheet.make(visit.workspace, visit.now, thing, asked)
    visit.change("the batch sheet", sheet=area, recipes={**recipes, "chosen": thing}, **resins)
    return "/sheet"


def _asked(visit: Visit) -> tuple[dict[str, Any], dict[str, Any]]:
    """What was asked for; and the area of the resins where it has a new one."""
    form, units = visit.form, visit.units
    before = {**page_sheet.USUAL, **visit.now.area("sheet").get("asked", {})}
    how = form.choice("how", page_sheet.WAYS, "batch")
    was = before["amount"] if before["how"] == how else None
    if how == "volume":
        name, factor = _volume(units)
        amount = (
            form.number("volume", f"the mould's volume ({name})", *(bound / factor for bound in VOLUME_CM3.bounds))
            * factor
        )
    else:
        box, words = ("grams", "mixed resin") if how == "batch" else ("water", "the water that fills the mould")
        amount = units.grams(form.text(box), words, was, BATCH_G)
    waste = before["waste_percent"]
    if how != "batch":
        waste = form.number("waste_percent", "added for waste (%)", *WASTE_PERCENT.bounds)
    lots = {name[4:]: form.line(name, f"the lot of {name[4:]}") for name in form.typed if name.startswith("lot.")}
    known = ("recipe", "own", before["resin_file"], *dict(page_resins.choices(visit.now)))
    resins: dict[str, Any] = {}
    asked: dict[str, Any] = {
        "resin": form.choice("resin", known, "recipe"),
        "resin_file": before["resin_file"], "resin_name": before["resin_name"], "how": how, "amount": amount,
        "waste_percent": waste, "new_bottles": bool(form.text("new_bottles")), "lots": lots,
    }  # fmt: skip
    for kind in ("resin", "pigment"):
        step, most, text = f"{kind}_step_g", f"{kind}_most_g", form.text(f"{kind}_most")
        words = f"the step of the scale for {kind}"
        asked[step] = units.grams(form.text(f"{kind}_step"), words, before[step], STEP_G)
        asked[most] = units.grams(text, f"the most on the scale for {kind}", before[most], GRAMS) if text else None
    files = form.files("resin_file")
    if files:
        thing, resin = page_resins.from_upload(visit.workspace, *files[0])
        asked |= {"resin": thing, "resin_file": thing, "resin_name": resin.name}
        same = next((one["thing"] for one in page_resins.own(visit.now) if one["name"] == resin.name), "")
        resins = {"resins": page_resins.with_own(visit.now, thing, resin.name, same)}
    elif asked["resin"] == "own" and not asked["resin_file"]:
        raise not_chosen("resin_file", "my resin.toml", "Choose the file of your resin.")
    return asked, resins


def _volume(units: Units) -> tuple[str, float]:
    return ("cubic inch", CM3_PER_CUBIC_INCH) if units.length_unit == "inch" else ("cm³ (ml)", 1.0)


@ROUTES.post("/sheet/marks", show)
def marks(visit: Visit) -> Answer:
    """What was ticked and weighed so far; for the script, which sends it as it is done, or for a button."""
    kept = _kept(visit)
    area = visit.now.area("sheet") | _typed_marks(visit, kept)
    page_sheet.pot_at_hand(kept, area)
    now = visit.change("what was ticked and weighed", merge=True, sheet=area)
    if not wants_json(visit.request):
        return "/sheet"
    seen, day = _seen(visit, kept), _day(visit, kept)
    told = seen and {
        "says": weighed_words(seen),
        "places": [{name: one[name] for name in ("srgb", "wide")} for one in seen["places"]],
    }
    return {
        "revision": now.revision_of("sheet"), "undo": now.undo[-1][1] if now.undo else "",
        "ticked": len(set(area["ticks"])), "ticks": len(page_sheet.tick_keys(kept)),
        "off": page_sheet.off_by(kept, area["weights"], day["grams"]), "seen": told, "day": day, "effects": _effects(visit, kept),
        "planned_only": pouring.planned_only(kept, area),
    }  # fmt: skip


def _typed_marks(visit: Visit, kept: page_sheet.Kept) -> dict[str, Any]:
    form, area = visit.form, visit.now.area("sheet")
    before, sent = area.get("weights", {}), set(form.texts("tick"))
    weights = {
        key: visit.units.grams(text, f"the actual weight of {line.what}", before.get(key))
        for key, line in weights_of(kept.sheet).items()
        if (text := form.text(f"weight.{key}"))
    }
    notes = {
        key: text for key, words in page_sheet.blanks_of(kept).items() if (text := form.line(f"note.{key}", words))
    }
    return {"ticks": [key for key in page_sheet.tick_keys(kept) if key in sent], "weights": weights, "notes": notes}


def weighed_words(seen: dict[str, Any]) -> str:
    """What was weighed, told as a colour."""
    worst = seen["worst"]
    told = f"As weighed, the colour is off the sheet's by ΔE00 {worst['off']:.1f} at most ({worst['name']}): {worst['says']}."
    if seen["within"]:
        return f"{told} Every place is still as near to the target as it should be."
    return (
        f"{told} Not every place is within tolerance of the target any more: stop, and see Trial chip before you mix."
    )


@ROUTES.post("/sheet/tint", show)
def use_tint(visit: Visit) -> Answer:
    """The doses of Tint kept as a recipe, and chosen."""
    name, doses = visit.form.line("name", "the name of the recipe"), visit.now.area("tint").get("doses", {})
    tint_recipe(visit.workspace, visit.now, doses, name, visit.form.revision("recipes"))
    return "/sheet"


@ROUTES.get("/sheet/sheet.pdf")
def paper(visit: Visit) -> Answer:
    """The sheet as a PDF."""
    # Here, since fpdf takes a third of a second, and only who prints waits for it.
    from tintmix.faces.paper.sheet import pdf_of

    kept, papers = _kept(visit), visit.form.choice("paper", PAPERS, "A4")
    day, told = _pot_by_now(visit, kept)
    sheet = kept.sheet if day is None else pouring.sheet_by_now(kept, day, told)
    model = visit.workspace.model(visit.now.area("sheet")["model"])
    says = words_for(visit.workspace, visit.now, page_sheet.castings_of(kept))
    drawn = [casting_in(visit.workspace, visit.now, model, sheet.weighed.achieved_phr, says)] if says else []
    content = pdf_of(sheet, drawn, papers)
    return download(content, "application/pdf", f"{sheet.title} {sheet.weighed.batch_g:.0f} g", "pdf")


@ROUTES.post("/sheet/keep", show)
def keep(visit: Visit) -> Answer:
    """The recipe, the new stock bottles, or the pour into the book; by the button that was pressed."""
    form, workspace, now, area = visit.form, visit.workspace, visit.now, visit.now.area("sheet")
    if now.revision_of("sheet") != form.revision("sheet"):
        raise ChangedElsewhere(WORDS["sheet"])
    kept = _kept(visit)
    what, sure = form.choice("what", ("recipe", "shelf", "pour"), "recipe"), bool(form.text("as_weighed"))
    if what == "shelf":
        done = page_sheet.put_on_shelf(kept, area, sure, rounds_of(now.area("trial"), area))
        area["shelved"] = [*area.get("shelved", []), *done]
        label = "noting the stock bottles"
        said = f"On the shelf of the book: {', '.join(one['name'] for one in done) or 'nothing new'}."
    elif what == "recipe":
        body = page_sheet.keep_in_book(workspace, now, form.note())
        label, said = "noting the revision", body["says"]
    else:
        day, cure = form.day("poured_on", "the day of the pour"), form.line("cure", "how it was cured")
        again = bool(form.text("again"))
        body = pouring.record_pour(workspace, now, kept, day, cure, form.note(), sure, again, visit.units.grams_of)
        area |= {"pour": body["number"], "done": True}
        label = "noting the pour"
        said = f"{body['says']} When it is cured, read it and add the reading in the Recipe book."
        if bottles := page_sheet.new_bottles(kept, area):
            are = "is" if len(bottles) == 1 else "are"
            said += (
                f" {listed(bottles)} {are} not on the shelf yet: “Add the stock bottles to the shelf” puts them there."
            )
    if what != "shelf":
        area["book"] = {"name": body["name"], "revision": body["revision"]}
    visit.change(label, sheet=area)
    visit.say(said)
    return "/sheet"
