"""A stock bottle (letdown): what is in it, how much is left, how strong it is; and bottles.csv, the bottles of a plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.files.table import read_sheet, table_text
from tintmix.files.words import number_plain, plain
from tintmix.quantities import GRAMS, GRAMS_OR_NONE, SHARE, STRENGTH
from tintmix.weighing.scales import bottle_spread

_CAN_BE = {
    "pigment_g": GRAMS, "carrier_g": GRAMS, "left_g": GRAMS_OR_NONE, "strength": STRENGTH, "strength_spread": SHARE,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class StockBottle:
    """A letdown on the shelf: one part pigment in n parts of the carrier, by mass. Raises ValueProblem.

    pigment_g, carrier_g: what it was made from, in grams; only their ratio counts once it is made (a bottle made from
    another bottle: the pigment in it, and all of the carrier). left_g: how much is in it now
    (inf: nobody says). made_on: ISO date, or empty.
    lot: of the pigment, or empty. strength: of what is in it, against the pigment that the model learnt; exactly 1: as
    weighed, nobody measured it, so that the strength of its pigment's lot holds. strength_spread: relative, one standard
    deviation, of the strength; 0: as its weights on the scale at hand would give it. resin: the name of the resin whose part it
    was made with; empty: nobody says.

    >>> bottle = StockBottle("azure 1+50", "azure", "B", pigment_g=0.4, carrier_g=20.0, left_g=15.0)
    >>> round(bottle.n, 9), round(bottle.share, 6), bottle.total_g
    (50.0, 0.019608, 20.4)
    """

    name: str
    pigment: str
    carrier: str
    pigment_g: float
    carrier_g: float
    left_g: float
    made_on: str = ""
    lot: str = ""
    strength: float = 1.0
    strength_spread: float = 0.0
    resin: str = ""

    def __post_init__(self) -> None:
        for key in ("name", "pigment", "carrier", "made_on", "lot", "resin"):
            value = getattr(self, key)
            if not isinstance(value, str) or len(value) > 500 or (key in ("name", "pigment") and not value.strip()):
                raise _bad_bottle(self.name, f"its {key} is missing, or no text of at most 500 characters")
        for key, can_be in _CAN_BE.items():
            value = getattr(self, key)
            if key == "left_g" and value == math.inf:
                continue
            if not can_be.holds(value):
                raise _bad_bottle(self.name, f"its {key} is {number_plain(value)}; it must be {can_be.limit}")
            object.__setattr__(self, key, float(value))
        if 1.02 * self.total_g < self.left_g < math.inf:
            raise _bad_bottle(self.name, f"{self.left_g:g} g are left in it, but it was made of {self.total_g:g} g")
        if self.made_on:
            try:
                date.fromisoformat(self.made_on)
            except ValueError:
                raise _bad_bottle(self.name, f"made_on is {self.made_on!r}, no date such as 2026-11-02") from None

    @classmethod
    def of_ratio(cls, name: str, pigment: str, n: float) -> StockBottle:
        """A bottle of which no more is known than its ratio, 1 + n: there is enough in it, as far as anyone says. Raises
        ValueProblem.

        >>> round(StockBottle.of_ratio("azure 1+50", "azure", 50.0).share, 6)
        0.019608
        """
        return cls(name, pigment, "", 1.0, n, math.inf)

    @property
    def total_g(self) -> float:
        """Grams that it was made of."""
        return self.pigment_g + self.carrier_g

    @property
    def n(self) -> float:
        """Parts of carrier to one part of pigment, by mass."""
        return self.carrier_g / self.pigment_g

    @property
    def share(self) -> float:
        """Mass of pigment as supplied in one gram of the bottle, w = p/(p + c)."""
        return self.pigment_g / self.total_g

    @property
    def is_measured(self) -> bool:
        """Whether somebody measured its strength; otherwise the strength of its pigment's lot holds."""
        return self.strength != 1.0

    @property
    def is_of_the_chips(self) -> bool:
        """Whether the chips were dosed from it: what is in it is what the model learnt, whatever lot is in hand."""
        return self.strength == 1.0 and 0.0 < self.strength_spread <= CANCELS

    @property
    def knows_its_strength(self) -> bool:
        """Whether its strength is its own, not that of the lot in hand."""
        return self.is_measured or self.is_of_the_chips

    def spread(self, spread_g: float) -> float:
        """Relative spread of its strength: as it is kept, or where nothing is kept, as weighings of `spread_g` give it.

        Physics §12; see `tintmix.weighing.scales.bottle_spread`.

        >>> round(StockBottle("b", "azure", "B", 0.4, 20.0, 20.0).spread(0.0147196), 6)
        0.036085
        """
        if self.strength_spread > 0:
            return self.strength_spread
        return bottle_spread(self.pigment_g, self.carrier_g, spread_g)

    def age_days(self, today: str) -> int | None:
        """Days since it was made, on an ISO date; None where either is not known.

        >>> StockBottle("b", "azure", "B", 0.4, 20.0, 20.0, "2026-11-02").age_days("2026-12-01")
        29
        """
        if not (self.made_on and today):
            return None
        return (date.fromisoformat(today[:10]) - date.fromisoformat(self.made_on[:10])).days


BOTTLES_NAME = "bottles.csv"
BOTTLE_COLUMNS = ("bottle", "pigment", "lot", "carrier", "pigment_g", "carrier_g", "used_g", "resin")
_WITHOUT_RESIN = BOTTLE_COLUMNS[:-1]
"""The columns of earlier versions."""
CANCELS = 1e-6
"""Relative spread of a bottle that the chips were dosed from, against the pigment that they teach: the model counts its doses by
this very bottle, so that what is wrong with it is in the model too, and cancels. (0 would mean: as weighed.)"""


def bottles_text(bottles: Sequence[StockBottle], shelf: Sequence[tuple[StockBottle, float]] = ()) -> str:
    """bottles.csv, which `bottles_from_text` reads back. used_g: what the cups take of each bottle. shelf: bottles that stand
    there already, and the grams taken; what they were made of is then left out."""
    rows: list[Sequence[str]] = [BOTTLE_COLUMNS]
    for one in bottles:
        grams = [f"{g:.10g}" for g in (one.pigment_g, one.carrier_g, one.total_g - one.left_g)]
        rows.append([one.name, one.pigment, one.lot, one.carrier, *grams, one.resin])
    rows += [
        [one.name, one.pigment, one.lot, one.carrier, "", "", f"{used_g:.10g}", one.resin] for one, used_g in shelf
    ]
    return table_text(rows)


def bottles_from_text(
    text: str, where: str, made_on: str = "", carrier: str = ""
) -> tuple[tuple[StockBottle, ...], dict[str, float]]:
    """The bottles of bottles.csv, as they stand once the cups are poured; and what the cups take of those that stood on the shelf
    before, by name.

    made_on: ISO date. carrier: the resin part, where the file leaves it open. Raises FileProblem, ValueProblem, and what
    `read_sheet` raises.

    >>> bottle = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 15.4, lot="A-17")
    >>> from dataclasses import replace
    >>> [one], taken = bottles_from_text(bottles_text([bottle], [(replace(bottle, name="old"), 2.0)]), "bottles.csv")
    >>> one.name, one.carrier, one.lot, round(one.left_g, 9), taken
    ('azure 1+50', 'B', 'A-17', 15.4, {'old': 2.0})
    """
    sheet = read_sheet(text, where, key="bottle")
    if tuple(name.strip().lower() for name in sheet.header) not in (BOTTLE_COLUMNS, _WITHOUT_RESIN):
        raise _bad_bottle_table(where, f"its columns must be {', '.join(BOTTLE_COLUMNS)}")
    found: list[StockBottle] = []
    taken: dict[str, float] = {}
    for row, cells in sheet.rows:
        here = f"{where}, row {row}"
        name, pigment, lot, part, *grams, resin = ([cell.strip() for cell in cells] + [""] * 8)[:8]
        stood = not any(grams[:2])
        try:
            pigment_g, carrier_g, used_g = (
                float(cell.replace(",", ".")) for cell in (["0", "0", grams[2]] if stood else grams)
            )
        except ValueError:
            raise _bad_bottle_table(here, "pigment_g, carrier_g and used_g must be numbers of grams") from None
        part, left_g = part or carrier, max(pigment_g + carrier_g - used_g, 0.0)
        if not part:
            raise _bad_bottle_table(here, f"the resin part that {name} is diluted in is not said")
        if name in {one.name for one in found} | set(taken):
            raise _bad_bottle_table(here, f"bottle {name} is named twice")
        if stood:
            taken[name] = used_g
            continue
        bottle = StockBottle(
            name, pigment, part, pigment_g, carrier_g, left_g, made_on, lot, strength_spread=CANCELS, resin=resin
        )
        found.append(bottle)
    return tuple(found), taken


def _bad_bottle(name: object, problem: str) -> ValueProblem:
    return ValueProblem(where=f"stock bottle {plain(name)!r}", what=problem, remedy=Remedy.CORRECT_THE_BOTTLE)


def _bad_bottle_table(where: str, problem: str) -> FileProblem:
    return FileProblem(where=where, what=problem, remedy=Remedy.CORRECT_AND_READ_AGAIN)
