"""Where the untinted resin is nearest to a target: what would come nearer, measured on pigments and a resin made up for it."""

from __future__ import annotations

import numpy as np

from tintmix.numerals import numeral
from tintmix.optics.colour import lab
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.recipes.search.aim import Aim
from tintmix.recipes.why import NOTABLE

_AZURE_NM, _RED_NM = 490.0, 580.0
"""Where the visible range is parted into the azure, emerald and red light of a textbook's block dyes (common practice)."""
_TAKES = {
    "lemon": (True, False, False),
    "pink": (False, True, False),
    "turquoise": (False, False, True),
    "red": (True, True, False),
    "emerald": (True, False, True),
    "azure": (False, True, True),
    "grey": (True, True, True),
}
"""Colours of pigments, and whether each takes away azure, emerald, red light."""
_ABSORBANCES = np.geomspace(0.003, 3.0, 61)
"""Decadic, in the thickest coloured section: from below what an eye sees to black, in steps of an eighth."""


def what_comes_nearer(aim: Aim) -> list[str]:
    """What else a tint could be made of, in words: what comes notably nearer (largest ΔE00/tolerance) than the untinted resin.

    Tried are the resin with a pigment of each colour in turn, at strengths that the floor lets pass; and a resin that absorbs
    nothing, with its two faces. All by the mean absorptivities; the ΔE00 told is where ΔE00/tolerance is largest.
    """
    parts = np.stack([GRID_NM < _AZURE_NM, (GRID_NM >= _AZURE_NM) & (GRID_NM < _RED_NM), GRID_NM >= _RED_NM])
    taken = np.array(list(_TAKES.values()), dtype=float) @ parts
    thickest_mm = max(place.section.thickness_mm for place in aim.places)
    base = aim.model.mean_resin.at(aim.model.base_per_mm[None], thickest_mm)[0]
    tinted = base + _ABSORBANCES[:, None] / thickest_mm * taken[:, None, :]
    ratio, off = _farthest(aim, tinted)
    light = through(tinted, aim.judged_mm, aim.model.refractive_index) @ aim.into_light
    ratio = np.where(light >= aim.floor, ratio, np.inf)
    colour, strength = np.unravel_index(int(np.argmin(ratio)), ratio.shape)
    alone, _ = _farthest(aim, base)
    colourless, colourless_off = _farthest(aim, np.zeros_like(base))
    would = []
    if ratio[colour, strength] <= NOTABLE * alone:
        would.append(
            f"a {list(_TAKES)[colour]} pigment as well, if it took away no other light, would bring that to "
            f"ΔE00 {numeral(float(off[colour, strength]), 2)}"
        )
    if colourless <= NOTABLE * alone:
        would.append(f"a resin without colour of its own would bring it to ΔE00 {numeral(float(colourless_off), 2)}")
    return would


def _farthest(aim: Aim, per_mm: Array) -> tuple[Array, Array]:
    """The largest ΔE00/tolerance (…), and the ΔE00 where it is (…); per_mm (…, K)."""
    weights, bare, n = aim.detector.weights, aim.detector.bare, aim.model.refractive_index
    places = [place.section for place in aim.places]
    seen = [lab(through(per_mm, one.thickness_mm, n, one.ground) @ weights, bare) for one in places]
    off = np.stack([delta_e00(*pair) for pair in zip(seen, aim.target_lab, strict=True)], axis=-1)
    ratio = off / aim.tolerance
    at = np.argmax(ratio, axis=-1)[..., None]
    return np.take_along_axis(ratio, at, -1)[..., 0], np.take_along_axis(off, at, -1)[..., 0]
