"""`tintmix look`: a dose at each thickness."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, OBSERVER, Answer, answers, usual
from tintmix.faces.cli.values import DOSES, MM, insert_colour
from tintmix.numerals import capital, numeral, percent


@click.command()
@click.argument("model_path", metavar="MODEL", type=FILE)
@click.option(
    "--dose", "doses_phr", **DOSES,
    help="A pigment and its dose in phr (g per 100 g of mixed resin), such as azure=0.02. Once for each pigment. "
    "Without any: the untinted resin; of a one-cup model, the cup as poured (mix=1).",
)  # fmt: skip
@click.option(
    "--at", "thicknesses_mm", multiple=True, type=MM, required=True,
    help="A thickness of the casting in mm. Once for each place.",
)  # fmt: skip
@usual(
    "--light", default="D65", metavar="LIGHT",
    help="The light it is seen under: a CIE name such as D65, A, FL11, LED-B3, or a CSV file of nm, power.",
)  # fmt: skip
@usual(
    "--observer", type=OBSERVER, default="10",
    help="The CIE observer in degrees: 2 for small things or far off, 10 for large ones.",
)  # fmt: skip
@click.option(
    "--behind", type=click.Choice(["panel", "white", "dark", "insert"]),
    help="What is behind the resin: panel, the bare light shining through (the default); white or dark, a painted "
    "ground; insert, a thing cast in, whose colour --insert tells.",
)  # fmt: skip
@click.option(
    "--insert", metavar="COLOUR",
    help='The insert\'s own colour: "#b08d3c", lab=62,8,45, or a CSV file of nm, reflectance.',
)  # fmt: skip
@click.option(
    "--insert-width", "insert_width_mm", type=MM,
    help="The insert's width in mm. One narrower than about four thicknesses looks darker.",
)  # fmt: skip
@click.option("--picture", type=FILE, help="Draw the thickness strip: .png, .svg or .pdf.")
@answers
def look(behind: str | None, insert: str | None, **said: Any) -> Answer:
    """See what a dose will look like at each thickness, and how far that may be off.

    MODEL is a file that `tintmix fit` wrote. Example:

    \b
      tintmix look my.json --dose azure=0.02 --dose emerald=0,01 --at 8 --at 60 --picture strip.png
    """
    from tintmix.desk.look import look_at  # here: help need not wait

    done = look_at(**said, behind=_ground(behind, insert, said["insert_width_mm"]), insert=insert_colour(insert))
    written = text.written([said["picture"]] if said["picture"] else [])
    return done.body, text.page([*told(done.body, done.lifts), *written])


def told(body: Mapping[str, Any], lifts: Any) -> list[str]:
    """The body of `look --json` as text."""
    used = ", ".join(f"{name} {numeral(dose)}" for name, dose in body["doses_phr"].items() if dose)
    unit = "of the cup as poured" if list(body["doses_phr"]) == ["mix"] else "phr"
    head = f"{used} {unit}" if used else "Untinted resin"
    behind = body["sections"][0]["behind"]
    over = {"panel": "the bare light shining through", "insert": "before insert"}.get(behind, f"on {behind}")
    rows, notes = [], []
    for place, lift in zip(body["sections"], lifts, strict=True):
        at, haze = f"{numeral(place['thickness_mm'])} mm", place["haze_percent"]
        rows.append([
            at, text.block(place["srgb"]), *(f"{value:.1f}" for value in place["lab"]),
            percent(place["luminous_transmittance"]), f"{place['delta_e00_95']:.1f}",
            "" if haze is None else f"{haze:.1f} %", place["srgb"] + ("" if place["inside_srgb"] else " *"),
        ])  # fmt: skip
        if lift is not None:
            stops = f"exposure +{lift[1]} stop{'s' if lift[1] != 1 else ''}"
            notes.append(f"{at} is darker than a screen shows well; {stops}: {text.block(lift[0])}{lift[0]}.")
    if not all(place["inside_srgb"] for place in body["sections"]):
        notes.append("* A colour outside sRGB: a screen shows the nearest that it can.")
    heads = ["at", "", "L*", "a*", "b*", "light through", "± ΔE00", "haze", "on a screen"]
    return [
        text.Laid(f"{head}; light {body['light']}, {body['observer']}° observer, {over}."),
        "",
        text.table(heads, rows),
        "",
        "light through: of the bare light, as bright as the eye takes it. ± ΔE00: with 95 % chance the colour "
        "lies within it, as far as the chips tell (1 is just seen side by side, 5 is plainly another colour).",
        *notes,
        *map(capital, body["warnings"]),
    ]


def _ground(behind: str | None, insert: str | None, width: float | None) -> str:
    if behind == "insert" and insert is None:
        raise click.UsageError('--behind insert needs the insert\'s colour, such as --insert "#b08d3c"')
    if behind not in (None, "insert") and insert is not None:
        raise click.UsageError(f"--insert goes with --behind insert, not with --behind {behind}")
    if width is not None and insert is None:
        raise click.UsageError("--insert-width goes with --insert")
    return "insert" if insert is not None else behind or "panel"
