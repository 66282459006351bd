"""`tintmix solve`: a target to recipes."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.text_table import table
from tintmix.numerals import numeral, percent

QUIET_SECONDS = 2.0
BAR_COLUMNS = 30


@click.command(short_help="Find the doses that reach a target tint, or why none can.")
@click.argument("model", type=click.Path())
@click.argument("target", type=click.Path())
@click.option(
    "--most",
    type=click.IntRange(1, 1000),
    default=10,
    show_default=True,
    metavar="N",
    help="Show at most so many recipes.",
)
@click.option(
    "--picture",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="Draw the best recipe, what is wanted beside what will come: .png, .svg or .pdf.",
)
@click.option("--keep", type=click.Path(), metavar="FILE", default=None, help="Write the best as a recipe file.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def solve(model: str, target: str, most: int, picture: str | None, keep: str | None, as_json: bool) -> None:
    """Find the doses that reach a target tint at every place on the casting, or tell why none can.

    MODEL is a file that `tintmix fit` wrote. TARGET is a TOML file: the places on the casting with their thickness and
    colour, or a glass piece that speaks for them, and limits, such as how much light must come through where it is
    thickest. Example:

    \b
      tintmix solve my.json swatches/targets/sea-green-glass.toml --keep recipe.json
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.solve import solve_for

    bar = Bar()
    try:
        done = solve_for(model, target, most, picture, keep, bar.show)
    finally:
        bar.clear()
    if as_json:
        text.say_json(done.body)
        return
    click.echo(told(done.body, done.swatches, done.thickest))
    if done.written:
        text.say("Written: " + ", ".join(done.written) + ".")


class Bar:
    """A progress bar on standard error, where that is a terminal, once a search has taken two seconds."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._started, self._shown = clock, clock(), False

    def show(self, done: float) -> None:
        """Draw the part done, if it is time to."""
        if self._clock() - self._started < QUIET_SECONDS or not sys.stderr.isatty():
            return
        self._shown = True
        filled = round(BAR_COLUMNS * min(max(done, 0.0), 1.0))
        click.echo(
            f"\rsearching [{'#' * filled}{'.' * (BAR_COLUMNS - filled)}] {100 * done:3.0f} %", err=True, nl=False
        )

    def clear(self) -> None:
        """Take the bar away."""
        if self._shown:
            click.echo(f"\r{' ' * (BAR_COLUMNS + 20)}\r", err=True, nl=False)


def told(body: Mapping[str, Any], swatches: Sequence[tuple[str, str | None]], thickest: int) -> str:
    """The body of `solve --json` as text. thickest: the number of the thickest place."""
    says = body["says"]
    lines = [text.wrapped(says[:1].upper() + says[1:])]
    if body["proposals"]:
        lines += [
            "",
            recipes(body["proposals"]),
            "",
            places(body["proposals"][0], swatches),
            "",
            *costs(body["proposals"][0]),
        ]
    lines += extents(body, thickest)
    lines += [text.wrapped(f"Note: {warning}") for warning in body.get("warnings", ())]
    return "\n".join(lines)


def recipes(proposals: Sequence[Mapping[str, Any]]) -> str:
    """A row for each recipe, a column for each pigment that any of them uses."""
    names = list(dict.fromkeys(name for one in proposals for name in one["doses_phr"]))
    doses = [text.phr_column(one["doses_phr"].get(name) for one in proposals) for name in names]
    totals = text.phr_column(one["total_phr"] for one in proposals)
    rows = [
        [
            str(rank + 1),
            *(column[rank] for column in doses),
            totals[rank],
            f"{one['worst_delta_e00']:.2f}",
            f"{one['rms_delta_e00']:.2f}",
            chance(one["chance_within_tolerance"]),
        ]
        for rank, one in enumerate(proposals)
    ]
    cup = names == ["mix"]
    ranked = table(["", *names, "" if cup else "total phr", "worst ΔE00", "rms", "chance"], rows)
    unit = "mix: 1 is the cup as poured." if cup else "Doses in phr: g per 100 g of mixed resin."
    legend = f"{unit} Chance: that every place is within its tolerance, as far as the chips tell."
    return f"{ranked}\n\n{text.wrapped(legend)}"


def chance(part: float) -> str:
    """A chance in per cent; what a few hundred draws cannot tell from certainty is not called certain.

    >>> chance(1.0), chance(0.93), chance(0.0)
    ('> 99 %', '93 %', '< 1 %')
    """
    if part >= 0.995:
        return "> 99 %"
    return "< 1 %" if part < 0.005 else f"{100 * part:.0f} %"


def places(best: Mapping[str, Any], swatches: Sequence[tuple[str, str | None]]) -> str:
    """A row for each place on the casting, for the best recipe."""
    rows = []
    for one, (shown, wanted) in zip(best["sections"], swatches, strict=True):
        target = one["target_lab"]
        off = "only told" if one["delta_e00"] is None else f"{one['delta_e00']:.2f} of {numeral(one['tolerance'])}"
        haze = one["haze_percent"]
        rows.append(
            [
                one["name"],
                f"{numeral(one['thickness_mm'])} mm",
                text.block(shown),
                _lab(one["lab"]),
                text.block(wanted) if wanted else "",
                _lab(target) if target else "",
                off,
                f"{one['delta_e00_95']:.1f}",
                percent(one["luminous_transmittance"]),
                "" if haze is None else f"{haze:.1f} %",
            ]
        )
    heads = ["the best", "at", "", "will be L* a* b*", "", "wanted L* a* b*", "ΔE00", "± ΔE00", "light through", "haze"]
    return table(heads, rows)


def costs(best: Mapping[str, Any]) -> list[str]:
    """What a slip of the scale and another light cost."""
    lines = []
    by_pigment = best["delta_e00_per_5_percent"]
    if by_pigment:
        told_off = ", ".join(f"{name} {cost:.1f}" for name, cost in by_pigment.items())
        lines.append(text.wrapped(f"A dose 5 % wrong moves the colour by ΔE00: {told_off}."))
    for light, match in (best["under"] or {}).items():
        guess = " (the wanted spectrum is estimated)" if match["estimated"] else ""
        lines.append(text.wrapped(f"Under {light} it is off by ΔE00 {match['worst_delta_e00']:.1f} at most{guess}."))
    return lines


def extents(body: Mapping[str, Any], thickest: int) -> list[str]:
    """The lightest and the deepest tint that the limits allow, by the light through the thickest place."""
    lines = []
    light, deep = body.get("lightest"), body.get("deepest")
    if light:
        through = percent(light["luminous_transmittance"][thickest])
        lines.append(
            text.wrapped(f"Lightest possible: the untinted resin, {through} of the light through the thickest place.")
        )
    if deep:
        used = ", ".join(f"{name} {text.phr(dose)}" for name, dose in deep["doses_phr"].items())
        through = percent(deep["luminous_transmittance"][thickest])
        unit = "of the cup as poured" if list(deep["doses_phr"]) == ["mix"] else "phr"
        told_deep = f"Deepest of this kind within the limits: {used} {unit}; {through} through the thickest place."
        lines.append(text.wrapped(told_deep))
    return lines


def _lab(values: Sequence[float]) -> str:
    return " ".join(f"{value:5.1f}" for value in values)
