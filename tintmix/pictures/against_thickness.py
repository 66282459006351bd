"""Light through, and distance from the target, against thickness, each with its band."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from tintmix.numerals import numeral
from tintmix.optics.detector import Light
from tintmix.optics.difference import delta_e00
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array
from tintmix.pictures import style, words
from tintmix.pictures.errors import check_count, not_one_each
from tintmix.pictures.strip import Strip, TooDark, make_strip, pixels, too_dark
from tintmix.pictures.swatches import Compared, compare
from tintmix.pigments.model import Look, TintModel
from tintmix.pigments.thickness_strip import strip_end_mm

MOST_SECTIONS = 12

_WIDTH = 8.6
_LEFT = style.MARGIN + 0.62
_LIGHT_HIGH, _DELTA_HIGH, _COLOUR_HIGH = 2.3, 1.7, 0.16
_LABEL_WIDTH = 1.5
_FAINT_HATCH = "#bcbcbc"
_TICKS_FAR = (100, 50, 10, 5, 1, 0.5, 0.1, 0.05, 0.01)
_TICKS = (100, 50, 20, 10, 5, 2, 1)
_TICKS_NEAR = (100, 80, 60, 50, 40, 30, 20, 10)
"""Of the light through, in per cent: over more than two decades, over two at most, and over one."""


@style.picture
def thickness_picture(
    model: TintModel,
    doses_phr: Mapping[str, float],
    sections: Sequence[float] | Sequence[Section],
    target_labs: Sequence[Sequence[float] | Array | None] | None = None,
    tolerances: Sequence[float | None] | None = None,
    light: str | Light = "D65",
    observer: int = 10,
    floor: float | None = None,
    target_at: Callable[[Array], Array] | None = None,
) -> Figure:
    """Luminous transmittance against thickness with its 90 % band and floor, and under it ΔE00 to the target.

    target_labs, tolerances: one for each section, None where it has none. target_at: L*a*b* (N, 3) of the target at
    thicknesses (N,), where a glass piece speaks for all of them: then ΔE00 is a curve too, of the tint before the bare
    light. Raises NotThere, ValueProblem, and what a look
    raises.
    """
    check_count("thickness curves", sections, MOST_SECTIONS)
    look = model.look(doses_phr, sections, light, observer)
    compared = compare(look, [None] * len(sections) if target_labs is None else target_labs, tolerances)
    high = strip_end_mm(max(section.thickness_mm for section in look.sections))
    strip = make_strip(model, doses_phr, 0.0, high, light, observer)
    dark = None if floor is None else too_dark(model, doses_phr, floor, light)
    has_delta = target_at is not None or any(one.target_lab is not None for one in compared)

    page = style.Page.of_look(look, _WIDTH, "From thin to thick, over the bare light.", _notes(has_delta, dark))
    names_top = page.top + 0.12
    light_top = names_top + 2 * style.line_height("small") + 0.22
    colour_top = light_top + _LIGHT_HIGH + 0.06
    delta_top = colour_top + _COLOUR_HIGH + 0.06
    end = delta_top + (_DELTA_HIGH if has_delta else -0.06)
    sheet = page.sheet(end + 0.62)
    wide = _WIDTH - style.MARGIN - _LEFT
    upper = sheet.graph(_LEFT, light_top, wide, _LIGHT_HIGH)
    upper.set_label("light")
    _draw_light(upper, strip, look, dark)
    colours = sheet.bare(_LEFT, colour_top, wide, _COLOUR_HIGH)
    colours.set_label("mean strip")
    style.paint(colours, pixels(strip.xyz, strip.white_xyz, 1200), 0.0, high)
    panels = [upper]
    if has_delta:
        lower = sheet.graph(_LEFT, delta_top, wide, _DELTA_HIGH)
        lower.set_label("delta")
        top = _draw_compared(lower, look, compared)
        if target_at is not None:
            at = strip.thickness_mm[strip.thickness_mm > 0][::4]
            curve = model.look(doses_phr, at.tolist(), light, observer)
            top = max(top, _draw_apart(lower, at, curve, np.asarray(target_at(at), dtype=np.float64)))
        lower.set_ylim(0, 1.15 * max(top, 0.5))
        lower.yaxis.set_major_locator(style.round_ticks(5))
        lower.set_ylabel("ΔE₀₀ to the target")
        panels.append(lower)
    for axes in panels:
        axes.set_xlim(0.0, high)
        axes.xaxis.set_major_locator(style.round_ticks(14))
        axes.tick_params(axis="x", labelbottom=False, length=0)
        for section in look.sections:
            axes.axvline(section.thickness_mm, color=style.SOFT, linewidth=0.8, zorder=1.5)
    # The lowest axes carry the thickness: the colours where nothing is drawn under them.
    bottom = panels[-1] if has_delta else colours
    bottom.xaxis.set_major_locator(style.round_ticks(14))
    bottom.set_xlim(0.0, high)
    bottom.tick_params(axis="x", labelbottom=True, length=3)
    bottom.set_xlabel("thickness, mm", labelpad=4)
    _name_sections(sheet, look, names_top, light_top, wide, high)
    return sheet.figure


def _name_sections(sheet: style.Sheet, look: Look, top: float, graph_top: float, wide: float, high: float) -> None:
    """Names over the graph, moved apart where they would meet, each tied to its line."""
    sections = sorted(look.sections, key=lambda section: section.thickness_mm)
    room = min(_LABEL_WIDTH, wide / len(sections) - 0.08)
    lines = [[style.shortened(told, "small", room) for told in words.label_of(section)] for section in sections]
    places = [_LEFT + section.thickness_mm / high * wide for section in sections]
    sizes = [max(style.width_of(a, "small"), style.width_of(b, "small")) + 0.1 for a, b in lines]
    below = top + 2 * style.line_height("small")
    for x, centre, (name, thickness) in zip(
        places, style.spread(places, sizes, _LEFT, _LEFT + wide + 0.05), lines, strict=True
    ):
        if name:
            sheet.write(centre, below - style.line_height("small"), name, "small", ha="center", va="bottom")
        sheet.write(centre, below, thickness, "small", ha="center", va="bottom")
        sheet.line(
            [centre, centre, x, x],
            [below + 0.02, below + 0.05, graph_top - 0.05, graph_top],
            color=style.SOFT,
            linewidth=0.8,
        )


def _draw_light(axes: Axes, strip: Strip, look: Look, dark: TooDark | None) -> None:
    percent = [100 * np.maximum(values, 1e-9) for values in (strip.luminous_low, strip.luminous, strip.luminous_high)]
    axes.set_yscale("log")
    lowest = min(float(percent[0].min()), 100 * dark.floor * 0.6 if dark else np.inf)
    bottom = min(max(lowest * 0.8, 0.008), 40.0)
    axes.set_ylim(bottom, 115)
    axes.fill_between(strip.thickness_mm, percent[0], percent[2], color=style.BAND, linewidth=0, zorder=2)
    axes.plot(strip.thickness_mm, percent[1], color=style.INK, zorder=3)
    thickness = [section.thickness_mm for section in look.sections]
    axes.plot(thickness, 100 * look.luminous_transmittance, zorder=4, **style.DOT)
    # As many as can be read one above the other.
    ticks = _TICKS_FAR if bottom < 0.9 else _TICKS if bottom <= 8 else _TICKS_NEAR
    axes.yaxis.set_major_locator(FixedLocator([tick for tick in ticks if tick >= bottom]))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: numeral(value)))
    axes.set_ylabel("light through, %")
    if dark is None:
        return
    floor = 100 * dark.floor
    # So faint that a curve and its band are read over it.
    with rc_context({"hatch.color": _FAINT_HATCH}):
        axes.axhspan(
            bottom, floor, zorder=0.4, linewidth=0, **(style.HATCHED | {"facecolor": "none", "edgecolor": _FAINT_HATCH})
        )
    axes.axhline(floor, color=style.INK, linewidth=1.0, linestyle=(0, (5, 2)), zorder=2.5)
    low, high = float(strip.thickness_mm[0]), float(strip.thickness_mm[-1])
    told = f"floor, {words.share(dark.floor)}"
    if low < dark.thickness_mm < high:
        told += f": too dark from {words.millimetres(dark.thickness_mm)}"
        axes.plot([dark.thickness_mm], [floor], zorder=5, gid="too dark mark", **style.DIAMOND)
    place: dict[str, Any] = {"xycoords": ("axes fraction", "data"), "xytext": (5, -4), "textcoords": "offset points"}
    box = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 1.5}
    axes.annotate(told, (0, floor), ha="left", va="top", bbox=box, zorder=6, fontsize=style.SIZES["small"], **place)


def _draw_apart(axes: Axes, at: Array, curve: Look, wanted: Array) -> float:
    """The tint's distance from a target (N, 3) at N thicknesses, with its band; the highest point of that."""
    if wanted.shape != (len(at), 3):
        raise not_one_each("target colours", len(wanted), len(at))
    low, high = np.quantile(delta_e00(curve.lab_draws, wanted), [0.025, 0.975], axis=0)
    apart = np.asarray(delta_e00(curve.lab, wanted))
    axes.fill_between(at, np.minimum(low, apart), np.maximum(high, apart), color=style.BAND, linewidth=0, zorder=2)
    axes.plot(at, apart, color=style.INK, zorder=3)
    return float(np.max(high))


def _draw_compared(axes: Axes, look: Look, compared: Sequence[Compared]) -> float:
    """Each place's distance from its target, with its bar and its tolerance; the highest point of them."""
    top = 0.0
    for one, section in zip(compared, look.sections, strict=True):
        if one.target_lab is None:
            continue
        at_mm = section.thickness_mm
        for colour, width in (("#ffffff", 4.2), (style.INK, 2.4)):
            axes.plot([at_mm, at_mm], [one.least, one.most], color=colour, linewidth=width, zorder=4)
        axes.plot([at_mm], [one.delta_e00], zorder=5, **style.DOT)
        top = max(top, one.most, one.tolerance or 0.0)
        if one.tolerance is not None:
            axes.plot(
                [at_mm], [one.tolerance], color=style.INK, marker="_", markersize=13, markeredgewidth=1.6, zorder=4
            )
    return top


def _notes(has_delta: bool, dark: TooDark | None) -> list[str]:
    told = ["Grey band of the light through: where it lies 9 times in 10, from what the chips show."]
    if has_delta:
        told.append("Band and bars of ΔE₀₀: 95 chances in 100. The short level line at a place is its tolerance.")
    if dark is not None and dark.between:
        told.append(f"The floor is reached {dark.between} with 9 chances in 10.")
    return told
