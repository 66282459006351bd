"""The control chart against the published example, and the rules against sequences made to break each."""

from __future__ import annotations

import numpy as np
import pytest

from tests.authorities.compared import compared
from tintmix.book.chart import D2, DOWN, MOVING_RANGE_FACTOR, UP, individuals, says, signals

# NIST/SEMATECH e-Handbook of Statistical Methods, §6.3.2.2 "Individuals Control Charts", the flow rates of ten batches and the
# limits printed there: https://www.itl.nist.gov/div898/handbook/pmc/section3/pmc322.htm
FLOW_RATE = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
MOVING_RANGES = (2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5)
MEAN, MEAN_RANGE, UPPER, LOWER = 50.81, 1.8778, 55.8041, 45.8159


def test_the_published_example() -> None:
    chart = individuals(FLOW_RATE)
    assert chart.moving_ranges == pytest.approx(MOVING_RANGES, abs=1e-9)
    found = (chart.middle, chart.moving_range_middle, chart.high, chart.low)
    source = "NIST/SEMATECH e-Handbook, §6.3.2.2, flow rates of ten batches"
    compared("control chart: middle and limits", found, (MEAN, MEAN_RANGE, UPPER, LOWER), within=5e-5, source=source)
    # The page calls this process in control, since no value lies beyond the limits (from memory).
    assert "beyond" not in [signal.rule for signal in chart.signals]


def test_the_constants() -> None:
    """2.66 and 3.267: §6.3.2.2 and the table of §6.3.2.1, rounded as printed. The range of two normal values has the mean
    2/√π and the standard deviation √(2 − 4/π) (closed forms; D₄ = 1 + 3 d₃/d₂)."""
    assert round(3 / D2, 2) == 2.66
    assert pytest.approx(2 / np.sqrt(np.pi), abs=5e-4) == D2
    d3 = np.sqrt(2 - 4 / np.pi)
    assert pytest.approx(1 + 3 * d3 / (2 / np.sqrt(np.pi)), abs=5e-4) == MOVING_RANGE_FACTOR
    chart = individuals(FLOW_RATE)
    assert chart.moving_range_high == pytest.approx(3.267 * MEAN_RANGE, abs=2e-4)


@pytest.mark.parametrize(
    ("values", "rule", "direction"),
    [
        ([0, 0.1, -0.1, 3.1], "beyond", UP),
        ([0, 0.1, -0.1, -3.1], "beyond", DOWN),
        ([0, 2.1, 0.3, 2.2], "2 of 3", UP),
        ([0, -1.1, -1.2, 0.2, -1.3, -1.4], "4 of 5", DOWN),
        ([-0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.3], "8", UP),
        ([0.3, 0.2, 0.1, 0.0, -0.1, -0.2], "trend", DOWN),
    ],
)
def test_each_rule(values: list[float], rule: str, direction: int) -> None:
    """NIST/SEMATECH e-Handbook, §6.3.2, "WECO rules": in units of sigma, about a middle of 0."""
    found = [signal for signal in signals(values, 0.0, 1.0) if signal.rule == rule]
    assert [signal.direction for signal in found] == [direction]
    assert found[0].at[-1] == len(values) - 1


@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ([0, 0.1, -0.1, 2.9], "beyond"),
        ([0, 2.1, 0.3, 0.3, 2.2], "2 of 3"),
        ([1.1, 1.2, -0.2, 1.3, 0.9, 1.4], "4 of 5"),
        ([0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, -0.1], "8"),
        ([0.3, 0.2, 0.1, 0.0, -0.1], "trend"),
    ],
)
def test_a_value_short_of_each_rule(values: list[float], rule: str) -> None:
    assert rule not in [signal.rule for signal in signals(values, 0.0, 1.0)]


def test_false_alarms_are_as_rare_as_published() -> None:
    """NIST §6.3.2: the four WECO rules give a false alarm about once in 91.75 values. Steady values with known limits."""
    rng = np.random.default_rng(3)
    starts, total = 400, 0
    for _ in range(starts):
        values: list[float] = []
        while not [signal for signal in signals(values[-12:], 0.0, 1.0) if signal.rule != "trend"]:
            values.append(float(rng.standard_normal()))
        total += len(values)
    # The time to the first alarm is spread about as widely as its mean: 400 of them tell the mean to 5 %.
    assert total / starts == pytest.approx(91.75, rel=0.15)


def test_few_values_and_values_that_do_not_vary() -> None:
    assert individuals([]).middle is None
    assert individuals([1.0]).high is None
    flat = individuals([2.0] * 12, "L")
    assert (flat.low, flat.middle, flat.high) == (2.0, 2.0, 2.0)
    assert flat.signals == ()
    assert individuals([0.1, 0.9, 0.2], "delta_e00", 0.0).low == 0.0


NAMES = [f"pour {n}" for n in range(1, 31)]


@pytest.mark.parametrize(
    ("what", "values", "words"),
    [
        ("L", [31.2, 31.0, 31.3, 31.1, 30.8, 30.5, 30.1, 29.8, 29.4, 29.1], "8 pours in a row up to pour 10 turn darker"),
        ("b", [2.0, 2.2, 1.9, 2.1, 2.0, 2.1, 2.0, 6.0], "pour 8 stands out, yellower than"),
        ("a", [0.0, 0.2] * 8 + [1.0, 1.2] * 7, "the 14 pours up to pour 30 all lie above the mean"),
        ("a", [0.0, -0.5, 0.4, -0.4, 0.5, -0.6, 0.6, 0.55], ""),
        ("delta_e00", [1.0, 1.1, 0.9, 1.0, 1.1, 1.0, 3.5], "pour 7 stands out, further from what it should be"),
        ("delta_e00", [3.0, 3.1, 2.9, 3.0, 3.1, 3.0, 0.5], ""),
    ],
)  # fmt: skip
def test_a_drift_in_words(what: str, values: list[float], words: str) -> None:
    told = says(individuals(values, what, 0.0 if what == "delta_e00" else None), NAMES, "point")
    if not words:
        assert told == ()
        return
    [line] = told  # one sentence says it, whatever else is broken
    assert words in line
    assert line.startswith("point, ")


def test_a_step_in_words() -> None:
    """No value is beyond the limits that the one large step widens, but the step itself is."""
    chart = individuals([10.0, 10.1, 9.9, 10.0, 10.1, 9.9, 10.0, 10.8, 9.3, 10.0, 10.1, 10.0], "L")
    told = " ".join(says(chart, NAMES, "point"))
    assert "from pour 8 to pour 9 it jumped darker" in told
