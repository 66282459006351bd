"""One look for every picture: type, greys, sizes, and a sheet on which things are placed in inches from the top left.

Colours are judged against what surrounds them, so the sheet is a neutral grey, light enough for dark type (CIE L* 80),
and no picture uses a hue that does not stand for a tint. Everything else is told in greys, in line styles and in words.
"""

from __future__ import annotations

import re
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache, wraps
from typing import Any, Literal, ParamSpec, TypeVar, cast

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Text
from matplotlib.textpath import TextToPath
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from tintmix.numerals import capital
from tintmix.pictures.words import recipe
from tintmix.pigments.model import Look

SURROUND = "#c6c6c6"
"""CIE L* 80 in sRGB: a neutral surround."""
PAPER = "#dadada"
"""The ground of a graph, on which no tint is judged."""
INK = "#161616"
SOFT = "#454545"
FAINT = "#8c8c8c"
GRID = "#c9c9c9"
HATCHED: dict[str, Any] = {"facecolor": "#ababab", "edgecolor": INK, "hatch": "//////"}
"""What is out of bounds."""
BAND = "#a9a9a9"
"""Between which a curve lies, as far as the chips tell."""
RING: dict[str, Any] = {
    "linestyle": "none", "marker": "o", "markersize": 4.5, "markerfacecolor": "none", "markeredgecolor": INK,
    "markeredgewidth": 0.9,
}  # fmt: skip
DIAMOND: dict[str, Any] = {"linestyle": "none", "marker": "D", "markersize": 5.5, "color": INK}
"""A chip or pour, and one that is doubted or stands out."""
DOT: dict[str, Any] = {
    "linestyle": "none", "marker": "o", "markersize": 5.5, "color": INK, "markeredgecolor": "#ffffff", "markeredgewidth": 0.8,
}  # fmt: skip
"""A place on the part; its bar is drawn on white, so that it is seen on a band."""

DOTS_PER_INCH = 160
MARGIN = 0.45

Role = Literal["title", "head", "body", "small", "strong"]
SIZES: dict[Role, float] = {"title": 13.0, "head": 10.0, "body": 9.0, "small": 8.0, "strong": 9.0}
_BOLD: tuple[Role, ...] = ("title", "head", "strong")
_LINE = 1.32
"""Height of a line of type, in its size."""
_ASCENT, _HALF, _DESCENT = 0.98, 0.36, 0.24
"""From the top, the middle and the bottom of a line to where its letters stand, in its size."""

_TICKS = {
    "color": SOFT, "labelcolor": INK, "labelsize": SIZES["small"], "major.width": 0.6, "major.size": 3.0, "minor.size": 1.5,
}  # fmt: skip
_STYLE: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": SIZES["small"],
    "text.color": INK,
    "text.hinting": "none",
    "text.parse_math": False,
    "axes.facecolor": PAPER,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.labelsize": SIZES["small"],
    "axes.linewidth": 0.6,
    "axes.unicode_minus": True,
    "axes.axisbelow": True,
    **{f"{axis}tick.{key}": value for axis in "xy" for key, value in _TICKS.items()},
    "grid.color": GRID,
    "grid.linewidth": 0.6,
    "hatch.linewidth": 0.7,
    "hatch.color": INK,
    "lines.linewidth": 1.5,
    "lines.solid_capstyle": "butt",
    "svg.hashsalt": "tintmix",
    "svg.fonttype": "path",
    "pdf.fonttype": 42,
    "pdf.compression": 6,
    "image.composite_image": False,
    "path.simplify": True,
}

_LOCK = threading.RLock()
P = ParamSpec("P")
R = TypeVar("R")


@contextmanager
def drawing() -> Iterator[None]:
    """The look in force, whatever the maker's own matplotlib settings are; one thread at a time, since these are
    global.
    """
    with _LOCK, warnings.catch_warnings(), mpl.rc_context():
        # A name in a script that the typeface lacks is drawn as empty boxes; that is no reason to print a warning.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        warnings.filterwarnings("ignore", category=DeprecationWarning, module="matplotlib")
        mpl.rcdefaults()
        mpl.rcParams.update(cast(Any, _STYLE))
        yield


def picture(make: Callable[P, R]) -> Callable[P, R]:
    """A function that makes a figure, with the look in force while it does."""

    @wraps(make)
    def inside(*args: P.args, **kwargs: P.kwargs) -> R:
        with drawing():
            return make(*args, **kwargs)

    return inside


class Sheet:
    """A figure on which things are placed in inches, x from the left edge and y down from the top edge.

    >>> with drawing():
    ...     sheet = Sheet(4.0, 3.0)
    >>> sheet.figure.get_size_inches().tolist()
    [4.0, 3.0]
    """

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = float(width), float(height)
        self.figure = Figure(figsize=(self.width, self.height), dpi=DOTS_PER_INCH, facecolor=SURROUND)
        FigureCanvasAgg(self.figure)

    def graph(self, left: float, top: float, width: float, height: float) -> Axes:
        """Axes for a graph: a light ground, and lines only where values are read off."""
        axes = self._axes(left, top, width, height)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        axes.grid(True)
        return axes

    def bare(self, left: float, top: float, width: float, height: float) -> Axes:
        """Axes without ground, frame or ticks."""
        axes = self._axes(left, top, width, height)
        axes.set_facecolor("none")
        for spine in axes.spines.values():
            spine.set_visible(False)
        axes.set_xticks([])
        axes.set_yticks([])
        return axes

    def _axes(self, left: float, top: float, width: float, height: float) -> Axes:
        return self.figure.add_axes(
            (left / self.width, 1 - (top + height) / self.height, width / self.width, height / self.height)
        )

    def write(
        self, x: float, y: float, words: str, role: Role = "body", ha: str = "left", colour: str = INK, va: str = "top"
    ) -> list[Text]:
        """Lines of type at a place; `va` says whether their top, middle or bottom stands there. Lines stand on an even
        grid, whatever letters they hold, so that neighbours in a row stand level.
        """
        lines = words.split("\n")
        size, step = SIZES[role] / 72, line_height(role)
        first = {
            "top": _ASCENT,
            "center": _HALF - 0.5 * (len(lines) - 1) * _LINE,
            "bottom": -_DESCENT - (len(lines) - 1) * _LINE,
        }[va]
        weight = "bold" if role in _BOLD else "normal"
        how: dict[str, Any] = {"fontsize": SIZES[role], "fontweight": weight, "color": colour, "ha": ha}
        heights = [1 - (y + first * size + i * step) / self.height for i in range(len(lines))]
        return [
            self.figure.text(x / self.width, height, line, va="baseline", parse_math=False, **how)
            for height, line in zip(heights, lines, strict=True)
        ]

    def box(self, left: float, top: float, width: float, height: float, **how: Any) -> Rectangle:
        """A rectangle; without an edge unless `how` gives one."""
        settings: dict[str, Any] = {"linewidth": 0.0, "edgecolor": "none"} | how
        patch = Rectangle(
            (left / self.width, 1 - (top + height) / self.height), width / self.width, height / self.height,
            transform=self.figure.transFigure, **settings,
        )  # fmt: skip
        self.figure.add_artist(patch)
        return patch

    def line(self, xs: Sequence[float], ys: Sequence[float], **how: Any) -> Line2D:
        """A line through places."""
        settings: dict[str, Any] = {"color": SOFT, "linewidth": 0.7, "solid_capstyle": "butt"} | how
        drawn = Line2D(
            np.asarray(xs) / self.width, 1 - np.asarray(ys) / self.height, transform=self.figure.transFigure, **settings
        )
        self.figure.add_artist(drawn)
        return drawn


class Page:
    """What every picture has above and below: a title, what is shown under which conditions, and notes at the foot.

    What is drawn between them begins at `top`. `sheet` makes the sheet as high as what stands on it, once it is known where
    the notes begin; all in inches.
    """

    def __init__(self, width: float, title: str, under: Iterable[str], notes: Iterable[str]) -> None:
        inner = width - 2 * MARGIN
        self.width = width
        self._title = wrapped(title, "title", inner)
        self._under = [line for told in under for line in wrapped(told, "body", inner, 4)]
        self._notes = [line for told in notes for line in wrapped(told, "small", inner)]
        self._under_top = MARGIN + len(self._title) * line_height("title") + 0.03
        self.top = self._under_top + len(self._under) * line_height("body")

    @classmethod
    def of_look(cls, look: Look, width: float, under: str, notes: Sequence[str]) -> Page:
        """Of a tint: its doses are the title, its light and observer stand under it, what a look warns of among the notes."""
        conditions = f"Light {look.light}, {look.observer}° observer."
        told = [*notes, *map(capital, look.warnings)]
        return cls(width, capital(recipe(look.doses_phr)), [f"{under} {conditions}"], told)

    def sheet(self, notes_top: float) -> Sheet:
        """The sheet, with all that is written above and below."""
        sheet = Sheet(self.width, notes_top + len(self._notes) * line_height("small") + MARGIN - 0.08)
        sheet.write(MARGIN, MARGIN, "\n".join(self._title), "title")
        sheet.write(MARGIN, self._under_top, "\n".join(self._under), "body", colour=SOFT)
        sheet.write(MARGIN, notes_top, "\n".join(self._notes), "small", colour=SOFT)
        return sheet


def paint(axes: Axes, row: NDArray[np.uint8], low: float, high: float) -> None:
    """A row of screen colours from low to high, as high as the axes."""
    axes.imshow(row, extent=(low, high, 0.0, 1.0), aspect="auto", interpolation="none")


def round_ticks(most: int, **how: Any) -> MaxNLocator:
    """Ticks at 1, 2, 5 and their tens, at most so many."""
    return MaxNLocator(nbins=most, steps=[1, 2, 5, 10], **how)


# Type -----------------------------------------------------------------------------------------------------------------


def line_height(role: Role) -> float:
    """Inches from one line of type to the next."""
    return SIZES[role] * _LINE / 72


@cache
def width_of(words: str, role: Role = "body") -> float:
    """Inches that a line of type is wide."""
    font = FontProperties(family="DejaVu Sans", size=SIZES[role], weight="bold" if role in _BOLD else "normal")
    width, _, _ = TextToPath().get_text_width_height_descent(words, font, ismath=False)
    return float(width) / 72


def wrapped(words: str, role: Role, width: float, most: int | None = None) -> list[str]:
    """Lines of type no wider than `width` inches; from line `most` on, what is left over is cut and says so with an
    ellipsis.

    >>> wrapped("a name", "body", 3.0)
    ['a name']
    >>> len(wrapped("a long name for a thin place", "body", 0.8, most=2))
    2
    """
    lines: list[str] = []
    line = ""
    for word in filter(None, re.split("[ \t\n]", words)):  # not where a space does not break
        for i, piece in enumerate(_pieces(word, role, width)):
            joined = f"{line} {piece}" if line and not i else line + piece
            if line and width_of(joined, role) > width:
                lines.append(line)
                joined = piece
            line = joined
    if line:
        lines.append(line)
    if most is not None and len(lines) > most:
        lines = [*lines[: most - 1], _cut(lines[most - 1] + "…", role, width)]
    return lines or [""]


def shortened(words: str, role: Role, width: float) -> str:
    """One line no wider than `width` inches, cut with an ellipsis where it must be."""
    flat = " ".join(words.split())
    return flat if width_of(flat, role) <= width else _cut(flat + "…", role, width)


def _cut(words: str, role: Role, width: float) -> str:
    body = words.rstrip("…")
    while body and width_of(body + "…", role) > width:
        body = body[:-1]
    return body.rstrip() + "…"


def _pieces(word: str, role: Role, width: float) -> Iterator[str]:
    """A word, cut where it is wider than a whole line."""
    while width_of(word, role) > width and len(word) > 1:
        count = next((n for n in range(len(word) - 1, 1, -1) if width_of(word[:n], role) <= width), 1)
        yield word[:count]
        word = word[count:]
    yield word


# Places ---------------------------------------------------------------------------------------------------------------


def spread(wanted: Sequence[float], size: Sequence[float], low: float, high: float) -> list[float]:
    """Centres as near as can be to those wanted (in rising order), so that things of these sizes neither overlap nor
    leave low to high.

    Neighbours that would overlap move apart together, in the least squares (the pool of adjacent violators). Where
    there is not room for all, they are set side by side from `low` on.

    >>> spread([1.0, 1.1, 5.0], [1.0, 1.0, 1.0], 0.0, 6.0)
    [0.55, 1.55, 5.0]
    """
    half = np.asarray(size, dtype=np.float64) / 2
    offset = np.concatenate([[0.0], np.cumsum(half[:-1] + half[1:])]) if len(half) else half
    goal = np.asarray(wanted, dtype=np.float64) - offset
    pools: list[list[float]] = []
    for value in goal:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            before = pools[-1]
            before[0] = (before[0] * before[1] + mean * count) / (before[1] + count)
            before[1] += count
    settled = np.repeat([mean for mean, _ in pools], [int(count) for _, count in pools])
    if len(half):
        settled = np.maximum(np.minimum(settled, high - half[-1] - offset[-1]), low + half[0])
    return [round(float(value), 9) for value in settled + offset]
