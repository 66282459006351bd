"""`tintmix book keep`, `list`, `show` and the others: the recipes that are kept, and the book's file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import click

from tintmix.desk.book import recipes
from tintmix.faces.cli import book_text, text
from tintmix.faces.cli.book_text import told_by
from tintmix.faces.cli.options import BOOK, COUNT, FILE, REPLACE, REVISION, Answer, Done, Whole, again, answers, usual
from tintmix.faces.cli.values import LOTS


@click.command()
@click.argument("recipe_path", metavar="RECIPE", type=FILE)
@click.option("--name", metavar="NAME", help="Keep it under this name. [default: the recipe's own]")
@click.option("--note", default="", help="Why, or what for.")
@click.option("--model", type=FILE, help="Where the model file is now.")
@click.option("--without-model", is_flag=True, help="Keep the recipe though its model is gone.")
@BOOK
@answers
def keep(**said: Any) -> Answer:
    """Keep RECIPE, a file that `tintmix solve --keep` wrote, as the next revision of its name. A recipe that says the same to
    the last digit is kept once."""
    return told_by(recipes.keep(**said), book_text.kept)


@click.command("list")
@click.argument("words", nargs=-1)
@usual("--most", type=Whole(0, COUNT.most), default=50, metavar="N", help="Show at most so many; 0: all.")
@BOOK
@answers
def list_(words: tuple[str, ...], most: int, book: str | None) -> Answer:
    """List the recipes by name; with WORDS, only those whose names hold them all."""
    return told_by(recipes.list_recipes(book, " ".join(words), most or None), book_text.listed)


@click.command()
@click.argument("name")
@REVISION
@click.option("--out", type=FILE, help="Write the recipe file there as it was kept, and its model beside it.")
@REPLACE
@BOOK
@answers
def show(name: str, revision: int | None, out: str | None, book: str | None, replace_old: bool) -> Answer:
    """Show a kept recipe. With --out, `tintmix sheet FILE` weighs it out again, next year too."""
    return told_by(recipes.show(name, revision, book, out, replace_old), book_text.shown)


@click.command()
@click.argument("name")
@click.argument("first", type=COUNT, required=False)
@click.argument("second", type=COUNT, required=False)
@BOOK
@answers
def compare(**said: Any) -> Answer:
    """Compare two revisions of a recipe, FIRST and SECOND, or the last two: doses, and how far apart (ΔE00) they were predicted
    to look at each place on the casting."""
    from tintmix.desk.book.compare import compare as compared  # here: numpy, which the others can do without

    return told_by(compared(**said), book_text.compared)


@click.command()
@click.argument("name")
@REVISION
@click.option("--place", metavar="PLACE", help="Only this place on the casting.")
@click.option("--picture", type=FILE, help="Draw the chart of the place, or of the thickest one: .png, .svg or .pdf.")
@REPLACE
@BOOK
@answers
def history(**said: Any) -> Answer:
    """A control chart (individuals and moving range) of the pours of a recipe that have a reading: ΔE00 from what was wanted,
    L*, a* and b* at each place on the casting."""
    from tintmix.desk.book.history import history as charted  # here: numpy, which the others can do without

    return told_by(charted(**said), book_text.charted)


@click.command()
@click.argument("name")
@REVISION
@click.option("--resin", type=FILE, help="The resin as it is now, a resin.toml.")
@again("--lot", "lots", **LOTS, help="A new lot of a pigment; its strength comes from the book.")
@click.option("--keep", "keep_it", is_flag=True, help="Keep it as a new revision.")
@click.option("--out", type=FILE, help="Write it as a recipe file.")
@REPLACE
@BOOK
@answers
def rescale(**said: Any) -> Answer:
    """A kept recipe for a resin with another mixing ratio, or for a new lot of a pigment. The kept recipe stays as it is.
    For another batch nothing has to change: `tintmix sheet` takes any."""
    return told_by(recipes.rescale(**said), book_text.rescaled)


@click.command()
@click.argument("file", type=FILE)
@click.argument("names", nargs=-1)
@REPLACE
@BOOK
@answers
def export(file: str, names: tuple[str, ...], book: str | None, replace_old: bool) -> Answer:
    """Write the whole book into FILE, or only the recipes of some NAMES with their models and pours."""
    done = recipes.export(file, names or None, book, replace_old)
    said = text.wrapped(f"Written: {file}, {book_text.counted(done.body['counts'])}.")
    return told_by(replace(done, written=(), recorded=f"written: {file}"), lambda _: said)


@click.command("import")
@click.argument("file", type=FILE)
@BOOK
@answers
def import_(file: str, book: str | None) -> Answer:
    """Bring in FILE, an export of a book, all of it or nothing. What is there already is left alone; a recipe whose number is
    taken by another gets the next number."""
    return told_by(recipes.import_file(file, book), book_text.imported)


@click.command()
@click.argument("file", type=FILE)
@click.option("--replace", "replace_old", is_flag=True, help="Copy it over whatever file stands there.")
@BOOK
@answers
def backup(file: str, book: str | None, replace_old: bool) -> Answer:
    """Copy the book into FILE, which must not be there yet, and check the copy. Use it as a book with --book FILE."""
    done = recipes.backup(file, book, replace_old)
    size, counts = done.body["size_bytes"] / 1e6, book_text.counted(done.body["counts"])
    said = text.wrapped(f"Copied to {file}, {size:.1f} MB, and read over: {counts}.")
    return Done(done.body, said, text.written_as(done.written))


@click.command()
@click.option(
    "--rescue", type=FILE, help="Write all that is sound into this file, an export that a new book can bring in."
)
@REPLACE
@BOOK
@answers
def check(**said: Any) -> Answer:
    """Check the book: the file, what belongs together, and the digest of everything in it. The exit status is 2 where it is
    damaged."""
    done = told_by(recipes.check(**said), book_text.checked)
    return done._replace(status=0 if done.body["sound"] else 2)
