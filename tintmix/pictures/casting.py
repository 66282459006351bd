"""A casting as it is seen: in one tint or in several side by side, and how far the light in it has gone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike
from scipy.ndimage import median_filter

from tintmix.numerals import capital, numeral, percent
from tintmix.optics.colour import screen
from tintmix.optics.detector import Light, eye
from tintmix.optics.spectrum import Array
from tintmix.pictures import words
from tintmix.pictures.errors import check_count
from tintmix.pictures.style import INK, MARGIN, SOFT, Page, Sheet, line_height, picture, round_ticks, wrapped
from tintmix.pigments.model import TintModel
from tintmix.pigments.painted import painted
from tintmix.shape.values import DARK, CastingShape, PathPicture

MOST_RECIPES = 6
_ALONE, _BESIDE, _MAP, _GAP = 5.5, 3.0, 3.2, 0.3
LEFT_OUT = (
    "Left out: light that the casting throws onto what it lies on, rough faces, bubbles, and all that stands around it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tinted:
    """A recipe to show: its caption, and its doses."""

    caption: str
    doses_phr: Mapping[str, float]


@picture
def casting_picture(
    model: TintModel,
    shape: CastingShape,
    recipes: Sequence[Tinted],
    reflectance: ArrayLike = 0.0,
    light: str | Light = "D65",
    observer: int = 10,
) -> Figure:
    """The casting in each recipe, side by side, to one scale. reflectance: of what is cast in. Raises ValueProblem."""
    check_count("recipes", recipes, MOST_RECIPES)
    path = shape.picture
    wide = _ALONE if len(recipes) == 1 else _BESIDE
    width = 2 * MARGIN + len(recipes) * (wide + _GAP) - _GAP
    white = eye(light, observer).bare
    seen = [painted(model, one.doses_phr, path, reflectance, light, observer) for one in recipes]
    named = light if isinstance(light, str) else light.name
    outside = any(not np.all(screen(xyz, white).inside_srgb) for xyz in seen)
    notes = [
        LEFT_OUT,
        *(["A screen cannot show all of these colours: the nearest that it can are drawn."] if outside else []),
    ]
    under = f"{capital(shape.seen_words)}. Light {named}, {observer}° observer. Bare light is white."
    title = "The casting in its tint" if len(recipes) == 1 else "The casting in each recipe"
    page = Page(width, title, [under], notes)
    high = wide * path.height / path.width
    captions = [wrapped(one.caption, "strong", wide, 2) for one in recipes]
    doses = [wrapped(capital(words.recipe(one.doses_phr)), "small", wide, 3) for one in recipes]
    top = page.top + 0.2
    names_top = top + high + 0.1
    doses_top = names_top + max(map(len, captions)) * line_height("strong")
    sheet = page.sheet(doses_top + max(map(len, doses)) * line_height("small") + 0.15)
    for i, xyz in enumerate(seen):
        left = MARGIN + i * (wide + _GAP)
        axes = sheet.bare(left, top, wide, high)
        axes.imshow(np.rint(screen(xyz, white).rgb * 255).astype(np.uint8), interpolation="bilinear", aspect="auto")
        axes.set_gid("casting")
        _bar_of_scale(sheet, path, left, top + high, wide)
        sheet.write(left, names_top, "\n".join(captions[i]), "strong")
        sheet.write(left, doses_top, "\n".join(doses[i]), "small", colour=SOFT)
    return sheet.figure


@picture
def paths_picture(shape: CastingShape, too_dark_mm: float | None = None, floor: float | None = None) -> Figure:
    """How far the light that is seen has gone in resin, beside the resin straight along the view. too_dark_mm: the length past
    which a tint lets less than `floor` of the light through, drawn as a line."""
    path = shape.picture
    dark = path.sees & (path.clear() < DARK)
    maps = (("as it is seen: the mean path of the light", path.mean_path_mm()), ("straight through", _straight(path)))
    longest = float(np.nanquantile(np.concatenate([np.nan_to_num(one).ravel() for _, one in maps]), 0.995))
    under = (
        f"Seen {shape.view_words}; the darker, the more resin. "
        f"Hatched: dark by its shape, in any tint ({percent(shape.dark_by_shape)} of what is seen of the casting)."
    )
    notes = []
    if too_dark_mm is not None and floor is not None and 0 < too_dark_mm < longest:
        notes.append(
            f"White line: {numeral(too_dark_mm, 3)} mm of this tint let {percent(floor)} of the light through; within, less."
        )
    width = 2 * MARGIN + 2 * _MAP + 2 * _GAP + 0.7
    page = Page(width, "How far the light has gone in the casting", [under], notes)
    high = _MAP * path.height / path.width
    heads_top = page.top + 0.18
    top = heads_top + line_height("head") + 0.05
    sheet = page.sheet(top + high + 0.25)
    for i, (head, lengths) in enumerate(maps):
        left = MARGIN + i * (_MAP + _GAP)
        sheet.write(left, heads_top, head, "head")
        axes = sheet.bare(left, top, _MAP, high)
        drawn = axes.imshow(lengths, cmap="Greys", vmin=0.0, vmax=longest, interpolation="none", aspect="auto")
        if i == 0 and dark.any():
            axes.contourf(dark.astype(float), levels=[0.5, 1.5], colors="none", hatches=["//////"])
        if notes and too_dark_mm is not None and np.nanmax(lengths) > too_dark_mm:
            # Pixels that a few stray paths reach would draw as many rings; a median takes single ones away.
            calm = median_filter(np.where(dark, 0.0, np.nan_to_num(lengths)), size=5)
            axes.contour(calm, levels=[too_dark_mm], colors="#ffffff", linewidths=1.2)
        _bar_of_scale(sheet, path, left, top + high, _MAP)
    _legend(sheet, drawn, MARGIN + 2 * (_MAP + _GAP), top, high)
    return sheet.figure


def _straight(path: PathPicture) -> Array:
    return np.where(path.sees, np.asarray(path.straight_mm, dtype=np.float64), np.nan)


def _bar_of_scale(sheet: Sheet, path: PathPicture, left: float, bottom: float, wide: float) -> None:
    """A bar of a round length in mm at the lower left of a picture so many inches wide."""
    across_mm = path.width * path.pixel_mm
    per_mm = wide / across_mm
    bar_mm = max(
        size for size in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500) if size <= max(across_mm / 4, 0.1)
    )
    y = bottom - 0.08
    sheet.line([left + 0.06, left + 0.06 + bar_mm * per_mm], [y, y], color=INK, linewidth=1.6)
    sheet.write(left + 0.06, y - 0.03, f"{numeral(bar_mm)} mm", "small", va="bottom")


def _legend(sheet: Sheet, drawn: Any, left: float, top: float, high: float) -> None:
    axes = sheet.bare(left, top, 0.16, high)
    bar = sheet.figure.colorbar(drawn, cax=axes, ticks=round_ticks(6))
    bar.outline.set_linewidth(0.6)
    sheet.write(left, top - line_height("small") - 0.02, "mm", "small")
