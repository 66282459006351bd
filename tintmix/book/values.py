"""What a maker tells the book: a pour, readings of the cast part, a photo, a check chip. Values that check themselves once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tintmix.book.errors import bad_name, cannot_be
from tintmix.errors import ValueProblem, is_writable
from tintmix.files.words import plain
from tintmix.quantities import BATCH_G, CHIP_MM, GRAMS_OR_NONE, TOTAL_PHR, check_colour

Lab = tuple[float, float, float]
LONGEST_TEXT = 20_000


@dataclass(frozen=True, slots=True)
class Pour:
    """One casting of a recipe. poured_on: ISO date. batch_g: mixed resin, all parts, without pigment, in grams; None: not
    said. weights_g: what was really weighed, by name (a part, a pigment, a stock bottle), in grams. lots: of each pigment.
    Raises ValueProblem.

    >>> Pour("2027-03-01", 450.0, {"A": 236.8, "azure 1+50": 4.82}, {"azure": "A-17"}).batch_g
    450.0
    """

    poured_on: str
    batch_g: float | None = None
    weights_g: Mapping[str, float] = field(default_factory=dict)
    lots: Mapping[str, str] = field(default_factory=dict)
    cure: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        check_date("the day of the pour", self.poured_on)
        if self.batch_g is not None:
            _set(self, "batch_g", BATCH_G.check("the batch", self.batch_g))
        weights = {}
        for what, grams in self.weights_g.items():
            check_text("weight's name", what, 1, 120)
            weights[what] = GRAMS_OR_NONE.check(f"the weight of {what}", grams)
        _set(self, "weights_g", weights)
        for pigment, lot in self.lots.items():
            check_text("pigment", pigment, 1, 120)
            check_text("lot", lot, 0, 120)
        _set(self, "lots", dict(self.lots))
        check_text("cure", self.cure, 0, 500)
        check_text("note", self.note)


@dataclass(frozen=True, slots=True)
class PlaceReading:
    """A colour read on the cast part. place: the name of the recipe's section. lab: L*a*b* against the bare light as white,
    for a light and observer; empty and 0: those of the recipe's target. Raises ValueProblem."""

    place: str
    lab: Lab
    light: str = ""
    observer: int = 0
    read_on: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        check_text("place", self.place, 1, 120)
        _check_reading(self, f"the reading of {self.place}", (0, 2, 10))


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of the cast part. content: the file's bytes, or None where only its fingerprint is kept (sha256, 64
    hexadecimal digits)."""

    name: str
    sha256: str
    content: bytes | None = None

    @classmethod
    def of(cls, name: str, content: bytes, keep_bytes: bool = True) -> Photo:
        """A photo from its file's bytes.

        >>> Photo.of("point.jpg", b"").sha256[:12]
        'e3b0c44298fc'
        """
        return cls(name, hashlib.sha256(content).hexdigest(), content if keep_bytes else None)


@dataclass(frozen=True, slots=True)
class CheckChip:
    """A chip that was poured to see how strong a new lot or bottle is, as it was read. dose_phr: grams per 100 g of mixed
    resin, as weighed. Raises ValueProblem."""

    pigment: str
    lot: str
    dose_phr: float
    thickness_mm: float
    lab: Lab
    light: str = "D65"
    observer: int = 10
    read_on: str = ""
    name: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        check_text("pigment", self.pigment, 1, 120)
        check_text("lot", self.lot, 1, 120)
        _set(self, "dose_phr", TOTAL_PHR.check(f"the dose of the check chip of {self.pigment}", self.dose_phr))
        _set(self, "thickness_mm", CHIP_MM.check("the check chip's thickness", self.thickness_mm))
        _check_reading(self, "the check chip's reading", (2, 10))
        check_text("name", self.name, 0, 120)


def checked_lab(what: str, lab: Any) -> Lab:
    """Three numbers that a colour can have. Raises ValueProblem."""
    if not isinstance(lab, list | tuple):
        raise cannot_be(what, lab, "three numbers, L*, a* and b*")
    return check_colour(what, lab)


def check_date(what: str, text: object) -> None:
    """Raises ValueProblem."""
    try:
        if not (isinstance(text, str) and len(text) == 10):
            raise ValueError(text)
        date.fromisoformat(text)
    except ValueError:
        limit = "a day, written year-month-day, such as 2027-03-01"
        raise ValueProblem(what=what, found=repr(plain(text)), limit=limit) from None


def check_text(what: str, text: object, least: int = 0, most: int = LONGEST_TEXT) -> None:
    """Raises ValueProblem."""
    if isinstance(text, str) and least <= len(text.strip()) and len(text) <= most and is_writable(text):
        return
    if least and most <= 120:
        raise bad_name(what, str(text))
    raise cannot_be(f"the {what}", text, f"a text of at most {most} characters, in UTF-8")


def _check_reading(one: PlaceReading | CheckChip, what: str, observers: tuple[int, ...]) -> None:
    _set(one, "lab", checked_lab(what, one.lab))
    check_text("light", one.light, 0, 120)
    if one.observer not in observers or isinstance(one.observer, bool):
        raise cannot_be("the observer", one.observer, "2 or 10 degrees")
    if one.read_on:
        check_date("the day of the reading", one.read_on)
    check_text("note", one.note)


def _set(owner: object, key: str, value: object) -> None:
    object.__setattr__(owner, key, value)
