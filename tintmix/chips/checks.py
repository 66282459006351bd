"""Readings that no plate can give, and what a set lacks: errors by cell, and warnings in a sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from tintmix.chips.chip import Chip, Pigment, Reading
from tintmix.chips.set_file import Setting
from tintmix.errors import FileProblem, Remedy
from tintmix.files.errors import Cell
from tintmix.numerals import numeral
from tintmix.optics.plate import external_transmittance
from tintmix.optics.spectrum import Array

ABOVE_CLEAR = 0.05
"""A reading this far above the clear plate's, relative, is no reading of a plate."""
HAZE_LIMIT = 0.30
"""ASTM D1003: above 30 % haze a specimen counts as diffusing."""
CAMERA_CEILING = 1.1
"""A chip lying on its panel sends light back into it, and reads up to 10 % too bright (simulated)."""
RENDERED_CEILING = 1.7
"""In linear sRGB a deep red chip is redder than its white panel, for the camera's matrix takes green and blue off (simulated)."""
WIDE_GAP_NM = 20.0
"""ASTM E308 has weights for steps of 10 and 20 nm: what lies wider apart is told."""
THICK_ON_TILE_MM = 6.0
"""Past this the usual 8 mm opening sees far less than all of the light that comes back (a width of 4 t is needed)."""

_SAME = 1e-6
"""Relative difference of two doses that are the same but for rounding."""


def clear_limit(reading: Reading, refractive_index: float) -> float:
    """The most that a reading can be: of a clear plate in air, 2n/(n² + 1); 1 where the faces are divided out; the bare
    tile's own, by its L*, for chips on a tile.

    >>> round(clear_limit(Reading("spectrum"), 1.5), 6), clear_limit(Reading("spectrum", relative_to="untinted"), 1.5)
    (0.923077, 1.0)
    """
    if reading.tile_lab is not None:
        return ((reading.tile_lab[0] + 16) / 116) ** 3
    if reading.relative_to != "air":
        return 1.0
    return float(external_transmittance(np.ones(()), refractive_index))


def check_unit(reading: Reading, chips: Sequence[Chip], where: object) -> list[str]:
    """Raises FileProblem where fractions are percents; a warning where percents look like fractions."""
    if reading.kind == "colour":
        return []
    values = np.concatenate([np.asarray(chip.values) for chip in chips if chip.is_read] or [np.zeros(0)])
    if not len(values):
        return []
    middle = float(np.median(values))
    if reading.unit == "fraction" and middle > 1.5:
        raise FileProblem(
            where=where,
            what=f'set.toml says unit = "fraction", but most readings are above 1.5 (the middle one is {numeral(middle, 3)}): '
            "they look like percent",
            remedy=Remedy.SAY_PERCENT_IN_SET,
        )
    if reading.unit == "percent" and float(values.max()) <= 0.015:
        return [
            'set.toml says unit = "percent", but no reading is above 1.5 %; '
            'if they are fractions, say unit = "fraction"'
        ]
    return []


def check_values(
    reading: Reading, chips: Sequence[Chip], columns: Sequence[str], refractive_index: float
) -> tuple[list[Cell], list[str]]:
    """Cells that no chip can read, and warnings. columns: the reading's headers. Chips left out are not looked at."""
    read = [chip for chip in chips if chip.is_read and chip.use]
    if not read:
        return [], []
    values = np.array([chip.values for chip in read])
    if reading.kind == "colour":
        return _check_colours(reading, read, values, columns, refractive_index)
    limit = clear_limit(reading, refractive_index)
    camera = reading.kind == "camera"
    spread = np.hypot(reading.reading_spread * limit, reading.zero_spread) if camera else reading.reading_spread
    ceiling = RENDERED_CEILING if reading.camera == "rendered" else CAMERA_CEILING
    highest = max(ceiling, limit * (1 + ABOVE_CLEAR)) if camera else limit * (1 + ABOVE_CLEAR)
    lowest = -max(0.02, 5 * float(spread))
    shown = 100.0 if reading.unit == "percent" else 1.0
    bad = []
    for chip, row in zip(read, values, strict=True):
        worst = int(np.argmax(row))
        if row[worst] > highest:
            count = int(np.sum(row > highest))
            said = f"{numeral(row[worst] * shown, 4)} is more than {'a camera chip' if camera else _clear(reading)} can give"
            more = f", in {count} cells of this row" if count > 1 else ""
            bad.append(
                Cell(
                    chip.row,
                    columns[worst],
                    f"{said} ({numeral(highest * shown, 4)} at most){more}; check the unit, and what it was read relative to",
                )
            )
        least = int(np.argmin(row))
        if row[least] < lowest:
            bad.append(
                Cell(
                    chip.row,
                    columns[least],
                    f"{numeral(row[least] * shown, 4)} is below zero; nothing transmits less than no light",
                )
            )
    if camera and reading.camera == "rendered":
        # Y of linear sRGB (IEC 61966-2-1): no chip lets more of it through than a clear one, whatever a channel does.
        values = values @ np.array([[0.2126], [0.7152], [0.0722]])
    return bad, _above_clear(read, values, limit, float(spread), reading, shown)


def _check_colours(
    reading: Reading, read: Sequence[Chip], values: Array, columns: Sequence[str], n: float
) -> tuple[list[Cell], list[str]]:
    limit = clear_limit(reading, n)
    lab = reading.space == "Lab"
    # CIE 15: Y/Yn = ((L* + 16)/116)³; below L* 8 it is a straight line, which no limit here comes near.
    y = ((np.maximum(values[:, 0], 0.0) + 16) / 116) ** 3 if lab else values[:, 1] / 100.0
    lightness = values[:, 0] if lab else 116 * np.cbrt(np.clip(y, 1e-9, None)) - 16
    spread_y = 3 * ((np.maximum(lightness, 8.0) + 16) / 116) ** 2 / 116 * reading.reading_spread
    bad = []
    lowest = -(1.0 + 5 * reading.reading_spread) if lab else -1.0
    for i, chip in enumerate(read):
        top = columns[0] if lab else columns[1]
        if y[i] > limit * (1 + ABOVE_CLEAR):
            said = values[i, 0] if lab else values[i, 1]
            most = 116 * np.cbrt(limit * (1 + ABOVE_CLEAR)) - 16 if lab else 100 * limit * (1 + ABOVE_CLEAR)
            bad.append(
                Cell(chip.row, top, f"{numeral(said, 4)} is lighter than {_clear(reading)} can be ({numeral(most, 4)} at most); "
                     "check what it was read relative to, and that it was read against a light")
            )  # fmt: skip
        for j, column in enumerate(columns):
            chroma = lab and j > 0
            if (abs(values[i, j]) > 200) if chroma else not lowest <= values[i, j] <= 200:
                bounds = "from -200 to 200" if chroma else f"from 0 to {100 if lab else 200}"
                if not any(c.row == chip.row and c.column == column for c in bad):
                    bad.append(
                        Cell(
                            chip.row, column, f"{numeral(values[i, j], 4)} is no colour's {column}; it must be {bounds}"
                        )
                    )
    return bad, _above_clear(read, y[:, None], limit, spread_y[:, None], reading, 100.0)


def _above_clear(
    read: Sequence[Chip], values: Array, limit: float, spread: float | Array, reading: Reading, shown: float
) -> list[str]:
    """Warnings of readings above the clear plate's. Two spreads above it is noise that 40 clear bands may well have."""
    above = values > limit + 2 * np.asarray(spread)
    rows = np.flatnonzero(above.any(axis=1)).tolist()
    if not len(rows):
        return []
    worst = float(values[rows].max())
    names = _names([read[i].name for i in rows])
    said = [
        f"{names} {'reads' if len(rows) == 1 else 'read'} up to {numeral(worst * shown, 4)}, more than {_clear(reading)} "
        f"can give ({numeral(limit * shown, 4)}); check the reading of the bare light and what the readings are relative to"
    ]
    if reading.kind == "spectrum":
        glowing = np.flatnonzero((values > limit + 3 * np.asarray(spread)).sum(axis=1) >= 3).tolist()
        if len(glowing):
            said.append(
                f"{_names([read[i].name for i in glowing])}: three bands or more lie far above the clear plate's; "
                "a fluorescent pigment does that, and tintmix does not model it"
            )
    return said


def leave_out_hazy(chips: Sequence[Chip]) -> tuple[list[Chip], list[str]]:
    """Chips with more than 30 % haze left out, with the reason."""
    hazy = [chip for chip in chips if chip.use and chip.haze is not None and chip.haze > HAZE_LIMIT]
    if not hazy:
        return list(chips), []
    reason = "haze above 30 %: it scatters too much for the straight-through model (ASTM D1003 calls it diffusing)"
    names = {chip.name for chip in hazy}
    kept = [replace(chip, use=False, left_out=reason) if chip.name in names else chip for chip in chips]
    said = ", ".join(f"{chip.name} ({numeral(100 * (chip.haze or 0), 3)} %)" for chip in hazy[:8])
    more = f" and {len(hazy) - 8} more" if len(hazy) > 8 else ""
    return kept, [
        f"left out for haze above 30 %: {said}{more}; such a chip scatters too much for the straight-through model"
    ]


def set_warnings(
    setting: Setting, pigments: Sequence[Pigment], chips: Sequence[Chip], nm: Sequence[float] | None
) -> list[str]:
    """What a set lacks, or what is odd about it: allowed, but said."""
    said: list[str] = []
    unread = [chip.name for chip in chips if chip.use and not chip.is_read]
    if unread:
        said.append(f"not read yet, and left out of the fit: {_names(unread)}")
    counted = [chip for chip in chips if chip.use and chip.is_read]
    one_cup = len(pigments) == 1 and pigments[0].name == "mix"
    if counted and not one_cup:
        if not any(chip.is_blank for chip in counted):
            said.append(
                "there is no untinted chip: the resin's own colour is then only guessed, "
                "and the bands are wider; cast one"
            )
        for p, pigment in enumerate(pigments):
            if sum(chip.doses_phr[p] > 0 for chip in counted) == 1:
                said.append(
                    f"{pigment.name} is in a single chip: its strength is known only roughly, "
                    "and the bands are wide; cast another"
                )
    if setting.reading.geometry == "regular" and counted and not any(chip.haze is not None for chip in counted):
        said.append(
            "the readings see straight-through light only, and no haze is given: if a chip scatters, thick places "
            "are predicted too dark; read with an integrating sphere, or give the haze (haze_percent in chips.csv)"
        )
    thick = [chip.name for chip in counted if chip.thickness_mm > THICK_ON_TILE_MM] if setting.reading.on_tile else []
    if thick:
        said.append(
            f"{_names(thick)} {'is' if len(thick) == 1 else 'are'} thick for a white tile: light that wanders "
            "sideways past the instrument's opening is lost; cast chips of 1 to 4 mm"
        )
    if nm is not None:
        gaps = [(a, b) for a, b in pairwise(nm) if b - a > WIDE_GAP_NM and b > 400 and a < 700]
        if gaps:
            said.append(
                f"the wavelengths lie up to {numeral(max(b - a for a, b in gaps))} nm apart; "
                "sharp bands between them are missed"
            )
    said += _cup_warnings(chips)
    said += _dose_warnings(setting, pigments, chips, one_cup)
    return said


def _cup_warnings(chips: Sequence[Chip]) -> list[str]:
    """Chips of one cup were poured from one mix: unlike doses are said; which label is wrong the fit will tell."""
    first: dict[str, Chip] = {}
    unlike: dict[str, list[str]] = {}
    for chip in chips:
        other = first.setdefault(chip.cup, chip)
        if any(abs(a - b) > _SAME * max(a, b) for a, b in zip(chip.doses_phr, other.doses_phr, strict=True)):
            unlike.setdefault(chip.cup, [other.name]).append(chip.name)
    return [
        f"the chips of cup {cup} do not have the same doses ({_names(names)}); a cup is one mix, so one label is wrong"
        for cup, names in unlike.items()
    ]


def _dose_warnings(setting: Setting, pigments: Sequence[Pigment], chips: Sequence[Chip], one_cup: bool) -> list[str]:
    said = []
    for p, pigment in enumerate(pigments):
        over = [
            chip.name
            for chip in chips
            if pigment.max_phr is not None and chip.doses_phr[p] > pigment.max_phr * (1 + 1e-9)
        ]
        if over:
            said.append(f"{_hold(over)} more {pigment.name} than its max_phr of {numeral(pigment.max_phr or 0.0)}")
        vague = [
            chip.name
            for chip in chips
            if chip.doses_phr[p] > 0 and len(chip.dose_spreads) > p and chip.dose_spreads[p] > 0.2
        ]
        if vague:
            said.append(
                f"the scale cannot weigh the {pigment.name} of {_names(vague)} to 20 %; use a finer scale or a stock bottle"
            )
        weighed = any(chip.weights and chip.weights.pigments_g[p] for chip in chips)
        if weighed and pigment.stock:
            said.append(
                f"{pigment.name}_g is read as grams of {pigment.name} as supplied; "
                f"where its stock bottle ({pigment.stock}) was weighed, give the pigment that was in it"
            )
    total = setting.resin.max_total_phr
    if total is not None and not one_cup:
        over = [chip.name for chip in chips if sum(chip.doses_phr) > total * (1 + 1e-9)]
        if over:
            said.append(f"{_hold(over)} more pigment than the resin's max_total_phr of {numeral(total)}")
    return said


def _hold(names: Sequence[str]) -> str:
    return f"{_names(names)} hold{'s' if len(names) == 1 else ''}"


def _clear(reading: Reading) -> str:
    if reading.on_tile:
        return "the bare white tile"
    return "a clear plate" if reading.relative_to == "air" else "clear resin"


def _names(names: Sequence[str], most: int = 8) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
