"""An insert, or a ground, seen through the resin that lies on it. Physics §11; Williams and Clapper, J. Opt. Soc. Am.
43, 595 (1953).

Optical contact, a matt (Lambertian) ground, light at 45° or from all sides, seen along the normal, specular reflection
left out. The two integrals of the theory, r(τ) and t_d(τ), depend on one variable: they are tabulated once per
refractive index on √(−ln τ), where they are smooth, and read by cubic Hermite interpolation to better than 1e-8.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.colour import lab, xyz_of_lab
from tintmix.optics.detector import Light, eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.errors import index_out_of_range
from tintmix.optics.plate import HIGHEST_INDEX, face_reflectance, fresnel
from tintmix.optics.spectrum import Array

_LARGEST_ROOT = 8.0
"""√(−ln τ) up to which the tables reach: τ = 1.6e-28, darker than any section."""
_INTERVALS = 2048
"""So fine that cubic interpolation errs by less than 1e-8, below a reading's last digit; the tests hold it to that."""
_DARKEST = math.exp(-(_LARGEST_ROOT**2))
"""τ where the tables end."""
_PENALTY = 1e8
"""Of a missed colour against roughness, which is below 1: a colour that can be had is met to about 1e-8 of the white."""
_MOST_ROUNDS = 100
"""A bound: of 125 colours under D65 those that a surface can have took 26 at most, the others 93."""
_MISS = 2.0
"""ΔE00 by which the nearest surface colour may miss the one asked for: the tolerance of a target that names none."""


def radiance_factor(
    internal: Array, reflectance: Array | float, refractive_index: float, narrow: bool = False, diffuse: bool = False
) -> Array:
    """Radiance factor β of a ground of reflectance R under resin of internal transmittance τ (normal passage).

    β = T(45°) T(0°) τ^(1 + sec θ₁) R / {n² [1 − R r(τ)]}, sin θ₁ = sin 45°/n; r(τ) = 2∫ρᵢ(μ) τ^(2/μ) μ dμ. diffuse:
    light from all sides, T(45°) τ^(sec θ₁) replaced by t_d = 2n²∫(1 − ρᵢ) τ^(1/μ) μ dμ. narrow: the ground is narrower
    than about four thicknesses, light that went through the face and back does not return to it: the bracket is 1.
    internal: (…, K); reflectance: (K,) or a number; returns (…, K). β may slightly exceed 1: it is no energy (physics
    §11).

    >>> radiance_factor(np.array([1.0, 0.8]), 0.9, 1.5).round(6).tolist()
    [0.787215, 0.287918]
    """
    return _through(internal, reflectance, refractive_index, narrow, diffuse, False)[0]


def radiance_factor_with_slope(
    internal: Array, reflectance: Array | float, refractive_index: float, narrow: bool = False, diffuse: bool = False
) -> tuple[Array, Array]:
    """β of `radiance_factor` and its slope dβ/dτ, both (…, K).

    >>> beta, slope = radiance_factor_with_slope(np.array([0.5]), 0.9, 1.5)
    >>> ahead = radiance_factor(np.array([0.5 + 1e-5]), 0.9, 1.5)
    >>> bool(np.isclose((ahead - beta)[0] / 1e-5, slope[0], rtol=1e-4))
    True
    """
    return _through(internal, reflectance, refractive_index, narrow, diffuse, True)


def smoothest_reflectance(lab_values: ArrayLike, light: Light | str = "D65", observer: int = 10) -> Array:
    """The smoothest reflectance (K,) between 0 and 1 that has this L*a*b* (3,) under a light (bare light as white).

    min Σ (R_{k+1} − R_k)² with the colour as a constraint and 0 ≤ R ≤ 1: G. A. van Trigt's smoothest reflectance
    function, J. Opt. Soc. Am. A 7, 1891 (1990; from memory). A convex quadratic programme, solved by a primal-dual
    interior-point method (Nocedal and Wright, *Numerical Optimization*, ch. 16.6). A colour that no surface can have
    is missed by as little as possible; by more than ΔE00 2 it raises ValueProblem.

    >>> from tintmix.optics.detector import eye
    >>> from tintmix.optics.colour import lab
    >>> detector = eye("D65", 10)
    >>> painted = smoothest_reflectance([50.0, 20.0, 20.0], "D65", 10)
    >>> lab(painted @ detector.weights, detector.bare).round(4).tolist()
    [50.0, 20.0, 20.0]
    """
    wanted = np.asarray(lab_values, dtype=np.float64)
    detector = eye(light, observer)
    part = detector.weights / detector.bare
    found = least_rough_reflectance(part, xyz_of_lab(wanted, detector.bare) / detector.bare)
    missed = float(delta_e00(wanted, lab(found @ detector.weights, detector.bare)))
    if not missed <= _MISS:
        asked = ", ".join(numeral(value, 4) for value in wanted.tolist())
        raise ValueProblem(
            what=f"no surface has the colour L*a*b* = {asked} under {detector.name}: the nearest that reflects between 0 and "
            f"1 misses it by ΔE00 {numeral(missed, 2)}",
            remedy=Remedy.MEASURE_INSERT_AGAIN,
        )
    return found


def least_rough_reflectance(part: Array, wanted: Array) -> Array:
    """min ½ ΣΔR² + M/2 |partᵀR − wanted|², 0 ≤ R ≤ 1, M large: the penalty gives way only where no R does it."""
    size = len(part)
    step = np.diff(np.eye(size), axis=0)
    rough = step.T @ step
    found, multiplier = np.full(size, 0.5), np.zeros(3)
    # 1 − found, carried along: at a bound a difference would be rounding.
    room = 1.0 - found
    low, high = np.ones(size), np.ones(size)
    system = np.zeros((size + 3, size + 3))
    system[:size, size:], system[size:, :size] = -part, part.T
    system[size:, size:] = np.eye(3) / _PENALTY
    diagonal = np.arange(size)
    for _ in range(_MOST_ROUNDS):
        gap = float(low @ found + high @ room) / (2 * size)
        slope = rough @ found - part @ multiplier - low + high
        off = part.T @ found + multiplier / _PENALTY - wanted
        scale = 1.0 + np.abs(multiplier).max()
        if max(gap, np.abs(slope).max(), np.abs(off).max()) < 1e-12 * scale:
            break
        # A tenth of the gap a step, and 0.995 of the way to the nearest bound below: usual values (Nocedal & Wright, 16.6).
        centre = 0.1 * gap
        system[:size, :size] = rough
        system[diagonal, diagonal] += low / found + high / room
        right = np.concatenate([-slope - low + centre / found + high - centre / room, -off])
        moved = np.linalg.solve(system, right)
        d_found, d_multiplier = moved[:size], moved[size:]
        d_low = centre / found - low - low / found * d_found
        d_high = centre / room - high + high / room * d_found
        # The part of a step, at most 1, after which all that has to be above zero is.
        value, change = np.concatenate([found, room, low, high]), np.concatenate([d_found, -d_found, d_low, d_high])
        falling = change < 0
        stride = min(1.0, 0.995 * float(np.min(-value[falling] / change[falling], initial=np.inf)))
        found, room = found + stride * d_found, room - stride * d_found
        multiplier = multiplier + stride * d_multiplier
        low, high = low + stride * d_low, high + stride * d_high
    return np.asarray(np.clip(found, 0.0, 1.0))


def _through(
    internal: Array, reflectance: Array | float, refractive_index: float, narrow: bool, diffuse: bool, sloping: bool
) -> tuple[Array, Array]:
    n = float(refractive_index)
    if not 1.0 < n <= HIGHEST_INDEX:
        raise index_out_of_range(n, f"above 1 and at most {numeral(HIGHEST_INDEX)}")
    tau = np.asarray(internal, dtype=np.float64)
    bounded = np.clip(tau, _DARKEST, 1.0)
    out = 1.0 - float(face_reflectance(n))
    tables, place = _tables(n), _place(bounded)
    # β = τ^power · share · R/(1 − R r); the share of light at 45° is constant, that of diffuse light is t_d/τ.
    if diffuse:
        power, share = 2.0, tables.entry.at(place) * (out / n**2)
    else:
        inside = math.sqrt(1.0 - 0.5 / n**2)
        slanted_in = 1.0 - fresnel(math.sqrt(0.5), inside, n).mean()
        power, share = 1.0 + 1.0 / inside, np.asarray(out * slanted_in / n**2)
    below = bounded ** (power - 1.0) * share * reflectance
    rate: float | Array = power
    if not narrow:
        room = 1.0 / (1.0 - reflectance * tables.back.at(place))
        below = below * room
        if sloping:
            # d ln β/d ln τ; x = −ln τ.
            rate = rate - reflectance * room * tables.back_slope.at(place)
    if diffuse and sloping:
        rate = rate - tables.entry_slope.at(place) / tables.entry.at(place)
    return np.asarray(below * tau), np.asarray(below * rate) if sloping else below


_Place = tuple[np.ndarray[tuple[int, ...], np.dtype[np.intp]], tuple[Array, Array, Array, Array]]
"""Where in the tables: the interval, and the Hermite weights of its ends' values and slopes."""


class _Table(NamedTuple):
    values: Array
    slopes: Array

    def at(self, place: _Place) -> Array:
        low, (value0, value1, slope0, slope1) = place
        ends = value0 * self.values[low] + value1 * self.values[low + 1]
        return np.asarray(ends + slope0 * self.slopes[low] + slope1 * self.slopes[low + 1])


class _Tables(NamedTuple):
    """r and dr/dx, t_d/τ and its d/dx; x = −ln τ; nodes even in √x, slopes by √x and for one interval."""

    back: _Table
    back_slope: _Table
    entry: _Table
    entry_slope: _Table


def _place(bounded: Array) -> _Place:
    step = _LARGEST_ROOT / _INTERVALS
    at = np.sqrt(np.maximum(-np.log(bounded), 0.0)) / step
    interval = np.minimum(at.astype(np.intp), _INTERVALS - 1)
    u = at - interval
    rest = 1.0 - u
    value1 = u * u * (3.0 - 2.0 * u)
    return interval, (1.0 - value1, value1, u * rest * rest, -u * u * rest)


@cache
def _tables(n: float) -> _Tables:
    root = np.linspace(0.0, _LARGEST_ROOT, _INTERVALS + 1)
    x = root**2
    # Beyond the critical angle ρᵢ = 1: μ = μ_c e^−y spreads the fast end at grazing angles.
    critical = math.sqrt(1.0 - 1.0 / n**2)
    # e⁻²⁰ of it is left out, squared; panels and points so that the tests find 1e-8 against adaptive quadrature.
    y, dy = _panels(0.0, 20.0, 8, 16)
    grazing, grazing_weight = critical * np.exp(-y), 2.0 * (critical * np.exp(-y)) ** 2 * dy
    # Inside it, by the cosine c in air: μ dμ = c dc/n², and the square root at the critical angle is gone.
    c, dc = _panels(0.0, 1.0, 2, 32)
    steep = np.sqrt(1.0 - (1.0 - c**2) / n**2)
    reflected = fresnel(c, steep, n).mean(axis=0)
    mu = np.concatenate([grazing, steep])
    weight = np.concatenate([grazing_weight, 2.0 * reflected * c * dc / n**2])
    faded = np.exp(-2.0 * x[:, None] / mu) * weight
    by_x = -2.0 * faded @ (1.0 / mu)
    # At x = 0 the second derivative is infinite as ln x; times dx/d√x = 2√x it is 0.
    curve = 4.0 * faded @ (1.0 / mu**2)
    scale = 2.0 * root * (_LARGEST_ROOT / _INTERVALS)
    longer = 1.0 / steep - 1.0
    entering = np.exp(-x[:, None] * longer) * (2.0 * (1.0 - reflected) * c * dc)
    entry_by_x = -entering @ longer
    return _Tables(
        _Table(faded.sum(axis=1), by_x * scale),
        _Table(by_x, curve * scale),
        _Table(entering.sum(axis=1), entry_by_x * scale),
        _Table(entry_by_x, (entering @ longer**2) * scale),
    )


def _panels(low: float, high: float, panels: int, points: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss-Legendre quadrature, panel after panel."""
    x, w = np.polynomial.legendre.leggauss(points)
    half = 0.5 * (high - low) / panels
    middle = low + half * (2 * np.arange(panels) + 1)
    return (middle[:, None] + half * x).ravel(), np.tile(half * w, panels)
