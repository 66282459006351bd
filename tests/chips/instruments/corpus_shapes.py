"""More shapes of files, as instruments export them; and what is no reading, refused with its cause."""

from __future__ import annotations

from typing import Any

from tests.chips.instruments.corpus_found import HIGH, LAB, LABA, LOW, thousandths
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
    cgats,
    down,
    percent,
    share,
    spectral,
)

_CASES: list[Case] = []


def _add(*said: Any, **more: Any) -> None:
    _CASES.append(Case(*said, **more))


_add("lambda / nm", down("λ / nm;T / %", HIGH, sep=";", turn=percent), ((STEM, T, HIGH),))
_add("Wellenlaenge", down("Wellenlaenge;Transmission in %", HIGH, sep=";", turn=percent), ((STEM, T, HIGH),))
_add("capitals", down("WAVELENGTH\tABSORBANCE", HIGH, sep="\t", turn=absorbance), ((STEM, A, HIGH),))
_add("A.U.", down("Wavelength (nm);A.U.", HIGH, sep=";", turn=absorbance), ((STEM, A, HIGH),))
_add(
    "Absorbance (AU) names above",
    down(";b1;b2\nWavelength (nm);Absorbance (AU);Absorbance (AU)", HIGH, LOW, sep=";", turn=absorbance),
    (("b1", A, HIGH), ("b2", A, LOW)),
)
_add(
    "plate wells",
    down("Wavelength\tA1\tA2\tB1", HIGH, LOW, 0.3, sep="\t", turn=absorbance),
    (("A1", None, None), ("A2", None, None), ("B1", None, None)),
)
_add(
    "plate wells, Absorbance above",
    down("Read: Absorbance spectrum\nWavelength\tA1\tA2\tB1", HIGH, LOW, 0.3, sep="\t", turn=absorbance),
    (("A1", A, HIGH), ("A2", A, LOW), ("B1", A, 0.3)),
)
_add(
    "microvolume UV",
    "Sample ID,User,Date,ng/ul,A260,A280,260/280,"
    + ",".join(map(str, range(220, 351)))
    + "\nb1,ada,1,5.0,0.1,0.05,2.0,"
    + ",".join(["0.1"] * 131)
    + "\n",
    says=r"220 to 350 nm.*seen|line",
)
_add(
    "values with % signs, dark",
    "nm;T\n" + "".join(f"{nm};{100 * share(0.009, nm):.4f}%\n" for nm in TEN),
    ((STEM, T, 0.009),),
)
_add(
    "names with percent of dose",
    down("Transmittance of chips\nnm;azure 0.5%;azure 1%", HIGH, LOW, sep=";"),
    (("azure 0.5%", T, HIGH), ("azure 1%", T, LOW)),
)
_add(
    "names trans-blue",
    down("nm;trans-blue;absinthe", HIGH, LOW, sep=";"),
    (("trans-blue", None, HIGH), ("absinthe", None, LOW)),
)
_add(
    "peak table below",
    down("nm;Abs", HIGH, sep=";", turn=absorbance) + "\nPeak table\nNo.;Wavelength;Abs\n1;520;0.21\n2;440;0.18\n",
    ((STEM, A, HIGH),),
)
_add(
    "peak table above",
    "Peaks\nNo.;Wavelength (nm);Abs\n1;520;0.21\n2;440;0.18\n\n" + down("nm;Abs", HIGH, sep=";", turn=absorbance),
    ((STEM, A, HIGH),),
)
_add(
    "wrapped in four pairs a line",
    "".join(" ".join(f"{TEN[i + j]} {share(HIGH, TEN[i + j]):.4f}" for j in range(4)) + "\n" for i in range(0, 36, 4)),
    ((STEM, None, HIGH),),
)
_add(
    "wrapped, headed",
    "nm %R nm %R nm %R nm %R\n"
    + "".join(
        " ".join(f"{TEN[i + j]} {100 * share(HIGH, TEN[i + j]):.3f}" for j in range(4)) + "\n" for i in range(0, 36, 4)
    ),
    ((STEM, R, HIGH),),
)
_add(
    "colon pairs",
    "Reflectance (%)\n" + "".join(f"{nm}: {100 * share(HIGH, nm):.3f}\n" for nm in TEN),
    ((STEM, R, HIGH),),
)
_add("nm= pairs", "".join(f"{nm} nm = {100 * share(HIGH, nm):.3f} %\n" for nm in TEN), ((STEM, None, HIGH),))
_add("samples across, L down", ";b1;b2\nL*;78,2;77\na*;-12,5;-15\nb*;-20,1;-25\n", (("b1", LAB, {}), ("b2", LABA, {})))
_add("L: lines with colon", "Sample: b1\nL: 78.2\na: -12.5\nb: -20.1\n", ((STEM, LAB, {}),))
_add(
    "eV",
    "Energy (eV);T\n" + "".join(f"{1239.841984 / nm:.5f};{share(HIGH, nm):.4f}\n" for nm in TEN),
    ((STEM, T, HIGH),),
)
_add(
    "metres",
    "Wavelength (m),T\n" + "".join(f"{nm * 1e-9:.4e},{share(HIGH, nm):.4f}\n" for nm in TEN),
    ((STEM, T, HIGH),),
)
_add(
    "THz",
    "Frequency (THz),T\n" + "".join(f"{299792.458 / nm:.4f},{share(HIGH, nm):.4f}\n" for nm in TEN),
    ((STEM, T, HIGH),),
)
_add("only three wavelengths", "Sample,450 nm,550 nm,650 nm\nb1,0.5,0.6,0.7\n", says=r"line 1.*3 wavelengths")
_add("differences only", "Name,dL*,da*,db*,dE*\nb1,0.2,0.1,-0.3,0.4\n", says=r"line 1.*differences")
_add("Hunter", "Name,Hunter L,Hunter a,Hunter b\nb1,70,1,2\n", says=r"line 1.*Hunter")
_add("RGB only", "Name,R,G,B\nb1,70,100,200\n", says=r"line 1.*(?:screen|RGB)")
_add("densities", "Name,Density C,Density M,Density Y\nb1,0.2,0.3,0.4\n", says=r"line 1.*densit")
_add("PDF", b"%PDF-1.4\n%\xe2\xe3\n1 0 obj\n", says="PDF")
_add("PNG", b"\x89PNG\r\n\x1a\n\0\0\0", says="picture")
_add("JPEG", b"\xff\xd8\xff\xe0\0\x10JFIF", says="picture")
_add("RTF", b"{\\rtf1\\ansi nm;T}", says="RTF|word proces")
_add("HTML table", b"<html><table><tr><td>nm</td><td>T</td></tr></table></html>", says="HTML|web page")
_add("other XML", b"<?xml version='1.0'?><Measurements><M nm='400'>0.5</M></Measurements>", says="Measurements|no CxF")
_add("binary", bytes(range(256)) * 20, says="binary|no text")
_add(
    "time series across",
    "Time stamp,"
    + ",".join(map(str, TEN))
    + "\n"
    + "".join(f"2026-11-02 10:00:0{i}," + ",".join(f"{share(HIGH, nm):.4f}" for nm in TEN) + "\n" for i in range(2)),
    (("2026-11-02 10:00:00", None, HIGH), ("2026-11-02 10:00:01", None, HIGH)),
)
_add(
    "average row",
    across("name", {"b1": HIGH, "b1 ": HIGH, "Average": HIGH}),
    (("b1", None, HIGH), ("b1", None, HIGH), ("Average", None, HIGH)),
)
_add(
    "page heads repeated",
    down("nm;T", HIGH, sep=";", nm=TEN[:18]) + "Page 2\n" + down("nm;T", HIGH, sep=";", nm=TEN[18:]),
    ((STEM, T, HIGH),),
)
_add("CWF", "Name;Illuminant;L*;a*;b*\nb1;CWF;78,2;-12,5;-20,1\n", (("b1", LAB, {"light": "FL2"}),))
_add(
    "TL84 heads",
    "Name,L*(TL84/10°),a*(TL84/10°),b*(TL84/10°)\nb1,77,-15,-25\n",
    (("b1", LABA, {"light": "FL11", "observer": 10}),),
)
_add(
    "JCAMP %T",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=NM\n##YUNITS=%T\n##FIRSTX=730\n##LASTX=380\n##NPOINTS=36\n##XYPOINTS=(XY..XY)\n"
    + down("", HIGH, sep=" ", turn=percent, nm=TEN[::-1])
    + "##END=\n",
    (("b1", T, HIGH),),
)
_add(
    "JCAMP micrometres",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=MICROMETERS\n##YUNITS=ABSORBANCE\n##NPOINTS=36\n##XYPOINTS=(XY..XY)\n"
    + "".join(f"{nm / 1000} {absorbance(share(HIGH, nm)):.4f}\n" for nm in TEN)
    + "##END=\n",
    (("b1", A, HIGH),),
)
_add(
    "JCAMP peak table",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=NM\n##YUNITS=ABSORBANCE\n##NPOINTS=2\n"
    "##PEAK TABLE=(XY..XY)\n450 0.2\n550 0.3\n##END=\n",
    says="line 6 says ##PEAK TABLE",
)
_add(
    "JCAMP mass",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=M/Z\n##YUNITS=RELATIVE ABUNDANCE\n"
    "##NPOINTS=2\n##XYPOINTS=(XY..XY)\n45 0.2\n55 0.3\n##END=\n",
    says=r"line \d+.*(?:YUNITS|XUNITS)",
)
_add(
    "JCAMP infrared only",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=1/CM\n##YUNITS=TRANSMITTANCE\n##FIRSTX=400\n##LASTX=4000\n##NPOINTS=37\n##XYPOINTS=(XY..XY)\n"
    + "".join(f"{c} 0.5\n" for c in range(400, 4001, 100))
    + "##END=\n",
    says=r"nm.*seen",
)
_add(
    "JCAMP mAU",
    "##TITLE=b1\n##JCAMP-DX=4.24\n##XUNITS=NM\n##YUNITS=mAU\n##NPOINTS=36\n##XYPOINTS=(XY..XY)\n"
    + down("", HIGH, sep=" ", turn=thousandths)
    + "##END=\n",
    (("b1", A, HIGH),),
)
_add(
    "JCAMP ntuples", "##TITLE=b1\n##JCAMP-DX=5.00\n##NTUPLES=X\n##END NTUPLES=X\n##END=\n", says=r"NTUPLES|no spectrum"
)
_add(
    "CGATS bare wavelengths",
    cgats("SAMPLE_ID " + " ".join(map(str, TEN)), ["b1|" + "|".join(f"{share(HIGH, nm):.4f}" for nm in TEN)]),
    (("b1", None, HIGH),),
)
_add(
    "CGATS both",
    cgats(
        "SAMPLE_NAME LAB_L LAB_A LAB_B " + " ".join(f"R_{n}" for n in TEN),
        ["b1|78.2|-12.5|-20.1|" + "|".join(f"{share(HIGH, nm):.4f}" for nm in TEN)],
    ),
    (("b1", LAB, {}), ("b1", R, HIGH)),
)
_add("CGATS densities", cgats("SAMPLE_ID D_RED D_GREEN D_BLUE", ["1|.2|.3|.4"]), says=r"line \d+.*(?:D_RED|L\*a\*b\*)")
_add("CGATS emissive", spectral("SPECTRAL_DEC_", said='MEASUREMENT_SOURCE "Emission"'), says="sent out")
_add("CGATS missing value", spectral("SPECTRAL_DEC_").replace("0.5400", "---", 1), says=r"line \d+.*---")
_add(
    "spectrum name row above wave head",
    down("Sample;b1;b2\nDate;2026;2026\nWavelength;Data;Data", HIGH, LOW, sep=";"),
    (("b1", None, HIGH), ("b2", None, LOW)),
)
_add(
    "name over two columns",
    down(";b1;b1\nnm;%T;Abs", HIGH, HIGH, sep=";", turn=(percent, absorbance)),
    (("b1", T, HIGH), ("b1", A, HIGH)),
)
_add(
    "total and diffuse",
    down("nm;T_total (%);T_diffuse (%)", HIGH, 0.1, sep=";", turn=percent),
    (("column 2", T, HIGH), ("column 3", T, 0.1)),
)
_add(
    "wavelengths in quotes with unit",
    '"Wavelength [nm]","T [%]"\n' + "".join(f'"{nm}.0 nm","{100 * share(HIGH, nm):.3f}"\n' for nm in TEN),
    ((STEM, T, HIGH),),
)
_add(
    "space as thousands",
    "nm;T\n" + "".join(f"{nm if nm < 1000 else f'1 {nm - 1000:03d}'};{share(HIGH, nm):.4f}\n" for nm in FAR),
    ((STEM, T, HIGH),),
)
_add(
    "time beside",
    "nm;Time;%T\n" + "".join(f"{nm};{i * 0.5};{100 * share(HIGH, nm):.4f}\n" for i, nm in enumerate(TEN)),
    ((STEM, T, HIGH),),
)
_add(
    "temperature axis",
    "Temperature (°C);Abs\n" + "".join(f"{t};0.5\n" for t in range(20, 90)),
    says=r"line 1.*Temperature",
)
_add(
    "concentration axis",
    "Concentration (mg/L);Abs\n" + "".join(f"{t};0.5\n" for t in range(200, 900, 10)),
    says=r"line 1.*Concentration",
)
_add("pixels", "Pixel;Intensity\n" + "".join(f"{t};500\n" for t in range(300)), says=r"line 1.*(?:Pixel|Intensity)")
_add(
    "raman shift",
    "Raman shift (cm-1);Intensity\n" + "".join(f"{t};500\n" for t in range(100, 3000, 10)),
    says=r"line 1.*(?:Raman|Intensity)",
)
_add(
    "fluorescence", "Wavelength (nm);Fluorescence (a.u.)\n" + "".join(f"{t};500\n" for t in TEN), says=r"line 1.*Fluor"
)
_add("haze", "nm;Haze (%)\n" + "".join(f"{t};5\n" for t in TEN), says=r"line 1.*Haze")
_add("absorptance", "nm;Absorptance (%)\n" + "".join(f"{t};5\n" for t in TEN), says=r"line 1.*Absorptance")
_add("molar", "nm;Molar absorptivity (L/(mol cm))\n" + "".join(f"{t};5000\n" for t in TEN), says=r"line 1.*Molar")
_add("-log T", down("nm;-log(T)", HIGH, sep=";", turn=absorbance), ((STEM, A, HIGH),))
_add("log10(I0/I)", down("nm;log10(I0/I)", HIGH, sep=";", turn=absorbance), ((STEM, A, HIGH),))
_add("1-T", "nm;1-T\n" + "".join(f"{t};.5\n" for t in TEN), says=r"line 1.*1-T")
_add(
    "handheld text",
    "Instrument made up\nDate 2026/11/02 10:00\nTarget b1\nD65/10° SCE\nL* 78.20\na* -12.50\nb* -20.10\n",
    ((STEM, LAB, {"light": "D65", "observer": 10, "geometry": "d/8"}),),
)
_add(
    "numbers with degree C",
    "nm;T\n" + "".join(f"{nm};{share(HIGH, nm):.4f}\n" for nm in TEN) + "Temperature;22 °C\nEnd of file\n",
    ((STEM, T, HIGH),),
)
_add(
    "semicolon and commas both",
    "nm;b1;b2;\n" + "".join(f"{nm},00;{share(HIGH, nm):.4f};{share(LOW, nm):.4f};\n".replace(".", ",") for nm in TEN),
    (("b1", None, HIGH), ("b2", None, LOW)),
)
_add(
    "rows with quoted names with commas",
    across("name", {'"b1, old"': HIGH, '"b2, new"': LOW}),
    (("b1, old", None, HIGH), ("b2, new", None, LOW)),
)
_add(
    "wave across with unit row name",
    across("Wavelength (nm)", {"b1 (%T)": HIGH, "b2 (%T)": LOW}, turn=percent),
    (("b1 (%T)", T, HIGH), ("b2 (%T)", T, LOW)),
)
_add(
    "quantity in column",
    across("name,Data type", {"b1,Transmittance": HIGH, "b2,Transmittance": LOW}),
    (("b1", T, HIGH), ("b2", T, LOW)),
)
_add(
    "lab and spectrum blocks",
    "Name,L*,a*,b*\nb1,78.2,-12.5,-20.1\n\n" + across("Name", {"b1": HIGH}),
    (("b1", LAB, {}), ("b1", None, HIGH)),
)
_add(
    "multi-angle",
    across("Name,Angle", {"b1,15": HIGH, "b1,110": LOW}),
    asks=("values",),
    expected=(("b1", None, None), ("b1", None, None)),
)
_add(
    "two lights in one L column head row",
    "Name,D65/10°,,,A/10°,,\n,L*,a*,b*,L*,a*,b*\nb1,78.2,-12.5,-20.1,77,-15,-25\n",
    (("b1", LAB, {"light": "D65", "observer": 10}), ("b1", LABA, {"light": "A", "observer": 10})),
)
_add("UTF-16 with tabs", down("Wavelength\tT%", HIGH, sep="\t", turn=percent).encode("utf-16-be"), ((STEM, T, HIGH),))
_add(
    "latin1 portuguese",
    down("Comprimento de onda;Absorvância", HIGH, sep=";", dec=",", turn=absorbance).encode("cp1252"),
    ((STEM, A, HIGH),),
)
_add(
    "Polish cp1250",
    down("Długość fali [nm];Przepuszczalność [%]", HIGH, sep=";", dec=",", turn=percent).encode("cp1250"),
    ((STEM, T, HIGH),),
)
_add(
    "Russian cp1251",
    down("Длина волны, нм;Пропускание, %", HIGH, sep=";", dec=",", turn=percent).encode("cp1251"),
    ((STEM, T, HIGH),),
)


SHAPES = tuple(_CASES)
