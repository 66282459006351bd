"""`tintmix tour`: the whole job on the demo."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.commands import fit as fit_face
from tintmix.faces.cli.commands import look as look_face
from tintmix.faces.cli.commands import solve as solve_face
from tintmix.faces.remedies import Said, told_in_shell
from tintmix.weighing.weighed import part_label, part_named, tinted_named

if TYPE_CHECKING:
    from tintmix.desk.tour import Step


@click.command()
@click.option(
    "--into", type=click.Path(), default="tintmix-tour", show_default=True, metavar="DIR",
    help="The folder for the model, the recipe and the pictures. It is made if need be; files in it that are not the "
    "tour's own are left alone.",
)  # fmt: skip
@click.option("--replace", "replace_old", is_flag=True, help="Write over files of the tour's names, whoever made them.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def tour(into: str, replace_old: bool, as_json: bool) -> None:
    """The whole job on the shipped demo chips, told step by step: read them, learn from them, look at a dose where the
    casting is thin and where it is thick, find a recipe for a sea-green glass, and see what happens when a wish cannot be
    met; then weigh the recipe out, and keep it in a book.

    The demo is invented: no resin, pigment or chip in it exists.
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.tour import tour as walk
    from tintmix.faces.paper.sheet import pdf_of

    started = time.monotonic()
    steps = []
    for number, step in enumerate(walk(into, pdf_of, replace_old), start=1):
        steps.append(step.as_table())
        if not as_json:
            click.echo(told(number, step))
    seconds = time.monotonic() - started
    files = [name for step in steps for name in step["files"]]
    names = ", ".join(name.replace("\\", "/").rsplit("/", 1)[-1] for name in files)
    with text.printing(text.written_as([into])):
        if as_json:
            text.say_json({"into": into, "steps": steps, "files": files, "seconds": round(seconds, 3)})
        else:
            click.echo(text.wrapped(f"That was the whole job, in {seconds:.1f} s. What it made is in {into}: {names}."))


def told(number: int, step: Step) -> str:
    """A step as text."""
    title = f"{number}. {step.title}"
    lines: list[Said] = [text.Laid(title), text.Laid("-" * len(title))]
    lines += [text.wrapped(told_in_shell(said), "  ", "* ") if step.cautions else said for said in step.says]
    if step.chips is not None:
        lines += ["", fit_face.described(step.chips)]
    if step.fit is not None:
        lines += ["", fit_face.strengths(step.fit), "", fit_face.quality(step.fit), "", *fit_face.doubts(step.fit)]
    if step.look is not None:
        lines += ["", *look_face.told(step.look.body, step.look.lifts)]
    if step.solve is not None:
        lines += ["", *solve_face.told(step.solve.body, step.solve.swatches, step.solve.thickest)]
    if step.sheet is not None:
        moved = step.sheet.body["delta_e00_95_from_weighing"]
        lines += [
            "", weights(step.sheet.body), "",
            f"The weighing moves the colour by no more than ΔE00 {moved:.2f} at any place, 95 times in 100. The whole sheet, "
            f"with boxes to tick, what {tinted_named(step.sheet.body['tinted_part']['name'])} alone should "
            "look like, and the cautions, is in the PDF.",
        ]  # fmt: skip
    return text.page(lines) + "\n"


def weights(body: dict[str, Any]) -> text.Laid:
    """What goes on the scale, in order, in a table."""
    rows = [
        [f"stock bottle {one['name']}", f"{one['from_g'] or one['pigment_g']:.2f} g of {one['from_letdown'] or one['pigment']}",
         f"and {one['added_carrier_g']:.2f} g of {part_named(one['carrier'])}"]
        for one in body["letdowns"]
    ]  # fmt: skip
    tinted = body["tinted_part"]["name"]
    parts = {one["name"]: f"{one['grams_to_weigh']:.2f} g" for one in body["parts"]}
    rows.append([part_label(tinted), parts.pop(tinted), ""])
    for one in body["pigments"]:
        source = one["weigh"]["letdown"] or one["pigment"]
        rows.append([f"  of {source}", f"{one['weigh']['grams']:.2f} g", f"{text.phr(one['dose_phr'])} phr"])
    rows += [[f"then {part_named(name)}", grams, ""] for name, grams in parts.items()]
    return text.table(["weigh", "", ""], rows, left=(0, 2))
