"""table.py: delimiters, decimal commas, and the text of a number."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.errors import FileProblem
from tintmix.files.table import MOST_COLUMNS, MOST_ROWS, cell_of, number_of, read_sheet


@pytest.mark.parametrize(
    ("text", "comma", "value"),
    [
        ("1", False, 1.0),
        (" 1".strip(), False, 1.0),
        ("+.5", False, 0.5),
        ("5.", False, 5.0),
        ("-0.25", False, -0.25),
        ("−0.25", False, -0.25),  # the typographic minus that spreadsheets like
        ("1e-3", False, 0.001),
        ("0,25", True, 0.25),
        ("0.25", True, 0.25),
        ("0,25", False, None),
        ("1.234,5", True, None),
        ("1,234,5", True, None),
        ("", False, None),
        ("nan", False, None),
        ("inf", False, None),
        ("-Infinity", False, None),
        ("1e999", False, None),
        ("1_000", False, None),
        ("٣", False, None),
        ("0x10", False, None),
        ("12 %", False, None),
        ("1" * 41, False, None),
    ],
)
def test_number_of(text: str, comma: bool, value: float | None) -> None:
    assert number_of(text, comma) == value


@given(st.floats(allow_nan=False, allow_infinity=False), st.booleans())
def test_a_float_comes_back_to_the_last_bit(value: float, hundredths: bool) -> None:
    if hundredths and abs(value) > 1e300:
        return  # times 100 it is no float
    back = number_of(cell_of(value, hundredths), hundredths=hundredths)
    assert back == value
    assert back is not None
    assert math.copysign(1, back) == math.copysign(1, value)


def test_percent_is_not_a_division() -> None:
    assert number_of("7", hundredths=True) == 0.07
    # 0.57 * 100 is 56.99999999999999 in binary floats; its cell is what a maker would write.
    assert cell_of(0.57, hundredths=True) == "57"


@pytest.mark.parametrize(
    "text",
    [
        "chip,x\na,1\n",
        "chip;x\na;1\n",
        "chip\tx\r\na\t1\r\n",
        "chip,x\ra,1",
        '"chip","x"\n"a","1"\n',
        "\n\nchip,x\n\na , 1\n,,\n",
    ],
)
def test_dialects(text: str) -> None:
    sheet = read_sheet(text, "chips.csv", key="chip")
    assert sheet.header == ("chip", "x")
    assert [cells[:2] for _, cells in sheet.rows] == [("a", "1")]


def test_delimiter_is_the_one_that_yields_the_key() -> None:
    sheet = read_sheet("chip;a,b;c,d;e,f\nx;1;2;3\n", "chips.csv", key="chip")
    assert sheet.header == ("chip", "a,b", "c,d", "e,f")
    assert sheet.decimal_comma


def test_rows_count_as_in_a_spreadsheet() -> None:
    sheet = read_sheet('chip,note\na,"two\nlines"\n\nb,x\n', "chips.csv", key="chip")
    assert [row for row, _ in sheet.rows] == [2, 4]


def test_comment_lines_count_as_rows() -> None:
    sheet = read_sheet("# what\nnm,power\n400,1\n", "x.csv", comments=True)
    assert sheet.rows[0][0] == 3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("\n \n", "empty"),
        ('chip,x\n"a,1\n', "cut short"),
        ('chip,x\n"a"b,1\n', "closing quote"),
        ("chip,x\n" + "a" * 140_000 + ",1\n", "131 072"),
        (",,,\n,,,\n", "empty"),
        ("," * 500_001, "longer than 500000"),
        ("chip,x\n" + '"\n",' * 200_000, "longer than 500000"),
    ],
)
def test_no_table(text: str, said: str) -> None:
    with pytest.raises(FileProblem, match=said):
        read_sheet(text, "chips.csv", key="chip")


def test_limits() -> None:
    with pytest.raises(FileProblem, match=f"more than {MOST_ROWS} rows"):
        read_sheet("chip,x\n" + "a,1\n" * (MOST_ROWS + 1), "chips.csv")
    with pytest.raises(FileProblem, match=f"more than {MOST_COLUMNS} columns"):
        read_sheet("chip" + ",x" * MOST_COLUMNS + "\n", "chips.csv")
    wide = "chip" + ",x" * (MOST_COLUMNS - 1) + "\n"
    with pytest.raises(FileProblem, match="cells"):
        read_sheet(wide + ("," * (MOST_COLUMNS - 1) + "\n") * 1_000, "chips.csv")
