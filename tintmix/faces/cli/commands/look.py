"""`tintmix look`: a dose at each thickness, or at each place of a traced casting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, OBSERVER, REPLACE, Answer, Done, answers, usual
from tintmix.faces.cli.values import DOSES, MM, MM_OR_PLACE, insert_colour
from tintmix.faces.remedies import Said
from tintmix.numerals import capital, colours_apart, numeral, percent, told_depth


@click.command()
@click.argument("model_path", metavar="MODEL", type=FILE)
@click.option(
    "--dose", "doses_phr", **DOSES,
    help="A pigment and its dose in phr (g per 100 g of mixed resin), such as azure=0.02. Once for each pigment. "
    "Without any: the untinted resin; of a one-cup model, the cup as poured (mix=1).",
)  # fmt: skip
@click.option(
    "--at", multiple=True, type=MM_OR_PLACE,
    help="A thickness of the casting in mm, or, with --on, a place of the shape, such as deepest. Once for each place; with "
    "--on and without any: all places of the shape.",
)  # fmt: skip
@click.option("--on", type=FILE, help="The casting's shape, a .shape.json that `tintmix shape` wrote.")
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
@click.option(
    "--insert-should-look", metavar="COLOUR",
    help="How an insert should look through the resin; tintmix then says which paint it needs. As --insert, but no CSV file.",
)  # fmt: skip
@click.option("--picture", type=FILE, help="Draw the thickness strip, or the casting: .png, .svg or .pdf.")
@REPLACE
@answers
def look(behind: str | None, insert: str | None, insert_should_look: str | None, **said: Any) -> Answer:
    """See what a dose will look like at each thickness, or at each place of a traced casting, and how far that may be off.

    MODEL is a file that `tintmix fit` wrote. Examples:

    \b
      tintmix look my.json --dose azure=0.02 --dose emerald=0,01 --at 8 --at 60 --picture strip.png
      tintmix look my.json --dose azure=0.02 --on prism.shape.json --at deepest
      tintmix look my.json --dose azure=0.02 --at 8 --insert-should-look "#b08d3c"
    """
    from tintmix.desk.look import look_at  # here: help need not wait

    on, asked = said["on"], insert_should_look is not None
    if on is None:
        _check_thicknesses(said["at"])
    if asked and (insert is not None or behind is not None):
        raise click.UsageError(
            "--insert-should-look asks for the insert's colour, so it goes with neither --insert nor --behind"
        )
    thicknesses = bool(said["at"]) and all(isinstance(one, float) for one in said["at"])
    if on is not None and behind not in (None, "insert") and not thicknesses:
        raise click.UsageError(
            f"--behind {behind} cannot be said of a place of a shape, which was traced with what is behind it"
        )
    ground = _ground(behind, insert, said["insert_width_mm"], asked)
    wanted = insert_colour(insert_should_look, "--insert-should-look")
    done = look_at(**said, behind=ground, insert=insert_colour(insert), insert_should_look=wanted)
    written = text.written([said["picture"]] if said["picture"] else [])
    return Done(done.body, text.page([*told(done.body, done.lifts), *written]), text.written_as([said["picture"]]))


def _check_thicknesses(at: Sequence[float | str]) -> None:
    """Raises UsageError, and BadParameter for what is no thickness where no shape is named."""
    if not at:
        raise click.UsageError("say where with --at: a thickness in mm, or, with --on, a place of a shape")
    context = click.get_current_context()
    option = next(one for one in context.command.params if one.name == "at")
    for one in at:
        MM.convert(one, option, context)


def told(body: Mapping[str, Any], lifts: Any) -> list[Said]:
    """The body of `look --json` as text."""
    used = ", ".join(f"{name} {numeral(dose)}" for name, dose in body["doses_phr"].items() if dose)
    unit = "of the cup as poured" if list(body["doses_phr"]) == ["mix"] else "phr"
    head = f"{used} {unit}" if used else "Untinted resin"
    behind = body["sections"][0]["behind"]
    over = _OVER.get(behind, f"on {behind}")
    rows, notes = [], _paints(body) if "insert_should_look" in body else []
    for place, lift in zip(body["sections"], lifts, strict=True):
        at, haze = _where(place), place["haze_percent"]
        rows.append([
            at, text.block(place["srgb"]), *(f"{value:.1f}" for value in place["lab"]),
            percent(place["luminous_transmittance"]), f"{place['delta_e00_95']:.1f}",
            "" if haze is None else f"{haze:.1f} %", place["srgb"] + ("" if place["inside_srgb"] else " *"),
        ])  # fmt: skip
        if lift is not None:
            stops = f"exposure +{lift[1]} stop{'s' if lift[1] != 1 else ''}"
            notes.append(f"{at} is darker than a screen shows well; {stops}: {text.block(lift[0])}{lift[0]}.")
    if not all(place["inside_srgb"] for place in body["sections"]):
        notes.append("* This colour is outside sRGB: a screen shows the nearest that it can.")
    heads = ["at", "", "L*", "a*", "b*", "light through", "± ΔE00", "haze", "on a screen"]
    return [
        f"{head}; light {body['light']}, {body['observer']}° observer, {over}.",
        "",
        text.table(heads, rows),
        "",
        "light through: how much of the bare light comes, as bright as the eye sees it. ± ΔE00: 95 times in 100 the colour "
        "lies within it, from what the chips show (1 is just seen side by side, 5 is plainly another colour).",
        *notes,
        *(capital(said) if isinstance(said, str) else said for said in body["warnings"]),
    ]


def _where(place: Mapping[str, Any]) -> str:
    return told_depth(place) if place["thickness_mm"] is not None else f"{place['name']}, {told_depth(place)}"


def _paints(body: Mapping[str, Any]) -> list[str]:
    """Which paint an insert needs at each place."""
    wanted = body["insert_should_look"]
    lines = [
        f"Which paint makes an insert look {text.block(wanted['srgb'])}{wanted['srgb']} there, its own colour in air:"
    ]
    for place in body["sections"]:
        paint, where = place["insert_paint"], _where(place)
        colour = f"{text.block(paint['srgb'])}{paint['srgb']}, L* a* b* {text.triple(paint['lab'])}"
        band = f"{colours_apart(paint['lab'], wanted['lab'])}; ± ΔE00 {paint['delta_e00_95']:.1f}"
        if paint["possible"]:
            lines.append(f"{where}: {colour} ({band}).")
        else:
            left = f"{paint['delta_e00_left']:.1f}"
            lines.append(f"{where}: no paint does. The nearest, {colour} ({band}), is seen ΔE00 {left} off.")
    return lines


_OVER: Mapping[str | None, str] = {
    "panel": "the bare light shining through", "insert": "before insert", None: "as the casting is seen",
}  # fmt: skip


def _ground(behind: str | None, insert: str | None, width: float | None, asked: bool) -> str:
    if behind == "insert" and insert is None:
        raise click.UsageError('--behind insert needs the insert\'s colour, such as --insert "#b08d3c"')
    if behind not in (None, "insert") and insert is not None:
        raise click.UsageError(f"--insert goes with --behind insert, not with --behind {behind}")
    if width is not None and insert is None and not asked:
        raise click.UsageError("--insert-width goes with --insert or --insert-should-look")
    return "insert" if insert is not None else behind or "panel"
