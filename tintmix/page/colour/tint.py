"""The tint as it is dragged: each place on the casting, the thickness strip, and how far off they may be, as colours.

Quick: a few milliseconds, so that the strip follows the hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tintmix.desk.look import lifts_of
from tintmix.numerals import numeral
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array
from tintmix.page.errors import not_typed
from tintmix.page.hexes import wide_colours
from tintmix.page.places import PartWish
from tintmix.pigments.model import Look, TintModel
from tintmix.pigments.thickness_strip import strip_colours, strip_end_mm
from tintmix.quantities import DOSE_PHR

STRIP_STOPS = 20
STRIP_DRAWS = 75
"""The strip is drawn from a quarter of the posterior: no eye sees the difference, and it follows the hand."""
SURE = (
    (1.0, "as predicted, or a difference just seen side by side"),
    (2.5, "could be a shade off"),
    (6.0, "could be plainly another colour: pour a trial"),
    (np.inf, "little more than a guess: pour a trial chip"),
)
"""What 95 % of the posterior within so many ΔE00 means at the bench (1 is just seen side by side; common practice)."""
APART = (
    (1.0, "no difference that one sees"),
    (2.5, "a difference seen side by side"),
    (6.0, "plainly different"),
    (np.inf, "quite another colour"),
)
Triple = tuple[float, float, float]


def tint_seen(
    model: TintModel,
    doses_phr: Mapping[str, float],
    part: PartWish,
    wanted: Sequence[Triple | None] = (),
    sections: Sequence[Section] = (),
) -> dict[str, Any]:
    """The places of a part at these doses, and the strip between them: plain values, as the page's script takes them.

    wanted: the L*a*b* that each place should have, where a target says so. sections: the places, where some are seen on a traced
    casting. Raises what `TintModel.look` raises.
    """
    sections = sections or [Section(place.name, place.thickness_mm) for place in part.places]
    look = model.look(doses_phr, sections, part.light, part.observer)
    count = len(sections)
    shown, lifts = look.screen, lifts_of(look)
    colours = shown.hex
    aims = [*wanted, *[None] * count][:count]
    wished = np.array([own if aim is None else aim for own, aim in zip(look.lab, aims, strict=True)], dtype=np.float64)
    away = delta_e00(look.lab, wished)
    wide = wide_colours(look.lab, look.white_xyz, shown.inside_srgb.tolist())
    beside = np.concatenate([_ends(look).reshape(-1, 3), wished])
    told = screen(xyz_of_lab(beside, look.white_xyz), look.white_xyz)
    others, wide_others = told.hex, wide_colours(beside, look.white_xyz, told.inside_srgb.tolist())
    places = []
    for s, place in enumerate(part.places):
        light, off, lift = float(look.luminous_transmittance[s]), float(look.delta_e00_95[s]), lifts[s]
        places.append(
            {
                "name": place.name,
                "thickness_mm": place.thickness_mm,
                "srgb": colours[s],
                "inside_srgb": bool(shown.inside_srgb[s]),
                "wide": wide[s],
                "lift": None if lift is None else {"srgb": lift[0], "stops": lift[1]},
                "light": light,
                "too_dark": light < part.floor,
                "like": [others[2 * s], colours[s], others[2 * s + 1]],
                "like_wide": [one and one["css"] for one in (wide_others[2 * s], wide[s], wide_others[2 * s + 1])],
                "off": off,
                "sure": next(words for limit, words in SURE if off <= limit),
                "lab": [round(float(v), 2) for v in look.lab[s]],
                "target": {
                    "srgb": others[2 * count + s], "wide": wide_others[2 * count + s], "off": float(away[s]),
                    "says": _as_told(float(away[s]), off),
                } if aims[s] is not None else None,
                "beyond": bool(look.thickness_extrapolated[s]),
            }
        )  # fmt: skip
    return {
        "doses_phr": {name: dose for name, dose in look.doses_phr.items() if dose},
        "total_phr": float(sum(look.doses_phr.values())),
        "places": places,
        "strip": _strip(model, doses_phr, part),
        "warnings": list(look.warnings),
        "too_strong": look.dose_extrapolated,
    }


def dose_tops(model: TintModel, doses_phr: Mapping[str, float]) -> dict[str, float]:
    """Where each pigment's slider ends: beyond its strongest chip, within what the chip set allows, and not below the dose."""
    tops = np.minimum(2.0 * model.highest_phr, np.maximum(model.max_phr, model.highest_phr)).tolist()
    return {name: max(top, doses_phr.get(name, 0.0)) for name, top in zip(model.pigments, tops, strict=True)}


def checked_doses(model: TintModel, doses_phr: Mapping[str, float]) -> dict[str, float]:
    """Doses that the page may keep. Raises ValueProblem for one that is not from 0 to 100."""
    out = {}
    for name, dose in doses_phr.items():
        if not DOSE_PHR.holds(dose):
            raise not_typed(name, f"{numeral(dose)}", f"Type a dose from 0 to {DOSE_PHR.most:g} g per 100 g mixed.")
        if name in model.pigments and dose:
            out[name] = float(dose)
    return out


def _strip(model: TintModel, doses_phr: Mapping[str, float], part: PartWish) -> dict[str, Any]:
    high = strip_end_mm(max(part.thicknesses_mm))
    # Closer together where it is thin: there the colour changes fastest with thickness.
    offsets = np.linspace(0.0, 1.0, STRIP_STOPS) ** 1.6
    thicknesses = high * offsets
    every = max(1, len(model.draws_base) // STRIP_DRAWS)
    labs, light = strip_colours(model, doses_phr, thicknesses, part.light, part.observer, every)
    white = eye(part.light, part.observer).bare
    seen = screen(xyz_of_lab(labs, white), white)
    wide = wide_colours(labs, white, seen.inside_srgb.tolist())
    return {
        "from_mm": 0.0,
        "to_mm": high,
        "stops": [[round(float(at), 4), colour] for at, colour in zip(offsets, seen.hex, strict=True)],
        "wide": [None if one is None else one["css"] for one in wide],
        "dark_from_mm": _dark_from(thicknesses, light, part.floor),
    }


def _dark_from(thicknesses: Array, light: Array, floor: float) -> float | None:
    """The thickness from which less light comes through than wanted, by log-linear interpolation; None where none does."""
    below = np.flatnonzero(light < floor)
    if not len(below) or floor <= 0:
        return None
    at = int(below[0])
    if at == 0:
        return float(thicknesses[0])
    logs = np.log(np.maximum(light[at - 1 : at + 1], 1e-12))
    share = (logs[0] - np.log(floor)) / max(logs[0] - logs[1], 1e-12)
    return float(thicknesses[at - 1] + share * (thicknesses[at] - thicknesses[at - 1]))


def _ends(look: Look) -> Array:
    """For each place the L*a*b* (S, 2, 3) of both ends of what the chips allow, the lighter first.

    They lie 1.96 standard deviations along the direction in which the place is least sure.
    """
    values, vectors = np.linalg.eigh(look.lab_covariance)
    reach = 1.96 * np.sqrt(np.maximum(values[:, -1:], 0.0)) * vectors[:, :, -1]
    reach *= np.where(reach[:, :1] < 0, -1.0, 1.0)
    ends: Array = np.stack([look.lab + reach, look.lab - reach], axis=1)
    ends[..., 0] = np.clip(ends[..., 0], 0.0, 100.0)
    return ends


def _as_told(away: float, off: float) -> str:
    """A difference from the target in words; of one that is less than the doubt it is said that the prediction has it so.

    >>> _as_told(0.3, 9.2), _as_told(0.3, 0.4), _as_told(12.0, 9.2)
    ('as predicted, no difference that one sees', 'no difference that one sees', 'quite another colour')
    """
    return f"as predicted, {difference_words(away)}" if off > max(away, APART[0][0]) else difference_words(away)


def difference_words(delta: float) -> str:
    """A colour difference (ΔE00) in words (common practice).

    >>> difference_words(0.4), difference_words(1.7), difference_words(12)
    ('no difference that one sees', 'a difference seen side by side', 'quite another colour')
    """
    return next(words for limit, words in APART if not delta > limit)
