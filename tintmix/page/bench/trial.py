"""A trial that came out off, on the page: the pot as the sheet says it was weighed, the reading, and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from tintmix.desk.bench.adjust import History, Shop, adjust_for
from tintmix.desk.bench.trial_reading import TrialReading
from tintmix.desk.book.shelf import lot
from tintmix.desk.plan.tile import OnTile
from tintmix.numerals import numeral, with_band
from tintmix.optics.colour import lab, xyz_of_srgb
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.tile import THICKEST_ON_TILE_MM
from tintmix.page.areas import WORDS
from tintmix.page.bench.sheet import Kept, is_of, kept_sheet, pot_at_hand, resin_path, scale_texts, taken_from_shelf
from tintmix.page.bench.weights import INTO_POT, Pot, check_typed, weights_of
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import ChangedElsewhere, NoSuchThing, by_known_names, needs_first, not_typed
from tintmix.page.hexes import hex_of, wide_of
from tintmix.page.places import LIGHTS
from tintmix.page.recipe import AtHand, model_thing, recipe_at_hand
from tintmix.page.work import Work
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.inference.gather import tile_of as seen_tile
from tintmix.quantities import check_colour
from tintmix.recipes.adjust.belief import LOT_SPREAD, SURPRISE
from tintmix.sheet.lines import Kind, Line
from tintmix.weighing.budget import COVERS_95
from tintmix.weighing.slip import Put, check_near
from tintmix.weighing.weighed import part_named

SPACES = {
    "Lab": "L* a* b*", "tile": "L* a* b* on a tile", "sRGB": "sRGB", "XYZ": "X Y Z",
    "camera": "camera, R G B in % of the bare panel",
}  # fmt: skip
MOST_CHIPS = 3
USUAL: dict[str, Any] = {
    "space": "Lab", "chips": [], "light": None, "observer": None, "left_g": None, "pot_g": None, "mixed_min": None,
    "need_g": None, "on_tile": None,
}  # fmt: skip
TITLES = {
    "keep": "Leave it as it is",
    "top-up": "Top it up",
    "dilute": "Dilute it",
    "start again": "Start again",
    "too late": "Add nothing to this pot",
}
WELL_LEARNT = 0.7
"""A lot's strength that is known so much better than before (part of the spread) is worth keeping."""
_LEAST_SPREAD = 0.02
_SAME_LAB = 1e-3
"""In L*, a*, b*: files keep more digits, and no eye or instrument tells so little."""
Triple = tuple[float, float, float]


def sheet_at_hand(workspace: Workspace, now: Snapshot, found: AtHand | None) -> Kept | None:
    """The sheet that the trial is of; None where the chosen recipe has none."""
    return kept_sheet(workspace, now.area("sheet")) if is_of(now, found) else None


def pot_now(kept: Kept, sheet: Mapping[str, Any], rounds: Sequence[Mapping[str, Any]]) -> Pot:
    """The pot as it was weighed, less what was taken out before each top-up, and with what that brought.

    rounds: left_g before it, added [[name, grams], …], plain_g, and the strengths that its trial taught. strengths of the pot:
    what was known of each pigment before this trial.
    """
    pot = pot_at_hand(kept, sheet)
    part_g, weighed, made = pot.part_g or 0.0, pot.weighed, pot.made_g
    strengths = {
        name: (factor, max(spread, _LEAST_SPREAD)) if factor != 1.0 or spread else (1.0, LOT_SPREAD)
        for name, (factor, spread) in pot.strengths.items()
    }
    for one in rounds:
        share = min(one["left_g"] / made, 1.0)
        added = tuple((str(name), float(grams)) for name, grams in one["added"])
        part_g = part_g * share + one["plain_g"]
        weighed = (*((name, grams * share) for name, grams in weighed), *added)
        made = made * share + one["plain_g"] + sum(grams for _, grams in added)
        strengths |= {name: (float(factor), float(spread)) for name, (factor, spread) in one["strengths"].items()}
    return replace(pot, part_g=part_g, weighed=weighed, made_g=made, strengths=strengths)


def rounds_of(area: Mapping[str, Any], sheet: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The top-ups of a trial that went into the pot of the sheet at hand; an earlier version did not say of which they were."""
    at_hand = sheet.get("sheet")
    return [one for one in area.get("rounds", []) if one.get("sheet", at_hand) == at_hand]


def weights_asked(kept: Kept) -> dict[str, Line]:
    """The weights of a sheet that a trial depends on, by their boxes."""
    return {key: line for key, line in weights_of(kept.sheet).items() if line.kind in INTO_POT}


def check_weights(kept: Kept, weights: Mapping[str, float]) -> None:
    """Raises ValueProblem for a weight of the pot that is far from what the sheet asks."""
    asked = weights_asked(kept)
    # None of it: it was forgotten, and no digit slipped.
    check_typed(kept.sheet, {key: grams for key, grams in weights.items() if key in asked and grams})


def left_guess(kept: Kept, sheet: Mapping[str, Any], rounds: Sequence[Mapping[str, Any]]) -> tuple[float, float | None]:
    """What was made of the tinted part, and what is left of it where the sheet says what the trial took."""
    made = pot_now(kept, sheet, rounds).made_g
    typed = sheet.get("weights", {})
    took = [typed[key] for key, line in weights_of(kept.sheet).items() if line.kind is Kind.SAMPLE and key in typed]
    return made, made - took[0] if took and not rounds else None


def ask(workspace: Workspace, work: Work) -> str:
    """Work out what to do, and keep the answer; where to go on. Raises NotThere, and what is wrong with what was typed."""
    now = workspace.now()
    found = recipe_at_hand(workspace, now)
    if found is None:
        raise needs_first("A trial", "a recipe")
    area, sheet = now.area("trial"), now.area("sheet")
    asked = {**USUAL, **area.get("asked", {})}
    kept = sheet_at_hand(workspace, now, found)
    pot, resin = Pot(), None
    scales: tuple[str, ...] = ()
    if kept is not None:
        pot = pot_now(kept, sheet, rounds_of(area, sheet))
        scales, resin = scale_texts(sheet["asked"]), resin_path(workspace, now, sheet["asked"])
    with by_known_names((found.path, found.recipe.name)):
        done = adjust_for(
            found.path,
            _reading(asked, found),
            # The weights were held against the sheet, line by line, when they were typed.
            History(
                asked["left_g"],
                asked["pot_g"],
                pot.weighed,
                pot.part_g,
                None,
                asked["mixed_min"],
                pot.stocks,
                True,
                () if kept is None else tuple(taken_from_shelf(kept, sheet, rounds_of(area, sheet)).items()),
            ),
            Shop(scales, pot.strengths, need_g=asked["need_g"]),
            workspace.file(model_thing(workspace, now, found)),
            resin,
        )
    work.progress(1.0)
    answer = {
        "body": done,
        "recipe": found.thing,
        "sheet": sheet.get("sheet") if kept else None,
        "asked": asked,
        "before": pot.strengths,
        "weighed_by": {}
        if kept is None
        else {name: one[0] for name, one in pot_at_hand(kept, sheet).strengths.items()},
    }
    area |= {"answer": workspace.keep_json(answer), "answer_before": None, "kept_lots": {}, "done": True}
    workspace.change("the trial", {"trial": area}, {"trial": now.revision_of("trial")})
    return "/trial#answer"


def _reading(asked: Mapping[str, Any], found: AtHand) -> TrialReading:
    light, observer = light_of(asked, found)
    if asked["space"] == "camera":
        channels = tuple(tuple(value / 100 for value in one["colour"]) for one in asked["chips"])
        return TrialReading(tuple(float(one["thickness_mm"]) for one in asked["chips"]), channels=channels)
    colours = [_colour(one["colour"], asked["space"], light, observer) for one in asked["chips"]]
    thicknesses = tuple(float(one["thickness_mm"]) for one in asked["chips"])
    if asked["space"] == "tile":
        return TrialReading(thicknesses, tuple(colours), on_tile=tile_of(asked), light=light, observer=observer)
    space: Literal["Lab", "XYZ"] = "XYZ" if asked["space"] == "XYZ" else "Lab"
    return TrialReading(thicknesses, tuple(colours), space, light=light, observer=observer)


def light_of(asked: Mapping[str, Any], found: AtHand) -> tuple[str, int]:
    """The light and observer of the reading; those of the target where nobody says."""
    target = found.recipe.target
    return str(asked["light"] or target.get("light", "D65")), int(asked["observer"] or target.get("observer", 10))


def as_the_chips(workspace: Workspace, now: Snapshot) -> dict[str, Any]:
    """How the chips were read from which the pigments were learnt, as the boxes of a trial have it: what reads the chips reads
    the trial. Nothing where no set is left, or its light is a file of the maker's."""
    learnt = now.area("pigments").get("from", {})
    things = [one["thing"] for one in now.area("chips").get("sets", []) if one["id"] in learnt]
    if not things:
        return {}
    reading = workspace.chip_set(things[0]).reading
    if reading.kind == "camera":
        return {"space": "camera"}
    if reading.light not in LIGHTS or (reading.kind == "spectrum" and not reading.on_tile):
        return {}
    if reading.on_tile:
        bare = reading.tile_lab
        if bare is None:
            seen, detector = seen_tile(workspace.chip_set(things[0])), eye(reading.light, reading.observer)
            bare = lab(seen.reflectance @ detector.weights, detector.bare).round(2).tolist() if seen else None
        tile = {"lab": bare and list(bare), "contact": reading.contact, "geometry": reading.geometry}
        return {"space": "tile", "light": reading.light, "observer": reading.observer, "on_tile": tile}
    return {"space": "Lab", "light": reading.light, "observer": reading.observer}


def thickest_on_tile_mm(workspace: Workspace, now: Snapshot) -> float:
    """How thick a chip may be on the tile: as the pigments' own, where these were read so."""
    model = model_at_hand(workspace, now)
    own = None if model is None else model.health.thickest_on_tile_mm
    return own or THICKEST_ON_TILE_MM


def tile_of(asked: Mapping[str, Any]) -> OnTile:
    """The white tile of a reading. Raises ValueProblem where it is not known what it reads bare."""
    told = asked.get("on_tile") or {}
    if not told.get("lab"):
        raise not_typed("L* of the bare white tile", "", "Read the tile without a chip, and type its L*, a* and b*.")
    L, a, b = (float(value) for value in told["lab"])
    return OnTile((L, a, b), told["contact"], told["geometry"])


def _colour(values: Sequence[float], space: str, light: str, observer: int) -> Triple:
    if space == "sRGB":
        # A screen on which the bare light is white.
        white = eye(light, observer).bare
        values = lab(xyz_of_srgb("#" + "".join(f"{round(v):02x}" for v in values), white), white).tolist()
    return float(values[0]), float(values[1]), float(values[2])


def checked_colour(values: Sequence[float], space: str, field: str) -> list[float]:
    """Three numbers of a reading, within what such a one can be. Raises ValueProblem."""
    if space == "camera":
        if len(values) != 3 or not all(-2 <= value <= 170 for value in values):
            raise not_typed(
                field, " ".join(map(numeral, values)), "It is red, green and blue, in per cent of the bare panel."
            )
        return [float(value) for value in values]
    if space != "sRGB":
        return list(check_colour(field, values, "Lab" if space == "tile" else space))
    if len(values) != 3 or not all(0 <= value <= 255 for value in values):
        said = " ".join(map(numeral, values))
        raise not_typed(field, said, "It is each of the three from 0 to 255, or #cfe8dc.")
    return [float(value) for value in values]


def pending_answer(workspace: Workspace, now: Snapshot) -> dict[str, Any] | None:
    """What `adjust` said of the pot of the sheet at hand, of which nothing went in yet; None where there is none."""
    name = now.area("trial").get("answer")
    kept = workspace.json(name) if name else {"sheet": None}
    return kept["body"] if kept["sheet"] is not None and kept["sheet"] == now.area("sheet").get("sheet") else None


def answer_shown(workspace: Workspace, now: Snapshot, found: AtHand | None) -> dict[str, Any] | None:
    """The answer as the page shows it; whether what it was asked for has changed since."""
    area = now.area("trial")
    if not area.get("answer") or found is None:
        return None
    try:
        kept = workspace.json(area["answer"])
    except NoSuchThing:
        return None
    body = kept["body"]
    light, observer = light_of(USUAL, found)
    of_another = kept["recipe"] != found.thing or kept["sheet"] not in (None, now.area("sheet").get("sheet"))
    places = [
        {
            **before, "after_off": after["delta_e00"], "after_95": after["delta_e00_95"],
            "target": hex_of(before["target_lab"], light, observer), "before": hex_of(before["lab"], light, observer),
            "after": hex_of(after["lab"], light, observer), **_wanted(before, after, found, of_another),
            "wide": {
                "target": wide_of(before["target_lab"], light, observer), "before": wide_of(before["lab"], light, observer),
                "after": wide_of(after["lab"], light, observer),
            },
        }
        for before, after in zip(body["sections_before"], body["sections_after"], strict=True)
    ]  # fmt: skip
    return {
        **body,
        "title": TITLES[body["outcome"]],
        "places": places,
        "changed": bool(body["additions"]) or body["untinted_part"]["grams"] > 0,
        "lots_learnt": _lots_learnt(area, kept),
        "doubtful": body["surprise"] > SURPRISE,
        "of_another": of_another,
        "earlier": not of_another and kept["asked"] != area.get("asked"),
    }


def lots_of_the_last(workspace: Workspace, now: Snapshot) -> dict[str, Any] | None:
    """What the trial before the last top-up taught about the lots, which can still be saved; None where the trial at hand tells
    it, or there was none."""
    area = now.area("trial")
    if area.get("answer") or not area.get("answer_before"):
        return None
    with suppress(NoSuchThing):
        kept = workspace.json(area["answer_before"])
        return {"lots_learnt": _lots_learnt(area, kept), "doubtful": kept["body"]["surprise"] > SURPRISE}
    return None


def _lots_learnt(area: Mapping[str, Any], kept: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each lot's strength as an answer found it, and whether it is worth saving."""
    body = kept["body"]
    return [
        {
            "pigment": pigment,
            **one,
            "band": with_band(one["factor"], COVERS_95 * one["factor"] * one["spread"]),
            "weighed_by": kept.get("weighed_by", {}).get(pigment, 1.0),
            "lot": body["lots"].get(pigment, ""),
            "worth": body["surprise"] <= SURPRISE
            and one["spread"] < WELL_LEARNT * kept["before"].get(pigment, (1.0, 0.15))[1],
            # From what the sheet weighed it by: what chance alone may bring is no news for the next sheet.
            "differs": abs(math.log(one["factor"] / kept.get("weighed_by", {}).get(pigment, 1.0)))
            > COVERS_95 * one["spread"],
            "kept": area.get("kept_lots", {}).get(pigment, ""),
        }
        for pigment, one in body["lot_strengths"].items()
    ]


def _wanted(
    before: Mapping[str, Any], after: Mapping[str, Any], found: AtHand, of_another: bool
) -> dict[str, str | float | None]:
    """What a place's colour is held against, in words; where that is what the recipe promised, how far it is from the target."""
    wanted = [one.get("target_lab") for one in found.recipe.sections if one.get("name") == before["name"]]
    if of_another or not wanted or wanted[0] is None:
        return {"aimed_at": "what it should be", "target_off": None, "target_off_after": None}
    if np.allclose(wanted[0], before["target_lab"], atol=_SAME_LAB):
        return {"aimed_at": "the target", "target_off": None, "target_off_after": None}
    off, then = (float(delta_e00(np.array(one["lab"]), np.array(wanted[0]))) for one in (before, after))
    return {"aimed_at": "what the recipe promised", "target_off": off, "target_off_after": then}


def topped_up(
    workspace: Workspace,
    now: Snapshot,
    added: Mapping[str, float],
    plain_g: float,
    expected: int,
    as_weighed: bool = False,
) -> Snapshot:
    """Note that what the answer asked for went into the pot; the next trial starts from there. as_weighed: also weights that are
    far from what it asked for. Raises NotThere, ValueProblem."""
    area = now.area("trial")
    if not area.get("answer"):
        raise needs_first("Noting a top-up", "an answer to a trial")
    body = workspace.json(area["answer"])["body"]
    if not as_weighed:
        plain = body["untinted_part"]
        asked = {one["letdown"] or one["pigment"]: one["weigh_g"] for one in body["additions"]}
        puts = [Put(name, grams, asked.get(name, 0.0)) for name, grams in added.items()]
        puts.append(Put(f"untinted {part_named(plain['name'])}", plain_g, plain["grams"]))
        for put in puts:
            if put.weighed_g:  # none of it: it was left out, and no digit slipped
                check_near(put)
    strengths = {name: [one["factor"], one["spread"]] for name, one in body["lot_strengths"].items()}
    left_g = body["left_g"] - body["set_aside_g"]
    one = {"left_g": left_g, "added": list(added.items()), "plain_g": plain_g, "strengths": strengths}
    asked = {**USUAL, **area.get("asked", {}), "chips": [], "left_g": None}
    rounds = [*rounds_of(area, now.area("sheet")), {**one, "sheet": now.area("sheet").get("sheet")}]
    new = {"asked": asked, "rounds": rounds, "answer": None, "answer_before": area["answer"], "done": True}
    new["kept_lots"] = area.get("kept_lots", {})
    return workspace.change("the top-up", {"trial": new}, {"trial": expected})


def keep_lots(workspace: Workspace, now: Snapshot, lots: Mapping[str, str], expected: int) -> list[str]:
    """Keep in the book how strong these lots were found to be: pigment → lot. What was kept, in sentences."""
    area = now.area("trial")
    name = area.get("answer") or area.get("answer_before")
    if not name:
        raise needs_first("Keeping a lot's strength", "an answer to a trial")
    body = workspace.json(name)["body"]
    if now.revision_of("trial") != expected:
        raise ChangedElsewhere(WORDS["trial"])
    found = body["lot_strengths"]
    for pigment, name in lots.items():
        if not name:
            raise not_typed(f"the lot of {pigment}", "", "Type what stands on its bottle, such as A-18.")
        if pigment not in found:
            raise NoSuchThing("pigment in this trial")
    note = f"from a trial of {body['recipe']}"
    with by_known_names():
        told = [
            lot(pigment, name, found[pigment]["factor"], found[pigment]["spread"], note=note).body["says"]
            for pigment, name in lots.items()
        ]
    area["kept_lots"] = {**area.get("kept_lots", {}), **lots}
    workspace.change("noting the lots", {"trial": area}, {"trial": expected})
    return told
