"""Whether a plan for pigments that nobody has measured keeps its word, for each way to read the chips.

`python -m tests.accuracy.promise_rows [sets [PAGE]]` prints the table. A plan for three pigments is made as a maker asks for
it: chips castable to 25 or to 12 mm at a dose that suits, and to 25 mm with no dose told, where strengths are out by a factor
of three. Its cups are poured of real glasses and random dyes, real films, and dyes of narrow bands, in equal parts; 2 % dose
error of each pigment in each cup and 0.5 % that it shares, 0.05 mm; read as told, and fitted whole. Photos are by cameras drawn
from what is known of them, on lamps of which every other is none of CIE's; JPEGs go to white in any of four ways, with any
contrast up to 0.3 either way. Wanted mixtures are those of plan_rows, in parts of the strength that each pigment turns out to
have.

Figures are what came over what was told, one for each set and place: the median over its mixtures of ΔE00 from the truth, over
`after` of the plan; "in the range told": within `half`, which should hold half of them; "starter": the same of the untinted cup
and one of each alone, chips castable to 25 mm.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from tests import simulation
from tests.accuracy.pages import print_table, sets_typed
from tests.accuracy.reading_rows import read_on_tile
from tests.reference import absorbers, slow
from tests.reference.slow import Array
from tests.simulation import DEFAULT_NOISE, REPORTING_SEEDS, SHARED_ERROR, SimSet, to_chipset
from tintmix.desk.plan.plan import Order, planned
from tintmix.desk.plan.tile import OnTile
from tintmix.optics.difference import delta_e00
from tintmix.pigments.design.cups import Forecast, PlannedCup
from tintmix.pigments.fit import fit
from tintmix.resin import Resin

PROGRAM = "python -m tests.accuracy.promise_rows 63 PAGE"
NAMES = ("p1", "p2", "p3")
SECTIONS_MM, PART_PHR = (8.0, 60.0), 0.005
FAMILIES = ("mixed", "new film", "narrow")
QUESTIONS, LEAST_LIGHT = 40, 0.03
DOSE_ERROR, THICKNESS_ERROR = 0.02, 0.05
KINDS: Mapping[str, dict[str, Any]] = {
    "spectra": {"kind": "spectrum"},
    "colours": {"kind": "colour"},
    "colours on a white tile": {"kind": "colour", "on_tile": OnTile((94.0, -0.3, 1.5), "dry")},
    "raw photos, the panel known": {"kind": "camera", "light": "LED-B3"},
    "raw photos, the panel unknown": {"kind": "camera"},
    "JPEGs, the panel known": {"kind": "camera", "camera": "rendered", "light": "LED-B3"},
    "JPEGs, the panel unknown": {"kind": "camera", "camera": "rendered"},
}


@dataclass(frozen=True, slots=True)
class Asked:
    """How a maker asks. cast_mm: moulds (no tile). told: whether doses are said. off: spread of the log of each strength."""

    name: str
    cast_mm: tuple[float, ...] = (3.0, 6.0, 12.0, 25.0)
    told: bool = True
    off: float = 0.0


ASKED = (Asked("25 mm"), Asked("12 mm", (3.0, 6.0, 12.0)), Asked("doses not said", told=False, off=1.0))


@cache
def plan_of(kind: str, asked: Asked) -> tuple[tuple[PlannedCup, ...], tuple[Forecast, ...]]:
    """The cups, and what is told of them."""
    how = dict(KINDS[kind])
    cast = () if "on_tile" in how else asked.cast_mm
    order = Order(dict.fromkeys(NAMES, PART_PHR if asked.told else None), SECTIONS_MM, cast, **how)
    found = planned(order, None, Resin()).plan
    return found.cups, found.forecasts


def strengths(seed: int, asked: Asked) -> Array:
    """Of each pigment (P,), in parts of what the doses suit."""
    return np.asarray(np.exp(asked.off * np.random.default_rng([seed, 55]).normal(size=len(NAMES))))


def poured(seed: int, kind: str, asked: Asked, family: str, cups: Sequence[PlannedCup]) -> SimSet:
    """The cups, of the set's own pigments and resin, read."""
    truth_rng, rng = np.random.default_rng([seed, 1]), np.random.default_rng([seed, 6])
    absorptivity, families = absorbers.draw(truth_rng, len(NAMES), family)
    of = [c for c, cup in enumerate(cups) for _ in cup.thicknesses_mm]
    factors = np.exp(rng.normal(0, DOSE_ERROR, (len(cups), len(NAMES))) + rng.normal(0, SHARED_ERROR, (len(cups), 1)))
    doses, mm = np.array([cups[c].doses_phr for c in of]), np.array([mm for cup in cups for mm in cup.thicknesses_mm])
    sim = SimSet(
        seed=seed, kind=KINDS[kind]["kind"], pigments=NAMES, families=families,
        absorptivity=absorptivity * strengths(seed, asked)[:, None], base=absorbers.random_resin(truth_rng),
        names=tuple(f"c{c}-{one:g}mm" for c, one in zip(of, mm, strict=True)), cups=tuple(f"c{c}" for c in of),
        doses_phr=doses, thickness_mm=mm, true_doses=doses * factors[of],
        true_thickness=mm + rng.normal(0, THICKNESS_ERROR, len(mm)),
        readings=np.empty((0, 0)), noise=0.0, declared_noise=0.0, dose_error=DOSE_ERROR, thickness_error=THICKNESS_ERROR,
    )  # fmt: skip
    return simulation._read(_seen_by(sim, kind), DEFAULT_NOISE[sim.kind], rng)


def _seen_by(sim: SimSet, kind: str) -> SimSet:
    how, rng = KINDS[kind], np.random.default_rng([sim.seed, 11])
    if sim.kind != "camera":
        return simulation._instrument(sim, sim.kind, "D65", 10, None, None, None)
    jpeg = how.get("camera") == "rendered"
    if jpeg:
        way = str(rng.choice(["XYZ Scaling", "CAT16", "Bradford", "Von Kries"]))
        sim = dataclasses.replace(sim, adaptation=way, contrast=float(rng.uniform(-0.3, 0.3)))
    # A panel that is none of CIE's is not simulated for JPEGs.
    panel = how.get("light") or ("drawn" if not jpeg and rng.random() < 0.5 else None)
    sim = simulation._instrument(sim, "camera", "D65", 10, None, "phone" if jpeg else "drawn", panel)
    if "light" in how or sim.panel_power is not None:
        return sim
    return dataclasses.replace(sim, panel="unknown", panel_power=slow.light_power(sim.panel))


def wanted(sim: SimSet, asked: Asked) -> Array:
    """Mixtures (QUESTIONS, P) that a maker might want, none of them black."""
    rng, part = np.random.default_rng([sim.seed, 99]), PART_PHR / strengths(sim.seed, asked)
    kept: list[Array] = []
    while len(kept) < QUESTIONS:
        doses = part * np.exp(rng.uniform(np.log(0.2), np.log(2.0), (400, len(part))))
        order = rng.random(doses.shape).argsort(axis=1)
        doses = np.where(order < rng.integers(1, len(part) + 1, 400)[:, None], doses, 0.0)
        kept += list(doses[sim.truth_luminous(doses, np.full(400, max(SECTIONS_MM))) >= LEAST_LIGHT])
    return np.array(kept[:QUESTIONS])


def came(seed: int, kind: str, asked: Asked, family: str, starter: bool = False) -> Array:
    """Of one set, at each place: the typical ΔE00 that came, over what was told."""
    cups, forecasts = plan_of(kind, asked)
    told = np.array([one.starter if starter else one.after for one in forecasts], dtype=np.float64)
    sim = poured(seed, kind, asked, family, starters(cups) if starter else cups)
    model = fit(read_on_tile(sim, "dry") if "on_tile" in KINDS[kind] else to_chipset(sim))
    doses = wanted(sim, asked)
    out = []
    for mm, expected in zip(SECTIONS_MM, told, strict=True):
        thickness = np.full(len(doses), mm)
        foretold = model.lab_draws(doses, thickness).mean(axis=0)
        out.append(np.median(delta_e00(sim.truth_lab(doses, thickness), foretold)) / expected)
    return np.array(out)


def starters(cups: Sequence[PlannedCup]) -> list[PlannedCup]:
    """The untinted cup and the deepest of each pigment alone."""
    found: dict[tuple[bool, ...], PlannedCup] = {}
    for cup in cups:
        held = tuple(dose > 0 for dose in cup.doses_phr)
        best = found.get(held)
        if sum(held) <= 1 and (best is None or _depth(cup) > _depth(best)):
            found[held] = cup
    return list(found.values())


def _depth(cup: PlannedCup) -> float:
    return sum(cup.doses_phr) * max(cup.thicknesses_mm)


def lines(seeds: Sequence[int], kinds: Sequence[str] = tuple(KINDS)) -> Iterator[str]:
    """The table in Markdown."""
    yield "| chips read as | at, mm | told | came, times as much | half of the sets | in the range told | starter: came | sets |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    for kind in kinds:
        asked = [one for one in ASKED if "on_tile" not in KINDS[kind] or one.cast_mm == ASKED[0].cast_mm]
        # Each set has pigments, camera and panel of its own.
        every = [
            (seed, kind, asked[at // len(FAMILIES) % len(asked)], FAMILIES[at % len(FAMILIES)])
            for at, seed in enumerate(seeds)
        ]
        found = np.array([came(*one) for one in every])
        first = np.array([came(*one, starter=True) for one in every if one[2] is asked[0]])
        low, middle, high = np.quantile(found, [0.25, 0.5, 0.75], axis=0)
        for place, mm in enumerate(SECTIONS_MM):
            told = ", ".join(f"{plan_of(kind, one)[1][place].after:.2f}" for one in asked)
            inside = np.mean(
                [_in_half(off, plan_of(*of)[1][place]) for off, (_, *of, _) in zip(found[:, place], every, strict=True)]
            )
            cells = [f"{middle[place]:.2f}", f"{low[place]:.2f} to {high[place]:.2f}", f"{100 * inside:.0f} %"]
            cells += [f"{np.median(first[:, place]):.2f}", str(len(found))]
            yield f"| {kind} | {mm:g} | {told} | {' | '.join(cells)} |"


def _in_half(off: float, told: Forecast) -> bool:
    assert told.half is not None
    return told.half[0] <= off * told.after <= told.half[1]


def main() -> None:
    """Print the table."""
    print_table(PROGRAM, lines(REPORTING_SEEDS[: sets_typed(63)]))


if __name__ == "__main__":
    main()
