"""Where the light comes from that ends a path: a light panel behind the casting, the sky, or everywhere alike."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tintmix.shape.view import View

Lit = Literal["panel", "sky", "even"]

FROM_BELOW = 0.2
"""What ground sends back of the light of the sky, as a middling bare ground does (common practice: albedo 0.2)."""


def surroundings(lit: Lit, directions: NDArray[np.float32], view: View) -> NDArray[np.float32]:
    """The light (N,) that comes against rays that go away in these directions (N, 3), the bare light being 1.

    panel: bare light behind the casting, as one looks, and dark elsewhere. sky: light from above (z up), and a fifth of it from
    below. even: 1 from everywhere, in which a casting of clear resin cannot be seen.

    >>> ways = np.array([[0, 0, -1], [0, 0.6, 0.8]], dtype=np.float32)
    >>> surroundings("panel", ways, View()).tolist(), surroundings("sky", ways, View()).round(1).tolist()
    ([1.0, 0.0], [0.20000000298023224, 1.0])
    """
    if lit == "even":
        return np.ones(len(directions), np.float32)
    if lit == "sky":
        return np.where(directions[:, 2] > 0, np.float32(1), np.float32(FROM_BELOW))
    return (directions @ np.asarray(view.direction, np.float32) > 0).astype(np.float32)
