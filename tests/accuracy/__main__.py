"""Prints how right the fit is, on sets that nothing was tuned on: `python -m tests.accuracy [sets a row]`.

Each row: what is asked, ours, and beside it three-channel Beer-Lambert and the one-start one-mode fit. "covers": how
often the truth lay in the 95 % ellipsoid of L*a*b*, and within `delta_e00_95`.
"""

from __future__ import annotations

import os
import sys

from tests.accuracy import solve_rows
from tests.accuracy.rows import ROWS, Limit, faults, one_cup_scores, sweep
from tests.accuracy.scoring import Table
from tests.simulation import REPORTING_SEEDS


def _line(who: str, found: Table) -> str:
    cover = "" if who == "three channels" else f"   covers {100 * found.ellipsoid:.0f} / {100 * found.band:.0f} %"
    figures = f"{found.median:6.2f} / {found.p95:5.2f}   worst {found.worst:6.2f}"
    return f"    {who:<15} {figures}   past 3: {100 * found.past_3:3.0f} %{cover}"


def main() -> None:
    """Print the table."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    seeds = range(REPORTING_SEEDS.start, REPORTING_SEEDS.start + sets)
    print(f"ΔE00, median over {sets} sets of the per-set median / 95th percentile; {os.cpu_count()} cores\n")
    for row in ROWS:
        for beyond, tables in sweep(row, seeds).items():
            where = "inside" if beyond == 1 else f"to {beyond:g} times the thickness"
            limit = row.limits[beyond]
            print(f"{row.name}, {where}: asked {limit}; {'met' if limit.met(tables['ours']) else 'NOT MET'}")
            for who, found in tables.items():
                print(_line(who, found))
    print("\none chip wrong: asked named >= 95 %, error <= 1.3 times the clean set's")
    for kind in ("colour", "spectrum"):
        for fault in ("dose", "swap", "reading"):
            found = faults(kind, fault, seeds, 60)
            print(
                f"    {kind:<9} {fault:<8} named {100 * found.named:3.0f} %   error {found.worse:.2f} times   "
                f"sound chips doubted: {found.false_alarms:.2f} a set"
            )
    for thicknesses in ((12.0,), (3.0, 12.0)):
        told = one_cup_scores(seeds, thicknesses)
        limit = Limit(1.0, 2.5)
        chips = " and ".join(f"{t:g} mm" for t in thicknesses)
        print(f"\none cup read at {chips}, seen at 60 mm: asked {limit}; {'met' if limit.met(told) else 'NOT MET'}")
        print(_line("ours", told))
    print("\nsolve")
    for item in solve_rows.rows():
        print("    " + ", ".join(f"{key}: {value}" for key, value in item.items()))


if __name__ == "__main__":
    main()
