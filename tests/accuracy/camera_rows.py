"""Rows for chips photographed on a light panel: `python -m tests.accuracy.camera_rows [sets [PAGE]]` prints them, and
puts them into a page.

The plain ladder: three pigments at 0.02, 0.06 and 0.2 phr and an untinted cup, each at 3 and 12 mm; raw channels with 1 %
noise, 2 % dose error a cup, 0.05 mm a chip. "drawn" cameras come from readings.md's prior, panels are CIE's eight white
LED lamps; both are also what the fit believes of a camera and a panel that it does not know. The last three rows are not:
there the camera is colour-science's colour-filter one, taken as unknown, and in the last two the panel is a white LED
that is none of CIE's. The three L*a*b* chips are one of each pigment, the middle dose at 12 mm, read by a colorimeter
(0.3 each) as a second set of the same cups.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from tests.accuracy.pages import put_into
from tests.accuracy.rows import Limit
from tests.accuracy.scoring import Table, score, table
from tests.simulation import REPORTING_SEEDS, SimSet, camera_hidden, camera_measured, make_set, read_again, to_chipset
from tintmix.pigments.fit import fit

QUESTIONS = 120
LEAST_COVER = 0.90
LAB_DOSE_PHR, LAB_MM = 0.06, 12.0
WARM, COLD = "LED-B1", "LED-B5"
PROGRAM = "python -m tests.accuracy.camera_rows 40 PAGE"


Sets = tuple[SimSet, tuple[SimSet, ...]]
"""The truth, and the readings of its chips that are fitted together."""


@dataclass(frozen=True, slots=True)
class CameraRow:
    """limit: None where nothing is asked."""

    name: str
    make: Callable[[int], Sets]
    limit: Limit | None = None


def _ladder(seed: int, camera: str, panel: str | None = None, panel_known: bool = True) -> SimSet:
    return make_set(
        seed, "camera", camera=camera, panel=panel, panel_known=panel_known, dose_error=0.02, thickness_error=0.05
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
    CameraRow("camera and panel known", lambda s: _alone(_ladder(s, "filter")), Limit(1.2, 3.2)),
    CameraRow("the same, drawn cameras", lambda s: _alone(camera_measured(_ladder(s, "drawn"))), Limit(1.2, 3.2)),
    CameraRow("camera unknown, panel known", lambda s: _alone(_ladder(s, "drawn")), Limit(2.8, 6.0)),
    CameraRow(
        "the same, on a warm and then on a cold white panel",
        lambda s: _two_panels(_ladder(s, "drawn", WARM)),
        Limit(2.8, 6.0),
    ),
    CameraRow("camera and panel unknown", lambda s: _alone(_ladder(s, "drawn", panel_known=False)), Limit(2.8, 6.0)),
    CameraRow(
        "the same, with three L\\*a\\*b\\* chips",
        lambda s: _with_lab(_ladder(s, "drawn", panel_known=False)),
        Limit(0.8, np.inf),
    ),
    CameraRow(
        "those three L\\*a\\*b\\* chips and an untinted one, no photo", lambda s: _lab_alone(_ladder(s, "drawn"))
    ),
    CameraRow(
        "camera and panel unknown, the camera a real one",
        lambda s: _alone(camera_hidden(_ladder(s, "filter", panel_known=False))),
    ),
    CameraRow(
        "the same, the panel none of CIE's lamps", lambda s: _alone(camera_hidden(_ladder(s, "filter", "drawn")))
    ),
    CameraRow(
        "the same, with three L\\*a\\*b\\* chips", lambda s: _with_lab(camera_hidden(_ladder(s, "filter", "drawn")))
    ),
)


def sweep_camera(row: CameraRow, seeds: range, questions: int = QUESTIONS) -> Table:
    """The row's table, inside the chips' doses and thicknesses."""
    scores = []
    for seed in seeds:
        sim, read = row.make(seed)
        scores.append(score(fit([to_chipset(one) for one in read]), sim, questions, 1.0))
    return table(scores)


def met(row: CameraRow, found: Table) -> bool:
    """Whether the errors are as small, and the bands as wide, as asked."""
    return row.limit is None or (row.limit.met(found) and min(found.ellipsoid, found.band) >= LEAST_COVER)


def lines(seeds: range) -> Iterator[str]:
    """The table in Markdown, a line as soon as it is known."""
    yield "| chips photographed, raw | median / 95 % | asked | worst set | sets past 3 | band holds |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for row in CAMERA_ROWS:
        found = sweep_camera(row, seeds)
        asked = "" if row.limit is None else f"{row.limit.median:g}"
        asked += "" if row.limit is None or not np.isfinite(row.limit.p95) else f" / {row.limit.p95:g}"
        asked += "" if row.limit is None or met(row, found) else " NOT MET"
        yield (
            f"| {row.name} | {found.median:.2f} / {found.p95:.2f} | {asked} | {found.worst:.1f} "
            f"| {100 * found.past_3:.0f} % | {100 * found.ellipsoid:.0f} % |"
        )


def for_page(line: str) -> str:
    """A line of the table without what is asked, which is the project's business and no maker's."""
    cells = line.split("|")
    return "|".join([*cells[:3], *cells[4:]])


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    told = [f"ΔE00 of predicted mixtures, {count} simulated sets of 20 chips, 1 % noise:", ""]
    print("\n".join(told))
    for line in lines(REPORTING_SEEDS[:count]):
        print(line, flush=True)
        told.append(for_page(line))
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, "\n".join(told))


if __name__ == "__main__":
    main()
