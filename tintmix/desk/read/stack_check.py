"""The stack check: a photo of layers of one neutral sheet into the tone curve of the camera that took it."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tintmix.chips.photo.curve import curve_to_text
from tintmix.chips.photo.frame import Photo
from tintmix.chips.photo.reading import Gathered, gather_holder, gather_rectangles
from tintmix.chips.photo.region import rectangle
from tintmix.chips.photo.sheet.holder import chip_window
from tintmix.chips.photo.stack import SHEET_INDEX, Layer, check_stack
from tintmix.desk.read.layout import named_place
from tintmix.desk.read.shots import PhotoOrder, check_order, each
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.made import check_free
from tintmix.files.plain import finite, table_of
from tintmix.files.words import plain
from tintmix.files.write import Outputs

_STACK = re.compile(r"(.+)=\s*(\d{1,3})(?:\s+over\s+(\S.*))?\s*")


def measure_curve(
    order: PhotoOrder,
    stack: Sequence[str],
    density: float,
    where: str | os.PathLike[str],
    *,
    refractive_index: float = SHEET_INDEX,
    replace_old: bool = False,
    dry_run: bool = False,
) -> dict[str, Any]:
    """The tone curve of a camera, written to `where`; what came of it, as JSON has it.

    stack: "PLACE=SHEETS", or "PLACE=SHEETS over PLACE" of a coloured chip. order: one photo of the stack and one of the same
    places bare; `at` names the places where there is no holder sheet. Nothing is written where the curve turns out not to be
    one for each channel. Raises; then nothing is written.
    """
    if len(order.photos) != 1:
        raise ValueProblem(what=f"a stack check takes one photo, and {len(order.photos)} are named")
    if order.curve is not None or order.linear or order.mapping or order.number is not None:
        what = "a stack check takes JPEGs as the camera made them, and its layers name their windows themselves"
        raise ValueProblem(what=what, remedy=Remedy.NOT_WITH_A_STACK)
    check_order(order)
    target = Path(where)
    if not replace_old:
        check_free(where, target, "")
    layers = [layer(text, holder=not order.at) for text in stack]
    [check] = each(
        order,
        lambda photo, panel: check_stack(_gathered(order, layers, photo, panel), layers, density, refractive_index),
    )
    writes = check.per_channel is not False
    if writes and not dry_run:
        pictures = [one for one in (*order.photos, *order.panels) if not isinstance(one, tuple)]
        # The folder stands for set.toml and chips.csv in it, which no curve may take the place of.
        with Outputs([*map(Path, pictures), target.parent], replace_old) as outputs:
            outputs.at(target).write_text(curve_to_text(check.curve), encoding="utf-8")
    body: dict[str, Any] = finite(
        {
            "dry_run": dry_run,
            "density": density,
            "layers": [table_of(one, over=one.over or None) for one in layers],
            **table_of(check, ("curve",), measured_down_to=check.curve.lowest),
            "written": [str(target)] if writes and not dry_run else [],
            "would_write": [str(target)] if writes and dry_run else [],
        }
    )
    return body


def layer(text: str, holder: bool = True) -> Layer:
    """A layer from "PLACE=SHEETS" or "PLACE=SHEETS over PLACE". holder: whether places are windows. Raises ValueProblem.

    >>> layer("2.2=1 over 2.4")
    Layer(place='2.2', sheets=1, over='2.4')
    """
    found = _STACK.fullmatch(text.strip())
    if not found:
        what = "is not PLACE=SHEETS, such as 1.2=1, or 1.4=1 over 2.2 for a sheet over the same coloured chip as in 2.2"
        raise ValueProblem(where=plain(text, 60), what=what)
    place, over = (
        chip_window(name, plain(text, 60)) if holder and name else name
        for name in (found[1].strip(), (found[3] or "").strip())
    )
    return Layer(place, int(found[2]), over)


def _gathered(order: PhotoOrder, layers: Sequence[Layer], photo: Photo, panel: Photo | None) -> Gathered:
    wanted = dict.fromkeys(name for one in layers for name in (one.place, one.over) if name)
    if not order.at:
        return gather_holder(photo, panel, {name: name for name in wanted})
    places = dict(named_place(text) for text in order.at)
    for name in wanted:
        if name not in places:
            what = "the stack names this place, and its place in the photo is not named"
            raise ValueProblem(where=name, what=what, remedy=Remedy.NAME_THE_STACK_PLACES)
    opened, dark = [rectangle(t) for t in order.opened], [rectangle(t) for t in order.dark]
    return gather_rectangles(photo, places, panel, opened, dark)
