"""One tint at many thicknesses at once: what the thickness strip of the page is painted from, a frame at a time."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from tintmix.optics.absorption import LN10
from tintmix.optics.colour import lab
from tintmix.optics.detector import Light, eye, luminous
from tintmix.optics.plate import face_reflectance
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel


def strip_end_mm(thickest_mm: float) -> float:
    """Where every strip that shows a section of this thickness ends, from 0 on: a twelfth beyond, rounded up.

    >>> strip_end_mm(60.0), strip_end_mm(8.0), strip_end_mm(0.5)
    (65.0, 9.0, 0.55)
    """
    beyond = thickest_mm * (13 / 12)
    step = 10.0 ** math.floor(math.log10(beyond)) / 2
    for part in (step / 10, step / 5, step / 2, step):
        if math.ceil(beyond / part - 1e-9) <= 20:
            step = part
            break
    return round(math.ceil(beyond / step - 1e-9) * step, 9)


def strip_colours(
    model: TintModel,
    doses_phr: Mapping[str, float],
    thickness_mm: Array,
    light: str | Light = "D65",
    observer: int = 10,
    every: int = 1,
) -> tuple[Array, Array]:
    """L*a*b* (N, 3) and luminous transmittance (N,), means over the posterior, of a plate in air over bare light.

    The arithmetic is its own, for speed (see `optics.light.light`, which it is tested against).

    thickness_mm: (N,). every: use each so-maniest draw only. With all draws the means are those of `TintModel.look` to 0.001 in
    L*a*b*: worked in 32 bits, in one pass over all thicknesses. Raises ValueProblem.
    """
    doses = model.dose_vector(doses_phr)
    resins = model.drawn_resins(every)
    per_mm = resins.per_mm(doses[None])[:, 0]
    rho = float(face_reflectance(model.refractive_index))
    # x = ρτ: T = (1 − ρ)² x/(1 − x²)/ρ, in two passes over one array; the slider waits for this.
    per_mm *= -LN10
    x = np.asarray(thickness_mm, dtype=np.float32)[:, None, None] * per_mm.astype(np.float32)
    if resins.thick is not None:
        more = (-LN10 * thickness_mm)[:, None] * resins.more(thickness_mm)
        x += more.swapaxes(0, 1).astype(np.float32)
    x += np.float32(np.log(rho))
    np.exp(x, out=x)
    keep = x * x
    np.subtract(np.float32(1.0), keep, out=keep)
    x /= keep
    detector = eye(light, observer)
    weights = np.column_stack([detector.weights, luminous(light)]) * ((1 - rho) ** 2 / rho)
    seen = (x @ weights.astype(np.float32)).astype(np.float64)
    return lab(seen[..., :3], detector.bare).mean(axis=1), seen[..., 3].mean(axis=1)
