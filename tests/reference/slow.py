"""The model and the colour science a second time: literal, slow, on a 1 nm grid, and sharing no line with tintmix.

Every formula is written as a textbook prints it: the plate as its series of inter-reflections, XYZ as a sum over 421
wavelengths, the insert by quadrature. Tables (colour-matching functions, CIE lights, cameras) and CIEDE2000 come from
colour-science. What agrees with this to within the error of a 10 nm grid is right; what is only quick is tested
elsewhere. `tests/simulation.py` batches the same formulas; `test_slow.py` holds the two together.
"""

from __future__ import annotations

import functools
import math
import warnings

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():
    # colour-science warns at import about optional packages that nothing here uses.
    warnings.simplefilter("ignore")
    import colour

Array = NDArray[np.float64]

NM: Array = np.arange(360.0, 781.0)
_OBSERVERS = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
SRGB_TO_XYZ: Array = np.array(colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ, dtype=np.float64)
SRGB_WHITE: Array = SRGB_TO_XYZ.sum(axis=1)


# Tables ---------------------------------------------------------------------------------------------------------------


@functools.cache
def matching_functions(observer: int = 10) -> Array:
    """Colour-matching functions (421, 3) of the 2 or 10 degree observer."""
    return np.array(colour.MSDS_CMFS[_OBSERVERS[observer]].copy().trim(_shape()).values, dtype=np.float64)


@functools.cache
def light_power(light: str = "D65") -> Array:
    """Relative power (421,) of a CIE light, aligned exactly as the design notes (physics §6) do."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        whole = colour.MSDS_CMFS[_OBSERVERS[10]].shape
        power = colour.SDS_ILLUMINANTS[light].copy().align(whole).copy().align(_shape())
    return np.array(power.values, dtype=np.float64)


def camera_table(camera: str) -> tuple[Array, Array]:
    """Wavelengths (M,) and sensitivities (M, 3) as colour-science ships them, zeros added up to 380-780 nm."""
    table = colour.MSDS_CAMERA_SENSITIVITIES[camera]
    step = float(table.shape.interval)
    nm = np.arange(380.0, 780.0 + step / 2, step)
    rgb = np.zeros((len(nm), 3))
    rgb[np.searchsorted(nm, table.wavelengths)] = table.values
    return nm, rgb


def camera_sensitivities(camera: str) -> Array:
    """Sensitivities (421, 3): straight lines between the published points, nothing outside them."""
    nm, rgb = camera_table(camera)
    return np.stack([np.interp(NM, nm, channel, left=0.0, right=0.0) for channel in rgb.T], axis=1)


def _shape() -> colour.SpectralShape:
    return colour.SpectralShape(360, 780, 1)


# Material and faces ---------------------------------------------------------------------------------------------------


def internal_absorbance(
    doses_phr: Array, thickness_mm: float, base_per_mm: Array, absorptivity: Array, volume_per_phr: float = 0.01
) -> Array:
    """Beer-Lambert with doses as volume concentration (physics.md §1): doses (P,), absorptivity (P, 421) -> (421,)."""
    swelling = 1.0 + sum(float(dose) * volume_per_phr for dose in doses_phr)
    per_mm = base_per_mm.copy()
    for dose, strength in zip(doses_phr, absorptivity, strict=True):
        per_mm = per_mm + float(dose) / swelling * strength
    return np.asarray(thickness_mm * per_mm, dtype=np.float64)


def internal_transmittance(absorbance: Array) -> Array:
    """Decadic: ten to the minus absorbance."""
    return np.asarray(10.0 ** (-absorbance), dtype=np.float64)


def fresnel(cos_incident: float, from_index: float, to_index: float) -> float:
    """Reflectance of one face for unpolarised light, 1 beyond the critical angle (Hecht, Optics, ch. 4)."""
    sin_refracted = from_index / to_index * math.sqrt(max(0.0, 1.0 - cos_incident**2))
    if sin_refracted >= 1.0:
        return 1.0
    cos_refracted = math.sqrt(1.0 - sin_refracted**2)
    across = (from_index * cos_incident - to_index * cos_refracted) / (
        from_index * cos_incident + to_index * cos_refracted
    )
    along = (to_index * cos_incident - from_index * cos_refracted) / (
        to_index * cos_incident + from_index * cos_refracted
    )
    return 0.5 * (across**2 + along**2)


def through_plate(internal: Array, index: float = 1.5) -> Array:
    """Transmittance in air: every inter-reflection added up, until the next no longer counts."""
    face = fresnel(1.0, 1.0, index)
    beam = (1.0 - face) ** 2 * internal
    total = np.zeros_like(internal)
    while float(np.max(beam)) > 1e-18:
        total = total + beam
        beam = beam * (face * internal) ** 2
    return np.asarray(total, dtype=np.float64)


def off_plate(internal: Array, index: float = 1.5) -> Array:
    """Reflectance in air of a plate, both faces: the first face, then every ray that comes back out of it."""
    face = fresnel(1.0, 1.0, index)
    total = np.full_like(internal, face)
    beam = (1.0 - face) ** 2 * face * internal**2
    while float(np.max(beam)) > 1e-18:
        total = total + beam
        beam = beam * (face * internal) ** 2
    return np.asarray(total, dtype=np.float64)


# Colour ---------------------------------------------------------------------------------------------------------------


def xyz(factor: Array, light: str = "D65", observer: int = 10) -> Array:
    """Tristimulus values by direct summation at 1 nm, Y of the bare light = 100 (CIE 15)."""
    functions, power = matching_functions(observer), light_power(light)
    sums = [0.0, 0.0, 0.0]
    bare = 0.0
    for at in range(len(NM)):
        bare += power[at] * functions[at, 1]
        for channel in range(3):
            sums[channel] += factor[at] * power[at] * functions[at, channel]
    return np.array([100.0 * value / bare for value in sums])


def white(light: str = "D65", observer: int = 10) -> Array:
    """The bare light: what every chip is compared with."""
    return xyz(np.ones(len(NM)), light, observer)


def lab(xyz_value: Array, white_xyz: Array) -> Array:
    """CIE 1976 L*a*b* (ISO 11664-4), with the straight piece below (6/29)^3."""

    def compressed(ratio: float) -> float:
        return ratio ** (1 / 3) if ratio > (6 / 29) ** 3 else (841 / 108) * ratio + 4 / 29

    x, y, z = (compressed(float(value / top)) for value, top in zip(xyz_value, white_xyz, strict=True))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def lab_of(factor: Array, light: str = "D65", observer: int = 10) -> Array:
    """L*a*b* of a transmittance or radiance factor (421,) against the bare light."""
    return lab(xyz(factor, light, observer), white(light, observer))


def delta_e00(one: Array, other: Array) -> Array:
    """CIEDE2000 by colour-science."""
    return np.asarray(colour.delta_E(one, other, method="CIE 2000"), dtype=np.float64)


def luminous_transmittance(factor: Array, light: str = "D65") -> float:
    """By V(lambda), the 2 degree y-bar, whatever the observer."""
    weights = light_power(light) * matching_functions(2)[:, 1]
    return float(sum(weights * factor) / sum(weights))


def camera_channels(factor: Array, sensitivities: Array, panel: str) -> Array:
    """Channels (3,) as parts of the bare panel: one sum over the panel's spectrum for the chip, one for the panel."""
    power = light_power(panel)
    return np.array([sum(power * s * factor) / sum(power * s) for s in sensitivities.T])


def linear_srgb(xyz_value: Array, white_xyz: Array, adaptation: str = "CAT16") -> Array:
    """Linear sRGB of the light, adapted fully (CAT16 or another) so that the bare light is (1, 1, 1); not clipped."""
    cone = np.array(colour.CHROMATIC_ADAPTATION_TRANSFORMS[adaptation], dtype=np.float64)
    seen = cone @ xyz_value * (cone @ (100 * SRGB_WHITE)) / (cone @ white_xyz)
    return np.asarray(np.linalg.inv(SRGB_TO_XYZ) @ np.linalg.inv(cone) @ seen / 100, dtype=np.float64)


# A piece with something behind it -------------------------------------------------------------------------------------


def diffuse_return(internal: float, index: float) -> float:
    """r = 2 int rho_i tau^(2/mu) mu dmu: diffuse light from the ground that the upper face sends back to it."""
    from scipy.integrate import quad

    critical = math.sqrt(1.0 - 1.0 / index**2)

    def returned(mu: float) -> float:
        return float(2.0 * fresnel(mu, index, 1.0) * internal ** (2.0 / mu) * mu) if mu > 0 else 0.0

    total = 0.0
    for low, high in ((0.0, critical), (critical, min(1.0, critical + 0.02)), (min(1.0, critical + 0.02), 1.0)):
        total += float(quad(returned, low, high, epsabs=1e-12, epsrel=1e-10, limit=200)[0])
    return total


def diffuse_entry(internal: float, index: float) -> float:
    """t_d = 2 n^2 int (1 - rho_i) tau^(1/mu) mu dmu: diffuse light from the air that reaches the ground."""
    from scipy.integrate import quad

    critical = math.sqrt(1.0 - 1.0 / index**2)

    def entered(mu: float) -> float:
        return float(2.0 * index**2 * (1.0 - fresnel(mu, index, 1.0)) * internal ** (1.0 / mu) * mu)

    total = 0.0
    for low, high in ((critical, critical + 0.02), (critical + 0.02, 1.0)):
        total += float(quad(entered, low, high, epsabs=1e-12, epsrel=1e-10, limit=200)[0])
    return total


def insert_radiance_factor(
    internal: float, reflectance: float, index: float = 1.5, *, narrow: bool = False, diffuse: bool = False
) -> float:
    """Williams and Clapper (J. Opt. Soc. Am. 43, 595, 1953): lit at 45 degrees, or diffusely, and seen at 0."""
    cos_inside = math.sqrt(1.0 - (math.sin(math.pi / 4) / index) ** 2)
    out = (1.0 - fresnel(1.0, index, 1.0)) * internal
    if diffuse:
        into = diffuse_entry(internal, index)
    else:
        into = (1.0 - fresnel(math.cos(math.pi / 4), 1.0, index)) * internal ** (1.0 / cos_inside)
    again = 1.0 if narrow else 1.0 - reflectance * diffuse_return(internal, index)
    return into * out * reflectance / (index**2 * again)
