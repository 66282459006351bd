"""Rows for issue 10's untinted blocks, departures from Beer's law, and blame: `python -m tests.accuracy.blank_rows [sets]`.

A thick pour's base is 1.3 to 3 times as yellow as that of thin chips. Whether it is so at all wavelengths or more in the blue,
and whether it sets in with thickness or at once beyond the chips, is drawn.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

import numpy as np

from tests.accuracy.scoring import Score, Table, of_draws, table
from tests.reference import batched, slow
from tests.reference.slow import NM, Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, seen, to_chipset
from tintmix.pigments.fit import fit

BLOCK_MM = 60.0


@dataclass(frozen=True, slots=True)
class Yellowing:
    """log_ratio (421,): of the block's base to that of thin chips. gradual: from 3 mm on, else at once beyond 12 mm."""

    log_ratio: Array
    gradual: bool

    def base(self, sim: SimSet, thickness_mm: float) -> Array:
        """Base (421,) of a pour of this thickness."""
        way = np.log(thickness_mm / 3) / np.log(BLOCK_MM / 3) if self.gradual else float(thickness_mm > 12.5)
        return np.asarray(sim.base * np.exp(self.log_ratio * np.clip(way, 0, 1)), dtype=np.float64)

    def factor(self, sim: SimSet, doses: Array, thickness_mm: Array, poured_mm: Array) -> Array:
        """External transmittance (N, 421); poured_mm (N,): the thickness as labelled, by which it yellowed."""
        rows = zip(doses, thickness_mm, poured_mm, strict=True)
        return np.concatenate(
            [
                batched.plate(batched.internal(c, np.array([t]), self.base(sim, p), sim.absorptivity, 0.01))
                for c, t, p in rows
            ]
        )


def drawn(seed: int, times: float | None, gradual: bool | None = None) -> Yellowing:
    """A yellowing by `times` in the blue; None: log-uniform from 1.3 to 3."""
    rng = np.random.default_rng([seed, 55])
    by = np.exp(rng.uniform(np.log(1.3), np.log(3)))
    shape = np.ones(len(NM)) if rng.random() < 0.5 else 1 / (1 + np.exp((NM - 560) / 40))
    slow = bool(rng.random() < 0.5)
    return Yellowing(np.log(by if times is None else times) * shape, slow if gradual is None else gradual)


def with_block(sim: SimSet, heat: Yellowing, only: bool = False) -> SimSet:
    """The set with an untinted block, its pours yellowed. only: without the thin untinted chips."""
    rng = np.random.default_rng([sim.seed, 56])
    kept = np.array([not (only and cup == "blank") for cup in sim.cups])
    doses = np.vstack([sim.true_doses[kept], np.zeros(len(sim.pigments))])
    labelled = np.append(sim.thickness_mm[kept], BLOCK_MM)
    true_mm = np.append(sim.true_thickness[kept], BLOCK_MM + rng.normal() * sim.thickness_error)
    clean = seen(sim, heat.factor(sim, doses, true_mm, labelled))
    cold = seen(sim, sim.truth_factor(sim.true_doses[kept], sim.true_thickness[kept]))
    read = np.vstack([sim.readings[kept] + clean[:-1] - cold, clean[-1] + sim.noise * rng.normal(size=clean.shape[1])])
    names, cups = ((*np.array(part)[kept].tolist(), "block") for part in (sim.names, sim.cups))
    return replace(
        sim, names=names, cups=cups, readings=np.round(read, 3 if sim.kind == "colour" else 5),
        doses_phr=np.vstack([sim.doses_phr[kept], doses[-1:]]), true_doses=doses, thickness_mm=labelled,
        true_thickness=true_mm,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class BlockRow:
    """found: sets of which it was said that thick pours differ. doubted: sets whose block was doubted."""

    found: int
    doubted: int
    table: Table


def block_row(
    seeds: range, times: float | None = None, *, kind: str = "colour", only: bool = False,
    family: str = "new film", at: tuple[float, float] = (BLOCK_MM, BLOCK_MM),
) -> BlockRow:  # fmt: skip
    """Sets with a block; 20 random tints of each asked at these thicknesses, yellowed as the block is."""
    scores: list[Score] = []
    found = doubted = 0
    for seed in seeds:
        heat = drawn(seed, times)
        sim = make_set(seed, kind, pairs=3, family=family, dose_error=0.02, thickness_error=0.05)
        sim = with_block(sim, heat, only)
        model = fit(to_chipset(sim))
        found += any("blue light per mm" in warning for warning in model.report["warnings"])
        doubted += any(chip["doubted"] for chip in model.report["chips"] if chip["cup"] == "block")
        rng = np.random.default_rng([seed, 99])
        # Three pigments of the chips' doses, at a twelfth to a half of the chips' thickness each: 36 to 60 mm as dark as chips.
        doses = np.exp(rng.uniform(np.log(0.005), np.log(0.05), (200, 3))) * (rng.random((200, 3)) < 0.7)
        thickness = rng.uniform(*at, 200)
        factor = heat.factor(sim, doses, thickness, thickness)
        light = np.flatnonzero(batched.luminous(factor) >= 0.02)[:20]
        truth = batched.lab(factor[light])
        scores.append(of_draws(model.lab_draws(doses[light], thickness[light]), truth))
    return BlockRow(found, doubted, table(scores))


def bent(seed: int, weak: float, kind: str, family: str) -> tuple[SimSet, Array]:
    """A set one pigment of which colours `weak` less than in proportion at its strongest dose, and k (P,) of c/(1 + k c)."""
    sim = make_set(seed, kind, pairs=3, family=family, dose_error=0.02, thickness_error=0.05)
    k = np.zeros(3)
    k[seed % 3] = (1 / (1 - weak) - 1) / sim.doses_phr.max()
    straight = seen(sim, sim.truth_factor(sim.true_doses, sim.true_thickness))
    there = seen(sim, sim.truth_factor(sim.true_doses / (1 + k * sim.true_doses), sim.true_thickness))
    return replace(sim, readings=np.round(sim.readings + there - straight, 5)), k


@dataclass(frozen=True, slots=True)
class BendRow:
    """likely: sets whose pigment was told to bend, or perhaps. blamed: sets in which a chip was doubted."""

    likely: int
    blamed: int
    table: Table


def bend_row(seeds: range, weak: float, kind: str = "colour", family: str = "new film") -> BendRow:
    """Tints of the chips' doses at 3 to 12 mm."""
    scores: list[Score] = []
    likely = blamed = 0
    for seed in seeds:
        sim, k = bent(seed, weak, kind, family)
        model = fit(to_chipset(sim))
        says = model.report["pigments"][f"p{seed % 3 + 1}"]["departure"]["says"]
        likely += says.startswith(("bends", "may bend"))
        blamed += any(chip["doubted"] for chip in model.report["chips"])
        rng = np.random.default_rng([seed, 99])
        doses = np.exp(rng.uniform(np.log(0.02), np.log(0.2), (400, 3))) * (rng.random((400, 3)) < 0.6)
        thickness = rng.uniform(3, 12, 400)
        effective = doses / (1 + k * doses)
        light = np.flatnonzero(sim.truth_luminous(effective, thickness) >= 0.02)[:30]
        truth = sim.truth_lab(effective[light], thickness[light])
        scores.append(of_draws(model.lab_draws(doses[light], thickness[light]), truth))
    return BendRow(likely, blamed, table(scores))


SAID = {"dose": " phr of ", "thickness": " mm thick", "swap": "changed places", "reading": "its label and its reading"}
"""What is said of each fault where it is told as what it is."""


def wrong_thickness(seed: int, kind: str, family: str) -> SimSet:
    """A set one tinted chip of which is 30 % thicker than its label, by more than 3 CIEDE2000."""
    sim = make_set(seed, kind, pairs=3, family=family, dose_error=0.02, thickness_error=0.05)
    was = sim.truth_lab(sim.true_doses, sim.true_thickness)
    now = sim.truth_lab(sim.true_doses, 1.3 * sim.true_thickness)
    apart = np.array([float(slow.delta_e00(one, other)) for one, other in zip(was, now, strict=True)])
    able = np.flatnonzero((apart > 3) & sim.doses_phr.any(axis=1))
    at = int(np.random.default_rng([seed, 57]).choice(able))
    true_mm = sim.true_thickness.copy()
    true_mm[at] *= 1.3
    readings = sim.readings + seen(sim, sim.truth_factor(sim.true_doses, true_mm))
    readings -= seen(sim, sim.truth_factor(sim.true_doses, sim.true_thickness))
    return replace(sim, true_thickness=true_mm, readings=np.round(readings, 5), culprit_chips=(sim.names[at],))


@dataclass(frozen=True, slots=True)
class BlameRow:
    """Sets whose culprits are all named; and nobody else; and told as what it is. innocents: chips doubted beside."""

    named: int
    alone: int
    right: int
    innocents: int


def blame_row(seeds: range, fault: str, kind: str = "colour", family: str = "new film") -> BlameRow:
    """Sets with one fault: 'dose' (× 1.4), 'swap' (two labels), 'reading' (5 CIEDE2000 off), 'thickness' (× 1.3)."""
    named = alone = right = innocents = 0
    for seed in seeds:
        if fault == "thickness":
            sim = wrong_thickness(seed, kind, family)
        else:
            sim = make_set(seed, kind, pairs=3, family=family, fault=fault, dose_error=0.02, thickness_error=0.05)
        chips = fit(to_chipset(sim)).report["chips"]
        doubted = {chip["chip"]: chip["fault"] for chip in chips if chip["doubted"]}
        culprits = set(sim.culprit_chips)
        others = len(set(doubted) - culprits)
        found = culprits <= set(doubted)
        named, alone, innocents = named + found, alone + (found and not others), innocents + others
        right += found and all(SAID[fault] in doubted[chip] for chip in culprits)
    return BlameRow(named, alone, right, innocents)


def main() -> None:
    """Print the rows."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    seeds = range(REPORTING_SEEDS.start, REPORTING_SEEDS.start + sets)
    print(f"Untinted block of 60 mm, asked at 60 mm: median / 95th, covers (ellipsoid, ΔE band), of {sets} sets")
    for name, row in (
        ("sound", block_row(seeds, 1.0)),
        ("1.3 to 3 times yellower", block_row(seeds)),
        ("the same, no thin untinted chip", block_row(seeds, only=True)),
        ("the same, asked at 36 to 60 mm", block_row(seeds, at=(36, 60))),
        ("the same, glasses", block_row(seeds, family="glass")),
        ("the same, spectra", block_row(seeds, kind="spectrum")),
    ):
        t = row.table
        print(
            f"    {name:<34} {t.median:.2f} / {t.p95:.2f}   covers {100 * t.ellipsoid:.0f} / {100 * t.band:.0f} %   "
            f"said of {row.found}   block doubted in {row.doubted}"
        )
    print("\nOne pigment weak at its strongest dose, asked within the chips' doses and thickness")
    for kind in ("colour", "spectrum"):
        for weak in (0.0, 0.1, 0.23):
            bend = bend_row(seeds, weak, kind)
            t = bend.table
            print(
                f"    {kind:<9} {100 * weak:3.0f} % weak   {t.median:.2f} / {t.p95:.2f}   covers {100 * t.ellipsoid:.0f} / "
                f"{100 * t.band:.0f} %   told as a bend, or perhaps, in {bend.likely}   chips doubted in {bend.blamed}"
            )
    print("\nOne fault: sets whose culprits are named; and nobody else; and told as what it is")
    for kind in ("colour", "spectrum"):
        for fault in SAID:
            found = blame_row(seeds, fault, kind)
            print(f"    {kind:<9} {fault:<10} {found.named} {found.alone} {found.right}   innocents {found.innocents}")


if __name__ == "__main__":
    main()
