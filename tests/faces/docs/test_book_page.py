"""docs/make-it-again-next-year.md: its worked example, number by number, and against the program."""

from __future__ import annotations

import shlex

import pytest

from tests.book.books import recipe
from tests.faces.docs.sums import is_right, page, worked
from tintmix.book.chart import D2, MOVING_RANGE_FACTOR, individuals, says
from tintmix.book.rescale import rescaled

PAGE, BLOCKS = page("make-it-again-next-year.md")
LIGHTNESS = [float(value) for value in BLOCKS[0].split()]
SUMS = [line for block in BLOCKS[1:] for line in block.splitlines()]
VALUES = {line.split(" = ")[0]: float(line.split(" = ")[1]) for line in SUMS}


@pytest.mark.parametrize("line", SUMS)
def test_every_sum_is_right_to_its_last_digit(line: str) -> None:
    assert is_right(line)


def test_the_chart_comes_to_the_same() -> None:
    chart = individuals(LIGHTNESS, "L")
    assert chart.middle is not None
    assert chart.high is not None
    assert chart.low is not None
    assert chart.moving_range_high is not None
    assert len(LIGHTNESS) == 8
    assert VALUES["247.5 / 8"] == round(chart.middle, 2)
    assert VALUES["4.6 / 7"] == round(chart.moving_range_middle or 0, 3)
    assert VALUES["30.94 - 2.66 × 0.657"] == round(chart.low, 2)
    assert VALUES["30.94 + 2.66 × 0.657"] == round(chart.high, 2)
    assert VALUES["3.267 × 0.657"] == round(chart.moving_range_high, 2)
    assert VALUES["3 / 1.128"] == round(3 / D2, 2)
    assert MOVING_RANGE_FACTOR == 3.267
    assert worked(SUMS[0].split(" = ")[0]) == pytest.approx(sum(LIGHTNESS))
    assert worked(SUMS[2].split(" = ")[0]) == pytest.approx(sum(chart.moving_ranges))
    [told] = says(chart, [f"pour {n}" for n in range(1, 9)], "point")
    assert told == "point, L*: pour 8 stands out, darker than the pours usually are."
    assert "pour 8 stands out" in PAGE


def test_the_lot_comes_to_the_same() -> None:
    done = rescaled(recipe(azure=0.021), lots={"azure": "A-18"}, strengths={"azure": 1.08})
    assert VALUES["0.021 / 1.08"] == round(done.weighed_phr["azure"], 5)


def test_the_commands_of_the_page_are_there() -> None:
    """Every option that the page types is one that the command has."""
    from tintmix.faces.cli.commands.book import book

    typed = [shlex.split(line) for line in PAGE.splitlines() if line.startswith("tintmix book ")]
    assert len(typed) >= 9
    for _, _, name, *rest in typed:
        command = book.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None, name
        known = {flag for parameter in command.params for flag in parameter.opts}
        assert {word for word in rest if word.startswith("--")} <= known
