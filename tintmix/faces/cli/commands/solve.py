"""`tintmix solve`: a target to recipes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.bar import Bar
from tintmix.faces.cli.options import FILE, REPLACE, Answer, Done, Whole, answers, usual
from tintmix.numerals import capital, chance, numeral, percent, told_depth


@click.command()
@click.argument("model_path", metavar="MODEL", type=FILE)
@click.argument("target_path", metavar="TARGET", type=FILE)
@usual("--most", type=Whole(1, 1000), default=10, metavar="N", help="The most recipes to show.")
@click.option(
    "--picture",
    type=FILE,
    help="Draw the best recipe, what is wanted beside what will come, or a casting in the best ones: .png, .svg or .pdf.",
)
@click.option("--keep", type=FILE, help="Save the best as a recipe file.")
@REPLACE
@answers
def solve(**said: Any) -> Answer:
    """Find the doses that reach a target tint at every place on the casting, or tell why none can.

    MODEL is a file that `tintmix fit` wrote. TARGET is a TOML file: the places on the casting with their thickness and
    colour, or a glass piece that speaks for them, and limits, such as how much light must come through where it is
    thickest. Example:

    \b
      tintmix solve my.json swatches/targets/sea-green-glass.toml --keep recipe.json
    """
    from tintmix.desk.solve import solve_for  # here: help need not wait

    bar = Bar("searching")
    try:
        done = solve_for(**said, progress=bar.show)
    finally:
        bar.clear()
    shown = text.page([*told(done.body, done.swatches, done.thickest), *text.written(done.written)])
    return Done(done.body, shown, text.written_as(done.written))


def told(body: Mapping[str, Any], swatches: Sequence[tuple[str, str | None]], thickest: int) -> list[str]:
    """The body of `solve --json` as text. thickest: the number of the thickest place."""
    lines = [capital(body["says"])]
    if body["proposals"]:
        best = body["proposals"][0]
        lines += ["", *_recipes(body["proposals"]), "", _places(best, swatches), "", *_costs(best)]
    return [*lines, *_extents(body, thickest), *text.noted(body.get("warnings", ()))]


def _recipes(proposals: Sequence[Mapping[str, Any]]) -> list[str]:
    """A row for each recipe, a column for each pigment that any of them uses; and what the columns mean."""
    names = list(dict.fromkeys(name for one in proposals for name in one["doses_phr"]))
    doses = [text.phr_column(one["doses_phr"].get(name) for one in proposals) for name in names]
    cup = names == ["mix"]
    totals = [""] * len(proposals) if cup else text.phr_column(one["total_phr"] for one in proposals)
    rows = [
        [
            str(rank + 1), *(column[rank] for column in doses), totals[rank], f"{one['worst_delta_e00']:.2f}",
            f"{one['rms_delta_e00']:.2f}", chance(one["chance_within_tolerance"]),
        ]
        for rank, one in enumerate(proposals)
    ]  # fmt: skip
    unit = "mix: 1 is the cup as poured." if cup else "Doses in phr: g per 100 g of mixed resin."
    told = any(one["chance_within_tolerance"] is not None for one in proposals)
    how_sure = "from what the chips show" if told else "not given, because the chips do not fit together"
    legend = f"{unit} Chance: that every place is within its tolerance, {how_sure}."
    return [text.table(["", *names, "total phr", "worst ΔE00", "rms", "chance"], rows), "", legend]


def _places(best: Mapping[str, Any], swatches: Sequence[tuple[str, str | None]]) -> text.Laid:
    rows = []
    for one, (shown, wanted) in zip(best["sections"], swatches, strict=True):
        haze = one["haze_percent"]
        rows.append([
            one["name"], told_depth(one), text.block(shown), text.triple(one["lab"], 5),
            text.block(wanted) if wanted else "", text.triple(one["target_lab"], 5),
            "no target" if one["delta_e00"] is None else f"{one['delta_e00']:.2f} of {numeral(one['tolerance'])}",
            f"{one['delta_e00_95']:.1f}", percent(one["luminous_transmittance"]), "" if haze is None else f"{haze:.1f} %",
        ])  # fmt: skip
    heads = ["the best", "at", "", "will be L* a* b*", "", "wanted L* a* b*", "ΔE00", "± ΔE00", "light through", "haze"]
    return text.table(heads, rows)


def _costs(best: Mapping[str, Any]) -> list[str]:
    """What a slip of the scale and another light cost."""
    off = ", ".join(f"{name} {cost:.1f}" for name, cost in best["delta_e00_per_5_percent"].items())
    lines = [f"A dose 5 % wrong moves the colour by ΔE00: {off}."] if off else []
    for light, match in (best["under"] or {}).items():
        guess = " (the wanted spectrum is estimated)" if match["estimated"] else ""
        lines.append(f"Under {light} it is off by ΔE00 {match['worst_delta_e00']:.1f} at most{guess}.")
    return lines


def _extents(body: Mapping[str, Any], thickest: int) -> list[str]:
    """The lightest and the deepest tint that the limits allow, by the light through the thickest place."""
    lines = []
    if light := body.get("lightest"):
        through = percent(light["luminous_transmittance"][thickest])
        lines.append(f"Lightest possible: the untinted resin, {through} of the light through the thickest place.")
    if deep := body.get("deepest"):
        through = percent(deep["luminous_transmittance"][thickest])
        unit = "of the cup as poured" if list(deep["doses_phr"]) == ["mix"] else "phr"
        used = f"{text.doses(deep['doses_phr'])} {unit}"
        lines.append(f"Deepest of this kind within the limits: {used}; {through} through the thickest place.")
    return lines
