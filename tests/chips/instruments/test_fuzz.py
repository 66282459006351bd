"""Random and mutated bytes for every reader of instrument files: samples or one of our errors come out, and nothing
else.

`python -m tests.chips.instruments.test_fuzz 100000` runs as many inputs of each kind as one asks for (issue 3: 10⁵),
and says the slowest input and the most memory.
"""

from __future__ import annotations

import random

import pytest

from tests.chips.fuzzing import main, said_well, slowest_of
from tests.chips.instruments import instrument_texts as texts
from tests.chips.instruments.corpus import CASES
from tintmix.chips.instruments.dispatch import form_of, parse_samples
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.instruments.tabular.typed_colours import parse_colours
from tintmix.errors import TintmixError

KINDS: dict[str, tuple[str | bytes, ...]] = {
    "CSV": (
        *(case.content for case in CASES if form_of(case.data) == "delimited"),
        texts.csv_rows({"b1": 0.9, "b2": 0.4}), texts.csv_columns({"b1": 0.9, "b 2": 0.4}, percent=True),
        '"b1",,"b2",\nWavelength (nm),%T,Wavelength (nm),%T\n700,90,700,50\n600,91,600,49\n400,80,400,30\n\nLamp,on\n',
        "Data Name,L*(10°/D65),a*(10°/D65),b*(10°/D65)\nb1,50,1,2\n", "name;X;Y;Z\nb1;1,5;2;3\n", "400 0.5\n500 0.6\n",
    ),
    "CGATS": (
        *(case.content for case in CASES if form_of(case.data) == "CGATS"),
        texts.cgats_colours({"b1": (50, 1, 2), "b 2": (60, 3, 4)}), texts.cgats_spectra({"b1": 0.9}),
        texts.cgats_spectra({"b1": 0.9}, pairs=True),
    ),
    "CxF3": (texts.cxf("b1", 0.9), texts.cxf("b1", 0.5, "Reflectance", geometry="Specular_Excluded")),
    "JCAMP-DX": (
        texts.jcamp("b1", 0.9), texts.jcamp("b1", 0.9, "ABSORBANCE", "1/CM"), texts.SQUEEZED, texts.LINKED,
    ),
    "colours": ("chip L a b\nb1 50 1 2\nb 2: XYZ 50,5; 60; 70\nc = #ffeeaa\n# a note\n\"d\"\t50\t1\t2\n",),
}  # fmt: skip
SCRAPS = (
    b"", b",", b";", b"\t", b'"', b"\n", b"\r", b"\0", b"\xff", b"\xef\xbb\xbf", b"nan", b"inf", b"-1", b"1e999",
    b"9" * 60,
    b"##", b"##END=\n", b"##TITLE=x\n", b"##NPOINTS=99999999999\n", b"##XYDATA=(X++(Y..Y))\n", b"%T", b"Z99999999",
    b"S",
    b"J", b"@", b"BEGIN_DATA\n", b"END_DATA\n", b"BEGIN_DATA_FORMAT\n", b"NUMBER_OF_SETS 9\n", b"<", b">", b"&x;",
    b"&#0;",
    b"<!DOCTYPE a [<!ENTITY x 'y'>]>", b"<cc:Object>", b"</cc:Object>", b"xmlns='x'", b"400", b"nm", b"L", b"a", b"b",
    b"1e308 ", "−".encode(), "°".encode(), b"#", b"=", b"$$", b"1979-05-27", b"StartWL='-5'", b"Increment='0'",
    b"Wavelength", b"%T", b"Abs", b"[nm]", b"OVER", b"380,0", b"L*(D65)", b"SCI", b"Mode: %T\n", b"x", b"y",
)  # fmt: skip


def mutated(text: str | bytes, rng: random.Random) -> bytes:
    data = bytearray(text if isinstance(text, bytes) else text.encode("utf-8"))
    for _ in range(rng.choice((1, 1, 2, 4, 9))):
        at = rng.randrange(len(data) + 1)
        to = min(len(data), at + rng.choice((0, 1, 1, 3, 20)))
        what = rng.randrange(5)
        if what == 0:
            data[at:to] = b""
        elif what == 1:
            data[at:to] = rng.choice(SCRAPS)
        elif what == 2:
            data[at:at] = data[at:to] * rng.choice((1, 1, 50))
        elif what == 3:
            data[at:to] = bytes(rng.randrange(256) for _ in range(to - at))
        else:
            del data[at:]
    return bytes(data)


def check(kind: str, data: bytes) -> None:
    try:
        found = (
            parse_colours(data.decode("utf-8", "replace")) if kind == "colours" else parse_samples(data, "file", "stem")
        )
    except TintmixError as error:
        said_well(error)
        return
    assert isinstance(found, SampleFile)
    assert found.samples
    for sample in found.samples:
        assert sample.name
        assert all(abs(v) < 1e10 for v in sample.values)
        assert len(sample.values) == (3 if sample.kind == "colour" else len(sample.wavelengths_nm or ()))


@pytest.mark.parametrize("kind", list(KINDS))
def test_only_our_errors_come_out(kind: str) -> None:
    assert slowest_of(check, mutated, KINDS, kind, 400, seed=3) < 5.0


if __name__ == "__main__":
    main(check, mutated, KINDS)
