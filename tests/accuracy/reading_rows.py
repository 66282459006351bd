"""Rows for ways of reading that issue 3 adds: chips on a white tile. `python -m tests.accuracy.reading_rows [sets
[PAGE]]` prints them, and puts them into a page.

The truth is made at 1 nm by the slow law of tests/reference/tile.py, and the tile is a real white: not quite even,
not quite 1, known to the fit only by its measured colour. "Told wrong" is what it costs to say dry where the chips
were wetted.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np

from tests.accuracy.pages import put_into
from tests.accuracy.scoring import Score, Table, score, table
from tests.reference import batched
from tests.reference import tile as slow
from tests.reference.slow import NM, Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, to_chipset
from tintmix.chips.chip import ChipSet, Reading
from tintmix.pigments.fit import fit

Contact = Literal["dry", "wetted"]
QUESTIONS = 120
PROGRAM = "python -m tests.accuracy.reading_rows 40 PAGE"
WHITES = np.array([0.70, 0.80, 0.90])


@dataclass(frozen=True, slots=True)
class TileRow:
    """thicknesses: of the chips, mm. told: what set.toml says, where that is wrong."""

    name: str
    contact: Contact
    thicknesses: tuple[float, ...] = (1.5, 4.0)
    told: Contact | None = None
    pairs: int = 3
    light: str = "D65"
    observer: int = 10


TILE_ROWS = (
    TileRow("wetted, 1.5 and 4 mm", "wetted"),
    TileRow("dry, 1.5 and 4 mm", "dry"),
    TileRow("wetted, 3 and 12 mm", "wetted", (3.0, 12.0)),
    TileRow("dry, 3 and 12 mm", "dry", (3.0, 12.0)),
    TileRow("dry, told as wetted", "dry", told="wetted"),
)


@cache
def _law(contact: Contact) -> tuple[Array, Array]:
    return slow.table(contact, WHITES, 1.5)


def white_tile(seed: int) -> Array:
    """A tile (421,): 0.78 to 0.88, a little yellow."""
    rng = np.random.default_rng([seed, 77])
    high = rng.uniform(0.80, 0.88)
    return high - rng.uniform(0.0, 0.06) * np.exp(-(NM - 360) / 80)


def on_tile(row: TileRow, seed: int) -> tuple[SimSet, ChipSet]:
    """A ladder with pair chips, 2 % dose and 0.05 mm thickness errors, L*a*b* noise 0.3, read on a tile."""
    sim = make_set(seed, "colour", pairs=row.pairs, thicknesses=row.thicknesses, dose_error=0.02, thickness_error=0.05,
                   light=row.light, observer=row.observer)  # fmt: skip
    return sim, read_on_tile(sim, row.contact, row.told)


def read_on_tile(sim: SimSet, contact: Contact, told_contact: Contact | None = None) -> ChipSet:
    """A set's chips read on its tile, under the set's own light, noise 0.3; the tile's colour is read to 0.1."""
    seed, light, observer = sim.seed, sim.light, sim.observer
    internal = batched.internal(sim.true_doses, sim.true_thickness, sim.base, sim.absorptivity, sim.volume_per_phr)
    tau, curves = _law(contact)
    white = white_tile(seed)
    by_white = np.stack([np.interp(internal, tau, curve) for curve in curves])
    place = np.interp(white, WHITES, np.arange(len(WHITES)))
    low = np.minimum(place.astype(int), len(WHITES) - 2)
    share = place - low
    bands = np.arange(len(NM))
    beta = by_white[low, :, bands].T * (1 - share) + by_white[low + 1, :, bands].T * share
    rng = np.random.default_rng([seed, 78])
    read = batched.lab(beta, light, observer) + rng.normal(0, 0.3, (len(beta), 3))
    read[:, 0] = np.maximum(read[:, 0], 0.0)
    bare = batched.lab(white[None, :], light, observer)[0] + rng.normal(0, 0.1, 3)
    chips = to_chipset(sim)
    reading = Reading("colour", relative_to="white tile", contact=told_contact or contact, light=light,
                      observer=observer, space="Lab", tile_lab=tuple(np.round(bare, 2)))  # fmt: skip
    told = [replace(chip, values=tuple(np.round(lab, 2))) for chip, lab in zip(chips.chips, read, strict=True)]
    return replace(chips, reading=reading, chips=tuple(told))


def sweep_tile(row: TileRow, seeds: range, questions: int = QUESTIONS) -> dict[float, Table]:
    """The row's tables inside the chips' thickness and to three times it."""
    scores: dict[float, list[Score]] = {1.0: [], 3.0: []}
    for seed in seeds:
        sim, chips = on_tile(row, seed)
        model = fit(chips)
        for beyond, kept in scores.items():
            kept.append(score(model, sim, questions, beyond))
    return {beyond: table(kept) for beyond, kept in scores.items()}


def markdown(seeds: range) -> str:
    """The table that docs/measure-with-a-colorimeter.md holds."""
    lines = [
        "| chips on a white tile | inside: median / 95 % | worst set | to 3 × the thickness | band holds |",
        "| --- | --- | --- | --- | --- |",
    ]
    for row in TILE_ROWS:
        found = sweep_tile(row, seeds)
        near, far = found[1.0], found[3.0]
        lines.append(
            f"| {row.name} | {near.median:.2f} / {near.p95:.2f} | {near.worst:.1f} | {far.median:.2f} / {far.p95:.2f} "
            f"| {100 * near.ellipsoid:.0f} %, {100 * far.ellipsoid:.0f} % |"
        )
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    told = f"ΔE00 of predicted mixtures in transmission, {count} simulated sets, noise 0.3 in L\\*, a\\*, b\\*:\n\n"
    told += markdown(REPORTING_SEEDS[:count])
    print(told)
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
