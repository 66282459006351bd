"""Whole exports as instruments write them, of which a first reading went wrong."""

from __future__ import annotations

from tests.chips.instruments.corpus_found import HIGH, LAB, LABA, LOW
from tests.chips.instruments.corpus_made import STEM, TEN, A, Case, R, T, absorbance, across, down, share, spectral

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
    Case("CGATS in UTF-16", spectral("SPECTRAL_DEC_").encode("utf-16"), (("b1", None, 0.9), ("b2", None, 0.4))),
)
