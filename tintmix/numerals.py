"""Numbers and lists as people write them: never with an exponent. Everything that a maker reads comes through here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

_SMALLEST, _LARGEST = 1e-9, 1e15
"""Beyond these a number would be a row of zeros that nobody counts; no dose, weight or thickness comes near them."""
SUREST = 0.99
"""The largest chance that is told: 300 draws, and a model that may itself be wrong, tell no more."""
_LEAST_PERCENT = 0.01
"""Less is no light that anyone sees, and no share that anyone weighs."""


def numeral(value: float, digits: int = 6, zeros: bool = False) -> str:
    """A number to so many significant digits; zeros: whether zeros at its end stay.

    >>> numeral(0.0000013), numeral(1234567.0), numeral(40.0), numeral(0.02, 3, zeros=True), numeral(-0.0), numeral(1e-300)
    ('0.0000013', '1234570', '40', '0.0200', '0', 'less than 0.000000001')
    """
    if not math.isfinite(value):
        return f"{value}"
    size, sign = abs(value), "-" if value < 0 else ""
    if 0 < size < _SMALLEST:
        return f"less than {numeral(_SMALLEST)}"
    if size > _LARGEST:
        return f"{sign}more than {numeral(_LARGEST)}"
    rounded = Decimal(format(size, f"{'#' if zeros else ''}.{digits}g"))
    return f"{sign}{rounded:f}"


def with_band(value: float, off: float) -> str:
    """A value and how far it may be off, both to the same place: that of the band's second digit, or its first above 0.3.

    >>> with_band(1.0812, 0.1117), with_band(0.8, 0.057), with_band(12.3, 4.0)
    ('1.08 ± 0.11', '0.80 ± 0.06', '12 ± 4')
    """
    if not off > 0:
        return numeral(value, 3)
    power = math.floor(math.log10(off))
    places = max(0, -power + (1 if off < 3 * 10.0**power else 0))
    return f"{value:.{places}f} ± {off:.{places}f}"


def percent(fraction: float) -> str:
    """A fraction in per cent, as fine as it is small.

    >>> percent(0.7123), percent(0.08), percent(0.0042), percent(1.3e-8), percent(0.0)
    ('71 %', '8 %', '0.42 %', 'less than 0.01 %', '0 %')
    """
    value = 100 * fraction
    if 0 < value < _LEAST_PERCENT:
        return f"less than {numeral(_LEAST_PERCENT)} %"
    return f"{numeral(value, 2) if abs(value) < 9.95 else f'{value:.0f}'} %"


def chance(fraction: float | None) -> str:
    """A chance in 100; what a few hundred draws cannot tell from certainty is not called certain. None: it is not told.

    >>> chance(1.0), chance(0.931), chance(0.004), chance(None)
    ('over 99 in 100', '93 in 100', 'under 1 in 100', 'not told')
    """
    if fraction is None:
        return "not told"
    if fraction >= SUREST:
        return "over 99 in 100"
    return "under 1 in 100" if fraction < 0.005 else f"{100 * fraction:.0f} in 100"


def chip_mm(thickness_mm: float) -> str:
    """The thickness of a chip that was measured, in mm without the unit: to a tenth, as near as a chip is even.

    >>> chip_mm(25.24), chip_mm(3.0), chip_mm(0.04)
    ('25.2', '3', '0.04')
    """
    return numeral(round(thickness_mm, 1) or thickness_mm)


def depth_in_words(straight_mm: float, path_mm: float) -> str:
    """What a calliper says of a place, beside how far the light went that is seen there.

    >>> depth_in_words(17.0, 60.13)
    '17 mm of resin, seen through 60.1 mm'
    """
    return f"{numeral(straight_mm, 3)} mm of resin, seen through {numeral(path_mm, 3)} mm"


def told_depth(place: Mapping[str, Any]) -> str:
    """How thick a place is, in few words, as an answer's JSON tells of it.

    >>> told_depth({"thickness_mm": 8.0}), told_depth({"thickness_mm": None, "straight_mm": 17.0, "path_mm": {"mean": 60.13}})
    ('8 mm', '17 mm, seen through 60.1 mm')
    """
    if place["thickness_mm"] is not None:
        return f"{numeral(place['thickness_mm'])} mm"
    return depth_in_words(place["straight_mm"], place["path_mm"]["mean"]).replace(" of resin", "")


def length_mm(place: Mapping[str, Any]) -> float:
    """The thickness of such a place, or its mean path.

    >>> length_mm({"thickness_mm": None, "path_mm": {"mean": 60.13}})
    60.13
    """
    return float(place["path_mm"]["mean"] if place["thickness_mm"] is None else place["thickness_mm"])


def counted(count: int, one: str, more: str = "") -> str:
    """So many of a thing. more: its plural, where it is not made with an s.

    >>> counted(1, "cell"), counted(2, "cell"), counted(0, "spectrum", "spectra")
    ('1 cell', '2 cells', '0 spectra')
    """
    return f"{count} {one if count == 1 else more or f'{one}s'}"


def capital(sentence: str) -> str:
    """A sentence with a capital letter in front, the rest as it is."""
    return sentence[:1].upper() + sentence[1:]


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words with commas, and a last "and"; nothing where there are none.

    >>> listed(["azure", "emerald", "rose"]), listed(["azure", "emerald"], "or"), listed(["azure"])
    ('azure, emerald and rose', 'azure or emerald', 'azure')
    """
    *first, end = [*words] or [""]
    return f"{', '.join(first)} {last} {end}" if first else end


def colours_apart(paint: Sequence[float], wanted: Sequence[float]) -> str:
    """How much lighter and more saturated a paint is than it is to look, both L*a*b*.

    >>> colours_apart((90.0, 0.0, 30.0), (60.0, 0.0, 20.0))
    'lighter by L* 30 and more saturated by C* 10 than it is to look'
    >>> colours_apart((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    'as light and as saturated as it is to look'
    """
    lighter, more = paint[0] - wanted[0], math.hypot(*paint[1:]) - math.hypot(*wanted[1:])
    if max(abs(lighter), abs(more)) < 0.5:
        return "as light and as saturated as it is to look"
    return (
        f"{'lighter' if lighter >= 0 else 'darker'} by L* {abs(lighter):.0f} and {'more' if more >= 0 else 'less'} saturated "
        f"by C* {abs(more):.0f} than it is to look"
    )
