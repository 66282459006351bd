"""Whether recipes come within their tolerances as often as `solve` says that they will.

`python -m tests.accuracy.chance_rows [sets [PAGE]]` prints the table. Three pigments, three doses each and three cups of two,
real films, glasses, random dyes and dyes of narrow bands in turn, with the errors of a bench; read as told, and fitted whole.
Of each set some mixtures are wanted, at 8 mm and at a thicker place, as they truly look there, and some as nobody can mix them
of these pigments; their tolerances are drawn. A recipe came if the truth of its doses lies within them at both places. Each of
the first three recipes of an answer counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.accuracy.pages import print_table, sets_typed
from tests.accuracy.reading_rows import read_on_tile
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.optics.difference import delta_e00
from tintmix.pigments.fit import fit
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target, TargetSection, triple

PROGRAM = "python -m tests.accuracy.chance_rows 60 PAGE"
FAMILIES = ("new film", "glass", "mixed", "narrow")
ERRORS = {"pairs": 3, "dose_error": 0.02, "thickness_error": 0.05}
TARGETS, RECIPES = 4, 3
THIN_MM = 8.0
TOLERANCES = 0.3, 4.0
OUT_OF_REACH = 0.25
"""Part of the targets that are moved by some ΔE from what the pigments can make."""
EDGES = 0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0


@dataclass(frozen=True, slots=True)
class Told:
    """A recipe: the chance that was told, and whether it came; first: it was the best of its answer."""

    chance: float
    came: bool
    first: bool


def _jpeg(seed: int, family: str) -> SimSet:
    rng = np.random.default_rng([seed, 11])
    way = str(rng.choice(["XYZ Scaling", "CAT16", "Bradford", "Von Kries"]))
    bent = float(rng.uniform(-0.3, 0.3))
    return make_set(seed, "camera", camera="phone", adaptation=way, contrast=bent, family=family, **ERRORS)


def _plain(kind: str, **how: object) -> Callable[[int, str], tuple[SimSet, ChipSet]]:
    def made(seed: int, family: str) -> tuple[SimSet, ChipSet]:
        sim = make_set(seed, kind, family=family, **(ERRORS | how))  # type: ignore[arg-type]
        return sim, to_chipset(sim)

    return made


def _on_tile(seed: int, family: str) -> tuple[SimSet, ChipSet]:
    sim = make_set(seed, "colour", family=family, thicknesses=(1.5, 4.0), **ERRORS)
    return sim, read_on_tile(sim, "dry")


def _by_phone(seed: int, family: str) -> tuple[SimSet, ChipSet]:
    sim = _jpeg(seed, family)
    return sim, to_chipset(sim)


KINDS: Mapping[str, Callable[[int, str], tuple[SimSet, ChipSet]]] = {
    "spectra": _plain("spectrum"),
    "colours": _plain("colour"),
    "colours, haze not told": _plain("colour", haze="prior"),
    "colours on a white tile": _on_tile,
    "raw photos, camera and panel known": _plain("camera"),
    "raw photos, both unknown": _plain("camera", camera="drawn", panel_known=False),
    "JPEGs of a phone": _by_phone,
}


def wanted(sim: SimSet) -> Iterator[Target]:
    """What a maker may want of these pigments, drawn by the set's seed."""
    rng = np.random.default_rng([sim.seed, 71])
    while True:
        thick = float(rng.uniform(24, 60))
        doses = np.exp(rng.uniform(np.log(0.005), np.log(0.05), len(sim.pigments))) * (rng.random(3) < 0.7)
        if not doses.any() or sim.truth_luminous(doses[None], np.array([thick]))[0] < 0.03:
            continue
        labs = sim.truth_lab(np.tile(doses, (2, 1)), np.array([THIN_MM, thick]))
        if rng.random() < OUT_OF_REACH:
            labs = np.clip(labs + 2.0 * rng.standard_normal(labs.shape), [1, -120, -120], [99, 120, 120])
        tolerance = float(np.exp(rng.uniform(*np.log(TOLERANCES))))
        yield Target(
            tuple(
                TargetSection(name, mm, lab=triple(lab), tolerance=tolerance)
                for name, mm, lab in zip(("thin", "thick"), (THIN_MM, thick), labs, strict=True)
            )
        )


def of_set(kind: str, seed: int, family: str) -> list[Told]:
    """What was told of the recipes of a set, and what came."""
    sim, chips = KINDS[kind](seed, family)
    model, out = fit(chips), []
    for target, _ in zip(wanted(sim), range(TARGETS), strict=False):
        mm = np.array([one.thickness_mm for one in target.sections])
        asked: Array = np.array([one.lab for one in target.sections])
        for place, one in enumerate(solve(model, target, most=RECIPES).proposals):
            if one.chance_within_tolerance is None:
                continue
            doses = np.array([one.doses_phr.get(name, 0.0) for name in sim.pigments])
            off = delta_e00(sim.truth_lab(np.tile(doses, (len(mm), 1)), mm), asked)
            came = bool(np.all(off <= [section.tolerance for section in target.sections]))
            out.append(Told(one.chance_within_tolerance, came, place == 0))
    return out


def lines(seeds: Sequence[int], kinds: Sequence[str] = tuple(KINDS)) -> Iterator[str]:
    """The table in Markdown: of recipes told a chance between two edges, how many came, and of how many."""
    spans = [f"{100 * low:.0f} to {100 * high:.0f}" for low, high in pairwise(EDGES)]
    yield f"| chips read as | told, all | came | best recipe: told | came | told {' | '.join(spans)} in 100 |"
    yield "| --- " * (5 + len(spans)) + "|"
    for kind in kinds:
        every = [told for at, seed in enumerate(seeds) for told in of_set(kind, seed, FAMILIES[at % len(FAMILIES)])]
        chance = np.array([one.chance for one in every])
        came, first = (np.array([getattr(one, name) for one in every]) for name in ("came", "first"))
        cells = [f"{100 * part.mean():.0f} %" for part in (chance, came, chance[first], came[first])]
        for low, high in pairwise(EDGES):
            mine = (chance >= low) & ((chance < high) | (high == EDGES[-1]))
            cells.append(f"{100 * came[mine].mean():.0f} % of {mine.sum()}" if mine.any() else "–")
        yield f"| {kind} | {' | '.join(cells)} |"


def main() -> None:
    """Print the table."""
    print_table(PROGRAM, lines(REPORTING_SEEDS[: sets_typed(60)]))


if __name__ == "__main__":
    main()
