"""What the tables of a file may hold, said once for each kind of file; all that is wrong with one is told together.

Written out here rather than taken from a library of models, whose import alone takes as long as a search for recipes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from operator import ge, gt, le, lt
from types import SimpleNamespace
from typing import Any

from tintmix.errors import is_writable
from tintmix.files.errors import BadTable, Problem
from tintmix.files.words import as_written, did_you_mean, is_number, plain
from tintmix.numerals import numeral
from tintmix.quantities import Quantity

NEEDED: Any = object()
"""Stands for the default of a key that must be there."""

Check = Callable[[Any], Any]
"""The value as it is used. Raises Wrong."""


class Wrong(ValueError):
    """A value that cannot be used; its text ends the sentence that begins with place, key and what was found."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table and its keys: what each may hold, and its default. Other keys are refused, unless `others` may be there."""

    keys: Mapping[str, tuple[Check | Table | Rows | Named, Any]]
    others: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of tables, as TOML's [[section]]; a row is told by its name, or its number. in_toml: whether it has such heads."""

    row: Table
    in_toml: bool = True


@dataclass(frozen=True, slots=True)
class Named:
    """Tables by names of the maker's own, as TOML's [pigments.azure]."""

    each: Table


def checked(table: Table, found: Mapping[str, Any], where: object, place: str = "the file") -> Any:
    """A table as a namespace, defaults filled in; place: what it is called. Raises BadTable with all that is wrong.

    >>> lamp = Table({"watt": (number(above=0), NEEDED), "name": (text(), "lamp")})
    >>> checked(lamp, {"watt": 5}, "lamp.toml")
    namespace(watt=5.0, name='lamp')
    >>> checked(lamp, {"wat": 5}, "lamp.toml")
    Traceback (most recent call last):
    tintmix.files.errors.BadTable: lamp.toml: the file has no key wat; did you mean watt?; the file has no watt; add it.
    """
    problems: list[Problem] = []
    made = _table(table, found, place, "", problems)
    if problems:
        raise BadTable(where, problems)
    return made


def put_right(owner: object, checks: Mapping[str, Check], place: str) -> list[Problem]:
    """The fields of a frozen value as they are used, put in its `__post_init__`; what is wrong with them, all of it."""
    problems = []
    for key, check in checks.items():
        found = getattr(owner, key)
        try:
            object.__setattr__(owner, key, check(found))
        except Wrong as wrong:
            problems.append(Problem(place, f"has {key} = {as_written(found)}{wrong}"))
    return problems


def no_number(found: Any) -> str:
    """Why it is no number that can be reckoned with, as the end of a sentence."""
    beyond = isinstance(found, int | float) and not isinstance(found, bool) and abs(found) < math.inf
    return ", which is larger than any number here can be" if beyond else ", which is not a finite number"


def number(
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
    hint: str = "",
) -> Check:
    """A finite number within bounds, as a float. hint: said in brackets where it is not."""

    limits = (("above", above, le), ("at least", least, lt), ("below", below, ge), ("at most", most, gt))

    def check(found: Any) -> float:
        if not is_number(found):
            raise Wrong(no_number(found))
        for word, bound, is_beyond in limits:
            if bound is not None and is_beyond(found, bound):
                raise Wrong(f"; it must be {word} {numeral(bound)}{hint and f' ({hint})'}")
        return float(found)

    return check


def of(quantity: Quantity) -> Check:
    """A number of some kind, within what it can be, as a float."""

    def check(found: Any) -> float:
        if not is_number(found):
            raise Wrong(no_number(found))
        if not quantity.holds(found):
            raise Wrong(f"; it must be {quantity.limit}")
        return float(found)

    return check


def whole(least: int) -> Check:
    """A whole number."""

    def check(found: Any) -> int:
        if type(found) is not int:
            raise Wrong(", which is not a whole number")
        if found < least:
            raise Wrong(f"; it must be at least {least}")
        return found

    return check


def text(empty: bool = False, most: int = 500) -> Check:
    """A text of not too many characters."""

    def check(found: Any) -> str:
        if not isinstance(found, str):
            raise Wrong("; it must be text, in quotes")
        if not (found.strip() or empty):
            raise Wrong("; it must be a text that is not empty")
        if len(found) > most:
            raise Wrong(f", which is longer than {most} characters")
        if not is_writable(found):
            raise Wrong(", which is no text in UTF-8")
        return found

    return check


def colour_code(found: Any) -> str:
    """A screen colour, "#rrggbb"."""
    if not (isinstance(found, str) and re.fullmatch("#[0-9a-fA-F]{6}", found)):
        raise Wrong('; it must be written "#rrggbb"')
    return found


def one_of(*allowed: Any) -> Check:
    """One of these words or numbers."""
    words = [f'"{one}"' if isinstance(one, str) else str(one) for one in allowed]
    told = f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]

    def check(found: Any) -> Any:
        if not any(type(found) is type(one) and found == one for one in allowed):
            raise Wrong(f"; it must be {told}")
        return found

    return check


def list_of(item: Check, count: int | None = None) -> Check:
    """A list whose items are all of a kind. count: how many numbers it holds; None: any number of items."""

    def check(found: Any) -> list[Any]:
        if not isinstance(found, list | tuple):
            raise Wrong(f"; it must be a list{'' if count is None else f' of {count} numbers'}")
        if count is not None and len(found) != count:
            raise Wrong(f"; it must hold {count} numbers")
        return [item(one) for one in found]

    return check


def table_of(item: Check) -> Check:
    """A table of any keys, whose values are all of a kind."""

    def check(found: Any) -> dict[str, Any]:
        if not isinstance(found, Mapping):
            raise Wrong("; it must be a table")
        made: dict[str, Any] = {}
        for key, one in found.items():
            try:
                made[str(key)] = item(one)
            except Wrong as wrong:
                raise Wrong(f", in which {plain(key)} is {plain(one)}{wrong}") from None
        return made

    return check


def or_none(check: Check) -> Check:
    """The same, or nothing said."""
    return lambda found: None if found is None else check(found)


def anything(found: Any) -> Any:
    """Any value: it is looked at elsewhere."""
    return found


def _table(table: Table, found: Mapping[str, Any], place: str, head: str, problems: list[Problem]) -> SimpleNamespace:
    known = [key for key in table.keys if key not in ("made_by", "made_at")]
    strange = [] if table.others else [key for key in found if key not in table.keys]
    problems += [Problem(place, f"has no key {plain(key)}; {did_you_mean(str(key), known)}") for key in strange]
    made: dict[str, Any] = {}
    for key, (check, default) in table.keys.items():
        under = f"{head}.{key}" if head else key
        if key in found:
            made[key] = _value(check, found[key], (place, key, under), problems)
        elif default is NEEDED:
            problems.append(_missing(check, place, key, under))
        else:
            made[key] = _value(check, default, (place, key, under), problems) if default == {} else default
    return SimpleNamespace(**made)


def _value(check: Check | Table | Rows | Named, found: Any, at: tuple[str, str, str], problems: list[Problem]) -> Any:
    place, key, under = at
    try:
        if isinstance(check, Table | Named) and not isinstance(found, Mapping):
            raise Wrong(f"; it must be a table, headed [{under}]")
        if isinstance(check, Table):
            return _table(check, found, f"[{under}]", under, problems)
        if isinstance(check, Named):
            return {
                name: _value(check.each, one, (f"[{under}]", plain(name), f"{under}.{plain(name)}"), problems)
                for name, one in found.items()
            }
        if not isinstance(check, Rows):
            return check(found)
        if not (isinstance(found, list | tuple) and all(isinstance(row, Mapping) for row in found)):
            heads = f"tables, each headed [[{under}]]" if check.in_toml else "a list of tables"
            raise Wrong(f"; it must be {heads}")
        return [
            _table(check.row, row, f"{key.removesuffix('s')} {_row_name(row, i)}", under, problems)
            for i, row in enumerate(found, 1)
        ]
    except Wrong as wrong:
        problems.append(Problem(place, f"has {key} = {as_written(found)}{wrong}"))
        return None


def _row_name(row: Mapping[str, Any], number: int) -> str:
    name = row.get("name")
    return repr(plain(name)) if isinstance(name, str) and name else str(number)


def _missing(check: Check | Table | Rows | Named, place: str, key: str, under: str) -> Problem:
    if isinstance(check, Table):
        needed = [name for name, (_, default) in check.keys.items() if default is NEEDED]
        return Problem("", f"there is no [{under}]; add it{' with its ' + ' and '.join(needed) if needed else ''}")
    try:
        check(None)  # type: ignore[operator]
    except (Wrong, TypeError) as wrong:
        told = str(wrong) if isinstance(wrong, Wrong) else ""
        return Problem(place, f"has no {key}{told if told.startswith('; it must be') else '; add it'}")
    return Problem(place, f"has no {key}; add it")
