"""What the words of an instrument's file say: which quantity, which unit, what a column of wavelengths counts.

Heads are in the languages that instruments speak, the Latin ones, Russian, Japanese, Chinese and Korean. Words are held against
letters without their accents, so that "Absorvância" and "Absorvancia" are one.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from typing import TypeVar

from tintmix.chips.instruments.sample import Quantity

_SPELLED: dict[Quantity, str] = {
    "transmittance": r"transparen(?:cy|z\b|cia|ce\b|za)|transmi|trasmi|durchlass|doorlat|przepuszcz|prie?pustn|propustn"
    r"|pro?poustn|пропуск|lapaisy|ateresz|gecirgen|透[過过射]|투과",
    "absorbance": r"absorb(?!ed|ing|er|ent)|absorv|absorpt(?:io|ie)|absorpc|apsorb|apsorpc|assorb|absorci|absorba|extin[ckt]"
    r"|estinz|абсорб|поглощ|(?:optic\w*|optisk\w*|optisch\w*) den|den[sz]i\w* op[th]i|оптическая плотн"
    r"|log\s?(?:10)?\s?\(?\s?1\s?/\s?[ti]"
    r"|l(?:o)?g\s?(?:10)?\s?\(?\s?i_?0\s?/\s?i|[-−–]\s?l(?:o)?g\s?(?:10)?\s?\(?\s?(?:t|i\s?/)|吸光|흡광",
    "reflectance": r"reflec|reflek|refletan|reflexi|riflet|remission|remisi|odbici|odrazn|отраж|heijast|yansitma|反射|반사",
}
"""Spelled out, in letters without accents: these mean the same wherever they stand."""


def _counted(letter: str) -> str:
    """A pattern of a letter with its unit spelled out beside it: T_percent, T [pct], percent T."""
    unit = r"(?:%|percent|prozent|per cent|pct|perc|fraction|frac|dec)"
    return (
        rf"(?<![^\W_]){letter}[\s_.\-]{{0,2}}[\[(]?\s?(?:in )?{unit}(?![^\W_])\s?[\])]?"
        rf"|(?<![^\W_]){unit}[\s_.\-]?{letter}(?![^\W_])"
    )


_TOKENS: dict[Quantity, str] = {
    "transmittance": r"(?<![\w%])%\s?t(?:rans?)?(?![a-z])|(?<!\w)t\s?[\[(]?\s?(?:in )?%\s?[\])]?"
    rf"|{_counted('t')}"
    r"|(?<![-\w])(?:trans\.?|[tr]tran)(?![-\w])|(?<!\w)t_(?:tot|dif|dir|reg)\w*",
    "absorbance": r"(?<!\w)(?:m?abs|m?o\.?d|mau)\.?(?!\w)|(?<!\w)a\s?[\[(]\s?m?a\.?u\.?\s?[\])]"
    r"|(?<!\w)d\s?\(λ\)",
    "reflectance": r"(?<![\w%])%\s?r(?:efl?)?(?![a-z])|(?<!\w)r\s?[\[(]?\s?(?:in )?%\s?[\])]?|(?<!\w)refl\.?(?!\w)"
    rf"|{_counted('r')}"
    r"|(?<!\w)(?:sc[ie]|spin|spex|rsin|rsex)(?!\w)|(?<!\w)r_(?:tot|dif|dir|reg)\w*",
}
"""Short forms, which stand for a quantity in a head or behind a keyword and nowhere else."""
_LETTERS: dict[str, Quantity] = {
    "t": "transmittance", "tau": "transmittance", "τ": "transmittance", "a": "absorbance", "e": "absorbance",
    "au": "absorbance", "ext": "absorbance", "r": "reflectance", "ρ": "reflectance",
}  # fmt: skip
"""What a head is that holds nothing else but a unit."""
_BESIDE = (
    r"std|st\.\s?dev|stdev|standard dev|standardabw|ecart.type|desv|deviaz|(?<!\w)s\.?d\.?(?!\w)|σ|sigma|±|uncertain"
    r"|unsicher|incertit|(?<!\w)err(?:or)?(?!\w)|varian|(?<!\w)(?:rsd|cv|sem|snr)(?!\w)"
)
_UNITS = {
    "percent": r"%|percent|prozent|pour ?cent|por ?ciento|per ?cento|(?<![^\W_])(?:pct|perc)(?![^\W_])|[百ﾊ]分率",
    "fraction": r"fraction|\bdecimal\b|0\s?(?:-|–|\.\.\.?|to)\s?1(?![\d.])|anteil|fracci|frazion|_dec\b"
    r"|(?<![^\W_])frac(?![^\W_])",
}
_DOSE = re.compile(r"(?<![\w.,\-–])(?!100\b)\d+(?:[.,]\d+)?\s?%(?!\s?[tr](?!\w))", re.IGNORECASE)
"""A number of percent in a sample's name, which is no unit of its reading."""
_WAVE_WORDS = re.compile(
    r"wave\s?-?length|w\.?\s?length|wavelen|\bwvl|\bwl\b|nanomet|\blambda|(?<!\()λ|wellenl|longueurs? d.?onde"
    r"|longitud(?:es)? (?:de )?onda|lunghezz[ae] (?:d.?)?onda|comprimentos? de onda|golflengte|vaglangd|b[øo]lgel.?ngde"
    r"|aallonpituus|dlugosc|vlnova delka|hullamhossz|dalga boyu|波[長长]|длина волн|파장"
)
_WAVE_BARE = re.compile(r"\W*(?:nm|нм|wave|w|x|x.?(?:axis|values?|data|unit)?\W*(?:nm)?|wave\W*nm|wl\W*nm|w\.?l\.?)\W*")
_WAVENUMBERS = re.compile(
    r"wave\s?-?numb|wellenzahl|nombre d.?onde|numero de onda|numero d.?onda|волновое число"
    r"|^\W*(?:k|ν|nu|x)?\W*(?:cm\s?\^?\s?[-−]\s?1|1\s?/\s?cm)\W*$"
)
_SCALES = {
    r"(?<!\w)[µμu]m(?!\w)|micro(?:n|met)|mikromet": 1e3,
    r"(?<!\w)å(?!\w)|angstr|ångstr": 0.1,
    r"[\[(/]\s?m\s?[\])]?$": 1e9,
}
"""Nanometres in one of what a head names."""
_RECIPROCALS = {
    r"electron.?volt|(?<!\w)ev(?!\w)": 1239.841984,  # hc/e, in eV nm (SI 2019)
    r"(?<!\w)thz(?!\w)|terahertz": 299792.458,  # c, in THz nm
}
"""What a head names, and what it divides to give nanometres."""
WAVENUMBER_NM = 1e7
"""What wavenumbers in 1/cm divide to give nanometres."""
Word = TypeVar("Word", bound=str)
once = lru_cache(maxsize=1000)
"""A file says the same words in many places, and again for each of its samples."""


@lru_cache(maxsize=2000)
def _letter(letter: str) -> str:
    plain = unicodedata.normalize("NFKD", letter)[0].lower()
    return {"ł": "l", "đ": "d", "ı": "i"}.get(plain, plain)[:1] or letter


def folded(text: str) -> str:
    """Small letters without accents, each in the place of its own.

    >>> folded("Absorvância"), folded("Przepuszczalność")
    ('absorvancia', 'przepuszczalnosc')
    """
    return "".join(map(_letter, text))


@once
def quantity_in(text: str, letters: bool = True) -> Quantity | None:
    """What was measured, where a head or a keyword's value says so. letters: whether a single letter does.

    >>> quantity_in("% Transmittance"), quantity_in("%T"), quantity_in("Abs"), quantity_in("A"), quantity_in("b1")
    ('transmittance', 'transmittance', 'absorbance', 'absorbance', None)
    >>> quantity_in("Baseline 100%T"), quantity_in("Intensity (a.u.)"), quantity_in("log(1/T)"), quantity_in("A", False)
    (None, None, 'absorbance', None)
    """
    found = spelled_in(text) or first_of(_TOKENS, text)
    bare = re.sub(r"[\[(].*?[\])]|[%/*.]|\bin\b|\bunits?\b", "", text[:60].lower()).strip() if letters else ""
    return found or _LETTERS.get(bare)


@once
def spelled_in(text: str) -> Quantity | None:
    """What was measured, where a text spells it out.

    >>> spelled_in("Extinktion"), spelled_in("Absorvância"), spelled_in("Trasmittanza [%]"), spelled_in("%T")
    ('absorbance', 'absorbance', 'transmittance', None)
    """
    return first_of(_SPELLED, text)


@once
def unit_in(text: str) -> str | None:
    """ "percent" or "fraction" where a text says so.

    >>> unit_in("%T"), unit_in("Transmittance (percent)"), unit_in("T"), unit_in("T (0-1)"), unit_in("azure 0.5%")
    ('percent', 'percent', None, 'fraction', None)
    """
    return first_of(_UNITS, _DOSE.sub(" ", text))


@once
def wave_scale(text: str) -> float | None:
    """Nanometres in one of what a head of wavelengths counts; where it counts what goes against them, as wavenumbers do, what
    this divides to give nanometres, below zero; None for any other head.

    >>> wave_scale("Wavelength nm."), wave_scale("Wellenlänge [nm]"), wave_scale("WL(nm)"), wave_scale("azure x")
    (1.0, 1.0, 1.0, None)
    >>> wave_scale("Wavelength (µm)"), wave_scale("cm-1"), wave_scale("eV"), wave_scale("T"), wave_scale("alpha (cm-1)")
    (1000.0, -10000000.0, -1239.841984, None, None)
    """
    lower = unicodedata.normalize("NFC", text[:80]).lower().strip()
    plain = folded(lower)
    if spelled_in(lower):
        return None
    if _WAVENUMBERS.search(plain) and "raman" not in plain:
        return -WAVENUMBER_NM
    for pattern, by in _RECIPROCALS.items():
        if re.search(pattern, plain) and len(plain) < 24:
            return -by
    unit = next((scale for pattern, scale in _SCALES.items() if re.search(pattern, lower)), 1.0)
    is_wave = _WAVE_WORDS.search(plain) or _WAVE_BARE.fullmatch(lower) or (unit in (1e3, 0.1) and len(lower) < 14)
    return unit if is_wave else None


def to_nm(count: float, scale: float) -> float:
    """Nanometres of what a column of wavelengths counts, by its `wave_scale`.

    >>> to_nm(0.55, 1000.0), to_nm(20000.0, -1e7)
    (550.0, 500.0)
    """
    return -scale / count if scale < 0 else count * scale


@once
def is_beside(text: str) -> bool:
    """Whether a head names how sure a reading is, and no reading.

    >>> is_beside("Std.Dev."), is_beside("± b1"), is_beside("b1 standard")
    (True, True, False)
    """
    return bool(re.search(_BESIDE, folded(text[:200])))


def without_quantity(text: str) -> str:
    """A head without the words for a quantity and a unit: what is left may be a sample's name.

    >>> without_quantity("b1 %T"), without_quantity("Transmittance (%)"), without_quantity("azure-1 (Abs.)")
    ('b1', '', 'azure-1')
    >>> without_quantity("Absorvância (mAU)"), without_quantity("azure 0.5%"), without_quantity("Transmission in %")
    ('', 'azure 0.5%', '')
    >>> without_quantity("Ext."), without_quantity("T_percent"), without_quantity("transmittance_pct")
    ('', '', '')
    """
    words = _DOSE.sub(lambda found: found.group().replace("%", "\0"), unicodedata.normalize("NFC", text[:200]))
    # The whole word goes, and not the part of it that was looked for.
    for pattern in _SPELLED.values():
        words = _cut(rf"[^\W\d_]*(?:{pattern})[^\W\d_]*", words)
    for pattern in (*_TOKENS.values(), *_UNITS_OF_NAMES):
        words = _cut(pattern, words)
    words = " ".join(words.split()).strip(" -_:;,./|").replace("\0", "%")
    words = "" if words.lower() == "in" else re.sub(r"\s+in$", "", words)
    return words if any(c.isalnum() for c in words) and words.lower() not in _SHORT else ""


_SHORT = ("ext", "au", "tau")
"""What is left of heads such as "Ext." that name a quantity and nothing else."""


_UNITS_OF_NAMES = (
    r"[\[(]?(?<!\w)arb(?:\.|itrary)?\s?units?[\])]?",
    r"[\[(]\s*(?:%|m?a\.?u\.?|m?abs\.?|db|base.?e|nm|[tr]|0\s?-\s?1|1\s?/\s?[ti]|counts?)?[^\w\])]{0,6}[\])]",
    r"(?<!\w)(?:percent|prozent|fraction|units?|[ra]\.?u\.?|mau|db|decibels?|napierian|neperian\w*|attenuation|attenuazione|atenuac\w*|dampfung|loss|verlust)(?!\w)|%",
    # Behind a number it is a dose.
    r"(?<![^\W_])(?<!\d[\s_])(?:percent|prozent|pct|perc|fraction|frac)(?![^\W_])",
    r"(?<!\w)(?:-\s?)?l(?:n|og|g)(?:10)?\s?\(?\s?i_?0\s?/\s?i\)?",
    r"^\W*(?:log|lg)(?:10)?\s?\(?\s?[tτ]\s?\)?\W*$",
)


def _cut(pattern: str, text: str) -> str:
    """A text with blanks where a pattern of small letters without accents is."""
    for found in reversed([*re.finditer(pattern, folded(text))]):
        text = f"{text[: found.start()]} {text[found.end() :]}"
    return text


def first_of(words: Mapping[Word, str], text: str) -> Word | None:
    """The first key whose pattern stands in a text, in letters without accents."""
    plain = folded(unicodedata.normalize("NFC", text[:2000]))
    return next((word for word, pattern in words.items() if re.search(pattern, plain)), None)
