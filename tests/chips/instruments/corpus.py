"""All made-up files: tables, colours, and the formats that are standards."""

from __future__ import annotations

from tests.chips.instruments import instrument_texts as texts
from tests.chips.instruments.corpus_blocks import BLOCKS
from tests.chips.instruments.corpus_exports import EXPORTS
from tests.chips.instruments.corpus_found import FOUND
from tests.chips.instruments.corpus_made import (
    STEM,
    TEN,
    Case,
    R,
    T,
    across,
    cgats,
    down,
    percent,
    spectral,
)
from tests.chips.instruments.corpus_shapes import SHAPES
from tests.chips.instruments.corpus_tables import TABLES

LAB = (78.2, -12.5, -20.1)
COLOURS = (
    Case("L*, a*, b*", "name,L*,a*,b*\nb1,78.2,-12.5,-20.1\n", (("b1", LAB, {}),)),
    Case("LAB_L", "Sample,LAB_L,LAB_A,LAB_B\nb1,78.2,-12.5,-20.1\n", (("b1", LAB, {}),)),
    Case("CIE-L*", "Name;CIE-L*;CIE-a*;CIE-b*\nb1;78,2;-12,5;-20,1\n", (("b1", LAB, {}),)),
    Case("small letters", "chip\tl\ta\tb\nb1\t78.2\t-12.5\t-20.1\n", (("b1", LAB, {}),)),
    Case(
        "light and observer in the heads",
        "Data Name,L*(10°/D65),a*(10°/D65),b*(10°/D65)\nb1,78.2,-12.5,-20.1\n",
        (("b1", LAB, {"light": "D65", "observer": 10}),),
    ),
    Case(
        "two lights side by side",
        "Name,L*(D65),a*(D65),b*(D65),L*(A),a*(A),b*(A)\nb1,78.2,-12.5,-20.1,77,-15,-25\n",
        (("b1", LAB, {"light": "D65"}), ("b1", (77, -15, -25), {"light": "A"})),
    ),
    Case(
        "both ways of measuring gloss",
        "Name,L*(SCI),a*(SCI),b*(SCI),L*(SCE),a*(SCE),b*(SCE)\nb1,80,-12,-19,78.2,-12.5,-20.1\n",
        (("b1", (80, -12, -19), {"geometry": "gloss included"}), ("b1", LAB, {"geometry": "d/8"})),
    ),
    Case(
        "the gloss in a column",
        "Name;Mode;L*;a*;b*\nb1;SCI;80;-12;-19\nb1;SCE;78,2;-12,5;-20,1\n",
        (("b1", (80, -12, -19), {"geometry": "gloss included"}), ("b1", LAB, {"geometry": "d/8"})),
    ),
    Case(
        "light and observer in columns",
        "Sample ID,Illuminant,Observer,L,a,b\nb1,D50,2,78.2,-12.5,-20.1\n",
        (("b1", LAB, {"light": "D50", "observer": 2}),),
    ),
    Case(
        "light and observer above",
        "Illuminant: D65\nObserver: 10°\nMode: SCE\nNo.,Name,L*,a*,b*\n1,b1,78.2,-12.5,-20.1\n",
        (("b1", LAB, {"light": "D65", "observer": 10, "geometry": "d/8"}),),
    ),
    Case(
        "German",
        "Lichtart: D65/10°\nProbe;L*;a*;b*;C*;h\nb1;78,2;-12,5;-20,1;23,7;238\n",
        (("b1", LAB, {"light": "D65", "observer": 10}),),
    ),
    Case(
        "differences beside it",
        "Name,L*,a*,b*,dL*,da*,db*,dE*ab\nb1,78.2,-12.5,-20.1,0.2,0.1,-0.3,0.4\n",
        (("b1", LAB, {}),),
    ),
    Case("LCh", "name;L*;C*;h°\nb1;50;10;90\n", (("b1", (50, 10, 90), {"space": "LCh"}),)),
    Case("XYZ", "name;X;Y;Z\nb1;41,2;44,1;60,3\n", (("b1", (41.2, 44.1, 60.3), {"space": "XYZ"}),)),
    Case("xyY", "name,x,y,Y\nb1,0.3138,0.331,18.4\n", (("b1", (0.3138, 0.331, 18.4), {"space": "xyY"}),)),
    Case(
        "modes as a word of four letters",
        "Sample Name,Mode,Illuminant/Observer,L*,a*,b*\nb1,TTRAN,D65/10,78.2,-12.5,-20.1\nb2,RSIN,D65/10,80,-12,-19\n",
        (
            ("b1", LAB, {"light": "D65", "observer": 10, "geometry": "total"}),
            ("b2", (80, -12, -19), {"geometry": "gloss included", "quantity": "reflectance"}),
        ),
    ),
    Case(
        "an observer's curves", "nm,X,Y,Z\n" + "".join(f"{nm},{nm / 1000},0.2,0.3\n" for nm in TEN), says="line 1 says"
    ),
    Case(
        "a camera's curves",
        "wavelength,R,G,B\n" + "".join(f"{nm},{nm / 1000},0.2,0.3\n" for nm in TEN),
        says="line 1 says",
    ),
    Case("names without a head", "   L*    a*    b*\nazure 1  78.2 -12.5 -20.1\n", (("azure 1", LAB, {}),)),
    Case(
        "a line a letter",
        "Name: b1\nL* = 78.2\na* = -12.5\nb* = -20.1\nIlluminant: D65\n",
        ((STEM, LAB, {"light": "D65"}),),
    ),
    Case(
        "a colour and a spectrum in a row",
        across("Name,L*,a*,b*", {"b1,78.2,-12.5,-20.1": 0.9}),
        (("b1", LAB, {}), ("b1", None, 0.9)),
    ),
)


STANDARD = (
    Case(
        "white base is no absorbance",
        spectral("nm", said='MEASUREMENT_SOURCE "Illumination=D50 ObserverAngle=2 WhiteBase=Abs Filter=No"'),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case("QUANTITY", spectral("SPECTRAL_DEC_", said='QUANTITY "Transmittance"'), (("b1", T, 0.9), ("b2", T, 0.4))),
    Case(
        "45/0 is reflection, whatever free words say",
        spectral("R_", said='DESCRIPTOR "transmission targets"\nMEASUREMENT_GEOMETRY "45/0"'),
        (("b1", R, 0.9), ("b2", R, 0.4)),
    ),
    Case(
        "SPEC_ fields in percent",
        spectral(
            "SPEC_",
            percent,
            said='SPECTRAL_BANDS "36"\nSPECTRAL_START_NM "380"\nSPECTRAL_END_NM "730"\nSPECTRAL_NORM "100"',
        ),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "padded with tabs by a spreadsheet",
        spectral("SPECTRAL_NM", pad="\t\t\t"),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "padded colours",
        cgats("SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B", ["1|b1|78.2|-12.5|-20.1"], pad="\t\t\t\t"),
        (("b1", LAB, {}),),
    ),
    Case(
        "JCAMP-DX: a block of another kind",
        texts.LINKED.replace("##YUNITS=TRANSMITTANCE", "##YUNITS=VARIANCE", 1),
        (("b2", T, None),),
    ),
    Case("JCAMP-DX: Transmission (%)", texts.jcamp("b1", 90.0, "Transmission (%)"), (("b1", T, None),)),
    Case(
        "JCAMP-DX: decimal commas",
        "##TITLE=b1\n##JCAMP-DX=5.0\n##XUNITS=NANOMETERS\n##YUNITS=Transmission (%)\n"
        "##FIRSTX=380,00\n##LASTX=730,00\n##NPOINTS=36\n##XYPOINTS=(XY..XY)\n"
        + down("", 0.9, sep=", ", dec=",", turn=percent, at="{}.00")
        + "##END=\n",
        (("b1", T, 0.9),),
    ),
    Case(
        "JCAMP-DX: points by their step",
        texts.jcamp("b1", 0.9).replace("##LASTX=730\n", "##DELTAX=10\n").replace("##NPOINTS=36\n", ""),
        (("b1", T, 0.9),),
    ),
    Case("JCAMP-DX: an end without =", texts.jcamp("b1", 0.9).replace("##END=", "##END"), (("b1", T, None),)),
    Case(
        "JCAMP-DX: wavelength [nm]", texts.jcamp("b1", 0.9).replace("NANOMETERS", "wavelength [nm]"), (("b1", T, None),)
    ),
    Case(
        "CxF3: reflectance of a paint",
        texts.cxf("b1", 0.5, "Reflectance", geometry="Specular_Excluded"),
        (("b1", R, None), ("b1", (80, -5, -9), {"light": "D65"})),
    ),
)
CASES = (*TABLES, *BLOCKS, *COLOURS, *STANDARD, *FOUND, *SHAPES, *EXPORTS)
