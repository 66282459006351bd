"""Rows for chips photographed on a light panel: `python -m tests.accuracy.camera_rows [sets [PAGE]]` prints them, and puts
them into a page.

The plain ladder: three pigments at 0.02, 0.06 and 0.2 phr and an untinted cup, each at 3 and 12 mm; raw channels with 1 %
noise, 2 % dose error a cup, 0.05 mm a chip. "drawn" cameras come from readings.md's prior, panels are CIE's eight white
LED lamps; both are also what the fit believes of a camera and a panel that it does not know. The last three rows are not:
there the camera is colour-science's colour-filter one, taken as unknown, and in the last two the panel is a white LED
that is none of CIE's. The three L*a*b* chips are one of each pigment, the middle dose at 12 mm, read by a colorimeter
(0.3 each) as a second set of the same cups.

JPEGs, and raw photos "of ladder and pairs", have a cup of each pair of pigments too. A JPEG's phone brings the panel's white to
sRGB's in one of four ways, and bends sRGB's curve by v + c v (1 - v)(2 v - 1); its matrix is the eye's, or, of "phones", the best
one for a camera drawn from the prior. Narrow-band dyes have bands of 15 to 40 nm at half height.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.accuracy.pages import put_into
from tests.accuracy.rows import Limit
from tests.accuracy.scoring import Table, score, table
from tests.simulation import REPORTING_SEEDS, SimSet, camera_hidden, camera_measured, make_set, read_again, to_chipset
from tintmix.pigments.fit import fit

QUESTIONS = 120
LEAST_COVER = 0.90
SEEDS = REPORTING_SEEDS[200:]
"""Those before were seen while constants of cameras were chosen."""
LAB_DOSE_PHR, LAB_MM = 0.06, 12.0
WARM, COLD = "LED-B1", "LED-B5"
PROGRAM = "python -m tests.accuracy.camera_rows 40 PAGE"


Sets = tuple[SimSet, tuple[SimSet, ...]]
"""The truth, and the readings of its chips that are fitted together."""


@dataclass(frozen=True, slots=True)
class CameraRow:
    """limit: None where nothing is asked of the errors. cover: the part that the ellipsoid, and the band, are to cover, and no
    more than that by being wide; zero where nothing is asked."""

    name: str
    make: Callable[..., Sets]
    limit: Limit | None = None
    cover: float = 0.0


def _ladder(seed: int, camera: str, panel: str | None = None, panel_known: bool = True, **more: Any) -> SimSet:
    return make_set(
        seed,
        "camera",
        camera=camera,
        panel=panel,
        panel_known=panel_known,
        dose_error=0.02,
        thickness_error=0.05,
        **more,
    )


def _three(sim: SimSet) -> list[int]:
    """One chip of each pigment."""
    return [sim.names.index(f"{pigment}-{LAB_DOSE_PHR:g}-{LAB_MM:g}mm") for pigment in sim.pigments]


def _alone(sim: SimSet) -> Sets:
    return sim, (sim,)


def _with_lab(sim: SimSet) -> Sets:
    return sim, (sim, read_again(sim, "colour", _three(sim)))


def _lab_alone(sim: SimSet) -> Sets:
    return sim, (read_again(sim, "colour", [*_three(sim), sim.names.index(f"blank-{LAB_MM:g}mm")]),)


def _two_panels(sim: SimSet) -> Sets:
    return sim, (sim, read_again(sim, "camera", panel=COLD))


CAMERA_ROWS = (
    CameraRow("camera and panel known", lambda s, **h: _alone(_ladder(s, "filter", **h)), Limit(1.2, 3.2)),
    CameraRow(
        "the same, drawn cameras", lambda s, **h: _alone(camera_measured(_ladder(s, "drawn", **h))), Limit(1.2, 3.2)
    ),
    CameraRow("camera unknown, panel known", lambda s, **h: _alone(_ladder(s, "drawn", **h)), Limit(2.8, 6.0)),
    CameraRow(
        "the same, on a warm and then on a cold white panel",
        lambda s, **h: _two_panels(_ladder(s, "drawn", WARM, **h)),
        Limit(2.8, 6.0),
    ),
    CameraRow(
        "camera and panel unknown", lambda s, **h: _alone(_ladder(s, "drawn", panel_known=False, **h)), Limit(2.8, 6.0)
    ),
    CameraRow(
        "the same, with three L\\*a\\*b\\* chips",
        lambda s, **h: _with_lab(_ladder(s, "drawn", panel_known=False, **h)),
        Limit(0.8, np.inf),
    ),
    CameraRow(
        "those three L\\*a\\*b\\* chips and an untinted one, no photo",
        lambda s, **h: _lab_alone(_ladder(s, "drawn", **h)),
    ),
    CameraRow(
        "camera and panel unknown, the camera a real one",
        lambda s, **h: _alone(camera_hidden(_ladder(s, "filter", panel_known=False, **h))),
    ),
    CameraRow(
        "the same, the panel none of CIE's lamps",
        lambda s, **h: _alone(camera_hidden(_ladder(s, "filter", "drawn", **h))),
    ),
    CameraRow(
        "the same, with three L\\*a\\*b\\* chips",
        lambda s, **h: _with_lab(camera_hidden(_ladder(s, "filter", "drawn", **h))),
    ),
    CameraRow(
        "ladder and pairs, camera known", lambda s, **h: _alone(camera_measured(_ladder(s, "drawn", pairs=3, **h)))
    ),
    CameraRow(
        "ladder and pairs, camera unknown, panel known", lambda s, **h: _alone(_ladder(s, "drawn", pairs=3, **h))
    ),
    CameraRow(
        "ladder and pairs, camera and panel unknown",
        lambda s, **h: _alone(_ladder(s, "drawn", panel_known=False, pairs=3, **h)),
        cover=0.92,
    ),
    CameraRow(
        "the same, the camera a real one",
        lambda s, **h: _alone(camera_hidden(_ladder(s, "filter", panel_known=False, pairs=3, **h))),
        cover=0.92,
    ),
    CameraRow(
        "the same, the panel none of CIE's lamps",
        lambda s, **h: _alone(camera_hidden(_ladder(s, "filter", "drawn", pairs=3, **h))),
        cover=0.92,
    ),
    CameraRow(
        "ladder and pairs of narrow-band dyes, camera known",
        lambda s, **h: _alone(camera_measured(_ladder(s, "drawn", pairs=3, family="narrow", **h))),
        cover=0.90,
    ),
)


def _jpeg(adaptation: str, contrast: float, camera: str = "rendered", **more: Any) -> Callable[..., Sets]:
    return lambda s, **h: _alone(_ladder(s, camera, adaptation=adaptation, contrast=contrast, pairs=3, **more, **h))


WAYS = ("XYZ Scaling", "CAT16", "Bradford", "Von Kries")
JPEG_ROWS = (
    *(CameraRow(f"white by {way}, c = {c:g}", _jpeg(way, c), cover=0.90) for way in WAYS for c in (-0.3, 0.0, 0.3)),
    CameraRow("phones, white by Bradford, c = 0.2", _jpeg("Bradford", 0.2, "phone"), cover=0.90),
    CameraRow(
        "the panel unknown, white by XYZ Scaling, c = 0.2", _jpeg("XYZ Scaling", 0.2, panel_known=False), cover=0.90
    ),
    CameraRow(
        "narrow-band dyes, white by XYZ Scaling, c = 0.2", _jpeg("XYZ Scaling", 0.2, family="narrow"), cover=0.90
    ),
    CameraRow(
        "narrow-band dyes by phones, white by Bradford, c = 0.2",
        _jpeg("Bradford", 0.2, "phone", family="narrow"),
        cover=0.90,
    ),
)
WIDEST = 3.0
"""Times the median error: the median band, where a cover is asked for, is no wider."""


def sweep_camera(row: CameraRow, seeds: range, questions: int = QUESTIONS, **how: Any) -> Table:
    """The row's table, inside the chips' doses and thicknesses. how: what else the sets are made by."""
    scores = []
    for seed in seeds:
        sim, read = row.make(seed, **how)
        scores.append(score(fit([to_chipset(one) for one in read]), sim, questions, 1.0))
    return table(scores)


def met(row: CameraRow, found: Table) -> bool:
    """Whether the errors are as small, and the bands as wide, as asked."""
    covers = min(found.ellipsoid, found.band)
    small = row.limit is None or (row.limit.met(found) and covers >= LEAST_COVER)
    return small and (not row.cover or (covers >= row.cover and found.width <= WIDEST * found.median))


def lines(seeds: range, kind: str = "raw", **how: Any) -> Iterator[str]:
    """The table in Markdown, a line as soon as it is known."""
    hazy = ", haze drawn and none told" if how else ""
    told = "median / 95 % | asked | worst set | sets past 3 | band holds | half the bands within"
    yield f"| chips photographed, {kind}{hazy} | {told} |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for row in CAMERA_ROWS if kind == "raw" else JPEG_ROWS:
        found = sweep_camera(row, seeds, **how)
        asked = "" if row.limit is None else f"{row.limit.median:g}"
        asked += "" if row.limit is None or not np.isfinite(row.limit.p95) else f" / {row.limit.p95:g}"
        asked += "" if met(row, found) else " NOT MET"
        yield (
            f"| {row.name} | {found.median:.2f} / {found.p95:.2f} | {asked} | {found.worst:.1f} "
            f"| {100 * found.past_3:.0f} % | {100 * found.ellipsoid:.0f} ± {100 * found.error:.0f} % | {found.width:.1f} |"
        )


def for_page(line: str) -> str:
    """A line of the table without what is asked, which is the project's business and no maker's."""
    cells = line.split("|")
    return "|".join([*cells[:3], *cells[4:]])


def main() -> None:
    """Print the tables, and a second time with haze drawn and none told; with a page, put the first into it."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    told = [f"ΔE00 of predicted mixtures, {count} simulated sets of 20 to 26 chips, 1 % noise:"]
    print(told[0])
    for how in ({},) if len(sys.argv) > 2 else ({}, {"haze": "prior"}):
        for kind in ("raw", "JPEG"):
            told.append("")
            print()
            for line in lines(SEEDS[:count], kind, **how):
                print(line, flush=True)
                told.append(for_page(line))
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, "\n".join(told))


if __name__ == "__main__":
    main()
