"""What the words of a file say of how it was read: under which light, by which observer, in which geometry."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tintmix.chips.instruments.sample import Geometry
from tintmix.chips.instruments.words import first_of, folded, once

_LIGHT = re.compile(
    r"(?<![A-Za-z0-9])(D ?50|D ?55|D ?60|D ?65|D ?75|ID50|ID65|F ?L? ?\d{1,2}(?:\.\d{1,2})?|LED-[A-Z0-9]+|HP\d|CWF|TL ?8[34]"
    r"|[ABCE])(?![A-Za-z0-9])"
)
_TRADES = {"CWF": "FL2", "TL84": "FL11", "TL83": "FL12"}
"""What light booths call lamps, and the CIE's lights that stand for them (common practice)."""
_NAMED = re.compile(
    r"(?:ILLUMINA(?:NT|TION)(?:_NAME)?|ILUMINANTE|LICHTART|NORMLICHT|LIGHT(?!\W*SOURCE))\W{0,4}"
    r"([A-Za-z]{1,4}-?[A-Za-z]{0,3}\d{0,2}(?:\.\d{1,2})?)",
    re.IGNORECASE,
)
_LIGHT_CODE = r"(?:I?D ?\d\d|F ?L? ?\d{1,2}|CWF|TL ?8[34]|[ABCE])"
_OBSERVER = re.compile(
    rf"(?<![\d.])(2|10)\s*(?:°|deg|_degree|-degree|º|/\s?{_LIGHT_CODE}(?!\w))"
    rf"|(?<![A-Za-z0-9]){_LIGHT_CODE}\s?[/\-_–]\s?(2|10)(?![\d.]|\s?mm)",
    re.IGNORECASE,
)
_OBSERVER_NAMED = re.compile(
    r"(?:OBSERVER|BEOBACHTER|OBSERVATEUR|OBSERVADOR|OSSERVATORE|視野|(?<!\w)ANGLE|角度)(?:_?ANGLE)?\W{0,4}(2|10)(?![\d.])",
    re.IGNORECASE,
)
_LIGHT_HEAD = (
    r"illum|ilumin|lichtart|lichtsoort|lichtbron|normlicht|eclaira|belysning|oswietl|освещ|источник|光源"
    r"|^\W*(?:ill|light)\b"
)
_OBSERVER_HEAD = r"observ|beobacht|osserv|waarnem|obserw|наблюд|視野|视场|视角|观察|^\W*角度|^\W*angle\W*$|\bobs\b"
"""Heads of columns, in small letters without accents."""
_CELL = re.compile(
    rf"{_LIGHT_CODE}(?:\s*[/\-_,; ]\s*(?:2|10)\s*(?:°|º|deg\w*)?)?|(?:2|10)\s*(?:°|º)?\s*/\s*{_LIGHT_CODE}"
)
_TURNED_ROUND = re.compile(r"^(2|10)\s*[°º]?\s*/\s*([A-Z].*)$")
_LETTER_ALONE = re.compile(r"[ABCE]")

_BLANKED = re.compile(
    r"^\W*(?:blank|baseline|background|refer[ea]n[cz]\w*|auto.?zero\w*|zero(?:ed)?|100 ?% ?t?|null\w*|leerwert|blindwert"
    r"|blanc|blanco|bianco)(?!\w)\W.{0,40}?\b"
    r"(?:un-?(?:tinted|colou?red|pigmented|dyed)|(?:clear|neat|plain|pure) (?:cast\w* )?(?:resin|chip|plate|block)|klarharz)"
)
"""A line that begins with what was set to 100 %, and says that it was resin without pigment; in small letters."""
_GEOMETRIES: dict[Geometry, str] = {
    "gloss included": r"\bsci\b|\brsin\b|specular[_ ](?:component )?incl|\bspin\b|gloss incl|\bdi\s?[/:]\s?8|mit glanz",
    "45/0": r"45\s?°?\s?[a-z]?\s?[/:]\s?0|0\s?°?\s?[/:]\s?45",
    "d/8": r"\bsce\b|\brsex\b|specular[_ ](?:component )?excl|\bspex\b|gloss excl|\bde\s?[/:]\s?8|ohne glanz",
    "total": r"\bttran\b|\btotal(?:$|[ _]?(?:transm|trasm|light|spectral|reflec))|transm\w*,?\s?\(?total"
    r"|integrating sphere|ulbricht|sphere|esfera|sfera|\bd/0\b|\b0/d\b",
    "regular": r"\brtran\b|\bregular\b|\bdirect(?:$|[ _]transm)|transm\w*,?\s?\(?direct|\b0/0\b",
}
"""What a file may call each, in small letters; the first that is found holds."""


@once
def light_in(text: str) -> str | None:
    """The CIE name of the light that a text names, as this program spells it; None where it names none.

    >>> light_in('ILLUMINANT, D50'), light_in("Illumination=F11 ObserverAngle=2"), light_in("L*(10°/D65)")
    ('D50', 'FL11', 'D65')
    """
    every = [*_NAMED.finditer(text[:2000])]
    named = every[-1] if every else None
    found = next((light for one in every if (light := _LIGHT.fullmatch(one.group(1)))), None)
    if found is None:
        # A bare letter is a light only where the text says "illuminant".
        found = next((m for m in _LIGHT.finditer(text[:2000]) if len(m.group(1)) > 1), None)
    if found is None:
        return None if named is None or not _is_word(named.group(1)) else named.group(1)
    name = found.group(1).replace(" ", "").upper()
    name = _TRADES.get(name, name)
    fluorescent = re.fullmatch(r"F(?!L)(.+)", name)
    return f"FL{fluorescent.group(1)}" if fluorescent else name


def _is_word(name: str) -> bool:
    return name.lower() not in ("unknown", "none", "no", "name", "na") and any(c.isdigit() for c in name)


@once
def observer_in(text: str) -> int | None:
    """2 or 10, where a text names an observer.

    >>> observer_in("OBSERVER, 2 degree"), observer_in("L*(10°/D65)"), observer_in("D65/10")
    (2, 10, 10)
    """
    found = _OBSERVER_NAMED.search(text[:2000]) or _OBSERVER.search(text[:2000])
    return int(next(part for part in found.groups() if part)) if found else None


def under_of(head: str, cells: Sequence[str]) -> list[str] | None:
    """What the cells of a column say of light and observer, spelled out; None where it says nothing of them. The head need not
    be understood where each cell is a light's name.

    >>> under_of("Lichtart/Beobachter", ["D65/10°", "A/10°"]), under_of("Observador", ["10"]), under_of("Name", ["A", "B"])
    (['light D65/10°', 'light A/10°'], ['10°'], None)
    """
    plain = folded(head)
    filled = [cell for cell in cells if cell]
    is_light, is_observer = re.search(_LIGHT_HEAD, plain), re.search(_OBSERVER_HEAD, plain)
    by_cells = bool(filled) and all(_CELL.fullmatch(cell) for cell in filled)
    if is_light or (by_cells and not all(_LETTER_ALONE.fullmatch(cell) for cell in filled)):
        # "10°/A" is written the other way round.
        turned = [_TURNED_ROUND.sub(r"\2/\1", cell) for cell in cells]
        return [f"light {cell}" if cell else "" for cell in turned]
    if is_observer:
        return [f"{cell.rstrip('°º').removesuffix('deg').strip()}°" if cell else "" for cell in cells]
    return None


@once
def geometry_in(text: str) -> Geometry | None:
    """How it was lit and seen, where the words say so.

    >>> geometry_in("45/0"), geometry_in("d/8 SCE"), geometry_in("integrating sphere, total"), geometry_in("SPIN")
    ('45/0', 'd/8', 'total', 'gloss included')
    """
    return first_of(_GEOMETRIES, text)


@once
def reflects(text: str) -> bool:
    """Whether a text names a geometry that only reflection has, be it said or not what becomes of the gloss.

    >>> reflects("d/8"), reflects("45°:0°"), reflects("0/0"), reflects("Date 2026/11/02")
    (True, True, False, False)
    """
    return geometry_in(text) in ("45/0", "d/8", "gloss included") or bool(
        re.search(r"(?<!\w)d\s?[/:]\s?8\b", text.lower())
    )


@once
def is_blanked_with_resin(line: str) -> bool:
    """Whether a line says that an untinted chip was set to 100 %, so that readings are relative to it.

    >>> is_blanked_with_resin("Blank: untinted resin chip"), is_blanked_with_resin("Reference: air")
    (True, False)
    """
    return bool(_BLANKED.search(folded(line[:200])))
