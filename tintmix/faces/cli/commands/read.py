"""`tintmix read`: readings into a chip set."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, OBSERVER, Answer, Done, again, answers, taken, usual
from tintmix.faces.cli.photo import PHOTO, check_alone, run_holder, run_photo, run_stack, run_things
from tintmix.faces.cli.read_text import came_of, outcome, shown
from tintmix.files import caps
from tintmix.files.text import decode_any, load_text
from tintmix.numerals import counted, numeral


@click.command()
@click.argument("chip_set", metavar="[SET]", type=click.Path(), required=False)
@again("--from", "files", type=FILE, help="An instrument's file: CSV, CGATS.17 or ISO 28178 text, CxF3, JCAMP-DX.")
@click.option(
    "--colours", metavar="FILE",
    help='Colours typed or pasted, a line a chip ("b1 78.2 -12.5 -20.1"), from a file, or "-" for standard input.',
)  # fmt: skip
@usual(
    "--space", type=click.Choice(["Lab", "XYZ", "xyY", "LCh", "sRGB"]), default="Lab",
    help="What the typed numbers are, where a line does not say.",
)  # fmt: skip
@PHOTO
@again(
    "--map", "mapping", metavar="SAMPLE=CHIP",
    help='Which chip a sample, or a window of the holder sheet, is; SAMPLE= leaves it out, "Sample *=b*" maps all such.',
)  # fmt: skip
@click.option("--others-ignored", is_flag=True, help="Pass over samples and windows that are no chip's.")
@click.option(
    "--quantity", type=click.Choice(["transmittance", "absorbance", "reflectance"]),
    help="What was measured, where the file does not say or is wrong.",
)  # fmt: skip
@click.option(
    "--unit",
    type=click.Choice(["fraction", "percent"]),
    help="In what unit (of colours: Y or L* of the bare light is 1 or 100).",
)
@click.option("--light", metavar="NAME", help="For which light the colours are, such as D65.")
@click.option("--observer", type=OBSERVER, help="For which observer the colours are.")
@click.option(
    "--replace", "replace_old", is_flag=True,
    help="Put new readings in the place of old ones; those are kept under readings/. With --print-holder and --stack: "
    "write over whatever stands where the file goes.",
)  # fmt: skip
@click.option("--correct-drift", is_flag=True, help="Put the readings right by what the check chips show.")
@click.option("--dry-run", is_flag=True, help="Show what was understood and what would change, and change nothing.")
@answers
def read(chip_set: str | None, files: tuple[str, ...], colours: str | None, **said: Any) -> Answer:
    """Put readings into a chip set: of photos on a light panel, of a spectrophotometer's or a colorimeter's file, or typed.

    With --model, a photo of what is no chip, such as a piece of glass, is read by the camera that read the model's chips, and
    told; nothing is written.

    Samples are matched to chips by name, photos by the windows of the holder sheet. A chip read several times in one
    go is averaged. A chip that has a reading keeps it unless you say --replace. With --dry-run, or without SET, each sample of
    a file is shown as it was understood. Chips marked "yes" in the column
    check_chip are the check chips: read them on every reading day, and what has drifted since the first is said. The
    set changes only if all of it can be read. Examples:

    \b
      tintmix read my-photos --print-holder holder.pdf
      tintmix read my-photos --photo chips.dng --panel bare.dng --dry-run
      tintmix read my-photos --photo panel.jpg --panel empty.jpg --at b1=300,200,100,100 --dark 600,200,100,100
      tintmix read --model my.json --photo glass.dng --panel bare.dng --at glass=2.3 --thickness glass=6
      tintmix read --from export.csv
      tintmix read my-spectra --from export.csv --dry-run
      tintmix read my-spectra --from numbered.csv --map "Sample *=b*"
      tintmix read my-colours --colours readings.txt --space LCh
    """
    check_alone(said)
    if sum(map(bool, (files, colours, said["photos"], said["print_holder"]))) != 1:
        raise click.UsageError(
            "say where the readings come from: --photo FILE, --from FILE, or --colours FILE; one of these"
        )
    if said["model"] is not None:
        return run_things(chip_set, said)
    if chip_set is None and not files:
        raise click.UsageError("Missing argument 'SET': name the folder of the chip set")
    if said["print_holder"]:
        return run_holder(str(chip_set), said)
    if said["photos"]:
        return (run_stack if said["stack"] else run_photo)(str(chip_set), said)
    # Here, so that help need not wait for it.
    from tintmix.chips.convert import Wish
    from tintmix.chips.instruments.dispatch import read_samples
    from tintmix.chips.instruments.tabular.typed_colours import parse_colours
    from tintmix.desk.read.instrument import look_into, read_into_set
    from tintmix.faces.remedies import told_in_shell

    rest = {key: said[key] for key in ("mapping", "replace_old", "correct_drift", "others_ignored", "dry_run")}
    found = [read_samples(file) for file in files] or [parse_colours(typed(str(colours)), said["space"])]
    wish = taken(Wish, said)
    body = look_into(found, wish) if chip_set is None else read_into_set(chip_set, found, wish=wish, **rest).body
    for file in body.get("files", ()):
        file["asks"] = [told_in_shell(ask) for ask in file["asks"]]
    return Done(
        body, text.page(shown(body)) if chip_set is None else told(body), text.written_as(body.get("written", ()))
    )


def typed(source: str) -> str:
    """The text of typed colours, from a file or from standard input."""
    if source == "-":
        pasted: str = sys.stdin.read(caps.TYPED)
        return pasted
    return decode_any(load_text(source, caps.TYPED, "a file of colours").encode(), source)


def told(body: Mapping[str, Any]) -> str:
    """The body of `read --json` as text."""
    rows = [[chip["chip"], *came_of(chip, chip["spread"], lambda spread: numeral(spread, 2))] for chip in body["chips"]]
    table = text.table(["chip", "", "readings", "spread", "ΔE00 to before"], rows, left=(0, 1))
    sources = "; ".join(f"{s['file']}: {s['format']}, {counted(s['samples'], 'sample')}" for s in body["sources"])
    understood = [*shown(body), ""] if body.get("files") else [f"{sources}.", ""]
    return text.page([*understood, *([table, ""] if rows else []), *outcome(body)])
