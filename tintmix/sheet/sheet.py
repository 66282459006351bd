"""The batch sheet as a value: what to weigh, in what order, what it should look like, how exact it is, and the cautions.

Text, JSON and paper are made of it in faces. Nothing here is drawn or printed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import Resin
from tintmix.sheet.cautions import Caution, cautions_for
from tintmix.sheet.lines import Stage, grams_plain, one_line
from tintmix.sheet.looks import Looks
from tintmix.sheet.steps import stages_of
from tintmix.weighing.scales import shown
from tintmix.weighing.weighed import BudgetLine, WeighOut, part_label

BASIS = "Doses in phr: grams of pigment as supplied per 100 g of mixed resin, all parts together, before pigment."
_MOST_LINES = 4
_SEEN = 0.02
"""ΔE00 below which a line of the weighing's budget is not worth the ink."""
FINGERPRINT = 12
"""So many characters of the recipe's digest stand on the sheet: enough to tell it from any other."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """What goes into the batch in all. dose_phr: of a pigment, as wanted; achieved_phr: as the scale lets it be weighed.
    strength: of its lot or bottle, 1 as the chips had it."""

    name: str
    grams: float
    shown: str
    dose_phr: float | None = None
    achieved_phr: float | None = None
    lot: str = ""
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that stands on a batch sheet.

    title: of the recipe. revision: in the book, None outside it. fingerprint: first characters of the recipe's digest. made_on:
    ISO date. per_tinted: grams of each other part for a gram of the finished tinted part. notes: what the maker has to know
    before all else.
    """

    title: str
    revision: int | None
    fingerprint: str
    made_on: str
    made_by: str
    resin: Resin
    lots: Mapping[str, str]
    weighed: WeighOut
    ingredients: tuple[Ingredient, ...]
    stages: tuple[Stage, ...]
    looks: Looks
    per_tinted: Mapping[str, float]
    notes: tuple[str, ...] = field(default=())

    @property
    def order(self) -> tuple[str, ...]:
        """Every step in a line, in order."""
        return tuple(step.told for stage in self.stages for step in stage.steps)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What the resin's parts call for, as it is told today: a sheet that was kept has no older ones."""
        return cautions_for(self.resin)

    @property
    def headline(self) -> str:
        """The batch in a line."""
        return f"{grams_plain(self.weighed.batch_g)} of mixed {one_line(self.resin.name)}"


def make_sheet(
    recipe: Recipe,
    resin: Resin,
    weighed: WeighOut,
    looks: Looks,
    lots: Mapping[str, str],
    made_on: str,
    made_by: str,
    revision: int | None = None,
    notes: tuple[str, ...] = (),
) -> Sheet:
    """The batch sheet of weights that `weigh_out` found and of what they will look like."""
    tinted_g = weighed.tinted_part.grams_total + math.fsum(one.grams for one in weighed.pigments)
    per_tinted = {one.name: one.grams_total / tinted_g for one in weighed.parts if not one.takes_pigment}
    ingredients = [
        Ingredient(one_line(part_label(one.name)), one.grams_total, shown(one.grams_total, weighed.scale(one.scale)))
        for one in weighed.parts
    ]
    ingredients += [
        Ingredient(
            one_line(one.pigment),
            one.grams,
            f"{one.grams:.3g} g",
            one.dose_phr,
            weighed.achieved_phr[one.pigment],
            one_line(lots.get(one.pigment, "")),
            one.strength,
        )
        for one in weighed.pigments
    ]
    return Sheet(
        title=one_line(recipe.name) or "recipe without a name",
        revision=revision,
        fingerprint=recipe.digest()[:FINGERPRINT],
        made_on=made_on,
        made_by=made_by,
        resin=resin,
        lots={one_line(pigment): one_line(lot) for pigment, lot in lots.items()},
        weighed=weighed,
        ingredients=tuple(ingredients),
        stages=stages_of(recipe.name, resin, weighed, looks, lots, per_tinted),
        looks=looks,
        per_tinted=per_tinted,
        notes=tuple(map(one_line, notes)),
    )


def matters(sheet: Sheet) -> tuple[BudgetLine, ...]:
    """The few weighings worth telling of: the largest, as far as an eye could ever see them."""
    largest = sheet.weighed.budget[:_MOST_LINES]
    return tuple(replace(one, what=one_line(one.what)) for one in largest if one.delta_e00 >= _SEEN)
