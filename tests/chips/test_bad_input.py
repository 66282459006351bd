"""Everything that can be wrong with a chip-set folder: one clear sentence each, and never a traceback."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.chips.folders import COLOUR_CSV, COLOUR_TOML, NM, put, spectrum_csv, toml
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading
from tintmix.chips.folder import read_chips
from tintmix.errors import FileProblem, NotThere, Remedy, TintmixError, ValueProblem
from tintmix.files import errors as file_errors
from tintmix.files.errors import BadTable, FormatMissing

HEAD = "chip,thickness_mm,azure_phr,L,a,b\n"
SPECTRUM = "chip,thickness_mm,azure_phr,"
ISOCYANATE = "[[resin.part]]\nname = 'A'\nparts_by_weight = 1\nhazard = 'isocyanate'\n"


def refusal(folder: Path, set_toml: str | bytes, csv: str | bytes, **others: str) -> TintmixError:
    with pytest.raises(TintmixError) as error:
        read_chips(put(folder, set_toml, csv, **others))
    said = str(error.value)
    assert "\n" not in said
    assert said.endswith((".", "?"))
    assert len(said) < 3000
    return error.value


CELLS = [
    ("b1,,.1,80,0,0", "thickness_mm", "is empty; measure the chip"),
    ("b1,-3,.1,80,0,0", "thickness_mm", "from 0.01 to 500 mm"),
    ("b1,0,.1,80,0,0", "thickness_mm", "from 0.01 to 500 mm"),
    ("b1,501,.1,80,0,0", "thickness_mm", "from 0.01 to 500 mm"),
    ("b1,NaN,.1,80,0,0", "thickness_mm", "not a finite number"),
    ("b1,inf,.1,80,0,0", "thickness_mm", "not a finite number"),
    ("b1,3 mm,.1,80,0,0", "thickness_mm", "not a finite number"),
    ("b1,3,-.1,80,0,0", "azure_phr", "from 0 to 100"),
    ("b1,3,101,80,0,0", "azure_phr", "from 0 to 100"),
    ("b1,3,nan,80,0,0", "azure_phr", "not a finite number"),
    ("b1,3,a lot,80,0,0", "azure_phr", '"a lot" is not a finite number'),
    ("b1,3,.1,80,,0", "a", "is empty, though the rest of the reading is there"),
    ("b1,3,.1,80,x,0", "a", "not a finite number"),
    ("b1,3,.1,99.5,0,0", "L", "lighter than a clear plate can be (98.8 at most)"),
    ("b1,3,.1,-4,0,0", "L", "from 0 to 100"),
    ("b1,3,.1,50,300,0", "a", "from -200 to 200"),
    (",3,.1,80,0,0", "chip", "each chip needs a name"),
    ("clear,3,.1,80,0,0", "chip", "is also the chip of row 2"),
    ("x" * 81 + ",3,.1,80,0,0", "chip", "at most 80 characters"),
    ("b1,3,.1,80,0,0,7", "column 7", "beyond the last column"),
]


@pytest.mark.parametrize(("row", "column", "said"), CELLS)
def test_bad_cells(tmp_path: Path, row: str, column: str, said: str) -> None:
    error = refusal(tmp_path, toml("colour"), HEAD + "clear,3,,95,0,0\n" + row + "\n")
    assert isinstance(error, file_errors.BadCells)
    assert [(cell.row, cell.column) for cell in error.cells] == [(3, column)]
    assert said in str(error)
    assert f"row 3, {column}" in str(error)
    assert "chips.csv" in str(error)


MORE_CELLS = [
    ("cup", "b" * 81, "at most 80"),
    ("use", "perhaps", '"perhaps" is neither "yes" nor "no"'),
    ("haze_percent", "-1", "from 0 to 100"),
    ("haze_percent", "101", "from 0 to 100"),
    ("haze_percent", "clear", "not a finite number"),
    ("note", "a\x07b", "control characters"),
]


@pytest.mark.parametrize(("column", "cell", "said"), MORE_CELLS)
def test_bad_cells_of_optional_columns(tmp_path: Path, column: str, cell: str, said: str) -> None:
    error = refusal(tmp_path, toml("colour"), HEAD.strip() + f",{column}\nb1,3,.1,80,0,0,{cell}\n")
    assert isinstance(error, file_errors.BadCells)
    assert (error.cells[0].row, error.cells[0].column) == (2, column)
    assert said in str(error)


def test_all_bad_cells_come_together(tmp_path: Path) -> None:
    csv = HEAD + "b1,-3,nan,80,0,0\nb2,3,.1,,0,0\nb3,3,.1,99.9,0,0\nb4,3,.1,80,0,0\n"
    error = refusal(tmp_path, toml("colour"), csv)
    assert isinstance(error, file_errors.BadCells)
    assert [(c.row, c.column) for c in error.cells] == [(2, "thickness_mm"), (2, "azure_phr"), (3, "L"), (4, "L")]
    assert "4 cells cannot be used" in str(error)


def test_a_thousand_bad_cells_are_still_one_sentence(tmp_path: Path) -> None:
    error = refusal(tmp_path, toml("colour"), HEAD + "".join(f"b{i},x,y,80,0,0\n" for i in range(500)))
    assert "1000 cells cannot be used" in str(error)
    assert re.search(r"and 99\d more", str(error))
    assert len(str(error)) <= 300


def test_chips_of_one_cup_with_unlike_doses_are_said_so(tmp_path: Path) -> None:
    csv = "chip,cup,thickness_mm,azure_phr,L,a,b\nb1,b,3,.1,80,0,0\nb2,b,6,.2,70,0,0\n"
    folder = put(tmp_path, toml("colour"), csv)
    said = read_chips(folder).warnings
    assert any("the chips of cup b do not have the same doses (b1, b2)" in text for text in said)


WEIGHTS = [
    ("b1,3,.4,,.01,80,0,0", "resin_g", "is empty; give the grams of mixed resin"),
    ("b1,3,.4,0,.01,80,0,0", "resin_g", "is 0; give the grams"),
    ("b1,3,.4,-20,.01,80,0,0", "resin_g", "from 0 to"),
    ("b1,3,-.4,20,.01,80,0,0", "azure_g", "from 0 to"),
    ("b1,3,.4,20,0,80,0,0", "scale_g", "the scale's smallest step"),
    ("b1,3,40,20,,80,0,0", "azure_g", "200 phr; at most 100"),
]


@pytest.mark.parametrize(("row", "column", "said"), WEIGHTS)
def test_bad_weights(tmp_path: Path, row: str, column: str, said: str) -> None:
    error = refusal(tmp_path, toml("colour"), "chip,thickness_mm,azure_g,resin_g,scale_g,L,a,b\n" + row + "\n")
    assert isinstance(error, file_errors.BadCells)
    assert error.cells[0].column == column
    assert said in str(error)


COLUMNS = [
    ("colour", "thickness_mm,azure_phr,L,a,b", 'no column "chip"'),
    ("colour", "chip,azure_phr,L,a,b", 'no column "thickness_mm"'),
    ("colour", "chip,thickness_mm,L,a,b", "no pigment is dosed"),
    ("colour", "chip,thickness,azure_phr,L,a,b", "did you mean thickness_mm?"),
    ("colour", "chip,thickness_mm,azure_phr,L,a", "needs the columns L, a, b or X, Y, Z"),
    ("colour", "chip,thickness_mm,azure_phr,L,a,b,X,Y,Z", "both L, a, b and X, Y, Z"),
    ("colour", "chip,thickness_mm,azure_phr,L,a,b,R", "beside the reading stand R"),
    ("colour", "chip,thickness_mm,azure_phr,R,G,B", 'is kind = "camera" meant?'),
    ("colour", "chip,thickness_mm,azure_phr,400,500,600,700", 'is kind = "spectrum" meant?'),
    ("camera", "chip,thickness_mm,azure_phr,L,a,b", 'is kind = "colour" meant?'),
    ("spectrum", "chip,thickness_mm,azure_phr,L,a,b", 'is kind = "colour" meant?'),
    ("spectrum", "chip,thickness_mm,azure_phr,L,a,b", "no column is headed by a wavelength"),
    ("colour", "chip,chip,thickness_mm,azure_phr,L,a,b", "stands there twice"),
    ("colour", "chip,thickness_mm,azure_phr,azure_g,resin_g,L,a,b", "both in phr and in grams"),
    ("colour", "chip,thickness_mm,azure_g,L,a,b", 'no column "resin_g"'),
    ("colour", "chip,thickness_mm,azure_phr,resin_g,L,a,b", "needs pigment in grams"),
    ("colour", "chip,thickness_mm,mix_phr,azure_phr,L,a,b", '"mix" stands for the whole mix'),
    ("colour", "chip,thickness_mm,mix_g,resin_g,L,a,b", "a one-cup set doses its mix"),
    ("colour", "chip,thickness_mm,_phr,L,a,b", "must not be empty"),
    ("colour", "chip,thickness_mm,a=b_phr,L,a,b", "equals sign"),
    ("spectrum", SPECTRUM + "400,500,500,600,700", '"500" stands there twice'),
    ("spectrum", SPECTRUM + "400,500.0,500,600,700", "500 nm stands there twice"),
    ("spectrum", SPECTRUM + "400,550,500,600,700", "out of order (500 nm follows 550 nm)"),
    ("spectrum", SPECTRUM + ",".join(str(nm) for nm in NM[1:]), "covers 420 to 700 nm; it must cover 400 to 700 nm"),
    ("spectrum", SPECTRUM + ",".join(str(nm) for nm in NM[:-1]), "covers 400 to 680 nm"),
    ("spectrum", SPECTRUM + "200," + ",".join(str(nm) for nm in NM), "200 nm lies outside 300 to 1100 nm"),
    ("spectrum", SPECTRUM + ",".join(str(nm) for nm in NM) + ",1200", "1200 nm lies outside"),
    ("spectrum", SPECTRUM + "400,450,600,650,700", "leave out 450 to 600 nm"),
    ("spectrum", SPECTRUM + ",".join(str(nm) for nm in NM) + ",R,G,B", "a second kind of reading needs a set"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "header", "said"), COLUMNS)
def test_bad_headers(tmp_path: Path, kind: str, header: str, said: str) -> None:
    error = refusal(tmp_path, toml(kind), header + "\nb1" + ",3" * header.count(",") + "\n")
    assert isinstance(error, BadTable)
    assert said in str(error)


def test_a_column_without_a_name(tmp_path: Path) -> None:
    assert "column 7 has no name" in str(refusal(tmp_path, toml("colour"), HEAD.strip() + ",\nb1,3,.1,80,0,0,5\n"))
    read_chips(put(tmp_path, toml("colour"), HEAD.strip() + ",,\nb1,3,.1,80,0,0,,\n"))


def test_a_set_without_any_pigment_table_takes_its_columns(tmp_path: Path) -> None:
    found = read_chips(put(tmp_path, toml("colour", pigments=()), HEAD + "b,3,1,80,0,0\n"))
    assert [pigment.name for pigment in found.pigments] == ["azure"]


@pytest.mark.parametrize("said", ["light = 'unknown'", "camera = 'unknown'"])
def test_a_camera_or_a_panel_may_be_unknown(tmp_path: Path, said: str) -> None:
    found = read_chips(put(tmp_path, toml("camera", said), "chip,thickness_mm,azure_phr,R,G,B\nb,3,.1,.5,.5,.5\n"))
    assert "unknown" in (found.reading.light, found.reading.camera)
    assert found.camera_curve is None


def test_pigments_of_table_and_set_must_agree(tmp_path: Path) -> None:
    error = refusal(
        tmp_path,
        toml("colour", pigments=("azure", "deep red")),
        "chip,thickness_mm,azure_phr,emerald_phr,L,a,b\nb,3,.1,.1,80,0,0\n",
    )
    assert isinstance(error, FileProblem)
    assert "chips.csv doses emerald, but set.toml has no table for it: add [pigments.emerald]" in str(error)
    assert 'set.toml has [pigments."deep red"], but chips.csv has no column for it' in str(error)
    mix = "chip,thickness_mm,mix_phr,L,a,b\nb,3,1,80,0,0\n"
    assert isinstance(refusal(tmp_path, toml("colour", pigments=("azure",)), mix), FileProblem)


def test_transmittance_above_the_clear_plate(tmp_path: Path) -> None:
    """n = 1.5: a clear plate gives 0.923077, five percent more is 0.969231."""
    error = refusal(tmp_path, toml("spectrum"), spectrum_csv("0.97"))
    assert "row 2, 400: 0.97 is more than a clear plate can give (0.9692 at most)" in str(error)
    assert "in 16 cells of this row" in str(error)
    error = refusal(tmp_path, toml("spectrum", 'unit = "percent"'), spectrum_csv("97"))
    assert "97 is more than a clear plate can give (96.92 at most)" in str(error)
    error = refusal(tmp_path, toml("spectrum", 'relative_to = "faces removed"'), spectrum_csv("1.06"))
    assert "1.06 is more than clear resin can give (1.05 at most)" in str(error)
    assert "below zero" in str(refusal(tmp_path, toml("spectrum"), spectrum_csv("-0.1")))
    read_chips(put(tmp_path, toml("spectrum"), spectrum_csv("-0.002")))  # noise about nothing


def test_camera_and_xyz_limits(tmp_path: Path) -> None:
    csv = "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,1.2,.5\n"
    raw = toml("camera", 'camera = "unknown"', pigments=())
    assert "row 2, G: 1.2 is more than" in str(refusal(tmp_path, raw, csv))
    # A JPEG's matrix makes deep chips redder, greener or bluer than their panel: linear sRGB may pass 1.
    rendered = toml("camera", pigments=())
    assert "row 2, G: 1.8 is more than" in str(refusal(tmp_path, rendered, csv.replace("1.2", "1.8")))
    red = put(tmp_path / "red", rendered, "chip,thickness_mm,mix_phr,R,G,B\na,3,1,1.3,.2,.1\nb,3,1,1.05,1.05,1.05\n")
    (said,) = [warning for warning in read_chips(red).warnings if "than a clear plate" in warning]
    assert said.startswith("b reads up to 1.05")
    csv = "chip,thickness_mm,mix_phr,X,Y,Z\na,3,1,50,98,50\nb,3,1,250,50,50\nc,3,1,5,-5,5\n"
    error = refusal(tmp_path, toml("colour", pigments=()), csv)
    assert isinstance(error, file_errors.BadCells)
    assert [(c.row, c.column) for c in error.cells] == [(2, "Y"), (3, "X"), (4, "Y")]


def test_percent_read_as_fraction(tmp_path: Path) -> None:
    error = refusal(tmp_path, toml("spectrum"), spectrum_csv("57"))
    assert isinstance(error, FileProblem)
    assert error.remedy is Remedy.SAY_PERCENT_IN_SET


@pytest.mark.parametrize(
    ("set_toml", "table"),
    [
        (toml("spectrum", 'unit = "percent"'), spectrum_csv("0.9")),
        (toml("colour"), "chip,thickness_mm,azure_phr,X,Y,Z\nclear,3,,.87,.92,.98\nb1,3,1,.5,.6,.7\n"),
    ],
    ids=["spectra", "X, Y, Z"],
)
def test_fractions_that_are_called_percent(tmp_path: Path, set_toml: str, table: str) -> None:
    # No untinted resin lets through 1 % of the light.
    assert "look like fractions" in str(refusal(tmp_path, set_toml, table))


TABLES = [
    ("format = 1\n", BadTable, "there is no [reading]"),
    ("format = 1\n[reading]\n", BadTable, "[reading] has no kind"),
    ("format = 1\nreading = 3\n", BadTable, "reading = 3; it must be a table"),
    ("[reading]\nkind = 'colour'\n", FormatMissing, "does not say its format"),
    ("format = 2\n[reading]\nkind = 'colour'\n", FileProblem, "reads up to format 1"),
    ("format = 1.0\n[reading]\nkind = 'colour'\n", FormatMissing, "no format number"),
    (toml("smell"), BadTable, 'kind = "smell"; it must be "spectrum", "colour" or "camera"'),
    (toml("colour", "lihgt = 'A'"), BadTable, "did you mean light?"),
    ("titel = 'x'\n" + toml("colour"), BadTable, "did you mean title?"),
    (toml("colour") + "lott = 'x'\n", BadTable, "[pigments.azure] has no key lott; did you mean lot?"),
    (toml("colour", "observer = 5"), BadTable, "it must be 2 or 10"),
    (toml("colour", "reading_spread = -1"), BadTable, "must be above 0"),
    (toml("colour", "dose_spread = 2"), BadTable, "must be at most 1"),
    (toml("colour", "dose_spread = nan"), BadTable, "not a finite number"),
    (toml("colour", "dose_spread = 'much'"), BadTable, "not a finite number"),
    (toml("colour", "thickness_spread_mm = inf"), BadTable, "not a finite number"),
    (toml("colour", "zero_spread = " + "9" * 500), BadTable, "zero_spread"),
    (toml("colour", "light = 65"), BadTable, "must be text"),
    (toml("colour", "light = 'D66'"), BadTable, "LED-B5"),
    (toml("colour", "light = 'unknown'"), BadTable, "always computed for a light"),
    (toml("camera", "camera = 'my phone'"), BadTable, "'my phone'"),
    (toml("spectrum", "relative_to = 'white tile'"), BadTable, "white tile"),
    (toml("spectrum", "relative_to = 'vacuum'"), BadTable, "relative_to"),
    (toml("colour", "light = '../lamp.csv'"), BadTable, "does not lie beside set.toml"),
    (toml("colour", "light = '/etc/lamp.csv'"), BadTable, "does not lie beside set.toml"),
    (toml("colour", "light = 'lamp.csv'"), NotThere, "lamp.csv"),
    ("resin = 'resin.toml'\n" + toml("colour"), NotThere, "resin.toml"),
    ("resin = '../resin.toml'\n" + toml("colour"), BadTable, "does not lie beside set.toml"),
    ("resin = 3\n" + toml("colour"), BadTable, "resin is 3"),
    (toml("colour") + "[resin]\nrefractive_index = 9\n", BadTable, "at most 2"),
    (toml("colour") + "[resin]\nindex = 9\n", BadTable, "refractive_index"),
    (toml("colour") + "kind = 'pearl'\n", FileProblem, "pigment azure is refused: it is pearl"),
    (toml("colour") + "kind = 'Metallic'\n", FileProblem, "metallic"),
    (toml("colour") + "kind = 'white'\n", FileProblem, "white"),
    (toml("colour") + "kind = 'opaque'\n", FileProblem, "opaque"),
    (toml("colour") + "kind = 'shiny'\n", BadTable, 'it must be "transparent"'),
    (toml("colour") + "carrier = 'water'\n" + ISOCYANATE, FileProblem, "foams with water"),
    (toml("colour") + "carrier = 'Water-borne'\n" + ISOCYANATE, FileProblem, "foams with water"),
    (toml("colour") + "max_phr = 0\n", BadTable, "[pigments.azure] has max_phr = 0; it must be above 0"),
    (toml("colour") + "density_g_per_cm3 = 99\n", BadTable, "at most 25"),
    (toml("colour", pigments=("a,b",)), BadTable, "no comma"),
    ("format = 1\npigments = 3\n[reading]\nkind = 'colour'\n", BadTable, "pigments = 3"),
    ("format = 1\n[reading\n", FileProblem, "line 2"),
    (b"\xff\xfe\x00", FileProblem, "UTF-8"),
    (b"", FormatMissing, "does not say its format"),
]  # fmt: skip


@pytest.mark.parametrize(("set_toml", "cause", "said"), TABLES)
def test_bad_set_toml(tmp_path: Path, set_toml: str | bytes, cause: type[TintmixError], said: str) -> None:
    if isinstance(set_toml, str) and set_toml.startswith(("titel", "resin")):
        set_toml = "format = 1\n" + set_toml.replace("format = 1\n", "", 1)
    error = refusal(tmp_path, set_toml, HEAD + "b1,3,.1,80,0,0\n")
    assert isinstance(error, cause), error
    assert said in str(error)


CURVES = [
    ("nm,power\n400,1\n500,1\n600,1\n", "covers 400 to 600 nm; it must cover 400 to 700 nm"),
    ("nm,power\n400,1\n700,1\n", "fewer than three wavelengths"),
    ("nm,power\n400,1\n500,1\n700,-1\n", "cannot be below zero"),
    ("nm,power\n400,0\n500,0\n700,0\n", "zero everywhere"),
    ("nm,power,more\n400,1,1\n700,1,1\n", "2 columns"),
]


@pytest.mark.parametrize(("text", "said"), CURVES)
def test_bad_lights(tmp_path: Path, text: str, said: str) -> None:
    error = refusal(tmp_path, toml("colour", "light = 'lamp.csv'"), HEAD + "b1,3,.1,80,0,0\n", lamp_csv=text)
    assert isinstance(error, file_errors.FileProblem)
    assert said in str(error)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("nm,R,G\n400,1,1\n700,1,1\n", "this file has 3"),
        ("nm,R,G,B\n400,1,0,1\n500,1,0,1\n700,1,0,1\n", "sees nothing"),
        ("nm,R,G,B\n410,1,1,1\n500,1,1,1\n700,1,1,1\n", "must cover 400 to 700"),
    ],
)
def test_bad_cameras(tmp_path: Path, text: str, said: str) -> None:
    csv = "chip,thickness_mm,mix_phr,R,G,B\na,3,1,.5,.5,.5\n"
    error = refusal(tmp_path, toml("camera", "camera = 'c.csv'", pigments=()), csv, c_csv=text)
    assert isinstance(error, file_errors.FileProblem)
    assert said in str(error)


FILES = [
    (b"", file_errors.FileProblem),
    (b"   \n\n", file_errors.FileProblem),
    (HEAD.encode(), FileProblem),
    ((HEAD + ",,,,,\n").encode(), FileProblem),
    (HEAD.encode() + b'b1,3,.1,80,0,0\n"b2,3', file_errors.FileProblem),
    (HEAD.encode() + b"b1,3,.1,80,0\n", file_errors.BadCells),
    (HEAD.encode("utf-16"), FileProblem),
    (b"caf\xe9," + HEAD.encode(), FileProblem),
    (b"PK\x03\x04\x14\0\x06\0", FileProblem),
    (b"a" * 20_000_001, FileProblem),
    ((HEAD + "".join(f"b{i},3,.1,80,0,0\n" for i in range(20_001))).encode(), file_errors.FileProblem),
]


@pytest.mark.parametrize(("content", "cause"), FILES)
def test_files_that_are_no_table(tmp_path: Path, content: bytes, cause: type[TintmixError]) -> None:
    assert isinstance(refusal(tmp_path, toml("colour"), content), cause)


def test_the_limit_is_stated(tmp_path: Path) -> None:
    assert "16 MB" in str(refusal(tmp_path, toml("colour"), b"a" * 20_000_001))
    assert "16 MB" in str(refusal(tmp_path, b"#\n" * 8_000_001, ""))


def test_folders_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for path in (tmp_path / "none", tmp_path / "file", "a\0b", tmp_path / ("x" * 5000)):
        with pytest.raises(NotThere):
            read_chips(path)
    (tmp_path / "empty").mkdir()
    with pytest.raises(NotThere, match=r"set\.toml"):
        read_chips(tmp_path / "empty")
    (tmp_path / "empty" / "set.toml").write_text(toml("colour"))
    with pytest.raises(NotThere, match=r"chips\.csv"):
        read_chips(tmp_path / "empty")
    (tmp_path / "empty" / "chips.csv").mkdir()
    with pytest.raises(NotThere, match=r"chips\.csv"):
        read_chips(tmp_path / "empty")


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    put(tmp_path, toml("colour"), "")
    (tmp_path / "chips.csv").unlink()
    os.mkfifo(tmp_path / "chips.csv")
    with pytest.raises(NotThere):
        read_chips(tmp_path)


def test_hostile_toml_ends_in_time(tmp_path: Path) -> None:
    for text in (
        "[" * 1900,
        "a." * 900 + "a = 1",
        "a = " + "{a = " * 300,
        "\n".join("[" + "a." * 900 + f"b{i}]" for i in range(50)),
    ):
        refusal(tmp_path, text, "")


def test_values_made_in_code_are_checked_too() -> None:
    azure, reading = Pigment("azure"), Reading("colour")
    good = Chip("a", "a", (0.1,), 3.0, (80, 0, 0))
    for make in (
        lambda: Reading("smell"),  # type: ignore[arg-type]
        lambda: Reading("colour", observer=3),
        lambda: Reading("colour", reading_spread=0.0),
        lambda: Reading("colour", dose_spread=float("nan")),
        lambda: Reading("spectrum", wavelengths_nm=(500.0, 400.0)),
        lambda: Pigment(""),
        lambda: Pigment("a", max_phr=-1),
        lambda: Chip("", "a", (0.1,), 3.0),
        lambda: Chip("a", " a", (0.1,), 3.0),
        lambda: Chip("a", "a", (-0.1,), 3.0),
        lambda: Chip("a", "a", (0.1,), 0.0),
        lambda: Chip("a", "a", (0.1,), 3.0, (float("inf"),)),
        lambda: Chip("a", "a", (0.1,), 3.0, haze=1.5),
        lambda: Chip("a", "a", ("x",), 3.0),  # type: ignore[arg-type]
        lambda: ChipSet(reading, (azure, azure), (good,)),
        lambda: ChipSet(reading, (azure, Pigment("mix")), (good,)),
        lambda: ChipSet(reading, (azure,), (good, good)),
        lambda: ChipSet(reading, (azure,), (Chip("a", "a", (0.1, 0.2), 3.0),)),
        lambda: ChipSet(reading, (azure,), (Chip("a", "a", (0.1,), 3.0, (1, 2)),)),
        lambda: ChipSet(reading, (azure,), (Chip("a", "a", (0.1,), 3.0, (), (0.1, 0.2)),)),
    ):
        with pytest.raises(ValueProblem):
            make()


def test_the_set_is_left_as_it_was(tmp_path: Path) -> None:
    put(tmp_path, COLOUR_TOML, COLOUR_CSV + "x,x,-1,,,,,\n")
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    with pytest.raises(TintmixError):
        read_chips(tmp_path)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
