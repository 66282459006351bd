"""`tintmix tour`: the whole job on the demo."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import fit as fit_face
from tintmix.faces.cli import look as look_face
from tintmix.faces.cli import solve as solve_face
from tintmix.faces.cli import text

if TYPE_CHECKING:
    from tintmix.desk.tour import Step


@click.command(short_help="The whole job on the shipped demo chips, told step by step.")
@click.option(
    "--into",
    type=click.Path(),
    default="tintmix-tour",
    show_default=True,
    metavar="DIR",
    help="The folder for the model, the recipe and the pictures. It is made if need be; files in it that are not the "
    "tour's own are left alone.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def tour(into: str, as_json: bool) -> None:
    """The whole job on the shipped demo chips, told step by step: read them, learn from them, look at a dose where the
    part is thin and where it is thick, find a recipe for a sea-green glass, and see what happens when a wish cannot be
    met.

    The demo is invented: no resin, pigment or chip in it exists.
    """
    from tintmix.desk.tour import tour as walk

    started = time.monotonic()
    steps = []
    for number, step in enumerate(walk(into), start=1):
        steps.append(step.as_table())
        if not as_json:
            click.echo(told(number, step))
    seconds = time.monotonic() - started
    if as_json:
        text.say_json({"into": into, "steps": steps, "files": _files(steps), "seconds": round(seconds, 3)})
        return
    text.say(f"That was the whole job, in {seconds:.1f} s. What it made is in {into}: {', '.join(_names(steps))}.")


def told(number: int, step: Step) -> str:
    """A step as text."""
    title = f"{number}. {step.title}"
    lines = [title, "-" * len(title)]
    last = not (step.chips or step.fit or step.look or step.solve)
    lines += [text.wrapped(said, "  ", "* ") if last else text.wrapped(said) for said in step.says]
    if step.chips is not None:
        lines += ["", text.wrapped(fit_face.described(step.chips))]
    if step.fit is not None:
        lines += ["", fit_face.strengths(step.fit), "", fit_face.quality(step.fit), "", fit_face.doubts(step.fit)]
    if step.look is not None:
        lines += ["", look_face.told(step.look.body, step.look.lifts)]
    if step.solve is not None:
        lines += ["", solve_face.told(step.solve.body, step.solve.swatches, step.solve.thickest)]
    return "\n".join(lines) + "\n"


def _files(steps: list[dict[str, Any]]) -> list[str]:
    return [name for step in steps for name in step["files"]]


def _names(steps: list[dict[str, Any]]) -> list[str]:
    return [name.replace("\\", "/").rsplit("/", 1)[-1] for name in _files(steps)]
