"""What is said beside a prediction of what the chips left open: haze, and strong cups that may be a bend or a slip."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tintmix.optics.spectrum import Array

_MATTERS = 0.2
"""Of the light, from darkest to lightest: ± 10 % is 4 L* in the middle greys, about the error of one cup."""
_MUCH = 0.1
"""Of the light, scattered in a section: were it bluer than it is taken to be, the tint would be seen to differ. Where scatter
falls with the square of the wavelength, ellipsoids of castings of 36 to 60 mm hold 46 to 85 % (`python -m
tests.accuracy.haze_rows`), and fewer where haze is told."""
_FINE = "scatter that takes more blue (very fine particles) makes castings less yellow than told, often by more than the bands"


def haze_caveat(depth: Array, where: str, is_told: bool) -> str:
    """How much lighter or darker a section may be, in a sentence; none where it is not worth one.

    depth: (D,), scatter along the section, -ln of what is left straight through, of each draw. where: the section in words.
    is_told: haze was, by readings or words.

    >>> haze_caveat(np.full(4, 0.01), "60 mm", is_told=True)
    ''
    >>> haze_caveat(np.full(4, 0.5), "60 mm", is_told=True)[:44]
    'haze is taken to be alike at all wavelengths'
    """
    light = np.exp(depth - depth.max())
    darker, lighter = np.quantile(light / light.mean(), (0.025, 0.975))
    if is_told and lighter - darker < _MATTERS:
        grey = f"haze is taken to be alike at all wavelengths: {_FINE}."
        return grey if np.exp(-depth.mean()) < 1 - _MUCH else ""
    so, more = ("known only roughly", "") if is_told else ("not known", ", and no haze is given")
    return (
        f"haze is {so}: the chips were read straight through, which takes haze for colour{more}; {where} may let through "
        f"{100 * (1 - darker):.0f} % less or {100 * (lighter - 1):.0f} % more light than told, which the bands hold"
        + (f" if it scatters all colours alike; {_FINE}." if lighter - darker > _MUCH else ".")
    )


def bend_caveat(pigments: Sequence[str]) -> str:
    """Of pigments of which the chips do not tell whether they bend or their strongest cup was poured wrong; none of none.

    >>> bend_caveat([])
    ''
    """
    if not pigments:
        return ""
    names, cup = ", ".join(pigments), "its strongest cup is" if len(pigments) == 1 else "their strongest cups are"
    return (
        f"{names} may colour less, or more, than in proportion at strong doses, or {cup} off: both are reckoned with, but "
        "neither is sure, and where it is the cup, castings come out farther off than told; the same dose poured again would "
        "show which."
    )
