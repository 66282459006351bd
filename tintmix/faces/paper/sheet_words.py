"""What the batch sheet says on paper and as plain text alike."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.numerals import listed, numeral, percent
from tintmix.sheet.looks import CupLook, PlaceLook
from tintmix.sheet.sheet import FINGERPRINT, Ingredient, Sheet, matters


def facts(sheet: Sheet) -> list[tuple[str, str]]:
    """What stands under the title: which recipe, from which lots, how it is cured, by whom it was written."""
    return [
        ("revision", "not in a book" if sheet.revision is None else str(sheet.revision)),
        ("fingerprint", sheet.fingerprint),
        ("lots", ", ".join(f"{pigment} {lot}" for pigment, lot in sheet.lots.items() if lot) or "not given"),
        *((("shape", listed(_shapes(sheet))),) if sheet.looks.shapes else ()),
        ("cure", sheet.resin.cure or "as the data sheet says"),
        ("written", f"{sheet.made_on}, {sheet.made_by}"),
    ]


def _shapes(sheet: Sheet) -> list[str]:
    return [f"{file}, fingerprint {digest[:FINGERPRINT]}" for file, digest in sheet.looks.shapes.items()]


def off_target(place: PlaceLook) -> str:
    """How far a place is from what is wanted, nothing where nothing is."""
    return "" if place.delta_e00 is None else f"{place.delta_e00:.1f} of {numeral(place.tolerance)}"


def ingredient(one: Ingredient) -> tuple[str, str, list[str]]:
    """An ingredient with its lot; how strong it is, where it is not as strong as the chips'; and its row: grams, doses."""
    name = f"{one.name}, lot {one.lot}" if one.lot else one.name
    strong = "" if abs(one.strength - 1) < 5e-4 else f" ({100 * one.strength:.0f} % strong)"
    doses = ["" if dose is None else numeral(dose, 4) for dose in (one.dose_phr, one.achieved_phr)]
    return name, strong, [one.shown, *doses]


def through(cup: CupLook) -> str:
    """How much light comes through the tinted resin in a cup."""
    return "next to no light" if cup.dark else f"{percent(cup.luminous_transmittance)} of the light"


def exactness(sheet: Sheet) -> tuple[str, list[tuple[str, str, str]]]:
    """How exact the weighing is, in a sentence; and what may be off, its spread, and what that does to the colour."""
    aim = "as aimed for" if sheet.weighed.meets_aim else "more than aimed for"
    told = (
        f"Weighing so moves the colour by no more than ΔE00 {sheet.weighed.delta_e00_95_worst:.2f} at any place, "
        f"95 times in 100; {aim} ({numeral(sheet.weighed.aim_delta_e00)})."
        + (" What matters most stands first." if sheet.weighed.budget else "")
    )
    return told, [
        (line.what, f"{numeral(100 * line.relative_spread, 2)} %", f"{line.delta_e00:.2f}") for line in matters(sheet)
    ]


def triple(lab: Sequence[float], gap: str = " ") -> str:
    """L*, a*, b* in a line."""
    return gap.join(f"{value:.1f}" for value in lab)
