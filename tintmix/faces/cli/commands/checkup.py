"""`tintmix checkup`: whether tintmix is well on this machine."""

from __future__ import annotations

from pathlib import Path

import click

from tintmix.desk.checkup import Checkup
from tintmix.desk.checkup import checkup as look_at_everything
from tintmix.faces.cli import text
from tintmix.faces.cli.options import Done, answers
from tintmix.files.plain import finite
from tintmix.numerals import counted


@click.command()
@answers
def checkup() -> Done:
    """See whether tintmix is well on this machine: its own files, libraries, tables, fonts, browser, recipe book and folders.

    Copy what it prints into a report of a fault: it names no folder of yours. It ends with status 1 where something is not well.

    \b
      tintmix checkup
    """
    found = look_at_everything(_page_folder)
    return Done(finite(found), told(found), status=0 if found.well else 1)


def told(found: Checkup) -> str:
    """One screen."""
    ill = sum(one.state == "not well" for one in found.findings)
    head = f"tintmix {found.tintmix}, Python {found.python}, {found.system}, {counted(found.cores, 'core')}"
    lines = [text.wrapped(head), ""]
    for one in found.findings:
        lines.append(text.wrapped(f"{one.says}.", " " * 25, f"{one.state:>8}  {one.what:<13}  "))
    named = [f"{one.name} {one.found or '(none)'}" for one in found.libraries]
    lines += ["", text.wrapped(f"{', '.join(named)}.")] if named else []
    lines += ["", "All is well." if not ill else _HELP.format(ill=counted(ill, "thing is", "things are"))]
    return text.page(lines)


_HELP = (
    "{ill} not well. For files, libraries, tables, demo or fonts install tintmix anew (pip install --force-reinstall); of a book "
    "`tintmix book check` tells more; for a folder see to its rights and its disk."
)


def _page_folder() -> Path:
    # numpy comes with it, and may be what is broken.
    from tintmix.page.workspace import default_folder

    return default_folder()
