"""Rows for chips that scatter and were read straight through: `python -m tests.accuracy.haze_rows [sets [PAGE]]` prints them,
and puts them into a page.

The ladder with its three pairs, 2 % dose error of each pigment in each cup, 0.05 mm a chip. The resin's haze at 3 mm is
drawn evenly from 0 to 5 %, or resin and pigments scatter as the fit's prior has it. Nothing is said of it (`geometry` left out,
or "regular"), or the haze of each chip is given, as a haze meter reads it or as a word. Targets lie at 36 to 60 mm.

Rows of any clear resin go beyond that: resins five times clearer or twice greyer than `make_set` draws, with 0, 0.1, 0.5, 1, 3
and 5 % of haze in turn, and pale mixes too, that show a resin more than its pigments.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from tests.accuracy.pages import put_into
from tests.accuracy.scoring import of_draws
from tests.reference.slow import NM, Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, to_chipset
from tintmix.pigments.fit import fit

TARGETS = 20
THICK_MM = (36.0, 60.0)
PROGRAM = "python -m tests.accuracy.haze_rows 60 PAGE"
WORST_BAND = 3.0
"""The median band is at most so many median errors."""
HAZES = (0.0, 0.001, 0.005, 0.01, 0.03, 0.05)
"""Of any clear resin at 3 mm, in turn."""


@dataclass(frozen=True, slots=True)
class HazeRow:
    """How its sets are made; the least that bands cover; `warns`: whether every look at 60 mm says haze; pale: whether its mixes
    are."""

    name: str
    make: Callable[[int], SimSet]
    cover: float = 0.90
    warns: bool | None = None
    pale: bool = False


def hazed(
    seed: int,
    kind: str,
    haze: float | str | None = "even",
    told: str = "",
    most: float = 0.05,
    family: str = "new film",
) -> SimSet:
    """haze: 'even', from 0 to `most` at 3 mm by the seed; else as `make_set` has it.

    With words at most 2.5 %: beyond, 12 mm are milky.
    """
    if haze == "even":
        haze = float(np.random.default_rng([seed, 11]).uniform(0.0, most))
    return make_set(seed, kind, pairs=3, dose_error=0.02, thickness_error=0.05, family=family, haze=haze, told=told)


def any_resin(seed: int, kind: str, haze: float | None = None, power: float = 0.0) -> SimSet:
    """One of `HAZES`, in a resin that absorbs 0.0001 to 0.0013 per mm in the red, and up to 0.008 more at 400 nm. power: of the
    wavelength, with which scatter falls."""
    rng = np.random.default_rng([seed, 12])
    level, rise = (np.exp(rng.uniform(np.log(low), np.log(high))) for low, high in ((0.0001, 0.0013), (0.0003, 0.008)))
    resin = level + rise * np.exp(-(NM - 400) / rng.uniform(25, 90))
    haze = HAZES[seed % len(HAZES)] if haze is None else haze
    return make_set(
        seed, kind, pairs=3, dose_error=0.02, thickness_error=0.05, family="new film", haze=haze, scatter_power=power,
        resin=resin,
    )  # fmt: skip


ROWS = (
    HazeRow("colours, nothing scatters, and the set says so", lambda s: hazed(s, "colour", None), warns=False),
    HazeRow("colours, haze 0 to 5 % at 3 mm, not told", lambda s: hazed(s, "colour"), warns=True),
    HazeRow("the same, by the prior", lambda s: hazed(s, "colour", "prior"), warns=True),
    HazeRow("the same, nothing scatters", lambda s: hazed(s, "colour", 0.0), warns=True),
    HazeRow("the same, 0 to 5 %, haze read", lambda s: hazed(s, "colour", told="percent")),
    HazeRow("0 to 2.5 %, told in words", lambda s: hazed(s, "colour", told="word", most=0.025)),
    HazeRow("spectra, nothing scatters, and the set says so", lambda s: hazed(s, "spectrum", None), warns=False),
    HazeRow("spectra, haze 0 to 5 % at 3 mm, not told", lambda s: hazed(s, "spectrum"), warns=True),
    HazeRow("the same, haze read", lambda s: hazed(s, "spectrum", told="percent")),
    HazeRow("0 to 2.5 %, told in words", lambda s: hazed(s, "spectrum", told="word", most=0.025)),
    HazeRow("colours, any clear resin, haze 0 to 5 %, not told", lambda s: any_resin(s, "colour"), warns=True),
    HazeRow("the same, pale mixes", lambda s: any_resin(s, "colour"), warns=True, pale=True),
    HazeRow("spectra, any clear resin, haze 0 to 5 %, not told", lambda s: any_resin(s, "spectrum"), warns=True),
    HazeRow("the same, pale mixes", lambda s: any_resin(s, "spectrum"), warns=True, pale=True),
    HazeRow("colours, the same resins, scatter by λ⁻²", lambda s: any_resin(s, "colour", power=2.0), warns=True),
    HazeRow("the same, pale mixes", lambda s: any_resin(s, "colour", power=2.0), warns=True, pale=True),
    HazeRow("spectra, scatter by λ⁻², haze 0.5 %", lambda s: any_resin(s, "spectrum", 0.005, 2.0), warns=True),
    HazeRow("the same, pale mixes", lambda s: any_resin(s, "spectrum", 0.005, 2.0), warns=True, pale=True),
)


@dataclass(frozen=True, slots=True)
class Found:
    """Medians over sets of the per-set median and 95 % of the error and of the median band; coverage, with its standard error
    over sets; the part of sets whose look warns of haze."""

    median: float
    p95: float
    band: float
    ellipsoid: float
    in_band: float
    standard_error: float
    warned: float


def targets(sim: SimSet, pale: bool = False) -> tuple[Array, Array]:
    """Mixtures (N, P) at 36 to 60 mm that let at least 2 % of the light through; pale: of a twentieth of the dose."""
    rng = np.random.default_rng([sim.seed, 98 if pale else 99])
    count = len(sim.pigments)
    if pale:
        each = np.exp(rng.uniform(np.log(0.001), np.log(0.008), (TARGETS, count)))
        return each * (rng.random((TARGETS, count)) < 0.7), rng.uniform(*THICK_MM, TARGETS)
    doses, thick = np.empty((0, count)), np.empty(0)
    while len(doses) < TARGETS:
        one = np.exp(rng.uniform(np.log(0.02), np.log(0.2), (1, count))) / 3 * (rng.random((1, count)) < 0.7)
        at = rng.uniform(*THICK_MM, 1)
        if sim.truth_luminous(one, at)[0] >= 0.02:
            doses, thick = np.vstack([doses, one]), np.append(thick, at)
    return doses, thick


def sweep_haze(row: HazeRow, seeds: range) -> Found:
    """The row's figures: light that comes through in all, as a casting before a panel shows it."""
    told = []
    for seed in seeds:
        sim = row.make(seed)
        model = fit(to_chipset(sim))
        doses, thick = targets(sim, row.pale)
        asked = of_draws(model.lab_draws(doses, thick), sim.truth_lab(doses, thick))
        warned = any("haze" in said for said in model.look(dict.fromkeys(model.pigments, 0.01), 60.0).warnings)
        told.append(
            (np.median(asked.errors), np.quantile(asked.errors, 0.95), np.median(asked.bands), asked.in_ellipsoid.mean(),
             asked.in_band.mean(), warned)
        )  # fmt: skip
    all_of = np.array(told)
    median, p95, band = np.median(all_of[:, :3], axis=0).tolist()
    cover = all_of[:, 3]
    return Found(
        median, p95, band, float(cover.mean()), float(all_of[:, 4].mean()), float(cover.std() / len(cover) ** 0.5),
        float(all_of[:, 5].mean()),
    )  # fmt: skip


def met(row: HazeRow, found: Found) -> bool:
    """Whether bands hold without being too wide, and a look says what it must."""
    says = row.warns is None or found.warned == float(row.warns)
    return min(found.ellipsoid, found.in_band) >= row.cover and found.band <= WORST_BAND * found.median and says


def lines(seeds: range) -> Iterator[str]:
    """The table in Markdown, a line as soon as it is known."""
    yield "| chips read straight through | median / 95 % | median band | ellipsoid holds | band holds | says haze | |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for row in ROWS:
        found = sweep_haze(row, seeds)
        yield (
            f"| {row.name} | {found.median:.2f} / {found.p95:.2f} | ± {found.band:.2f} | {100 * found.ellipsoid:.0f} ± "
            f"{100 * found.standard_error:.0f} % | {100 * found.in_band:.0f} % | {100 * found.warned:.0f} % "
            f"| {'' if met(row, found) else 'NOT MET'} |"
        )


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    told = [f"ΔE00 at 36 to 60 mm, {count} simulated sets of {TARGETS} targets, real dyed films:", ""]
    print("\n".join(told))
    for line in lines(REPORTING_SEEDS[:count]):
        print(line, flush=True)
        told.append(line.rpartition("|")[0].rpartition("|")[0] + "|")
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, "\n".join(told))


if __name__ == "__main__":
    main()
