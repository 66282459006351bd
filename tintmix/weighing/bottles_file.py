"""bottles.csv: the stock bottles of a plan, beside the chips that are dosed from them, so that they can stand on the shelf."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.files.table import read_sheet, table_text
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.errors import bad_bottle_table

BOTTLES_NAME = "bottles.csv"
BOTTLE_COLUMNS = ("bottle", "pigment", "lot", "carrier", "pigment_g", "carrier_g", "used_g")
CANCELS = 1e-6
"""Relative spread of a bottle that the chips were dosed from, against the pigment that they teach: the model counts its doses by
this very bottle, so that what is wrong with it is in the model too, and cancels. (0 would mean: as weighed.)"""


def bottles_text(bottles: Sequence[StockBottle]) -> str:
    """bottles.csv, which `bottles_from_text` reads back. used_g: what the cups take of each bottle."""
    rows: list[Sequence[str]] = [BOTTLE_COLUMNS]
    for one in bottles:
        grams = [f"{g:.10g}" for g in (one.pigment_g, one.carrier_g, one.total_g - one.left_g)]
        rows.append([one.name, one.pigment, one.lot, one.carrier, *grams])
    return table_text(rows)


def bottles_from_text(text: str, where: str, made_on: str = "", carrier: str = "") -> tuple[StockBottle, ...]:
    """The bottles of bottles.csv, as they stand once the cups are poured.

    made_on: ISO date. carrier: the resin part, where the file leaves it open. Raises FileProblem, ValueProblem, and what
    `read_sheet` raises.

    >>> bottle = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 15.4, lot="A-17")
    >>> [one] = bottles_from_text(bottles_text([bottle]), "bottles.csv")
    >>> one.name, one.carrier, one.lot, round(one.left_g, 9)
    ('azure 1+50', 'B', 'A-17', 15.4)
    """
    sheet = read_sheet(text, where, key="bottle")
    if tuple(name.strip().lower() for name in sheet.header) != BOTTLE_COLUMNS:
        raise bad_bottle_table(where, f"its columns must be {', '.join(BOTTLE_COLUMNS)}")
    found: list[StockBottle] = []
    for row, cells in sheet.rows:
        name, pigment, lot, part, *grams = ([cell.strip() for cell in cells] + [""] * 7)[:7]
        try:
            pigment_g, carrier_g, used_g = (float(cell.replace(",", ".")) for cell in grams)
        except ValueError:
            raise bad_bottle_table(
                f"{where}, row {row}", "pigment_g, carrier_g and used_g must be numbers of grams"
            ) from None
        if not (part or carrier):
            raise bad_bottle_table(f"{where}, row {row}", f"the resin part that {name} is diluted in is not said")
        left_g = pigment_g + carrier_g - used_g
        bottle = StockBottle(
            name,
            pigment,
            part or carrier,
            pigment_g,
            carrier_g,
            max(left_g, 0.0),
            made_on,
            lot,
            strength_spread=CANCELS,
        )
        if bottle.name in {one.name for one in found}:
            raise bad_bottle_table(f"{where}, row {row}", f"bottle {name} is named twice")
        found.append(bottle)
    return tuple(found)
