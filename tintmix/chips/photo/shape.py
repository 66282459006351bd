"""How bright panel and lens make each place of a photo: smooth surfaces through the places where that can be seen."""

from __future__ import annotations

import numpy as np

from tintmix.chips.photo.errors import NoPanel
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.glare import Glare
from tintmix.errors import FileProblem, Remedy
from tintmix.optics.spectrum import Array

_BLOCKS = 36
"""Along the longer side of the photo, where the panel is looked for around the chips."""
_DARKER = 0.06
"""A block this far below the surface through the brightest is a chip, a shadow or a holder, and no panel."""
_MOVED = 0.05
"""How far, one standard deviation, two photos of a panel may differ from place to place and be of one view."""
_ALIKE_LEAST = 0.25
"""The part of what is lit in both that must agree; the rest may be chips that nobody named."""
_SEEN_LEAST = 0.08
"""The part of the photo that must be bare panel for a surface to be laid through it."""


class Surface:
    """Values (3,) over the photo, through those at some places, in the least-squares sense.

    at: (N, 2) places, values: (N, 3). One or two places: level; three: a plane; four to eight: a plane and a bowl
    round the photo's middle (a lens darkens towards the corners); more: all terms of second order.
    """

    def __init__(self, at: Array, values: Array, photo: Photo) -> None:
        self._middle = np.array([photo.width, photo.height]) / 2
        self._scale = max(photo.width, photo.height) / 2
        n = len(at)
        self._terms = 1 if n < 3 else 3 if n == 3 else 4 if n < 9 else 6
        # A little stiffness: places in a row or close together must not tip the surface.
        stiff = 1e-3 * np.eye(self._terms)
        stiff[0, 0] = 0.0
        self._level = values.mean(axis=0)
        rows = np.concatenate([self._basis(at), np.sqrt(n) * stiff])
        wanted = np.concatenate([values - self._level, np.zeros((self._terms, values.shape[1]))])
        self._weights = np.linalg.lstsq(rows, wanted, rcond=None)[0]

    def _basis(self, points: Array) -> Array:
        x, y = np.moveaxis((points - self._middle) / self._scale, -1, 0)
        curved = [x**2 + y**2] if self._terms == 4 else [x**2, x * y, y**2]
        return np.stack([np.ones_like(x), x, y, *curved][: self._terms], axis=-1)

    def at(self, points: Array) -> Array:
        """Values (…, 3) at points (…, 2), x and y in pixels."""
        return np.asarray(self._level + self._basis(points) @ self._weights)


def around(photo: Photo, taken: list[Array], glare: Glare) -> tuple[Surface, float]:
    """The bare panel around the chips: a surface through the brightest parts of the photo, and the part that it is.

    taken: corners (4, 2) of the places that are not bare panel. glare: what is taken off. Raises NoPanel.
    """
    middles, light = _blocks(photo, taken, glare)
    if len(light) < 12:
        raise NoPanel(photo.name, "hardly any of the photo is beside the chips")
    grey = light.sum(axis=1)
    kept = grey > 0.6 * float(np.quantile(grey, 0.95))
    for _ in range(8):
        if kept.sum() < max(12, _SEEN_LEAST * _BLOCKS**2 * 0.75):
            raise NoPanel(photo.name, "too little of the bare panel shows around the chips")
        surface = Surface(middles[kept], light[kept], photo)
        part = grey / np.maximum(surface.at(middles).sum(axis=1), 1e-9)
        # From above: what is darker than the surface is no panel; what is brighter may be all of it.
        now = (part > 1 - _DARKER) & (grey > 0.3 * float(np.quantile(grey, 0.95)))
        if np.array_equal(now, kept):
            break
        kept = now
    off = surface.at(middles[kept]) / np.maximum(light[kept], 1e-9) - 1
    return surface, float(np.sqrt((off**2).mean()))


def same_panel(photo: Photo, panel: Photo, taken: list[Array], glare: Glare, bare_glare: Glare) -> Array:
    """How much brighter (3,) the panel is in one photo than in another of the same view, where it shows in both.

    glare, bare_glare: what is taken off the one and the other. Raises NoPanel, FileProblem where the two are not of one view.
    """
    here, light = _blocks(photo, taken, glare)
    there, bare = _blocks(panel, taken, bare_glare)
    if len(light) and len(bare):
        shared = (here[:, None] == there[None]).all(axis=2)
        one, other = np.nonzero(shared)
        ratio = light[one] / np.maximum(bare[other], 1e-9)
        grey = light[one].sum(axis=1) / np.maximum(bare[other].sum(axis=1), 1e-9)
        if len(grey):
            # What is dimmer in the chips' photo by more than the rest is a mask or a shadow.
            kept = grey > 0.97 * float(np.quantile(grey, 0.98))
            dim = grey < 0.5
            lit = grey[~dim]
            if len(lit) > 0.5 * len(grey) and kept.sum() < _ALIKE_LEAST * len(lit) and lit.std() > _MOVED * lit.mean():
                what = "the panel around the chips is lit otherwise than in the photo of the chips"
                raise FileProblem(where=panel.name, what=what, remedy=Remedy.SAME_VIEW_OR_BARE_PLACES)
            if kept.sum() >= max(12, _SEEN_LEAST * len(grey)) and not dim.all():
                return np.asarray(np.median(ratio[kept], axis=0))
    raise NoPanel(photo.name, "the bare panel does not show around the chips")


def _blocks(photo: Photo, taken: list[Array], glare: Glare) -> tuple[Array, Array]:
    """Middles (N, 2) and mean light (N, 3) of blocks that keep clear of what is taken and hold no edge."""
    side = max(4, max(photo.width, photo.height) // _BLOCKS)
    middles, light = [], []
    boxes = [(corners.min(axis=0), corners.max(axis=0)) for corners in taken]
    for top in range(0, photo.height - side + 1, side):
        for left in range(0, photo.width - side + 1, side):
            low, high = np.array([left, top]), np.array([left + side, top + side])
            if any(np.all(high > a - 0.25 * (b - a)) and np.all(low < b + 0.25 * (b - a)) for a, b in boxes):
                continue
            step = max(1, side // 12)
            codes = photo.codes[top : top + side : step, left : left + side : step]
            patch = photo.light(codes).reshape(-1, 3)
            mean = patch.mean(axis=0)
            if np.any((codes >= photo.clipped_at).reshape(-1, 3).mean(axis=0) > 0.02):
                continue
            if float(patch.sum(axis=1).std()) < 0.15 * float(mean.sum()):
                middles.append((low + high) / 2.0)
                light.append(mean)
    where, level = np.array(middles).reshape(-1, 2), np.array(light).reshape(-1, 3)
    return where, level - glare.at(where)
