"""What a file said, quoted in a sentence, and the word that was probably meant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, time
from typing import TypeGuard

from tintmix.numerals import numeral


def plain(value: object, longest: int = 60) -> str:
    """What a file said, fit to be quoted in one line: no control characters, not endless.

    >>> plain("a" * 9, 5), plain("two\\nlines")
    ('aaaaa…', 'two lines')
    """
    if isinstance(value, date | time):  # TOML knows days and times of day
        return value.isoformat()
    if isinstance(value, str) and len(value) <= longest and value.isprintable():
        return " ".join(value.split())
    try:
        text = value if isinstance(value, str) else repr(value)
    except (ValueError, RecursionError):  # an integer of thousands of digits, or tables within tables
        text = f"a {type(value).__name__}"
    text = " ".join("".join(c if c.isprintable() else " " for c in text[: 4 * longest]).split())
    return text if len(text) <= longest else text[:longest] + "…"


def as_written(value: object) -> str:
    """A value of a file, quoted as the file writes it: text between quotes, truth in small letters, a table by its kind.

    >>> as_written(""), as_written(True), as_written([1.0]), as_written({"a": 1}), as_written(-0.02)
    ('""', 'true', '[1.0]', 'a table', '-0.02')
    """
    if isinstance(value, str):
        return f'"{plain(value)}"'
    if isinstance(value, bool):
        return str(value).lower()
    return "a table" if isinstance(value, Mapping) else number_plain(value)


def is_number(value: object) -> TypeGuard[float]:
    """Whether it is a number that can be reckoned with: no truth value, not endless, no integer of hundreds of digits.

    >>> is_number(0.5), is_number(True), is_number(10**400), is_number("1")
    (True, False, False, False)
    """
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e300


def number_plain(value: object) -> str:
    """A number as a maker would write it, or whatever else stood in its place.

    >>> number_plain(-5.0), number_plain(1e6), number_plain("a lot")
    ('-5', '1000000', 'a lot')
    """
    return numeral(value, 10) if is_number(value) else plain(value)


def did_you_mean(key: str, known: Iterable[str]) -> str:
    """The nearest known word as a clause, or all of them where none is near.

    >>> did_you_mean("refractiv_index", ["name", "refractive_index"])
    'did you mean refractive_index?'
    >>> did_you_mean("zzz", ["name", "cure"])
    'known are name, cure'
    """
    known = list(known)
    # Only here: 2 ms of every start-up (measured).
    import difflib

    near = difflib.get_close_matches(key[:80], known, n=1)
    return f"did you mean {near[0]}?" if near else f"known are {', '.join(known)}"
