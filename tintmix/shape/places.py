"""Places of a casting as they are seen: the palest, a typical one, the deepest, and points that were named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.numerals import numeral
from tintmix.shape.errors import bad_point
from tintmix.shape.histogram import histogram, length_bins, weighted_quantiles
from tintmix.shape.light import surroundings
from tintmix.shape.picture import Tracing, sent, straight_depth
from tintmix.shape.values import DARK, POINTS, PathSpread, Place
from tintmix.shape.walk import BATCH, MEETINGS, MOST_FACES

Floats = NDArray[np.floating]

_SHARE = 0.02
"""Of those pixels, as many as make a place."""
_FEWEST = 12
DISC_MM = 1.0
"""Radius of a named point."""
_ROUNDS = 32
_RAYS = 1536
"""Of a place: so many rays, in so many rounds, whose scatter tells the standard error. A light of 0.5 is known to 0.002 so."""
_BESIDE_MM = 2.0
"""A point may lie so far off the casting's box: it was picked by hand, or rounded."""


def dark_by_shape(tracing: Tracing) -> tuple[float, NDArray[np.bool_]]:
    """The part of the casting's area that is dark by its shape, and the pixels (H, W) that are whole and are not."""
    picture = tracing.picture()
    whole = tracing.whole()
    if not whole.any():
        whole = picture.sees
    light = picture.clear() >= DARK
    return float(1 - light[whole].mean()) if whole.any() else 0.0, whole & light


def usual_places(tracing: Tracing) -> list[Place]:
    """Palest, typical and deepest; none where the whole casting is dark by its shape.

    The pixels are chosen by the picture, and then traced anew: chosen by the same rays they would look paler and deeper than
    they are.
    """
    picture = tracing.picture()
    _, bright = dark_by_shape(tracing)
    pixels = np.flatnonzero(bright.ravel())
    mean = picture.mean_path_mm().ravel()[pixels]
    pixels, mean = pixels[np.isfinite(mean)], mean[np.isfinite(mean)]
    if not len(pixels):
        return []
    count = min(len(pixels), max(_FEWEST, round(_SHARE * len(pixels))))
    chance = np.random.Generator(np.random.SFC64([tracing.seed, 1 << 21]))
    # Of pixels that are alike, some from everywhere rather than the first ones.
    shuffled = chance.permutation(len(pixels))
    places = []
    for number, (name, point) in enumerate(POINTS.items()):
        away = np.round(np.abs(mean - np.quantile(mean, point))[shuffled], 3)
        chosen = pixels[shuffled[np.argsort(away, kind="stable")[:count]]]
        pixel = np.tile(chosen, max(1, -(-_RAYS // len(chosen))))
        places.append(_place(tracing, name, number, pixel % tracing.frame.width, pixel // tracing.frame.width, 1.0))
    return places


def named_places(tracing: Tracing, points_mm: Mapping[str, tuple[float, float, float]]) -> list[Place]:
    """Discs of 1 mm radius about points of the mesh, as they are seen. Raises ValueProblem for one beside the casting."""
    return [point_place(tracing, name, point, len(POINTS) + i) for i, (name, point) in enumerate(points_mm.items())]


def point_place(tracing: Tracing, name: str, point_mm: tuple[float, float, float], number: int = 99) -> Place:
    """One of them; number: of its chance."""
    if name.lower() in POINTS:
        raise bad_point(name, "the program names a place so; another name is needed")
    if not name.isprintable() or _is_number(name):
        raise bad_point(
            name, "a place's name is words in one line, for a number is a thickness in mm; another name is needed"
        )
    if not np.all(np.isfinite(point_mm)):
        raise bad_point(name, "it is not three finite numbers")
    scene, frame = tracing.scene, tracing.frame
    off = float(np.max(np.abs(np.asarray(point_mm) - scene.middle_mm) - scene.half_mm))
    if off > _BESIDE_MM:
        raise bad_point(name, f"it lies {numeral(off, 3)} mm beside the box that holds the casting")
    across, down = frame.place_of(point_mm)
    if not straight_depth(scene, frame, np.array([across]), np.array([down]))[1][0]:
        raise bad_point(name, "it lies beside the casting, as it is seen from there")
    # Evenly over the disc: rings of equal area, and an angle that never comes twice.
    turn = np.arange(_RAYS) * (np.pi * (3 - np.sqrt(5)))
    reach = DISC_MM / frame.pixel_mm * np.sqrt((np.arange(_RAYS) + 0.5) / _RAYS)
    x, y = across + reach * np.cos(turn), down + reach * np.sin(turn)
    meets = straight_depth(scene, frame, x, y)[1]
    place = _place(tracing, name, number, x[meets], y[meets], 0.0)
    return replace(place, point_mm=(float(point_mm[0]), float(point_mm[1]), float(point_mm[2])))


def _is_number(name: str) -> bool:
    """Whether a name could be read as so many millimetres."""
    try:
        float(name.lower().removesuffix("mm").replace(",", "."))
    except ValueError:
        return False
    return True


def _place(tracing: Tracing, name: str, number: int, across: NDArray[Any], down: NDArray[Any], jitter: float) -> Place:
    """The mean mixture of what rays see from these places of the picture, in pixels, each moved by up to `jitter` each time."""
    scene, frame = tracing.scene, tracing.frame
    chance = np.random.Generator(np.random.SFC64([tracing.seed, 1 << 22, number]))
    lengths, meetings, weights = [], [], []
    rounds = np.zeros(_ROUNDS)
    rays = 0
    for i in range(_ROUNDS):
        for start in range(0, len(across), BATCH):
            part = slice(start, start + BATCH)
            moved = chance.random((len(across[part]), 2)) * jitter
            ends = sent(scene, frame, across[part] + moved[:, 0], down[part] + moved[:, 1], chance, tracing.again)
            seen = surroundings(tracing.lit, ends.direction, frame.view) * ends.weight
            comes = np.flatnonzero(seen > 0)
            lengths.append(ends.length_mm[comes])
            meetings.append(ends.meetings[comes])
            weights.append(seen[comes])
            rounds[i] += seen.sum(dtype=np.float64)
            rays += len(ends.met)
    length, weight = (np.concatenate(one).astype(np.float64) for one in (lengths, weights))
    bins = length_bins(length, weight, MOST_FACES * scene.diagonal_mm)
    mixture = histogram(length, np.concatenate(meetings), weight, bins, MEETINGS) / rays
    used = mixture.any(axis=0)
    depth = straight_depth(scene, frame, across + jitter / 2, down + jitter / 2)[0]
    of_clear = float(mixture.sum())
    return Place(
        name=name,
        path_mm=_spread(length, weight),
        straight_mm=float(depth.mean()),
        standard_error=float(rounds.std(ddof=1) / len(across) / np.sqrt(_ROUNDS)),
        of_clear=of_clear,
        dark=of_clear < DARK,
        lengths_mm=tuple(bins[used].tolist()),
        weights=tuple(tuple(row[used].tolist()) for row in mixture),
    )


def _spread(lengths: Floats, weights: Floats) -> PathSpread | None:
    if not len(lengths):
        return None
    p5, median, p95 = weighted_quantiles(lengths, weights, (0.05, 0.5, 0.95))
    return PathSpread(p5=p5, median=median, mean=float(np.average(lengths, weights=weights)), p95=p95)
