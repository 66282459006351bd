"""What the heads of a table are: wavelengths, letters of a colour, names, lights; and cells that are wavelengths."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tintmix.chips.instruments.sample import Space
from tintmix.chips.instruments.tabular.cells import value_of
from tintmix.chips.instruments.words import once, wave_scale, without_quantity

LEAST_WAVES = 5
"""Wavelengths that make a header, or without a head a column, of their own."""
SHORTEST, LONGEST = 150.0, 3500.0
"""Nanometres that instruments for ultraviolet, light and near infrared go through."""
_WAVE = re.compile(
    r"(?P<before>[^0-9]{0,40}?(?:[^0-9]{0,30}(?<![.,0-9]))?)[\[(]?(?P<nm>[0-9]{3,4}(?:[.,][0-9]{1,7})?)[\])]?\s*(?:nm)?(?P<after>[^0-9]{0,40})",
    re.IGNORECASE,
)
_WAVE_CELL = re.compile(r"[\[(]?\s*([0-9]{3,4}(?:[.,][0-9]{1,7})?)\s*nm\s*[\])]?", re.IGNORECASE)
_NO_LETTERS = re.compile(
    r"Δ|delta|(?<![a-z])d(?=[labcexyzh]\*?(?![a-z]))|diff|std|dev|toler|target|mean|min|max", re.IGNORECASE
)
_SPACES: dict[Space, tuple[str, str, str]] = {
    "Lab": ("L", "a", "b"),
    "XYZ": ("X", "Y", "Z"),
    "xyY": ("x", "y", "Y"),
    "LCh": ("L", "C", "h"),
}
_FAMILIES = {
    "lab": "Lab", "cielab": "Lab", "hunterlab": "", "hunter": "", "lch": "LCh", "cielch": "LCh", "xyz": "XYZ", "ciexyz": "XYZ",
    "xyy": "xyY", "ciexyy": "xyY", "luv": "", "cieluv": "", "rgb": "", "srgb": "", "cmyk": "",
}  # fmt: skip
"""Prefixes as in LAB_L; those of spaces that are not read are empty."""
NAMES = (
    "chip", "user color name", "color name", "colour name", "sample name", "samplename", "sample_name", "name", "data name",
    "sample", "samples", "sample title", "title",
    "label", "description", "probe", "probenname", "probenbezeichnung", "bezeichnung", "échantillon", "echantillon",
    "nom de l'échantillon", "nom", "muestra", "nombre", "nombre de la muestra", "campione", "nome", "nome campione", "amostra",
    "monster", "試料名", "サンプル名", "試料", "名称", "样品名称", "样品", "образец", "prov", "vzorek",
    "próbka", "prøve", "näyte", "comment", "patch", "location", "file", "filename", "file name", "spectrum",
)  # fmt: skip
IDS = (
    "sample id", "sampleid", "sample_id", "id", "probe id", "probennummer", "proben-nr.", "no", "no.", "nr", "nr.", "n°", "nº",
    "#", "index", "number", "sample no", "sample no.", "sample number", "番号", "no:", "key", "code", "data no.", "data no",
)  # fmt: skip
CONDITIONS = (
    "geometry", "geometrie", "géométrie", "geometría", "geometria", "messgeometrie", "specular", "specular component",
    "gloss", "mode", "measurement mode", "measuring mode", "type",
    "measurement type", "sci/sce", "glanz", "messmodus", "messart", "mode de mesure", "color condition", "condition",
    "quantity", "data type", "measurement", "angle", "winkel", "messwinkel", "filter", "measurement condition",
    "aperture", "uv", "uv filter", "hours", "exposure",
)  # fmt: skip
"""Of how a row was read: two rows of one name that differ in them are no repeats."""


@dataclass(frozen=True, slots=True)
class Waves:
    """Wavelengths across a header that are alike but for the number. words: what else their heads say. columns: (nm, column)."""

    words: str
    columns: tuple[tuple[float, int], ...]


@dataclass(frozen=True, slots=True)
class Letters:
    """The three columns of a colour. words: what their heads say besides, such as the light."""

    space: Space
    columns: tuple[int, int, int]
    words: str = field(default="")


def wave_of(cell: str) -> float | None:
    """The wavelength, or whatever counts it, that a cell says: a number, with "nm" or without.

    >>> wave_of("400 nm"), wave_of("400,5"), wave_of("b1")
    (400.0, 400.5, None)
    """
    value = value_of(cell)
    if value is not None:
        return value if value > 0 else None
    found = _WAVE_CELL.fullmatch(cell)
    return float(found.group(1).replace(",", ".")) if found else None


def is_wave_run(cells: Sequence[float | None]) -> bool:
    """Whether a column without a head goes one way through nanometres that are light, or near it.

    >>> is_wave_run([400, 410, 420, 430, 440]), is_wave_run([1, 2, 3, 4, 5]), is_wave_run([700, 600, 500, 400, 300])
    (True, False, True)
    """
    nm = [one for one in cells[:200] if one is not None]
    if len(nm) < LEAST_WAVES or 2 * len(nm) < len(cells[:200]) or not all(SHORTEST <= one <= LONGEST for one in nm):
        return False
    steps = [b - a for a, b in pairwise(nm)]
    # The second spectrum may follow at once, so that it turns back now and then.
    return any(sum(way * step > 0 for step in steps) >= 0.9 * len(steps) for way in (1, -1))


def waves_of(heads: Sequence[str]) -> list[Waves]:
    """Groups of wavelengths in a header: at least five that go one way.

    >>> [group.words for group in waves_of(["id", "R400", "R410", "R420", "R430", "R440", "T400"])]
    ['R']
    """
    groups: dict[str, list[tuple[float, int]]] = {}
    for column, head in enumerate(heads if len(heads) >= LEAST_WAVES else ()):
        found = _WAVE.fullmatch(head) if head and len(head) < 90 else None
        if found:
            nm = float(found.group("nm").replace(",", "."))
            if SHORTEST <= nm <= LONGEST:
                words = f"{found.group('before')} {found.group('after')}".strip(" _-,;:=([")
                groups.setdefault(" ".join(words.split()), []).append((nm, column))
    return [Waves(words, tuple(columns)) for words, columns in groups.items() if _is_row_of_waves(words, columns)]


def _is_row_of_waves(words: str, columns: Sequence[tuple[float, int]]) -> bool:
    """Samples "chip 401" and so on may stand in any order; wavelengths go one way, or are heads of nothing else in no order."""
    nm = [one for one, _ in columns]
    rises = [b > a for a, b in pairwise(nm)]
    one_way = all(rises) or not any(rises)
    return len(nm) >= LEAST_WAVES and (one_way or (not without_quantity(words) and is_grid(nm)))


def is_grid(nm: Sequence[float]) -> bool:
    """Whether numbers in no order are wavelengths by themselves: light from end to end, at one distance from each other.

    >>> is_grid([700, 400, 500, 600, 550, 450, 650]), is_grid([401, 405, 403, 402, 404]), is_grid([400, 700, 410, 420, 690])
    (True, False, False)
    """
    inside = sorted({round(one, 3) for one in nm})
    steps = [b - a for a, b in pairwise(inside)]
    if len(inside) < LEAST_WAVES or inside[0] < SHORTEST or inside[-1] > LONGEST:
        return False
    return inside[0] <= 450 and inside[-1] >= 650 and max(steps) <= 1.05 * min(steps)


@once
def letter_of(head: str) -> tuple[str, str]:
    """A head's colour letter, and what else it says; no letter for a head that is none.

    >>> letter_of("L*(10°/D65)"), letter_of("CIE-a*"), letter_of("LAB_B"), letter_of("azure"), letter_of("dL*")
    (('L', '10°/D65'), ('a', ''), ('b', ''), ('', ''), ('', ''))
    """
    if value_of(head) is not None or len(head) > 60 or _NO_LETTERS.search(head):
        return "", ""
    words = " ".join(re.findall(r"[\[(](.*?)[\])]", head))
    text = re.sub(r"\(.*?\)|\[.*?\]|(?<=[hH])°", " ", head).strip()
    family = re.match(
        r"(?:CIE[-_ ]?)?(L\*?a\*?b\*?|LCH(?:ab)?|XYZ|xyY|HunterLab|Hunter|LUV|s?RGB|CMYK)[-_ ](?=\w)",
        text,
        re.IGNORECASE,
    )
    space: str | None = None
    if family:
        space = _FAMILIES.get(re.sub(r"\*|ab$(?<!lab)", "", family.group(1).lower()), "")
        text = text[family.end() :]
        if len(text) == 1:
            # "lab_l" is written small throughout.
            text = text.upper() if space == "XYZ" or text in "lc" else text
        if not space:
            return "", ""
    text = re.sub(r"^CIE[-_ ]*", "", text, flags=re.IGNORECASE)
    before = re.match(
        r"((?:D ?\d\d|F ?L?\d{1,2}|TL ?84|CWF|[ACE])(?:\s?[/-]\s?(?:2|10)°?)?|SC[IE])[\s_:]+(?=[LabXYZCh]\*?(?:$|[\s_]))",
        text,
    )
    if before:
        words, text = f"{words} {before.group(1)}", text[before.end() :]
    parts = re.fullmatch(
        r"([LabXYZxyCchHA-B]|CAPY|Chroma|Hue)\*?(?:[_ ]?ab)?(10|[1-9])?(?:(?:[\s_\-/,:;]+|(?=D\d\d))(.*))?", text
    )
    if not parts:
        return "", ""
    # X10 is for the observer of 10°; other numbers tell readings apart.
    number = "10°" if parts.group(2) == "10" else parts.group(2) or ""
    letter = {"H": "h", "c": "C", "Chroma": "C", "Hue": "h", "CAPY": "Y"}.get(parts.group(1), parts.group(1))
    if space in ("Lab", "LCh"):
        letter = {"A": "a", "B": "b"}.get(letter, letter)
    elif space == "xyY" and parts.group(1) != "CAPY":
        letter = (
            letter.lower()
            if letter == "X" or (letter == "Y" and text[0] == "Y" and family and family.group(1).isupper())
            else letter
        )
    return letter, " ".join(f"{words} {number} {parts.group(3) or ''}".split())


def heads_wavelengths(heads: Sequence[str]) -> bool:
    """Whether a header names a column of wavelengths by a word of its own, and not by a letter as a colour's x.

    >>> heads_wavelengths(["nm", "X", "Y", "Z"]), heads_wavelengths(["name", "x", "y", "Y"])
    (True, False)
    """
    return any(len(head) > 1 and wave_scale(head) is not None for head in heads)


def colours_of(heads: Sequence[str]) -> list[Letters]:
    """The colours that a header has the letters of, each light and gloss by itself; of one, the space that needs least work.

    >>> [(one.space, one.words) for one in colours_of(["name", "L*(D65)", "a*(D65)", "b*(D65)", "L*(A)", "a*(A)", "b*(A)"])]
    [('Lab', 'D65'), ('Lab', 'A')]
    >>> colours_of(["name", "l", "a", "b"])[0].columns
    (1, 2, 3)
    """
    if heads_wavelengths(heads):
        return []
    groups: dict[str, dict[str, int]] = {}
    lower = {head.strip(" *").lower(): i for i, head in enumerate(heads)}
    small = all(letter in (head.strip(" *") for head in heads) for letter in "lab")
    for column, head in enumerate(heads):
        letter, words = letter_of(head)
        if small and head.strip(" *") == "l":
            letter = "L"
        if letter:
            group = groups.setdefault(words, {})
            # The same letters again are another reading of the row: a group of its own.
            while letter in group:
                words += " "
                group = groups.setdefault(words, {})
            group[letter] = column
    found = []
    for words, group in groups.items():
        space = next((space for space, needed in _SPACES.items() if all(letter in group for letter in needed)), None)
        if space is not None:
            first, second, third = (group[letter] for letter in _SPACES[space])
            found.append(Letters(space, (first, second, third), words.strip()))
    if not found and all(letter in lower for letter in ("l", "a", "b")) and "r" not in lower:
        found.append(Letters("Lab", (lower["l"], lower["a"], lower["b"])))
    return found


_UNREAD = {
    "differences of colours": r"(?:Δ|delta ?|d ?)(?:[labch]|e(?:ab|94|00|2000|cmc)?)\*?(?:ab|00)?(?:\W.{0,8})?",
    "Hunter's L, a, b": r"hunter.*",
    "colours of a screen": r"s?rgb.*|[rgb]|red|green|blue",
    "colours of a printer": r"cmyk.*|[cmyk]|cyan|magenta|yellow|black",
    "L*u*v*": r"(?:cie)?luv.*|[uv]\*?'?",
    "densities": r".*(?:density|dichte|densit).*|d_?(?:red|green|blue|vis)",
}
"""What tables of colours may hold besides, by their heads in small letters."""


def unread_colour(heads: Sequence[str]) -> str:
    """What a header names that is not read; nothing where it names no such.

    >>> unread_colour(["Name", "dL*", "da*", "db*"]), unread_colour(["Name", "R", "G", "B"]), unread_colour(["nm", "b1"])
    ('differences of colours', 'colours of a screen', '')
    """
    filled = [head.strip() for head in heads if head]
    return next((name for name, pattern in _UNREAD.items()
                 if sum(re.fullmatch(pattern, head, re.IGNORECASE) is not None for head in filled) >= 3), "")  # fmt: skip


def column_of(heads: Sequence[str], words: Sequence[str]) -> int | None:
    """The first column whose head is one of these words, the words in their order."""
    plain = [" ".join(head.lower().strip(" *:\"'").split()) for head in heads]
    return next((plain.index(word) for word in words if word in plain), None)


def columns_of(heads: Sequence[str], words: Sequence[str]) -> list[int]:
    """All columns whose head is one of these words."""
    return [i for i, head in enumerate(heads) if " ".join(head.lower().strip(" *:\"'").split()) in words]
