"""recipe.json: the doses, and all that they came from, as canonical JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tintmix.errors import TintmixError
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.errors import FormatMissing
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import load_text
from tintmix.files.upgrades import Format
from tintmix.files.words import is_number, plain
from tintmix.files.write import write_file
from tintmix.pigments.model import TintModel
from tintmix.recipes.aim import lay
from tintmix.recipes.errors import RecipeUnreadable
from tintmix.recipes.proposals import Proposal
from tintmix.recipes.target import Target
from tintmix.recipes.target_file import target_to_table
from tintmix.resin import Resin, resin_from_table, resin_to_table

RECIPE_FORMAT = Format(what="recipe")
_LARGEST_BYTES = 5_000_000
_KINDS: dict[str, type] = {
    **dict.fromkeys(("name", "model", "chips", "model_file"), str),
    **dict.fromkeys(("doses_phr", "target", "limits", "lots"), Mapping),
    "sections": list,
}


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe as it is kept. Tables are plain dicts and lists.

    doses_phr: grams per 100 g of mixed resin. sections: a table each, with name, thickness_mm, behind, the predicted
    lab and its covariance, target_lab, tolerance. glass: absorbance per mm of the glass piece that was aimed at, so
    that the recipe can be judged without the curve file; None without one. model, chips: SHA-256 of their canonical
    content.
    """

    name: str
    doses_phr: Mapping[str, float]
    resin: Resin | None
    target: Mapping[str, Any]
    sections: Sequence[Mapping[str, Any]]
    limits: Mapping[str, Any]
    lots: Mapping[str, str]
    model: str
    chips: str
    model_file: str
    glass: Mapping[str, Any] | None = None
    made_by: str = ""
    made_at: str = field(default="", compare=False)

    @property
    def total_phr(self) -> float:
        """Sum of the doses."""
        return math.fsum(self.doses_phr.values())

    def digest(self) -> str:
        """SHA-256 of what the recipe says: of its canonical JSON without made_by, made_at, and where the model lay."""
        return recipe_digest(recipe_to_table(self))


def recipe_digest(table: Mapping[str, Any]) -> str:
    """The digest of a recipe's table as it is kept, whatever keys later versions add."""
    return digest({key: value for key, value in table.items() if key not in ("made_by", "made_at", "model_file")})


def make_recipe(
    model: TintModel, target: Target, proposal: Proposal, name: str = "recipe", model_file: str = ""
) -> Recipe:
    """A proposal with all that it came from; made now, or at SOURCE_DATE_EPOCH."""
    table = target_to_table(target)
    aim = lay(model, target)
    glass = None
    if aim.glass is not None:
        glass = {
            "wavelengths_nm": model.wavelengths_nm.tolist(),
            "absorbance_per_mm": aim.glass.absorbance_per_mm.tolist(),
            "refractive_index": float(aim.glass.refractive_index),
            "estimated": aim.glass.is_estimated,
        }
    return Recipe(
        name=name,
        doses_phr=dict(proposal.doses_phr),
        resin=model.resin,
        target=table,
        sections=proposal.as_table()["sections"],
        limits=dict(table.get("limits", {})),
        lots={pigment: model.lots[pigment] for pigment in proposal.doses_phr if pigment in model.lots},
        model=model.digest(),
        chips=model.chips_digest,
        model_file=model_file,
        glass=glass,
        made_by=made_by(),
        made_at=made_at(),
    )


def recipe_to_table(recipe: Recipe) -> dict[str, Any]:
    """The recipe as the values of recipe.json."""
    return {
        "format": RECIPE_FORMAT.newest,
        "name": recipe.name,
        "doses_phr": dict(recipe.doses_phr),
        "resin": None if recipe.resin is None else resin_to_table(recipe.resin),
        "target": dict(recipe.target),
        "sections": [dict(section) for section in recipe.sections],
        "limits": dict(recipe.limits),
        "lots": dict(recipe.lots),
        "model": recipe.model,
        "chips": recipe.chips,
        "model_file": recipe.model_file,
        "glass": None if recipe.glass is None else dict(recipe.glass),
        "made_by": recipe.made_by,
        "made_at": recipe.made_at,
    }


def recipe_from_table(table: Any, where: object) -> Recipe:
    """The recipe of a table. Raises RecipeUnreadable, FormatTooNew."""
    if not isinstance(table, Mapping):
        raise RecipeUnreadable(where, "it is no JSON object")
    try:
        table = RECIPE_FORMAT.up_to_date(table, where)
    except FormatMissing:
        raise RecipeUnreadable(where, "it names no format") from None
    for key, kind in _KINDS.items():
        if not isinstance(table.get(key), kind):
            what = "a text" if kind is str else "a list" if kind is list else "a table"
            raise RecipeUnreadable(where, f"its {key} is missing or is not {what}")
    doses = {}
    for pigment, dose in table["doses_phr"].items():
        if not is_number(dose) or dose < 0:
            raise RecipeUnreadable(where, f"the dose of {plain(pigment)!r} is not a number of zero or more")
        doses[str(pigment)] = float(dose)
    for number, section in enumerate(table["sections"], 1):
        wrong = _wrong_with(section)
        if wrong:
            raise RecipeUnreadable(where, f"section {number}: {wrong}")
    seen = table["target"].get("light", "D65"), table["target"].get("observer", 10)
    if not (isinstance(seen[0], str) and type(seen[1]) is int):
        raise RecipeUnreadable(where, "the light or the observer of its target cannot be")
    if not all(isinstance(lot, str) for lot in table["lots"].values()):
        raise RecipeUnreadable(where, "a lot is no text")
    resin = table.get("resin")
    if resin is not None and not isinstance(resin, Mapping):
        raise RecipeUnreadable(where, "its resin is no table")
    glass = table.get("glass")
    if glass is not None and not isinstance(glass, Mapping):
        raise RecipeUnreadable(where, "its glass is no table")
    try:
        made = None if resin is None else resin_from_table(resin, where)
    except TintmixError as error:
        raise RecipeUnreadable(where, f"its resin cannot be: {str(error).rstrip('.')}") from None
    as_they_stand: dict[str, Any] = {key: table[key] for key in _KINDS if key != "doses_phr"}
    told: dict[str, Any] = {key: str(table.get(key, "")) for key in ("made_by", "made_at")}
    return Recipe(doses_phr=doses, resin=made, glass=glass, **as_they_stand, **told)


def is_lab(value: object) -> bool:
    """Whether it is three numbers such as a colour may have."""
    return (
        isinstance(value, list | tuple) and len(value) == 3 and all(is_number(one) and abs(one) < 1000 for one in value)
    )


def _wrong_with(section: Any) -> str:
    """What keeps a table from being a section; empty where nothing does."""
    if not isinstance(section, Mapping):
        return "it is no table"
    if not isinstance(section.get("name"), str):
        return "its name is no text"
    if not is_number(section.get("thickness_mm")):
        return "its thickness_mm is no number"
    for key in ("lab", "target_lab"):
        if not is_lab(section.get(key)) and not (key == "target_lab" and section.get(key) is None):
            return f"its {key} is not three numbers of a colour"
    numbers = ("tolerance", "delta_e00", "delta_e00_95", "luminous_transmittance", "haze_percent")
    told = {key: section[key] for key in numbers if section.get(key) is not None}
    return next((f"its {key} is no number" for key, value in told.items() if not is_number(value)), "")


def write_recipe(recipe: Recipe, path: str | Path) -> None:
    """Write recipe.json, whole or not at all. Raises CannotWrite."""
    write_file(path, canonical_json(recipe_to_table(recipe)), RECIPE_FORMAT)


def read_recipe(path: str | Path) -> Recipe:
    """Read recipe.json. Raises RecipeUnreadable, FormatTooNew, and what `load_text` raises."""
    text = load_text(Path(path), _LARGEST_BYTES, "a recipe")
    try:
        table = json.loads(text, parse_constant=_refuse)
    except (ValueError, RecursionError):
        raise RecipeUnreadable(path, "not JSON, or cut off") from None
    return recipe_from_table(table, path)


def _refuse(word: str) -> float:
    raise ValueError(word)
