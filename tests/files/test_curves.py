"""curves.py: lights, cameras and glasses from CSV."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.errors import FileProblem, NotThere, TintmixError
from tintmix.files.curves import curve_text, parse_curve, read_curve
from tintmix.files.errors import BadCells


def test_columns_by_name(tmp_path: Path) -> None:
    path = tmp_path / "camera.csv"
    path.write_text(
        "# a camera\n# invented\nnm,R,G,B\n400,0.1,0,1\n# half way\n550,0.2,1,0.5\n\n700,1,.1,0\n", encoding="utf-8"
    )
    nm, columns = read_curve(path)
    assert nm.tolist() == [400, 550, 700]
    assert list(columns) == ["R", "G", "B"]
    assert columns["G"].tolist() == [0, 1, 0.1]
    assert nm.dtype == np.float64


def test_dialects_and_falling_wavelengths() -> None:
    nm, columns = parse_curve("Wavelength;a b\r\n700;0,25\r\n400,5;1\r\n", "x.csv")
    assert nm.tolist() == [400.5, 700]
    assert columns["a b"].tolist() == [1, 0.25]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("400,1\n500,1\n", "put a header row before it"),
        ("nm\n400\n500\n", "single column"),
        ("power,nm\n1,400\n1,500\n", "the wavelength comes first"),
        ("nm,power\n400,1\n", "fewer than two"),
        ("nm,power\n", "fewer than two"),
        ("nm,power\n400,1\n400,1\n", "400 nm stands there twice"),
        ("nm,power\n400,1\n600,1\n500,1\n700,1\n", "600 and 500 nm are out of order"),
        ("nm,power\n-400,1\n500,1\n", "not between 0"),
        ("nm,a,a\n400,1,1\n500,1,1\n", "two have the same"),
        ("nm,,a\n400,1,1\n500,1,1\n", "has no name"),
    ],
)
def test_bad_curves(text: str, said: str) -> None:
    with pytest.raises(FileProblem) as error:
        parse_curve(text, "glass.csv")
    assert said in str(error.value)
    assert str(error.value).startswith("glass.csv: ")


def test_bad_cells_come_together() -> None:
    with pytest.raises(BadCells) as error:
        parse_curve("nm,power\n400,nan\n500,\n600,x\n700,1,2\n", "light.csv")
    assert [(cell.row, cell.column) for cell in error.value.cells] == [
        (2, "power"), (3, "power"), (4, "power"), (5, "column 3"),
    ]  # fmt: skip


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotThere):
        read_curve(tmp_path / "none.csv")


@given(
    st.lists(
        st.tuples(st.floats(300, 1100), st.floats(-1e6, 1e6), st.floats(-1, 1)),
        min_size=2,
        max_size=9,
        unique_by=lambda t: t[0],
    )
)
def test_round_trip(rows: list[tuple[float, float, float]]) -> None:
    table = np.array(sorted(rows))
    nm, columns = parse_curve(curve_text(table[:, 0], {"a": table[:, 1], "b": table[:, 2]}), "x.csv")
    assert np.array_equal(nm, table[:, 0])
    assert np.array_equal(columns["a"], table[:, 1])
    assert np.array_equal(columns["b"], table[:, 2])


@given(st.text() | st.text(alphabet='nm,;\t"#\n\r0123456789.-e '))
def test_only_our_errors(text: str) -> None:
    try:
        nm, columns = parse_curve(text, "x.csv")
    except TintmixError as error:
        said = str(error)
    else:
        said = ""
        assert np.all(np.diff(nm) > 0)
        assert all(np.all(np.isfinite(c)) for c in columns.values())
    assert "\n" not in said
