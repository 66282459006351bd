"""What the words of an instrument's file say: which light, which observer, which quantity, which geometry."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

from tintmix.chips.instruments.sample import Geometry, Quantity

_LIGHT = re.compile(
    r"(?<![A-Za-z0-9])(D ?50|D ?55|D ?60|D ?65|D ?75|ID50|ID65|F ?L? ?\d{1,2}(?:\.\d{1,2})?|LED-[A-Z0-9]+|HP\d|[ABCE])"
    r"(?![A-Za-z0-9])"
)
_NAMED = re.compile(
    r"(?:ILLUMINA(?:NT|TION)(?:_NAME)?|LIGHT)\W{0,4}([A-Za-z]{1,4}-?[A-Za-z]{0,3}\d{0,2}(?:\.\d{1,2})?)", re.IGNORECASE
)
_OBSERVER = re.compile(
    r"(?<![\d.])(2|10)\s*(?:°|deg|_degree|-degree|º|/\s?(?:D\d|A\b|F\d|FL))|(?:D\d\d|/A|F\d{1,2})\s?/\s?(2|10)\b",
    re.IGNORECASE,
)
_OBSERVER_NAMED = re.compile(r"OBSERVER(?:_?ANGLE)?\W{0,4}(2|10)(?![\d.])", re.IGNORECASE)

_QUANTITIES: dict[Quantity, str] = {
    "transmittance": r"transmi|%\s?t(?![a-z])|\bt\s?\[?%",
    "absorbance": r"absorb|\babs\b|\ba\.?u\.?(?![a-z])|optical density",
    "reflectance": r"reflect|remission|%\s?r(?![a-z])|\br\s?\[?%|\bsc[ei]\b",
}
_GEOMETRIES: dict[Geometry, str] = {
    "gloss included": r"\bsci\b|specular[_ ]included|\bspin\b|gloss included",
    "45/0": r"45\s?°?\s?[a-z]?\s?[/:]\s?0|0\s?°?\s?[/:]\s?45",
    "d/8": r"\bsce\b|specular[_ ]excluded|\bspex\b",
    "total": r"\btotal|sphere|\bd/0\b|\b0/d\b",
    "regular": r"regular|direct|\b0/0\b",
}
"""What a file may call each, in small letters; the first that is found holds."""
Word = TypeVar("Word", bound=str)


def light_in(text: str) -> str | None:
    """The CIE name of the light that a text names, as this program spells it; None where it names none.

    >>> light_in('ILLUMINANT, D50'), light_in("Illumination=F11 ObserverAngle=2"), light_in("L*(10°/D65)")
    ('D50', 'FL11', 'D65')
    """
    named = _NAMED.search(text[:2000])
    found = _LIGHT.fullmatch(named.group(1)) if named else None
    if found is None and not named:
        # A bare letter is a light only where the text says "illuminant".
        found = next((m for m in _LIGHT.finditer(text[:2000]) if len(m.group(1)) > 1), None)
    if found is None:
        return None if named is None or not _is_word(named.group(1)) else named.group(1)
    name = found.group(1).replace(" ", "").upper()
    fluorescent = re.fullmatch(r"F(?!L)(.+)", name)
    return f"FL{fluorescent.group(1)}" if fluorescent else name


def _is_word(name: str) -> bool:
    return name.lower() not in ("unknown", "none", "no", "name", "na") and any(c.isdigit() for c in name)


def observer_in(text: str) -> int | None:
    """2 or 10, where a text names an observer.

    >>> observer_in("OBSERVER, 2 degree"), observer_in("L*(10°/D65)"), observer_in("D65/10")
    (2, 10, 10)
    """
    found = _OBSERVER_NAMED.search(text[:2000]) or _OBSERVER.search(text[:2000])
    return int(next(part for part in found.groups() if part)) if found else None


def quantity_in(text: str) -> Quantity | None:
    """What was measured, where the words say so.

    >>> quantity_in("% Transmittance"), quantity_in("%T"), quantity_in("Abs"), quantity_in("b1")
    ('transmittance', 'transmittance', 'absorbance', None)
    """
    return _first(_QUANTITIES, text)


def unit_in(text: str) -> str | None:
    """ "percent" where a text says so.

    >>> unit_in("%T"), unit_in("Transmittance (percent)"), unit_in("T")
    ('percent', 'percent', None)
    """
    return _first({"percent": r"%|percent|\bpct\b|_pct"}, text)


def geometry_in(text: str) -> Geometry | None:
    """How it was lit and seen, where the words say so.

    >>> geometry_in("45/0"), geometry_in("d/8 SCE"), geometry_in("integrating sphere, total"), geometry_in("SPIN")
    ('45/0', 'd/8', 'total', 'gloss included')
    """
    return _first(_GEOMETRIES, text)


def _first(words: Mapping[Word, str], text: str) -> Word | None:
    lower = text[:2000].lower()
    return next((word for word, pattern in words.items() if re.search(pattern, lower)), None)
