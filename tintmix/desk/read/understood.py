"""What was understood of instruments' files, sample by sample, before it goes anywhere: so that a wrong reading is seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.columns import MUST_COVER_NM
from tintmix.chips.convert import Wish, answered, xyz_of_sample
from tintmix.chips.instruments.meaning import judged, light_of
from tintmix.chips.instruments.sample import Sample, SampleFile
from tintmix.chips.readings.matching import chip_of
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.optics.colour import lab, screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.spectrum import GRID_NM

ASSUMED = "assumed"
_LIGHT, _OBSERVER = "D65", 10
"""Under which a spectrum is shown, and a colour whose light is not known."""


def understood(
    found: Sequence[SampleFile], chips: ChipSet | None, mapping: Mapping[str, str], wish: Wish
) -> list[dict[str, Any]]:
    """Of each file its shape, samples and open questions, as JSON has it."""
    files = []
    for file in found:
        bodies = [_body(sample, chips, mapping, wish) for sample in file.samples]
        asks = [
            replace(ask.note, says=f"{ask.note.says}.")
            for sample in file.samples
            for ask in sample.asks
            if not answered(ask, wish)
        ]
        unsaid = [one for one in file.samples if one.kind == "spectrum" and one.quantity is None and not one.asks]
        if unsaid and wish.quantity is None and chips is None:
            says = f"line {unsaid[0].line}: the file does not say what was measured; taken as transmittance."
            asks.append(Note(says=says, remedy=Remedy.SAY_WHICH_QUANTITY))
        files.append({"file": file.where, "shape": file.form, "samples": bodies, "asks": list(dict.fromkeys(asks))})
    return files


def _body(sample: Sample, chips: ChipSet | None, mapping: Mapping[str, str], wish: Wish) -> dict[str, Any]:
    read_from = dict(sample.read_from)
    read_from |= {key: "as said" for key in ("quantity", "unit", "light", "observer") if getattr(wish, key) is not None}
    names = [chip.name for chip in chips.chips] if chips else []
    body: dict[str, Any] = {
        "name": sample.name,
        "chip": chip_of(sample, names, mapping),
        "line": sample.line or None,
        "light": wish.light or sample.light,
        "observer": wish.observer or sample.observer,
        "geometry": sample.geometry,
        "relative_to": sample.relative_to,
    }
    if sample.kind == "colour":
        body |= {
            "quantity": "colour",
            "read_from": read_from,
            "space": sample.space,
            "values": list(sample.values),
            "wavelengths_nm": None,
        }
        body["lab"] = _lab_of_colour(sample, wish)
    else:
        quantity, values = fractions(sample, wish, on_tile=chips is not None and chips.reading.on_tile)
        if sample.quantity is None and wish.quantity is None:
            read_from["quantity"] = ASSUMED
        if quantity == "absorbance":
            quantity, read_from["quantity"] = "transmittance", f"{read_from.get('quantity', ASSUMED)}, of absorbance"
        body |= {
            "quantity": quantity,
            "read_from": read_from,
            "wavelengths_nm": list(sample.wavelengths_nm or ()),
            "values": values,
        }
        body["lab"] = _lab_of_spectrum(sample, values)
    white = eye(_LIGHT, _OBSERVER).bare
    body["srgb"] = screen(xyz_of_lab(np.array(body["lab"])[None], white), white).hex[0] if body["lab"] else None
    return body


def fractions(sample: Sample, wish: Wish, on_tile: bool = False) -> tuple[str, list[float]]:
    """What a spectrum is, and its values as fractions of light; those of absorbance turned."""
    quantity = wish.quantity or sample.quantity or ("reflectance" if on_tile else "transmittance")
    values = np.array(sample.values)
    if quantity == "absorbance":
        return quantity, _rounded(10.0 ** -np.clip(values, -1.0, 12.0))
    unit = wish.unit or sample.unit
    if wish.unit is None and (unit is None or (sample.quantity or quantity) != quantity):
        unit = judged(quantity, None, [light_of(sample)])[0]
    return quantity, _rounded(values / 100.0 if unit == "percent" else values)


def _rounded(values: np.ndarray) -> list[float]:
    return [float(f"{v:.7g}") for v in values]


def _lab_of_spectrum(sample: Sample, values: Sequence[float]) -> list[float] | None:
    """L*a*b* under D65 for 10°; the ends held; none where it does not cover what is seen."""
    nm = np.array(sample.wavelengths_nm)
    if nm[0] > MUST_COVER_NM[0] or nm[-1] < MUST_COVER_NM[1]:
        return None
    detector = eye(_LIGHT, _OBSERVER)
    return _told(lab(np.interp(GRID_NM, nm, values)[None] @ detector.weights, detector.bare)[0])


def _lab_of_colour(sample: Sample, wish: Wish) -> list[float] | None:
    try:
        white = eye(wish.light or sample.light or _LIGHT, wish.observer or sample.observer or _OBSERVER).bare
    except ValueProblem:
        return None
    return _told(lab(xyz_of_sample(sample, white, wish.unit)[None], white)[0])


def _told(values: np.ndarray) -> list[float] | None:
    return [round(float(v), 3) for v in values] if np.isfinite(values).all() else None
