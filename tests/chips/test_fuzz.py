"""Random and mutated bytes for the reader: a chip set or one of our errors in one line comes out, and nothing else.

`python -m tests.chips.test_fuzz 100000` runs as many inputs of each kind as one asks for (measures.md: 10⁵).
"""

from __future__ import annotations

import contextlib
import random
import sys
import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from tests.chips.folders import COLOUR_CSV, COLOUR_TOML, put, spectrum_csv, toml
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.errors import TintmixError
from tintmix.files.curves import read_curve
from tintmix.resin import read_resin

FULL_TOML = """\
format = 1
title = "all keys"
[resin]
name = "r"
refractive_index = 1.5
density_g_per_cm3 = 1.06
takes_pigment = "B"
[[resin.part]]
name = "A"
parts_by_weight = 100
hazard = "isocyanate"
[[resin.part]]
name = "B"
parts_by_weight = 90
[reading]
kind = "spectrum"
relative_to = "air"
geometry = "total"
unit = "percent"
light = "D65"
observer = 10
reading_spread = 0.003
dose_spread = 2e-2
[pigments.azure]
lot = "A-17"
stock = '1+50'
carrier = "solvent-free"
kind = "transparent"
max_phr = 0.8
"""
RESIN_TOML = """\
format = 1
name = "clear casting resin, invented"
density_g_per_cm3 = 1.06
takes_pigment = "B"
[[part]]
name = "A"
parts_by_weight = 100
hazard = "isocyanate"
[[part]]
name = "B"
parts_by_weight = 90
"""
CURVE_CSV = "# a panel\nnm;power;more\n380;0,1;1\n400;0.2;2\n550;1;3\n700;3e-1;4\n"
WEIGHED_CSV = """\
chip;cup;thickness_mm;azure_g;resin_g;scale_g;haze_percent;L;a;b;use;note
clear;c;3,0;;;;1,5;95;0;0;yes;"a ""note"" of one"
b1;b;3,1;0,4;20;0,01;;80;-5;-9;no;
"""
TOMLS = (COLOUR_TOML, FULL_TOML, toml("spectrum"), toml("camera", "light = 'A'"), toml("colour"))
CSVS = (
    COLOUR_CSV,
    spectrum_csv("57"),
    spectrum_csv("0.5", ";"),
    WEIGHED_CSV,
    "chip,thickness_mm,azure_phr,R,G,B\na,3,1,.5,.4,.3\n",
)
SCRAPS = (
    b"", b",", b";", b"\t", b'"', b"'", b"\n", b"\r", b"\0", b"\xff", b"\xef\xbb\xbf", b"[", b"]", b"[[", b"{", b"}",
    b"=", b".", b"nan", b"inf", b"-1", b"1e999", b"9" * 60, b"0.5,", b"true", b"1979-05-27", b"0x1F", b'"""', b"#",
    b"\\u", b"=\n", "−".encode(), "\u2028".encode(), "é".encode(), b"chip", b"mix_phr", b"azure_g", b"400",
    b"format = 2\n", b"..\n", b"lamp.csv",
)  # fmt: skip


def check(set_toml: bytes, csv: bytes, folder: Path) -> None:
    """Reads the folder; what comes out is a set or a sentence."""
    try:
        chips = read_chips(put(folder, set_toml, csv))
    except TintmixError as error:
        said = str(error)
    else:
        assert isinstance(chips, ChipSet)
        assert len(chips.digest()) == 64
        return
    assert "\n" not in said, said
    assert "\r" not in said, said
    assert 10 < len(said) < 20_000, said


def mutated(text: str, rng: random.Random) -> bytes:
    """The text with a few bytes lost, changed, doubled, or scraps put in."""
    data = bytearray(text.encode("utf-8"))
    for _ in range(rng.choice((1, 1, 2, 4, 9))):
        at = rng.randrange(len(data) + 1)
        to = min(len(data), at + rng.choice((0, 1, 1, 3, 20)))
        what = rng.randrange(5)
        if what == 0:
            data[at:to] = b""
        elif what == 1:
            data[at:to] = rng.choice(SCRAPS)
        elif what == 2:
            data[at:at] = data[at:to]
        elif what == 3:
            data[at:to] = bytes(rng.randrange(256) for _ in range(to - at))
        else:
            data = data[:at]
    return bytes(data)


@given(st.binary(max_size=200), st.sampled_from(CSVS))
def test_random_set_toml(set_toml: bytes, csv: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(set_toml, csv.encode(), Path(folder))


@given(
    st.sampled_from(TOMLS),
    st.binary(max_size=200) | st.text(alphabet='chip,thickness_mm;azure_phr\t\n"0123456789LabRGB').map(str.encode),
)
def test_random_chips_csv(set_toml: str, csv: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(set_toml.encode(), csv, Path(folder))


@given(st.sampled_from(TOMLS), st.sampled_from(CSVS), st.integers(0, 2**32), st.sampled_from(["toml", "csv", "both"]))
def test_mutated_folders(set_toml: str, csv: str, seed: int, what: str) -> None:
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        check(
            set_toml.encode() if what == "csv" else mutated(set_toml, rng),
            csv.encode() if what == "toml" else mutated(csv, rng),
            Path(folder),
        )


_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["name", "part", "kind", "x"]), inner, max_size=3)
    ),
    max_leaves=6,
)
_KEYS = [
    "format",
    "title",
    "resin",
    "reading",
    "pigments",
    "kind",
    "light",
    "observer",
    "unit",
    "azure",
    "camera",
    "max_phr",
    "x",
]


@given(
    st.dictionaries(st.sampled_from(_KEYS), _values, max_size=6), st.sampled_from(["", "reading", "resin", "pigments"])
)
def test_any_value_for_any_key(table: dict[str, object], where: str) -> None:
    from tintmix.chips.set_file import parse_setting

    whole: dict[str, object] = {"format": 1, "reading": {"kind": "colour"}, "pigments": {"azure": {}}}
    if where:
        whole[where] = table
    else:
        whole |= table
    said = ""
    try:
        parse_setting(whole, Path("/nowhere/set.toml"))
    except TintmixError as error:
        said = str(error)
    assert "\n" not in said


def main(count: int) -> None:
    """Mutated folders by the thousand."""
    import resource

    rng = random.Random(0)
    with tempfile.TemporaryDirectory() as name:
        for i in range(count):
            set_toml, csv = rng.choice(TOMLS), rng.choice(CSVS)
            bad_toml, bad_csv = mutated(set_toml, rng), mutated(csv, rng)
            check(bad_toml, csv.encode(), Path(name))
            check(set_toml.encode(), bad_csv, Path(name))
            for file, data, read in (
                ("resin.toml", mutated(RESIN_TOML, rng), read_resin),
                ("lamp.csv", mutated(CURVE_CSV, rng), read_curve),
            ):
                path = Path(name) / file
                path.write_bytes(data)
                with contextlib.suppress(TintmixError):
                    read(path)
            if i % 10_000 == 9_999:
                print(i + 1, "of each", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, "MB", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
