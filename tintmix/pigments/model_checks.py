"""What a model's file may hold: bounds of its numbers, and the shape of the fit's report. A file is anybody's, and a model that
somebody edited is to be refused where it is read, not to fail where it is used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tintmix.files.schema import (
    Check,
    Named,
    Rows,
    Table,
    anything,
    checked,
    list_of,
    number,
    of,
    one_of,
    or_none,
    table_of,
    text,
)
from tintmix.optics.spectrum import Array
from tintmix.quantities import CASTING_MM, DOSE_PHR, Quantity

PER_MM = Quantity(least=-1.0, most=1e6)
"""Absorptions and absorptivities, decadic, per mm (and phr); a base that was found by differences may be a little below zero."""
LOGS = Quantity(least=-200.0, most=100.0)
"""Logarithms of such, and of their ratios."""
SMALL = Quantity(least=-1e3, most=1e3)
"""Tones and latents of a camera, and powers of a thickness."""
BENDS = Quantity(least=-1e9, most=1e9)
"""Departures from Beer's law, per phr: of a pigment of a few ten-thousandths of a phr they reach thousands, and chips that
contradict each other spread them as much again; the rest is room."""
WEIGHTS = Quantity(least=-1e6, most=1e6)
"""Of light into channels or XYZ: the largest of any observer and grid is below 100; the rest is room."""
VOLUME = Quantity(least=0.0, most=1.0)
"""Of a phr of pigment, as a part of the resin's: ρ(resin)/(100 ρ(pigment))."""
SCATTER = Quantity(least=0.0, most=1e6)
"""Per mm, and per phr: more than any milk."""
MAX_PHR = Quantity(least=1e-9, most=1e3)
"""The strongest dose that chips held: a trace of a strong dye, up to ten times the resin's own weight."""
_LONGEST_NAME = 60
"""Letters of a pigment's name, as chips may have them."""
INDEX = Quantity(least=1.0, most=3.0)
"""Refractive indices: from air to past diamond's 2.4 (from memory); casting resins have 1.4 to 1.7."""


def within(value: Any, quantity: Quantity) -> Array:
    """Finite numbers within what they can be. Raises ValueError."""
    array = np.asarray(value, dtype=np.float64)
    if not np.all((array >= quantity.least) & (array <= quantity.most)):
        raise ValueError(f"a number is not {quantity.limit}")
    return array


def checked_names(names: Sequence[Any]) -> tuple[str, ...]:
    """Names of pigments, each once. Raises ValueError."""
    for name in names:
        if not (isinstance(name, str) and 0 < len(name) <= _LONGEST_NAME and name.isprintable()):
            raise ValueError("a pigment has no name that one can have")
    if len(set(names)) < len(names):
        raise ValueError("two pigments have one name")
    return tuple(names)


def check_report(report: Any, where: object) -> None:
    """That the report can be told, read and drawn; what is not said may be missing. Raises BadTable, ValueError."""
    if not isinstance(report, Mapping):
        raise ValueError("its report is no table")
    checked(_REPORT, _said(report), where, "its report")


def _said(value: Any) -> Any:
    """Without what is null, which is as good as not said."""
    if isinstance(value, Mapping):
        return {key: _said(one) for key, one in value.items() if one is not None}
    return [_said(one) for one in value] if isinstance(value, list | tuple) else value


def _maybe(check: Check) -> tuple[Check, None]:
    return check, None


_TEXT, _NUMBER, _FACT = _maybe(text(True, 5000)), _maybe(number()), _maybe(one_of(True, False))
_LAB = _maybe(list_of(number(), 3))
_CHIP = Table(
    {
        "chip": _TEXT, "set": _TEXT, "cup": _TEXT, "thickness_mm": _maybe(of(CASTING_MM)), "delta_e00": _NUMBER,
        "left_out_delta_e00": _NUMBER, "measured_lab": _LAB, "fitted_lab": _LAB, "doubted": _FACT, "fault": _TEXT,
    },
    others=True,
)  # fmt: skip
_CUP = Table({"cup": _TEXT, "dose_factor": _NUMBER, "doubted": _FACT}, others=True)
_BEND = Table(
    {"k": _NUMBER, "log_evidence": _NUMBER, "used": _FACT, "up_to_phr": _NUMBER, "at_most": _NUMBER}, others=True
)
_SWATCH = Table({"dose_phr": _NUMBER, "thickness_mm": _NUMBER, "srgb": _TEXT}, others=True)
_PIGMENT = Table(
    {"highest_phr": _NUMBER, "lot": _TEXT, "departure": (_BEND, {}), "law": _TEXT, "swatch": (_SWATCH, {})}, others=True
)
_SPREAD = _maybe(table_of(or_none(number())))
_HEALTH = Table(
    {
        "says": (text(True, 5000), ""), "doubted_share": (number(), 0.0), "agreement": _NUMBER,
        "set_up": (Rows(Table({"what": _TEXT, "says": _TEXT}, others=True), in_toml=False), []),
        "haze_known": (one_of(True, False), True),
        "departures": (Named(_BEND), {}), "made_for": (table_of(anything), {}),
    },
)  # fmt: skip
_FORECAST = Table(
    {
        "typical_delta_e00": _NUMBER, "then_delta_e00": _NUMBER, "doses_phr": _maybe(table_of(of(DOSE_PHR))),
        "thicknesses_mm": _maybe(list_of(of(CASTING_MM))), "helps": _FACT, "instead": _maybe(table_of(anything)),
    },
    others=True,
)  # fmt: skip
_REPORT = Table(
    {
        "chips": (Rows(_CHIP, in_toml=False), []), "cups": (Rows(_CUP, in_toml=False), []), "pigments": (Named(_PIGMENT), {}),
        "health": (_HEALTH, {}), "fit_delta_e00": _SPREAD, "left_out_delta_e00": _SPREAD,
        "warnings": _maybe(list_of(text(True, 5000))),
        "next_cup": _TEXT, "forecast": (_FORECAST, {}), "defaults_used": _maybe(table_of(anything)), "thickest_mm": _NUMBER,
    },
    others=True,
)  # fmt: skip
