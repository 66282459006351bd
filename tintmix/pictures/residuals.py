"""What the model makes of its own chips: measured beside predicted, where they part, and which chips it doubts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import Light, eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array
from tintmix.pictures import style, words
from tintmix.pictures.errors import nothing_to_show

MOST_PAIRS = 180
MOST_NAMED = 3
"""Doubted chips that are named in the panels too; more would hide what is there."""

_WIDTH = 10.0
_ACROSS = 12
_GAP = 0.1
_PAIR_HIGH = 0.34
_PANEL_HIGH = 2.0
_LEFT = style.MARGIN + 0.5
_BETWEEN = 0.55
_AXES = ("L*", "a*", "b*")


@dataclass(frozen=True, slots=True)
class _Chip:
    name: str
    measured: Array
    predicted: Array
    apart: float
    doubted: bool


@style.picture
def residuals_picture(report: Mapping[str, Any], light: str | Light = "D65", observer: int = 10) -> Figure:
    """Every chip's reading beside what the model predicts of it, and predicted minus measured in L*, a* and b*.

    report: of a fit (`TintModel.report`): its `chips`, each with `chip`, `measured_lab`, `fitted_lab`, `doubted`.
    light, observer: those the readings were computed for. Doubted chips are named. Raises NotThere.
    """
    chips = _chips(report)
    if not chips:
        raise nothing_to_show("chips, predicted against measured", "the model's file holds no chips")
    doubted = [chip.name for chip in chips if chip.doubted]
    shown = chips if len(chips) <= MOST_PAIRS else _worst(chips)
    under, notes = _under(report, chips, doubted), _notes(len(chips), len(shown))
    page = style.Page(_WIDTH, "Chips: measured and predicted", under, notes)
    lines = math.ceil(len(shown) / _ACROSS)
    step = _PAIR_HIGH + 2 * style.line_height("small") + 0.12
    pairs_top = page.top + 0.18
    panels_top = pairs_top + lines * step + 0.36
    sheet = page.sheet(panels_top + _PANEL_HIGH + 0.66)
    _draw_pairs(sheet, shown, eye(light, observer).bare, pairs_top, step)
    wide = (_WIDTH - style.MARGIN - _LEFT - 2 * _BETWEEN) / 3
    for k, name in enumerate(_AXES):
        axes = sheet.graph(_LEFT + k * (wide + _BETWEEN), panels_top, wide, _PANEL_HIGH)
        axes.set_label(f"residual {name}")
        _draw_panel(axes, chips, k, wide)
        axes.set_xlabel(f"measured {name}")
        axes.set_title(f"{name}, predicted − measured", loc="left", fontsize=9, pad=6)
    return sheet.figure


def _chips(report: Mapping[str, Any]) -> list[_Chip]:
    chips = []
    for one in report.get("chips", ()):
        measured, predicted = (np.asarray(one[key], dtype=np.float64) for key in ("measured_lab", "fitted_lab"))
        apart = one["delta_e00"] if "delta_e00" in one else delta_e00(measured, predicted)
        chips.append(_Chip(" ".join(str(one["chip"]).split()), measured, predicted, float(apart), bool(one["doubted"])))
    return chips


def _worst(chips: Sequence[_Chip]) -> list[_Chip]:
    order = sorted(range(len(chips)), key=lambda i: (not chips[i].doubted, -chips[i].apart))[:MOST_PAIRS]
    return [chips[i] for i in sorted(order)]


def _under(report: Mapping[str, Any], chips: Sequence[_Chip], doubted: Sequence[str]) -> list[str]:
    apart = np.array([chip.apart for chip in chips])
    count = f"{len(chips)} chip{'s' if len(chips) > 1 else ''}"
    told = [f"{count}. ΔE₀₀ between reading and model: {_figures(*np.quantile(apart, [0.5, 0.95, 1.0]))}."]
    others = report.get("left_out_delta_e00")
    if others and len(chips) > 1:
        told.append(f"Each chip predicted from the others: {_figures(*map(others.get, ('median', 'p95', 'worst')))}.")
    told.append(f"Doubted: {', '.join(doubted)}." if doubted else "No chip is doubted.")
    return told


def _figures(median: float, p95: float, worst: float) -> str:
    return f"median {words.number(median, 2)}, 95 % within {words.number(p95, 2)}, worst {words.number(worst, 2)}"


def _notes(count: int, shown: int) -> list[str]:
    told = [
        "Squares: measured left, predicted right, in the order of the set, with ΔE₀₀ under the name; "
        "doubted chips are framed. Below: rings are chips, filled diamonds doubted ones; "
        "an arrow at the edge stands for one that lies further out."
    ]
    if shown < count:
        told.append(f"Of {count} chips the {shown} that fit worst are shown as squares.")
    return told


def _draw_pairs(sheet: style.Sheet, chips: Sequence[_Chip], white: Array, top: float, step: float) -> None:
    wide = (_WIDTH - 2 * style.MARGIN - (_ACROSS - 1) * _GAP) / _ACROSS
    rgb = [
        screen(xyz_of_lab(np.stack([getattr(chip, which) for chip in chips]), white), white).rgb
        for which in ("measured", "predicted")
    ]
    for i, chip in enumerate(chips):
        left, y = style.MARGIN + (i % _ACROSS) * (wide + _GAP), top + (i // _ACROSS) * step
        sheet.box(left, y, wide / 2, _PAIR_HIGH, facecolor=tuple(rgb[0][i])).set_gid("measured")
        sheet.box(left + wide / 2, y, wide / 2, _PAIR_HIGH, facecolor=tuple(rgb[1][i])).set_gid("predicted")
        if chip.doubted:
            sheet.box(
                left - 0.03,
                y - 0.03,
                wide + 0.06,
                _PAIR_HIGH + 0.06,
                facecolor="none",
                edgecolor=style.INK,
                linewidth=1.4,
            )
        sheet.write(left, y + _PAIR_HIGH + 0.04, style.shortened(chip.name, "small", wide), "small")
        told = words.number(chip.apart, 2) if chip.apart < 9.995 else words.number(chip.apart)
        sheet.write(left, y + _PAIR_HIGH + 0.04 + style.line_height("small"), told, "small", colour=style.SOFT)


def _draw_panel(axes: Axes, chips: Sequence[_Chip], k: int, wide: float) -> None:
    x = np.array([chip.measured[k] for chip in chips])
    y = np.array([chip.predicted[k] - chip.measured[k] for chip in chips])
    doubted = np.array([chip.doubted for chip in chips])
    limit = _limit(y, doubted)
    span = max(float(np.ptp(x)), 4.0)
    low, high = float(x.min()) - 0.08 * span, float(x.min()) + 1.08 * span
    axes.set_xlim(low, high)
    axes.set_ylim(-limit, limit)
    axes.axhline(0.0, color=style.INK, linewidth=0.9, zorder=1.5)
    inside = np.abs(y) <= 0.97 * limit
    edge = 0.94 * limit
    sound, doubtful = inside & ~doubted, inside & doubted
    axes.plot(x[sound], y[sound], **style.RING)
    axes.plot(x[doubtful], y[doubtful], **style.DIAMOND)
    for sign, marker in ((1, "^"), (-1, "v")):
        far = ~inside & (np.sign(y) == sign)
        axes.plot(x[far], np.full(int(far.sum()), sign * edge), **style.DIAMOND | {"marker": marker, "markersize": 6})
    axes.xaxis.set_major_locator(style.round_ticks(6))
    axes.yaxis.set_major_locator(style.round_ticks(6, symmetric=True))
    _name_doubted(axes, chips, x, np.clip(y, -edge, edge), y, wide)


def _limit(y: Array, doubted: NDArray[np.bool_]) -> float:
    """Half the height of a panel: what holds the sound chips, and the doubted ones too where they lie not much further
    out.
    """
    sound = np.abs(y[~doubted]) if np.any(~doubted) else np.abs(y)
    limit = max(float(np.quantile(sound, 0.98)) * 1.5, 0.4)
    furthest = float(np.abs(y).max()) * 1.15
    return furthest if furthest <= 2.0 * limit and furthest > 0.4 else limit


def _name_doubted(axes: Axes, chips: Sequence[_Chip], x: Array, at: Array, y: Array, wide: float) -> None:
    """The doubted chips' names beside their marks, moved apart where they would meet."""
    named = [i for i, chip in enumerate(chips) if chip.doubted]
    if len(named) > MOST_NAMED:
        return
    low, high = axes.get_xlim()
    bottom, top = axes.get_ylim()
    per_inch = (top - bottom) / _PANEL_HIGH
    # All in one column, as it were: names on both sides of their marks reach into the middle.
    named.sort(key=lambda i: at[i])
    sizes = [1.05 * style.line_height("small") * per_inch] * len(named)
    for i, place in zip(named, style.spread([float(at[i]) for i in named], sizes, bottom, top), strict=True):
        right = x[i] - low > 0.5 * (high - low)
        name = style.shortened(chips[i].name, "small", 0.3 * wide)
        told = f"{name}, {'+' if y[i] > 0 else '−'}{abs(y[i]):.1f}" if at[i] != y[i] else name
        corner = (x[i] - low) / (high - low) * wide * 72 + (-9 if right else 9), (place - bottom) / per_inch * 72
        leader = {"arrowstyle": "-", "color": style.SOFT, "linewidth": 0.6, "shrinkB": 3, "relpos": (float(right), 0.5)}
        box = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.6}
        axes.annotate(
            told, (x[i], at[i]), xytext=corner, textcoords="axes points", ha="right" if right else "left", va="center",
            fontsize=style.SIZES["small"], zorder=5, bbox=box, arrowprops=leader,
        )  # fmt: skip
