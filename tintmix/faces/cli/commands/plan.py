"""`tintmix plan`: which cups and chips to pour."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.options import (
    BOOK,
    COUNT,
    FILE,
    OBSERVER,
    PAPER,
    SCALES,
    Answer,
    Done,
    again,
    answers,
    taken,
    usual,
)
from tintmix.faces.cli.photo import drawn_for
from tintmix.faces.cli.values import COLOUR, GRAMS, MM, Typed, number, table_of
from tintmix.faces.remedies import told_in_shell
from tintmix.numerals import counted, numeral, percent
from tintmix.weighing.scales import USUAL, scales_from_text
from tintmix.weighing.weighed import part_label

GOING_ON = {
    "colours": "Write them into chips.csv (or `tintmix read`).",
    "photos": "Bring the photos in with `tintmix read {set} --photo chips.dng --panel bare.dng` (raw; JPEGs are rough). Without "
    "the sheet name each chip's place in the photo: `--at CHIP=x,y,width,height`.",
    "spectra": "Bring the file in with `tintmix read {set} --from FILE`.",
    "several": "take several photos, and say `--number 1`, `--number 2` … with each.",
    "fit": "Then `tintmix fit {set} --model FILE`.",
    "fit_together": "Then fit them together with the chips that {model} was made from: `tintmix fit OLD-SET {set} --model FILE`.",
}
"""What the bench page of a plan says of the work after it: the commands that go on."""


def _meant(said: str) -> tuple[str, float | None]:
    """A pigment with or without a dose: azure, azure=0.02."""
    pigment, sign, amount = said.partition("=")
    if not pigment.strip():
        raise ValueError(f"{said!r} names no pigment")
    return pigment.strip(), number(amount, "phr") if sign else None


@click.command()
@click.argument("folder", type=click.Path())
@again(
    "--pigment", "pigments", **table_of(Typed("name", _meant, "it as azure or azure=0.02, in phr"), "NAME[=PHR]"),
    help="A pigment, and the dose that you mean to use in the casting. With a one-cup model: its dose in that cup.",
)  # fmt: skip
@click.option("--model", type=FILE, help="What is known already: a model of earlier chips, or of one cup.")
@again(
    "--at", "sections_mm", required=True, type=MM,
    help="How thick the casting is at a place that matters, thinnest and thickest at least.",
)  # fmt: skip
@click.option(
    "--cast", "cast_mm", multiple=True, type=MM,
    help="A chip thickness that you have a mould for. Can be given more than once. [default: 3, 6 and 12; 25 too for thick "
    "castings; with a model, those of its chips]",
)  # fmt: skip
@click.option("--cast-to", "cast_to_mm", type=MM, help="Or: any thickness up to this one can be cast.")
@click.option(
    "--cups", type=COUNT, metavar="N", help="How many cups you will pour. [default: 2 for each new pigment and 2 more]"
)
@click.option(
    "--chips-per-cup", type=COUNT, metavar="N", help="Thicknesses poured from each cup. [default: 2; spectra: 1]"
)
@usual(
    "--kind", type=click.Choice(["colour", "camera", "spectrum"]), default="colour", help="How the chips will be read."
)
@click.option(
    "--light", default="", metavar="LIGHT",
    help="Colours: the CIE light they are computed for. Camera: the panel. [default: D65; unknown]",
)  # fmt: skip
@click.option(
    "--tile", type=COLOUR, metavar="L,a,b",
    help="Colours read in reflection, on a white tile: what the bare tile reads. The chips are then thin.",
)  # fmt: skip
@usual(
    "--contact", type=click.Choice(["dry", "wetted"]), default="dry",
    help="With --tile: air between chip and tile, or a drop of clear liquid.",
)  # fmt: skip
@click.option(
    "--sphere", is_flag=True, help="With --tile: the instrument has a sphere, gloss excluded; else it is 45/0."
)
@usual("--observer", type=OBSERVER, default="10", help="The observer that colours are for, in degrees.")
@usual(
    "--camera",
    type=click.Choice(["unknown", "rendered"]),
    default="unknown",
    help="Raw photos of any camera, or JPEGs.",
)
@SCALES
@usual(
    "--cup-mass", "cup_g", type=GRAMS, default=50.0, metavar="G",
    help="The least resin that you can mix well.",
)  # fmt: skip
@usual(
    "--chip-size", "chip_mm", type=MM, default=30.0, metavar="MM",
    help="Edge of a chip; with its thickness it says how much to mix.",
)  # fmt: skip
@click.option(
    "--batch", "batch_g", type=GRAMS, default=0.0, metavar="G",
    help="Resin of the casting, where the stock bottles shall hold enough for it too.",
)  # fmt: skip
@click.option("--resin", type=FILE, help="The resin's file: then every part is weighed out.")
@click.option(
    "--holder", type=click.Path(), metavar="FILE.pdf",
    help="Where the holder sheet for photographing the chips goes. [default: holder.pdf in FOLDER, with --kind camera]",
)  # fmt: skip
@click.option(
    "--new-bottles", is_flag=True, help="Plan new stock bottles, and leave those on the book's shelf where they are."
)
@BOOK
@PAPER
@click.option(
    "--replace", "replace_old", is_flag=True,
    help="Write over whatever stands at --holder. FOLDER has to be new or empty all the same.",
)  # fmt: skip
@answers
def plan(
    folder: str, model: str | None, resin: str | None, holder: str | None, paper: str, book: str | None, **said: Any
) -> Answer:
    """Find out which few test cups to pour, how strong and how thick, so that the colour is known where the casting is thin and
    where it is thick. Writes FOLDER: a chip set with empty readings, and a page to follow at the bench.

    Cups cost, thicknesses of a cup hardly do. An untinted block is among them, unless a model knows the resin well already, and
    each new pigment alone once. Examples:

    \b
      tintmix plan chips --pigment azure=0.02 --pigment emerald=0.01 --at 8 --at 60 --cast 3 --cast 12 --cast 25
      tintmix plan from-one-cup --pigment azure=0.02 --pigment emerald=0.01 --model one-cup.json --at 8 --at 60
      tintmix plan two-more --model my.json --at 8 --at 60 --cups 2
      tintmix plan tile-chips --pigment azure=0.02 --at 8 --at 60 --tile 95.2,-0.4,1.1 --cast 1 --cast 2 --cast 4
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.plan.plan import Order, plan_chips
    from tintmix.desk.plan.text import GoingOn
    from tintmix.desk.plan.tile import OnTile
    from tintmix.weighing.cups import Moulds

    on_tile = None
    if said["tile"] is not None:
        on_tile = OnTile(said["tile"], said["contact"], "d/8" if said["sphere"] else "45/0")
    bench = scales_from_text(said["scales"] or USUAL)
    order = taken(Order, said, bench=bench, moulds=taken(Moulds, said), on_tile=on_tile)
    draw = drawn_for(paper, f"tintmix read {folder}")
    going_on = GoingOn(**GOING_ON, told=told_in_shell)
    body = plan_chips(
        folder,
        order,
        model,
        resin,
        draw_holder=draw,
        holder_path=holder,
        going_on=going_on,
        book=book,
        new_bottles=said["new_bottles"],
        replace_old=said["replace_old"],
    ).body
    return Done(body, told(body), text.written_as([folder, holder]))


def told(body: Mapping[str, Any]) -> str:
    """The body of `plan --json` as text."""
    lines = [f"{counted(len(body['cups']), 'cup')}, {counted(body['chips'], 'chip')}:", _cups(body["cups"])]
    if body["letdowns"]:
        lines += [
            "",
            "Stock bottles to make first, for chips, trials and casting alike:",
            _bottles(body["letdowns"]),
        ]
    if body["from_shelf"]:
        taken = ", ".join(f"{numeral(one['used_g'], 3)} g of {one['name']}" for one in body["from_shelf"])
        lines += ["", f"From the shelf of the recipe book: {taken}."]
    lines.append("")
    if body["expected"]:
        expected = _expected(body["expected"])
        lines += [
            "Expected: how far off (ΔE00) the predicted colour of a mixture typically is: half are nearer, half farther off.",
            expected,
            "",
        ]
        if body["expected_says"]:
            lines += [body["expected_says"], ""]
    elif body["overall"]:
        lines += [body["overall"]["says"], ""]
    lines += text.noted(body["warnings"])
    if body["defaults_used"].get("cast_mm"):
        cast = ", ".join(map(numeral, body["defaults_used"]["cast_mm"]))
        thicker = " Thicker chips tell more of thick castings." if body["relative_to"] == "air" else ""
        lines.append(f"Taken as default, since you did not say what you can cast: {cast} mm.{thicker}")
    lines.append(
        f"Written: {body['folder']} ({', '.join(body['files'])}). README.md there is the page to follow at the bench."
    )
    if body["holder"]:
        use = "Print it at 100 %; its second page tells how to use it."
        lines.append(f"Holder sheet for the photo: {body['holder']}. {use}")
    return with_cautions(body, lines, all_in=f"All cautions, with their sources: {body['folder']}/README.md has them.")


def _cups(cups: Any) -> text.Laid:
    rows = []
    for cup in cups:
        weigh = "; ".join(f"{w['shown']} {w['letdown'] or w['pigment']}" for w in cup["weigh"]) or "no pigment"
        chips = ", ".join(numeral(chip["thickness_mm"]) for chip in cup["chips"])
        light = ", ".join(percent(chip["expected_light"]) for chip in cup["chips"])
        rows.append([cup["cup"], text.doses(cup["doses_phr"]) or "untinted", chips, light, weigh, cup["shown"]])
    heads = ["cup", "phr", "chips, mm", "light through, about", "weigh in", "mixed resin"]
    return text.table(heads, rows, left=(0, 1, 2, 3, 4))


def _bottles(letdowns: Any) -> text.Laid:
    rows = [[d["name"], d["pigment_shown"], d["carrier_shown"], part_label(d["carrier"])] for d in letdowns]
    return text.table(["bottle", "pigment", "carrier", "which is"], rows, left=(0, 3))


def _expected(expected: Any) -> text.Laid:
    keys = ("before", "starter_set", "after", "two_cups_more")
    rows = [
        [
            f"{numeral(one['section_mm'])} mm",
            *("" if off is None else numeral(off, 2) for off in told),
            "" if one["half_of_sets"] is None else " to ".join(numeral(end, 2) for end in one["half_of_sets"]),
        ]
        for one in expected
        for told in [[one["typical_delta_e00"][key] for key in keys]]
    ]
    heads = ["at", "now", "untinted and one of each", "this plan", "two cups more", "half of such sets"]
    return text.table(heads, rows)
