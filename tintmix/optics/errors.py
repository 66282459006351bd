"""What can be wrong with a spectrum, a light, a camera, a ground or a refractive index."""

from __future__ import annotations

from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral


def out_of_range(
    where: str, low_nm: float, high_nm: float, needed_low_nm: float, needed_high_nm: float
) -> ValueProblem:
    """Wavelengths asked for that lie outside those that were measured."""
    what = (
        f"it covers {numeral(low_nm)} to {numeral(high_nm)} nm, and {numeral(needed_low_nm)} to "
        f"{numeral(needed_high_nm)} nm are needed"
    )
    return ValueProblem(where=where, what=what, remedy=Remedy.MEASURE_WAVELENGTHS)


def no_spectrum(where: str, what: str) -> ValueProblem:
    """Wavelengths and values that make no spectrum."""
    return ValueProblem(where=where, what=f"{what}; each wavelength has one finite value")


def ground_unusable(name: str, what: str) -> ValueProblem:
    """Something behind a section that reflects nothing sensible."""
    return ValueProblem(where=f"ground {name!r}", what=what)


def index_out_of_range(refractive_index: float, limit: str) -> ValueProblem:
    """A refractive index that no clear resin or glass has."""
    return ValueProblem(
        what="the refractive index",
        found=numeral(refractive_index),
        limit=f"{limit}; clear casting resins have 1.47 to 1.60",
    )
