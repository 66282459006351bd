"""What a casting's picture shows, in words: for those who do not see it, and for those who do."""

from __future__ import annotations

import numpy as np

from tintmix.numerals import capital, listed, numeral, percent
from tintmix.page.casting.wish import Casting, Seen, casting_words, view_words
from tintmix.shape.values import DARK, POINTS, CastingShape, PathPicture

LIT_WORDS = {"panel": "over a light panel", "sky": "in the light of the sky"}
_ALIKE = 1.1
"""Paths that differ by less are told as one: the strip between them is one colour."""
LEFT_OUT = (
    "caustics: the bright lines that the casting throws on the table",
    "rough or scratched faces: all are taken as polished, with air behind them",
    "bubbles, haze and dust in the resin",
    "a table close behind: the panel is taken as large, and everything beside and before it as dark",
)
"""What a picture does not show, and a casting may."""


def shape_words(wish: Casting, shape: CastingShape) -> str:
    """The same of the casting as it was traced: the numbers are those of its places."""
    return picture_words(wish, wish.seen, shape.picture, shape)


def picture_words(wish: Casting, seen: Seen, picture: PathPicture, shape: CastingShape | None = None) -> str:
    """What, from where, how far the light of its places has gone, and what is dark by its shape. shape: what was found out of
    the picture already."""
    said = [f"{capital(casting_words(wish))}, seen {view_words(seen)}, {LIT_WORDS[seen.lit]}."]
    clear, path = picture.clear()[picture.sees], picture.mean_path_mm()[picture.sees]
    light = clear >= DARK
    if not light.any():
        return f"{said[0]} From there all of it is dark by its shape, in any tint and in none."
    known = [] if shape is None else [one.path_mm.mean for one in shape.places if one.name in POINTS and one.path_mm]
    palest, typical, deepest = (
        known if len(known) == len(POINTS) else np.quantile(path[light], list(POINTS.values())).tolist()
    )
    if deepest < _ALIKE * palest:
        said.append(f"The light that is seen has gone about {numeral(typical, 3)} mm in the resin, everywhere.")
    else:
        ends = {"where it is palest": palest, "where it is typical": typical, "where it is deepest": deepest}
        if typical < _ALIKE * palest:
            ends = {"over most of it": typical, "where it is deepest": deepest}
        elif deepest < _ALIKE * typical:
            ends = {"where it is palest": palest, "over most of it": typical}
        told = (f"{numeral(mm, 3)} mm {where}" for where, mm in ends.items())
        said.append(f"The light that is seen has gone {listed(told)}.")
    dark = float(1 - light.mean()) if shape is None else shape.dark_by_shape
    if dark >= 0.005:
        said.append(f"{percent(dark)} of it is dark by its shape, whatever the tint{_where(picture, light)}.")
    return " ".join(said)


def _where(picture: PathPicture, light: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> str:
    """Whether what is dark lies about the middle or towards the rim, where it plainly does."""
    down, across = np.nonzero(picture.sees)
    off = np.hypot(across - across.mean(), down - down.mean())
    if light.all():
        return ""
    share = float(np.median(off[~light]) / max(np.median(off[light]), 1e-9))
    return ", mostly towards its rim" if share > 1.5 else ", mostly about its middle" if share < 1 / 1.5 else ""
