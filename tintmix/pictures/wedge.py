"""The wedge: a tint from thin to thick as it will look, its sections, where it becomes too dark, and how sure all that
is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from tintmix.numerals import numeral
from tintmix.optics.colour import LIFT_BELOW, lifted
from tintmix.optics.detector import Light
from tintmix.optics.section import PANEL, Ground, Section
from tintmix.pictures import style, words
from tintmix.pictures.cards import Card, CardLayout, card_rows
from tintmix.pictures.errors import check_count
from tintmix.pictures.strip import Lift, Strip, TooDark, lifts, make_strip, outside_srgb, pixels, runs, too_dark
from tintmix.pigments.model import Look, TintModel
from tintmix.pigments.thickness_strip import strip_end_mm

MOST_SECTIONS = 16

_WIDTH = 10.0
_GUTTER = 1.45
_BARE = 0.34
_GAP = 0.06
_CARD = 1.22
_BETWEEN_CARDS = 0.14
_COLUMNS = 1600
_SIDE, _MIDDLE = 0.2, 0.92
_LIFT = 0.36
_RAIL = 0.13
_AXIS = 0.3
_LEADERS = 0.46


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the strip lies on the sheet, in inches, what it spans, in mm, and where the rows above it begin."""

    left: float
    right: float
    high_mm: float
    strip: float
    tops: Mapping[str, float]

    @property
    def strip_end(self) -> float:
        """The lower edge of the strip."""
        return self.strip + 2 * _SIDE + _MIDDLE

    @property
    def width(self) -> float:
        """Of the strip."""
        return self.right - self.left

    def x(self, thickness_mm: float) -> float:
        """Where a thickness stands; one beyond the strip, at its end."""
        return self.left + min(thickness_mm / self.high_mm, 1.0) * self.width


@style.picture
def wedge_picture(
    model: TintModel,
    doses_phr: Mapping[str, float],
    sections: Sequence[float] | Sequence[Section],
    light: str | Light = "D65",
    observer: int = 10,
    floor: float | None = None,
    behind: Ground = PANEL,
) -> Figure:
    """A tint as a continuous strip from thin to thick, as it looks over the bare light, with what is known at its
    sections.

    sections: thicknesses in mm, seen over `behind`, or Sections with grounds of their own; where these differ, the
    strip is seen over the bare light. floor: luminous transmittance (fraction) below which the part counts as too dark.
    The strip runs from nothing to a little beyond the thickest section. Raises NotThere, ValueProblem, and what a look
    raises.
    """
    check_count("wedge", sections, MOST_SECTIONS)
    given = model.look(doses_phr, sections, light, observer, behind).sections
    by_thickness = sorted(given, key=lambda section: section.thickness_mm)
    look = model.look(doses_phr, by_thickness, light, observer)
    first = given[0].ground
    ground = first if isinstance(first, Ground) and all(one.ground == first for one in given) else PANEL
    end_mm = strip_end_mm(look.sections[-1].thickness_mm)
    strip = make_strip(model, doses_phr, 0.0, end_mm, light, observer, ground)
    parts = lifts(strip)
    at = strip.thickness_mm
    outside = [(float(at[a]), float(at[b - 1])) for a, b in runs(outside_srgb(strip, parts))]
    dark = None if floor is None else too_dark(model, doses_phr, floor, light)
    count = len(look.sections)
    under, notes = f"As it looks {words.over(ground)}, from thin to thick.", _notes(look, ground, dark, parts, outside)
    page = style.Page.of_look(look, max(_WIDTH, 2 * style.MARGIN + _GUTTER + count * _CARD), under, notes)

    # Heights first, from top to bottom, so that the sheet is as high as what stands on it.
    top, tops = page.top + 0.12, dict[str, float]()
    for row, shown, above, high in (
        ("dark", dark, 0.22, _RAIL + 0.02),
        ("outside", outside, 0.08, _RAIL),
        ("lift", parts, 0.24, _LIFT),
    ):
        if shown:
            tops[row] = top + above
            top = tops[row] + high
    frame = _Frame(style.MARGIN + _GUTTER, page.width - style.MARGIN, end_mm, top + _AXIS, tops)
    cards_top = frame.strip_end + _LEADERS + 0.05 * max(count - 6, 0)
    room = (page.width - style.MARGIN - frame.left + _BETWEEN_CARDS) / count
    wide = min(_CARD, room) - _BETWEEN_CARDS
    layout = CardLayout(_cards(look), card_rows(look), wide)
    sheet = page.sheet(cards_top + layout.height + 0.14)

    _draw_strip(sheet, frame, strip, "bare\nlight" if ground.is_panel else "pure\nwhite")
    if parts:
        _draw_lifts(sheet, frame, strip, parts)
    if outside:
        _draw_outside(sheet, frame, outside)
    if dark:
        _draw_too_dark(sheet, frame, dark, float(at[parts[0].first]) if parts else frame.high_mm)
    wanted = [frame.x(section.thickness_mm) for section in look.sections]
    half_gap = _BETWEEN_CARDS / 2
    centres = style.spread(wanted, [wide + _BETWEEN_CARDS] * count, frame.left - half_gap, frame.right + half_gap)
    for x, centre in zip(wanted, centres, strict=True):
        turns = [frame.strip_end + 0.05, frame.strip_end + 0.15, cards_top - 0.14, cards_top - 0.04]
        sheet.line([x, x, centre, centre], turns, color=style.INK, linewidth=0.9)
        sheet.line(
            [x], [turns[0] + 0.01], color=style.INK, marker="^", markersize=4.5, linestyle="none", markeredgewidth=0
        )
    layout.draw(sheet, centres, cards_top)
    return sheet.figure


def _draw_strip(sheet: style.Sheet, frame: _Frame, strip: Strip, white: str) -> None:
    middle, lower = frame.strip + _SIDE, frame.strip + _SIDE + _MIDDLE
    for name, told, xyz, at, tall in (
        ("lighter strip", "if lighter", strip.lighter_xyz, frame.strip, _SIDE),
        ("mean strip", "as expected", strip.xyz, middle, _MIDDLE),
        ("darker strip", "if darker", strip.darker_xyz, lower, _SIDE),
    ):
        axes = sheet.bare(frame.left, at, frame.width, tall)
        axes.set_label(name)
        style.paint(axes, pixels(xyz, strip.white_xyz, _COLUMNS), 0.0, frame.high_mm)
        sheet.write(style.MARGIN, at + tall / 2, told, "small", va="center")
    for edge in (middle, lower):
        sheet.line([frame.right + 0.02, frame.right + 0.09], [edge, edge], color=style.INK)
    ruler = sheet.bare(frame.left, frame.strip, frame.width, frame.strip_end - frame.strip)
    ruler.set_label("ruler")
    ruler.set_xlim(0.0, frame.high_mm)
    ruler.xaxis.set_major_locator(style.round_ticks(14))
    ruler.xaxis.set_major_formatter(FuncFormatter(lambda value, _: numeral(value)))
    ruler.xaxis.tick_top()
    ruler.tick_params(axis="x", pad=2)
    sheet.write(style.MARGIN, frame.strip - 0.04, "thickness, mm", "small", va="bottom")
    left = frame.left - _GAP - _BARE
    sheet.box(left, frame.strip, _BARE, frame.strip_end - frame.strip, facecolor="#ffffff").set_gid("white")
    sheet.write(left + _BARE / 2, frame.strip - 0.04, white, "small", ha="center", va="bottom", colour=style.SOFT)


def _draw_too_dark(sheet: style.Sheet, frame: _Frame, dark: TooDark, lifted_from_mm: float) -> None:
    """A rail above the strip, hatched where too little light comes through, with the spread of where that begins."""
    top = frame.tops["dark"]
    middle = top + _RAIL / 2
    sheet.line([frame.left, frame.right], [middle, middle], color=style.FAINT)
    sheet.write(style.MARGIN, middle, f"less than {words.share(dark.floor)} light", "small", va="center")
    x = frame.x(dark.thickness_mm)
    if x < frame.right:
        sheet.box(x, top, frame.right - x, _RAIL, linewidth=0.6, **style.HATCHED).set_gid("too dark")
    told = _too_dark_label(dark, frame)
    at = x if frame.left < x < frame.right else frame.left
    sheet.write(min(at, frame.right - style.width_of(told, "strong")), top - 0.02, told, "strong", va="bottom")
    if not frame.left < x < frame.right:
        return
    sheet.line([frame.x(dark.thinnest_mm), frame.x(dark.thickest_mm)], [middle, middle], color=style.INK, linewidth=2.4)
    tall = [(top, top + _RAIL), (frame.strip, frame.strip_end)]
    if dark.thickness_mm > lifted_from_mm:
        tall.append((frame.tops["lift"], frame.tops["lift"] + _LIFT))
    for start, end in tall:
        sheet.line([x, x], [start, end], color="#ffffff", linewidth=1.4)
        sheet.line([x, x], [start, end], color=style.INK, linewidth=1.4, linestyle=(0, (2.6, 2.6))).set_gid(
            "too dark mark"
        )


def _too_dark_label(dark: TooDark, frame: _Frame) -> str:
    if dark.thickness_mm <= 0:
        return "too dark at every thickness shown"
    if dark.thickness_mm >= frame.high_mm:
        return "light enough at every thickness shown"
    return f"too dark from {words.millimetres(dark.thickness_mm)}"


def _draw_outside(sheet: style.Sheet, frame: _Frame, outside: Sequence[tuple[float, float]]) -> None:
    """A bracket over those parts of the strip that a screen cannot show as they are."""
    middle = frame.tops["outside"] + _RAIL / 2
    sheet.write(style.MARGIN, middle, "outside sRGB", "small", va="center")
    for low, high in outside:
        ends = frame.x(low), frame.x(high)
        sheet.line(
            np.repeat(ends, 2).tolist(), [middle + 0.06, middle, middle, middle + 0.06], color=style.INK, linewidth=0.9
        )


def _draw_lifts(sheet: style.Sheet, frame: _Frame, strip: Strip, parts: Sequence[Lift]) -> None:
    """The dark part once more at longer exposures, each labelled with its stops."""
    top = frame.tops["lift"]
    sheet.write(style.MARGIN, top + _LIFT / 2, "the dark end,\nlonger exposure", "small", va="center")
    axes = sheet.bare(frame.left, top, frame.width, _LIFT)
    axes.set_label("lifted strip")
    labels, places = [], []
    for lift in parts:
        last = min(lift.last, len(strip.xyz) - 1)
        first = min(lift.first, last - 1)
        ends = float(strip.thickness_mm[first]), float(strip.thickness_mm[last])
        row = pixels(strip.xyz[first : last + 1] * 2.0**lift.stops, strip.white_xyz, _COLUMNS)
        style.paint(axes, row, *ends)
        labels.append(f"exposure {words.stops(lift.stops)}")
        places.append(frame.x(ends[0]) + style.width_of(labels[-1], "small") / 2)
    axes.set_xlim(0.0, frame.high_mm)
    sizes = [style.width_of(label, "small") + 0.16 for label in labels]
    for label, at in zip(labels, style.spread(places, sizes, frame.left - 0.08, frame.right + 0.08), strict=True):
        sheet.write(at, top - 0.03, label, "small", ha="center", va="bottom")


def _cards(look: Look) -> list[Card]:
    cards = []
    for s, section in enumerate(look.sections):
        name, thickness = words.label_of(section)
        lift = None
        if look.lab[s, 0] < LIFT_BELOW:
            brighter, stops = lifted(look.xyz[s], look.white_xyz)
            lift = (brighter.rgb, stops) if stops else None
        cards.append(Card(name, thickness, look.screen.rgb[s], lift))
    return cards


def _notes(
    look: Look, ground: Ground, dark: TooDark | None, parts: Sequence[Lift], outside: Sequence[tuple[float, float]]
) -> list[str]:
    told = [
        "The narrow strips show how far the chips leave it open: with 1 chance in 20 it turns out lighter "
        "than the upper one, with 1 in 20 darker than the lower one."
    ]
    if any(section.seen for section in look.sections):
        told.append(
            "A place that is seen through the casting stands at its mean path, and its card is how it is seen there."
        )
    if dark is not None:
        told.append(_dark_note(dark))
    if parts:
        told.append(
            "Where L* is below 20 a screen hardly shows a colour; "
            "there it is shown once more as a longer exposure would."
        )
    if outside:
        told.append(
            f"From {words.spans(outside)} the colour lies outside sRGB; a screen shows the nearest that it can."
        )
    odd = [
        f"{name or thickness}, {words.over(section.ground)}"
        for section, inside in zip(look.sections, look.screen.inside_srgb, strict=True)
        for name, thickness in [words.label_of(section)]
        if not inside and section.ground != ground
    ]
    if odd:
        told.append(f"Outside sRGB too: {'; '.join(odd)}.")
    if look.haze is not None:
        told.append("Haze is an upper bound where a place is dark.")
    return told


def _dark_note(dark: TooDark) -> str:
    floor = words.share(dark.floor)
    if dark.thickness_mm <= 0:
        return f"At no thickness does {floor} of the light come through."
    if not np.isfinite(dark.thickness_mm):
        return f"At every thickness up to 1000 mm at least {floor} of the light comes through."
    sure = f" (9 chances in 10 that this lies {dark.between})" if dark.between else ""
    return f"Less than {floor} of the light comes through from {numeral(dark.thickness_mm, 3)} mm on{sure}."
