"""Everything by photo: `python -m tests.accuracy.phone_rows [sets [known] [three]]` prints what a camera makes of a piece of
glass, and of a trial: one that nobody measured, or, with "known", one that somebody did.

Sets are the ladder and pairs of `camera_rows`: raw channels with 1 % noise, camera and panel unknown, 2 % dose error a cup,
0.05 mm a chip; with "three", of each cup chips of 3, 12 and 24 mm in place of 3 and 12. The same camera then reads a piece (of
absorbers that are in no chip, alone or two together) at 6 mm, at 6 and 18 or at 6 and 40 mm, as dark as mixtures are; it is
foretold at 8 and 60 mm, beside mixtures of the set's own pigments at those places. And it reads a trial chip of 12 mm, or two of
4 and 12 mm, of a pot whose lots are all 20 % weaker, which is then adjusted once, as in `adjust_rows`, for a casting of 4 and
12 mm.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from tests.accuracy import adjust_rows
from tests.accuracy.scoring import Score, of_draws
from tests.reference import absorbers, batched
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, camera_measured, make_set, seen, to_chipset
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import through
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.piece import piece_draws
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust.belief import Trial, trial_set
from tintmix.recipes.adjust.decide import adjust
from tintmix.recipes.adjust.pot import TintedPart
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target, TargetSection
from tintmix.weighing.scales import Bench, Scale

PLACES_MM = (8.0, 60.0)
READ_MM: tuple[tuple[float, ...], ...] = ((6.0,), (6.0, 18.0), (6.0, 40.0))
TRIAL_MM: tuple[tuple[float, ...], ...] = ((12.0,), (4.0, 12.0))
CHIPS_MM, THREE_MM = (3.0, 12.0), (3.0, 12.0, 24.0)
PIECES, WEAKER = 6, 0.8
LARGEST_BAND = 3.0
"""Trials count in sets whose own median band at the casting's places is no wider: the others say that more chips are needed."""


@dataclass(frozen=True, slots=True)
class OfSet:
    """Of one set: a score for each place, by what was read of the pieces; of mixtures there; its band; trials as they ended, by
    what was read of them."""

    pieces: tuple[tuple[Score, ...], ...]
    mixtures: tuple[Score, ...]
    band: float
    after: tuple[tuple[float, ...], ...]


def one_set(
    seed: int, known: bool = False, pieces: int = PIECES, trials: int = 2, chips_mm: tuple[float, ...] = CHIPS_MM
) -> OfSet:
    """A set, its model, and what that makes of pieces and trials. known: whether camera and panel were measured."""
    sim = make_set(
        seed, "camera", camera="drawn", panel_known=known, thicknesses=chips_mm, pairs=3, dose_error=0.02,
        thickness_error=0.05,
    )  # fmt: skip
    sim = camera_measured(sim) if known else sim
    chips = to_chipset(sim)
    model = fit(chips)
    rng = np.random.default_rng([seed, 77])
    own = [_piece(sim, rng) for _ in range(pieces)]
    read = [[_readings(sim, one, mm, rng) for one in own] for mm in READ_MM]
    detector = eye("D65", 10)
    found = []
    for depths, values in zip(READ_MM, read, strict=True):
        draws = [piece_draws(one, np.array(depths), model.refractive_index, model) for one in values]
        found.append(
            tuple(
                of_draws(
                    np.stack(
                        [lab(through(d, mm, model.refractive_index) @ detector.weights, detector.bare) for d in draws],
                        1,
                    ),
                    np.concatenate([_truth(one, mm) for one in own]),
                )
                for mm in PLACES_MM
            )
        )
    doses, thickness = sim.questions(60, 1.0)
    mixtures = []
    for mm in PLACES_MM:
        # As dark as they are at their own thickness, so that both kinds ask for the same.
        alike = doses * (thickness / mm)[:, None]
        depth = np.full(len(doses), mm)
        mixtures.append(of_draws(model.lab_draws(alike, depth), sim.truth_lab(alike, depth)))
    band = float(np.median(of_draws(model.lab_draws(doses, thickness), sim.truth_lab(doses, thickness)).bands))
    after = tuple(
        tuple(_trial(sim, model, depths, np.random.default_rng([seed, 78, n])) for n in range(trials))
        for depths in TRIAL_MM
    )
    return OfSet(tuple(found), tuple(mixtures), band, after)


def _piece(sim: SimSet, rng: np.random.Generator) -> Array:
    """Absorbance per mm (421,) of a piece that lets 15 to 70 % of the light through at 12 mm."""
    shape = (
        absorbers.draw(rng, 1)[0][0]
        if rng.random() < 0.5
        else sum(rng.uniform(0.2, 1.0) * one for one in absorbers.draw(rng, 2)[0])
    )
    return absorbers.scaled(np.asarray(shape), float(-np.log10(rng.uniform(0.15, 0.7)))) / 12.0


def _factor(per_mm: Array, mm: float) -> Array:
    return batched.plate(10.0 ** (-per_mm[None] * mm), 1.5)


def _truth(per_mm: Array, mm: float) -> Array:
    return batched.lab(_factor(per_mm, mm), "D65", 10)


def _readings(sim: SimSet, per_mm: Array, depths: tuple[float, ...], rng: np.random.Generator) -> Array:
    clean = np.concatenate([seen(sim, _factor(per_mm, mm + rng.normal(0, 0.05))) for mm in depths])
    return clean * (1 + sim.noise * rng.normal(0, 1, clean.shape)) + 0.001 * rng.normal(0, 1, clean.shape)


def _trial(sim: SimSet, model: TintModel, depths: tuple[float, ...], rng: np.random.Generator) -> float:
    """The worst ΔE00 of the casting after one adjustment; the target is a glass of the model's own world."""
    chips, sections = to_chipset(sim), np.array([4.0, 12.0])
    wanted = adjust_rows._wanted(sim, sections, rng)
    colours = sim.truth_lab(np.tile(wanted, (2, 1)), sections)
    target = Target(
        tuple(
            TargetSection(f"{t:g} mm", t, lab=(float(c[0]), float(c[1]), float(c[2])), tolerance=adjust_rows.WITHIN)
            for t, c in zip(sections.tolist(), colours, strict=True)
        )
    )
    doses = solve(model, target, most=1).proposals[0].doses_phr
    asked = model.dose_vector(doses)
    lot = np.full(len(asked), WEAKER)
    in_pot = asked * lot * np.exp(rng.normal(0, adjust_rows.WEIGHED, len(asked)))
    really = np.array(depths) + rng.normal(0, 0.05, len(depths))
    clean = seen(sim, sim.truth_factor(np.tile(in_pot, (len(depths), 1)), really))
    values = clean * (1 + sim.noise * rng.normal(0, 1, clean.shape)) + 0.001 * rng.normal(0, 1, clean.shape)
    read = list(zip(depths, values, strict=True))
    trial = Trial(doses, trial_set(chips.reading, read, doses, model.refractive_index, chips), {})
    part = TintedPart(doses, adjust_rows.LEFT_G, 2 * adjust_rows.LEFT_G)
    answer = adjust(model, target, Question(part, (trial,), adjust_rows.SHARES, Bench(Scale(0.1), adjust_rows.SCALE)))
    after = adjust_rows._carried_out(answer, model, part, in_pot, lot, rng)
    return float(delta_e00(sim.truth_lab(np.tile(after, (2, 1)), sections), colours).max())


def report(sets: list[OfSet]) -> str:
    """What is printed."""
    lines = []
    for p, mm in enumerate(PLACES_MM):
        mix = np.median([np.median(one.mixtures[p].errors) for one in sets])
        lines.append(f"{mm:g} mm, mixtures: median error {mix:.2f}, ellipsoid {_cover(sets, p, None, 'in_ellipsoid')}")
        for r, depths in enumerate(READ_MM):
            off = float(np.median([np.median(one.pieces[r][p].errors) for one in sets]))
            band = float(np.median([np.median(one.pieces[r][p].bands) for one in sets]))
            read = " and ".join(f"{one:g}" for one in depths)
            lines.append(
                f"{mm:g} mm, a piece read at {read} mm: median error {off:.2f} ({off / mix:.2f} times), band {band:.2f}, covers "
                f"{_cover(sets, p, r, 'in_band')}, ellipsoid {_cover(sets, p, r, 'in_ellipsoid')}"
            )
    sure = [one for one in sets if one.band <= LARGEST_BAND]
    lines.append(f"trial: {len(sure)} of {len(sets)} sets have a median band up to {LARGEST_BAND:g}")
    for t, depths in enumerate(TRIAL_MM):
        read = " and ".join(f"{one:g}" for one in depths)
        lines.append(f"    read at {read} mm: {_ended(sure, t)}; of all sets {_ended(sets, t)}")
    return "\n".join(lines)


def _ended(sets: list[OfSet], read: int) -> str:
    after = np.array([off for one in sets for off in one.after[read]])
    if not len(after):
        return "-"
    within = np.mean(after <= adjust_rows.WITHIN)
    return f"within {adjust_rows.WITHIN:g} after one adjustment {within:.2f} (median {np.median(after):.2f})"


def _cover(sets: list[OfSet], place: int, read: int | None, which: str) -> str:
    scores = [one.mixtures[place] if read is None else one.pieces[read][place] for one in sets]
    return f"{np.mean([np.mean(getattr(one, which)) for one in scores]):.2f}"


def main() -> None:
    """The table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    known, chips_mm = "known" in sys.argv[2:], THREE_MM if "three" in sys.argv[2:] else CHIPS_MM
    print(report([one_set(seed, known, chips_mm=chips_mm) for seed in REPORTING_SEEDS[300 : 300 + count]]))


if __name__ == "__main__":
    main()
