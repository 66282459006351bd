"""`tintmix read`: readings into a chip set."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.photo import check_alone, run_holder, run_photo, run_stack, with_photo_options
from tintmix.faces.cli.read_text import ACTIONS, outcome
from tintmix.faces.text_table import table
from tintmix.files.text import decode_any, load_text
from tintmix.numerals import numeral

if TYPE_CHECKING:
    from tintmix.desk.read.instrument import ReadDone


@click.command(short_help="Put readings of a photo or an instrument into a chip set.")
@click.argument("chip_set", metavar="SET", type=click.Path())
@click.option(
    "--from",
    "files",
    multiple=True,
    type=click.Path(),
    metavar="FILE",
    help="An instrument's file: CSV, CGATS.17 or ISO 28178 text, CxF3, JCAMP-DX. May be given again.",
)
@click.option(
    "--colours",
    metavar="FILE",
    default=None,
    help='Colours typed or pasted, a line a chip ("b1 78.2 -12.5 -20.1"), from a file, or "-" for standard input.',
)
@click.option(
    "--space",
    type=click.Choice(["Lab", "XYZ", "xyY", "LCh", "sRGB"]),
    default="Lab",
    show_default=True,
    help="What the typed numbers are, where a line does not say.",
)
@with_photo_options
@click.option(
    "--map",
    "mapping",
    multiple=True,
    metavar="SAMPLE=CHIP",
    help="Which chip a sample, or a window of the holder sheet, is; SAMPLE= leaves it out. May be given again.",
)
@click.option("--others-ignored", is_flag=True, help="Pass over samples and windows that are no chip's.")
@click.option(
    "--quantity",
    type=click.Choice(["transmittance", "absorbance", "reflectance"]),
    default=None,
    help="What was measured, where the file does not say or is wrong.",
)
@click.option(
    "--unit",
    type=click.Choice(["fraction", "percent"]),
    default=None,
    help="In what unit (for XYZ: Y of the bare light is 1 or 100).",
)
@click.option("--light", default=None, metavar="NAME", help="For which light the colours are, such as D65.")
@click.option("--observer", type=click.Choice(["2", "10"]), default=None, help="For which observer the colours are.")
@click.option(
    "--replace",
    "replace_old",
    is_flag=True,
    help="Put new readings in the place of old ones; those are kept under readings/.",
)
@click.option("--correct-drift", is_flag=True, help="Put the readings right by what the check chips show.")
@click.option("--dry-run", is_flag=True, help="Say what would change, and change nothing.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def read(chip_set: str, files: tuple[str, ...], colours: str | None, as_json: bool, **options: Any) -> None:
    """Put readings into a chip set: of photos on a light panel, of a spectrophotometer's or a colorimeter's file, or typed.

    Samples are matched to chips by name, photos by the windows of the holder sheet. A chip read several times in one
    go is averaged. A chip that has a reading keeps it unless you say --replace. Chips marked "yes" in the column
    check_chip are the check chips: read them on every reading day, and what has drifted since the first is said. The
    set changes only if all of it can be read. Examples:

    \b
      tintmix read my-chips --print-holder holder.pdf
      tintmix read my-chips --photo chips.dng --panel bare.dng --dry-run
      tintmix read my-chips --photo chips.jpg --panel bare.jpg --at b1=900,700,200,200 --dark 300,300,200,200
      tintmix read my-chips --from export.csv --dry-run
      tintmix read my-chips --from export.cxf --map "Sample 1=b1"
      tintmix read my-chips --colours readings.txt --space LCh
    """
    check_alone(options)
    if sum(map(bool, (files, colours, options["photos"], options["print_holder"]))) != 1:
        raise click.UsageError(
            "say where the readings come from: --photo FILE, --from FILE, or --colours FILE; one of these"
        )
    if options["print_holder"]:
        body, as_text = run_holder(chip_set, options)
    elif options["photos"]:
        body, as_text = (run_stack if options["stack"] else run_photo)(chip_set, options)
    else:
        body = _run(chip_set, files, colours, options).body
        as_text = told(body)
    if as_json:
        text.say_json(body)
        return
    click.echo(as_text)


def _run(chip_set: str, files: tuple[str, ...], colours: str | None, options: Mapping[str, Any]) -> ReadDone:
    # Here, so that help need not wait for it.
    from tintmix.chips.convert import Wish
    from tintmix.desk.read.instrument import read_colours, read_files

    observer = options["observer"]
    wish = Wish(options["quantity"], options["unit"], options["light"], int(observer) if observer else None)
    rest = {key: options[key] for key in ("replace_old", "correct_drift", "others_ignored", "dry_run")}
    if files:
        return read_files(chip_set, files, options["mapping"], wish=wish, **rest)
    return read_colours(chip_set, typed(str(colours)), options["mapping"], space=options["space"], wish=wish, **rest)


def typed(source: str) -> str:
    """The text of typed colours, from a file or from standard input."""
    if source == "-":
        pasted: str = sys.stdin.read(1_000_000)
        return pasted
    return decode_any(load_text(source, 1_000_000, "a file of colours").encode(), source)


def told(body: Mapping[str, Any]) -> str:
    """The body of `read --json` as text."""
    lines = [
        text.wrapped("; ".join(f"{s['file']}: {s['format']}, {s['samples']} samples" for s in body["sources"]) + "."),
        "",
    ]
    rows = [
        [
            chip["chip"],
            ACTIONS.get(chip["action"], chip["action"]),
            str(chip["readings"]) if chip["readings"] > 1 else "",
            "" if chip["spread"] is None else f"{numeral(chip['spread'], 2)}",
            "" if chip["delta_e00_to_before"] is None else f"{chip['delta_e00_to_before']:.2f}",
        ]
        for chip in body["chips"]
    ]
    lines.append(table(["chip", "", "readings", "spread", "ΔE00 to before"], rows, left=(0, 1)))
    return "\n".join([*lines, "", *outcome(body)])
