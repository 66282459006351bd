"""A traced casting in a tint: what each of its path lengths shows, and its picture.

The paths are traced once; a dose is then a colour for each length of path, and one sparse product.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from tintmix.optics.detector import Light, eye
from tintmix.optics.light import through
from tintmix.optics.paths import MEETINGS
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.shape.values import PathPicture


def colours_of_lengths(
    model: TintModel,
    doses_phr: Mapping[str, float],
    lengths_mm: ArrayLike,
    reflectance: ArrayLike = 0.0,
    light: str | Light = "D65",
    observer: int = 10,
    every: int = 1,
) -> Array:
    """XYZ (3 B, 3) of bare light that has gone each of B lengths in the tint and met the insert never, once, twice.

    Σ_λ W(λ) R(λ)^k τ(λ)^L, the mean over the posterior's draws, or over each so-maniest; light adds up, so that sums of these by
    the weights of a pixel are what `look` tells of its paths. lengths_mm: (B,). Raises ValueProblem.

    >>> from tintmix.desk.demo import demo
    >>> from tintmix.chips.folder import read_chips
    >>> from tintmix.pigments.fit import fit
    >>> model = fit(read_chips(demo("one-cup")))
    >>> bare, thick = colours_of_lengths(model, {"mix": 1.0}, [0.0, 60.0])[:2]
    >>> bool(bare[1] > thick[1] > 0)
    True
    """
    lengths = np.asarray(lengths_mm, dtype=np.float64)
    detector = eye(light, observer)
    resins = model.drawn_resins(every)
    per_mm = resins.per_mm(model.dose_vector(doses_phr)[None])
    comes = through(resins.at(per_mm, np.maximum(lengths, 1e-6)), lengths, model.refractive_index, None).mean(axis=0)
    met = np.asarray(reflectance, dtype=np.float64) ** np.arange(MEETINGS)[:, None]
    return np.asarray((met[:, None, :] * comes) @ detector.weights).reshape(-1, 3)


def painted(
    model: TintModel,
    doses_phr: Mapping[str, float],
    picture: PathPicture,
    reflectance: ArrayLike = 0.0,
    light: str | Light = "D65",
    observer: int = 10,
) -> Array:
    """XYZ (H, W, 3) of a casting's picture in the tint: what `look` tells of each pixel's paths, the bare light beside it."""
    seen = picture.product(colours_of_lengths(model, doses_phr, picture.lengths_mm, reflectance, light, observer))
    return np.where(picture.sees[..., None], seen, picture.bare * eye(light, observer).bare)
