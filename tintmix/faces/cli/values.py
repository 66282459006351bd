"""What a maker types, turned into values: numbers with a point or a comma and their unit, colours, NAME=VALUE."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

import click

from tintmix.errors import in_short

_SHOWN = 120
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?", re.IGNORECASE | re.ASCII)


def number(text: str, *units: str) -> float:
    """A number with a decimal point or a decimal comma, one of these units behind it or none. Raises ValueError.

    >>> number("0,02"), number("450 g", "cm3", "g")
    (0.02, 450.0)
    """
    text = text.strip()
    bare = next((text.removesuffix(unit).rstrip() for unit in units if text.endswith(unit)), text)
    if not _NUMBER.fullmatch(bare):
        raise ValueError(f"{text!r} is not a number")
    value = float(bare.replace(",", "."))
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is too large to be a number here")
    return value


def millimetres(text: str) -> float:
    """A thickness in mm. Raises ValueError."""
    return number(text, "mm")


def share(text: str) -> float:
    """A part of one, typed in per cent: 15 or 15 % is 0.15. Raises ValueError."""
    return number(text, "%") / 100


def factor(text: str) -> float:
    """A factor, or a relative spread: 1.08, 0.02, or 2%. Raises ValueError."""
    return share(text) if text.strip().endswith("%") else number(text)


def colour(text: str) -> tuple[float, float, float]:
    """Three numbers, parted by commas, semicolons or blanks. With decimal commas, part them by semicolons or blanks.

    >>> colour("60;10,5;-3"), colour("60, 10.5, -3")
    ((60.0, 10.5, -3.0), (60.0, 10.5, -3.0))
    """
    text = text.strip().strip("[]()")
    parts = text.split(";") if ";" in text else text.split(",") if text.count(",") == 2 else text.split()
    if len(parts) != 3:
        raise ValueError(f"{text!r} is not three numbers")
    first, second, third = (number(part) for part in parts)
    return first, second, third


def _mm_or_place(text: str) -> float | str:
    try:
        return millimetres(text)
    except ValueError:
        return text.strip()


def insert_colour(given: str | None, option: str = "--insert") -> str | tuple[float, float, float] | None:
    """The colour of an insert: "#rrggbb" and the name of a CSV file as they are, lab=L,a,b as its three numbers.

    >>> insert_colour("lab=62,8,45"), insert_colour("#b08d3c")
    ((62.0, 8.0, 45.0), '#b08d3c')
    """
    if given is None or not given.lower().replace(" ", "").startswith("lab="):
        return given
    try:
        return colour(given.partition("=")[2])
    except ValueError as problem:
        raise click.UsageError(f"{option} {given}: {problem}; write it as lab=62,8,45") from None


class Typed(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """What `read` makes of a typed text. Where it raises ValueError, the maker hears what to write: `such`."""

    def __init__(self, name: str, read: Callable[[str], Any], such: str) -> None:
        self.name, self._read, self._such = name, read, such

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value; one that was read already stays."""
        try:
            return self._read(value) if isinstance(value, str) else value
        except ValueError as problem:
            self.fail(f"{in_short(str(problem), _SHOWN)}; write {self._such}", param, ctx)


def unit(name: str, such: str, *units: str) -> Typed:
    """A number in these units, one of which may be typed behind it."""
    return Typed(name, lambda text: number(text, *units), such)


MM = unit("mm", "millimetres, such as 8 or 12.5", "mm")
MM_OR_PLACE = Typed("mm or place", _mm_or_place, "millimetres, or a place of a shape")
GRAMS = unit("g", "grams, such as 180", "g")
SHARE = Typed("percent", share, "per cent, such as 15")
FACTOR = Typed("s", factor, "a number such as 1.08, or 8 % as 8%")
COLOUR = Typed("L,a,b", colour, "three, such as 63.6,-33.7,-8.4")


def _chip(text: str) -> tuple[float, tuple[float, float, float]]:
    thickness, _, lab = text.partition("=")
    return millimetres(thickness), colour(lab)


CHIP = Typed("mm=L,a,b", _chip, "its thickness and its colour, such as 4=88.2,-11.6,-3.8")


def named(what: str, such: str, read: Callable[[str], Any] = str.strip, last: bool = False) -> Typed:
    """NAME=VALUE as a pair. what: that it names. last: the name may hold "=" itself, as a stock bottle's may."""

    def pair(said: str) -> tuple[str, Any]:
        name, _, value = said.rpartition("=") if last else said.partition("=")
        if not (name.strip() and value.strip()):
            raise ValueError(f"{said!r} names no {what}")
        return name.strip(), read(value)

    return Typed("name=value", pair, f"it as {such}")


def by_name(ctx: click.Context, param: click.Parameter, pairs: tuple[tuple[str, Any], ...]) -> dict[str, Any]:
    """A callback: pairs, given any number of times, as a table. Each name once."""
    table = dict(pairs)
    for name in table:
        if sum(name == other for other, _ in pairs) > 1:
            raise click.BadParameter(f"{name} is named twice; name it once", ctx, param)
    return table


def _strength(text: str) -> tuple[float, float]:
    """A lot's strength and its spread: 1.08 or 1.08:3, the second in per cent."""
    strong, parted, spread = text.partition(":")
    return number(strong), share(spread) if parted else 0.03


def table_of(kind: Typed, metavar: str) -> Mapping[str, Any]:
    """What makes an option of a table by name, given any number of times."""
    return {"type": kind, "metavar": metavar, "multiple": True, "callback": by_name}


DOSES = table_of(
    named("pigment and dose", "azure=0.02, in phr", lambda text: number(text, "phr"), last=True), "PIGMENT=PHR"
)
LOTS = table_of(named("pigment and lot", "azure=A-18"), "PIGMENT=LOT")
PRICES = table_of(named("pigment and price", "azure=0.12, the price of a gram", number, last=True), "NAME=PER_G")
WEIGHT = named("weight", "A=236.8 or 'azure 1+50=4.82', in grams", lambda text: number(text, "g"), last=True)
STRENGTHS = table_of(
    named("pigment and factor", "azure=1.08:3, the second in per cent", _strength, last=True),
    "PIGMENT=FACTOR[:PERCENT]",
)
