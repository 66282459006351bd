"""What a plan for a white tile buys: `python -m tests.accuracy.tile_plan_rows [sets [PAGE]]` prints the table.

Eight cups for three pigments that nobody has measured, two thin chips from each (moulds of 1, 2 and 4 mm), read dry on
a real white by the slow law of tests/reference/tile.py and fitted whole. Against them, on the same sets, the same number
of chips: a ladder of two doses a pigment and two blanks, the best of several; and the plan that the same planner makes
for the same moulds where it takes the chips to be read in transmission. The wanted mixtures, the sections of 8 and
60 mm and the part's dose are those of plan_rows.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.accuracy import plan_rows
from tests.accuracy.pages import put_into
from tests.accuracy.plan_rows import NAMES, PART_PHR, SECTIONS_MM, wanted
from tests.accuracy.reading_rows import Contact, read_on_tile
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet
from tintmix.desk.plan.tile import TILE_CAST_MM, OnTile, tile_seen
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.pigments.design.belief import nothing_known
from tintmix.pigments.design.cups import plan
from tintmix.pigments.design.sight import colorimeter
from tintmix.pigments.design.wish import Wish
from tintmix.pigments.fit import fit

PROGRAM = "python -m tests.accuracy.tile_plan_rows 40 PAGE"
USUAL_TILE = (94.0, -0.3, 1.5)
"""L*a*b* of a white, as a maker would type it; each set's own differs a little."""
LADDERS = ((2.0, 12.0), (4.0, 24.0), (8.0, 24.0))
Design = Sequence[tuple[Array, tuple[float, ...]]]


def ladder(low: float, high: float, thicknesses_mm: tuple[float, ...] = (1.0, 4.0)) -> Design:
    """Two doses of each pigment, in parts of the casting's, and two untinted."""
    unit = PART_PHR * np.eye(len(NAMES))
    cups = [(times * unit[p], thicknesses_mm) for p in range(len(NAMES)) for times in (low, high)]
    return [*cups, (np.zeros(len(NAMES)), thicknesses_mm), (np.zeros(len(NAMES)), thicknesses_mm)]


def planned(contact: Contact | None) -> Design:
    """Eight cups of two thin chips; contact None: planned as if they were read in transmission."""
    part = np.full(len(NAMES), PART_PHR)
    tile = None if contact is None else tile_seen(OnTile(USUAL_TILE, contact), "D65", 10)
    wish = Wish(part, SECTIONS_MM, TILE_CAST_MM, 8, 2, instrument=colorimeter(eye("D65", 10), tile=tile))
    return [(np.array(c.doses_phr), c.thicknesses_mm) for c in plan(nothing_known(NAMES, part, 60.0), wish).cups]


def pour(seed: int, design: Design, dose_error: float = 0.02, thickness_error: float = 0.05) -> SimSet:
    """The design poured with the set's own pigments and resin; not read."""
    rng = np.random.default_rng([seed, 7])
    chips = [(c, cup, mm) for c, (cup, each) in enumerate(design) for mm in each]
    single = plan_rows.pour(seed, [(cup, mm) for _, cup, mm in chips])
    factor = np.exp(rng.normal(0, dose_error, len(design)))[[c for c, _, _ in chips]]
    return replace(
        single,
        cups=tuple(f"c{c + 1}" for c, _, _ in chips),
        true_doses=single.doses_phr * factor[:, None],
        true_thickness=single.thickness_mm + rng.normal(0, thickness_error, len(chips)),
    )


def errors(seed: int, design: Design, contact: Contact) -> Array:
    """ΔE00 (sections, questions) of the fitted model."""
    sim = pour(seed, design)
    model = fit(read_on_tile(sim, contact))
    doses = wanted(sim)
    found = []
    for mm in SECTIONS_MM:
        thickness = np.full(len(doses), mm)
        found.append(delta_e00(sim.truth_lab(doses, thickness), model.lab_draws(doses, thickness).mean(axis=0)))
    return np.array(found)


def medians(design: Design, contact: Contact, seeds: Sequence[int]) -> tuple[float, float]:
    """Median over sets of the per-set median ΔE00, at each of the two sections."""
    found = np.array([np.median(errors(seed, design, contact), axis=1) for seed in seeds])
    thin, thick = np.median(found, axis=0)
    return float(thin), float(thick)


def lines(seeds: Sequence[int], contact: Contact = "dry") -> list[str]:
    """The table in Markdown."""
    thin, thick = SECTIONS_MM
    out = [
        f"| eight cups of two chips, 1 to 4 mm, read on a white tile | at {thin:g} mm | at {thick:g} mm |",
        "| --- | --- | --- |",
    ]
    designs = [(f"ladder, {low:g} and {high:g} times the casting's dose", ladder(low, high)) for low, high in LADDERS]
    designs += [("planned as if read in transmission", planned(None)), ("planned for the tile", planned(contact))]
    for name, design in designs:
        at = medians(design, contact, seeds)
        out.append(f"| {name} | {at[0]:.2f} | {at[1]:.2f} |")
    return out


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    told = f"Median ΔE00 of wanted mixtures, {count} simulated sets:\n\n" + "\n".join(lines(REPORTING_SEEDS[:count]))
    print(told)
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
