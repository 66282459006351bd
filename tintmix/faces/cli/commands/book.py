"""`tintmix book`: the recipe book."""

from __future__ import annotations

import click

from tintmix.faces.cli.groups import Commands
from tintmix.faces.cli.options import BOOK_HELP, FILE

COMMANDS = {
    "keep": "Keep a recipe file, with the model it came from.",
    "list": "List the recipes, the newest revision of each.",
    "show": "Show a recipe: doses, where it came from, its pours; or write it back as a file.",
    "compare": "Put two revisions of a recipe side by side.",
    "history": "Chart what the pours came out as, and say whether they drift.",
    "pour": "Record a pour, or add to one what came to be known later.",
    "lot": "List the lots, or enter one and how strong it is.",
    "bottle": "List the stock bottles, put one on the shelf, or say what was taken from it.",
    "check-chip": "Record the check chip of a lot as it was read.",
    "rescale": "A recipe for another mixing ratio or another lot.",
    "export": "Write the book, or some recipes of it, as one JSON file.",
    "import": "Bring in an export: what the book does not hold yet.",
    "backup": "Copy the book into a new file, and read the copy over.",
    "check": "See whether all in the book is as it was written.",
}
"""Each command and what it does in a line. Those of the bench stand in book_bench.py, the others in book_kept.py."""

AT_THE_BENCH = ("pour", "lot", "bottle", "check-chip")


@click.group(
    cls=Commands,
    summaries=COMMANDS,
    home=lambda name: f"tintmix.faces.cli.book_{'bench' if name in AT_THE_BENCH else 'kept'}",
    invoke_without_command=True,
)
@click.option("--book", type=FILE, help=BOOK_HELP)
@click.pass_context
def book(ctx: click.Context, book: str | None) -> None:
    """The recipe book: recipes as revisions that never change, with all they came from; the pours made of them and what came
    out; stock bottles and lots. One file, which you can back up, export and import.

    Every command here takes --json and --book FILE. Doses are in phr: grams of pigment as supplied per 100 g of mixed resin.

    \b
      tintmix book keep recipe.json                     a recipe, with its model
      tintmix book pour sea-green --batch 450 --weighed A=236.8 --from-bottle "azure 1+50=1.95"
      tintmix book pour sea-green --number 1 --reading point=63.6,-33.7,-8.4
      tintmix book history sea-green                    does it still come out the same?
      tintmix book show sea-green --out again.json      and again, next year
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())
