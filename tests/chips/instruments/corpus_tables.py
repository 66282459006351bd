"""Delimited texts, in the shapes that instruments write."""

from __future__ import annotations

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
)  # fmt: skip

TABLES = (
    # Heads
    Case("nm;A is absorbance", down("nm;A", 0.9, sep=";", turn=absorbance), ((STEM, A, 0.9),)),
    Case("nm,T is transmittance", down("nm,T", 0.9), ((STEM, T, 0.9),)),
    Case("OD", down("Wavelength\tOD", 0.7, sep="\t", turn=absorbance), ((STEM, A, 0.7),)),
    Case("Extinction", down("Wavelength [nm]\tExtinction", 0.7, sep="\t", turn=absorbance), ((STEM, A, 0.7),)),
    Case("log(1/T)", down("wavelength,log(1/T)", 0.7, turn=absorbance), ((STEM, A, 0.7),)),
    Case("heads with points", down('"Wavelength nm.","Abs."', 0.6, turn=absorbance), ((STEM, A, 0.6),)),
    Case(
        "a title line and heads with points",
        down('"azure 1 - RawData"\n"Wavelength nm.","T%"', 0.6, turn=percent),
        ((STEM, T, 0.6),),
        more={"other_name": "azure 1"},
    ),
    Case("WL(nm)", down("WL(nm);b1;b2", 0.9, 0.4, sep=";"), (("b1", None, 0.9), ("b2", None, 0.4))),
    Case("Nanometers", down("Nanometers,%T", 0.9, turn=percent), ((STEM, T, 0.9),)),
    Case("lambda (nm)", down("lambda (nm)\tT [%]", 0.9, sep="\t", turn=percent), ((STEM, T, 0.9),)),
    Case("Wavelengths", down("Wavelengths,azure-1", 0.9), (("azure-1", None, 0.9),)),
    Case("w.length", down("w.length;trans", 0.9, sep=";"), ((STEM, T, 0.9),)),
    Case("German", down("Wellenlänge [nm];Transmission [%]", 0.9, sep=";", dec=",", turn=percent), ((STEM, T, 0.9),)),
    Case(
        "German in Windows-1252",
        down("Wellenlänge;Extinktion", 0.9, sep=";", dec=",", turn=absorbance).encode("cp1252"),
        ((STEM, A, 0.9),),
    ),
    Case(
        "German degree of transmission",
        down("Wellenlänge nm\tTransmissionsgrad", 0.9, sep="\t", dec=","),
        ((STEM, T, 0.9),),
    ),
    Case(
        "French", down("Longueur d'onde (nm);Transmittance (%)", 0.8, sep=";", dec=",", turn=percent), ((STEM, T, 0.8),)
    ),
    Case(
        "French reflectance",
        down("Longueur d’onde;Réflectance %", 0.8, sep=";", dec=",", turn=percent),
        ((STEM, R, 0.8),),
    ),
    Case(
        "Spanish",
        down("Longitud de onda (nm);Transmitancia (%)", 0.8, sep=";", dec=",", turn=percent),
        ((STEM, T, 0.8),),
    ),
    Case(
        "Spanish absorbance",
        down("Longitud de onda;Absorbancia", 0.8, sep=";", dec=",", turn=absorbance),
        ((STEM, A, 0.8),),
    ),
    Case(
        "Italian",
        down("Lunghezza d'onda [nm];Trasmittanza [%]", 0.8, sep=";", dec=",", turn=percent),
        ((STEM, T, 0.8),),
    ),
    Case(
        "Italian absorbance",
        down("Lunghezza d'onda;Assorbanza", 0.8, sep=";", dec=",", turn=absorbance),
        ((STEM, A, 0.8),),
    ),
    Case(
        "Portuguese",
        down(
            "Comprimento de onda;Absorvância;".rstrip(";").replace("Absorvância", "Absorbância"),
            0.8,
            sep=";",
            turn=absorbance,
        ),
        ((STEM, A, 0.8),),
    ),
    Case("Japanese", down("波長(nm),透過率(%)", 0.8, turn=percent).encode("cp932"), ((STEM, T, 0.8),)),
    Case("Japanese absorbance in UTF-8", down("波長 nm\t吸光度", 0.8, sep="\t", turn=absorbance), ((STEM, A, 0.8),)),
    Case("x beside y", pairs("azure x,azure y,rose x,rose y", 0.9, 0.5), (("azure", None, 0.9), ("rose", None, 0.5))),
    Case("X_Value and Y_Value", down("X;Y", 0.9, sep=";"), ((STEM, None, 0.9),)),
    Case(
        "wavelength in micrometres",
        "Wavelength (µm),T\n" + "".join(f"{nm / 1000:.3f},{share(0.9, nm):.4f}\n" for nm in TEN),
        ((STEM, T, 0.9),),
    ),
    Case(
        "wavenumbers",
        "Wavenumber (cm-1),%T\n" + "".join(f"{1e7 / nm:.2f},{100 * share(0.9, nm):.4f}\n" for nm in TEN),
        ((STEM, T, 0.9),),
    ),
    # Where the wavelength stands, and how
    Case(
        "the wavelength in the second column",
        "No.;Wavelength;T%\n" + "".join(f"{i};{nm};{100 * share(0.9, nm):.2f}\n" for i, nm in enumerate(TEN, 1)),
        ((STEM, T, 0.9),),
    ),
    Case("the wavelength last", "T,nm\n" + "".join(f"{share(0.9, nm):.4f},{nm}\n" for nm in TEN), ((STEM, T, 0.9),)),
    Case(
        "an index without a head",
        ",nm,b1\n" + "".join(f"{i},{nm},{share(0.9, nm):.4f}\n" for i, nm in enumerate(TEN)),
        (("b1", None, 0.9),),
    ),
    Case("nm behind each number", down("Wavelength;T", 0.9, sep=";", at="{} nm"), ((STEM, T, 0.9),)),
    Case("falling", down("nm,%T", 0.9, nm=TEN[::-1], turn=percent), ((STEM, T, 0.9),)),
    Case("from 190 to 1100 nm", down("nm;Abs", 0.9, sep=";", nm=FAR, turn=absorbance), ((STEM, A, 0.9),)),
    Case(
        "four decimals in a header",
        across("Sample", {"b1": 0.9, "b2": 0.4}, nm=[one + 0.1234 for one in TEN], wave="{:.4f}"),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "a row a sample from 190 nm",
        across("name", {"b1": 0.9, "b2": 0.4}, nm=FAR),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case("R before the wavelength", across("ID", {"b1": 0.9, "b2": 0.4}, wave="R{}"), (("b1", R, 0.9), ("b2", R, 0.4))),
    Case(
        "SPEC_ before it, percent",
        across("SAMPLE_NAME", {"b1": 0.9, "b2": 0.4}, sep="\t", wave="SPEC_{}", turn=percent),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "nm behind it and a unit",
        across("Data Name", {"b1": 0.9, "b2": 0.4}, wave="{}nm[%]", turn=percent),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case("falling in a header", across("name", {"b1": 0.9}, nm=TEN[::-1]), (("b1", None, 0.9),)),
    Case(
        "a name column beside an ID",
        across("ID,Name", {"1,b1": 0.9, "2,b2": 0.4}),
        (("b1", None, 0.9), ("b2", None, 0.4)),
        more={"other_name": "1"},
    ),
    Case(
        "names that are all the same beside numbers",
        across("No,Name", {"1,chip": 0.9, "2,chip": 0.4}),
        (("1", None, 0.9), ("2", None, 0.4)),
    ),
    Case(
        "no name column, but words",
        across("Operator,", {"ada,b1": 0.9, "ada,b2": 0.4}),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "statistics below",
        across("name", {"b1": 0.9, "b2": 0.4, "Std.Dev.": 0.01}),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    # Units in a row of their own
    Case(
        "a row of units",
        down("Wavelength;b1;b2\n[nm];[%];[%]", 0.9, 0.4, sep=";", turn=percent),
        (("b1", None, 0.9), ("b2", None, 0.4)),
    ),
    Case(
        "counts beside the reading",
        "Wave   ;Dark     ;Ref      ;Sample   ;Transmittance\n[nm]   ;[counts] ;[counts] ;[counts] ;[% transmittance]\n"
        + "".join(
            f"{nm},00;3,4;6429,1;{6429 * share(0.6, nm):.1f};{100 * share(0.6, nm):.3f}".replace(".", ",") + "\n"
            for nm in TEN
        ),
        ((STEM, T, 0.6),),
    ),
    Case(
        "counts beside it in another order, blanks inside",
        "\nIntegration time [ms]:  84.9\nData measured with spectrometer [name]: 1234\n"
        "Wave   ;Sample   ;Dark     ;Reference;Reflectance\n[nm]   ;[counts] ;[counts] ;[counts] ;[%]\n\n"
        + "".join(f" {nm}.18;  {nm * 2}.000;  -14.5;    2.4;{100 * share(0.6, nm):8.4f}\n" for nm in TEN),
        ((STEM, R, 0.6),),
    ),
    # Comments
    Case("a header behind #", down("# measured by hand\n# nm;T", 0.9, sep=";"), ((STEM, T, 0.9),)),
    Case(
        "a header behind # and a blank", down("#Wavelength(nm)\tAbs", 0.9, sep="\t", turn=absorbance), ((STEM, A, 0.9),)
    ),
    Case("comments only, then bare pairs", down("# sample: b1\n# made up", 0.9, sep=" "), ((STEM, None, 0.9),)),
    # Parted by blanks
    Case("parted by blanks", down("nm   T", 0.9, sep="   "), ((STEM, T, 0.9),)),
    Case(
        "parted by blanks, blanks in the head",
        down("Wavelength (nm) Transmittance (%)", 0.9, sep=" ", turn=percent),
        ((STEM, T, 0.9),),
    ),
    Case(
        "numbers of one width",
        "  nm      A\n" + "".join(f"{nm:7.1f}{absorbance(share(0.9, nm)):10.5f}\n" for nm in TEN),
        ((STEM, A, 0.9),),
    ),
    Case(
        "a row a sample by blanks, names with blanks",
        across("Name", {"azure 1": 0.9, "rose 2": 0.4}, sep=" "),
        (("azure 1", None, 0.9), ("rose 2", None, 0.4)),
    ),
    Case("bare pairs", down("", 0.9, sep=" "), ((STEM, None, 0.9),)),
    Case("bare pairs with commas", down("", 0.9), ((STEM, None, 0.9),)),
    Case("bare pairs below title lines", down("my reading\nof a chip", 0.9, sep="\t"), ((STEM, None, 0.9),)),
    Case("bare, three columns", down("", 0.9, 0.4, sep="\t"), (("column 2", None, 0.9), ("column 3", None, 0.4))),
    Case(
        "decimal commas parted by commas and blanks", down("", 0.9, sep=", ", dec=",", at="{}.00"), ((STEM, None, 0.9),)
    ),
    Case("trailing commas", down("nm,T%,", 0.9, turn=percent, end=","), ((STEM, T, 0.9),)),
    Case(
        "quoted numbers with decimal commas",
        "nm,T\n" + "".join(f'"{nm},0","{share(0.9, nm):.4f}"\n'.replace("0.", "0,") for nm in TEN),
        ((STEM, T, 0.9),),
    ),
    Case("vertical bars", down("nm|T", 0.9, sep="|"), ((STEM, T, 0.9),)),
    # What stands above and below
    Case(
        "words above do not decide over a head",
        down("Baseline 100%T\nnm;Abs", 0.6, sep=";", turn=absorbance),
        ((STEM, A, 0.6),),
    ),
    Case(
        "a sample of that name does not decide",
        pairs("Baseline 100%T,,azure,\nWavelength (nm),Abs,Wavelength (nm),Abs", 0.9, 0.5, turn=absorbance),
        (("Baseline 100%T", A, 0.9), ("azure", A, 0.5)),
    ),
    Case(
        "a keyword above says the quantity",
        down("Measurement mode: %T\nSample: b1\nnm\tValue", 0.9, sep="\t", turn=percent),
        ((STEM, T, 0.9),),
    ),
    Case(
        "a German keyword",
        down("Messmodus;Extinktion\nProbe;b1\nnm;Messwert", 0.9, sep=";", dec=",", turn=absorbance),
        ((STEM, A, 0.9),),
        more={"other_name": "b1"},
    ),
    Case(
        "a keyword below says it",
        down("nm;b1", 0.9, sep=";", turn=absorbance, tail="\nPhotometric Mode;Abs\nScan speed;fast\n"),
        (("b1", A, 0.9),),
    ),
    Case(
        "spelled out above",
        down("Transmittance of chips\nnm;b1;b2", 0.9, 0.4, sep=";"),
        (("b1", T, 0.9), ("b2", T, 0.4)),
    ),
    Case(
        "a log below pairs",
        pairs("b1,,b2,\nWavelength (nm),%T,Wavelength (nm),%T", 0.9, 0.5, turn=percent)
        + "\nb1\nCollection Time,11/2/2026\nScan Rate (nm/min),600\nLamp,on\n",
        (("b1", T, 0.9), ("b2", T, 0.5)),
    ),
    Case(
        "pairs with nothing behind",
        pairs("b1,,b2,,\nWavelength (nm),Abs,Wavelength (nm),Abs,", 0.9, 0.5, turn=absorbance),
        (("b1", A, 0.9), ("b2", A, 0.5)),
    ),
    Case(
        "a spread beside the reading",
        "nm,T,Std.Dev.\n" + "".join(f"{nm},{share(0.9, nm):.4f},0.002\n" for nm in TEN),
        ((STEM, T, 0.9),),
    ),
    Case(
        "transmittance and absorbance of one chip",
        down("nm;%T;Abs", 0.8, 0.8, sep=";", turn=(percent, absorbance)),
        ((STEM, T, 0.8), (STEM, A, 0.8)),
    ),
    Case(
        "columns called A, B, C are samples",
        down("nm,A,B,C", 0.9, 0.5, 0.2),
        (("A", None, 0.9), ("B", None, 0.5), ("C", None, 0.2)),
    ),
    Case(
        "two absorbances without names",
        down("nm,Abs,Abs", 0.9, 0.5, turn=absorbance),
        (("column 2", A, 0.9), ("column 3", A, 0.5)),
    ),
    Case(
        "names and quantity in one head",
        down("nm,b1 %T,b2 %T", 0.9, 0.5, turn=percent),
        (("b1", T, 0.9), ("b2", T, 0.5)),
    ),
    Case("a gap in a column", down("nm,T", 0.9).replace(f"420,{share(0.9, 420):.5f}", "420,"), ((STEM, T, 0.9),)),
    Case(
        "OVER where it saturates, in the ultraviolet",
        "nm;Abs\n" + "".join(f"{nm};{'OVER' if nm < 300 else f'{absorbance(share(0.9, nm)):.4f}'}\n" for nm in FAR),
        ((STEM, A, 0.9),),
    ),
    Case(
        "scientific notation",
        "nm,T\n" + "".join(f"{nm:.2e},{share(0.9, nm):.5E}\n".replace("e+02", "E+02") for nm in TEN),
        ((STEM, T, 0.9),),
    ),
    Case(
        "a range that begins late",
        "Name,360,370," + across("", {"b1,,": 0.9}, wave="{}")[1:].replace("\nb1,,,", "\nb1,,,"),
        (("b1", None, 0.9),),
    ),
    Case("Chinese", down("波长 nm,透过率 %", 0.9, turn=percent), ((STEM, T, 0.9),)),
    Case(
        "samples called by numbers as large as wavelengths",
        down("nm;chip 401;chip 402;chip 403;chip 404;chip 405", 0.9, 0.8, 0.7, 0.6, 0.5, sep=";"),
        tuple((f"chip {401 + i}", None, 0.9 - i / 10) for i in range(5)),
    ),
)
