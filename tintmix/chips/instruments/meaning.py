"""From what stands in a file to what it means: quantity, unit, light, observer, geometry, each with what said so.

A column's head goes before a keyword's value, that before free words above the table, and these before the values, which only
decide where nothing is said. What is said and the values contradict is asked, in one sentence with what settles it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from tintmix.chips.instruments.conditions import geometry_in, is_blanked_with_resin, light_in, observer_in, reflects
from tintmix.chips.instruments.errors import NoReading
from tintmix.chips.instruments.ordinates import Turned, no_reading_in, turned_in
from tintmix.chips.instruments.sample import VISIBLE_NM, Ask, Geometry, Quantity, Sample
from tintmix.chips.instruments.words import quantity_in, spelled_in, unit_in, without_quantity
from tintmix.errors import Note, Remedy
from tintmix.numerals import listed, numeral
from tintmix.optics.spectrum import Array

HEAD, KEYWORD, PREAMBLE, FILE_NAME, VALUES, GEOMETRY, CELLS = (
    "column head", "keyword", "preamble", "file name", "values", "geometry", "cells",
)  # fmt: skip
FRACTION_TOP = 1.3
"""Above it hardly a value is a fraction: a clear plate lets 0.92 through, and white paper that glows reflects 1.2."""
PERCENT_TOP = 2.0
"""Below it a whole file in percent would be as dark as no clear resin, and above it no file holds fractions."""
MOST_PERCENT = 300.0
"""More is no share of light: detector counts, headed as if they were."""
MOST_ABSORBANCE = 5.0
"""The middle value of no file: the stray light of bench instruments ends near absorbance 4 to 6 (common practice)."""
LEAST_PERCENT_TOP = 1.2
"""Percent of which hardly a value is above it are fractions, or very dark."""
_QUANTITY_KEYS = re.compile(
    r"mode(?!l)|modus|modo|y.?(?:axis|unit|achse|label|data)|ordinat|quantity|messgr|measure|messung|mesure|medida|misura|photometr"
    r"|(?:data|scan|spectrum|sample|display)\s?type|^type$|^units?$|einheit|grandeur|magnitud|測定|縦軸|^data$"
)
_NO_QUANTITY = re.compile(
    r"baseline|basislinie|correct|korrekt|refer|accessor|path|file|software|title|sample|probe|comment|blank",
    re.IGNORECASE,
)
_LIGHT_LINE = re.compile(
    r"illum|ilumin|lichtart|normlicht|\blight|observ|beobacht|osserv|光源|視野|角度|\bangle|\bD ?(?:50|55|65|75)\b",
    re.IGNORECASE,
)
_ENDINGS = {
    "trm": "transmission",
    "abs": "absorbance",
    "rfl": "reflectance",
    "rfl8": "reflectance",
    "trm8": "transmission",
}
"""Of files of fibre spectrometers that part what they export by it."""
Levels = Sequence[tuple[str, str]]
"""(what says it, its text), the surest first."""


@dataclass(frozen=True, slots=True)
class Words:
    """What surrounds a table. keywords: (line, key, value) that hold for it, nearest first; lines: free text above it. file: its
    name."""

    keywords: tuple[tuple[int, str, str], ...] = ()
    lines: tuple[str, ...] = ()
    file: str = ""

    def value(self, *keys: str) -> str:
        """The value of the first of these keys that is there."""
        return next((value for key in keys for _, said, value in self.keywords if said == key), "")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a reading is, and what said so. turned: how its values become absorbance first. none: why it is no reading."""

    quantity: Quantity | None = None
    unit: Any = None
    light: str | None = None
    observer: int | None = None
    geometry: Geometry | None = None
    read_from: Mapping[str, str] = field(default_factory=dict)
    asks: tuple[Ask, ...] = ()
    turned: Turned | None = None
    none: NoReading | None = None
    relative_to: Literal["untinted"] | None = None

    def fields(self) -> dict[str, Any]:
        """For a sample."""
        return {
            name: getattr(self, name)
            for name in ("quantity", "unit", "light", "observer", "geometry", "read_from", "asks", "relative_to")
        }


def meaning_of(near: Levels, words: Words, *, letters: bool = True, colour: bool = False, place: str = "") -> Meaning:
    """near: a column's head, its unit, its row's own words. letters: whether "A" or "T" alone is a quantity. colour: that its
    light and observer are wanted, and no unit.

    >>> one = meaning_of([("column head", "Abs")], Words(lines=("Baseline 100%T",)))
    >>> one.quantity, one.read_from
    ('absorbance', {'quantity': 'column head'})
    """
    told: dict[str, str] = {}
    keyed = [(KEYWORD, value) for _, key, value in words.keywords if _QUANTITY_KEYS.search(key) and len(value) < 80]
    free = [(PREAMBLE, line) for line in words.lines if not _NO_QUANTITY.search(line)]
    quantity: Quantity | None = None
    said_in = ""
    # A colour's light may be called A, which is no absorbance.
    letters, keyed_letters = letters and not colour, not colour
    for source, text in (*near, *keyed, *free, (FILE_NAME, _file_words(words.file))):
        found = (
            (_free_in(text) if source == PREAMBLE else spelled_in(text))
            if source in (PREAMBLE, FILE_NAME)
            else quantity_in(text, keyed_letters if source == KEYWORD else letters)
        )
        if found is not None:
            quantity, said_in, told["quantity"] = found, text, source
            break
    around = [(line, value) for line, key, value in words.keywords if _QUANTITY_KEYS.search(key) and len(value) < 80]
    around += [(0, said_in)] if told.get("quantity") in (PREAMBLE, FILE_NAME) else []
    none = next((replace(why, line=line) for line, text in around if (why := no_reading_in(text, False))), None)
    turned = None
    if not colour and quantity != "reflectance":
        bare = [text for _, text in keyed if len(text) < 20]
        turned = next((how for text in (*(text for _, text in near), said_in, *bare) if (how := turned_in(text))), None)
        if turned:
            quantity = "absorbance"
            told.setdefault("quantity", HEAD)
    geometry, by_head = _geometry(near, words, told)
    asks: tuple[Ask, ...] = ()
    others = _others(quantity, told, keyed, free)
    if others and not colour:
        says = f"{place}it speaks of {quantity} and of {listed(others)}, and the column's own head of neither"
        asks = (Ask(about="quantity", note=Note(says=says, remedy=Remedy.SAY_WHICH_QUANTITY)),)
    if by_head and quantity in (None, "transmittance", "absorbance"):
        if quantity is None or told["quantity"] in (PREAMBLE, FILE_NAME):
            quantity, told["quantity"] = "reflectance", GEOMETRY
        else:
            says = f"{place}it says {quantity}, but also {by_head!r}, in which only reflection is read"
            asks = (Ask(about="quantity", note=Note(says=says, remedy=Remedy.SAY_WHICH_QUANTITY)),)
    unit = None
    if quantity in ("transmittance", "reflectance") and not colour:
        agreeing = [said_in] if said_in else []
        units = [*((told["quantity"], text) for text in agreeing), *near, *_unit_words(keyed, quantity)]
        unit = next((one for _, text in units if (one := unit_in(text))), None)
        if unit:
            told["unit"] = next(source for source, text in units if unit_in(text) == unit)
    light = observer = None
    if colour:
        light, observer = _under([(source, _letter_light(text)) for source, text in near], words, told)
    against: Literal["untinted"] | None = "untinted" if any(map(is_blanked_with_resin, words.lines)) else None
    return Meaning(quantity, unit, light, observer, geometry, told, asks, turned, none, against)


def _free_in(line: str) -> Quantity | None:
    """What was measured, where a line around a table spells it out, or holds nothing but its short form.

    >>> _free_in("%T"), _free_in("Abs."), _free_in("100 %T baseline"), _free_in("T")
    ('transmittance', 'absorbance', None, None)
    """
    is_alone = not re.search(r"\d", line) and not without_quantity(line)
    return spelled_in(line) or (quantity_in(line, False) if is_alone else None)


def _file_words(name: str) -> str:
    """A file's name; an ending that names a quantity spelled out."""
    ending = name.lower().rpartition(".")[2]
    return f"{name} {_ENDINGS.get(ending, '')}"


def _letter_light(text: str) -> str:
    """In a head beside a colour's letter, "A" and "C/2°" are lights."""
    return f"light {text}" if re.match(r"[ABCE](?![A-Za-z0-9])", text) else text


def _others(quantity: Quantity | None, told: Mapping[str, str], keyed: Levels, free: Levels) -> list[str]:
    """Other quantities that are named as surely as the one that is taken: by keywords, or by free words, as it is."""
    source = told.get("quantity")
    named = {
        KEYWORD: {quantity_in(text) for _, text in keyed},
        PREAMBLE: {_free_in(text) for _, text in free},
    }.get(source or "", set())
    return sorted({one for one in named if one} - {quantity})


def _unit_words(keyed: Levels, quantity: Quantity) -> list[tuple[str, str]]:
    """Keywords that name this quantity, or nothing but a unit."""
    bare = [
        (source, text) for source, text in keyed if quantity_in(text) is None and re.fullmatch(r"[^\d]{1,12}", text)
    ]
    return [*((source, text) for source, text in keyed if quantity_in(text) == quantity), *bare]


def _geometry(near: Levels, words: Words, told: dict[str, str]) -> tuple[Geometry | None, str]:
    """The geometry, and the words that say it where they are such as reflection alone has."""
    levels = [
        *near,
        *((KEYWORD, f"{key} {value}") for _, key, value in words.keywords),
        *((PREAMBLE, one) for one in words.lines),
    ]
    geometry = next(((found, source) for source, text in levels if (found := geometry_in(text))), None)
    if geometry:
        told["geometry"] = geometry[1]
    reflecting = next((text for _, text in levels if reflects(text)), "")
    return geometry[0] if geometry else None, reflecting[:40]


def _under(near: Levels, words: Words, told: dict[str, str]) -> tuple[str | None, int | None]:
    keyed = [(KEYWORD, f"{key} {value}") for _, key, value in words.keywords]
    levels = [
        *near,
        *((s, text) for s, text in (*keyed, *((PREAMBLE, one) for one in words.lines)) if _LIGHT_LINE.search(text)),
    ]
    light = next(((named, source) for source, text in levels if (named := light_in(text))), (None, ""))
    observer = next(((seen, source) for source, text in levels if (seen := observer_in(text))), (None, ""))
    told |= {key: source for key, source in (("light", light[1]), ("observer", observer[1])) if source}
    return light[0], observer[0]


def settled(samples: Sequence[Sample], where: str) -> tuple[Sample, ...]:
    """The samples of a file with their units: said ones held against the values, others told by them. Those of one quantity are
    judged together, since a dark chip alone may look like anything."""
    groups: dict[tuple[object, object], list[int]] = {}
    for i, sample in enumerate(samples):
        if sample.kind == "spectrum":
            groups.setdefault((sample.quantity, sample.unit), []).append(i)
    done = list(samples)
    for (quantity, unit), group in groups.items():
        first = samples[group[0]]
        found, ask = judged(quantity, unit, [light_of(samples[i]) for i in group], f"{_place(first)}, ")
        if ask is not None and ask.about == "unit" and all(samples[i].read_from.get("unit") == CELLS for i in group):
            # Where "%" stands behind each number, dark chips are dark.
            ask = None
        for i in group:
            told = dict(samples[i].read_from)
            if found != unit:
                told["unit"] = VALUES
            elif unit is not None:
                told.setdefault("unit", KEYWORD)
            asks = (*samples[i].asks, *((ask,) if ask else ()))
            done[i] = replace(done[i], unit=found, read_from=told, asks=asks)
    return tuple(done)


def light_of(sample: Sample) -> Array:
    """A spectrum's values where light is seen; all of them where it has none there."""
    nm, values = np.array(sample.wavelengths_nm), np.array(sample.values)
    seen = (nm >= VISIBLE_NM[0]) & (nm <= VISIBLE_NM[1])
    return values[seen] if seen.any() else values


def judged(quantity: Any, unit: Any, values: Iterable[Array], place: str = "") -> tuple[Any, Ask | None]:
    """The unit of values of one quantity, and what must be asked of them.

    >>> judged("transmittance", None, [np.array([50.0, 60.0])])[0], judged("reflectance", None, [np.array([0.5, 0.9])])[0]
    ('percent', 'fraction')
    >>> judged("transmittance", "percent", [np.array([0.5, 0.9])])[1].about
    'unit'
    """
    every = np.concatenate([*values])
    middle, top = float(np.median(every)), float(np.quantile(every, 0.98))

    def ask(about: Any, taken: str, looks: str, why: str, remedy: Remedy, **facts: object) -> Ask:
        says = f"{place}taken as {taken}, but the values look like {looks} ({why})"
        return Ask(about=about, note=Note(says=says, remedy=remedy, facts=facts))

    up_to = f"they go up to {numeral(top, 3)}"
    if quantity == "absorbance":
        if middle > MOST_ABSORBANCE:
            why = f"the middle value is {numeral(middle, 3)}"
            return None, ask("quantity", "absorbance", "percent", why, Remedy.SAY_QUANTITY, quantity="transmittance")
        return None, None
    name = quantity or "transmittance"
    if top > MOST_PERCENT:
        return "percent", ask("values", name, "counts of a detector", up_to, Remedy.EXPORT_TRANSMITTANCE)
    if unit == "fraction" and middle > 1.5:
        return unit, ask(
            "unit", f"{name} as a fraction", "percent", f"the middle value is {numeral(middle, 3)}", Remedy.SAY_PERCENT
        )
    if unit == "percent" and top <= LEAST_PERCENT_TOP:
        why = f"hardly a value is above {numeral(top, 3)}"
        return unit, ask("unit", f"{name} in percent", "fractions", why, Remedy.SAY_FRACTION_OR_PERCENT_IF_DARK)
    if unit is not None:
        return unit, None
    if top <= FRACTION_TOP:
        return "fraction", None
    if quantity is None and top <= MOST_ABSORBANCE:
        return "percent", ask("quantity", name, "absorbance or percent", up_to, Remedy.SAY_ABSORBANCE_OR_PERCENT)
    if top <= PERCENT_TOP:
        return "percent", ask("unit", f"{name} in percent", "fractions", up_to, Remedy.SAY_PERCENT_OR_FRACTION)
    return "percent", None


def _place(sample: Sample) -> str:
    return f"line {sample.line}" if sample.line else f"sample {sample.name}"
