"""Target beside prediction at each section, touching so that the eye can compare them, and how far apart they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from tintmix.numerals import percent
from tintmix.optics.colour import LIFT_BELOW, lifted, screen, xyz_of_lab
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array
from tintmix.pictures import words
from tintmix.pictures.cards import ROW_HIGH, Rows, behind_row, draw_rows
from tintmix.pictures.errors import check_count, not_one_each
from tintmix.pictures.style import DOT, HATCHED, INK, MARGIN, PAPER, SOFT, Page, Sheet, line_height, picture, wrapped
from tintmix.pigments.model import Look

MOST_SECTIONS = 16

_GUTTER = 1.45
_CARD = 1.36
_GAP = 0.2
_NARROWEST = 7.4
_HALF = 0.6
_LIFTED = 0.26
_GAUGE = 0.2


@dataclass(frozen=True, slots=True)
class Compared:
    """A section's prediction and target: L*a*b* (3,) each, their ΔE00, and between which it lies with 95 % chance."""

    lab: Array
    target_lab: Array | None
    tolerance: float | None
    delta_e00: float
    least: float
    most: float


@picture
def swatches_picture(
    look: Look,
    target_labs: Sequence[Sequence[float] | Array | None],
    tolerances: Sequence[float | None] | None = None,
) -> Figure:
    """Target over prediction at each section of a look, with ΔE00, its 95 % band, and the tolerance where one is given.

    target_labs: L*a*b* under the look's light and observer, None for a section that has no target. tolerances: ΔE00.
    Raises NotThere, ValueProblem.
    """
    compared = compare(look, target_labs, tolerances)
    count = len(compared)
    check_count("swatches", compared, MOST_SECTIONS)
    width = max(_NARROWEST, 2 * MARGIN + _GUTTER + count * (_CARD + _GAP) - _GAP)
    grounds = {section.ground for section in look.sections}
    seen = f", {words.over(grounds.pop())}" if len(grounds) == 1 else ""
    names = [words.label_of(section) for section in look.sections]
    told = [wrapped(name, "strong", _CARD, 2) if name else [] for name, _ in names]
    rows = _rows(look, compared)
    dark = [one.lab[0] < LIFT_BELOW for one in compared]
    page = Page.of_look(look, width, f"Target above, prediction below{seen}.", _notes(look, compared, any(dark)))

    name_lines = max(len(lines) for lines in told)
    names_top = page.top + 0.2
    top = names_top + name_lines * line_height("strong") + line_height("body") + 0.07
    gauge_top = top + 2 * _HALF + 0.14 + (2 * _LIFTED + 0.08 + line_height("small") if any(dark) else 0.0)
    rows_top = gauge_top + _GAUGE + 2 * line_height("small") - 0.02
    lefts = [MARGIN + _GUTTER + s * (_CARD + _GAP) for s in range(count)]
    sheet = page.sheet(rows_top + len(rows) * ROW_HIGH + 0.12)
    if any(one.target_lab is not None for one in compared):
        sheet.write(MARGIN, top + _HALF / 2, "target", "small", va="center")
        sheet.write(MARGIN, gauge_top + _GAUGE / 2, "ΔE₀₀ between them", "small", va="center")
    sheet.write(MARGIN, top + 1.5 * _HALF, "prediction", "small", va="center")
    if any(dark):
        sheet.write(MARGIN, top + 2 * _HALF + 0.06 + _LIFTED, "both,\nlonger exposure", "small", va="center")
    end = _gauge_end(compared)
    for s, (one, left) in enumerate(zip(compared, lefts, strict=True)):
        heading = told[s] + [names[s][1]]
        first = names_top + (name_lines - len(told[s])) * line_height("strong")
        sheet.write(left, first, "\n".join(heading[:-1]), "strong")
        sheet.write(left, top - 0.06, heading[-1], "body" if name_lines else "strong", va="bottom")
        _draw_pair(sheet, one, look.white_xyz, left, top)
        if dark[s]:
            _draw_lifted(sheet, one, look.white_xyz, left, top + 2 * _HALF + 0.06)
        if one.target_lab is not None:
            _draw_gauge(sheet, one, left, gauge_top, end)
    draw_rows(sheet, rows, lefts, rows_top)
    return sheet.figure


def compare(
    look: Look,
    target_labs: Sequence[Sequence[float] | Array | None],
    tolerances: Sequence[float | None] | None = None,
) -> list[Compared]:
    """Each section of a look set beside its target. The band runs from the 2.5 % to the 97.5 % point of the posterior,
    and never leaves out the ΔE00 of the mean colour itself. Raises ValueProblem.
    """
    sections = len(look.sections)
    if len(target_labs) != sections:
        raise not_one_each("targets", len(target_labs), sections)
    if tolerances is not None and len(tolerances) != sections:
        raise not_one_each("tolerances", len(tolerances), sections)
    done = []
    for s, target in enumerate(target_labs):
        tolerance = None if tolerances is None else tolerances[s]
        if target is None:
            done.append(Compared(look.lab[s], None, tolerance, 0.0, 0.0, 0.0))
            continue
        wanted = np.asarray(target, dtype=np.float64)
        apart = float(delta_e00(wanted, look.lab[s]))
        least, most = np.quantile(delta_e00(wanted, look.lab_draws[:, s]), [0.025, 0.975])
        done.append(Compared(look.lab[s], wanted, tolerance, apart, min(float(least), apart), max(float(most), apart)))
    return done


def _rows(look: Look, compared: Sequence[Compared]) -> Rows:
    rows = behind_row(look)
    if any(one.target_lab is not None for one in compared):
        wanted = ["–" if one.target_lab is None else words.triple(one.target_lab) for one in compared]
        rows.append(("target L*, a*, b*", wanted))
    rows.append(("predicted", [words.triple(one.lab) for one in compared]))
    rows.append(("light through", [percent(float(light)) for light in look.luminous_transmittance]))
    return rows


def _draw_pair(sheet: Sheet, one: Compared, white: Array, left: float, top: float) -> None:
    rgb = screen(xyz_of_lab(one.lab, white), white).rgb
    sheet.box(left, top + _HALF, _CARD, _HALF, facecolor=tuple(rgb)).set_gid("prediction")
    if one.target_lab is None:
        sheet.write(left + _CARD / 2, top + _HALF / 2, "no target here", "small", ha="center", va="center", colour=SOFT)
        return
    wanted = screen(xyz_of_lab(one.target_lab, white), white).rgb
    sheet.box(left, top, _CARD, _HALF, facecolor=tuple(wanted)).set_gid("target")


def _draw_lifted(sheet: Sheet, one: Compared, white: Array, left: float, top: float) -> None:
    """Both once more, at the exposure that suits the lighter of them."""
    pair = np.stack([one.lab if one.target_lab is None else one.target_lab, one.lab])
    shown, stops = lifted(xyz_of_lab(pair, white), white)
    if stops < 1:
        shown, stops = screen(xyz_of_lab(pair, white) * 2.0, white), 1
    for half in range(2):
        sheet.box(left, top + half * _LIFTED, _CARD, _LIFTED, facecolor=tuple(shown.rgb[half]))
    sheet.write(left, top + 2 * _LIFTED + 0.03, f"exposure {words.stops(stops)}", "small", colour=SOFT)


def _gauge_end(compared: Sequence[Compared]) -> float:
    values = [one.most for one in compared if one.target_lab is not None]
    values += [1.3 * one.tolerance for one in compared if one.tolerance is not None and one.target_lab is not None]
    return max([1.08 * value for value in values] or [1.0]) or 1.0


def _draw_gauge(sheet: Sheet, one: Compared, left: float, top: float, end: float) -> None:
    """ΔE00 from 0 to the right: a dot, its 95 % band, and hatched what is past the tolerance."""
    sheet.box(left, top, _CARD, _GAUGE, facecolor=PAPER)
    middle = top + _GAUGE / 2
    if one.tolerance is not None:
        x = left + _CARD * one.tolerance / end
        sheet.box(x, top, left + _CARD - x, _GAUGE, linewidth=0.6, **HATCHED).set_gid("past tolerance")
    places = [left + _CARD * value / end for value in (one.least, one.delta_e00, one.most)]
    sheet.line(places[::2], [middle, middle], color="#ffffff", linewidth=4.4)
    sheet.line(places[::2], [middle, middle], color=INK, linewidth=2.4)
    sheet.line([places[1]], [middle], **DOT)
    told = f"{words.number(one.delta_e00)} ({words.number(one.least)} to {words.number(one.most)})"
    sheet.write(left, top + _GAUGE + 0.03, told, "small")


def _notes(look: Look, compared: Sequence[Compared], has_dark: bool) -> list[str]:
    told = []
    if any(one.target_lab is not None for one in compared):
        note = (
            "Dot: how far the prediction is from the target (ΔE₀₀; 1 is just seen side by side). "
            "Bar: where it lies 95 times in 100, from what the chips show."
        )
        if any(one.tolerance is not None and one.target_lab is not None for one in compared):
            note += " Hatched: past the tolerance."
        told.append(note)
    if has_dark:
        told.append(
            "Where L* is below 20 a screen hardly shows a colour; "
            "there both are shown once more as a longer exposure would."
        )
    outside = []
    for one, section in zip(compared, look.sections, strict=True):
        colours = [one.lab] if one.target_lab is None else [one.lab, one.target_lab]
        if not np.all(screen(xyz_of_lab(np.stack(colours), look.white_xyz), look.white_xyz).inside_srgb):
            name, thickness = words.label_of(section)
            outside.append(name or thickness)
    if outside:
        told.append(f"Outside sRGB, where a screen shows the nearest colour that it can: {', '.join(outside)}.")
    return told
