"""The smallest pieces of a batch sheet: a line with a box to tick, a step, a stage; and grams as a scale shows them."""

from __future__ import annotations

from dataclasses import dataclass

from tintmix.weighing.scale import Scale


def one_line(text: str) -> str:
    """A name as a file told it, without line feeds, tabs and what else cannot be printed.

    >>> one_line("sea\\n\\tgreen")
    'sea green'
    """
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


@dataclass(frozen=True, slots=True)
class Line:
    """One thing on the scale: a box to tick, what, how many grams as the scale shows them, and room for the actual weight.

    grams: None where the maker works the number out; then `shown` tells how. note: what else to know of it.
    """

    what: str
    grams: float | None
    shown: str
    note: str = ""

    def __post_init__(self) -> None:
        for key in ("what", "note"):
            object.__setattr__(self, key, one_line(getattr(self, key)))


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. blanks: what to write down besides weights. cups: whether the looks of the tinted part stand here."""

    title: str
    says: tuple[str, ...] = ()
    lines: tuple[Line, ...] = ()
    blanks: tuple[str, ...] = ()
    shows_cups: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", one_line(self.title))
        for key in ("says", "blanks"):
            object.__setattr__(self, key, tuple(map(one_line, getattr(self, key))))

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


def shown(grams: float, scale: Scale) -> str:
    """Grams with as many decimals as the scale shows.

    >>> shown(208.4, Scale(0.01)), shown(1.25, Scale(0.05)), shown(240.0, Scale(1.0))
    ('208.40 g', '1.25 g', '240 g')
    """
    return f"{grams:.{decimals(scale)}f} g"


def decimals(scale: Scale) -> int:
    """How many decimals the scale shows, at most six.

    >>> decimals(Scale(0.05)), decimals(Scale(5.0))
    (2, 0)
    """
    step, count = scale.readability_g, 0
    while count < 6 and abs(round(step, count) - step) > 1e-9:
        count += 1
    return count


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
