"""The target on the page: a shipped or measured glass, a colour, or what was clicked in a photo; and the recipes for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.desk.demo import demo
from tintmix.desk.look import looked
from tintmix.files.curves import read_column
from tintmix.files.plain import finite
from tintmix.files.stamp import made_at, made_by
from tintmix.numerals import numeral
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.colour.tint import tint_seen
from tintmix.page.errors import NoSuchThing, needs_first, not_typed, set_down
from tintmix.page.places import PartWish, Place, part_of
from tintmix.page.recipe import put_recipe
from tintmix.page.sections import cast_place, sections_of
from tintmix.page.values import to_table
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.model import TintModel
from tintmix.recipes.casting import kept_table
from tintmix.recipes.recipe_file import Recipe, make_recipe, recipe_to_table
from tintmix.recipes.search.aim import lay
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Curve, Glass, Limits, Target, TargetSection
from tintmix.recipes.target_file import read_target

Triple = tuple[float, float, float]
KINDS = ("glass", "piece", "colour")
GLASSES = {
    "sea-green": "sea-green (invented)",
    "green": "green window glass",
    "bronze": "bronze window glass",
    "grey": "grey window glass",
    "clear": "clear window glass",
}
ALSO_UNDER = ("A", "LED-B3")
MOST = 8


USUAL: dict[str, Any] = {
    "kind": "glass", "glass": "sea-green", "tolerance": 2.0, "pigments": 3, "total_phr": 1.0, "haze_percent": None,
    "leave_out": [], "thickness_mm": None, "lab": None, "spectrum": None, "spectrum_name": "", "name": "", "colours": [],
    "camera": None, "second_thickness_mm": None, "second_camera": None,
}  # fmt: skip
"""What stands in the boxes at first."""


def target_of(workspace: Workspace, table: Mapping[str, Any], part: PartWish) -> Target:
    """The target that the page keeps, on the places on the casting. Raises what is wrong with it.

    table: kind; of a glass its name; of a piece thickness_mm and lab, or spectrum (a kept {nm, values}), or camera
    and, of another thickness, second_thickness_mm and second_camera; of colours a list,
    one a place, each None, {"lab": …} or {"srgb": …}; tolerance, pigments, total_phr, haze_percent, leave_out.
    """
    told = {**USUAL, **table}
    colours = dict(enumerate(told["colours"] if told["kind"] == "colour" else []))
    sections = [
        TargetSection(
            place.name,
            lab=_triple(colour.get("lab")),
            srgb=colour.get("srgb"),
            tolerance=float(told["tolerance"]),
            **_placed(workspace, place),
        )
        for place, colour in ((place, colours.get(at) or {}) for at, place in enumerate(part.places))
    ]
    limits = Limits(
        pigments=told["pigments"],
        total_phr=told["total_phr"],
        luminous_transmittance=part.floor or None,
        haze_percent=told["haze_percent"],
        leave_out=tuple(told["leave_out"]),
    )
    also = tuple(name for name in ALSO_UNDER if name != part.light)
    return Target(
        tuple(sections), part.light, part.observer, also, limits, _glass(workspace, table), None, "the target"
    )


def _placed(workspace: Workspace, place: Place) -> dict[str, Any]:
    """Where a place of a target is: its thickness, or how it is seen."""
    cast = cast_place(workspace, place)
    return {"thickness_mm": place.thickness_mm} if cast is None else {"seen": cast.seen, "insert": cast.insert}


def _triple(lab: Sequence[float] | None) -> Triple | None:
    return None if lab is None else (float(lab[0]), float(lab[1]), float(lab[2]))


def _glass(workspace: Workspace, table: Mapping[str, Any]) -> Glass | None:
    if table["kind"] == "colour":
        return None
    if table["kind"] == "glass":
        return shipped_glass(str(table["glass"]))
    spectrum = None
    if table.get("spectrum"):
        kept = workspace.json(str(table["spectrum"]))
        spectrum = Curve(tuple(kept["nm"]), tuple(kept["values"]), str(table.get("spectrum_name", "the glass's file")))
    return Glass(
        thickness_mm=float(table["thickness_mm"]),
        spectrum=spectrum,
        lab=None if spectrum is not None or table.get("camera") else _triple(table.get("lab")),
        camera=None if spectrum is not None else _triple(table.get("camera")),
        second_thickness_mm=None if spectrum is not None else table.get("second_thickness_mm"),
        second_camera=None if spectrum is not None else _triple(table.get("second_camera")),
        refractive_index=float(table.get("refractive_index", 1.52)),
    )


def shipped_glass(name: str) -> Glass:
    """One of the glasses that come with tintmix. Raises NoSuchThing."""
    if name not in GLASSES:
        raise NoSuchThing("glass")
    path = demo("targets", "sea-green-glass.toml") if name == "sea-green" else demo("glasses", f"{name}-glass.toml")
    glass = read_target(path).glass
    assert glass is not None
    return glass


def curve_from_upload(workspace: Workspace, name: str, content: bytes) -> str:
    """A glass's transmittance (CSV: nm, fraction), kept; its name. Raises what is wrong with the file."""
    with set_down((name, content)) as (place,):
        nm, values = read_column(place, "transmittance")
        curve = Curve(tuple(map(float, nm)), tuple(map(float, values)), name)
        Glass(thickness_mm=1.0, spectrum=curve)
    return workspace.keep_json({"nm": list(curve.nm), "values": list(curve.values)})


def target_words(table: Mapping[str, Any]) -> str:
    """The target in a few words."""
    if table["kind"] == "glass":
        return GLASSES.get(str(table["glass"]), "a glass")
    if table["kind"] == "piece":
        return str(table.get("name") or f"your glass, {numeral(float(table['thickness_mm']))} mm")
    return "colours of the places"


def wanted_colours(workspace: Workspace, now: Snapshot, model: TintModel, part: PartWish) -> list[Triple | None]:
    """The L*a*b* that the target wants at each place; None where it wants none."""
    table = now.area("recipes").get("target")
    if not table:
        return [None] * len(part.places)
    aim = lay(model, target_of(workspace, table, part))
    wanted: list[Triple | None] = [None] * len(part.places)
    for place, lab in zip(aim.coloured, aim.target_lab.tolist(), strict=True):
        wanted[place] = _triple(lab)
    return wanted


def solved(
    workspace: Workspace, model: str, part: PartWish, table: Mapping[str, Any], work: Work
) -> tuple[str, list[dict[str, Any]]]:
    """Solve for a target with the model of that name: the name of the answer, kept with all that it is of, and its recipes.

    Raises Stopped, and what is wrong with the target.
    """
    known, target = workspace.model(model), target_of(workspace, table, part)
    answer = solve(known, target, MOST, work.progress)
    words = target_words(table)
    recipes = [recipe_to_table(make_recipe(known, target, proposal, words, "")) for proposal in answer.proposals]
    kept = {
        "body": finite(answer),
        "recipes": finite(recipes),
        "model": model,
        "part": to_table(part),
        "target": dict(table),
    }
    return workspace.keep_json(kept), recipes


def find_recipes(workspace: Workspace, work: Work) -> str:
    """Solve for the target at hand and keep the answer; where to go on. Raises NotThere, Stopped, and what is wrong."""
    now = workspace.now()
    model = model_at_hand(workspace, now)
    if model is None:
        raise needs_first("Finding recipes", "pigments that were learnt from chips")
    area = now.area("recipes")
    table = area.get("target")
    if not table:
        raise needs_first("Finding recipes", "a target")
    area["answer"], _ = solved(workspace, now.area("pigments")["model"], part_of(now.area("part")), table, work)
    workspace.change("the recipes found", {"recipes": area}, {"recipes": now.revision_of("recipes")})
    return "/recipes#found"


def answer_body(workspace: Workspace, now: Snapshot, model: TintModel) -> dict[str, Any] | None:
    """The recipes found, each with its places and its strip; and whether target, part or chips have changed since."""
    area = now.area("recipes")
    if not area.get("answer"):
        return None
    kept = workspace.json(area["answer"])
    part = part_of(kept["part"])
    stale = (
        kept["model"] != now.area("pigments").get("model")
        or part != part_of(now.area("part"))
        or kept["target"] != area.get("target")
    )
    sections = sections_of(workspace, part)
    proposals = []
    for number, one in enumerate(kept["body"]["proposals"]):
        if any(name not in model.pigments for name in one["doses_phr"]):
            continue
        wanted = [section["target_lab"] for section in one["sections"]]
        seen = tint_seen(model, one["doses_phr"], part, wanted, sections)
        proposals.append({**one, "number": number, "misses": not (one.get("worst_ratio") or 0.0) <= 1.0, "seen": seen})
    return {**kept["body"], "proposals": proposals, "stale": stale, "words": target_words(kept["target"])}


def recipe_of(workspace: Workspace, now: Snapshot, number: int) -> dict[str, Any]:
    """One of the recipes found, as the table of recipe.json. Raises NoSuchThing."""
    area = now.area("recipes")
    recipes = workspace.json(area["answer"])["recipes"] if area.get("answer") else []
    if not 0 <= number < len(recipes):
        raise NoSuchThing("recipe")
    table: dict[str, Any] = recipes[number]
    return table


def chosen_doses(now: Snapshot) -> dict[str, float] | None:
    """The doses of the recipe that is chosen; None where none is."""
    area = now.area("recipes")
    doses = (one["doses_phr"] for one in area.get("kept", []) if one["thing"] == area.get("chosen"))
    found: dict[str, float] | None = next(doses, None)
    return found


def as_target(workspace: Workspace, now: Snapshot) -> dict[str, Any]:
    """The tint at hand as a target: its colour at each place, all limits as they are. Raises NotThere."""
    model, doses = model_at_hand(workspace, now), now.area("tint").get("doses", {})
    if model is None or model.is_one_cup or not doses:
        raise needs_first("Finding recipes for a tint", "a tint with a dose of pigments")
    part = part_of(now.area("part"))
    seen = tint_seen(model, doses, part, (), sections_of(workspace, part))
    limits = {**USUAL, **now.area("recipes").get("target", {})}
    kept = {name: limits[name] for name in ("tolerance", "pigments", "total_phr", "haze_percent", "leave_out")}
    return kept | {"kind": "colour", "colours": [{"lab": place["lab"], "srgb": None} for place in seen["places"]]}


def keep_recipe(workspace: Workspace, now: Snapshot, number: int, name: str, expected: int) -> Snapshot:
    """Keep one of the recipes found under a name, and choose it for Sheet and Trial chip. Raises ValueProblem, NoSuchThing."""
    table = {**recipe_of(workspace, now, number), "name": name}
    return _keep(workspace, now, table, workspace.json(now.area("recipes")["answer"])["model"], expected)


def tint_recipe(
    workspace: Workspace, now: Snapshot, doses_phr: Mapping[str, float], name: str, expected: int
) -> Snapshot:
    """Keep the doses of Tint, as they are, as a recipe. Raises ValueProblem, NotThere, and what is wrong with the target."""
    model = model_at_hand(workspace, now)
    if model is None or not doses_phr:
        raise needs_first("Keeping a recipe", "a tint with a dose")
    part = part_of(now.area("part"))
    seen = looked(model, doses_phr, sections_of(workspace, part), part.light, part.observer).body
    told = ("lab", "lab_covariance", "delta_e00_95", "luminous_transmittance", "haze_percent")
    sections = [
        {key: one[key] for key in ("thickness_mm", "straight_mm", "path_mm", "behind", "of_clear", *told) if key in one}
        | {"name": place.name, "target_lab": one["lab"], "tolerance": 2.0, "delta_e00": 0.0}
        for place, one in zip(part.places, seen["sections"], strict=True)
    ]
    cast = [cast_place(workspace, place) for place in part.places]
    wanted = [
        {"name": one["name"], "lab": one["lab"]}
        | ({"thickness_mm": one["thickness_mm"]} if own is None else {"on": own.seen.shape, "seen": own.seen.place})
        for one, own in zip(sections, cast, strict=True)
    ]
    target = {"format": 1, "light": part.light, "observer": part.observer, "section": wanted}
    recipe = Recipe(
        name, dict(doses_phr), model.resin, target, sections, {},
        {pigment: model.lots[pigment] for pigment in doses_phr if pigment in model.lots},
        model.digest(), model.chips_digest, "", None, made_by(), made_at(),
        casting=[kept_table(own) for own in cast if own is not None],
    )  # fmt: skip
    return _keep(workspace, now, recipe_to_table(recipe), now.area("pigments").get("model"), expected)


def _keep(workspace: Workspace, now: Snapshot, table: Mapping[str, Any], model: str | None, expected: int) -> Snapshot:
    name = str(table["name"])
    if not name:
        raise not_typed(
            "the name of the recipe", "", "Give it a name that you will know it by, such as sea-green prism."
        )
    recipes = put_recipe(workspace, now.area("recipes"), table, model)
    return workspace.change(f"keeping {name}", {"recipes": recipes}, {"recipes": expected})
