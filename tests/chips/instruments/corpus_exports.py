"""Whole exports as instruments write them, of which a first reading went wrong."""

from __future__ import annotations

from tests.chips.instruments.corpus_found import HIGH, LAB, LABA, LOW
from tests.chips.instruments.corpus_made import (
    STEM,
    TEN,
    A,
    Case,
    R,
    T,
    absorbance,
    across,
    down,
    percent,
    share,
    spectral,
)

_NAMES = (
    "dark blue", "dunkelblau 2", "fluorescent pink", "purple haze", "M-1", "clear 3 mm-1", "b1/m", "T-1", "A 1", "reflex blue",
    "transparent red",
)  # fmt: skip
EXPORTS = (
    Case(
        "plate reader",
        "Plate 1\tRead 1\tAbsorbance\tEndpoint\nWavelength(nm)\tTemperature(°C)\tA1\tA2\n"
        + "".join(f"{nm}\t{22.3}\t{absorbance(share(HIGH, nm)):.4f}\t{absorbance(share(LOW, nm)):.4f}\n" for nm in TEN)
        + "~End\n",
        (("A1", A, HIGH), ("A2", A, LOW)),
    ),
    Case(
        "numbered lights",
        "Name,Illuminant 1,L*1,a*1,b*1,Illuminant 2,L*2,a*2,b*2\nb1,D65,78.2,-12.5,-20.1,A,77,-15,-25\n",
        (("b1", LAB, {"light": "D65"}), ("b1", LABA, {"light": "A"})),
    ),
    Case("reflectance factor", down("nm;Reflectance factor", LOW, sep=";"), ((STEM, R, LOW),)),
    Case(
        "across with % cells",
        "Sample," + ",".join(map(str, TEN)) + "\nb1," + ",".join(f"{100 * share(0.009, nm):.4f}%" for nm in TEN) + "\n",
        (("b1", None, 0.009),),
    ),
    Case("pipes", "| Name | L* | a* | b* |\n|---|---|---|---|\n| b1 | 78.2 | -12.5 | -20.1 |\n", (("b1", LAB, {}),)),
    Case("suffix T and R", down("nm;b1_T;b1_R", HIGH, 0.1, sep=";"), (("b1", T, HIGH), ("b1", R, 0.1))),
    Case("prefix", down("nm;T b1;T b2", HIGH, LOW, sep=";"), (("b1", T, HIGH), ("b2", T, LOW))),
    Case("prefix R T", down("nm;T b1;R b1", HIGH, 0.1, sep=";"), (("b1", T, HIGH), ("b1", R, 0.1))),
    Case("arb units", down("nm;Transmittance (arb. units)", HIGH, sep=";"), ((STEM, T, HIGH),)),
    Case(
        "lists of keys",
        "Name: b1\nWavelengths: "
        + ",".join(map(str, TEN))
        + "\nTransmittance: "
        + ",".join(f"{share(HIGH, nm):.4f}" for nm in TEN)
        + "\n",
        ((STEM, T, HIGH),),
    ),
    Case(
        "Lab with standard and delta rows",
        "Name,L*,a*,b*\nStandard,80,-10,-19\nb1,78.2,-12.5,-20.1\nDelta,-1.8,-2.5,-1.1\n",
        (("Standard", (80, -10, -19), {}), ("b1", LAB, {})),
    ),
    Case(
        "abs with blank subtracted",
        down("nm;Abs (blank subtracted)", HIGH, sep=";", turn=absorbance),
        ((STEM, A, HIGH),),
    ),
    Case("Spectral density D", down("nm;D(λ)", LOW, sep=";", turn=absorbance), ((STEM, A, LOW),)),
    Case("wave heads T(400)", across("Name", {"b1": HIGH}, wave="T({})"), (("b1", T, HIGH),)),
    Case("absorbance brought to 10 mm", down("nm;Abs/10mm", HIGH, sep=";", turn=absorbance), says="line 1.*per length"),
    Case(
        "a row a sample and wavelength",
        "Sample;Wavelength;T\n"
        + "".join(f"b1;{nm};{share(HIGH, nm):.4f}\nb2;{nm};{share(LOW, nm):.4f}\n" for nm in TEN),
        (("b1", T, HIGH), ("b2", T, LOW)),
    ),
    *(
        Case(
            f"a row a sample and wavelength, {head}",
            f"sample,wavelength_nm,{head}\n"
            + "".join(f"b1,{nm},{100 * share(HIGH, nm):.2f}\nb2,{nm},{100 * share(LOW, nm):.2f}\n" for nm in TEN),
            (("b1", meant, HIGH), ("b2", meant, LOW)),
        )
        for head, meant in (("T_percent", T), ("transmittance_percent", T), ("T_%", T), ("as exported %", None))
    ),
    Case("CGATS in UTF-16", spectral("SPECTRAL_DEC_").encode("utf-16"), (("b1", None, 0.9), ("b2", None, 0.4))),
    Case("refractive index words", down("nm;Refractive index", 1.5, sep=";"), says="line 1.*index"),
    Case("k", down("nm;n;k", 1.5, 0.1, sep=";"), says="line 1"),
    Case("responsivity", down("nm;Responsivity (A/W)", HIGH, sep=";"), says="line 1"),
    Case(
        "raw counts and T",
        (
            "nm;Raw;Dark;Reference;T\n"
            + "".join(f"{nm};{3000 * share(HIGH, nm):.0f};100;3000;{share(HIGH, nm):.4f}\n" for nm in TEN)
        ),
        ((STEM, T, HIGH),),
    ),
    Case("log scale", down("nm;log T", HIGH, sep=";", turn=lambda v: -absorbance(v)), ((STEM, A, HIGH),)),
    Case("transparency", down("nm;Transparency (%)", HIGH, sep=";", turn=percent), ((STEM, T, HIGH),)),
    Case("facteur de transmission", down("nm;Facteur de transmission", LOW, sep=";"), ((STEM, T, LOW),)),
    Case(
        "D65/10° as prefix heads",
        "Name,D65/10° L*,D65/10° a*,D65/10° b*\nb1,78.2,-12.5,-20.1\n",
        (("b1", LAB, {"light": "D65", "observer": 10}),),
    ),
    Case("L(D65) a(D65)", "Name,L*D65,a*D65,b*D65\nb1,78.2,-12.5,-20.1\n", (("b1", LAB, {"light": "D65"}),)),
    Case(
        "SCI/SCE rows",
        "Name;SCI/SCE;L*;a*;b*\nb1;I;80;-12;-19\nb1;E;78,2;-12,5;-20,1\n",
        (("b1", (80, -12, -19), {"geometry": "gloss included"}), ("b1", LAB, {"geometry": "d/8"})),
    ),
    Case(
        "UV filter rows",
        "Name;UV;L*;a*;b*\nb1;100%;78,2;-12,5;-20,1\nb1;0%;77;-12,5;-20,1\n",
        asks=("values",),
        expected=(("b1", LAB, {}), ("b1", (77, -12.5, -20.1), {})),
    ),
    Case(
        "nm column with text unit row between", "Wavelength,b1\nnm,Transmittance\n" + down("", HIGH), (("b1", T, HIGH),)
    ),
    Case(
        "samples whose names sound like something else",
        down("nm;" + ";".join(_NAMES), *[HIGH] * len(_NAMES), sep=";"),
        tuple((name, None, HIGH) for name in _NAMES),
    ),
    Case(
        "report std trial diff",
        "SAMPLE REPORT\nDate: 2026/11/02\nIlluminant/Observer : D65/10°\nMode : SCE\n"
        "        L*      a*      b*\nStd    80.00  -10.00  -19.00\nTrial  78.20  -12.50  -20.10\nDiff   -1.80  -2.50   -1.10\n",
        (
            ("Std", (80, -10, -19), {"light": "D65", "observer": 10, "geometry": "d/8"}),
            ("Trial", LAB, {"light": "D65"}),
        ),
    ),
    Case(
        "Chinese colorimeter",
        "序号,名称,L*,a*,b*,光源,角度\n1,b1,78.2,-12.5,-20.1,D65,10°\n",
        (("b1", LAB, {"light": "D65", "observer": 10}),),
    ),
    Case(
        "Czech",
        "Datum;Čas;Vzorek;L*;a*;b*\n2.11.2026;10:01;b1;78,2;-12,5;-20,1\n2.11.2026;10:02;b2;77;-15;-25\n",
        (("b1", LAB, {}), ("b2", LABA, {})),
    ),
    Case("h_ab", "Name,L*,C*ab,h_ab\nb1,50,10,90\n", (("b1", (50, 10, 90), {"space": "LCh"}),)),
    Case("RGB hex Lab web", "color,hex,lab_l,lab_a,lab_b\nb1,#aabbcc,78.2,-12.5,-20.1\n", (("b1", LAB, {}),)),
    Case(
        "stacked blocks whose titles hold commas",
        "".join(
            f"{title}\n7/9/2026 3:33:26 PM\n"
            + down("Wavelength (nm),Absorbance", level, nm=TEN[::-1], turn=absorbance)
            + "\n"
            for title, level in (("1,4 b 1", HIGH), ("b2", LOW))
        ),
        (("1,4 b 1", A, HIGH), ("b2", A, LOW)),
    ),
    Case(
        "the signals beside the absorbance",
        "Wavelength (nm),Absorbance (AU),Reference Signal (unitless),Sample Signal (unitless)\n"
        + "".join(f"{n},{absorbance(share(HIGH, n)):.4f},9000,{9000 * share(HIGH, n):.0f}\n" for n in TEN),
        ((STEM, A, HIGH),),
    ),
    Case(
        "a hand-held instrument's row of everything",
        "sep=;\n"
        + across(
            "Index;Collection;Color Name;Illuminant;Observer;Mode;L;a;b;L;c;h;X;Y;Z;sRGB R;sRGB G;sRGB B;HEX;Density C",
            {'1;"mine";"b1";D50;2;M2;7.82E+1;-1.25E+1;-2.01E+1;78.2;23.7;238;41;44;60;1;2;3;AABBCC;.1': HIGH},
            sep=";",
            wave="R{} nm",
        ),
        (("b1", LAB, {"light": "D50", "observer": 2}), ("b1", R, HIGH)),
    ),
)
