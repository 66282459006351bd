"""More shapes of files, found where strangers brought their own: words of many languages, what values are counted in,
order, gaps, what is refused and why.
"""

from __future__ import annotations

import math
import random
import re
from typing import Any

from tests.chips.instruments import instrument_texts as texts
from tests.chips.instruments.corpus_made import (
    FAR,
    STEM,
    TEN,
    A,
    Case,
    R,
    T,
    absorbance,
    across,
    down,
    pairs,
    percent,
    share,
)

HIGH, LOW = 0.9, 0.5
LAB, LABA = (78.2, -12.5, -20.1), (77.0, -15.0, -25.0)
_CASES: list[Case] = []


def _add(*said: Any, **more: Any) -> None:
    _CASES.append(Case(*said, **more))


def thousandths(v: float) -> float:
    return 1000 * absorbance(v)


def decibels(v: float) -> float:
    return 10 * absorbance(v)


def to_base_e(v: float) -> float:
    return -math.log(max(v, 1e-6))


for w in [
    "Absorvância",
    "Absorbancia",
    "Assorbanza",
    "Absorbans",
    "Absorptie",
    "Extinktion",
    "Absorbansi",
    "Absorpce",
    "Absorbancja",
    "Absorbanţă",
    "Apsorbancija",
    "Абсорбция",
    "Оптическая_плотность",
]:
    w = w.replace("_", " ")
    _add(f"word {w}", down(f"nm;{w}", HIGH, sep=";", turn=absorbance), ((STEM, A, HIGH),))
for w in [
    "Transmitância",
    "Trasmittanza",
    "Transmittans",
    "Przepuszczalność",
    "Transmitancia",
    "Doorlating",
    "Transmissie",
    "Transmitance",
    "Пропускание",
    "Propustnost",
    "Transmittanssi",
    "Läpäisy",
]:
    _add(f"word {w}", down(f"nm;{w} (%)", HIGH, sep=";", turn=percent), ((STEM, T, HIGH),))
for w in [
    "Remission",
    "Réflectance",
    "Riflettanza",
    "Reflectancia",
    "Refletância",
    "Reflektans",
    "Reflectantie",
    "Odbicie",
    "Отражение",
    "Reflexionsgrad",
    "Heijastus",
]:
    _add(f"word {w}", down(f"nm;{w} (%)", LOW, sep=";", turn=percent), ((STEM, R, LOW),))
for h in (
    "Lichtart/Beobachter",
    "Illuminant/Observer",
    "Iluminante/Observador",
    "Illuminante/Osservatore",
    "Éclairant/Observateur",
    "Lichtsoort/Waarnemer",
    "Belysning/Observatör",
    "光源/視野",
    "Ill./Obs.",
    "Oświetlenie/Obserwator",
):
    _add(
        f"{h}",
        f"Name;{h};L*;a*;b*\nb1;D65/10°;78,2;-12,5;-20,1\nb1;A/10°;77;-15;-25\n",
        (("b1", LAB, {"light": "D65", "observer": 10}), ("b1", LABA, {"light": "A", "observer": 10})),
    )
_add(
    "letters alone",
    "Name;Lichtart;Beobachter;L*;a*;b*\nb1;D65;10°;78,2;-12,5;-20,1\nb1;A;10°;77;-15;-25\n",
    (("b1", LAB, {"light": "D65", "observer": 10}), ("b1", LABA, {"light": "A", "observer": 10})),
)
_add("L*(A/10)", "Name,L*(A/10),a*(A/10),b*(A/10)\nb1,77,-15,-25\n", (("b1", LABA, {"light": "A", "observer": 10}),))
_add("L*(C/2)", "Name,L*(C/2),a*(C/2),b*(C/2)\nb1,77,-15,-25\n", (("b1", LABA, {"light": "C", "observer": 2}),))
_add("L* A 10°", "Name,L* A 10°,a* A 10°,b* A 10°\nb1,77,-15,-25\n", (("b1", LABA, {"light": "A", "observer": 10}),))
_add("L*_D65_2", "Name,L*_D65_2,a*_D65_2,b*_D65_2\nb1,77,-15,-25\n", (("b1", LABA, {"light": "D65", "observer": 2}),))
_add("mAU", down("nm;mAU", HIGH, sep=";", turn=thousandths), ((STEM, A, HIGH),))
_add("Absorbance (mAU)", down("Wavelength (nm),Absorbance (mAU)", HIGH, turn=thousandths), ((STEM, A, HIGH),))
_add("mAU unit row", down("Wavelength;b1\nnm;mAU", HIGH, sep=";", turn=thousandths), (("b1", A, HIGH),))
_add("Attenuation (dB)", down("nm;Attenuation (dB)", HIGH, sep=";", turn=decibels), ((STEM, A, HIGH),))
_add("Dämpfung dB", down("nm;Dämpfung [dB]", HIGH, sep=";", turn=decibels), ((STEM, A, HIGH),))
_add("Transmission (dB)", down("nm;Transmission (dB)", HIGH, sep=";", turn=lambda v: -decibels(v)), ((STEM, A, HIGH),))
_add("napierian", down("nm;Napierian absorbance", HIGH, sep=";", turn=to_base_e), ((STEM, A, HIGH),))
_add("base e", down("nm;Absorbance (base e)", HIGH, sep=";", turn=to_base_e), ((STEM, A, HIGH),))
_add("ln(I0/I)", down("nm;ln(I0/I)", HIGH, sep=";", turn=to_base_e), ((STEM, A, HIGH),))
_add(
    "coefficient 1/mm",
    down("nm;Absorption coefficient (1/mm)", HIGH, sep=";", turn=absorbance),
    says=r"line 1.*per length",
)
_add("coefficient cm-1", down("nm;alpha (cm-1)", HIGH, sep=";", turn=absorbance), says=r"line 1.*per length")
_add("derivative", down("nm;dA/dnm", HIGH, sep=";", turn=absorbance), says=r"line 1.*derivative")
_add(
    "derivative words",
    down("Data type: 1st derivative\nnm;Abs", HIGH, sep=";", turn=absorbance),
    says=r"line 1.*derivative",
)
_add("internal", down("nm;Internal transmittance", HIGH, sep=";"), says=r"line 1.*faces")
_add("internal german", down("nm;Reintransmissionsgrad", HIGH, sep=";"), says=r"line 1.*faces")
_add("time", "Time(s);Abs\n" + "".join(f"{t};0.5\n" for t in range(0, 300, 10)), says=r"line 1.*over time")
_add("time 200 on", "Time (s);Abs\n" + "".join(f"{t};0.5\n" for t in range(200, 900, 10)), says=r"line 1.*over time")


def steps(head: str, sep: str = ",") -> str:
    """Pairs of columns, each with its own step."""
    n1 = list(range(380, 731, 10))
    n2 = list(range(380, 731, 5))
    rows = []
    for i in range(len(n2)):
        a = f"{n1[i]}{sep}{share(HIGH, n1[i]):.5f}" if i < len(n1) else sep
        rows.append(f"{a}{sep}{n2[i]}{sep}{share(LOW, n2[i]):.5f}")
    return head + "\n" + "\n".join(rows) + "\n"


_add("x y x y", steps("x,y,x,y"), (("column 2", None, HIGH), ("column 4", None, LOW)))
_add("named", steps("b1,,b2,\nnm,T,nm,T"), (("b1", T, HIGH), ("b2", T, LOW)))
_add("bare", steps("").lstrip("\n"), (("column 2", None, HIGH), ("column 4", None, LOW)))
_add("names over bare", steps("b1,,b2,").lstrip("\n"), (("b1", None, HIGH), ("b2", None, LOW)))
_add("X;Y names", steps("b1 X,b1 Y,b2 X,b2 Y"), (("b1", None, HIGH), ("b2", None, LOW)))
for gap in (
    "****",
    "OVER",
    "---",
    ">4",
    "> 4.0",
    "Overflow",
    "#####",
    "Sat.",
    "<0.001",
    "OVRFLW",
    "∞",
    "n.d.",
    "----- ",
):
    _add(
        f"{gap}",
        "nm;Abs\n"
        + "".join(f"{nm};{gap if nm < 300 or nm == 450 else f'{absorbance(share(HIGH, nm)):.4f}'}\n" for nm in FAR),
        ((STEM, A, HIGH),),
    )
_add(
    "in a row",
    across("name", {"b1": HIGH, "b2": LOW}).replace(f"{share(LOW, 390):.5f}", "****"),
    (("b1", None, HIGH), ("b2", None, LOW)),
)
_add("unsorted", down("nm;T", HIGH, sep=";", nm=[*TEN[::2], *TEN[1::2]]), ((STEM, T, HIGH),))
_r = list(TEN)
random.Random(3).shuffle(_r)
_add("shuffled", down("nm;T", HIGH, sep=";", nm=_r), ((STEM, T, HIGH),))
_add("bare shuffled", down("", HIGH, sep=" ", nm=_r), ((STEM, None, HIGH),))
_add("shuffled, two", down("nm;b1;b2", HIGH, LOW, sep=";", nm=_r), (("b1", None, HIGH), ("b2", None, LOW)))
_add("thrice", down("nm;T", HIGH, sep=";", nm=[n for n in TEN for _ in range(3)]), ((STEM, T, HIGH),))
_add("across unsorted", across("name", {"b1": HIGH}, nm=_r), (("b1", None, HIGH),))
_add("across doubled", across("name", {"b1": HIGH}, nm=[*TEN, *TEN[5:9]]), (("b1", None, HIGH),))
_add(
    "doubled that differ",
    "nm;T\n" + "".join(f"{nm};{share(HIGH, nm):.4f}\n{nm};{share(0.2, nm):.4f}\n" for nm in TEN),
    says=r"400 nm.*(?:twice|two)",
)
emit = (
    texts.cxf("b1", 0.9)
    .replace("TransmittanceSpectrum", "EmissiveSpectrum")
    .replace("Spectrum_Transmittance", "Spectrum_Emissive")
)
_add("emissive CxF", emit, says="line 6.*sent out")
_add("emissive only", re.sub(r"<cc:ColorCIELab.*?</cc:ColorCIELab>", "", emit, flags=re.S), says="sent out")
_add(
    "reflectance element, emissive type",
    re.sub(
        r"<cc:ColorCIELab.*?</cc:ColorCIELab>",
        "",
        texts.cxf("b1", 0.9, "Reflectance").replace("Spectrum_Reflectance", "Spectrum_Emissive"),
        flags=re.S,
    ),
    says="sent out",
)
_add("names a1-3)", down("nm;a1-3);a2-4)", HIGH, LOW, sep=";"), (("a1-3)", None, HIGH), ("a2-4)", None, LOW)))
_add("names (a1", down("nm;(a1;b2-4 (x)", HIGH, LOW, sep=";"), (("(a1", None, HIGH), ("b2-4 (x)", None, LOW)))
_add(
    "pairs a1-3)", pairs("a1-3),,a2-4),\nnm,%T,nm,%T", HIGH, LOW, turn=percent), (("a1-3)", T, HIGH), ("a2-4)", T, LOW))
)
_add("across a1-3)", across("name", {"a1-3)": HIGH, "a1-4)": LOW}), (("a1-3)", None, HIGH), ("a1-4)", None, LOW)))
_add(
    "head T a1-3)",
    down("nm;%T a1-3);%T a2-4)", HIGH, LOW, sep=";", turn=percent),
    (("a1-3)", T, HIGH), ("a2-4)", T, LOW)),
)
_add("NIR only", down("nm;%T", HIGH, sep=";", nm=range(900, 1701, 10), turn=percent), says=r"900 to 1700 nm.*seen")
_add(
    "NIR from 1100", down("nm;%T", HIGH, sep=";", nm=range(1100, 2501, 10), turn=percent), says=r"1100 to 2500 nm.*seen"
)
_add(
    "NIR wavenumbers", "cm-1;%T\n" + "".join(f"{c};50\n" for c in range(4000, 10001, 50)), says=r"1000 to 2500 nm.*seen"
)
_add("UV only", down("nm;Abs", HIGH, sep=";", nm=range(200, 341, 2), turn=absorbance), says=r"200 to 340 nm.*seen")
_add("mid infrared", "cm-1;%T\n" + "".join(f"{c};50\n" for c in range(400, 4001, 50)), says=r"nm.*seen")
TWO = (("b1", T, HIGH), ("b2", T, LOW))
_page = down("nm\tb1\tb2", HIGH, LOW, sep="\t", turn=percent).splitlines()
_lone = "Report: chips, page {}\n%T\n{}\n"
_add("the quantity by itself", _lone.format(1, "\n".join(_page)), TWO)
_add(
    "it heads each page",
    "".join(_lone.format(i, "\n".join([_page[0], *_page[18 * i - 17 : 18 * i + 1]])) for i in (1, 2)),
    TWO,
)
_add("heads of two lines", down('"nm","b1\n(%T)","b2\n(%T)"', HIGH, LOW, turn=percent), TWO)
_add(
    "rows of what was done",
    down(
        "Sample,b1,b2\nDate,2026-11-02,2026-11-02\nTime,14:20,14:22\nBy,me,me\nMode,%T,%T\nnm,,",
        HIGH,
        LOW,
        turn=percent,
    ),
    TWO,
)
_add("time below the names", down("Sample,b1,b2\nTime,14:20,14:22", HIGH, LOW), (("b1", None, HIGH), ("b2", None, LOW)))
_add(
    "a block of extinction",
    down("Sample,b1\nnm,%T", HIGH, turn=percent) + "\n" + down("Sample,b1\nnm,Ext.", LOW, turn=absorbance),
    (("b1", T, HIGH), ("b1", A, LOW)),
)
_add(
    "a mean beside", down("nm,b1,b2,Mean", HIGH, LOW, 0.7), (("b1", None, HIGH), ("b2", None, LOW), ("Mean", None, 0.7))
)
_add("JSON", '{"nm": [400, 410], "T": [0.5, 0.6]}', says="it is JSON")
_add(
    "start and step",
    "Start,380\nStep,10\n%T\n" + "50\n" * 36,
    says="line 1 says from where the wavelengths are counted",
)
FOUND = tuple(_CASES)
