"""Numbers and values in words, the same on every picture. No drawing here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from tintmix.numerals import numeral
from tintmix.optics.paths import LightPaths
from tintmix.optics.section import Ground, Section

_OVER = {
    "panel": "over the bare light",
    "white": "on white",
    "dark": "on dark",
    "insert": "before the insert",
    "seen": "through the casting",
}
_BEHIND = {"panel": "bare light", "white": "white", "dark": "dark", "insert": "insert", "seen": "as seen"}


def share(fraction: float) -> str:
    """A share that was given, as short as it was given.

    >>> share(0.08), share(0.125)
    ('8 %', '12.5 %')
    """
    return f"{numeral(100 * fraction, 4)} %"


def decade(value: float) -> str:
    """A power of ten beside a logarithmic axis.

    >>> decade(0.01), decade(1e-5)
    ('0.01', '10⁻⁵')
    """
    if 1e-3 <= value < 1e5:
        return f"{numeral(value)}"
    return "10" + str(round(math.log10(value))).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def number(value: float, digits: int = 1) -> str:
    """A number with a real minus sign, and no minus before a zero.

    >>> number(-12.04), number(-0.02)
    ('−12.0', '0.0')
    """
    told = f"{value:.{digits}f}"
    if float(told) == 0:
        told = told.lstrip("-")
    return told.replace("-", "−")


def millimetres(value: float) -> str:
    """A thickness that was found, not given: a tenth of a millimetre under 20 mm.

    >>> millimetres(7.24), millimetres(52.6)
    ('7.2 mm', '53 mm')
    """
    return f"{value:.1f} mm" if value < 19.95 else f"{value:.0f} mm"


def stops(count: int) -> str:
    """By how much longer an exposure is.

    >>> stops(1), stops(3)
    ('+1 stop', '+3 stops')
    """
    return f"+{count} stop{'s' if count > 1 else ''}"


def triple(values: Iterable[float]) -> str:
    """L*, a*, b* in a cell of a table.

    >>> triple([50.0, -12.04, 3.0])
    '50.0  −12.0  3.0'
    """
    return "  ".join(number(float(value)) for value in values)


def recipe(doses_phr: Mapping[str, float]) -> str:
    """Doses in a line, which breaks between pigments alone.

    >>> recipe({"azure": 0.021, "emerald": 0.0, "rose": 0.3}).replace("\N{NO-BREAK SPACE}", " ")
    'azure 0.021 phr, rose 0.3 phr'
    >>> recipe({"mix": 0.5}), recipe({})
    ('0.5 × the cup as poured', 'untinted resin')
    """
    if list(doses_phr) == ["mix"]:
        return "the cup as poured" if doses_phr["mix"] == 1 else f"{numeral(doses_phr['mix'], 4)} × the cup as poured"
    used = [
        f"{name}\N{NO-BREAK SPACE}{numeral(dose, 3)}\N{NO-BREAK SPACE}phr"
        for name, dose in doses_phr.items()
        if dose > 0
    ]
    return ", ".join(used) or "untinted resin"


def over(ground: Ground | LightPaths) -> str:
    """How a section is seen, after the word "seen"."""
    return _OVER.get(ground.name, f"before {ground.name}")


def behind(ground: Ground | LightPaths) -> str:
    """What is behind a section, in a cell of a table."""
    return _BEHIND.get(ground.name, ground.name)


def label_of(section: Section) -> tuple[str, str]:
    """A section's name, empty where it is only its thickness, and its thickness, or how far the light goes that is seen."""
    if section.seen is not None:
        return " ".join(section.name.split()), f"seen through {numeral(section.thickness_mm, 3)} mm"
    thickness = f"{numeral(section.thickness_mm)} mm"
    name = " ".join(section.name.split())
    return ("" if name in ("", thickness) else name), thickness


def spans(pairs: Sequence[tuple[float, float]]) -> str:
    """Ranges of thickness in words.

    >>> spans([(0.0, 4.2), (30.0, 65.0)])
    '0 to 4.2 mm and 30 to 65 mm'
    """
    return " and ".join(f"{_short(low)} to {_short(high)} mm" for low, high in pairs)


def _short(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0") if value < 19.95 else f"{value:.0f}"
