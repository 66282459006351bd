"""`tintmix shape`: a casting's volume, the ways light takes through it, and its places as they are seen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, REPLACE, Answer, Done, again, answers, usual
from tintmix.faces.cli.values import Typed, by_name, insert_colour, named, number, unit
from tintmix.numerals import numeral, percent


def _three(said: str) -> tuple[float, float, float]:
    parts = said.split(";") if ";" in said else said.split(",")
    if len(parts) != 3:
        raise ValueError(f"{said!r} is not three numbers")
    x, y, z = (number(part, "mm") for part in parts)
    return x, y, z


@click.command()
@click.argument("mesh_path", metavar="MESH", type=FILE)
@click.option(
    "--unit", type=click.Choice(["mm", "cm", "m", "inch"]),
    help="The mesh's unit. STL, OBJ and PLY do not say it, so it must be given; 3MF does.",
)  # fmt: skip
@click.option("--out", type=FILE, help="Where to keep the traced casting, for look and solve: FILE.shape.json.")
@usual(
    "--view", type=Typed("X,Y,Z", _three, "a direction, such as 0,0,-1"), default="0,0,-1",
    help="The direction that one looks in, in the mesh's axes; 0,0,-1 looks down from above.",
)  # fmt: skip
@usual(
    "--lit", type=click.Choice(["panel", "sky"]), default="panel",
    help="panel: a bare light panel behind the casting, dark elsewhere; sky: light from above (z), a fifth of it from below.",
)  # fmt: skip
@click.option("--insert-mesh", type=FILE, help="The mesh of a thing cast in, in the casting's axes and unit.")
@click.option(
    "--insert", metavar="COLOUR",
    help='The colour of the thing cast in: "#b08d3c", lab=62,8,45, or a CSV file of nm, reflectance.',
)  # fmt: skip
@click.option(
    "--picture", type=FILE,
    help="Draw how far the light has gone, beside the resin straight along the view: PNG, SVG or PDF.",
)  # fmt: skip
@click.option("--resin", "resin_path", type=FILE, help="The resin's file: its refractive index and density.")
@click.option(
    "--waste", "waste_percent", type=unit("percent", "per cent, such as 10", "%"), default=0.0,
    help="How much more resin, for what stays in cups: added to the grams.",
)  # fmt: skip
@again(
    "--point", "points_mm", metavar="NAME=X,Y,Z", callback=by_name,
    type=named("point", "point=0,0,-60, in mm of the mesh", _three, last=True),
    help="A place of your own: the disc of 1 mm about a point of the mesh, in mm, as it is seen.",
)  # fmt: skip
@REPLACE
@answers
def shape(insert: str | None, **said: Any) -> Answer:
    """See what a casting is to the light: its volume and the grams of resin, how far light goes in it at the palest, a
    typical and the deepest place as they are seen, and what is dark by its shape in any tint.

    MESH is an STL, OBJ, PLY or 3MF file of a closed solid. Example:

    \b
      tintmix shape prism.obj --unit mm --out prism.shape.json --resin resin.toml --waste 10
    """
    if insert is not None and said["insert_mesh"] is None:
        raise click.UsageError("--insert goes with --insert-mesh")
    from tintmix.desk.shape import shape_casting  # here: help need not wait

    done = shape_casting(**said, insert=insert_colour(insert))
    shown = text.page([*told(done.body), *text.written(done.written)])
    return Done(done.body, shown, text.written_as(done.written))


def told(body: Mapping[str, Any]) -> list[Any]:
    """The body of `shape --json` as text."""
    low, high = body["bounds_mm"]
    size = " × ".join(numeral(b - a, 4) for a, b in zip(low, high, strict=True))
    said = f"A closed solid of {body['triangles']} triangles, {size} mm, {numeral(body['volume_cm3'], 4)} cm³."
    if abs(body["resin_cm3"] - body["volume_cm3"]) > 1e-9:
        said += f" Less what is cast in: {numeral(body['resin_cm3'], 4)} cm³ of resin."
    if body["resin_g"] is not None:
        waste = f", {numeral(body['waste_percent'])} % waste in it" if body["waste_percent"] else ""
        said += f" {numeral(body['resin_g'], 4)} g of resin{waste}."
    lines: list[Any] = [said, ""]
    if body["places"]:
        heads = ["place", "path of the light", "5 to 95 % of it", "straight through", "in clear resin"]
        lines += [text.table(heads, [_row(place) for place in body["places"]]), ""]
        lines.append(
            "path of the light: how far what is seen there has gone in resin, on average; straight through: resin along "
            "the line of view. in clear resin: light that comes, of the bare light."
        )
    lines.append(
        f"{percent(body['dark_by_shape'])} of the casting, as it is seen from there, is dark by its shape: in clear resin less "
        "than a fifth of the light comes, and no tint changes that."
    )
    return [*lines, *text.noted(body["warnings"])]


def _row(place: Mapping[str, Any]) -> list[str]:
    path = place["path_mm"]
    spread = "" if path is None else f"{path['p5']:.1f} to {path['p95']:.1f} mm"
    mean = "no light" if path is None else f"{path['mean']:.1f} mm"
    return [place["name"], mean, spread, f"{place['straight_mm']:.1f} mm", percent(place["of_clear"])]
