"""What the commands have in common: how they answer, and options."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from functools import reduce, wraps
from itertools import chain
from typing import Any, NamedTuple, TypeVar

import click

from tintmix.errors import in_short, is_writable
from tintmix.faces.cli import text
from tintmix.quantities import COUNT as COUNTS

Made = TypeVar("Made")


class Done(NamedTuple):
    """The body of an answer, as JSON has it, and the same as text. done: what is on the disk by now, in a few words: told on
    standard error where standard output fails, so that nobody does it twice. status: the exit status."""

    body: Mapping[str, Any]
    told: str
    done: str = ""
    status: int = 0


Answer = tuple[Mapping[str, Any], str] | Done
"""The first two of these may do."""


def answers(command: Callable[..., Answer]) -> Callable[..., int]:
    """A command that prints what it found: as text, or with --json as one JSON object and nothing else."""

    @click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
    @wraps(command)
    def printed(*, as_json: bool, **said: Any) -> int:
        _check_letters(said)
        one = Done(*command(**said))
        with text.printing(one.done):
            if as_json:
                text.say_json(one.body)
            else:
                click.echo(one.told)
        return one.status

    return printed


def _check_letters(said: Mapping[str, Any]) -> None:
    """That what was typed is text; only a file's name may be of any bytes. Raises BadParameter."""
    context = click.get_current_context()
    for option in context.command.params:
        is_file = isinstance(option.type, click.Path)
        if not is_file and not all(map(is_writable, _texts(said.get(str(option.name))))):
            raise click.BadParameter("what is typed there is no text in UTF-8", context, option)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping | tuple | list):
        for one in chain(value, value.values() if isinstance(value, Mapping) else ()):
            yield from _texts(one)


def taken(cls: type[Made], said: dict[str, Any], **more: Any) -> Made:
    """A value of a dataclass from the options that are called like its fields, which are taken out, and what is given
    besides."""
    names = [field.name for field in fields(cls) if field.name in said]  # type: ignore[arg-type]
    return cls(**{name: said.pop(name) for name in names} | more)


def again(*names: str, help: str, **more: Any) -> Callable[[Any], Any]:
    """An option that may be given any number of times."""
    return click.option(*names, help=f"{help} Can be given more than once.", **{"multiple": True, **more})


def usual(*names: str, **more: Any) -> Callable[[Any], Any]:
    """An option whose default its help shows."""
    return click.option(*names, show_default=True, **more)


def all_of(*options: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Several options as one decorator, in their order."""
    return lambda command: reduce(lambda made, option: option(made), reversed(options), command)


class _Observer(click.Choice):  # type: ignore[type-arg,unused-ignore]
    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        return int(super().convert(str(value), param, ctx))


FILE = click.Path()
FILE.name = "file"
OBSERVER = _Observer(["2", "10"])


class Whole(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A whole number within bounds."""

    name = "number"

    def __init__(self, least: int, most: int) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number. Fails where it is none, or out of its bounds."""
        digits = str(value).strip()
        # More digits than the most has are not turned into a number: Python would take long for them, or refuse.
        is_one = digits.isascii() and digits.isdecimal() and len(digits.lstrip("0")) <= len(str(self.most))
        if not is_one or not self.least <= int(digits) <= self.most:
            self.fail(f"{in_short(digits, 40)!r} is no whole number from {self.least} to {self.most}", param, ctx)
        return int(digits)


COUNT = Whole(int(COUNTS.least), int(COUNTS.most))


def _book(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The book named here, or the one named before the command."""
    return value or (ctx.parent.params.get("book") if ctx.parent is not None else None)


BOOK_HELP = "The book's file. [default: TINTMIX_BOOK, or the book in your own data folder]"
BOOK = click.option("--book", type=FILE, callback=_book, help=BOOK_HELP)
REVISION = click.option("--revision", type=COUNT, metavar="N", help="Which revision. [default: the newest]")
OF_RECIPE = all_of(
    click.option("--resin", type=FILE, help="A resin file, in place of the recipe's."),
    click.option("--model", type=FILE, help="Where the recipe's model is now."),
    click.option("--book", type=FILE, help="The recipe book. [default: your own, if there is one]"),
    click.option(
        "--revision", type=COUNT, metavar="N", help="Which revision of a recipe in the book. [default: the newest]"
    ),
)
"""Where a recipe and what goes with it are."""
SCALES = click.option(
    "--scale", "scales", multiple=True, metavar="[USE=]G",
    help="The scale's smallest step in g; or that, how well it repeats, and the most it weighs: 0.01:0.02:200. Where there are "
    "two scales, resin=0.1 and pigment=0.001. [default: resin=0.1, pigment=0.01]",
)  # fmt: skip
LINEAR = click.option(
    "--linear/--not-linear", default=None,
    help="Whether a TIFF or PNG holds the light as the camera counted it (linear), or values for a screen. "
    "[default: as the file says, or the photo shows]",
)  # fmt: skip
REPLACE = click.option(
    "--replace", "replace_old", is_flag=True,
    help="Write over whatever stands there. [default: only over a file of the same kind that tintmix made]",
)  # fmt: skip
AS_WEIGHED = click.option(
    "--as-weighed", is_flag=True,
    help="It was weighed so, though a weight is more than twice, or less than half, of what the recipe asks.",
)  # fmt: skip
PAPER = usual("--paper", type=click.Choice(["A4", "Letter"]), default="A4", help="The paper of the holder sheet.")
