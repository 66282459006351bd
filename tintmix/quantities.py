"""What a number can be, by what it measures: said once, for shell, page, files and values alike.

The bounds are wide: within them stands all that a scale shows, a mould holds or an eye sees. What lies beyond was typed in
another unit, or is no number of this kind at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tintmix.errors import Remedy, ValueProblem, in_short
from tintmix.numerals import numeral

_SHOWN = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A kind of number: from `least` to `most`, both among them, in `unit`. or_none: 0 may stand for none of it.

    >>> Quantity(least=0.1, most=1e6, unit="g").limit, Quantity(least=0.01, most=5, or_none=True).limit
    ('from 0.1 to 1000000 g', '0, or from 0.01 to 5')
    """

    least: float
    most: float
    unit: str = ""
    or_none: bool = False

    @property
    def bounds(self) -> tuple[float, float]:
        """The least and the most."""
        return self.least, self.most

    @property
    def limit(self) -> str:
        """The bounds as an error tells them."""
        none = "0, or " if self.or_none and self.least > 0 else ""
        return f"{none}from {numeral(self.least)} to {numeral(self.most)} {self.unit}".rstrip()

    def holds(self, value: object) -> bool:
        """Whether it can be; no truth value, text or NaN can.

        >>> DOSE_PHR.holds(0.02), DOSE_PHR.holds(float("nan")), DOSE_PHR.holds(10**400), DOSE_PHR.holds("1")
        (True, False, False, False)
        """
        number = _plain_number(value)
        return self.least <= number <= self.most or (self.or_none and number == 0)

    def check(self, what: str, value: object, where: object = "", remedy: Remedy | None = None) -> float:
        """The number, where it can be. what: that it is, as "the batch". Raises ValueProblem.

        >>> BATCH_G.check("the batch", 450)
        450.0
        >>> BATCH_G.check("the batch", 1e-308)
        Traceback (most recent call last):
        tintmix.errors.ValueProblem: the batch is less than 0.000000001 g; it must be from 0.1 to 1000000 g.
        """
        if self.holds(value):
            return _plain_number(value)
        number = _plain_number(value)
        # Rounded as it is told, what is just beyond a bound would seem to lie on it.
        digits = 6 if numeral(number) not in (numeral(self.least), numeral(self.most)) else 15
        told = in_short(str(value), _SHOWN) if math.isnan(number) else numeral(number, digits)
        found = f"{told} {self.unit}".rstrip()
        raise ValueProblem(where=where, what=what, found=found, limit=self.limit, remedy=remedy)


def _plain_number(value: object) -> float:
    """Any make of number as a float; NaN for what is none."""
    if isinstance(value, bool | str | bytes):
        return math.nan
    try:
        return float(value)  # type: ignore[arg-type]
    except OverflowError:
        return math.inf if value > 0 else -math.inf  # type: ignore[operator]
    except (TypeError, ValueError):
        return math.nan


# Of the casting and its chips. A micrometre stands for no resin at all; nobody sees through a metre; no chip can be
# poured thinner than 0.01 mm, nor read through half a metre.
CASTING_MM = Quantity(least=0.001, most=1000.0, unit="mm")
CHIP_MM = Quantity(least=0.01, most=500.0, unit="mm")
MOULD_MM = Quantity(least=0.2, most=500.0, unit="mm")
CUP_G = Quantity(least=1.0, most=5000.0, unit="g")
BODY_MM = Quantity(least=0.1, most=1000.0, unit="mm")
EDGE_MM = Quantity(least=5.0, most=300.0, unit="mm")
WIDTH_MM = Quantity(least=0.01, most=10_000.0, unit="mm")
VOLUME_CM3 = Quantity(least=0.1, most=1e6, unit="cm³")
DENSITY_G_PER_CM3 = Quantity(least=0.1, most=25.0, unit="g/cm³")
# Of pigment: as much of it as of resin is no tint.
DOSE_PHR = Quantity(least=0.0, most=100.0, unit="phr")
TOTAL_PHR = Quantity(least=1e-6, most=100.0, unit="phr")
STRENGTH = Quantity(least=0.05, most=20.0)
LOT_SPREADS = Quantity(least=0.001, most=1.0)
PRICE_PER_G = Quantity(least=0.0, most=1e6, unit="a gram")
# Of what is weighed: from the last digit of the finest balances that are sold, 0.1 µg, to a tonne (common practice).
GRAMS = Quantity(least=1e-7, most=1e6, unit="g")
GRAMS_OR_NONE = Quantity(least=1e-7, most=1e6, unit="g", or_none=True)
BATCH_G = Quantity(least=0.1, most=1e6, unit="g")
BATCH_G_OR_NONE = Quantity(least=0.1, most=1e6, unit="g", or_none=True)
DROP_G = Quantity(least=1e-4, most=1.0, unit="g")
STEP_G = Quantity(least=1e-7, most=100.0, unit="g")
WASTE_PERCENT = Quantity(least=0.0, most=200.0, unit="%")
# Of what is seen and how sure it is.
DELTA_E00 = Quantity(least=0.001, most=100.0, unit="ΔE00")
PERCENT = Quantity(least=0.0, most=100.0, unit="%")
SHARE = Quantity(least=0.0, most=1.0)
MINUTES = Quantity(least=0.0, most=100_000.0, unit="minutes")
COUNT = Quantity(least=1, most=1_000_000)
"""Of revisions, pours and rows: more than a hundred a day for a working life."""

LIGHTNESS = Quantity(least=0.0, most=100.0)
HUE = Quantity(least=-200.0, most=200.0)
"""a* and b*: the most saturated colours that filters can have stay within 170 of 0 (MacAdam limits, 1935)."""
READ_ABOVE = 0.5
"""L* of a clear piece is read a little above 100 where the bare light was read a little too dark (common practice)."""


def lab_problem(lab: Iterable[float], read: bool = False) -> str:
    """Why three numbers can be the L*a*b* of nothing that light comes through; empty where they can. read: by an instrument.

    >>> lab_problem((88.2, -11.6, -3.8)), lab_problem((-1, -24, 3))
    ('', 'L* lies from 0 to 100, a* and b* from -200 to 200')
    """
    values = [_plain_number(value) for value in lab]
    top = LIGHTNESS.most + (READ_ABOVE if read else 0.0)
    fits = len(values) == 3 and LIGHTNESS.least <= values[0] <= top and all(map(HUE.holds, values[1:]))
    return "" if fits else f"L* lies {LIGHTNESS.limit}, a* and b* {HUE.limit}"


def xyz_problem(xyz: Iterable[float], read: bool = False) -> str:
    """The same of X, Y and Z, of which Y of the bare light is 100; their a* and b* are looked at as before an even white.

    >>> xyz_problem((30.0, 40.0, 30.0)), xyz_problem((0, 40, 30))
    ('', 'no light has such an X, Y and Z together, of which Y of the bare light is 100')
    """
    values = [_plain_number(value) for value in xyz]
    if len(values) != 3 or not all(0 <= value <= 250 for value in values):
        return "X, Y and Z are three numbers, none below 0, of which Y of the bare light is 100"
    root = [value / 100 if value / 100 > 216 / 24389 else None for value in values]
    f = [
        v ** (1 / 3) if v is not None else (24389 / 27 * value / 100 + 16) / 116
        for v, value in zip(root, values, strict=True)
    ]
    lab = (116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2]))
    together = "no light has such an X, Y and Z together, of which Y of the bare light is 100"
    return together if lab_problem(lab, read) else ""


def check_colour(
    what: str, values: Sequence[float], space: str = "Lab", read: bool = True, remedy: Remedy | None = None
) -> tuple[float, float, float]:
    """A colour's three numbers, where a colour has such. space: "Lab" or "XYZ". Raises ValueProblem.

    >>> check_colour("the trial chip", (-1, -24, 3))
    Traceback (most recent call last):
    tintmix.errors.ValueProblem: the trial chip is -1, -24, 3; L* lies from 0 to 100, a* and b* from -200 to 200.
    """
    problem = (lab_problem if space == "Lab" else xyz_problem)(values, read)
    if problem:
        numbers = [(value, _plain_number(value)) for value in list(values)[:4]]
        found = ", ".join(in_short(str(value), _SHOWN) if math.isnan(one) else numeral(one) for value, one in numbers)
        raise ValueProblem(what=f"{what} is {found}; {problem}", remedy=remedy)
    first, second, third = map(float, values)
    return first, second, third
