"""Small instrument files, made to the standards by hand for these tests."""

from __future__ import annotations

NM = tuple(range(380, 731, 10))


def values(level: float) -> list[float]:
    """A smooth spectrum of transmittance."""
    return [round(level * (0.6 + 0.3 * (nm - 380) / 350), 4) for nm in NM]


def csv_rows(levels: dict[str, float], delimiter: str = ",") -> str:
    """A row a sample."""
    head = delimiter.join(["Sample", *(f"{nm} nm" for nm in NM)])
    rows = [delimiter.join([name, *(str(v) for v in values(level))]) for name, level in levels.items()]
    return "\n".join([head, *rows]) + "\n"


def csv_columns(levels: dict[str, float], percent: bool = False) -> str:
    """A column a sample, with a semicolon and a decimal comma."""
    scale = 100 if percent else 1
    lines = ["nm;" + ";".join(levels)]
    for i, nm in enumerate(NM):
        lines.append(
            ";".join([str(nm), *(f"{values(level)[i] * scale:.4f}".replace(".", ",") for level in levels.values())])
        )
    return "\n".join(lines) + "\n"


def cgats_colours(colours: dict[str, tuple[float, float, float]], light: str = "D65", observer: int = 10) -> str:
    """L*a*b* as CGATS.17 has it."""
    rows = "\n".join(f'{i} "{name}" {a} {b} {c}' for i, (name, (a, b, c)) in enumerate(colours.items(), 1))
    return f"""CGATS.17
ORIGINATOR "tests"
CREATED "2026-11-02"
WEIGHTING_FUNCTION "ILLUMINANT, {light}"
WEIGHTING_FUNCTION "OBSERVER, {observer} degree"
KEYWORD "SAMPLE_NAME"
NUMBER_OF_FIELDS 5
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS {len(colours)}
BEGIN_DATA
{rows}
END_DATA
"""


def cgats_spectra(levels: dict[str, float], pairs: bool = False) -> str:
    """Spectra in percent, a field a wavelength or in pairs, tab-separated."""
    if pairs:
        fields = "SAMPLE_ID\t" + "\t".join("SPECTRAL_NM\tSPECTRAL_PCT" for _ in NM)
        body = [
            name + "\t" + "\t".join(f"{nm}\t{100 * v:.2f}" for nm, v in zip(NM, values(level), strict=True))
            for name, level in levels.items()
        ]
    else:
        fields = "SAMPLE_ID\t" + "\t".join(f"SPECTRAL_PCT_{nm}" for nm in NM)
        body = [name + "\t" + "\t".join(f"{100 * v:.2f}" for v in values(level)) for name, level in levels.items()]
    return "\n".join(
        ["ISO28178", 'MEASUREMENT_SOURCE "spectral transmission, total"', f"NUMBER_OF_FIELDS {len(fields.split())}",
         "BEGIN_DATA_FORMAT", fields, "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(levels)}", "BEGIN_DATA", *body,
         "END_DATA", ""]
    )  # fmt: skip


def jcamp(name: str, level: float, y_units: str = "TRANSMITTANCE", x_units: str = "NANOMETERS") -> str:
    """One block of plain numbers, in nm or in 1/cm."""
    if x_units == "NANOMETERS":
        rows = "\n".join(f"{nm} {v}" for nm, v in zip(NM, values(level), strict=True))
        return (
            f"##TITLE={name}\n##JCAMP-DX=4.24 $$ made for tests\n##DATA TYPE=UV/VIS SPECTRUM\n##XUNITS={x_units}\n"
            f"##YUNITS={y_units}\n##XFACTOR=1\n##YFACTOR=1\n##FIRSTX=380\n##LASTX=730\n##NPOINTS=36\n"
            f"##XYDATA=(X++(Y..Y))\n{rows}\n##END=\n"
        )
    rows = "\n".join(f"{1e7 / nm:.4f}, {v}" for nm, v in zip(NM, values(level), strict=True))
    return (
        f"##TITLE={name}\n##JCAMP-DX=4.24\n##XUNITS={x_units}\n##YUNITS={y_units}\n##NPOINTS=36\n"
        f"##XYPOINTS=(XY..XY)\n{rows}\n##END=\n"
    )


SQUEEZED = """\
##TITLE=b1
##JCAMP-DX=4.24
##XUNITS=NANOMETERS
##YUNITS=TRANSMITTANCE
##XFACTOR=1
##YFACTOR=0.001
##FIRSTX=380
##LASTX=460
##NPOINTS=9
##XYDATA=(X++(Y..Y))
380E00J%Kj2
420D91j0T
440D71J%
##END=
"""
"""ASDF: E00 = 500; J = +1; % = +0; K = +2; j2 = -12; the next line begins with 491 again; j0 = -10, twice (T); 471,
+1, +0.
"""
SQUEEZED_VALUES = (0.5, 0.501, 0.501, 0.503, 0.491, 0.481, 0.471, 0.472, 0.472)

LINKED = (
    "##TITLE=all\n##JCAMP-DX=5.00\n##DATA TYPE=LINK\n##BLOCKS=2\n" + jcamp("b1", 0.9) + jcamp("b2", 0.5) + "##END=\n"
)


def cxf(name: str, level: float, kind: str = "Transmittance", light: str = "D65", geometry: str = "Diffuse") -> str:
    """One object with a spectrum and a colour."""
    read = " ".join(str(v) for v in values(level))
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">
 <cc:FileInformation><cc:Creator>tests</cc:Creator></cc:FileInformation>
 <cc:Resources>
  <cc:ObjectCollection>
   <cc:Object ObjectType="Trial" Name="{name}" Id="o1">
    <cc:CreationDate>2026-11-02T10:00:00Z</cc:CreationDate>
    <cc:ColorValues>
     <cc:{kind}Spectrum ColorSpecification="s1">{read}</cc:{kind}Spectrum>
     <cc:ColorCIELab ColorSpecification="s1"><cc:L>80</cc:L><cc:A>-5</cc:A><cc:B>-9</cc:B></cc:ColorCIELab>
    </cc:ColorValues>
   </cc:Object>
  </cc:ObjectCollection>
  <cc:ColorSpecificationCollection>
   <cc:ColorSpecification Id="s1">
    <cc:TristimulusSpec>
     <cc:Illuminant>{light}</cc:Illuminant><cc:Observer>10_Degree</cc:Observer><cc:Method>E308_Table5</cc:Method>
    </cc:TristimulusSpec>
    <cc:MeasurementSpec>
     <cc:MeasurementType>Spectrum_{kind}</cc:MeasurementType>
     <cc:GeometryChoice><cc:SphereGeometry>{geometry}</cc:SphereGeometry></cc:GeometryChoice>
     <cc:WavelengthRange StartWL="380" Increment="10"/>
    </cc:MeasurementSpec>
   </cc:ColorSpecification>
  </cc:ColorSpecificationCollection>
 </cc:Resources>
</cc:CxF>
"""
