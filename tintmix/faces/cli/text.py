"""Text for a terminal: aligned tables, wrapped sentences, and blocks of colour where the terminal can show them."""

from __future__ import annotations

import math
import os
import shutil
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from json import dumps
from typing import Any

import click

from tintmix.errors import Note
from tintmix.faces.remedies import Said, told_in_shell
from tintmix.faces.text_table import Laid as Laid
from tintmix.faces.text_table import folded
from tintmix.faces.text_table import table as table
from tintmix.numerals import numeral


def say_json(body: Mapping[str, Any]) -> None:
    """One JSON object on standard output; notes in it in the shell's words."""
    click.echo(dumps(body, allow_nan=False, default=_in_words))


@contextmanager
def printing(done: str) -> Iterator[None]:
    """Printing an answer. done: what is on the disk by now: where standard output fails after that, standard error says so, and
    the command has done what it was asked."""
    try:
        yield
    except (OSError, KeyboardInterrupt) as problem:
        if not done:
            raise
        # Python would try once more, and complain, when it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        why = (getattr(problem, "strerror", None) or "stopped").lower()
        with suppress(OSError):
            click.echo(f"tintmix: {done}; what there is to say of it could not be printed ({why}).", err=True)


def written_as(files: Iterable[object]) -> str:
    """The same of files that were written; empty where none was.

    >>> written_as(["a.json", None])
    'written: a.json'
    """
    named = ", ".join(str(one) for one in files if one is not None)
    return f"written: {named}" if named else ""


def _in_words(value: object) -> str:
    if isinstance(value, Note):
        return told_in_shell(value)
    raise TypeError(f"{type(value).__name__} in JSON")


def page(parts: Iterable[Said]) -> Laid:
    """Parts under each other: sentences wrapped, what is laid out as it is."""
    return Laid("\n".join(part if isinstance(part, Laid) else wrapped(told_in_shell(part)) for part in parts))


def noted(notes: Iterable[Said]) -> list[str]:
    """Notes, each called so."""
    return [f"Note: {told_in_shell(note).rstrip('.')}." for note in notes]


def written(files: Sequence[str]) -> list[str]:
    """What was written, if anything."""
    return [f"Written: {', '.join(files)}."] if files else []


def width() -> int:
    """Columns to write in: those of the terminal, from 40 to 100."""
    return max(40, min(100, shutil.get_terminal_size((100, 24)).columns))


def wrapped(text: str, indent: str = "", first: str | None = None) -> Laid:
    """Text folded to the width of the terminal, at most 100 columns, each line indented, the first one by `first`."""
    return Laid("\n".join(folded(text, width(), indent if first is None else first, indent)))


def shows_colour() -> bool:
    """Whether standard output is a terminal that shows 24-bit colour, and nobody asked it not to (NO_COLOR)."""
    able = os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit") and os.environ.get("TERM") != "dumb"
    return able and not os.environ.get("NO_COLOR") and sys.stdout.isatty()


def block(colour_hex: str, columns: int = 6) -> str:
    """A block of colour, or nothing where it cannot be shown."""
    if not shows_colour():
        return ""
    red, green, blue = bytes.fromhex(colour_hex[1:])
    return click.style(" " * columns, bg=(red, green, blue))


def phr_column(doses: Iterable[float | None]) -> list[str]:
    """Doses of one table, with decimals for three figures of the smallest, at most six; "-" where there is none.

    >>> phr_column([0.021, None, 0.00997])
    ['0.02100', '-', '0.00997']
    """
    doses = list(doses)
    least = min((dose for dose in doses if dose), default=1.0)
    decimals = min(max(2 - math.floor(math.log10(least)), 2), 6)
    return ["-" if dose is None else f"{dose:.{decimals}f}" for dose in doses]


def phr(dose: float) -> str:
    """A dose to three figures.

    >>> phr(0.021), phr(0.3)
    ('0.0210', '0.300')
    """
    return "0" if dose == 0 else numeral(dose, 3, zeros=True)


def doses(doses_phr: Mapping[str, float]) -> str:
    """Doses in a line, nothing where there are none."""
    return ", ".join(f"{name} {phr(dose)}" for name, dose in doses_phr.items())


def figure(value: float | None, form: str = ".2f") -> str:
    """A number in a cell of a table; nothing where there is none."""
    return "" if value is None else format(value, form)


def triple(values: Sequence[float] | None, wide: int = 0) -> str:
    """L*, a*, b* in a cell of a table, each so wide at least; nothing where there are none."""
    return " ".join(f"{value:{wide}.1f}" for value in values or ())
