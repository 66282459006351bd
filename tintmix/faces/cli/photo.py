"""The photo options of `tintmix read`, and what came of a photo, of a stack check or of a printed holder sheet as text."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from tintmix.faces.cli import text
from tintmix.faces.cli.options import FILE, LINEAR, PAPER, Answer, Done, Whole, again, all_of, taken
from tintmix.faces.cli.read_text import came_of, outcome
from tintmix.faces.cli.values import millimetres, named, table_of, unit
from tintmix.numerals import numeral, percent

ONLY_PHOTO = (
    "panels",
    "at",
    "opened",
    "dark",
    "number",
    "curve",
    "linear",
    "as_laid",
    "stack",
    "stack_density",
    "write_curve",
    "model",
    "thicknesses",
)


PHOTO = all_of(
    click.option(
        "--photo", "photos", multiple=True, type=FILE,
        help="A photo of chips on a panel: raw, TIFF or PNG; rougher as JPEG, HEIC, AVIF. Again: the same chips once more.",
    ),
    click.option(
        "--panel", "panels", multiple=True, type=FILE,
        help="The same view with the chips taken off. One for all photos, or one for each.",
    ),
    again(
        "--at", metavar="CHIP=X,Y,W,H",
        help="Where a chip is in the photo, in pixels. Without it the holder sheet is looked for.",
    ),
    again("--open", "opened", metavar="X,Y,W,H", help="With --at: where the bare panel shows."),
    again("--dark", metavar="X,Y,W,H", help="With --at: where opaque black card shows, so that glare is known."),
    click.option(
        "--number", type=Whole(1, 99), metavar="N",
        help="Which photo of the holder sheet's list this is, where the chips take more than one.",
    ),
    click.option("--as-laid", is_flag=True, help="The chips lie as is said, though some of them look swapped."),
    click.option("--curve", type=FILE, help="A tone curve that --stack measured."),
    LINEAR,
    again(
        "--stack", metavar="PLACE=SHEETS",
        help="Measure the camera's tone curve: how many layers of one neutral sheet lie in a window (or place of --at). "
        '"1.4=1 over 2.2": a sheet over the same coloured chip as in row 2, second.',
    ),
    click.option("--stack-density", type=unit("d", "a density such as 0.3"), help="With --stack: the density of one sheet."),
    click.option("--write-curve", type=FILE, help="With --stack: where the curve goes. [default: tone-curve.csv in SET]"),
    click.option(
        "--print-holder", type=click.Path(), metavar="FILE.pdf",
        help="Write the holder sheet for this set, to print; and holder.csv in SET, which chip lies where.",
    ),
    click.option(
        "--model", type=FILE,
        help="Read what is no chip by the camera that read this model's chips; --at NAME=2.3 names a window of the holder sheet.",
    ),
    again(
        "--thickness", "thicknesses", **table_of(named("thing and thickness", "glass=6, in mm", millimetres), "NAME=MM"),
        help="With --model: how thick it is where it was read.",
    ),
    PAPER,
)  # fmt: skip
"""The options of photos, of stack checks and of the holder sheet."""


def check_alone(said: Mapping[str, Any]) -> None:
    """That no option of a photo stands without one."""
    for option in click.get_current_context().command.params:
        if option.name in ONLY_PHOTO and said[option.name] and not said["photos"]:
            raise click.UsageError(f"{option.opts[0]} goes with --photo FILE")


def run_photo(chip_set: str, said: dict[str, Any]) -> Answer:
    """The JSON body, and the same as text, of photos put into a set."""
    # Here, so that help need not wait for it.
    from tintmix.desk.read.photo import read_photos
    from tintmix.desk.read.shots import PhotoOrder

    rest = {key: said[key] for key in ("replace_old", "correct_drift", "others_ignored", "dry_run", "as_laid")}
    done = read_photos(chip_set, taken(PhotoOrder, said), **rest)
    return done.body, _told(done.body)


def run_things(chip_set: str | None, said: dict[str, Any]) -> Answer:
    """The same of what is no chip, by a model's camera."""
    from tintmix.desk.read.shots import PhotoOrder  # here: help need not wait
    from tintmix.desk.read.things import read_things

    if chip_set is not None or not said["photos"] or not said["at"] or said["stack"] or said["mapping"]:
        raise click.UsageError(
            "--model takes no SET; it goes with --photo FILE, --at NAME=PLACE and --thickness NAME=MM"
        )
    places, thicknesses, model = said.pop("at"), said.pop("thicknesses"), said.pop("model")
    body = read_things(model, taken(PhotoOrder, said, at=()), places, thicknesses)
    return body, _told_things(body)


def _told_things(body: Mapping[str, Any]) -> str:
    rows, tables = [], []
    for name, one in body["things"].items():
        look = [f"{v:.1f}" for v in one["lab"]]
        rows.append([
            name, f"{numeral(one['thickness_mm'])} mm", *(f"{100 * v:.2f}" for v in one["camera"]), *look,
            f"{one['delta_e00_95']:.1f}",
        ])  # fmt: skip
        camera = ", ".join(f"{v:.5g}" for v in one["camera"])
        lines = ["[glass]", f"thickness_mm = {numeral(one['thickness_mm'])}", f"camera = [{camera}]"]
        tables += ["", f"{name} as a target's glass:", *(f"  {line}" for line in lines)]
    heads = ["", "thick", "R %", "G %", "B %", "L*", "a*", "b*", "95 % within ΔE00"]
    return text.page([text.table(heads, rows, left=(0,)), *tables, "", *text.noted(body["notes"])])


def run_stack(chip_set: str, said: dict[str, Any]) -> Answer:
    """The same of a stack check."""
    # Here, so that help need not wait for it.
    from tintmix.desk.read.photo import CURVE_NAME
    from tintmix.desk.read.shots import PhotoOrder
    from tintmix.desk.read.stack_check import measure_curve

    if said["stack_density"] is None:
        raise click.UsageError("--stack needs --stack-density, the density of one sheet, such as 0.3")
    where = said["write_curve"] or str(Path(chip_set) / CURVE_NAME)
    rest = {key: said[key] for key in ("replace_old", "dry_run")}
    body = measure_curve(taken(PhotoOrder, said), said["stack"], said["stack_density"], where, **rest)
    return Done(body, _told_stack(body), text.written_as(body["written"]))


def run_holder(chip_set: str, said: dict[str, Any]) -> Answer:
    """The same of a holder sheet for a set."""
    from tintmix.desk.read.layout import write_holder  # here: help need not wait

    body = write_holder(
        chip_set, said["print_holder"], drawn_for(said["paper"], f"tintmix read {chip_set}"), said["replace_old"]
    )
    return Done(body, _told_holder(body), text.written_as(body["written"]))


def drawn_for(paper: Any, reading: str) -> Callable[[Sequence[Mapping[str, str]], str, Mapping[str, Any]], bytes]:
    """What draws the sheet on that paper. reading: the beginning of the command that reads the photos."""

    def draw(photos: Sequence[Mapping[str, str]], title: str, tags: Mapping[str, Any]) -> bytes:
        from tintmix.faces.paper.holder import holder_pdf  # here: fpdf takes a third of a second

        number_said = " --number 1" if len(photos) > 1 else ""
        command = f"{reading} --photo chips.dng --panel bare.dng{number_said}"
        return holder_pdf(paper, photos, title, command, tags)

    return draw


def _told(body: Mapping[str, Any]) -> str:
    from tintmix.chips.photo.sheet.holder import told_place  # here: help need not wait for numpy

    photo, held = body["photo"], body["photo"]["holder"]
    lines: list[str] = ["; ".join(f"{s['file']}: {s['format']}" for s in body["sources"]) + "."]
    if held is not None:
        hidden = "" if held["marks"] == 4 else ", one of its marks hidden"
        lines.append(f"The holder sheet was found{hidden}; seen {held['aslant_degrees']:.0f}° aslant.")
    if photo["glare"] is not None:
        lines.append(f"Glare of {percent(max(photo['glare']))} of the panel's light was taken off.")
    rows = [
        [
            chip["chip"], told_place(chip["place"] or ""), *(_channel(v, photo["rendered"]) for v in chip["values"]),
            *came_of(chip, chip["reading_spread"], percent),
        ]
        for chip in body["chips"]
    ]  # fmt: skip
    heads = ["chip", "window", "R %", "G %", "B %", "", "photos", "own spread", "ΔE00 to before"]
    table = text.table(heads, rows, left=(0, 1, 5))
    return text.page([*lines, "", "Of the bare panel's light, each chip lets through:", table, "", *outcome(body)])


def _told_stack(body: Mapping[str, Any]) -> str:
    if body["written"]:
        [done] = text.written(body["written"])
        done += " Give it with --curve when you read this camera's JPEGs."
    elif body["would_write"]:
        done = f"Nothing was changed. It would write {', '.join(body['would_write'])}."
    else:
        done = "No curve was written."
    return text.page([body["says"], done])


def _told_holder(body: Mapping[str, Any]) -> str:
    from tintmix.chips.photo.sheet.holder import told_place  # here: help need not wait for numpy

    rows = [
        [str(n) if len(body["photos"]) > 1 else "", told_place(window), chip]
        for n, laid in enumerate(body["photos"], 1)
        for window, chip in laid.items()
    ]
    table = text.table(["photo", "window", "chip"], rows, left=(0, 1, 2))
    [written] = text.written(body["written"])
    use = f"{written} Print it at 100 %; its second page tells how to use it."
    return text.page([table, "", *text.noted(body["notes"]), use])


def _channel(value: float, rendered: bool) -> str:
    """A channel in percent; of a JPEG nothing is said below 1 %."""
    if rendered and value < 0.01:
        return "< 1"
    return f"{100 * value:.1f}" if value >= 0.0995 else f"{100 * value:.2f}"
