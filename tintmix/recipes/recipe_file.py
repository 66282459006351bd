"""recipe.json: the doses, and all that they came from, as canonical JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tintmix.errors import TintmixError
from tintmix.files import caps
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.errors import BadTable, FormatMissing
from tintmix.files.made import kind_of, told_as
from tintmix.files.plain import finite
from tintmix.files.plain import table_of as plain_table
from tintmix.files.schema import (
    NEEDED,
    Rows,
    Table,
    anything,
    checked,
    list_of,
    number,
    of,
    or_none,
    table_of,
    text,
    whole,
)
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import load_text
from tintmix.files.upgrades import Format
from tintmix.files.write import write_file
from tintmix.pigments.model import TintModel
from tintmix.quantities import DOSE_PHR
from tintmix.recipes.casting import CastPlace, kept_table
from tintmix.recipes.errors import unreadable_recipe
from tintmix.recipes.proposals import Proposal
from tintmix.recipes.search.aim import lay
from tintmix.recipes.target import Target
from tintmix.recipes.target_file import target_to_table
from tintmix.resin import Resin, resin_from_table, resin_to_table

RECIPE_FORMAT = Format(what="recipe")
"""A recipe has some ten kilobytes; a glass spectrum at every nanometre ten more."""
_AS_THEY_STAND = ("name", "target", "sections", "limits", "lots", "model", "chips", "model_file")
_ANY_TEXT = text(empty=True, most=5_000)
_NUMBER = or_none(number())
_LAB = list_of(number(above=-1000, below=1000), count=3)
_SECTION = Table(
    {
        "name": (_ANY_TEXT, NEEDED),
        "thickness_mm": (_NUMBER, NEEDED),
        "lab": (_LAB, NEEDED),
        "target_lab": (or_none(_LAB), None),
        **dict.fromkeys(
            ("tolerance", "delta_e00", "delta_e00_95", "luminous_transmittance", "haze_percent"), (_NUMBER, None)
        ),
    },
    others=True,
)
_RECIPE = Table(
    {
        "name": (_ANY_TEXT, NEEDED),
        "doses_phr": (table_of(of(DOSE_PHR)), NEEDED),
        "resin": (or_none(table_of(anything)), None),
        "target": (Table({"light": (_ANY_TEXT, ""), "observer": (whole(least=0), 10)}, others=True), NEEDED),
        "sections": (Rows(_SECTION, in_toml=False), NEEDED),
        "limits": (table_of(anything), NEEDED),
        "lots": (table_of(_ANY_TEXT), NEEDED),
        "model": (_ANY_TEXT, NEEDED),
        "chips": (_ANY_TEXT, NEEDED),
        "model_file": (_ANY_TEXT, NEEDED),
        "glass": (or_none(table_of(anything)), None),
        "casting": (list_of(table_of(anything)), ()),
        "made_by": (anything, ""),
        "made_at": (anything, ""),
    },
    others=True,
)


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe as it is kept. Tables are plain dicts and lists.

    doses_phr: grams per 100 g of mixed resin. sections: a table each, with name, thickness_mm, behind, the predicted
    lab and its covariance, target_lab, tolerance. glass: absorbance per mm of the glass piece that was aimed at, so
    that the recipe can be judged without the curve file; None without one. casting: the places of shapes that it was found for,
    as `casting.kept_table` has them, so that neither shape nor mesh need be at hand. model, chips: SHA-256 of their canonical
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
    casting: Sequence[Mapping[str, Any]] = ()

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
        sections=finite(proposal.sections),
        limits=dict(table.get("limits", {})),
        lots={pigment: model.lots[pigment] for pigment in proposal.doses_phr if pigment in model.lots},
        model=model.digest(),
        chips=model.chips_digest,
        model_file=model_file,
        glass=glass,
        casting=[
            kept_table(CastPlace(seen=one.seen, insert=one.insert)) for one in target.sections if one.seen is not None
        ],
        made_by=made_by(),
        made_at=made_at(),
    )


def recipe_to_table(recipe: Recipe) -> dict[str, Any]:
    """The recipe as the values of recipe.json."""
    resin = None if recipe.resin is None else resin_to_table(recipe.resin)
    # A recipe without seen places says what it always said: its digest stays.
    unsaid = () if recipe.casting else ("casting",)
    return {"format": RECIPE_FORMAT.newest, **finite(plain_table(recipe, unsaid, resin=resin))}


def recipe_from_table(table: Any, where: object) -> Recipe:
    """The recipe of a table. Raises FileProblem."""
    if not isinstance(table, Mapping):
        raise unreadable_recipe(where, "it is no JSON object")
    if kind_of(table) not in ("", "recipe"):
        raise unreadable_recipe(where, told_as(table))
    try:
        table = RECIPE_FORMAT.up_to_date(table, where)
        told = checked(_RECIPE, table, where)
    except FormatMissing:
        raise unreadable_recipe(where, "it names no format") from None
    except BadTable as error:
        raise unreadable_recipe(where, error.first) from None
    resin = told.resin
    try:
        made = None if resin is None else resin_from_table(resin, where)
    except TintmixError as error:
        raise unreadable_recipe(where, f"its resin cannot be: {str(error).rstrip('.')}") from None
    # Sections, target and the rest are kept as they stand, with what later versions add to them.
    as_they_stand = {key: table[key] for key in _AS_THEY_STAND}
    own = {"resin": made, "made_by": str(told.made_by), "made_at": str(told.made_at)}
    return Recipe(**vars(told) | as_they_stand | own)


def write_recipe(recipe: Recipe, path: str | Path, replace: bool = False) -> None:
    """Write recipe.json, whole or not at all. Raises CannotWrite."""
    write_file(path, canonical_json(recipe_to_table(recipe)), RECIPE_FORMAT, replace)


def read_recipe(path: str | Path) -> Recipe:
    """Read recipe.json. Raises FileProblem, and what `load_text` raises."""
    text = load_text(Path(path), caps.RECIPE, "a recipe")
    try:
        table = json.loads(text, parse_constant=_refuse)
    except (ValueError, RecursionError):
        raise unreadable_recipe(path, "not JSON, or cut off") from None
    return recipe_from_table(table, path)


def _refuse(word: str) -> float:
    raise ValueError(word)
