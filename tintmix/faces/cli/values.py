"""What a maker types, turned into values: numbers with a point or a comma, doses, thicknesses, an insert."""

from __future__ import annotations

import math
import re
from typing import Any

import click

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?", re.IGNORECASE | re.ASCII)


def number(text: str) -> float:
    """A number with a decimal point or a decimal comma. Raises ValueError.

    >>> number("0,02")
    0.02
    """
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{text!r} is not a number")
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is too large to be a number here")
    return value


def millimetres(ctx: click.Context, param: click.Parameter, value: Any) -> Any:
    """Callback of an option that takes a length, or several: 8, 8.5, 8,5 or 8mm."""
    if isinstance(value, tuple):
        return tuple(millimetres(ctx, param, one) for one in value)
    if value is None:
        return None
    try:
        return number(value.strip().removesuffix("mm"))
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write millimetres, such as 8 or 12.5", ctx, param) from None


def doses(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, float]:
    """Callback of an option that takes pigments and their doses in phr: azure=0.02."""
    out: dict[str, float] = {}
    for text in value:
        pigment, sign, amount = text.rpartition("=")
        pigment = pigment.strip()
        if not (sign and pigment):
            raise click.BadParameter(f"{text!r} names no pigment and dose; write it as azure=0.02", ctx, param)
        if pigment in out:
            raise click.BadParameter(f"{pigment} is named twice; give each pigment one dose", ctx, param)
        try:
            out[pigment] = number(amount.strip().removesuffix("phr"))
        except ValueError as problem:
            raise click.BadParameter(f"{problem}; write the dose in phr, such as {pigment}=0.02", ctx, param) from None
    return out


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
