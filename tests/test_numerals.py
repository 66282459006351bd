"""Numbers for people: as `format` gives them, and never with an exponent; the same on a few faces with extreme inputs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tintmix.desk.demo import demo
from tintmix.desk.fit import fit_sets
from tintmix.faces.cli.main import run
from tintmix.numerals import listed, numeral, percent

EXPONENT = re.compile(r"\d[eE][+-]?\d")


@settings(derandomize=True)
@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(1, 17), st.booleans())
def test_no_numeral_has_an_exponent(value: float, digits: int, zeros: bool) -> None:
    told = numeral(value, digits, zeros)
    assert not EXPONENT.search(told)
    python = format(value, f"{'#' if zeros else ''}.{digits}g").rstrip(".")
    if "e" not in python and 1e-9 <= abs(value) <= 1e15:
        assert told == python
    if 1e-9 <= abs(value) <= 1e15:
        assert float(told) == float(python)


@settings(derandomize=True)
@given(st.floats(0.0, 2.0))
def test_no_percent_has_an_exponent(fraction: float) -> None:
    told = percent(fraction)
    assert not EXPONENT.search(told)
    assert told.endswith(" %")


def test_a_light_that_nobody_sees() -> None:
    assert percent(1.3e-8) == "less than 0.01 %"
    assert percent(0.0) == "0 %"


def test_listed() -> None:
    assert [listed(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    path = tmp_path_factory.mktemp("numerals") / "deck.json"
    fitted = fit_sets([demo("deck-prism-colours")], path)
    return path, fitted.model.pigments[0]


@pytest.mark.parametrize("dose", ["0.000001", "0.0000012345", "40"])
@pytest.mark.parametrize("thickness", ["0.2", "500"])
def test_no_exponent_in_look_at_extreme_doses(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, model: tuple[Path, str], dose: str, thickness: str
) -> None:
    picture = tmp_path / "look.svg"
    call = ["look", str(model[0]), "--dose", f"{model[1]}={dose}", "--at", thickness, "--picture", str(picture)]
    assert run(call) == 0
    said = capsys.readouterr()
    assert not EXPONENT.search(re.sub(r"#[0-9a-f]{6}", "", said.out + said.err))
    # Colours as hexadecimal numbers and identifiers are no text.
    words = re.findall(r"<text[^>]*>([^<]*)<", picture.read_text("utf-8"))
    assert not EXPONENT.search(" ".join(words))


def test_no_exponent_in_a_solve_of_the_darkest(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, model: tuple[Path, str]
) -> None:
    target = tmp_path / "dark.toml"
    target.write_text(
        'format = 1\n[[section]]\nname = "rim"\nthickness_mm = 500.0\nlab = [0.1, 0.0, 0.0]\n'
        "[limits]\nluminous_transmittance = 0.0000001\ntotal_phr = 0.000001\n",
        "utf-8",
    )
    status = run(["solve", str(model[0]), str(target)])
    said = capsys.readouterr()
    assert status == 0, said
    assert not EXPONENT.search(said.out)
