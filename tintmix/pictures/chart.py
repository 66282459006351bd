"""A control chart: the pours of a recipe in their order, their usual spread, and those that stand out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from tintmix.numerals import capital
from tintmix.pictures.errors import nothing_to_show
from tintmix.pictures.style import DIAMOND, FAINT, MARGIN, RING, SIZES, SOFT, Page, picture, round_ticks, width_of

_WIDTH = 10.0
_LEFT = MARGIN + 0.55
_HIGH = 1.15
_BETWEEN = 0.5
_GAP = 1.15
_SHARE = 0.62
"""Of the width, for the values; the rest is for their steps."""
_LIMIT = (0, (5, 3))


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One quantity over the pours. Limits are None where there are too few values; marked: numbers of the values that stand
    out."""

    title: str
    values: Sequence[float]
    middle: float | None = None
    low: float | None = None
    high: float | None = None
    moving_ranges: Sequence[float] = ()
    moving_range_middle: float | None = None
    moving_range_high: float | None = None
    marked: Sequence[int] = ()


@picture
def chart_picture(
    title: str, under: str, rows: Sequence[ChartRow], labels: Sequence[str], notes: Sequence[str] = ()
) -> Figure:
    """Individuals and moving ranges of each quantity, side by side, a row each.

    labels: what each value's pour is called, for the axis. Solid line: the mean; dashed lines: the limits, 2.66 mean moving
    ranges away, and 3.267 of them for the moving range (NIST/SEMATECH e-Handbook, §6.3.2.2). Filled diamonds stand out.
    Raises NotThere.
    """
    if not rows or not all(row.values for row in rows):
        raise nothing_to_show("control chart", "no pour has a reading yet")
    page = Page(_WIDTH, title, [under], map(capital, (*notes, _LEGEND)))
    first = page.top + 0.42
    sheet = page.sheet(first + len(rows) * (_HIGH + _BETWEEN) + 0.12)
    room = _WIDTH - _LEFT - MARGIN - _GAP
    wide, narrow = _SHARE * room, (1 - _SHARE) * room
    for i, row in enumerate(rows):
        top = first + i * (_HIGH + _BETWEEN)
        axes = sheet.graph(_LEFT, top, wide, _HIGH)
        axes.set_label(row.title)
        _draw(axes, row.values, row.middle, row.low, row.high, row.marked)
        _number_pours(axes, labels, wide, last=i == len(rows) - 1)
        axes.set_title(row.title, loc="left", fontsize=SIZES["strong"], fontweight="bold", pad=5)
        steps = sheet.graph(_LEFT + wide + _GAP, top, narrow, _HIGH)
        steps.set_label(f"{row.title} steps")
        limit = row.moving_range_high
        big = [k for k, step in enumerate(row.moving_ranges) if limit is not None and step > limit]
        _draw(steps, row.moving_ranges, row.moving_range_middle, None, limit, big)
        steps.set_ylim(bottom=0.0)
        _number_pours(steps, labels[1:], narrow, last=i == len(rows) - 1)
        steps.set_title(f"{row.title}, step from the pour before", loc="left", fontsize=SIZES["small"], pad=5)
    return sheet.figure


_LEGEND = (
    "Solid line: the mean of the pours. Dashed: where pours of this recipe usually stay, 2.66 mean steps either side "
    "(steps: 3.267). Filled diamonds: pours that stand out."
)


def _draw(
    axes: Axes,
    values: Sequence[float],
    middle: float | None,
    low: float | None,
    high: float | None,
    marked: Sequence[int],
) -> None:
    axes.plot(range(len(values)), list(values), color=FAINT, linewidth=0.9, zorder=2)
    sound = [k for k in range(len(values)) if k not in marked]
    axes.plot(sound, [values[k] for k in sound], zorder=3, **RING)
    axes.plot(list(marked), [values[k] for k in marked], zorder=3, **DIAMOND)
    if middle is not None:
        axes.axhline(middle, color=SOFT, linewidth=0.9, zorder=1.5)
    for limit in (low, high):
        if limit is not None:
            axes.axhline(limit, color=SOFT, linewidth=0.9, linestyle=_LIMIT, zorder=1.5)
    seen = [value for value in (*values, middle, low, high) if value is not None] or [0.0, 1.0]
    slack = 0.08 * max(max(seen) - min(seen), 0.2)
    axes.set_ylim(min(seen) - slack, max(seen) + slack)
    axes.set_xlim(-0.5, max(len(values), 2) - 0.5)
    axes.yaxis.set_major_locator(round_ticks(5))


def _number_pours(axes: Axes, labels: Sequence[str], wide: float, last: bool) -> None:
    """The pours' names below, as many as there is room for."""
    room = max(map(width_of, labels), default=0.1) + 0.12
    every = max(1, int(-(-len(labels) * room // wide)))
    shown = range(0, len(labels), every)
    axes.set_xticks(list(shown), [labels[k] for k in shown])
    if last:
        axes.set_xlabel("pour")
