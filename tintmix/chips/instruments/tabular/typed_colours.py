"""Typed or pasted colours: a line a chip, its name and three numbers, or a screen colour."""

from __future__ import annotations

import math
import re

from tintmix.chips.instruments.errors import no_samples, not_typed, too_many_samples
from tintmix.chips.instruments.sample import MOST_SAMPLES, Sample, SampleFile, Space
from tintmix.chips.instruments.tabular.heads import colours_of
from tintmix.files.table import number_of
from tintmix.files.words import plain

_LETTERED = re.compile(r"(?<![\w*])([LabXYZxyCh])\*?\s*[=:]\s*([+-]?[0-9]+(?:[.,][0-9]+)?)(?![\w])")
_NUMBERS = r"[+-]?[0-9.,]+(?:[\s,;]+[+-]?[0-9.,]+){2}"
_AFTER_COLON = re.compile(rf"^([^:;\t]+?)\s*:(?=\s*{_NUMBERS}(?:(?:[\s,;]+[+-]?[0-9.,]+){{2}})?\s*$)")
SPACES: tuple[Space, ...] = ("Lab", "XYZ", "xyY", "LCh", "sRGB")
_SPACE_WORD: dict[str, Space] = {
    "lab": "Lab", "l*a*b*": "Lab", "xyz": "XYZ", "xyy": "xyY", "lch": "LCh", "srgb": "sRGB", "rgb": "sRGB",
}  # fmt: skip


def parse_colours(text: str, space: Space = "Lab", where: str = "the colours typed in") -> SampleFile:
    """Colours from lines such as "b1 78.2 -12.5 -20.1", "b1: Lab 78,2; -12,5; -20,1" or "b1 = #cfe8dc".

    space: of lines that name none. Empty lines, lines that begin with "#" and a space, and a header line are passed
    over. Each number may have its letter, and C* and h may stand behind L*, a*, b*. Raises ValueProblem, FileProblem.

    >>> parse_colours("b1 78.2 -12.5 -20.1\\nclear = #f0f4f2").samples[1].space
    'sRGB'
    >>> parse_colours("b 1;XYZ;50,2;60,1;70").samples[0].values
    (50.2, 60.1, 70.0)
    >>> [one.values for one in parse_colours("b1:50 3 4 5 53.1\\nb2 L*=50, a*=3, b*=4").samples]
    [(50.0, 3.0, 4.0), (50.0, 3.0, 4.0)]
    """
    samples: list[Sample] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip()
        if not line or re.match(r"#(?![0-9a-fA-F]{6}\b)", line) or _is_header(line, samples):
            continue
        if len(line) > 400:
            raise not_typed(number, "it is longer than 400 characters")
        if len(samples) >= MOST_SAMPLES:
            raise too_many_samples(where, "samples", MOST_SAMPLES)
        samples.append(_line(line, number, space, f"{where}, line {number}"))
    if not samples:
        raise no_samples(where, "it is empty")
    return SampleFile(where, "typed colours", tuple(samples))


def _is_header(line: str, before: list[Sample]) -> bool:
    return not before and not re.search(r"[0-9]", line) and bool(re.search(r"\b(L\*?|X|x|chip|sample|name)\b", line))


def _line(line: str, number: int, space: Space, source: str) -> Sample:
    hexadecimal = re.search(r"(?:^|[\s:=,;])#?([0-9a-fA-F]{6})\s*$", line)
    if hexadecimal and ("#" in line or space == "sRGB"):
        levels = tuple(map(float, bytes.fromhex(hexadecimal.group(1))))
        return Sample(_name(line[: hexadecimal.start()], number), "colour", levels, "sRGB", source=source)
    if (labelled := _labelled(line, number, source)) is not None:
        return labelled
    # A colon after a name needs no blank behind it.
    sign = next((one for one in ";\t" if one in line), " ")
    line = _AFTER_COLON.sub(rf"\1{sign} ", line)
    parted = re.split(r"[;\t]", line) if ";" in line or "\t" in line else _commas(line).split()
    cells = [cell for cell in map(str.strip, parted) if cell not in ("", "=", ":")]
    if len(cells) == 3 and ";" in line:
        # Only the numbers are parted by semicolons.
        cells = [*cells[0].rsplit(None, 1), *cells[1:]]
    if len(cells) < 4:
        raise not_typed(number, f"{plain(line, 60)!r} is not a chip and three numbers")
    cells = _without_polar(cells)
    values = [number_of(cell, decimal_comma=True) for cell in cells[-3:]]
    read = tuple(v for v in values if v is not None and abs(v) < 1e6)
    if len(read) != 3:
        raise not_typed(number, f"{plain(' '.join(cells[-3:]), 40)!r} are not three numbers")
    head = cells[:-3]
    # A chip may well be called "Lab 3": only a word before the numbers, after a name, is a space.
    words = " ".join(head).split()
    said = _SPACE_WORD.get(words[-1].lower().strip(":=")) if len(words) > 1 else None
    return Sample(_name(" ".join(words[:-1] if said else words), number), "colour", read, said or space, source=source)


def _labelled(line: str, number: int, source: str) -> Sample | None:
    """A line in which each number has its letter, as "b1 L*=78.2 a*=-12.5 b*=-20.1"; None for any other."""
    found = list(_LETTERED.finditer(line))
    letters = [one.group(1) for one in found]
    group = next(iter(colours_of(letters)), None) if len(found) >= 3 else None
    if group is None:
        return None
    read = [number_of(found[at].group(2).rstrip(","), decimal_comma=True) for at in group.columns]
    if any(v is None or abs(v) >= 1e6 for v in read):
        raise not_typed(number, f"{plain(line, 60)!r} does not have three numbers")
    values = tuple(v for v in read if v is not None)
    return Sample(_name(line[: found[0].start()], number), "colour", values, group.space, source=source)


def _without_polar(cells: list[str]) -> list[str]:
    """The cells without C* and h behind L*, a*, b*, as many instruments show all five: C* is the length of a*, b*."""
    numbers = [number_of(cell, decimal_comma=True) for cell in cells[-5:]]
    if len(cells) < 6 or any(one is None for one in numbers):
        return cells
    _, a, b, chroma, hue = (one or 0.0 for one in numbers)
    is_polar = abs(math.hypot(a, b) - chroma) <= 0.02 * chroma + 0.1 and 0 <= hue <= 360
    return cells[:-2] if is_polar else cells


def _commas(line: str) -> str:
    """Commas that part numbers become blanks; one between two digits without blanks beside it is a decimal comma."""
    if re.search(r",\s", line) or (line.count(",") == 3 and " " not in line.strip()):
        return (
            line.replace(",", " ") if "." in line or not re.search(r"\d,\d+,?\s", line) else re.sub(r",\s", " ", line)
        )
    return line


def _name(text: str, number: int) -> str:
    name = plain(text.strip().rstrip(":=,;").strip().strip('"'), 80)
    if not name:
        raise not_typed(number, "no chip is named")
    return name
