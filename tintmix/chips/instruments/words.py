"""What the words of an instrument's file say: which light, which observer, which quantity, which unit, which geometry.

Heads are in the languages that instruments speak: English, German, French, Spanish, Italian, Portuguese, Dutch, Japanese.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import TypeVar

from tintmix.chips.instruments.sample import Geometry, Quantity

_LIGHT = re.compile(
    r"(?<![A-Za-z0-9])(D ?50|D ?55|D ?60|D ?65|D ?75|ID50|ID65|F ?L? ?\d{1,2}(?:\.\d{1,2})?|LED-[A-Z0-9]+|HP\d|[ABCE])"
    r"(?![A-Za-z0-9])"
)
_NAMED = re.compile(
    r"(?:ILLUMINA(?:NT|TION)(?:_NAME)?|ILUMINANTE|LICHTART|NORMLICHT|LIGHT(?!\W*SOURCE))\W{0,4}"
    r"([A-Za-z]{1,4}-?[A-Za-z]{0,3}\d{0,2}(?:\.\d{1,2})?)",
    re.IGNORECASE,
)
_OBSERVER = re.compile(
    r"(?<![\d.])(2|10)\s*(?:°|deg|_degree|-degree|º|/\s?(?:D\d|A\b|F\d|FL))|(?:D\d\d|/A|F\d{1,2})\s?[/-]\s?(2|10)\b",
    re.IGNORECASE,
)
_OBSERVER_NAMED = re.compile(
    r"(?:OBSERVER|BEOBACHTER|OBSERVATEUR|OBSERVADOR|OSSERVATORE|視野)(?:_?ANGLE)?\W{0,4}(2|10)(?![\d.])", re.IGNORECASE
)

_SPELLED: dict[Quantity, str] = {
    "transmittance": r"transmi|trasmi|durchl[aä]ss|透[過过射]",
    "absorbance": r"absorb(?!ed|ing|er)|absorptio|assorb|absorci|extin[ckçt]|estinz|optical dens|optische dichte"
    r"|densit[éeàa] opti|densidad [oó]pti|log\s?(?:10)?\s?\(?\s?1\s?/\s?[ti]|吸光",
    "reflectance": r"reflec|reflek|r[eé]flec|riflet|remission|rémission|反射",
}
"""Spelled out: these mean the same wherever they stand."""
_TOKENS: dict[Quantity, str] = {
    "transmittance": r"(?<![\w%])%\s?t(?:rans?)?(?![a-z])|(?<!\w)t\s?[\[(]?\s?(?:in )?%\s?[\])]?"
    r"|(?<!\w)(?:trans\.?|[tr]tran)(?!\w)",
    "absorbance": r"(?<!\w)(?:abs|o\.?d)\.?(?!\w)|(?<!\w)a\s?[\[(]\s?a\.?u\.?\s?[\])]",
    "reflectance": r"(?<![\w%])%\s?r(?:efl?)?(?![a-z])|(?<!\w)r\s?[\[(]?\s?(?:in )?%\s?[\])]?|(?<!\w)refl\.?(?!\w)"
    r"|(?<!\w)(?:sc[ie]|spin|spex|rsin|rsex)(?!\w)",
}
"""Short forms, which stand for a quantity in a head or behind a keyword and nowhere else."""
_LETTERS: dict[str, Quantity] = {
    "t": "transmittance", "tau": "transmittance", "τ": "transmittance", "a": "absorbance", "e": "absorbance",
    "au": "absorbance", "ext": "absorbance", "r": "reflectance", "ρ": "reflectance",
}  # fmt: skip
"""What a head is that holds nothing else but a unit."""
_NO_READING = (
    r"counts?\b|(?<!\w)adu?(?!\w)|irradian|radian[cz]|\bdark\b|dunkel|single beam|einstrahl|kubelka|(?<!\w)k\s?/\s?s(?!\w)"
    r"|absorptan|absorp\w*\s?[\[(]?\s?%|fluoresc|\bvolts?\b|energy|energie|power|flux|sensitiv|photon|(?<!r)emission|temperat|1\s?/\s?r\b"
)
_BESIDE = (
    r"std|st\.\s?dev|stdev|standard dev|standardabw|[ée]cart.type|desv|deviaz|(?<!\w)s\.?d\.?(?!\w)|σ|sigma|±|uncertain"
    r"|unsicher|incertit|(?<!\w)err(?:or)?(?!\w)|varian|(?<!\w)(?:rsd|cv|sem|snr)(?!\w)"
)
_GEOMETRIES: dict[Geometry, str] = {
    "gloss included": r"\bsci\b|\brsin\b|specular[_ ](?:component )?incl|\bspin\b|gloss incl|\bdi\s?[/:]\s?8|mit glanz",
    "45/0": r"45\s?°?\s?[a-z]?\s?[/:]\s?0|0\s?°?\s?[/:]\s?45",
    "d/8": r"\bsce\b|\brsex\b|specular[_ ](?:component )?excl|\bspex\b|gloss excl|\bde\s?[/:]\s?8|ohne glanz",
    "total": r"\bttran\b|\btotal(?:$|[ _]?(?:transm|trasm|light|spectral|reflec))|transm\w*,?\s?\(?total"
    r"|integrating sphere|ulbricht|sph[eè]re|esfera|sfera|\bd/0\b|\b0/d\b",
    "regular": r"\brtran\b|\bregular\b|\bdirect(?:$|[ _]transm)|transm\w*,?\s?\(?direct|\b0/0\b",
}
"""What a file may call each, in small letters; the first that is found holds."""
_UNITS = {
    "percent": r"%|percent|prozent|pour ?cent|por ?ciento|per ?cento|\bpct\b|_pct|[百ﾊ]分率",
    "fraction": r"fraction|\bdecimal\b|0\s?(?:-|–|\.\.\.?|to)\s?1(?![\d.])|anteil|fracci|frazion|_dec\b",
}
_WAVE_WORDS = re.compile(
    r"wave\s?-?length|w\.?\s?length|wavelen|\bwvl|\bwl\b|nanomet|\blambda|λ|wellenl|longueurs? d.?onde"
    r"|longitud(?:es)? (?:de )?onda|lunghezz[ae] (?:d.?)?onda|comprimento de onda|golflengte|våglängd|długość|波[長长]|длина волн"
)
_WAVE_BARE = re.compile(r"\W*(?:nm|wave|w|x|x.?(?:axis|values?|data|unit)?\W*(?:nm)?|wave\W*nm|wl\W*nm|w\.?l\.?)\W*")
_WAVE_OTHER = re.compile(
    r"wave\s?-?numb|wellenzahl|nombre d.?onde|n[uú]mero de onda|numero d.?onda|cm\s?\^?\s?[-−]\s?1|1\s?/\s?cm"
)
_SCALES = {r"[µμu]m(?!\w)|micro(?:n|met)|mikromet": 1e3, r"å|angstr": 0.1}
"""Nanometres in one of what a head names."""
Word = TypeVar("Word", bound=str)
_once = lru_cache(maxsize=1000)
"""A file says the same words in many places, and again for each of its samples."""


@_once
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


@_once
def observer_in(text: str) -> int | None:
    """2 or 10, where a text names an observer.

    >>> observer_in("OBSERVER, 2 degree"), observer_in("L*(10°/D65)"), observer_in("D65/10")
    (2, 10, 10)
    """
    found = _OBSERVER_NAMED.search(text[:2000]) or _OBSERVER.search(text[:2000])
    return int(next(part for part in found.groups() if part)) if found else None


@_once
def quantity_in(text: str, letters: bool = True) -> Quantity | None:
    """What was measured, where a head or a keyword's value says so. letters: whether a single letter does.

    >>> quantity_in("% Transmittance"), quantity_in("%T"), quantity_in("Abs"), quantity_in("A"), quantity_in("b1")
    ('transmittance', 'transmittance', 'absorbance', 'absorbance', None)
    >>> quantity_in("Baseline 100%T"), quantity_in("Intensity (a.u.)"), quantity_in("log(1/T)"), quantity_in("A", False)
    (None, None, 'absorbance', None)
    """
    found = spelled_in(text) or _first(_TOKENS, text)
    bare = re.sub(r"[\[(].*?[\])]|[%/*.]|\bin\b|\bunits?\b", "", text[:60].lower()).strip() if letters else ""
    return found or _LETTERS.get(bare)


@_once
def spelled_in(text: str) -> Quantity | None:
    """What was measured, where a text spells it out.

    >>> spelled_in("Extinktion"), spelled_in("Trasmittanza [%]"), spelled_in("%T")
    ('absorbance', 'transmittance', None)
    """
    return _first(_SPELLED, text)


@_once
def unit_in(text: str) -> str | None:
    """ "percent" or "fraction" where a text says so.

    >>> unit_in("%T"), unit_in("Transmittance (percent)"), unit_in("T"), unit_in("T (0-1)")
    ('percent', 'percent', None, 'fraction')
    """
    return _first(_UNITS, text)


@_once
def geometry_in(text: str) -> Geometry | None:
    """How it was lit and seen, where the words say so.

    >>> geometry_in("45/0"), geometry_in("d/8 SCE"), geometry_in("integrating sphere, total"), geometry_in("SPIN")
    ('45/0', 'd/8', 'total', 'gloss included')
    """
    return _first(_GEOMETRIES, text)


@_once
def reflects(text: str) -> bool:
    """Whether a text names a geometry that only reflection has, be it said or not what becomes of the gloss.

    >>> reflects("d/8"), reflects("45°:0°"), reflects("0/0"), reflects("Date 2026/11/02")
    (True, True, False, False)
    """
    return geometry_in(text) in ("45/0", "d/8", "gloss included") or bool(
        re.search(r"(?<!\w)d\s?[/:]\s?8\b", text.lower())
    )


@_once
def wave_scale(text: str) -> float | None:
    """Nanometres in one of what a head of wavelengths counts, 0 for wavenumbers in 1/cm; None for any other head.

    >>> wave_scale("Wavelength nm."), wave_scale("Wellenlänge [nm]"), wave_scale("WL(nm)"), wave_scale("azure x")
    (1.0, 1.0, 1.0, None)
    >>> wave_scale("Wavelength (µm)"), wave_scale("cm-1"), wave_scale("T")
    (1000.0, 0.0, None)
    """
    lower = text[:80].lower().strip()
    if _WAVE_OTHER.search(lower):
        return 0.0
    unit = next((scale for pattern, scale in _SCALES.items() if re.search(pattern, lower)), 1.0)
    is_wave = _WAVE_WORDS.search(lower) or _WAVE_BARE.fullmatch(lower) or (unit != 1.0 and len(lower) < 14)
    return unit if is_wave and not spelled_in(lower) else None


@_once
def is_no_reading(text: str) -> bool:
    """Whether a head names what is no share of light: counts, energy, dark.

    >>> is_no_reading("Sample [counts]"), is_no_reading("Transmittance")
    (True, False)
    """
    return bool(re.search(_NO_READING, text[:200].lower()))


@_once
def is_beside(text: str) -> bool:
    """Whether a head names how sure a reading is, and no reading.

    >>> is_beside("Std.Dev."), is_beside("± b1"), is_beside("b1 standard")
    (True, True, False)
    """
    return bool(re.search(_BESIDE, text[:200].lower()))


def without_quantity(text: str) -> str:
    """A head without the words for a quantity and a unit: what is left may be a sample's name.

    >>> without_quantity("b1 %T"), without_quantity("Transmittance (%)"), without_quantity("azure-1 (Abs.)")
    ('b1', '', 'azure-1')
    """
    words = text[:200]
    # The whole word goes, and not the part of it that was looked for.
    for pattern in _SPELLED.values():
        words = re.sub(rf"[^\W\d_]*(?:{pattern})[^\W\d_]*", " ", words, flags=re.IGNORECASE)
    for pattern in _TOKENS.values():
        words = re.sub(pattern, " ", words, flags=re.IGNORECASE)
    words = re.sub(
        r"[\[(]\s*(?:%|a\.?u\.?|abs\.?|nm|[tr]|0\s?-\s?1|1\s?/\s?[ti]|counts?)?[^\w\])]{0,6}[\])]",
        " ",
        words,
        flags=re.IGNORECASE,
    )
    words = re.sub(r"(?<!\w)(?:percent|prozent|fraction|units?|[ra]\.?u\.?)(?!\w)|%", " ", words, flags=re.IGNORECASE)
    words = " ".join(words.split()).strip(" -_:;,./|")
    return words if any(c.isalnum() for c in words) else ""


def _first(words: Mapping[Word, str], text: str) -> Word | None:
    lower = text[:2000].lower()
    return next((word for word, pattern in words.items() if re.search(pattern, lower)), None)
