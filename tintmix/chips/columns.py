"""What the header row of chips.csv says: which column holds what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tintmix.chips.chip import MIX, Space
from tintmix.chips.names import pigment_name_problem
from tintmix.files.errors import BadTable
from tintmix.files.table import Sheet, number_of, say
from tintmix.files.words import did_you_mean
from tintmix.numerals import numeral

FIXED = (
    "chip", "cup", "thickness_mm", "resin_g", "scale_g", "haze_percent", "haze", "reading_spread", "check_chip", "note",
    "use", "camera",
)  # fmt: skip
SHORTEST_NM, LONGEST_NM = 300.0, 1100.0
"""Silicon detectors end near 1100 nm, its band gap; an eye sees nothing below 360 nm."""
MUST_COVER_NM = (400.0, 700.0)
"""Outside lies less than 0.1 % of X, Y or Z under D65; what an instrument leaves out there is held (ASTM E308 §7.3)."""
WIDEST_GAP_NM = 50.0
"""In a wider gap a pigment's whole band could hide: narrow ones are 35 nm wide at half their height (`design.worlds`)."""
_SPACES: dict[str, tuple[str, ...]] = {"Lab": ("L", "a", "b"), "XYZ": ("X", "Y", "Z"), "RGB": ("R", "G", "B")}
_LETTERS = {letter for letters in _SPACES.values() for letter in letters}


@dataclass(frozen=True, slots=True)
class Dose:
    """A pigment's column: its dose in phr, or its weight in grams."""

    pigment: str
    column: int
    in_grams: bool


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each thing stands. fixed: name → column. values: the reading's columns, in order."""

    header: tuple[str, ...]
    fixed: dict[str, int]
    doses: tuple[Dose, ...]
    values: tuple[int, ...]
    wavelengths_nm: tuple[float, ...] | None
    space: Space | None


def read_columns(sheet: Sheet, kind: str, where: object) -> Columns:
    """The header of chips.csv, for a reading of this kind. Raises BadTable with all that is wrong."""
    problems: list[str] = []
    fixed: dict[str, int] = {}
    doses: list[Dose] = []
    letters: dict[str, int] = {}
    waves: list[tuple[float, int]] = []
    seen: set[str] = set()
    for column, name in enumerate(sheet.header):
        if not name:
            if any(len(cells) > column and cells[column] for _, cells in sheet.rows):
                problems.append(f"column {column + 1} has no name, but cells below it are filled; name it, or empty it")
            continue
        if name in seen:
            problems.append(f"{say(name)} stands there twice; take one out")
            continue
        seen.add(name)
        wavelength = number_of(name.removesuffix("nm").rstrip(), sheet.decimal_comma)
        if name in FIXED:
            fixed[name] = column
        elif wavelength is not None:
            waves.append((wavelength, column))
        elif name in _LETTERS:
            letters[name] = column
        elif name.endswith(("_phr", "_g")):
            problems += _dose(name, column, doses)
        else:
            known = [*FIXED, *(f"{d.pigment}_phr" for d in doses)]
            problems.append(f"{say(name)} is no column of a chip table; {did_you_mean(name, known)}")
    problems += [f"there is no column {say(key)}; add it" for key in ("chip", "thickness_mm") if key not in fixed]
    if not doses:
        named = 'add a column such as "azure_phr" ("mix_phr" for the one cup of a ready mix)'
        problems.append(f"no pigment is dosed; {named}")
    if any(d.pigment == MIX for d in doses) and len(doses) > 1:
        said = "stands for the whole mix of a one-cup set and cannot be beside other pigments; rename it"
        problems.append(f'"{MIX}" {said}')
    in_grams = any(d.in_grams for d in doses)
    if in_grams and "resin_g" not in fixed:
        problems.append('pigment is given in grams, but there is no column "resin_g"; add it')
    problems += [
        f'{say(name)} needs pigment in grams, in a column such as "azure_g"'
        for name in ("resin_g", "scale_g")
        if name in fixed and not in_grams
    ]
    space, values, more = _reading(kind, waves, letters)
    problems += more
    if problems:
        raise BadTable(f"{where}: row 1, the header", problems)
    wavelengths = (tuple(nm for nm, _ in waves) or None) if kind == "spectrum" else None
    return Columns(sheet.header, fixed, tuple(doses), values, wavelengths, space)


def _dose(name: str, column: int, doses: list[Dose]) -> list[str]:
    in_grams = name.endswith("_g")
    pigment = name.removesuffix("_g" if in_grams else "_phr")
    problem = pigment_name_problem(pigment)
    if problem:
        return [f"{say(name)}: a pigment's name {problem}"]
    if any(d.pigment == pigment for d in doses):
        return [f"{say(pigment)} is given both in phr and in grams; keep one of the two columns"]
    if pigment == MIX and in_grams:
        return ['"mix_g": a one-cup set doses its mix by "mix_phr", 1 for the cup as poured']
    doses.append(Dose(pigment, column, in_grams))
    return []


def _reading(
    kind: str, waves: Sequence[tuple[float, int]], letters: dict[str, int]
) -> tuple[Space | None, tuple[int, ...], list[str]]:
    """The space and the columns of the reading, and what is wrong with them."""
    if not waves and not letters:
        # A set that is still to be read, as a maker writes it down by hand.
        return None, (), []
    found = [name for name, needed in _SPACES.items() if set(needed) <= set(letters)]
    wanted = {"colour": ("Lab", "XYZ"), "camera": ("RGB",)}.get(kind, ())
    here = [name for name in found if name in wanted]
    other = next((name for name in found if name not in wanted), "")
    meant = ""
    if other:
        right = "camera" if other == "RGB" else "colour"
        meant = f', though there are {", ".join(_SPACES[other])}: is kind = "{right}" meant?'
    elif waves:
        meant = ', though there are wavelengths: is kind = "spectrum" meant?'
    apart = "a second kind of reading needs a set of its own"
    if kind == "spectrum":
        nm = [wavelength for wavelength, _ in waves]
        problems = _wavelengths(nm) if waves else [f'kind = "spectrum", but no column is headed by a wavelength{meant}']
        if waves and letters:
            problems.insert(0, f"beside the spectrum stand {', '.join(letters)}; {apart}")
        return None, tuple(column for _, column in waves), problems
    if not here:
        needed = " or ".join(", ".join(_SPACES[name]) for name in wanted)
        return None, (), [f'kind = "{kind}" needs the columns {needed}{meant}']
    # B is a camera's and b a colour's: what is not part of the reading found must not stand there.
    stray = [letter for letter in letters if not any(letter in _SPACES[name] for name in here)]
    extra = [*stray, *(numeral(nm) for nm, _ in waves[:3])]
    problems = [f"beside the reading stand {', '.join(extra)}; {apart}"] if extra else []
    if len(here) > 1:
        problems = ["there are both L, a, b and X, Y, Z; keep one of the two"]
    space: Space | None = None if kind == "camera" else "Lab" if here[0] == "Lab" else "XYZ"
    return space, tuple(letters[letter] for letter in _SPACES[here[0]]), problems


def _wavelengths(nm: Sequence[float]) -> list[str]:
    problems = []
    outside = [w for w in nm if not SHORTEST_NM <= w <= LONGEST_NM]
    if outside:
        bounds = f"{numeral(SHORTEST_NM)} to {numeral(LONGEST_NM)} nm"
        problems.append(f"the wavelength {numeral(outside[0])} nm lies outside {bounds}; take its column out")
    before, after = next(((a, b) for a, b in pairwise(nm) if b <= a), (0.0, 1.0))
    if after == before:
        return [*problems, f"the wavelength {numeral(after)} nm stands there twice; take one column out"]
    if after < before:
        said = f"({numeral(after)} nm follows {numeral(before)} nm); sort the columns, shortest first"
        return [*problems, f"the wavelengths are out of order {said}"]
    low, high = MUST_COVER_NM
    if nm[0] > low or nm[-1] < high:
        said = f"it must cover {numeral(low)} to {numeral(high)} nm"
        return [*problems, f"the spectrum covers {numeral(nm[0])} to {numeral(nm[-1])} nm; {said}"]
    return problems + [
        f"the wavelengths leave out {numeral(a)} to {numeral(b)} nm; at most {numeral(WIDEST_GAP_NM)} nm may lie between two"
        for a, b in pairwise(nm)
        if b - a > WIDEST_GAP_NM and a < high and b > low
    ]
