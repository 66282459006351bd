"""Blocks, fibre spectrometers, key and value; what is asked, and what is refused."""

from __future__ import annotations

from tests.chips.instruments.corpus_made import FIBRE, STEM, TEN, A, Case, T, absorbance, across, down, percent, share

BLOCKS = (
    # Blocks
    Case(
        "stacked blocks with titles",
        down("Sample: b1\nnm;T", 0.9, sep=";") + "\n" + down("Sample: b2\nnm;T", 0.5, sep=";"),
        (("b1", T, 0.9), ("b2", T, 0.5)),
    ),
    Case(
        "stacked blocks of another quantity",
        down("Sample: b1\nnm;%T", 0.9, sep=";", turn=percent)
        + "\n"
        + down("Sample: b2\nnm;Abs", 0.5, sep=";", turn=absorbance),
        (("b1", T, 0.9), ("b2", A, 0.5)),
    ),
    Case(
        "stacked blocks without a title",
        down("nm;T", 0.9, sep=";") + down("nm;T", 0.5, sep=";"),
        (("block 1", T, 0.9), ("block 2", T, 0.5)),
    ),
    Case(
        "blocks that begin again",
        down("nm\tT", 0.9, sep="\t") + down("", 0.5, sep="\t"),
        (("block 1", T, 0.9), ("block 2", T, 0.5)),
    ),
    # Fibre spectrometers and key-value exports
    Case(
        "a fibre spectrometer",
        FIBRE.format("Processed ")
        + down("", 0.6, sep="\t", turn=percent, tail=">>>>>End Processed Spectral Data<<<<<\n"),
        ((STEM, None, 0.6),),
    ),
    Case(
        "with decimal commas",
        FIBRE.format("") + down("", 0.6, sep="\t", dec=",", turn=percent, at="{}.23"),
        ((STEM, None, 0.6),),
    ),
    Case(
        "whose preamble says the mode",
        "XAxis mode: Wavelengths\nYAxis mode: Transmittance\n"
        + FIBRE.format("")
        + down("", 0.6, sep="\t", turn=percent),
        ((STEM, T, 0.6),),
    ),
    Case(
        "XYDATA",
        "TITLE\tb1\nDATA TYPE\tULTRAVIOLET SPECTRUM\nXUNITS\tNANOMETERS\nYUNITS\tABSORBANCE\nFIRSTX\t730.0\nNPOINTS\t36\nXYDATA\n"
        + down("", 0.6, sep="\t", nm=TEN[::-1], turn=absorbance)
        + "\n##### Extended Information\n[Comments]\nSample name\tb1\n",
        ((STEM, A, 0.6),),
        more={"other_name": "b1"},
    ),
    Case(
        "XYDATA in percent",
        "TITLE,b1\nXUNITS,NANOMETERS\nYUNITS,%T\nXYDATA\n" + down("", 0.6, turn=percent),
        ((STEM, T, 0.6),),
    ),
    Case(
        "#DATA",
        "#TITLE=b1\n#XUNIT=nm\n#YUNIT=Abs\n#DATA\n" + down("", 0.6, sep="\t", turn=absorbance),
        ((STEM, A, 0.6),),
    ),
    Case(
        "NULs in the preamble", ("Instrument\0\0\0 made up\n" + down("nm;T", 0.9, sep=";")).encode(), ((STEM, T, 0.9),)
    ),
    Case("NULs behind the end", down("nm;T", 0.9, sep=";").encode() + b"\0" * 512, ((STEM, T, 0.9),)),
    Case("UTF-16 with its mark", down("nm;T", 0.9, sep=";").encode("utf-16"), ((STEM, T, 0.9),)),
    Case("UTF-16 without a mark", down("nm;Abs", 0.9, sep=";", turn=absorbance).encode("utf-16-le"), ((STEM, A, 0.9),)),
    Case(
        "UTF-8 with its mark, Windows lines",
        b"\xef\xbb\xbf" + down("nm;T", 0.9, sep=";").replace("\n", "\r\n").encode(),
        ((STEM, T, 0.9),),
    ),
    Case("old Macintosh lines", down("nm;T", 0.9, sep=";").replace("\n", "\r").encode(), ((STEM, T, 0.9),)),
    Case(
        "settings in lines by themselves",
        "PE SPECTRUM\n#HDR\n-1\n#GR\nnm\nA\n1.0\n0.0\n730.0\n-10.0\n#DATA\n".replace("PE ", "A ")
        + down("", 0.9, sep="\t", nm=TEN[::-1], turn=absorbance),
        ((STEM, A, 0.9),),
    ),
    Case(
        "decimal commas that part, too", down("nm,%T", 0.9, turn=percent, digits=2).replace(".", ","), ((STEM, T, 0.9),)
    ),
    Case(
        "dark, reference, sample, processed",
        "W\tD\tR\tS\tP\n"
        + "".join(f"{nm}\t12.5\t9000.0\t{9000 * share(0.6, nm):.1f}\t{100 * share(0.6, nm):.3f}\n" for nm in TEN),
        ((STEM, None, 0.6),),
    ),
    Case("one row of wavelengths, one of values", across("", {"": 0.9})[1:].replace("\n,", "\n"), ((STEM, None, 0.9),)),
    Case(
        "heads that are files",
        down("Wavelength\tb1.asc\tb2.asc", 0.9, 0.4, sep="\t"),
        (("b1.asc", None, 0.9), ("b2.asc", None, 0.4)),
    ),
    Case("sep= above", "sep=;\n" + down("nm;T", 0.9, sep=";"), ((STEM, T, 0.9),)),
    Case(
        "a lamp's power",
        "nm,Relative power\n" + "".join(f"{nm},{nm / 100}\n" for nm in TEN),
        says="line 1 says",
    ),
    Case(
        "thicknesses in the heads",
        down("nm;T (2 mm);T (4 mm)", 0.9, 0.8, sep=";"),
        (("2 mm", T, 0.9), ("4 mm", T, 0.8)),
    ),
    Case(
        "a unit between quantity and name",
        down("nm;T [%]_b1;T [%]_b2", 0.9, 0.8, sep=";", turn=percent),
        (("b1", T, 0.9), ("b2", T, 0.8)),
    ),
    Case("a workbook", b"PK\x03\x04 and more", says="a workbook"),
    # What asks
    Case("percent that looks like fractions", down("nm;%T", 0.9, sep=";"), ((STEM, T, None),), asks=("unit",)),
    Case(
        "neither said nor told by the values",
        "nm;b1\n" + "".join(f"{nm};{4 * share(0.9, nm):.3f}\n" for nm in TEN),
        (("b1", None, None),),
        asks=("quantity",),
    ),
    Case("absorbance of 60", down("nm;Abs", 0.9, sep=";", turn=percent), ((STEM, A, None),), asks=("quantity",)),
    Case(
        "counts headed as percent",
        "nm;%T\n" + "".join(f"{nm};{9000 * share(0.9, nm):.0f}\n" for nm in TEN),
        ((STEM, T, None),),
        asks=("values",),
    ),
    Case(
        "transmission read at 45/0",
        down("Geometry: 45/0\nMode: Transmittance\nnm;b1", 0.5, sep=";"),
        (("b1", T, 0.5),),
        asks=("quantity",),
    ),
    Case("fractions of a dark chip stay what they say", down("nm;T (0-1)", 0.005, sep=";"), ((STEM, T, 0.005),)),
    Case(
        "words above that contradict each other",
        down("Transmittance of my chips\nAbsorbance, as a check\nnm;b1", 0.5, sep=";"),
        (("b1", T, None),),
        asks=("quantity",),
    ),
    Case(
        "humidity is no unit",
        down("Measurement humidity: 45 %\nMode: Transmittance\nnm;b1", 0.5, sep=";"),
        (("b1", T, 0.5),),
    ),
    # What is refused
    Case(
        "detector counts",
        "nm;Intensity (counts)\n" + "".join(f"{nm};{9000 * share(0.9, nm):.0f}\n" for nm in TEN),
        says="line 1 says",
    ),
    Case("intensity in units of its own", down("nm,Intensity (a.u.)", 0.9), says="line 1 says"),
    Case("no table", "dear all,\nthe chips are ready\n", says="line 1"),
    Case("a head and no numbers", "nm;T\n400;x\n", says="line 1 heads wavelengths"),
    Case("nothing", "\n\n", says="empty"),
    Case("a value that is none", down("nm;T", 0.9, sep=";").replace("430;0", "430;o"), says="row 7"),
)
