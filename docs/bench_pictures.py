"""The pictures of docs/ that show how chips are measured: drawn to measure, and a simulated photo as the program reads it.

Called by make_pictures.py. The photo is made by tests/photo_simulation.py; its chips, camera and panel are invented.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle

from tintmix.chips.photo.sheet import holder
from tintmix.pictures.style import FAINT, INK, SOFT, drawing

WHITE, PALE, BLACK = "#ffffff", "#e4e4e4", "#101010"
GLASS = ("#cfe3d8", "#9cc7b4", "#6ba38f", "#3f7f6c")
PANEL = "#fff7e0"
"""The light panel, lit."""


def all_of_them() -> dict[str, Callable[[], Figure]]:
    """Name of the file → what draws it."""
    return {
        "holder-sheet.png": holder_sheet,
        "phone-set-up.png": phone_set_up,
        "found-windows.png": found_windows,
        "where-on-the-chip.png": where_on_the_chip,
        "chip-on-tile.png": chip_on_tile,
    }


def figure_of(wide: float, high: float, x: tuple[float, float], y: tuple[float, float]) -> tuple[Figure, Axes]:
    with drawing():
        figure = Figure(figsize=(wide, high), facecolor=WHITE)
        axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(*x)
    axes.set_ylim(*y)
    axes.set_aspect("equal")
    axes.axis("off")
    return figure, axes


def box(
    axes: Axes, x: float, y: float, wide: float, high: float, fill: str, edge: str | None = SOFT, **more: Any
) -> None:
    axes.add_patch(Rectangle((x, y), wide, high, facecolor=fill, edgecolor=edge or "none", linewidth=0.7, **more))


def say(axes: Axes, x: float, y: float, text: str, size: float = 8.5, **more: Any) -> None:
    axes.text(x, y, text, fontsize=size, color=more.pop("color", INK), **{"ha": "left", "va": "center", **more})


def point(
    axes: Axes, text: str, at: tuple[float, float], to: tuple[float, float], ha: str = "left", size: float = 8.5
) -> None:
    """A text and a fine line from it to what it names."""
    axes.annotate(
        text, to, at, fontsize=size, color=INK, ha=ha, va="center",
        arrowprops={"arrowstyle": "-", "color": FAINT, "linewidth": 0.8, "shrinkA": 2, "shrinkB": 0},
    )  # fmt: skip


def arrow(
    axes: Axes,
    start: tuple[float, float],
    end: tuple[float, float],
    colour: str = INK,
    both: bool = False,
    wide: float = 1.0,
) -> None:
    style = "<|-|>" if both else "-|>"
    axes.add_patch(
        FancyArrowPatch(
            start, end, arrowstyle=style, mutation_scale=9, color=colour, linewidth=wide, shrinkA=0, shrinkB=0
        )
    )


def holder_sheet() -> Figure:
    """The sheet as it lies on the bench, some chips on it."""
    figure, axes = figure_of(4.6, 6.3, (-110, 110), (153, -153))
    box(axes, -105, -148.5, 210, 297, WHITE)
    for dots, (x, y) in enumerate(holder.MARKS_MM, 1):
        half, outer, inner = holder.MARK_MM, holder.RING_OUTER_MM, holder.RING_INNER_MM
        box(axes, x - half / 2, y - half / 2, half, half, PANEL, FAINT, linestyle=(0, (3, 3)))
        box(axes, x - outer / 2, y - outer / 2, outer, outer, BLACK, None)
        box(axes, x - inner / 2, y - inner / 2, inner, inner, PANEL, None)
        for dx, dy in holder.DOTS_MM[dots]:
            axes.add_patch(Circle((x + dx, y + dy), holder.DOT_MM / 2, facecolor=BLACK, edgecolor="none"))
    laid = holder.lay_out([f"b{i}" for i in range(1, 14)], ["k1"])[0]
    for i, one in enumerate(holder.WINDOWS):
        side, chip = holder.WINDOW_MM, laid.get(one.name, "")
        fill = BLACK if one.role == "blocked" else PANEL
        box(axes, one.x_mm - side / 2, one.y_mm - side / 2, side, side, fill)
        if chip:
            box(axes, one.x_mm - 15, one.y_mm - 15, 30, 30, GLASS[i % 4], SOFT, alpha=0.72)
        said = {"open": "open", "blocked": "black"}.get(one.role, "" if chip else "no chip")
        say(axes, one.x_mm, one.y_mm + side / 2 + 3.5, said, 5.5, ha="center", color=SOFT)
        name = f"{one.name} {one.check}".strip()
        say(axes, one.x_mm - 17.8, one.y_mm, f"{name}  {chip}".strip(), 5.5, ha="center", rotation=90)
    say(axes, 0, -124, "Holder sheet for chips on a light panel", 8.5, ha="center", weight="bold")
    axes.plot([-50, 50], [-113, -113], color=INK, linewidth=0.8)
    for x in range(-50, 51, 10):
        axes.plot([x, x], [-113, -115], color=INK, linewidth=0.8)
    say(axes, 0, -108, "this bar must be 100 mm long", 6.5, ha="center")
    return figure


def phone_set_up() -> Figure:
    """The set-up from the side; heights not to scale."""
    figure, axes = figure_of(7.4, 3.7, (-200, 200), (-20, 180))
    box(axes, -100, 0, 200, 12, PANEL)
    box(axes, -150, 0, 46, 3, BLACK, None)
    box(axes, 104, 0, 46, 3, BLACK, None)
    for x in (-92, -2, 88):
        box(axes, x, 12, 4, 22, PALE)
    box(axes, -104, 34, 208, 2.4, BLACK, None)
    for x, mm, tone in ((-66, 6, 0), (-30, 25, 1), (40, 3, 2), (76, 12, 3)):
        box(axes, x - 9, 33.8, 18, 2.8, PANEL, None)
        box(axes, x - 15, 36.4, 30, mm, GLASS[tone], SOFT, alpha=0.9)
    box(axes, 3, 33.8, 18, 2.8, PANEL, None)
    box(axes, -14, 158, 28, 9, "#3a3a3a", None)
    box(axes, -4, 154, 8, 4, "#3a3a3a", None)
    for x in (-100, 100):
        axes.plot([0, x], [154, 37], color=FAINT, linewidth=0.8, linestyle=(0, (4, 4)))
    arrow(axes, (128, 36), (128, 154), both=True)
    say(axes, 133, 98, "500 mm\nor more")
    arrow(axes, (-112, 12), (-112, 34), both=True)
    say(axes, -116, 23, "20 to 30 mm", ha="right")
    say(axes, 18, 162, "camera: raw, fixed, exposure and\nwhite balance locked, HDR off")
    point(axes, "chip over its window", (-92, 112), (-36, 62), ha="right")
    point(axes, "holder: the sheet\non black card", (-122, 66), (-100, 36.5), ha="right")
    point(axes, "open window", (12, 84), (12, 37), ha="center")
    point(axes, "light panel", (0, -11), (0, 2), ha="center")
    point(axes, "black card or cloth round it", (96, -12), (125, 1))
    say(axes, -190, 166, "The room is dark.", color=SOFT)
    return figure


def found_windows() -> Figure:
    """A simulated photo, turned and a little aslant, with what the program found in it."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from PIL import Image

    from tests import photo_simulation as simulation
    from tintmix.chips.photo.load import open_photo
    from tintmix.chips.photo.reading import gather_holder

    rng = np.random.default_rng(29)
    shot = simulation.Shot(turn=-84.0, tilt=6.0, tilt_towards=40.0, blur=1.0, exposure=0.72)
    taken = simulation.photographed(rng, shot, simulation.draw_camera(np.random.default_rng(6)), rendered=True)
    photos = [
        open_photo(simulation.jpeg(lit, taken.camera, shot, rng), name)
        for lit, name in ((taken.chips, "chips.jpg"), (taken.bare, "bare.jpg"))
    ]
    sheet = gather_holder(*photos).sheet
    assert sheet is not None
    high, wide = photos[0].codes.shape[:2]
    figure, axes = figure_of(6.4, 4.8, (0, wide), (high, 0))
    axes.imshow(Image.open(io.BytesIO(simulation.jpeg(taken.chips, taken.camera, shot, rng))), interpolation="bilinear")
    for one in holder.WINDOWS:
        corners, (x, y) = sheet.pixels(one.corners_mm), sheet.pixels(np.array([one.x_mm, one.y_mm]))
        dark = one.role == "blocked"
        deep = float(taken.truth.get(one.name, np.ones(3)).mean()) < 0.3
        edge = {"open": "#c02020", "blocked": "#9a9a9a"}.get(one.role, "#f0f0f0" if deep else "#202020")
        axes.add_patch(Polygon(corners, closed=True, facecolor="none", edgecolor=edge, linewidth=1.2))
        said = {"open": "open", "blocked": "black"}.get(one.role, one.name)
        say(axes, x, y, said, 6.5, ha="center", color="#d0d0d0" if dark else edge)
    for dots, mark in enumerate(holder.MARKS_MM, 1):
        half = holder.RING_OUTER_MM / 2 + 2
        square = mark + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
        axes.add_patch(Polygon(sheet.pixels(square), closed=True, facecolor="none", edgecolor="#c02020", linewidth=1.4))
        x, y = sheet.pixels(mark + np.array([0.0, 27.0 if mark[1] > 0 else -27.0]))
        say(axes, x, y, f"mark {dots}", 6.5, ha="center", color="#e8e8e8")
    return figure


def where_on_the_chip() -> Figure:
    """A chip from above and cut through: measure in its middle, not at the rim."""
    figure, axes = figure_of(7.2, 2.6, (-4, 146), (-8, 46))
    box(axes, 4, 4, 32, 32, GLASS[1])
    axes.add_patch(
        Rectangle((7.5, 7.5), 25, 25, facecolor="none", edgecolor=SOFT, linewidth=0.7, linestyle=(0, (3, 3)))
    )
    axes.add_patch(Circle((20, 20), 6, facecolor="#ffffff", alpha=0.45, edgecolor=INK, linewidth=1.0))
    say(axes, 20, 41, "from above", ha="center", weight="bold")
    say(axes, 20, 20, "here", ha="center")
    point(axes, "rim: leave it out", (20, -3), (20, 5.5), ha="center")
    outline = [
        (62, 10),
        (118, 10),
        (118, 28.5),
        (116, 26),
        (112, 24.8),
        (106, 24.2),
        (74, 24.2),
        (68, 24.8),
        (64, 26),
        (62, 28.5),
    ]
    axes.add_patch(Polygon(outline, closed=True, facecolor=GLASS[1], edgecolor=SOFT, linewidth=0.7))
    say(axes, 90, 41, "cut through", ha="center", weight="bold")
    arrow(axes, (90, 10), (90, 24.2), both=True)
    say(axes, 91.5, 17, "its thickness", 8)
    point(axes, "the meniscus makes\nthe rim thicker", (122, 36), (117, 27), size=8)
    for x in (82, 86, 94, 98):
        arrow(axes, (x, -3), (x, 8.5), FAINT)
        arrow(axes, (x, 25.5), (x, 34), FAINT)
    say(axes, 66, 2, "light in", 8, color=SOFT)
    say(axes, 66, 33, "light through", 8, color=SOFT)
    return figure


def chip_on_tile() -> Figure:
    """A thin chip on a white tile under a colorimeter: light goes through it twice, and some leaves beside the opening."""
    figure, axes = figure_of(7.0, 3.5, (-66, 74), (-14, 56))
    box(axes, -50, -8, 100, 12, "#f6f6f4")
    box(axes, -30, 4.6, 60, 7, GLASS[1])
    box(axes, -34, 24, 18, 22, "#4a4a4a", None)
    box(axes, 16, 24, 18, 22, "#4a4a4a", None)
    box(axes, -34, 40, 68, 12, "#4a4a4a", None)
    say(axes, 0, 46, "instrument", ha="center", color="#f0f0f0")
    box(axes, -34, 11.6, 18, 12.4, "#4a4a4a", None)
    box(axes, 16, 11.6, 18, 12.4, "#4a4a4a", None)
    arrow(axes, (-11, 38), (-4, 12), "#c99a1a", wide=1.4)
    axes.plot([-4, -2.2], [12, 4.4], color="#c99a1a", linewidth=1.4)
    axes.plot([-2.2, 0.0], [4.4, 11.8], color="#3f7f6c", linewidth=1.4)
    arrow(axes, (0.0, 11.8), (4, 38), "#3f7f6c", wide=1.4)
    axes.plot([-2.2, 19], [4.4, 10.5], color="#3f7f6c", linewidth=1.0, linestyle=(0, (3, 3)))
    arrow(axes, (-16, 14.5), (16, 14.5), both=True)
    point(axes, "opening: at least four\ntimes the thickness", (38, 30), (12, 15), size=8)
    point(axes, "this light is lost", (38, 18), (19.5, 10.8), size=8)
    point(axes, "thin chip, 1 to 4 mm", (38, 8), (29, 8), size=8)
    point(axes, "white tile,\nread bare first", (53, -3), (49, -3), size=8)
    point(axes, "dry: air between\nwetted: a drop of oil", (-64, 20), (-29, 4.3), size=8)
    return figure
