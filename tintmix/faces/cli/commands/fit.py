"""`tintmix fit`: chips to a model."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import text
from tintmix.faces.text_table import table
from tintmix.numerals import numeral

if TYPE_CHECKING:
    from tintmix.chips.chip import ChipSet

WORST_SHOWN = 5


@click.command(short_help="Learn from measured chips how strongly each pigment colours the resin.")
@click.argument("sets", metavar="SET...", nargs=-1, required=True, type=click.Path())
@click.option(
    "--model", "model_path", type=click.Path(), required=True, metavar="FILE", help="Where to write what was learnt."
)
@click.option(
    "--picture",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="Draw each pigment's strength over the spectrum with its band: .png, .svg or .pdf.",
)
@click.option(
    "--residuals",
    type=click.Path(),
    metavar="FILE",
    default=None,
    help="Draw the chips as read beside what the model makes of them: .png, .svg or .pdf.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object and nothing else.")
def fit(sets: tuple[str, ...], model_path: str, picture: str | None, residuals: str | None, as_json: bool) -> None:
    """Learn from measured chips how strongly each pigment colours the resin, and which chips to doubt.

    SET is a chip-set folder: set.toml, which says how the chips were read, and chips.csv, a row for each chip. Several
    sets of one resin make one model; chips and cups of the same name are the same. Example:

    \b
      tintmix fit my-chips --model my.json --picture strengths.png
    """
    # Here, so that help need not wait for it.
    from tintmix.desk.fit import fit_sets

    done = fit_sets(sets, model_path, picture, residuals)
    if as_json:
        text.say_json(done.body)
        return
    for chips in done.sets:
        text.say(described(chips))
    click.echo()
    click.echo(told(done.body))
    click.echo()
    text.say("Written: " + ", ".join(done.written) + ".")


def described(chips: ChipSet) -> str:
    """A set in a sentence."""
    cups = len({chip.cup for chip in chips.chips})
    kinds = {"spectrum": "spectra", "colour": "colours", "camera": "camera readings"}
    names = ", ".join(pigment.name for pigment in chips.pigments)
    title = chips.title or (chips.folder.name if chips.folder else "chip set")
    return (
        f"{title}: {_count(len(chips.chips), 'chip')} of {_count(cups, 'cup')}, read as {kinds[chips.reading.kind]}; "
        f"pigments {names}; resin {chips.resin.name}."
    )


def told(body: Mapping[str, Any]) -> str:
    """The body of `fit --json` as text."""
    parts = [strengths(body), "", quality(body), "", doubts(body)]
    if body.get("next_cup"):
        parts += ["", text.wrapped(str(body["next_cup"]))]
    if body["defaults_used"]:
        used = ", ".join(f"{key} {_plain(value)}" for key, value in body["defaults_used"].items())
        parts += ["", text.wrapped(f"Taken as default, since the set does not say: {used}.")]
    parts += [text.wrapped(f"Note: {warning}") for warning in body["warnings"]]
    return "\n".join(parts)


def strengths(body: Mapping[str, Any]) -> str:
    """A row for each pigment."""
    rows = []
    for name, pigment in body["pigments"].items():
        departure = pigment["departure"]
        law = "holds" if not departure["used"] else f"bends (k {numeral(departure['k'], 2)} per phr), allowed for"
        rows.append([name, text.phr(pigment["highest_phr"]), law, pigment.get("lot", "")])
    heads = ["pigment", "strongest chip, phr", "Beer's law", "lot" if any(row[3] for row in rows) else ""]
    return table(heads, rows, left=(0, 2, 3))


def quality(body: Mapping[str, Any]) -> str:
    """How well the chips are explained."""
    rows = [
        [label, *(f"{body[key][figure]:.2f}" for figure in ("median", "p95", "worst"))]
        for label, key in (
            ("each chip, by the model", "fit_delta_e00"),
            ("each chip, by the others alone", "left_out_delta_e00"),
        )
    ]
    return table(["ΔE00 between reading and model", "median", "95 %", "worst"], rows)


def doubts(body: Mapping[str, Any]) -> str:
    """The chips and cups that do not fit with the rest, by name."""
    chips = [chip for chip in body["chips"] if chip["doubted"]]
    cups = [cup for cup in body["cups"] if cup["doubted"]]
    if not chips and not cups:
        return text.wrapped("No chip is doubted: all of them agree with each other.")
    lines = [text.wrapped("Doubted, and given little weight:")]
    for cup in cups:
        lines.append(
            text.wrapped(
                f"cup {cup['cup']}: reads as if it held {cup['dose_factor']:.2f} times the dose written down.", "  "
            )
        )
    for chip in chips:
        far = chip.get("left_out_delta_e00", chip["delta_e00"])
        lines.append(
            text.wrapped(
                f"chip {chip['chip']}: ΔE00 {far:.1f} away from what the other chips say. Check its label, its "
                "dose and its reading.",
                "  ",
            )
        )
    return "\n".join(lines)


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _plain(value: Any) -> str:
    return f"{numeral(value)}" if isinstance(value, float) else str(value)
