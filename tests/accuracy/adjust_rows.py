"""The row "adjust" of measures.md: tinted parts with weighing errors and lots 15 % off, adjusted once.

`python -m tests.accuracy.adjust_rows [sets [parts a set [PAGE]]]`. Of each simulated set a model is fitted; a recipe is solved
for a colour that known doses have; the pot is tinted with other lots and as a scale weighs; a trial chip is read; the
adjustment is carried out with a scale that errs; and the true colour of the part, at 1 nm, is held against what was wanted.

"Can reach": with everything known, dilution within the pot's room and top-ups would bring the pot to the wanted doses.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from tests.accuracy.pages import put_into
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, seen, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.optics.difference import delta_e00
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust.answer import Adjustment
from tintmix.recipes.adjust.belief import Trial, trial_set
from tintmix.recipes.adjust.decide import adjust
from tintmix.recipes.adjust.pot import Shares, TintedPart
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target, TargetSection
from tintmix.weighing.scales import Bench, Scale, bottle_spread

LOT, WEIGHED, THICKNESS_MM = 0.15, 0.02, 0.05
WITHIN, ASKED = 1.5, 0.95
LEFT_G, SHARES = 220.0, Shares("B", 0.45, (("A", 0.55),))
SCALE = Scale(0.01)
PROGRAM = "python -m tests.accuracy.adjust_rows 40 5 PAGE"
LIGHT = (0.10, 0.65)
"""Of the light through the thickest place: what a tint for glass-like parts is."""


@dataclass(frozen=True, slots=True)
class Row:
    """sections: thicknesses of the part, mm. trial_mm: of the trial chip. room: what the pot holds, times what is left. slip: of
    the pigment of which most was to go in, so many times as much was weighed, and nobody says so."""

    name: str
    kind: str = "colour"
    sections: tuple[float, ...] = (4.0, 12.0)
    trial_mm: tuple[float, ...] = (12.0,)
    room: float = 2.0
    slip: float = 1.0


ROWS = (
    Row("L*a*b*, casting 4 and 12 mm, trial 12 mm"),
    Row("L*a*b*, casting 4 and 24 mm, trial 12 mm", sections=(4.0, 24.0)),
    Row("L*a*b*, casting 4 and 24 mm, trial 24 mm", sections=(4.0, 24.0), trial_mm=(24.0,)),
    Row("spectra, casting 4 and 24 mm, trial 12 mm", "spectrum", (4.0, 24.0)),
)


SLIPS = tuple(
    Row(f"L*a*b*, casting 4 and 24 mm, trial 12 mm, {slip:g} times the main pigment", sections=(4.0, 24.0), slip=slip)
    for slip in (0.5, 0.7, 0.8, 1.4)
)
"""Pots in which something was weighed wrong."""


@dataclass(frozen=True, slots=True)
class Done:
    """One part. before, after: its worst ΔE00 from what was wanted. reachable: see above. chance: as the program told. beyond:
    whether a place came out beyond "95 % below". asks: whether it asks if something was weighed wrong."""

    outcome: str
    before: float
    after: float
    reachable: bool
    chance: float
    beyond: bool
    asks: bool


def one_set(row: Row, seed: int, parts: int) -> list[Done]:
    """The parts of one simulated set."""
    sim = make_set(seed, row.kind, pairs=3, dose_error=0.02, thickness_error=THICKNESS_MM)
    chips = to_chipset(sim)
    model = fit(chips)
    return [one_part(row, sim, chips, model, np.random.default_rng([seed, 41, n])) for n in range(parts)]


def one_part(row: Row, sim: SimSet, chips: ChipSet, model: TintModel, rng: np.random.Generator) -> Done:
    """A recipe, a pot that is off, a trial, an adjustment, and what came of it."""
    sections = np.array(row.sections)
    wanted = _wanted(sim, sections, rng)
    colours = sim.truth_lab(np.tile(wanted, (len(sections), 1)), sections)
    target = Target(
        tuple(
            TargetSection(f"{t:g} mm", t, lab=(float(c[0]), float(c[1]), float(c[2])), tolerance=WITHIN)
            for t, c in zip(row.sections, colours, strict=True)
        )
    )
    doses = solve(model, target, most=1).proposals[0].doses_phr
    asked = model.dose_vector(doses)
    lot = np.exp(rng.normal(0, LOT, len(asked)))
    in_pot = asked * lot * np.exp(rng.normal(0, WEIGHED, len(asked)))
    in_pot[np.argmax(asked * sim.absorptivity.mean(axis=1))] *= row.slip
    read = []
    for mm in row.trial_mm:
        factor = sim.truth_factor(in_pot[None], np.array([mm + rng.normal(0, THICKNESS_MM)]))
        clean = seen(sim, factor)[0]
        read.append((mm, clean + rng.normal(0, sim.noise, clean.shape)))
    trial = Trial(doses, trial_set(chips.reading, read, doses, model.refractive_index), {})
    part = TintedPart(doses, LEFT_G, row.room * LEFT_G)
    answer = adjust(model, target, Question(part, (trial,), SHARES, Bench(Scale(0.1), SCALE)))
    after = _carried_out(answer, model, part, in_pot, lot, rng)

    def off(true: Array) -> Array:
        return np.asarray(delta_e00(sim.truth_lab(np.tile(true, (len(sections), 1)), sections), colours))

    # What is told of a pot that is thrown away, nobody sees.
    kept = answer.outcome.value != "start again"
    beyond = kept and bool(np.any(off(after) > [place.delta_e00_95 for place in answer.after]))
    left, came, can = float(off(in_pot).max()), float(off(after).max()), _reachable(in_pot, wanted, row.room)
    return Done(answer.outcome.value, left, came, can, _told(answer), beyond, bool(answer.slips))


def _told(answer: Adjustment) -> float:
    return answer.chance_fresh if answer.outcome.value == "start again" else answer.chance_after


def _wanted(sim: SimSet, sections: Array, rng: np.random.Generator) -> Array:
    """Doses of two or three pigments, scaled so that the thickest place lets a wanted part of the light through."""
    share = rng.uniform(0.25, 1.0, len(sim.pigments)) / sim.absorptivity[:, 40:341].mean(axis=1)
    if rng.random() < 0.4:
        share[rng.integers(len(share))] = 0.0
    clear = float(sim.truth_luminous(np.zeros((1, len(share))), sections[-1:])[0])
    goal = clear * np.exp(rng.uniform(*np.log(LIGHT)))
    low, high = -8.0, 4.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        light = float(sim.truth_luminous(10**middle * share[None], sections[-1:])[0])
        low, high = (middle, high) if light > goal else (low, middle)
    return np.asarray(share * 10**low)


def _reachable(pot: Array, wanted: Array, room: float) -> bool:
    used = pot > 0
    if np.any(wanted[~used] > 0):
        return False
    share = float(np.min(wanted[used] / pot[used]))
    return share >= 1.0 or share >= 1 / room


def _carried_out(
    answer: Adjustment, model: TintModel, part: TintedPart, in_pot: Array, lot: Array, rng: np.random.Generator
) -> Array:
    """True doses of the part after what was advised, done with this scale."""
    if answer.outcome.value == "start again":
        again = model.dose_vector(answer.next_doses_phr)
        return np.asarray(again * lot * np.exp(rng.normal(0, WEIGHED, len(again))))
    resin = SHARES.resin_g(part) * (1 - answer.aside_g / part.left_g)
    grams = in_pot * resin / SHARES.share / 100
    added = answer.plain_g
    for one in answer.additions:
        weight = one.weigh_g + rng.normal(0, SCALE.spread_g)
        strength = 1.0
        if one.made is not None:
            strength += rng.normal(0, bottle_spread(one.made.first_g, one.made.carrier_g, SCALE.spread_g))
        p = model.pigments.index(one.pigment)
        grams[p] += max(weight, 0.0) * one.pigment_g / one.weigh_g * strength * lot[p]
        added += one.carrier_g
    return np.asarray(100 * grams * SHARES.share / (resin + added))


@dataclass(frozen=True, slots=True)
class Found:
    """Of all parts: within 1.5 before and after, the latter also of those that additions can reach; and the outcomes."""

    parts: int
    before: float
    after: float
    reachable: float
    within_where_reachable: float
    median: float
    p95: float
    told: float
    outcomes: dict[str, int]
    beyond: float
    asks: float

    @property
    def met(self) -> bool:
        return self.within_where_reachable >= ASKED


def sweep(row: Row, seeds: range, parts: int) -> Found:
    """The row over these sets."""
    done = [one for seed in seeds for one in one_set(row, seed, parts)]
    before, after = np.array([d.before for d in done]), np.array([d.after for d in done])
    can = np.array([d.reachable for d in done])
    names = [d.outcome for d in done]
    return Found(
        len(done), float(np.mean(before <= WITHIN)), float(np.mean(after <= WITHIN)), float(can.mean()),
        float(np.mean(after[can] <= WITHIN)), float(np.median(after[can])), float(np.quantile(after[can], 0.95)),
        float(np.mean([d.chance for d in done])), {name: names.count(name) for name in sorted(set(names))},
        float(np.mean([d.beyond for d in done])), float(np.mean([d.asks for d in done])),
    )  # fmt: skip


def line(row: Row, found: Found) -> str:
    """What is printed of a row."""
    outcomes = ", ".join(f"{name} {count}" for name, count in found.outcomes.items())
    asked = ""
    if row.slip == 1:
        verdict = "met" if found.met else "NOT MET"
        asked = f": asked {100 * ASKED:.0f} % within ΔE00 {WITHIN:g} where additions can reach it; {verdict}"
    return (
        f"{row.name}{asked}\n"
        f"    {found.parts} castings: within before {100 * found.before:.0f} %, after {100 * found.after:.1f} % "
        f"(where reachable, {100 * found.reachable:.0f} % of them: {100 * found.within_where_reachable:.1f} %); "
        f"the program expected {100 * found.told:.0f} %\n"
        f"    worst ΔE00 of a casting after: median {found.median:.2f}, 95 % {found.p95:.2f}; {outcomes}\n"
        f"    beyond 95 % at some place: {100 * found.beyond:.0f} %; asked whether it was weighed wrong: {100 * found.asks:.0f} %"
    )


def markdown(found: list[tuple[Row, Found]]) -> str:
    """The table that docs/my-trial-is-off.md holds."""
    parts = found[0][1].parts
    lines = [
        f"| {parts} castings | within before | within after | those that can be reached | expected | worst ΔE00, median / 95 % |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {row.name} | {100 * f.before:.0f} % | {100 * f.after:.1f} % | {100 * f.within_where_reachable:.1f} % "
        f"| {100 * f.told:.0f} % | {f.median:.2f} / {f.p95:.2f} |"
        for row, f in found
    ]
    return "\n".join(lines).replace("L*a*b*", "L\\*a\\*b\\*")


def main() -> None:
    """Print the rows, and put them into a page where one is named."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    parts = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    print(f"adjust, {sets} sets of {parts} parts, lots {100 * LOT:.0f} % off, weighed to {100 * WEIGHED:.0f} %")
    done = []
    for row in ROWS:
        done.append((row, sweep(row, REPORTING_SEEDS[:sets], parts)))
        print(line(*done[-1]), flush=True)
    for row in SLIPS:
        print(line(row, sweep(row, REPORTING_SEEDS[:sets], parts)), flush=True)
    if len(sys.argv) > 3:
        put_into(sys.argv[3], PROGRAM, markdown(done))


def tuning(row: Row, sets: int = 20, parts: int = 3) -> Found:
    """The same on seeds that anything may be tuned on."""
    return sweep(row, range(sets), parts)


if __name__ == "__main__":
    main()
