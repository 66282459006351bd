"""Control charts of what the pours of a recipe came out as: individuals and moving range, and a drift said in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

D2 = 1.128
"""Mean of the range of two, in standard deviations. NIST/SEMATECH e-Handbook of Statistical Methods, §6.3.2.2."""
MOVING_RANGE_FACTOR = 3.267
"""Upper limit of the moving range, in mean moving ranges (D₄ of two). NIST/SEMATECH e-Handbook, §6.3.2.1 and §6.3.2.2."""
SETTLED = 20
"""Pours from which the limits count as settled: common practice."""

UP, DOWN = 1, -1
_TURNS: Mapping[str, tuple[str, str]] = {
    "delta_e00": ("further from what it should be", "nearer to what it should be"),
    "L": ("lighter", "darker"),
    "a": ("redder", "greener"),
    "b": ("yellower", "bluer"),
}
"""What a rising and a falling value mean to the eye."""
TITLES: Mapping[str, str] = {"delta_e00": "ΔE00", "L": "L*", "a": "a*", "b": "b*"}


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that a chart breaks. rule: its name. at: numbers (from 0) of the values that break it, the last the newest."""

    rule: str
    direction: int
    at: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """An individuals chart. values: in the order of the pours. The limits are None where there are fewer than two.

    x̄ ± 3 MR̄/1.128 (2.66 MR̄), MR̄ the mean of |xᵢ − xᵢ₋₁|; the moving range up to 3.267 MR̄. NIST/SEMATECH e-Handbook, §6.3.2.2.
    """

    what: str
    values: tuple[float, ...]
    middle: float | None
    low: float | None
    high: float | None
    moving_ranges: tuple[float, ...]
    moving_range_middle: float | None
    moving_range_high: float | None
    signals: tuple[Signal, ...]


def individuals(values: Sequence[float], what: str = "", floor: float | None = None) -> Chart:
    """The chart of some values in their order. floor: below which no value can lie, and towards which all is well, as with
    ΔE00: the lower limit stops there, and only what rises is a signal.

    >>> chart = individuals([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.middle, 2), round(chart.high, 4), round(chart.low, 4)
    (50.81, 55.8041, 45.8159)
    """
    values = tuple(float(value) for value in values)
    if len(values) < 2:
        return Chart(what, values, None, None, None, (), None, None, ())
    ranges = tuple(abs(b - a) for a, b in pairwise(values))
    middle, mean_range = math.fsum(values) / len(values), math.fsum(ranges) / len(ranges)
    sigma = mean_range / D2
    low, high = middle - 3 * sigma, middle + 3 * sigma
    broken = signals(values, middle, sigma, ranges)
    if floor is not None:
        low, broken = max(low, floor), tuple(signal for signal in broken if signal.direction == UP)
    return Chart(what, values, middle, low, high, ranges, mean_range, MOVING_RANGE_FACTOR * mean_range, broken)


def signals(
    values: Sequence[float], middle: float, sigma: float, moving_ranges: Sequence[float] = ()
) -> tuple[Signal, ...]:
    """The rules that are broken, each where it is broken last.

    One value beyond 3 σ; on one side, 2 of 3 beyond 2 σ, 4 of 5 beyond 1 σ, 8 in a row beyond the middle: NIST/SEMATECH
    e-Handbook, §6.3.2, which warns that these together give a false alarm about once in 92 values. 6 in a row rising or
    falling: the same section, from memory. And a step beyond the moving range's limit, §6.3.2.2. Values that do not vary at
    all break none.

    >>> [signal.rule for signal in signals([0.1, -0.2, 3.5], 0.0, 1.0)]
    ['beyond']
    """
    if sigma <= 1e-12 * max(abs(middle), 1.0):
        return ()
    z = [(value - middle) / sigma for value in values]
    found = []
    for rule, window, least, beyond in (
        ("beyond", 1, 1, 3.0),
        ("2 of 3", 3, 2, 2.0),
        ("4 of 5", 5, 4, 1.0),
        ("8", 8, 8, 0.0),
    ):
        for side in (UP, DOWN):
            hits = [side * one > beyond for one in z]
            for end in range(len(z), window - 1, -1):
                if sum(hits[end - window : end]) >= least and hits[end - 1]:
                    at = tuple(i for i in range(end - window, end) if hits[i])
                    found.append(Signal(rule, side, at if rule != "8" else _run(hits, end)))
                    break
    for side in (UP, DOWN):
        rises = [side * (b - a) > 0 for a, b in pairwise(values)]
        for end in range(len(rises), 4, -1):
            if all(rises[end - 5 : end]):
                run = _run(rises, end)
                found.append(Signal("trend", side, (*run, end)))
                break
    limit = MOVING_RANGE_FACTOR * sigma * D2
    wide = [i for i, moved in enumerate(moving_ranges) if moved > limit]
    if wide:
        before, after = wide[-1], wide[-1] + 1
        found.append(Signal("step", UP if values[after] > values[before] else DOWN, (before, after)))
    return tuple(found)


def says(chart: Chart, names: Sequence[str], place: str) -> tuple[str, ...]:
    """What the broken rules mean, in a sentence or two: a drift, or else the pours that stand out, or else a hint of a drift.

    names: what each value's pour is called, as in "pour 7". A drift says all that the pours at its ends could say.
    """
    by_rule: dict[str, list[Signal]] = {}
    for signal in chart.signals:
        by_rule.setdefault(signal.rule, []).append(signal)
    drift = sorted(by_rule.get("trend") or by_rule.get("8") or [], key=lambda one: one.at[-1])[-1:]
    out = by_rule.get("beyond", [])
    marked = {signal.at[-1] for signal in out}
    steps = [one for one in by_rule.get("step", []) if not marked & set(one.at)]
    hints = by_rule.get("4 of 5") or by_rule.get("2 of 3") or []
    chosen = drift or [*out, *steps] or hints
    head = f"{place}, {TITLES.get(chart.what, chart.what)}"
    return tuple(f"{head}: {_told(signal, chart.what, names)}" for signal in chosen)


def _told(signal: Signal, what: str, names: Sequence[str]) -> str:
    rising, falling = _TURNS.get(what, ("higher", "lower"))
    turn, side = (rising, "above") if signal.direction == UP else (falling, "below")
    last, count = names[signal.at[-1]], len(signal.at)
    told = {
        "beyond": f"{last} stands out, {turn} than the pours usually are.",
        "trend": f"{count} pours in a row up to {last} turn {turn}, each more than the one before: a drift.",
        "8": f"the {count} pours up to {last} all lie {side} the mean: the colour has drifted {turn}.",
        "step": f"from {names[signal.at[0]]} to {last} it jumped {turn}, by more than pours usually differ.",
    }
    hint = f"{count} of the {signal.rule.split()[-1]} pours up to {last} are clearly {turn}: a drift, perhaps."
    return told.get(signal.rule, hint)


def _run(hits: Sequence[bool], end: int) -> tuple[int, ...]:
    unbroken = sum(1 for _ in takewhile(bool, reversed(hits[:end])))
    return tuple(range(end - unbroken, end))
