"""Veiling glare: light that the lens spreads over the picture.

It is known where black card shows, and laid between those places from the picture itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import ndimage, optimize

from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.region import Patch
from tintmix.optics.spectrum import Array

_ACROSS = 96
"""Along the longer side of the picture that is spread: glare has no detail."""
_REACHES = (0.06, 0.15, 0.4)
"""Of the longer side: how far light is spread, as standard deviations; beside them a part that is level over the picture.
Not much less than the way from a window to its blocked neighbour: what is nearer cannot be told from the window's own
light. Simulated lenses whose light falls off with four different powers and reaches all came out within 3 % at 1 to 5 %."""
_RIDGE = 0.02
"""Of the dark places' own light: keeps parts that resemble one another from cancelling; what it leaves is spread
from the dark places themselves."""


class Glare:
    """Glare (3,) over a photo. dark: patches of black card; without any, none is known and none taken off.

    Modelled as Σ cᵢ (photo spread by a Gaussian of width i), cᵢ ≥ 0 and alike in all channels (lenses scatter all colours
    much the same), by least squares at the dark places; what that leaves is spread over the neighbourhood of each by the
    inverse square of distance, so that at the dark places it is exact.
    """

    def __init__(self, photo: Photo, dark: Sequence[Patch]) -> None:
        self.known = len(dark) > 0
        if not self.known:
            return
        self._spread = _Spread(photo)
        places = np.array([patch.middle for patch in dark])
        seen = np.array([patch.mean for patch in dark])
        basis = self._spread.at(places)
        rows, wanted = basis.reshape(-1, basis.shape[-1]), seen.ravel()
        size = np.sqrt((rows**2).mean(axis=0)) + 1e-12
        ridge = _RIDGE * np.sqrt(len(rows)) * np.eye(len(size)) * float(np.sqrt((wanted**2).mean()))
        stacked = np.concatenate([rows / size, ridge])
        self._parts = optimize.nnls(stacked, np.concatenate([wanted, np.zeros(len(size))]))[0] / size
        self._scale = max(photo.width, photo.height) / 2
        self._places = places / self._scale
        self._rest = seen - basis @ self._parts

    def at(self, points: Array) -> Array:
        """Glare (…, 3) at points (…, 2), x and y in pixels."""
        if not self.known:
            return np.zeros((*points.shape[:-1], 3))
        near = 1 / (((points[..., None, :] / self._scale - self._places) ** 2).sum(axis=-1) + 1e-6)
        rest = (near / near.sum(axis=-1, keepdims=True)) @ self._rest
        return np.asarray(self._spread.at(points) @ self._parts + rest)


class _Spread:
    """A photo's light, spread in I ways."""

    def __init__(self, photo: Photo) -> None:
        self._step = max(1, max(photo.width, photo.height) // _ACROSS)
        light = photo.averaged(self._step, every=max(1, self._step // 10))
        reaches = [r * max(light.shape) for r in _REACHES]
        pictures = [np.broadcast_to(light.mean(axis=(0, 1)), light.shape)]
        pictures += [ndimage.gaussian_filter(light, (r, r, 0), mode="constant") for r in reaches]
        self._pictures = np.stack(pictures, axis=-1)

    def at(self, points: Array) -> Array:
        """(…, 3, I) at points (…, 2): the spread pictures, by straight lines between their pixels."""
        at = (points.reshape(-1, 2) + 0.5) / self._step - 0.5
        high, wide = self._pictures.shape[:2]
        at = np.clip(at, 0.0, (wide - 1.0, high - 1.0))
        low = np.minimum(at.astype(int), (max(wide - 2, 0), max(high - 2, 0)))
        (x, y), (u, v) = low.T, (at - low).T[..., None, None]
        x1, y1 = np.minimum(x + 1, wide - 1), np.minimum(y + 1, high - 1)
        p = self._pictures
        out = (1 - v) * ((1 - u) * p[y, x] + u * p[y, x1]) + v * ((1 - u) * p[y1, x] + u * p[y1, x1])
        return np.asarray(out.reshape(*points.shape[:-1], 3, p.shape[-1]))
