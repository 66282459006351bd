"""A chip that lies on a measured white tile and is read in reflection, its gloss excluded: through the chip, off the
tile, back.

Wetted (optical contact): Williams and Clapper, as in insert.py. Dry, with air between chip and tile, the chip is a
plate with two faces of its own. Light goes in at 45° (or from everywhere: a sphere), off the diffuse tile, and out at
0°; what the plate sends back to the tile comes again: β = T(in) T(0°) R / [1 − R r_d(τ)], r_d = 2 ∫₀¹ R_p(μ; τ) μ dμ,
R_p the plate's reflectance with both faces (physics §2 at an angle, each polarisation by itself). A sphere's light:
T(in) = 2 ∫₀¹ T_p(μ; τ) μ dμ.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.errors import ground_unusable
from tintmix.optics.insert import radiance_factor_with_slope
from tintmix.optics.plate import external_with_slope, fresnel
from tintmix.optics.spectrum import Array

THICKEST_ON_TILE_MM = 4.0
"""A hand-held instrument's opening is seldom wider than 16 mm (common practice), and should be four times the chip's
thickness: light wanders sideways in the chip, and what leaves beside the opening is lost.
"""
_NODES = 1025
"""Of the tables over τ: their cubic interpolation is held to a direct quadrature by the tests."""
_BISECTIONS = 60
"""Halvings of 0…1: 2⁻⁶⁰ is below the precision of a double near 1."""

Contact = Literal["dry", "wetted"]
Lighting = Literal["45/0", "d/8"]


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A white tile: its reflectance (M,) against a perfect white, what lies between it and the chip, the instrument's
    light.

    "d/8" is a sphere with the gloss excluded; its 8° are taken as 0°. Raises ValueProblem.

    >>> tile = Tile(np.full(41, 0.9), "wetted")
    >>> round(float(tile.factor(np.full(41, 0.8), 1.5)[0][0]), 6)
    0.287918
    """

    reflectance: Array
    contact: Contact = "dry"
    lighting: Lighting = "45/0"

    def __post_init__(self) -> None:
        if self.reflectance.ndim != 1 or not np.all((self.reflectance > 0) & (self.reflectance <= 1.2)):
            raise ground_unusable("white tile", "its reflectance is a row of numbers above 0, up to 1.2")

    def factor(
        self, internal: Array, refractive_index: float, bands: NDArray[Any] | None = None
    ) -> tuple[Array, Array]:
        """The radiance factor β of chip and tile, and dβ/dτ, for internal transmittance τ (…, M), or of some bands."""
        white = self.reflectance if bands is None else self.reflectance[bands]
        if self.contact == "dry":
            return dry_factor_with_slope(internal, white, refractive_index, self.lighting)
        # A tile may read above a perfect white, but cannot send back more than falls on it: only its series is held to
        # that.
        beta, slope = radiance_factor_with_slope(
            internal, np.minimum(white, 1.0), refractive_index, diffuse=self.lighting == "d/8"
        )
        excess = np.maximum(white, 1.0)
        return beta * excess, slope * excess

    def internal(self, factor: Array, refractive_index: float, bands: NDArray[Any] | None = None) -> Array:
        """τ (…, M) of the chip from what was read, held within 0…1: the inverse, by bisection."""
        low, high = np.zeros(factor.shape), np.ones(factor.shape)
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            below = self.factor(middle, refractive_index, bands)[0] < factor
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return 0.5 * (low + high)


def dry_factor_with_slope(
    internal: Array, reflectance: Array | float, refractive_index: float, lighting: Lighting = "45/0"
) -> tuple[Array, Array]:
    """β and dβ/dτ of a chip with air between it and a diffuse tile, each of the shape of `internal`.

    >>> beta, _ = dry_factor_with_slope(np.array([1.0, 0.0]), 0.9, 1.5)
    >>> beta.round(4).tolist()
    [0.8706, 0.0]
    """
    n = float(refractive_index)
    tau = np.clip(internal, 0.0, 1.0)
    out, out_slope = external_with_slope(tau, n)
    returning, diffuse_in = _curves(n)
    enter, enter_slope = diffuse_in.at(tau) if lighting == "d/8" else _plate(tau, np.sqrt(0.5), n)[:2]
    back, back_slope = returning.at(tau)
    white = np.asarray(reflectance)
    keep = 1.0 / (1.0 - np.minimum(white, 1.0) * back)
    path = white * enter * out
    path_slope = white * (enter_slope * out + enter * out_slope)
    return path * keep, keep * (path_slope + path * keep * np.minimum(white, 1.0) * back_slope)


def _plate(tau: Array, cosine_outside: Array | float, n: float) -> Array:
    """Of a plate at an angle (4, …): transmittance and its slope by τ, reflectance and its slope; polarisations averaged.

    tau: along the normal; the slanted path is 1/cos θ₁ times as long.
    """
    inside = np.sqrt(1.0 - (1.0 - cosine_outside**2) / n**2)
    along = np.maximum(tau, 1e-300) ** (1.0 / inside)
    along_slope = np.maximum(tau, 1e-300) ** (1.0 / inside - 1.0) / inside
    told = np.zeros((4, *along.shape))
    for rho in fresnel(cosine_outside, inside, n):
        bounced = (rho * along) ** 2
        through = (1.0 - rho) ** 2 * along / (1.0 - bounced)
        through_slope = (1.0 - rho) ** 2 * (1.0 + bounced) / (1.0 - bounced) ** 2 * along_slope
        back, back_slope = 1.0 + along * through, along_slope * through + along * through_slope
        told += 0.5 * np.stack([through, through_slope, rho * back, rho * back_slope])
    return told


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """A function of τ by cubic Hermite interpolation over τ itself: it and its slope have no corner in 0…1."""

    values: Array
    slopes: Array

    def at(self, tau: Array) -> tuple[Array, Array]:
        step = 1.0 / (_NODES - 1)
        place = tau / step
        i = np.minimum(place.astype(np.intp), _NODES - 2)
        u = place - i
        f0, f1, d0, d1 = self.values[i], self.values[i + 1], step * self.slopes[i], step * self.slopes[i + 1]
        rise = f1 - f0
        c2, c3 = 3 * rise - 2 * d0 - d1, d0 + d1 - 2 * rise
        return f0 + u * (d0 + u * (c2 + u * c3)), (d0 + u * (2 * c2 + 3 * u * c3)) / step


@lru_cache(maxsize=32)
def _curves(n: float) -> tuple[_Curve, _Curve]:
    """r_d(τ) and the diffuse T(τ), with slopes, at the nodes: Gauss-Legendre over μ² = 1 − sin² θ."""
    x, w = np.polynomial.legendre.leggauss(128)
    # ∫ f 2μ dμ = ∫ f d(μ²); μ = y² crowds the nodes to grazing light, where the faces change fast.
    y, w = 0.5 * (x + 1), 0.5 * w
    mu = y * y
    weight = 4.0 * w * y**3
    tau = np.linspace(0.0, 1.0, _NODES)[:, None]
    passed, passed_slope, back, back_slope = _plate(tau, mu, n) @ weight
    return _Curve(back, back_slope), _Curve(passed, passed_slope)
