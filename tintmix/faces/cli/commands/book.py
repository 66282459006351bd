"""`tintmix book`: the recipe book."""

from __future__ import annotations

from importlib import import_module

import click

from tintmix.desk.book.history import history as chart
from tintmix.desk.book.recipes import backup as back_up
from tintmix.desk.book.recipes import check as check_book
from tintmix.desk.book.recipes import compare as compare_revisions
from tintmix.desk.book.recipes import export as export_book
from tintmix.desk.book.recipes import import_file, list_recipes
from tintmix.desk.book.recipes import keep as keep_recipe
from tintmix.desk.book.recipes import rescale as rescale_recipe
from tintmix.desk.book.recipes import show as show_recipe
from tintmix.faces.cli import book_text, text
from tintmix.faces.cli.book_options import AS_JSON, BOOK, REVISION, pairs

AT_THE_BENCH = {
    "pour": "Record a pour, or add to one what came to be known later.",
    "lot": "List the lots, or enter one and how strong it is.",
    "bottle": "List the stock bottles, put one on the shelf, or say what was taken from it.",
    "check-chip": "Record the check chip of a lot as it was read.",
}
"""The commands of book_bench.py."""


class Commands(click.Group):
    """The commands of the book in the order of the job; those of the bench are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """By the order of the job."""
        own = list(self.commands)
        return [*own[:5], *AT_THE_BENCH, *own[5:]]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name in AT_THE_BENCH:
            found: click.Command = getattr(import_module("tintmix.faces.cli.book_bench"), cmd_name.replace("-", "_"))
            return found
        return super().get_command(ctx, cmd_name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing any."""
        shorts = {name: command.get_short_help_str(100) for name, command in self.commands.items()} | AT_THE_BENCH
        with formatter.section("Commands"):
            formatter.write_dl([(name, shorts[name]) for name in self.list_commands(ctx)])


@click.group(
    cls=Commands, invoke_without_command=True, short_help="Keep recipes, pours and lots, and make a tint again."
)
@click.option(
    "--book",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="The book's file. [default: TINTMIX_BOOK, or the book in your own data folder]",
)
@click.pass_context
def book(ctx: click.Context, book: str | None) -> None:
    """The recipe book: recipes as revisions that never change, with all they came from; the pours made of them and what came
    out; stock bottles and lots. One file, which you can back up, export and import.

    Every command here takes --json and --book FILE. Doses are in phr: grams of pigment as supplied per 100 g of mixed resin.

    \b
      tintmix book keep recipe.json                     a recipe, with its model
      tintmix book pour sea --batch 450 --weighed B=208.4 --from-bottle "azure 1+50=4.82"
      tintmix book pour sea --number 1 --reading point=31.2,-20.1,4.5
      tintmix book history sea                          does it still come out the same?
      tintmix book show sea --out sea.json              and again, next year
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


@book.command(short_help="Keep a recipe file, with the model it came from.")
@click.argument("recipe", type=click.Path())
@click.option("--name", metavar="NAME", default=None, help="Keep it under this name. [default: the recipe's own]")
@click.option("--note", metavar="TEXT", default="", help="Why, or what for.")
@click.option("--model", type=click.Path(), metavar="FILE", default=None, help="Where the model file is now.")
@click.option("--without-model", is_flag=True, help="Keep the recipe though its model is gone.")
@BOOK
@AS_JSON
def keep(
    recipe: str, name: str | None, note: str, model: str | None, without_model: bool, book: str | None, as_json: bool
) -> None:
    """Keep RECIPE, a file that `tintmix solve --keep` wrote, as the next revision of its name. A recipe that says the same to
    the last digit is kept once."""
    done = keep_recipe(recipe, book, note, name, model, without_model)
    if as_json:
        text.say_json(done.body)
        return
    text.say(done.body["says"])
    text.say(f"Fingerprint {done.body['digest'][:12]}, in {done.body['book']}.")


@book.command("list", short_help="List the recipes, the newest revision of each.")
@click.argument("words", nargs=-1)
@click.option(
    "--most", type=click.IntRange(0), default=50, show_default=True, metavar="N", help="Show at most so many; 0: all."
)
@BOOK
@AS_JSON
def list_(words: tuple[str, ...], most: int, book: str | None, as_json: bool) -> None:
    """List the recipes by name; with WORDS, only those whose names hold them all."""
    done = list_recipes(book, " ".join(words), most or None)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.listed(done.body))


@book.command(short_help="Show a recipe: doses, where it came from, its pours; or write it back as a file.")
@click.argument("name")
@REVISION
@click.option(
    "--out",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="Write the recipe file there as it was kept, and its model beside it.",
)
@BOOK
@AS_JSON
def show(name: str, revision: int | None, out: str | None, book: str | None, as_json: bool) -> None:
    """Show a kept recipe. With --out, `tintmix sheet FILE` weighs it out again, next year too."""
    done = show_recipe(name, revision, book, out)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.shown(done.body))
    _say_written(done.written)


@book.command(short_help="Put two revisions of a recipe side by side.")
@click.argument("name")
@click.argument("first", type=click.IntRange(1), required=False)
@click.argument("second", type=click.IntRange(1), required=False)
@BOOK
@AS_JSON
def compare(name: str, first: int | None, second: int | None, book: str | None, as_json: bool) -> None:
    """Compare two revisions of a recipe, FIRST and SECOND, or the last two: doses, and how far apart (ΔE00) they were predicted
    to look at each place on the casting."""
    done = compare_revisions(name, first, second, book)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.compared(done.body))


@book.command(short_help="Chart what the pours came out as, and say whether they drift.")
@click.argument("name")
@REVISION
@click.option("--place", metavar="PLACE", default=None, help="Only this place on the casting.")
@click.option(
    "--picture", type=click.Path(), metavar="FILE", default=None,
    help="Draw the chart of the place, or of the thickest one: .png, .svg or .pdf.",
)  # fmt: skip
@BOOK
@AS_JSON
def history(
    name: str, revision: int | None, place: str | None, picture: str | None, book: str | None, as_json: bool
) -> None:
    """A control chart (individuals and moving range) of the pours of a recipe that have a reading: ΔE00 from what was wanted,
    L*, a* and b* at each place on the casting."""
    done = chart(name, revision, place, book, picture)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.charted(done.body))
    _say_written(done.written)


@book.command(short_help="A recipe for another mixing ratio or another lot.")
@click.argument("name")
@REVISION
@click.option("--resin", type=click.Path(), metavar="FILE", default=None, help="The resin as it is now, a resin.toml.")
@click.option(
    "--lot", "lots", multiple=True, callback=pairs("lot", "azure=A-18"), metavar="PIGMENT=LOT",
    help="A new lot of a pigment; its strength comes from the book. May be given again.",
)  # fmt: skip
@click.option("--keep", "keep_it", is_flag=True, help="Keep it as a new revision.")
@click.option("--out", type=click.Path(), metavar="FILE", default=None, help="Write it as a recipe file.")
@BOOK
@AS_JSON
def rescale(
    name: str,
    revision: int | None,
    resin: str | None,
    lots: dict[str, str],
    keep_it: bool,
    out: str | None,
    book: str | None,
    as_json: bool,
) -> None:
    """A kept recipe for a resin with another mixing ratio, or for a new lot of a pigment. The kept recipe stays as it is.
    For another batch nothing has to change: `tintmix sheet` takes any."""
    done = rescale_recipe(name, revision, book, resin, lots, keep_it, out)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.rescaled(done.body))
    _say_written(done.written)


@book.command(short_help="Write the book, or some recipes of it, as one JSON file.")
@click.argument("file", type=click.Path())
@click.argument("names", nargs=-1)
@BOOK
@AS_JSON
def export(file: str, names: tuple[str, ...], book: str | None, as_json: bool) -> None:
    """Write the whole book into FILE, or only the recipes of some NAMES with their models and pours."""
    done = export_book(file, names or None, book)
    if as_json:
        text.say_json(done.body)
        return
    text.say(f"Written: {file}, {book_text.counted(done.body['counts'])}.")


@book.command("import", short_help="Bring in an export: what the book does not hold yet.")
@click.argument("file", type=click.Path())
@BOOK
@AS_JSON
def import_(file: str, book: str | None, as_json: bool) -> None:
    """Bring in FILE, an export of a book, all of it or nothing. What is there already is left alone; a recipe whose number is
    taken by another gets the next number."""
    done = import_file(file, book)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.imported(done.body))


@book.command(short_help="Copy the book into a new file, and read the copy over.")
@click.argument("file", type=click.Path())
@BOOK
@AS_JSON
def backup(file: str, book: str | None, as_json: bool) -> None:
    """Copy the book into FILE, which must not be there yet, and check the copy. Use it as a book with --book FILE."""
    done = back_up(file, book)
    if as_json:
        text.say_json(done.body)
        return
    size = done.body["size_bytes"] / 1e6
    text.say(f"Copied to {file}, {size:.1f} MB, and read over: {book_text.counted(done.body['counts'])}.")


@book.command(short_help="See whether all in the book is as it was written.")
@BOOK
@AS_JSON
def check(book: str | None, as_json: bool) -> None:
    """Check the book: the file, what belongs together, and the digest of everything in it."""
    done = check_book(book)
    if as_json:
        text.say_json(done.body)
        return
    click.echo(book_text.checked(done.body))


def _say_written(written: tuple[str, ...]) -> None:
    if written:
        text.say("Written: " + ", ".join(written) + ".")
