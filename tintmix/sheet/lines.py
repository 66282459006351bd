"""The smallest pieces of a batch sheet: a line with a box to tick, a blank, a step, a stage; and grams as a scale shows them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tintmix.errors import Note
from tintmix.weighing.scales import Scale, shown
from tintmix.weighing.weighed import part_label, tinted_label


def one_line(text: str) -> str:
    """A name as a file told it, without line feeds, tabs and what else cannot be printed.

    >>> one_line("sea\\n\\tgreen")
    'sea green'
    """
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


class Kind(StrEnum):
    """What a line of the sheet weighs, and where to: into a stock bottle, into the pot of the tinted part, on the day, or for a
    trial chip."""

    FIRST = "first"
    """What goes into a new stock bottle first: the pigment, or a stronger bottle."""
    CARRIER = "carrier"
    """What is put to it: the part that takes pigment."""
    PART = "part"
    """The part that takes pigment, into its pot."""
    PIGMENT = "pigment"
    """A pigment into the pot, as supplied or from a stock bottle."""
    OTHER = "other"
    """Another part, on the day."""
    SAMPLE = "sample"
    """Tinted part taken out of the pot for a trial chip."""
    TRIAL = "trial"
    """Another part, to that sample."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing on the scale: a box to tick, what, how many grams as the scale shows them, and room for the actual weight.

    of: the pigment or the part, by its real name, whatever letters are in it. out_of: the stock bottle that the pigment is
    weighed from; "": as supplied. into: the stock bottle that is being made; "": none. lot: of the pigment. note: what else to
    know of it. What a maker reads, `what` and `shown`, is made of these; nothing is found out from it.

    >>> line = Line(kind=Kind.FIRST, of="azure", grams=1.25, scale=Scale(0.05), into="azure 1+30", lot="A-17")
    >>> line.what, line.shown
    ('azure, lot A-17', '1.25 g')
    >>> Line(kind=Kind.OTHER, of="A", grams=90.0, scale=Scale(0.1)).what
    'part A'
    """

    kind: Kind
    of: str
    grams: float
    scale: Scale
    out_of: str = ""
    into: str = ""
    lot: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "note", one_line(self.note))

    @property
    def what(self) -> str:
        """What goes onto the scale, as a maker reads it."""
        if self.kind is Kind.SAMPLE:
            return one_line(tinted_label(self.of))
        if self.out_of:
            return one_line(f"stock bottle {self.out_of}")
        if self.kind in (Kind.FIRST, Kind.PIGMENT):
            return one_line(self.of + (f", lot {self.lot}" if self.lot else ""))
        return one_line(part_label(self.of))

    @property
    def shown(self) -> str:
        """The grams as the scale shows them."""
        return shown(self.grams, self.scale)


@dataclass(frozen=True, slots=True)
class Blank:
    """Something to write down besides weights. unit: "g", or "" for a time of day."""

    what: str
    unit: str = "g"

    def __post_init__(self) -> None:
        object.__setattr__(self, "what", one_line(self.what))


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. blanks: what to write down besides weights. cups: whether the looks of the tinted part stand here."""

    title: str
    says: tuple[Note | str, ...] = ()
    lines: tuple[Line, ...] = ()
    blanks: tuple[Blank, ...] = ()
    shows_cups: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", one_line(self.title))
        says = (one_line(said) if isinstance(said, str) else said for said in self.says)
        object.__setattr__(self, "says", tuple(says))

    @property
    def told(self) -> str:
        """The step in a line, for those who read no sheet."""
        weighed = "; ".join(f"{line.what} {line.shown}" for line in self.lines)
        return f"{self.title}: {weighed}" if weighed else self.title


@dataclass(frozen=True, slots=True)
class Stage:
    """Steps that belong together. clock: whether the pot life runs from here."""

    title: str
    says: str
    steps: tuple[Step, ...]
    clock: bool = False


def grams_plain(grams: float) -> str:
    """A round amount without needless decimals.

    >>> grams_plain(450.0), grams_plain(212.4567)
    ('450 g', '212.5 g')
    """
    return f"{grams:.0f} g" if abs(grams - round(grams)) < 0.05 else f"{grams:.1f} g"


def shortened(text: str, longest: int) -> str:
    """A name that does not fit, cut with … at its end.

    >>> shortened("a very long name", 9)
    'a very l…'
    """
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
