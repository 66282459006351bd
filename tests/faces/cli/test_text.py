from __future__ import annotations

import sys

import pytest

from tintmix.faces.cli import text
from tintmix.faces.cli.values import colour, number
from tintmix.faces.text_table import table


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    return monkeypatch


def test_colour_where_the_terminal_can(terminal: pytest.MonkeyPatch) -> None:
    assert text.block("#0a141e", 2) == "\x1b[48;2;10;20;30m  \x1b[0m"


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("COLORTERM", ""), ("TERM", "dumb")])
def test_no_colour_where_it_cannot_or_must_not(terminal: pytest.MonkeyPatch, name: str, value: str) -> None:
    terminal.setenv(name, value)
    assert text.block("#0a141e") == ""


def test_no_colour_into_a_file(terminal: pytest.MonkeyPatch) -> None:
    terminal.setattr(sys.stdout, "isatty", lambda: False, raising=False)
    assert text.block("#0a141e") == ""


def test_a_table_stays_aligned_with_colours_in_it(terminal: pytest.MonkeyPatch) -> None:
    plain = table(["a", "b"], [["1", "      "], ["22", "      "]]).splitlines()
    coloured = table(["a", "b"], [["1", text.block("#102030")], ["22", text.block("#405060")]]).splitlines()
    assert coloured[0] == plain[0]
    assert [line.index("\x1b") for line in coloured[1:]] == [6, 6]


def test_json_refuses_what_is_not_finite() -> None:
    with pytest.raises(ValueError, match="JSON"):
        text.say_json({"a": float("nan")})


# Common practice: a comma is a decimal comma where there is one number.
@pytest.mark.parametrize(
    ("typed", "value"), [("1", 1.0), ("-0,5", -0.5), (".5", 0.5), ("5.", 5.0), (" 1e-3 ", 1e-3), ("+2,5E2", 250.0)]
)
def test_numbers(typed: str, value: float) -> None:
    assert number(typed) == value


@pytest.mark.parametrize("typed", ["", "nan", "inf", "1_000", "0x10", "1,2,3", "1 2", "1e400", "٣"])
def test_no_numbers(typed: str) -> None:
    with pytest.raises(ValueError, match=r"number"):
        number(typed)


@pytest.mark.parametrize("typed", ["1", "1,2", "1,2,3,4", "a,b,c", ""])
def test_no_colours(typed: str) -> None:
    with pytest.raises(ValueError, match=r"number"):
        colour(typed)
