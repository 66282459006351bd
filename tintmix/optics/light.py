"""From doses and thickness to light: the one place where a tinted resin's light is worked out.

Doses become absorbance per mm (`TintedResin.per_mm`), thickness makes it an internal transmittance τ, and what is
behind the resin says how the light comes out (`through`): a plate in air over the bare light, a ground in contact with
the resin, a white tile, the paths that light takes through a casting, or none of these, the light inside. Physics §1, §2,
§5, §11.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from tintmix.optics.absorption import LN10, effective_doses
from tintmix.optics.diffuse import DiffuseLight
from tintmix.optics.insert import radiance_factor, radiance_factor_with_slope
from tintmix.optics.paths import LightPaths
from tintmix.optics.plate import external_transmittance, external_with_slope
from tintmix.optics.section import PANEL, Ground
from tintmix.optics.spectrum import Array
from tintmix.optics.tile import Tile

Behind = Ground | Tile | DiffuseLight | LightPaths | None
"""What the light comes from: a ground (the panel among them), a tile that the chip lies on, everywhere; by which paths it
comes through a casting (thickness is then only the length that slopes are told by); None: the light inside the resin, its
faces left out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThickBase:
    """How the untinted resin's own absorption changes with the thickness poured, as a thick pour yellows in its own heat.

    Of log a₀: nothing up to from_mm, log_ratio (K,) or (D, K) from to_mm on, in between that times s^power, s the way from one
    to the other in log thickness. power: a number or (D,); what lies in between nobody measured.
    """

    log_ratio: Array
    from_mm: float
    to_mm: float
    power: ArrayLike = 1.0

    def share(self, thickness_mm: ArrayLike) -> Array:
        """s (…) at these thicknesses.

        >>> ThickBase(log_ratio=np.ones(1), from_mm=3.0, to_mm=12.0).share([0.0, 6.0, 60.0]).round(6).tolist()
        [0.0, 0.5, 1.0]
        """
        # A strip begins at nothing, whose logarithm is as far below as can be.
        with np.errstate(divide="ignore"):
            way = np.log(np.asarray(thickness_mm) / self.from_mm) / np.log(self.to_mm / self.from_mm)
        return np.asarray(np.clip(way, 0.0, 1.0), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TintedResin:
    """What absorbs: the resin and its P pigments over K wavelengths, once, or D times over (draws, worlds, rows).

    base_per_mm: (K,) or (D, K), decadic, 1/mm. absorptivity: (P, K) or (D, P, K), 1/(mm phr). volume_per_phr: (P,),
    departure_per_phr: (P,) or (D, P), see `effective_doses`; left out, doses colour as they are. refractive_index: of the resin.
    thick: None where base_per_mm holds at every thickness.
    """

    base_per_mm: Array
    absorptivity: Array
    volume_per_phr: Array = field(default_factory=lambda: np.zeros(1))
    departure_per_phr: Array = field(default_factory=lambda: np.zeros(1))
    refractive_index: float = 1.5
    thick: ThickBase | None = None

    def per_mm(self, doses_phr: ArrayLike) -> Array:
        """Decadic absorbance per mm (N, K), or (D, N, K), of dose vectors (N, P), or (D, N, P): a₀ + Σ_p c_p ε_p.

        Of one dose vector (P,): (K,), or (D, K).

        >>> resin = TintedResin(base_per_mm=np.array([0.001]), absorptivity=np.array([[2.0]]))
        >>> resin.per_mm([[0.02]]).round(6).tolist()
        [[0.041]]
        """
        doses = np.asarray(doses_phr, dtype=np.float64)
        if doses.ndim == 1:
            return np.asarray(self.per_mm(doses[None])[..., 0, :])
        effective = effective_doses(doses, self.volume_per_phr, self.departure_per_phr[..., None, :])
        absorptivity = self.absorptivity
        # Recipes hold few of many pigments: with hundreds of draws it pays to leave the others out of the product.
        used = np.flatnonzero(doses.reshape(-1, doses.shape[-1]).any(axis=0))
        if len(used) < doses.shape[-1]:
            effective, absorptivity = effective[..., used], absorptivity[..., used, :]
        per_mm = np.matmul(effective, absorptivity)
        return np.asarray(per_mm + self.base_per_mm[..., None, :], dtype=np.float64)

    def at(self, per_mm: Array, thickness_mm: ArrayLike) -> Array:
        """`per_mm` of dose vectors (N, P), as it is in pours of this thickness (N,), or a number.

        >>> thick = ThickBase(log_ratio=np.log([2.0]), from_mm=12.0, to_mm=60.0)
        >>> resin = TintedResin(base_per_mm=np.array([0.001]), absorptivity=np.array([[2.0]]), thick=thick)
        >>> resin.at(resin.per_mm([[0.02]]), 60.0).round(6).tolist()
        [[0.042]]
        """
        return per_mm if self.thick is None else per_mm + self.more(thickness_mm)

    def more(self, thickness_mm: ArrayLike) -> Array:
        """What the base absorbs more per mm in pours of this thickness (N,), or a number: (N, K), or (D, N, K); N may be 1."""
        base = self.base_per_mm[..., None, :]
        if self.thick is None:
            return np.zeros_like(base)
        share = self.thick.share(np.atleast_1d(thickness_mm)) ** np.asarray(self.thick.power)[..., None]
        return np.asarray(base * np.expm1(self.thick.log_ratio[..., None, :] * share[..., None]), dtype=np.float64)


def light(resin: TintedResin, doses_phr: ArrayLike, thickness_mm: ArrayLike, behind: Behind = PANEL) -> Array:
    """The part of the bare light (N, K), or (D, N, K), that comes from dose vectors (N, P) at thickness (N,) or a number.

    `through` of `TintedResin.per_mm`. A loop over places takes these two apart, so that the absorbance is worked once.
    Two functions have arithmetic of their own, for speed: `TintModel.predict_lab` (a million plates) and
    `thickness_strip.strip_colours` (a slider's frame, in 32 bits). tests/optics/test_light.py holds them to this
    one, tests/benchmarks/test_light_speed.py says what they gain.

    >>> resin = TintedResin(base_per_mm=np.array([0.001]), absorptivity=np.array([[2.0]]))
    >>> light(resin, [[0.0], [0.02]], [60.0, 8.0]).round(6).tolist()
    [[0.803655], [0.433207]]
    """
    return through(resin.at(resin.per_mm(doses_phr), thickness_mm), thickness_mm, resin.refractive_index, behind)


def through(per_mm: Array, thickness_mm: ArrayLike, refractive_index: float, behind: Behind = PANEL) -> Array:
    """The part of the bare light (…, K) that comes from absorbance per mm (…, K) at thickness (…), or a number.

    τ = 10^(−a t), then T of a plate in air over the panel, β of a ground or of a tile (a perfect white is 1), or τ
    itself where nothing is behind. An insert of stated width: one thickness at a time, since a narrow one looks darker.
    A place that is seen by paths of many lengths is their sum.
    """
    if isinstance(behind, LightPaths):
        return behind.light(per_mm)
    tau = _internal(per_mm, thickness_mm)
    if behind is None:
        return tau
    if isinstance(behind, Tile | DiffuseLight):
        return behind.factor(tau, refractive_index)[0]
    if behind.reflectance is None:
        return external_transmittance(tau, refractive_index)
    narrow = behind.is_narrow(thickness_mm)
    return radiance_factor(tau, np.asarray(behind.reflectance), refractive_index, narrow=narrow)


def through_with_slope(
    per_mm: Array, thickness_mm: ArrayLike, refractive_index: float, behind: Behind = PANEL
) -> tuple[Array, Array]:
    """`through`, and its slope by ln τ, both (…, K). By the absorbance: times −ln 10.

    >>> seen, slope = through_with_slope(np.array([0.02]), 10.0, 1.5)
    >>> ahead = through(np.array([0.02 - 1e-7]), 10.0, 1.5)
    >>> bool(np.isclose((ahead - seen)[0] / (1e-6 * LN10), slope[0], rtol=1e-5))
    True
    """
    if isinstance(behind, LightPaths):
        return behind.light_with_slope(per_mm, thickness_mm)
    tau = _internal(per_mm, thickness_mm)
    if behind is None:
        return tau, tau
    if isinstance(behind, Tile | DiffuseLight):
        value, slope = behind.factor(tau, refractive_index)
    elif behind.reflectance is None:
        value, slope = external_with_slope(tau, refractive_index)
    else:
        narrow = behind.is_narrow(thickness_mm)
        value, slope = radiance_factor_with_slope(tau, np.asarray(behind.reflectance), refractive_index, narrow=narrow)
    slope *= tau
    return value, slope


def _internal(per_mm: Array, thickness_mm: ArrayLike) -> Array:
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    exponent = np.multiply(per_mm, (-LN10 * thickness)[..., None] if thickness.ndim else -LN10 * float(thickness))
    return np.asarray(np.exp(exponent, out=exponent))
