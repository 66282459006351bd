"""`tintmix fit`: chips to a model."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.bar import Bar
from tintmix.faces.cli.options import FILE, REPLACE, Answer, Done, answers
from tintmix.numerals import capital, numeral
from tintmix.pigments.health import is_wrong, not_excluded

if TYPE_CHECKING:
    from tintmix.chips.chip import ChipSet


@click.command()
@click.argument("sets", metavar="SET...", nargs=-1, required=True, type=FILE)
@click.option("--model", "model_path", type=FILE, required=True, help="Where to write what was learnt.")
@click.option(
    "--picture", type=FILE, help="Draw each pigment's strength over the spectrum with its band: .png, .svg or .pdf."
)
@click.option(
    "--residuals", type=FILE, help="Draw the chips as read beside what the model makes of them: .png, .svg or .pdf."
)
@REPLACE
@answers
def fit(
    sets: tuple[str, ...], model_path: str, picture: str | None, residuals: str | None, replace_old: bool
) -> Answer:
    """Learn from measured chips how strongly each pigment colours the resin, and which chips to doubt.

    SET is a chip-set folder: set.toml, which says how the chips were read, and chips.csv, a row for each chip. Several
    sets of one resin make one model; chips and cups of the same name are the same. Example:

    \b
      tintmix fit my-chips --model my.json --picture strengths.png
    """
    from tintmix.desk.fit import fit_sets  # here: help need not wait

    bar = Bar("learning")
    try:
        done = fit_sets(sets, model_path, picture, residuals, replace_old, bar.show)
    finally:
        bar.clear()
    said = text.page([*map(described, done.sets), "", *told(done.body), "", *text.written(done.written)])
    return Done(done.body, said, text.written_as(done.written))


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


def told(body: Mapping[str, Any]) -> list[str]:
    """The body of `fit --json` as text."""
    parts = [
        strengths(body),
        "",
        *not_excluded(body["health"]["made_for"]["readings"]),
        "",
        quality(body),
        "",
        *doubts(body),
    ]
    if _set_up_is_wrong(body):
        parts = [capital(body["health"]["says"]), "Until then, single chips are not judged.", "", *parts]
    if body.get("next_cup"):
        parts += ["", str(body["next_cup"])]
    if body["defaults_used"]:
        used = ", ".join(
            f"{key} {numeral(value) if isinstance(value, float) else value}"
            for key, value in body["defaults_used"].items()
        )
        parts += ["", f"Taken as default where a set does not say: {used}."]
    return parts + text.noted(body["warnings"])


def strengths(body: Mapping[str, Any]) -> text.Laid:
    """A row for each pigment."""
    rows = []
    for name, pigment in body["pigments"].items():
        colour, strongest = pigment["swatch"]["srgb"], text.phr(pigment["highest_phr"])
        rows.append([name, colour, strongest, pigment["law"], pigment.get("lot", "")])
    read = body["health"]["departures"]
    fewer = any(one["highest_phr"] < read[name]["up_to_phr"] for name, one in body["pigments"].items())
    head = [
        "pigment",
        "middle dose",
        "strongest not doubted, phr" if fewer else "strongest chip, phr",
        "Beer's law",
        "lot",
    ]
    return text.table(head, rows, left=(0, 1, 3, 4))


def _set_up_is_wrong(body: Mapping[str, Any]) -> bool:
    """Whether something stands before single chips."""
    return any(map(is_wrong, body["health"]["set_up"]))


def quality(body: Mapping[str, Any]) -> text.Laid:
    """How well the chips are explained."""
    kinds = {"each chip, by the model": "fit_delta_e00", "each chip, from the others alone": "left_out_delta_e00"}
    rows = [
        [label, *(f"{body[key][figure]:.2f}" for figure in ("median", "p95", "worst"))] for label, key in kinds.items()
    ]
    return text.table(["ΔE00 between reading and model", "median", "95 %", "worst"], rows)


def doubts(body: Mapping[str, Any]) -> list[str]:
    """How well the chips go together, and those that do not fit with the rest, by name."""
    wrong = _set_up_is_wrong(body)
    lines = [
        f"cup {cup['cup']}: reads as if it held {cup['dose_factor']:.2f} times the dose written down."
        for cup in body["cups"]
        if cup["doubted"] and not wrong
    ]
    lines += [
        f"chip {chip['chip']}: ΔE00 {chip.get('left_out_delta_e00', chip['delta_e00']):.1f} away from what the other chips say. "
        f"{chip['fault']}"
        for chip in body["chips"]
        if chip["doubted"]
    ]
    head = (
        ["Do not agree with the set as it is declared:" if wrong else "Doubted, and given little weight:"]
        if lines
        else []
    )
    says = [] if wrong else [capital(body["health"]["says"])]
    return [*says, *head, *(text.wrapped(line, "  ") for line in lines)]


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
