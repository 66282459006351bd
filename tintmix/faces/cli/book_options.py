"""What the commands of the book have in common: where it is, and what is typed as NAME=VALUE."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from tintmix.faces.cli.values import colour, number

AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
REVISION = click.option(
    "--revision", type=click.IntRange(1), metavar="N", default=None, help="Which revision. [default: the newest]"
)


def _place(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The book named here, or the one named before the command."""
    before = ctx.parent.params.get("book") if ctx.parent is not None else None
    return value or before


BOOK = click.option(
    "--book",
    type=click.Path(),
    metavar="FILE",
    default=None,
    callback=_place,
    help="The book's file. [default: TINTMIX_BOOK, or the book in your own data folder]",
)


def pairs(what: str, example: str) -> Callable[[click.Context, click.Parameter, tuple[str, ...]], dict[str, str]]:
    """A callback for NAME=TEXT, given any number of times."""

    def reading(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, str]:
        out: dict[str, str] = {}
        for said in value:
            name, sign, text = said.partition("=") if what == "lot" else said.rpartition("=")
            name, text = name.strip(), text.strip()
            if not (sign and name and text):
                raise click.BadParameter(f"{said!r} is no {what}; write it as {example}", ctx, param)
            if name in out:
                raise click.BadParameter(f"{name} is named twice; name it once", ctx, param)
            out[name] = text
        return out

    return reading


def grams(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> dict[str, float]:
    """Callback of weights by name: A=236.8, "azure 1+50=4.82"."""
    out = {}
    for name, said in pairs("weight", "A=236.8")(ctx, param, value).items():
        try:
            out[name] = number(said.removesuffix("g"))
        except ValueError as problem:
            raise click.BadParameter(f"{problem}; write grams, such as {name}=4.82", ctx, param) from None
    return out


def gram(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of one weight: 4.82 or 4,82 g."""
    if value is None:
        return None
    try:
        return number(value.strip().removesuffix("g"))
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write grams, such as 4.82", ctx, param) from None


def factor(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """Callback of a factor or a relative spread: 1.08, 0.02, or 2%."""
    if value is None:
        return None
    try:
        said = value.strip()
        return number(said.removesuffix("%")) / 100 if said.endswith("%") else number(said)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write a number such as 1.08, or 8 % as 8%", ctx, param) from None


def readings(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[Any, ...]:
    """Callback of colours by place: point=31.2,-20.1,4.5."""
    out = []
    for said in value:
        place, sign, text = said.partition("=")
        try:
            if not (sign and place.strip()):
                raise ValueError(f"{said!r} names no place and colour")
            out.append((place.strip(), colour(text)))
        except ValueError as problem:
            raise click.BadParameter(
                f"{problem}; write the place and its L*, a*, b*, such as point=31.2,-20.1,4.5", ctx, param
            ) from None
    return tuple(out)


def lab(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[float, float, float] | None:
    """Callback of one colour."""
    if value is None:
        return None
    try:
        return colour(value)
    except ValueError as problem:
        raise click.BadParameter(f"{problem}; write L*, a*, b*, such as 31.2,-20.1,4.5", ctx, param) from None
