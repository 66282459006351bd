"""The pictures that show what hands do, and those beside the "?" of the page: a cup and its chips, a mould, a stock bottle,
L*a*b*, ΔE00, haze, an integrating sphere. Called by make_pictures.py. All of it is drawn; colours are worked out by tintmix.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from bench_pictures import BLACK, GLASS, PALE, PANEL, WHITE, arrow, box, figure_of, point, say
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon, Wedge

from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array
from tintmix.pictures.style import FAINT, INK, SOFT

LIQUID = "#bcd9cd"
PIGMENT = "#1d6f5c"
TOUCHING = (70.0, -14.0, -4.0)
"""A tint of the demo's kind, from which pairs part."""


def all_of_them() -> dict[str, Callable[[], Figure]]:
    """Name of the file → what draws it."""
    return {
        "one-cup.png": one_cup,
        "cast-a-chip.png": cast_a_chip,
        "bottle.png": bottle,
        "what-is-lab.png": what_is_lab,
        "what-is-delta-e.png": what_is_delta_e,
        "what-is-haze.png": what_is_haze,
        "what-is-a-sphere.png": what_is_a_sphere,
    }


def _pot(axes: Axes, x: float, y: float, wide: float, high: float, filled: float, colour: str = LIQUID) -> None:
    """A cup from the side, filled to a part of its height."""
    lean = 0.12 * wide
    level = lean * filled
    inside = [
        (x + lean, y),
        (x + wide - lean, y),
        (x + wide - lean + level, y + filled * high),
        (x + lean - level, y + filled * high),
    ]
    axes.add_patch(Polygon(inside, closed=True, facecolor=colour, edgecolor="none"))
    rim = [(x, y + high), (x + lean, y), (x + wide - lean, y), (x + wide, y + high)]
    axes.plot(*zip(*rim, strict=True), color=INK, linewidth=1.2)


def one_cup() -> Figure:
    """One cup, a thin and a thick chip of it, and the casting that is asked about."""
    figure, axes = figure_of(7.2, 2.7, (0, 150), (-8, 48.5))
    _pot(axes, 4, 8, 26, 26, 0.62, GLASS[1])
    say(axes, 17, 42, "one cup, mixed by eye", ha="center", weight="bold")
    arrow(axes, (34, 20), (45, 20))
    for x, mm, tone in ((50, 3, 0), (72, 12, 1)):
        box(axes, x, 8, 17, mm, GLASS[tone])
        say(axes, x + 8.5, 2.5, f"{mm} mm", ha="center")
    say(axes, 69.5, 42, "two chips of it, cured and read", ha="center", weight="bold")
    say(axes, 69.5, -4, "one is enough; a second usually halves the doubt", 8, ha="center", color=SOFT)
    arrow(axes, (94, 20), (105, 20))
    axes.add_patch(
        Polygon(
            [(110, 8), (146, 8), (138, 34), (118, 34)], closed=True, facecolor=GLASS[3], edgecolor=SOFT, linewidth=0.7
        )
    )
    arrow(axes, (128, 8.6), (128, 33.6), WHITE, both=True)
    say(axes, 129.5, 21, "60 mm?", color=WHITE)
    say(axes, 128, 42, "how dark will this be?", ha="center", weight="bold")
    return figure


def cast_a_chip() -> Figure:
    """A chip's way: a level mould, poured to its thickness, cured beside the casting, measured in its middle."""
    figure, axes = figure_of(7.6, 3.0, (0, 160), (-10, 53))
    for x, title in ((24, "1  pour"), (77, "2  cure, take out"), (132, "3  measure, read")):
        say(axes, x, 48, title, ha="center", weight="bold")
    # The mould, on a level plate, with what is poured in.
    box(axes, 3, 6, 42, 3, PALE)
    for x in (6, 38):
        box(axes, x, 9, 4, 16, "#b9b9b9")
    box(axes, 10, 9, 28, 2, "#b9b9b9")
    box(axes, 10, 11, 28, 9, GLASS[1], None)
    axes.plot([10, 38], [20, 20], color=SOFT, linewidth=0.7)
    _pot(axes, 14, 30, 16, 12, 0.5, GLASS[1])
    arrow(axes, (24, 29), (24, 21.5))
    point(axes, "to the thickness\nthat is wanted", (36, 30), (37, 20.4), size=8)
    point(axes, "level, clean, dry", (24, -5), (24, 6), ha="center", size=8)
    # Out of it.
    box(axes, 62, 12, 30, 9, GLASS[1])
    say(axes, 77, 32, "as the casting is cured:\nas warm, as long", 8, ha="center")
    say(axes, 77, 4, "flat and clear on both faces;\nname and thickness on its edge", 8, ha="center")
    # The calliper in its middle.
    box(axes, 114, 14, 34, 9, GLASS[1])
    for y, way in ((23.2, 1), (13.8, -1)):
        axes.add_patch(
            Polygon(
                [(131, y), (128.5, y + 8 * way), (133.5, y + 8 * way)],
                closed=True,
                facecolor="#6b6b6b",
                edgecolor="none",
            )
        )
    say(axes, 131, 37, "in its middle, to 0.05 mm", 8, ha="center")
    say(axes, 131, -4, "read it where it was measured", 8, ha="center")
    arrow(axes, (48, 16), (58, 16))
    arrow(axes, (96, 16), (106, 16))
    return figure


def bottle() -> Figure:
    """A stock bottle 1+50: what goes on the scale, in which order."""
    figure, axes = figure_of(7.6, 2.7, (0, 168), (-12, 47.5))
    steps = (
        ("empty bottle, zero", "0.00 g", 0.0, 0.0), ("pigment", "0.40 g", 0.08, 0.0), ("zero", "0.00 g", 0.08, 0.0),
        ("carrier", "20.00 g", 0.08, 0.62), ("stir, label, keep", "", 0.0, 0.7),
    )  # fmt: skip
    for i, (title, shown, pigment, carrier) in enumerate(steps):
        x = 5 + 33 * i
        if shown:
            box(axes, x - 2, 0, 28, 7, "#4a4a4a", None)
            say(axes, x + 12, 3.4, shown, 8, ha="center", color="#f0f0f0")
        outline = [
            (x + 4, 8),
            (x + 4, 28),
            (x + 9, 33),
            (x + 9, 37),
            (x + 15, 37),
            (x + 15, 33),
            (x + 20, 28),
            (x + 20, 8),
        ]
        axes.add_patch(Polygon(outline, closed=True, facecolor=WHITE, edgecolor=INK, linewidth=1.0))
        mixed = "#7fb5a6" if i == len(steps) - 1 else LIQUID
        if carrier:
            box(axes, x + 4.4, 8.4, 15.2, 19 * (carrier + pigment), mixed, None)
        if pigment:
            box(axes, x + 4.4, 8.4, 15.2, 19 * pigment, PIGMENT, None)
        say(axes, x + 12, 43, f"{i + 1}  {title}", ha="center", weight="bold", size=8)
    say(axes, 149, 3.4, "azure 1+50\nlot, date", 8, ha="center")
    say(
        axes,
        84,
        -8,
        "1+50: one part of pigment in 50 parts, by mass, of the part of the resin that takes pigment",
        8,
        ha="center",
        color=SOFT,
    )
    return figure


def what_is_lab() -> Figure:
    """The circle of a* and b* at one lightness, and the bar of L*."""
    figure, axes = figure_of(4.6, 2.9, (-72, 112), (-58, 58))
    reach = np.linspace(-45, 45, 91)
    a, b = np.meshgrid(reach, reach)
    inside = np.hypot(a, b) <= 45
    lab = np.stack([np.full(a.shape, 70.0), a, b], axis=-1)
    colours = np.ones((*a.shape, 4))
    colours[..., :3] = _seen(lab)
    colours[..., 3] = inside
    axes.imshow(colours, extent=(-45, 45, -45, 45), origin="lower", interpolation="bilinear")
    axes.add_patch(Circle((0, 0), 45, facecolor="none", edgecolor=SOFT, linewidth=0.8))
    axes.plot([-45, 45], [0, 0], color=INK, linewidth=0.7)
    axes.plot([0, 0], [-45, 45], color=INK, linewidth=0.7)
    for x, y, said, ha in (
        (-48, 0, "green\na* minus", "right"),
        (48, 0, "red\na* plus", "left"),
        (0, 52, "yellow, b* plus", "center"),
        (0, -52, "blue, b* minus", "center"),
    ):
        say(axes, x, y, said, 8, ha=ha)
    greys = _seen(np.column_stack([np.linspace(0, 100, 60), np.zeros(60), np.zeros(60)]))
    axes.imshow(greys[:, None, :], extent=(88, 98, -45, 45), origin="lower", interpolation="bilinear")
    say(axes, 93, 52, "L* 100", 8, ha="center")
    say(axes, 93, -52, "L* 0", 8, ha="center")
    axes.set_aspect("equal")
    axes.set_xlim(-72, 112)
    axes.set_ylim(-58, 58)
    return figure


def what_is_delta_e() -> Figure:
    """Pairs that touch, so far apart."""
    figure, axes = figure_of(4.6, 1.6, (0, 92), (0, 32))
    for i, wanted in enumerate((1.0, 2.0, 5.0)):
        x = 3 + 30 * i
        pair = np.array([TOUCHING, _apart(wanted)])
        for side, colour in enumerate(_seen(pair)):
            box(axes, x + 13 * side, 8, 13, 21, tuple(colour), None)
        say(axes, x + 13, 3.6, f"ΔE00 {wanted:.0f}", ha="center")
    return figure


def _seen(lab: Array) -> Array:
    """sRGB, 0 to 1, of L*a*b* under D65."""
    white = eye("D65", 10).bare
    return screen(xyz_of_lab(lab, white), white).rgb


def _apart(wanted: float) -> tuple[float, float, float]:
    """A darker and stronger tint that is so far from TOUCHING, by bisection along one line."""
    way, low, high = np.array([-1.0, -0.9, -0.4]), 0.0, 30.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        far = float(delta_e00(np.array(TOUCHING), np.array(TOUCHING) + middle * way))
        low, high = (middle, high) if far < wanted else (low, middle)
    return tuple(float(one) for one in np.array(TOUCHING) + low * way)  # type: ignore[return-value]


def what_is_haze() -> Figure:
    """A printed word through a clear, a slightly hazy and a milky chip."""
    figure, axes = figure_of(4.6, 1.6, (0, 92), (0, 32))
    for i, (word, spread, veil) in enumerate(
        (("clear: sharp", 0.0, 0.0), ("slight: soft edges", 0.3, 0.2), ("milky: a veil", 0.55, 0.72))
    ):
        x = 2 + 30 * i
        box(axes, x, 8, 28, 21, WHITE)
        rng = np.random.default_rng(3)
        for dx, dy in [(0.0, 0.0)] if not spread else spread * rng.standard_normal((40, 2)):
            say(
                axes, x + 14 + dx, 18.5 + dy, "prism", 15, ha="center", alpha=1.0 if not spread else 0.07, weight="bold"
            )
        if spread and veil < 0.5:
            say(axes, x + 14, 18.5, "prism", 15, ha="center", alpha=0.55, weight="bold")
        box(axes, x, 8, 28, 21, "#f2f2f2", SOFT, alpha=veil)
        say(axes, x + 14, 3.6, word, 8, ha="center")
    return figure


def what_is_a_sphere() -> Figure:
    """Straight through, where what scatters is missed; and with a sphere, which gathers it."""
    figure, axes = figure_of(5.4, 2.1, (0, 108), (-2, 40))
    for x, title in ((2, "straight through"), (58, "with an integrating sphere")):
        say(axes, x + 23, 37, title, ha="center", weight="bold")
        box(axes, x, 16, 5, 6, "#c99a1a", None)
        arrow(axes, (x + 6, 19), (x + 13, 19), "#c99a1a", wide=1.4)
        box(axes, x + 14, 10, 4, 18, GLASS[1])
    for end in ((44, 19), (38, 33), (38, 5), (44, 27), (44, 11)):
        straight = end == (44, 19)
        arrow(
            axes,
            (20, 19),
            end if not straight else (41, 19),
            "#c99a1a" if straight else FAINT,
            wide=1.4 if straight else 0.9,
        )
    box(axes, 42, 16, 4, 6, BLACK, None)
    point(axes, "scattered light is missed", (24, 1.5), (35, 7), ha="center", size=8)
    axes.add_patch(Wedge((92, 19), 14, 190, 170, width=1.6, facecolor=PALE, edgecolor=SOFT, linewidth=0.7))
    axes.add_patch(Circle((92, 19), 12.4, facecolor=PANEL, edgecolor="none"))
    for end in ((103, 19), (98, 28), (98, 10), (102, 24), (102, 14)):
        arrow(axes, (77, 19), end, "#c99a1a", wide=0.9)
    axes.add_patch(Arc((92, 19), 25, 25, theta1=20, theta2=160, color=FAINT, linewidth=0.6))
    box(axes, 90, 3.2, 4, 2.6, BLACK, None)
    say(axes, 92, 0, "detector: all of it is gathered", 8, ha="center")
    return figure
