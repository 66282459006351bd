"""Where the descents start: a straight-line guess in three channels, and shares led by one pigment or another."""

from __future__ import annotations

import numpy as np

from tintmix.optics.absorption import LN10
from tintmix.optics.colour import xyz_of_lab
from tintmix.optics.light import through_with_slope
from tintmix.optics.spectrum import Array
from tintmix.recipes.search.aim import Aim, Place
from tintmix.recipes.search.forward import Indices, of_every_pigment

STARTS = 4
"""Of each subset: the straight-line guess and three shares (see `starts`). tests/benchmarks give a general solver four too."""
_LEAD = 0.8
"""Share of the darkening that the leading pigment has; the others share the rest."""
_DARKEST = 1e-4
"""A channel of the target below this part of the bare light is taken as this: logarithms of nothing lead nowhere."""


def starts(aim: Aim, subsets: Indices) -> Array:
    """Start doses (4 n, m) for subsets (n, m), four a subset, in their order.

    Each is a direction in dose space, scaled until the thickest coloured section is as light as its target: from a
    start that is far too dark there is no slope to follow, for black looks like black. Directions: the non-negative
    least-squares answer of three-channel Beer-Lambert (wrong, but a good guess of the shares), then shares of the
    darkening led by one pigment.
    """
    n, m = subsets.shape
    pull, wanted = _channels(aim)
    # Darkening of the mean channel at the thickest coloured section, per phr.
    reference = int(np.argmax([place.section.thickness_mm for place in aim.places]))
    strength = np.maximum(pull[reference].mean(axis=0), 1e-12)[subsets]
    shares = np.repeat(_shares(m)[None], n, axis=0)
    directions = np.empty((n, STARTS, m))
    directions[:, 1:] = shares / strength[:, None]
    directions[:, 0] = _straight_line(pull, wanted, subsets) + 1e-3 / strength
    columns = np.repeat(subsets, STARTS, axis=0)
    flat = directions.reshape(-1, m)
    scale = _as_light_as(aim, aim.places[reference], float(aim.target_lab[reference][0]), flat, columns)
    # One pigment has no shares: it starts at the target's lightness, and well to both sides of it.
    if m == 1:
        scale = scale * np.tile([1.0, 0.5, 1.5, 0.15], n)
    return np.minimum(flat * scale[:, None], aim.upper[columns])


def _shares(m: int) -> Array:
    """Three sets of shares of m pigments (3, m), each summing to one."""
    if m == 1:
        return np.ones((3, 1))
    led = np.full((3, m), (1 - _LEAD) / (m - 1))
    led[range(3), np.linspace(0, m - 1, 3).round().astype(int)] = _LEAD
    if m == 2:
        led[1] = 0.5
    return led


def _channels(aim: Aim) -> tuple[Array, Array]:
    """Slope (C, 3, P) of −ln X, −ln Y, −ln Z by dose in the clear resin, and how far each must fall (C, 3)."""
    pigments = len(aim.model.pigments)
    pull = np.empty((len(aim.places), 3, pigments))
    wanted = np.empty((len(aim.places), 3))
    for s, place in enumerate(aim.places):
        section = place.section
        base = aim.model.mean_resin.at(aim.model.base_per_mm[None], section.thickness_mm)[0]
        factor, gain = through_with_slope(base, section.thickness_mm, aim.model.refractive_index, section.ground)
        clear = np.maximum(factor @ aim.detector.weights, 1e-12)
        by_dose = (gain @ place.into_slope).reshape(pigments, 3).T
        pull[s] = -by_dose / clear[:, None]
        goal = np.maximum(xyz_of_lab(aim.target_lab[s], aim.detector.bare), _DARKEST * aim.detector.bare)
        wanted[s] = np.log(clear / goal)
    return pull, wanted


def _straight_line(pull: Array, wanted: Array, subsets: Indices) -> Array:
    """Non-negative doses (n, m) that come nearest in three channels, by dropping what turns negative."""
    rows = pull.reshape(-1, pull.shape[-1])
    normal = rows.T @ rows
    right = rows.T @ wanted.ravel()
    matrix = normal[subsets[:, :, None], subsets[:, None, :]]
    diagonal = np.arange(subsets.shape[1])
    # A ridge of 1 %: pigments that look alike share, and none goes far below zero. Where no light comes at all, nothing pulls.
    matrix[:, diagonal, diagonal] = 1.01 * matrix[:, diagonal, diagonal] + 1e-300
    goal = right[subsets]
    kept = np.ones(subsets.shape, dtype=bool)
    for _ in range(subsets.shape[1]):
        held = np.where(kept[:, :, None] & kept[:, None, :], matrix, 0.0)
        held[:, diagonal, diagonal] += ~kept
        doses = np.linalg.solve(held, np.where(kept, goal, 0.0)[:, :, None])[..., 0]
        negative = kept & (doses < 0)
        if not negative.any():
            break
        kept &= ~negative
    return np.maximum(np.where(kept, doses, 0.0), 0.0)


def _as_light_as(aim: Aim, place: Place, lightness: float, directions: Array, columns: Indices) -> Array:
    """Multipliers (B,) at which the section's Y is that of lightness L*, by Newton in ln Y from the light side.

    ln Y falls along the ray and is convex, so that Newton's steps from zero never overshoot.
    """
    bare = aim.detector.bare
    goal_y = xyz_of_lab(np.array([lightness, 0.0, 0.0]), bare)[1]
    along = of_every_pigment(directions, columns, len(aim.model.pigments)) @ aim.model.absorptivity
    section, weights = place.section, aim.detector.weights[:, 1]
    base = aim.model.mean_resin.at(aim.model.base_per_mm[None], section.thickness_mm)
    scale = np.zeros(len(directions))
    goal = 0.0
    for turn in range(5):
        per_mm = scale[:, None] * along + base
        factor, gain = through_with_slope(per_mm, section.thickness_mm, aim.model.refractive_index, section.ground)
        seen_y = np.maximum(factor @ weights, 1e-300)
        if turn == 0:
            # A target lighter than the clear resin: start a breath darker than it.
            goal = np.log(np.minimum(np.maximum(goal_y, _DARKEST * bare[1]), 0.95 * seen_y))
        gain *= along
        fall = (-LN10 * section.thickness_mm * (gain @ weights)) / seen_y
        scale += np.maximum((goal - np.log(seen_y)) / np.minimum(fall, -1e-12), 0.0)
    return scale
