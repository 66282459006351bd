"""Strength curves: how much each pigment absorbs at each wavelength, and how well the chips tell it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, NullFormatter

from tintmix.optics.colour import lab, screen, xyz_of_lab
from tintmix.optics.detector import eye, is_seen, luminous
from tintmix.optics.spectrum import Array, interpolation_matrix
from tintmix.pictures import words
from tintmix.pictures.errors import nothing_to_show
from tintmix.pictures.style import BAND, INK, MARGIN, Page, Sheet, picture, shortened, spread
from tintmix.pigments.model import TintModel

_WIDTH = 10.0
_LEFT = MARGIN + 0.62
_LABELS = 1.75
_ALL_HIGH, _ONE_HIGH = 3.1, 1.25
_COLUMNS = 4
_BETWEEN = 0.62
_CHIP = 0.13
_LINE = 0.19
_NOTE = (
    "Grey: 95 times in 100 the curve lies within it, from what the chips show. "
    "Wide bands are what more chips would narrow."
)
_NM_TICKS = (400, 450, 500, 550, 600, 650, 700, 750)
_STYLES: tuple[tuple[float, tuple[float, ...]], ...] = (
    (1.7, ()),
    (1.7, (6, 2)),
    (2.0, (1.2, 1.2)),
    (1.5, (8, 2, 1.2, 2)),
    (2.4, (3, 1.4)),
    (1.5, (8, 2, 1.2, 2, 1.2, 2)),
    (2.4, (1, 2.4)),
    (1.2, (14, 3)),
)
"""Width and dashes of the curves, in turn: they differ where nobody sees their colour."""


@dataclass(frozen=True, slots=True)
class _Curve:
    """A pigment: its name, absorptivity with a 95 % band (K,) each, its screen colour, and the ink of its line."""

    name: str
    mean: Array
    low: Array
    high: Array
    rgb: tuple[float, ...]
    ink: tuple[float, ...]


@picture
def strengths_picture(model: TintModel) -> Figure:
    """Absorptivity of every pigment against wavelength: all of them together, then each with its 95 % band, and the
    resin itself.

    Decadic, per mm and phr, on a logarithmic scale. Raises NotThere where the model has no pigment.
    """
    if not model.pigments:
        raise nothing_to_show("strength curves", "the model has no pigment")
    nm = np.arange(model.wavelengths_nm[0], model.wavelengths_nm[-1] + 1.0, 2.0)
    between = interpolation_matrix(model.wavelengths_nm, nm)
    curves = [_curve(model, p) for p in range(len(model.pigments))]
    unit = "mm⁻¹, cup as poured" if model.is_one_cup else "mm⁻¹ phr⁻¹"
    bottom, top = _limits(curves)
    columns, high = (_COLUMNS, _ONE_HIGH) if len(curves) > 1 else (2, 2.4)
    resin = "" if model.resin is None else f" in {' '.join(model.resin.name.split())}"
    several = len(curves) > 1
    squares = "The squares show each pigment" if several else "The square shows it"
    under = f"Decadic absorptivity{resin}, {unit}, on a logarithmic scale. {squares} at 45 % light through."
    title = "How strongly each pigment colours the resin" if several else "How strongly it colours"
    page = Page(_WIDTH, title, [under], [_NOTE])
    all_high = max(_ALL_HIGH, _LINE * len(curves)) if several else 0.0
    cells = len(curves) + 1
    lines = math.ceil(cells / columns)
    all_top = page.top + 0.2
    ones_top = all_top + (all_high + 0.72 if several else 0.0)
    step = high + 0.24 + 0.42
    sheet = page.sheet(ones_top + lines * step + 0.2)
    if several:
        axes = sheet.graph(_LEFT, all_top, _WIDTH - MARGIN - _LEFT - _LABELS, all_high)
        axes.set_label("all pigments")
        _scale(axes, nm, bottom, top, _NM_TICKS)
        axes.set_ylabel(f"absorptivity, {unit}")
        axes.set_xlabel("wavelength, nm")
        for c, curve in enumerate(curves):
            axes.plot(nm, _fine(curve.mean, between), zorder=3, label=curve.name, **_line_of(curve, c))
        _label_curves(sheet, curves, all_top, all_high, bottom, top)
    wide = (_WIDTH - MARGIN - _LEFT - (columns - 1) * _BETWEEN) / columns
    for c, curve in enumerate([*curves, _resin(model)]):
        left = _LEFT + (c % columns) * (wide + _BETWEEN)
        graph_top = ones_top + (c // columns) * step + 0.24
        axes = sheet.graph(left, graph_top, wide, high)
        is_resin = c == len(curves)
        axes.set_label("resin" if is_resin else f"pigment {c}")
        _scale(axes, nm, *(_limits([curve]) if is_resin else (bottom, top)), (400, 500, 600, 700))
        _heading(sheet, curve, left, graph_top - 0.04, wide)
        axes.fill_between(nm, _fine(curve.low, between), _fine(curve.high, between), color=BAND, linewidth=0, zorder=2)
        axes.plot(nm, _fine(curve.mean, between), color=INK, linewidth=1.2, zorder=3)
        if c == 0 or (c % columns == 0 and not is_resin):
            axes.set_ylabel(unit)
        elif not is_resin:
            axes.tick_params(axis="y", labelleft=False)
        if c + columns >= cells:
            axes.set_xlabel("nm", labelpad=2)
    return sheet.figure


def _curve(model: TintModel, p: int) -> _Curve:
    mean = model.absorptivity[p]
    low, high = np.quantile(model.draws_absorptivity[:, p], [0.025, 0.975], axis=0)
    rgb, colour = _shown(mean)
    return _Curve(" ".join(model.pigments[p].split()), mean, low, high, rgb, _ink(colour))


def _resin(model: TintModel) -> _Curve:
    low, high = np.quantile(model.draws_base, [0.025, 0.975], axis=0)
    return _Curve("untinted, mm⁻¹", model.base_per_mm, low, high, (), ())


def _fine(values: Array, between: Array) -> Array:
    """A curve (K,) between its wavelengths, by the interpolation used for every spectrum here, in the logarithm."""
    return np.asarray(np.exp(between @ np.log(np.maximum(values, 1e-30))))


def _shown(absorptivity: Array) -> tuple[tuple[float, ...], Array]:
    """Screen colour and L*a*b* of a pigment (no faces) at the strength that lets 45 % of D65 through."""
    weights, detector = luminous("D65"), eye("D65", 10)
    low, high = 0.0, 1.0
    scaled = absorptivity / max(float(absorptivity.max()), 1e-30)
    while 10.0 ** (-high * scaled) @ weights > 0.45 and high < 1e3:
        high *= 2
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if 10.0 ** (-middle * scaled) @ weights > 0.45 else (low, middle)
    xyz = 10.0 ** (-low * scaled) @ detector.weights
    return tuple(screen(xyz, detector.bare).rgb.tolist()), lab(xyz, detector.bare)


def _ink(colour: Array) -> tuple[float, ...]:
    """The pigment's hue, dark enough for a line on a light ground."""
    white = eye("D65", 10).bare
    dark = colour * np.array([0.0, 0.6, 0.6]) + np.array([36.0, 0.0, 0.0])
    return tuple(screen(xyz_of_lab(dark, white), white).rgb.tolist())


def _limits(curves: Sequence[_Curve]) -> tuple[float, float]:
    """A logarithmic scale that holds every peak that an eye sees with its band, and reaches two decades below the weakest
    pigment's.
    """
    seen = is_seen()
    top = 1.35 * max(float(curve.high[seen].max()) for curve in curves)
    weakest = min(float(curve.mean[seen].max()) for curve in curves)
    bottom = max(weakest * 0.008, top * 1e-6)
    return max(bottom, 1e-12), max(top, 1e-11)


def _scale(axes: Axes, nm: Array, bottom: float, top: float, ticks: Sequence[int]) -> None:
    axes.set_yscale("log")
    axes.set_ylim(bottom, top)
    axes.set_xlim(float(nm[0]), float(nm[-1]))
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in ticks if nm[0] <= tick <= nm[-1]]))
    axes.yaxis.set_major_locator(LogLocator(base=10, numticks=7))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: words.decade(value)))
    axes.yaxis.set_minor_formatter(NullFormatter())


def _line_of(curve: _Curve, c: int) -> dict[str, Any]:
    """How the line of a pigment is drawn."""
    width, dashes = _STYLES[c % len(_STYLES)]
    return {"color": curve.ink, "linewidth": width, "linestyle": (0, dashes) if dashes else "-"}


def _label_curves(
    sheet: Sheet, curves: Sequence[_Curve], graph_top: float, graph_high: float, bottom: float, top: float
) -> None:
    """Names at the right ends, moved apart where they would meet, each tied to its curve by a line in the curve's own
    style.
    """
    edge = _WIDTH - MARGIN - _LABELS
    span = math.log10(top / bottom)
    last = np.clip([float(curve.mean[-1]) for curve in curves], bottom, top)
    ends = (graph_top + graph_high * np.log10(top / last) / span).tolist()
    order = sorted(range(len(curves)), key=lambda c: ends[c])
    places = spread([ends[c] for c in order], [_LINE] * len(order), graph_top, graph_top + graph_high)
    for c, y in zip(order, places, strict=True):
        sheet.line([edge + 0.03, edge + 0.16], [ends[c], y], color=curves[c].ink, linewidth=0.8)
        sheet.line([edge + 0.16, edge + 0.52], [y, y], **_line_of(curves[c], c))
        sheet.box(edge + 0.58, y - _CHIP / 2, _CHIP, _CHIP, facecolor=curves[c].rgb)
        room = _LABELS - 0.58 - _CHIP - 0.07
        sheet.write(edge + 0.58 + _CHIP + 0.07, y, shortened(curves[c].name, "small", room), "small", va="center")


def _heading(sheet: Sheet, curve: _Curve, left: float, bottom: float, wide: float) -> None:
    if curve.rgb:
        sheet.box(left, bottom - 0.04 - _CHIP, _CHIP, _CHIP, facecolor=curve.rgb)
        left, wide = left + _CHIP + 0.07, wide - _CHIP - 0.07
    sheet.write(left, bottom - 0.02, shortened(curve.name, "strong", wide), "strong", va="bottom")
