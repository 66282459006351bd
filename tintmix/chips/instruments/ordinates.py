"""What values are counted in, where it is no share of light as it stands: what is turned into absorbance exactly, and what is no
reading, with the reason.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tintmix.chips.instruments.errors import NoReading
from tintmix.chips.instruments.words import folded, once
from tintmix.errors import Remedy

_LENGTH = r"(?:mm|cm|m|µm|μm|um)"
_SAID: tuple[tuple[str, str, Remedy], ...] = (
    (
        r"deriv(?!e)|ableitung|(?<!\w)d2?\^?2?\s?[atr]\s?/\s?d|(?:1st|2nd|first|second) (?:deriv|der\b)",
        "a derivative, from which the level is gone",
        Remedy.EXPORT_AGAINST_AIR,
    ),
    (
        r"intern\w*[\s_.-]{0,3}%?\s?(?:light )?(?:transmi|trasmi|t\b)|reintrans|(?:transmi|trasmi)\w*[\s_.,(-]{1,3}intern"
        r"|tau_?i\b|t_int\b",
        "light through the material alone, without what is lost at its faces",
        Remedy.EXPORT_AGAINST_AIR,
    ),
    (
        rf"(?<!\w)(?:1\s?/\s?|per\s){_LENGTH}(?!\w)|[\[(]\s?{_LENGTH}\s?\^?\s?[-−]\s?1\s?[\])]"
        r"|^\W*[cm]m\s?\^?\s?[-−]\s?1\W*$"
        rf"|(?:alpha|α|coe\w*|absor\w*|atten\w*|extin\w*|mu|κ|ε)\W{{1,3}}{_LENGTH}\s?\^?\s?[-−]\s?1"
        rf"|(?:abs\w*|a|od|a\.?u\.?|%?\s?t|transm\w*)\.?\s?[\])]?\s?/\s?(?:100?|1)?\s?{_LENGTH}(?!\w)|molar|\bmol\b"
        r"|absorptivi|(?:absor|atten|extin|assor|esti)\w* coe|coe\w+ (?:of |de |d.|di )?(?:absor|atten|extin|assor|esti)"
        r"|(?:absorption|extinktion|schwachung)s?ko",
        "an absorption per length or amount, which leaves out the chip's thickness and its faces",
        Remedy.EXPORT_AGAINST_AIR,
    ),
    (
        r"absorptan|absorptionsgrad|absorp\w*\s?[\[(]?\s?%|(?<![\w.])(?:1\s?-\s?[trτ]|100\s?-\s?%?\s?[tr])\b",
        "what a piece keeps, and not what it lets through",
        Remedy.EXPORT_TRANSMITTANCE,
    ),
    (
        r"(?<!r)emissi|irradian|(?<!\w)radian[cz]|fluorescen[cz]|fluoresc\w*\W{0,2}(?:int|spe[ck]tr|signal|a\.?u)",
        "light that is sent out, and no share of light that comes through or back",
        Remedy.EXPORT_TRANSMITTANCE,
    ),
    (
        r"db\W*refle|refle\w*\W{1,3}db\b|kubelka|(?<!\w)k\s?/\s?s(?!\w)|1\s?/\s?r\b",
        "worked out of reflection, and no share of light as it stands",
        Remedy.EXPORT_TRANSMITTANCE,
    ),
)
"""What is no reading wherever it is said: pattern in small letters without accents, what it is, what to do."""
_IN_HEADS = (
    r"counts?\b|(?<!\w)adu?(?!\w)"
    r"|^\W*(?:electric(?:al)? )?dark\W*(?:$|[\[(]|count|signal|spe[ck]|curr|ref|noise|int)"
    r"|^\W*dunkel(?:strom|sign\w*|spe\w*|mess\w*)?\W*$"
    r"|single beam|einstrahl|\bvolts?\b|energy|energie|power"
    r"|flux|sensitiv|photon"
    r"|temperatu|^\W*haze\W*$|(?<!\w)haze\s?[\[(]?\s?%|(?<!\w)raman(?!\w)"
    r"|refractive|brechung|quantum effic|(?<!\w)qe(?!\w)"
    r"|responsiv|empfindlich|emissivit|optical thick|(?<!\w)opacit|(?<![\w(])1\s?/\s?t\b|(?<!\w)v\s?\(λ\)|(?<!\w)psi(?!\w)"
    r"|[\[(]\s?(?:a/w|[mµn]?w(?:/.{1,8})?|[mµk]?v|lm|lx|cd(?:/.{1,4})?|m?j|°c|rad|deg|°|‰)\s?[\])]"
)
"""Of a column, what is no share of light; elsewhere these words tell of the instrument."""
NO_SHARE = "no share of light that comes through or back"
_TURNED: tuple[tuple[str, float, str], ...] = (
    (r"(?<!\w)m(?:au|abs|od)\.?(?!\w)|(?<!\w)m\s?a\.u\.|milli-?\s?(?:abs|a\.?u|od)", 1e-3, "thousandths of absorbance"),
    (r"(?<!\w)db(?!\w)|decibel|dezibel", 0.1, "decibels"),
    (
        r"napier|neper|base.?e\b|basis e\b|natural (?:log|abs)|(?<!\w)ln\s?\(?\s?(?:1\s?/|i_?0)|[-−–]\s?ln\b"
        r"|optical depth|optische tiefe",
        1 / math.log(10),
        "absorbance to the base e",
    ),
    (r"(?<![\w\-−–])(?<![\-−–]\s)(?:log|lg)\s?(?:10)?\s?\(?\s?[tτ]\s?\)?\W*$", -1.0, "the logarithm of transmittance"),
)
"""What divides or multiplies to absorbance exactly, A = −log10 T: pattern, factor, its name."""
_AXES = {
    "over time": r"(?<!\w)(?:time|zeit|tiempo|temps|tempo|tijd|czas|время|cycle|retention)(?!\w)|時間|时间",
    "over temperature": r"temper",
    "over concentration": r"con[cz]entr|konzentr",
    "over the detector's pixels": r"(?<!\w)pixels?(?!\w)",
    "over an angle": r"(?<!\w)(?:angle|winkel|theta|2θ)(?!\w)",
    "over a Raman shift": r"raman",
    "over depth or thickness": r"(?<!\w)(?:depth|thickness|dicke|tiefe|path ?length)(?!\w)",
}
"""What a first column may count that is no wavelength."""


@dataclass(frozen=True, slots=True)
class Turned:
    """How values become absorbance. name: what they are counted in."""

    factor: float
    name: str

    def absorbance(self, values: Sequence[float]) -> list[float]:
        """Decadic absorbance. Decibels are a loss, or a gain below zero: no chip sends out more light than came.

        >>> Turned(0.1, "decibels").absorbance([-3.0, -10.0])
        [0.3, 1.0]
        """
        gain = self.name == "decibels" and bool(values) and float(np.median(values)) < 0
        return [round(-v * self.factor if gain else v * self.factor, 9) for v in values]


@once
def turned_in(text: str) -> Turned | None:
    """How values so headed become absorbance; None where they need not be turned.

    >>> turned_in("Absorbance (mAU)").factor, turned_in("Attenuation [dB]").name, turned_in("Abs")
    (0.001, 'decibels', None)
    """
    plain = folded(text[:200])
    return next((Turned(factor, name) for pattern, factor, name in _TURNED if re.search(pattern, plain)), None)


@once
def no_reading_in(text: str, is_head: bool = True) -> NoReading | None:
    """Why values so headed are no reading; None where they may be one. is_head: of a column; else words around the table.

    >>> no_reading_in("Sample [counts]").what, no_reading_in("dA/dnm").what, no_reading_in("Transmittance")
    ('no share of light that comes through or back', 'a derivative, from which the level is gone', None)
    """
    plain = folded(text[:200])
    for pattern, what, remedy in _SAID:
        if re.search(pattern, plain):
            return NoReading(text.strip(), what, remedy)
    if is_head and re.search(_IN_HEADS, plain):
        return NoReading(text.strip(), NO_SHARE, Remedy.EXPORT_TRANSMITTANCE)
    return None


@once
def other_axis(head: str) -> str:
    """Over what readings go whose first column is so headed, where it is no wavelength; nothing where it may be one.

    >>> other_axis("Time(s)"), other_axis("nm")
    ('over time', '')
    """
    plain = folded(head[:80])
    return next((over for over, pattern in _AXES.items() if re.search(pattern, plain)), "")
