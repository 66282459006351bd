"""What can be wrong with a spectrum, a light, a camera, a colour or a section."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.errors import TintmixError
from tintmix.numerals import numeral


class SpectrumRange(TintmixError):
    """Wavelengths asked for lie outside those that were measured."""

    def __init__(self, what: str, low_nm: float, high_nm: float, needed_low_nm: float, needed_high_nm: float) -> None:
        super().__init__(
            f"{what}: it covers {numeral(low_nm)} to {numeral(high_nm)} nm, and {numeral(needed_low_nm)} to "
            f"{numeral(needed_high_nm)} nm "
            "are needed. A spectrum is never extrapolated here: measure the missing wavelengths."
        )


class SpectrumUnordered(TintmixError):
    """Wavelengths that do not rise from one to the next, or are no numbers."""

    def __init__(self, what: str, before_nm: float, after_nm: float) -> None:
        super().__init__(
            f"{what}: {numeral(after_nm)} nm stands after {numeral(before_nm)} nm. Wavelengths have to rise from one to the "
            "next, each once; sort them and leave doubles out."
        )


class SpectrumShape(TintmixError):
    """Wavelengths and values that make no spectrum."""

    def __init__(self, problem: str) -> None:
        super().__init__(f"{problem}. Give one finite value for each wavelength.")


class UnknownLight(TintmixError):
    """A light that no CIE table here is called by."""

    def __init__(self, name: str, known: Sequence[str]) -> None:
        super().__init__(
            f"light {name!r} is not known; the known lights are {', '.join(known)}, and "
            "any other is given as a CSV file of its spectrum (nm, power)."
        )


class UnknownCamera(TintmixError):
    """A camera whose sensitivities nobody has published here."""

    def __init__(self, name: str, known: Sequence[str]) -> None:
        super().__init__(
            f"camera {name!r} is not known; those known by name are {', '.join(known)}, and any other is given as a CSV "
            'file of its sensitivities (nm, R, G, B), as "rendered" (a JPEG) or as "unknown" (a raw photo).'
        )


class LightUnusable(TintmixError):
    """A light's spectrum by which nothing could be seen."""

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(
            f"light {name!r}: {reason}. Its power has to be nowhere below zero, and above it somewhere in 400-700 nm."
        )


class UnknownObserver(TintmixError):
    """An observer that CIE has not standardised."""

    def __init__(self, observer: object) -> None:
        super().__init__(
            f"observer = {observer!r} is not known; it is 2 (CIE 1931, 2 degrees) or 10 (CIE 1964, 10 degrees)."
        )


class CameraUnusable(TintmixError):
    """Sensitivities that make no camera."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"camera: {reason}. Sensitivities are three columns (R, G, B) beside the wavelengths, finite, "
            "each channel's sum above zero."
        )


class DetectorShape(TintmixError):
    """Weights that do not lie on the working grid."""

    def __init__(self, name: str, shape: Sequence[int], bands: int) -> None:
        super().__init__(
            f"detector {name!r}: weights of shape {tuple(shape)}; they have to be finite and ({bands}, channels)."
        )


class BadColour(TintmixError):
    """Text that is no screen colour."""

    def __init__(self, text: object) -> None:
        super().__init__(
            f'{text!r} is not a screen colour; it is written "#rrggbb", two hexadecimal digits for each '
            "of red, green, blue."
        )


class RefractiveIndexOutOfRange(TintmixError):
    """A refractive index that no clear resin or glass has."""

    def __init__(self, refractive_index: float) -> None:
        super().__init__(
            f"refractive index {numeral(refractive_index)}: it lies above 1 and up to 3; "
            "clear casting resins have 1.47 to 1.60."
        )


class SectionThickness(TintmixError):
    """A section without a thickness."""

    def __init__(self, name: str, thickness_mm: float) -> None:
        super().__init__(
            f"place {name!r}: a thickness of {numeral(thickness_mm)} mm; it has to be a number above 0 mm, at most 1000 mm."
        )


class GroundUnusable(TintmixError):
    """Something behind a section that reflects nothing sensible."""

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"ground {name!r}: {reason}.")


class ReflectanceUnreachable(TintmixError):
    """A colour that no surface can have under its light."""

    def __init__(self, lab: Sequence[float], light: str, missed_by: float) -> None:
        asked = ", ".join(f"{numeral(value, 4)}" for value in lab)
        super().__init__(
            f"no surface has the colour L*a*b* = {asked} under {light}: the nearest that reflects between 0 and 1 "
            f"misses it by ΔE00 {numeral(missed_by, 2)}. Measure the insert again, or give its spectrum."
        )
