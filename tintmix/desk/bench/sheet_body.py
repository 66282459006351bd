"""The JSON of a batch sheet, and what a maker has to be told at the head of a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.files.plain import finite, table_of
from tintmix.numerals import capital, numeral
from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import Resin
from tintmix.sheet.cautions import cautions_table, hazards_unsaid
from tintmix.sheet.looks import Looks
from tintmix.sheet.sheet import BASIS, Sheet
from tintmix.weighing.weighed import WeighOut

_OF_THE_WEIGHING = (
    "batch_g", "achieved_phr", "mix_ratio_error", "mix_ratio_spread", "aim_delta_e00", "meets_aim", "budget", "advice",
)  # fmt: skip


def body_of(sheet: Sheet, recipe: Recipe, times_stronger: float, lots: Mapping[str, str]) -> dict[str, Any]:
    """The sheet as plain values: what formats.md says first, then what stands on the sheet besides."""
    weighed = sheet.weighed
    tinted = weighed.tinted_part
    body: dict[str, Any] = {
        "parts": [table_of(one, ("hazard", "takes_pigment")) for one in weighed.parts],
        "pigments": [
            table_of(
                one,
                ("letdown", "weigh_g", "portions", "scale"),
                weigh={"letdown": one.letdown, "grams": one.weigh_g, "portions": one.portions, "scale": one.scale},
                lot=lots.get(one.pigment, ""),
            )
            for one in weighed.pigments
        ],
        "letdowns": [
            table_of(
                one,
                ("lot", "carrier_scale", "carrier_portions", "held_g"),
                carrier_g=one.all_carrier_g,
                added_carrier_g=one.carrier_g,
                left_g=one.left_g,
            )
            for one in weighed.letdowns
        ],
        **{key: getattr(weighed, key) for key in _OF_THE_WEIGHING},
        "delta_e00_95_from_weighing": weighed.delta_e00_95_worst,
        "order": sheet.order,
        **cautions_table(sheet.cautions),
        "notes": sheet.notes,
        "warnings": sheet.looks.warnings,
        "basis": BASIS,
        "recipe": {
            "name": recipe.name,
            "revision": sheet.revision,
            "fingerprint": sheet.fingerprint,
            "digest": recipe.digest(),
        },
        "resin": sheet.resin.name,
        "cure": sheet.resin.cure,
        "lots": dict(lots),
        "date": sheet.made_on,
        "light": sheet.looks.light,
        "observer": sheet.looks.observer,
        "sections": [
            table_of(
                one,
                ("model_delta_e00_95", "weighing_delta_e00_95", "target_srgb"),
                delta_e00_95=one.model_delta_e00_95,
                delta_e00_95_from_weighing=one.weighing_delta_e00_95,
                delta_e00_95_from_weighing_and_lots=spread,
            )
            for one, spread in zip(sheet.looks.places, weighed.delta_e00_95_with_lots, strict=True)
        ],
        "tinted_part": {
            "name": tinted.name,
            "grams": weighed.tinted_part_g,
            "times_stronger": times_stronger,
            "looks": [table_of(one, ("beyond", "dark"), beyond_chips=one.beyond) for one in sheet.looks.cups],
            "other_parts_per_gram": sheet.per_tinted,
        },
    }
    return finite(body)  # type: ignore[no-any-return]


def notes_of(
    recipe: Recipe,
    resin: Resin,
    weighed: WeighOut,
    looks: Looks,
    lots: Mapping[str, str],
    strengths: Mapping[str, tuple[float, float]],
) -> tuple[str, ...]:
    """What stands in a frame at the head of the sheet: whatever makes it less than it seems."""
    notes = [capital(said) for said in hazards_unsaid(resin)]
    if not weighed.meets_aim:
        notes += weighed.advice or [
            f"On these scales the weighing may move the colour by ΔE00 {numeral(weighed.delta_e00_95_worst, 2)} (95 "
            "%), more than the "
            f"{numeral(weighed.aim_delta_e00)} aimed for."
        ]
    if recipe.resin is not None and not _same(recipe.resin, resin):
        notes.append(
            f"The recipe was found for the resin {recipe.resin.name!r}; this sheet is for {resin.name!r}. The weights are "
            "right for it, the colours only if it is as clear and the pigments are as strong in it."
        )
    notes += [
        f"At {one.name} this recipe is ΔE00 {one.delta_e00:.1f} off what was wanted, where {numeral(one.tolerance)} "
        "was to be the most."
        for one in looks.places
        if one.delta_e00 is not None and one.delta_e00 > 1.05 * one.tolerance
    ]
    total = recipe.total_phr
    if resin.max_total_phr is not None and total > resin.max_total_phr * (1 + 1e-9):
        notes.append(
            f"{numeral(total, 3)} phr of pigment is more than the {numeral(resin.max_total_phr)} phr that the resin takes by its "
            "file: it may cure soft."
        )
    for pigment, lot in lots.items():
        chips = recipe.lots.get(pigment, "")
        if pigment in recipe.doses_phr and chips and lot != chips:
            said = "nobody has measured how strong it is. Pour a check chip before the batch."
            if pigment in strengths:
                said = (
                    f"its check chips say {100 * strengths[pigment][0]:.0f} % as strong, and the weights allow for it."
                )
            notes.append(f"{pigment} is of lot {lot}, the recipe's was {chips}: {said}")
    notes += [capital(said) for said in looks.warnings]
    return tuple(notes)


def _same(first: Resin, second: Resin) -> bool:

    def ratio(resin: Resin) -> dict[str, float]:
        total = sum(part.parts_by_weight for part in resin.parts) or 1.0
        return {part.name: round(part.parts_by_weight / total, 9) for part in resin.parts}

    return first.name == second.name and (not first.parts or ratio(first) == ratio(second))
