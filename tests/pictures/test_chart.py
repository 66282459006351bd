"""The control chart shows its values and limits where they are, marks what stands out, and can be read."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests.pictures.stand_in import assert_readable, axes_named, said
from tintmix.errors import NotThere
from tintmix.pictures import chart_picture, save_picture
from tintmix.pictures.chart import ChartRow

# NIST/SEMATECH e-Handbook, §6.3.2.2: the flow rates of ten batches and their printed limits.
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
STEPS = tuple(abs(b - a) for a, b in pairwise(FLOW))
ROW = ChartRow("L*", FLOW, 50.81, 45.8159, 55.8041, STEPS, 1.8778, 6.1347, marked=(8,))


def test_values_and_limits_are_where_they_belong() -> None:
    figure = chart_picture("Pours of sea", "point, 60 mm", [ROW], [str(n) for n in range(1, 11)])
    axes = axes_named(figure, "L*")
    lines = [line.get_ydata() for line in axes.lines]
    np.testing.assert_array_equal(lines[0], FLOW)
    levels = sorted(float(line[0]) for line in lines if len(line) == 2 and line[0] == line[1])
    assert levels == [45.8159, 50.81, 55.8041]
    assert list(lines[2]) == [53.6]
    steps = axes_named(figure, "L* steps")
    np.testing.assert_allclose(steps.lines[0].get_ydata(), STEPS)
    assert steps.get_ylim()[0] == 0.0
    low, high = axes.get_ylim()
    assert low < 45.8159
    assert high > 55.8041


@pytest.mark.parametrize("count", [1, 2, 10, 60])
def test_it_can_be_read(count: int) -> None:
    rng = np.random.default_rng(1)
    rows = []
    for title in ("ΔE00", "L*", "a*", "b*"):
        values = tuple(float(v) for v in 30 + rng.standard_normal(count))
        steps = tuple(abs(b - a) for a, b in pairwise(values))
        limits = (30.0, 27.0, 33.0) if count > 1 else (None, None, None)
        rows.append(ChartRow(title, values, *limits, steps, 1.1 if steps else None, 3.6 if steps else None, (0,)))
    labels = [str(n) for n in range(1, count + 1)]
    figure = chart_picture("Pours of the sea green for the deck prisms", "point, 60 mm; each dot is a pour.", rows, labels,
                           ["point, L*: pour 8 stands out, darker than the pours usually are."])  # fmt: skip
    assert_readable(figure)
    assert "pour 8 stands out" in said(figure)
    assert "2.66" in said(figure)


def test_the_same_bytes_each_time(tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        save_picture(chart_picture("Pours of sea", "point", [ROW], [str(n) for n in range(1, 11)]), tmp_path / name)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_nothing_to_show() -> None:
    with pytest.raises(NotThere):
        chart_picture("Pours", "", [ChartRow("L*", ())], [])
