"""A plate in air: what its two faces do to the light, forwards and backwards. Physics §2; Hecht, *Optics*, ch. 4 and 9.

Normal incidence, smooth parallel faces, no scattering, all inter-reflections, incoherent. The refractive index may be
one number or one for each wavelength (K,).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from tintmix.numerals import numeral
from tintmix.optics.errors import index_out_of_range
from tintmix.optics.spectrum import Array

HIGHEST_INDEX = 3.0
"""Above diamond (2.4): what is higher was mistyped."""


def face_reflectance(refractive_index: float | Array) -> Array:
    """Fresnel reflectance of one face at normal incidence, ρ = ((n − 1)/(n + 1))². Raises ValueProblem.

    >>> round(float(face_reflectance(1.5)), 12)
    0.04
    """
    return _of_number(refractive_index) if isinstance(refractive_index, float) else _reflectance(refractive_index)


def _reflectance(refractive_index: float | Array) -> Array:
    n = np.asarray(refractive_index, dtype=np.float64)
    wrong = ~((n >= 1.0) & (n <= HIGHEST_INDEX))
    if wrong.any():
        raise index_out_of_range(float(n[wrong].flat[0]), f"from 1 to {numeral(HIGHEST_INDEX)}")
    return np.asarray(((n - 1.0) / (n + 1.0)) ** 2)


_of_number = lru_cache(maxsize=32)(_reflectance)
"""A solve asks thousands of times for its one resin: with the checks that is 2 % of it."""


def fresnel(outside: ArrayLike, inside: ArrayLike, refractive_index: float) -> Array:
    """Reflectance (2, …) of one face for light polarised crosswise and along, by the cosines outside and inside the resin.

    Hecht, *Optics*, §4.6.

    >>> fresnel(1.0, 1.0, 1.5).round(12).tolist()
    [0.04, 0.04]
    """
    out, within, n = np.asarray(outside), np.asarray(inside), refractive_index
    return np.stack([(out - n * within) / (out + n * within), (n * out - within) / (n * out + within)]) ** 2


def external_transmittance(internal: ArrayLike, refractive_index: float | Array) -> Array:
    """Transmittance in air of a plate, from its internal transmittance; both faces, all inter-reflections.

    T = (1 − ρ)² τ / (1 − ρ² τ²), ρ = ((n − 1)/(n + 1))².  Hecht, *Optics*, ch. 4 and 9; normal incidence, no
    scattering. internal: any shape, fractions.  Returns the same shape.

    >>> round(float(external_transmittance(np.float64(1.0), 1.5)), 6)
    0.923077
    """
    rho = face_reflectance(refractive_index)
    tau = np.asarray(internal, dtype=np.float64)
    # In place: over all draws at once new arrays would cost as much as the arithmetic.
    square = np.asarray(rho * tau)
    square *= square
    seen = np.asarray((1.0 - rho) ** 2 * tau)
    seen /= np.subtract(1.0, square, out=square)
    return seen


def external_with_slope(internal: ArrayLike, refractive_index: float | Array) -> tuple[Array, Array]:
    """T of `external_transmittance` and its slope dT/dτ = (1 − ρ)² (1 + ρ² τ²)/(1 − ρ² τ²)², both of internal's shape.

    >>> seen, slope = external_with_slope(np.array([0.5]), 1.5)
    >>> ahead = external_transmittance(np.array([0.5 + 1e-6]), 1.5)
    >>> bool(np.isclose((ahead - seen)[0] / 1e-6, slope[0], rtol=1e-5))
    True
    """
    rho = face_reflectance(refractive_index)
    tau = np.asarray(internal, dtype=np.float64)
    square = rho * tau
    square = np.asarray(square * square)
    slope = np.asarray(1.0 / (1.0 - square))
    seen = tau * slope
    seen *= (1.0 - rho) ** 2
    square += 1.0
    slope *= slope
    slope *= square
    slope *= (1.0 - rho) ** 2
    return np.asarray(seen), slope


def internal_transmittance(external: ArrayLike, refractive_index: float | Array) -> Array:
    """Internal transmittance of a plate from its transmittance in air, the inverse of `external_transmittance`.

    τ = 2T / [(1 − ρ)² + √((1 − ρ)⁴ + 4ρ²T²)]: the root of the quadratic written so that nothing cancels where T is
    small. Above the clear plate's 2n/(n² + 1) it returns τ > 1: what that means, the caller knows.

    >>> round(float(internal_transmittance(np.float64(0.6), 1.52)), 5)
    0.65405
    """
    rho = face_reflectance(refractive_index)
    seen = np.asarray(external, dtype=np.float64)
    through = (1.0 - rho) ** 2
    return np.asarray(2.0 * seen / (through + np.sqrt(through**2 + (2.0 * rho * seen) ** 2)))
