"""Readings that no plate can give, and what a set lacks: errors by cell, and warnings in a sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import NormalDist

import numpy as np

from tintmix.chips.chip import MIX, Chip, ChipSet, Pigment, Reading
from tintmix.chips.errors import some
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
    """Raises FileProblem where fractions are percents, or percents fractions; a warning where the latter may be."""
    values = [value for chip in chips for value in chip.values]
    if not values or (reading.kind == "colour" and reading.space != "XYZ"):
        return []
    clear = [value for chip in chips if not any(chip.doses_phr) for value in chip.values]
    if reading.kind == "colour":
        if clear and max(clear) <= 1.5:
            said = "no untinted chip has X, Y or Z above 1.5: they look like fractions; write them with Y of the bare light = 100"
            raise FileProblem(where=where, what=said)
        return []
    middle = float(np.median(values))
    if reading.unit == "fraction" and middle > 1.5:
        said = f"most readings are above 1.5 (the middle one is {numeral(middle, 3)}): they look like percent"
        what = f'set.toml says unit = "fraction", but {said}'
        raise FileProblem(where=where, what=what, remedy=Remedy.SAY_PERCENT_IN_SET)
    if reading.unit == "percent" and clear and max(clear) <= 0.015:
        said = 'no untinted chip reads above 1.5 %: they look like fractions; say unit = "fraction"'
        raise FileProblem(where=where, what=f'set.toml says unit = "percent", but {said}')
    said = 'no reading is above 1.5 %; if they are fractions, say unit = "fraction"'
    low = reading.unit == "percent" and max(values) <= 0.015
    return [f'set.toml says unit = "percent", but {said}'] if low else []


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
    most = (
        f"more than {'a camera chip' if camera else _clear(reading)} can give ({numeral(highest * shown, 4)} at most)"
    )
    bad = []
    for chip, row in zip(read, values, strict=True):
        worst, least = int(np.argmax(row)), int(np.argmin(row))
        count = int(np.sum(row > highest))
        if count:
            cells = f", in {count} cells of this row" if count > 1 else ""
            said = f"{numeral(row[worst] * shown, 4)} is {most}{cells}; check the unit{_or_against(reading)}"
            bad.append(Cell(chip.row, columns[worst], said))
        if row[least] < lowest:
            said = f"{numeral(row[least] * shown, 4)} is below zero; nothing transmits less than no light"
            bad.append(Cell(chip.row, columns[least], said))
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
    bad = {}
    highest = limit * (1 + ABOVE_CLEAR)
    at, most = (0, 116 * np.cbrt(highest) - 16) if lab else (1, 100 * highest)
    lowest = -(1.0 + 5 * reading.reading_spread) if lab else -1.0
    for i, chip in enumerate(read):
        for j, column in enumerate(columns):
            chroma = lab and j > 0
            if not (-200 if chroma else lowest) <= values[i, j] <= 200:
                bounds = "from -200 to 200" if chroma else f"from 0 to {100 if lab else 200}"
                bad[chip.row, column] = f"{numeral(values[i, j], 4)} is no colour's {column}; it must be {bounds}"
        if y[i] > highest:
            said = f"{numeral(values[i, at], 4)} is lighter than {_clear(reading)} can be ({numeral(most, 4)} at most)"
            check = "check what it was read relative to, and that it was read against a light"
            bad[chip.row, columns[at]] = f"{said}; {check}"
    cells = [Cell(row, column, said) for (row, column), said in bad.items()]
    return cells, _above_clear(read, y[:, None], limit, spread_y[:, None], reading, 100.0)


def _or_against(reading: Reading) -> str:
    if reading.relative_to != "air" or reading.kind == "camera":
        return ", and what it was read relative to"
    return '; if an untinted chip was set to 100 %, write relative_to = "untinted" in set.toml'


def _above_clear(
    read: Sequence[Chip], values: Array, limit: float, spread: float | Array, reading: Reading, shown: float
) -> list[str]:
    """Warnings of readings above the clear plate's, by more than noise makes of so many in one set of a hundred."""
    noise = NormalDist().inv_cdf(1 - 0.01 / values.size)
    above = values > limit + noise * np.asarray(spread)
    rows = np.flatnonzero(above.any(axis=1)).tolist()
    if not rows:
        return []
    worst = f"{'reads' if len(rows) == 1 else 'read'} up to {numeral(float(values[rows].max()) * shown, 4)}"
    said = [
        f"{some([read[i].name for i in rows])} {worst}, more than {_clear(reading)} can give ({numeral(limit * shown, 4)}); "
        f"check the reading of the bare light{_or_against(reading)}"
    ]
    far = (values > limit + 3 * np.asarray(spread)).sum(axis=1) >= 3
    if reading.kind == "spectrum" and far.any():
        glowing = some([read[i].name for i in np.flatnonzero(far).tolist()])
        does = "a fluorescent pigment does that, and tintmix does not model it"
        said.append(f"{glowing}: three bands or more lie far above the clear plate's; {does}")
    return said


def leave_out_hazy(chips: Sequence[Chip]) -> tuple[list[Chip], list[str]]:
    """Chips with more than 30 % haze left out, with the reason."""
    hazy = {chip.name: chip.haze for chip in chips if chip.use and chip.haze is not None and chip.haze > HAZE_LIMIT}
    reason = "haze above 30 %: it scatters too much for the straight-through model (ASTM D1003 calls it diffusing)"
    kept = [replace(chip, use=False, left_out=reason) if chip.name in hazy else chip for chip in chips]
    names = some([f"{name} ({numeral(100 * haze, 3)} %)" for name, haze in hazy.items()])
    said = f"left out for haze above 30 %: {names}; such a chip scatters too much for the straight-through model"
    return kept, [said] if hazy else []


_ONE_THICKNESS = (
    "one cup at one thickness: its colour hardly tells how steep the spectrum is; a mix of narrow, steep dyes comes out "
    "lighter in places several times as thick, beyond the ± in one to three of ten simulated ones; read the same cup at a second "
    "thickness too: it is then about half as far off, though beyond the narrower ± as often"
)
_TWO_THICKNESSES = (
    "one cup, read as colours: they hardly tell how steep the spectrum is; a mix of narrow, steep dyes comes out beyond the ± "
    "in places several times as thick in one to three of ten simulated ones; pigments learnt one by one are told better"
)
"""Read at 12 mm and told at 60 mm, bands of 60 cups of steep narrow dyes cover 82 %, and the median error is 11; read at 3 and
12 mm 80 %, and 5.6. Of films, glasses, dyes and mixtures 100 %, and 93 to 100 % (`python -m tests.accuracy.cup_rows`)."""


def set_warnings(
    setting: Setting, pigments: Sequence[Pigment], chips: Sequence[Chip], nm: Sequence[float] | None
) -> list[str]:
    """What a set lacks, or what is odd about it: allowed, but said."""
    unread = [chip.name for chip in chips if chip.use and not chip.is_read]
    said = [f"not read yet, and left out of the fit: {some(unread)}"] if unread else []
    counted = [chip for chip in chips if chip.use and chip.is_read]
    one_cup = [pigment.name for pigment in pigments] == [MIX]
    said += _lacking([(pigments, chip) for chip in counted], setting.reading.kind != "spectrum")
    if setting.reading.geometry == "regular" and counted and not any(chip.haze is not None for chip in counted):
        said.append(
            "haze unknown: the readings count as straight-through light only, which takes scatter for colour, and thick places "
            "get wider bands; say of each chip's haze whether it is clear or slight (or give it in per cent), or, if the "
            "instrument has an integrating sphere, that its geometry is total"
        )
    thick = [chip.name for chip in counted if chip.thickness_mm > THICK_ON_TILE_MM]
    if thick and setting.reading.on_tile:
        said.append(
            f"{some(thick)} {'is' if len(thick) == 1 else 'are'} thick for a white tile: light that wanders "
            "sideways past the instrument's opening is lost; cast chips of 1 to 4 mm"
        )
    gaps = [b - a for a, b in pairwise(nm or ()) if b - a > WIDE_GAP_NM and b > 400 and a < 700]
    if gaps:
        said.append(f"the wavelengths lie up to {numeral(max(gaps))} nm apart; sharp bands between them are missed")
    return said + _cup_warnings(chips) + _dose_warnings(setting, pigments, chips, one_cup)


def lacking(sets: Sequence[ChipSet]) -> list[str]:
    """What all sets of a fit lack together: an untinted chip, a second chip of a pigment. Chips of one name are one."""
    counted = [(chips.pigments, chip) for chips in sets for chip in chips.chips if chip.use and chip.is_read]
    return _lacking(counted, all(chips.reading.kind != "spectrum" for chips in sets))


def _lacking(counted: Sequence[tuple[Sequence[Pigment], Chip]], by_colour: bool) -> list[str]:
    holding: dict[str, set[str]] = {pigment.name: set() for pigments, _ in counted for pigment in pigments}
    for pigments, chip in counted:
        for pigment, dose in zip(pigments, chip.doses_phr, strict=True):
            if dose > 0:
                holding[pigment.name].add(chip.name)
    if counted and [*holding] == [MIX]:
        mm = [chip.thickness_mm for _, chip in counted]
        # Half as thick again tells little more than the same thickness.
        return [_ONE_THICKNESS if max(mm) < 1.5 * min(mm) else _TWO_THICKNESSES] if by_colour else []
    if not counted:
        return []
    said = []
    if not any(chip.is_blank for _, chip in counted):
        guessed = "the resin's own colour is then only guessed, and the bands are wider; cast one"
        said.append(f"there is no untinted chip: {guessed}")
    return said + [
        f"{name} is in a single chip: its strength is known only roughly, and the bands are wide; cast another"
        for name, chips in holding.items()
        if len(chips) == 1
    ]


def _cup_warnings(chips: Sequence[Chip]) -> list[str]:
    """Chips of one cup were poured from one mix: unlike doses are said; which label is wrong the fit will tell."""
    first: dict[str, Chip] = {}
    unlike: dict[str, list[str]] = {}
    for chip in chips:
        other = first.setdefault(chip.cup, chip)
        if any(abs(a - b) > _SAME * max(a, b) for a, b in zip(chip.doses_phr, other.doses_phr, strict=True)):
            unlike.setdefault(chip.cup, [other.name]).append(chip.name)
    return [
        f"the chips of cup {cup} do not have the same doses ({some(names)}); a cup is one mix, so one label is wrong"
        for cup, names in unlike.items()
    ]


def _dose_warnings(setting: Setting, pigments: Sequence[Pigment], chips: Sequence[Chip], one_cup: bool) -> list[str]:
    said = []

    def above(doses_phr: Sequence[float], most_phr: float | None, what: str, named: str) -> None:
        over = [chip.name for chip, dose in zip(chips, doses_phr, strict=True) if dose > (most_phr or 0.0) * (1 + 1e-9)]
        if over and most_phr is not None:
            hold = f"hold{'s' if len(over) == 1 else ''}"
            said.append(f"{some(over)} {hold} more {what} than {named} of {numeral(most_phr)}")

    for p, pigment in enumerate(pigments):
        above([chip.doses_phr[p] for chip in chips], pigment.max_phr, pigment.name, "its max_phr")
        vague = [c.name for c in chips if c.doses_phr[p] > 0 and len(c.dose_spreads) > p and c.dose_spreads[p] > 0.2]
        if vague:
            weighing = f"the scale cannot weigh the {pigment.name} of {some(vague)} to 20 %"
            said.append(f"{weighing}; use a finer scale or a stock bottle")
        weighed = any(chip.weights and chip.weights.pigments_g[p] for chip in chips)
        if weighed and pigment.stock:
            said.append(
                f"{pigment.name}_g is read as grams of {pigment.name} as supplied; "
                f"where its stock bottle ({pigment.stock}) was weighed, give the pigment that was in it"
            )
    if not one_cup:
        total = setting.resin.max_total_phr
        above([sum(chip.doses_phr) for chip in chips], total, "pigment", "the resin's max_total_phr")
    return said


def _clear(reading: Reading) -> str:
    if reading.on_tile:
        return "the bare white tile"
    return "a clear plate" if reading.relative_to == "air" else "clear resin"
