"""Reasons why a target is not reached: where `solve` names limits as the cause, lifting exactly these has to reach it.

`python -m tests.accuracy.why_rows [targets [first seed]]`. Targets are colours that known doses make, on the shipped sets, on
fitted simulated sets and on models of the shelf (tests/recipes/shelf.py), some moved out of reach; the limits are a little too
tight for them. Each claim is put to the test by the whole of `solve`, on a model and target written anew without those limits.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

import numpy as np

from tests.recipes.shelf import make_model
from tests.simulation import REPORTING_SEEDS, make_set, to_chipset
from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.optics.section import Section
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel
from tintmix.recipes.missing import FURTHER, nearest_further, with_pigments
from tintmix.recipes.search.aim import lay
from tintmix.recipes.search.descend import search
from tintmix.recipes.solve import Answer, Outcome, solve
from tintmix.recipes.target import Limits, Target, TargetSection
from tintmix.recipes.why import best_supports
from tintmix.resin import Resin

NO_LIMIT = {"resin", "gamut", "sections", "chips"}
REPORTED_FROM = REPORTING_SEEDS.start


@dataclass(frozen=True, slots=True)
class Case:
    """A model and a target with limits."""

    model: TintModel
    target: Target


@dataclass(frozen=True, slots=True)
class Held:
    """What an answer claims, put to the test. reached: without the limits named, None where none is. fewer: a smaller set of
    limits reaches as well. beyond: "gamut" and its like, though without all limits it is reached. nearer, missing: by how much
    ΔE00 comes out worse than told."""

    binding: tuple[str, ...]
    reached: bool | None
    fewer: bool
    beyond: bool
    nearer: tuple[float, ...]
    missing: float | None


@cache
def _fitted(seed: int) -> TintModel:
    """The shipped sets in turn, and simulated ones."""
    if seed % 10 < 2:
        return fit(read_chips(demo(("deck-prism", "deck-prism-colours")[seed % 10])))
    return fit(to_chipset(make_set(seed, "colour", pigments=3 + seed % 2, pairs=3)))


def case(seed: int) -> Case:
    """A target a little out of reach under tight limits: half of them on fitted models, half on the shelf's."""
    rng = np.random.default_rng([seed, 61])
    fitted = seed - seed % 1000 + seed % 20 // 2
    model = make_model(int(rng.integers(3, 9)), seed, haze=True) if seed % 2 else _fitted(fitted)
    count = len(model.pigments)
    thick = float(rng.uniform(12, 60))
    places = [Section("thin", float(rng.uniform(3, 10))), Section("thick", thick)][rng.integers(2) :]
    used = rng.choice(count, size=int(rng.integers(1, min(count, 4) + 1)), replace=False)
    doses = np.zeros(count)
    doses[used] = rng.uniform(0.3, 1.0, len(used)) / model.absorptivity[used].mean(axis=1)
    doses *= -np.log10(rng.uniform(0.05, 0.5)) / thick / (doses @ model.absorptivity).mean()
    told = model.look_many(doses[None], places)
    clear = model.look_many(0 * doses[None], places)
    moved = told.lab[0] + rng.choice([0.0, 3.0, 10.0]) * rng.normal(size=3)
    sections = tuple(
        TargetSection(
            one.name, one.thickness_mm, lab=tuple(np.clip(c, [3, -100, -100], [99, 100, 100]).tolist()), tolerance=1.5
        )
        for one, c in zip(places, moved, strict=True)
    )
    on = rng.random(7) < 0.4
    tight = rng.uniform(0.5, 1.1)
    limits = Limits(
        pigments=int(rng.integers(1, 4)) if on[0] else None,
        luminous_transmittance=float(told.luminous[0, -1] ** tight * clear.luminous[0, -1] ** (1 - tight))
        if on[1]
        else None,
        total_phr=float(tight * doses.sum()) if on[2] else None,
        haze_percent=None
        if told.haze is None or clear.haze is None or not on[3]
        else float(100 * (tight * told.haze[0, -1] + (1 - tight) * clear.haze[0, -1])),
        leave_out=(model.pigments[used[0]],) if on[4] and count > 1 else (),
    )
    if on[5]:
        model = replace(model, max_phr=np.where(doses > 0, doses * rng.uniform(0.5, 1.2, count), np.inf))
    if on[6]:
        model = replace(model, resin=Resin(max_total_phr=float(rng.uniform(0.7, 1.2) * doses.sum())))
    return Case(model, Target(sections, limits=limits))


def without(one: Case, keys: tuple[str, ...]) -> Answer:
    """The whole of solve, these limits lifted."""
    limits, model = one.target.limits, one.model
    said = {key: getattr(limits, key) for key in ("pigments", "luminous_transmittance", "total_phr", "haze_percent")}
    said = {key: None if key in keys else value for key, value in said.items()}
    if "max_phr" in keys:
        model = replace(model, max_phr=np.full(len(model.pigments), np.inf))
    if "max_total_phr" in keys:
        model = replace(model, resin=None)
    return solve(
        model, replace(one.target, limits=Limits(**said, leave_out=() if "leave_out" in keys else limits.leave_out))
    )


def held(one: Case) -> Held | None:
    """What is claimed of the target, and what comes of it; None where it is reached, or no dose meets the limits."""
    answer = solve(one.model, one.target)
    if answer.outcome is not Outcome.SHORT:
        return None
    is_set = tuple(key for key in Limits.__slots__ if getattr(one.target.limits, key))
    own = {"max_phr": bool(np.isfinite(one.model.max_phr).any()), "max_total_phr": one.model.resin is not None}
    every = (*is_set, *(key for key, so in own.items() if so))

    def reached(keys: tuple[str, ...]) -> bool:
        return without(one, keys).outcome is Outcome.REACHED

    named = not NO_LIMIT.intersection(answer.binding)
    fewer = named and any(reached(some) for some in combinations(every, len(answer.binding) - 1) if some)
    return Held(
        answer.binding,
        reached(answer.binding) if named else None,
        fewer,
        not named and reached(every),
        tuple(without(one, (key,)).proposals[0].worst_delta_e00 - told for key, told in answer.nearer.items()),
        None if answer.missing is None else _with_missing(one) - answer.missing.delta_e00,
    )


def _with_missing(one: Case) -> float:
    """What the whole of solve comes to on a model that holds the pigment that is named."""
    aim = lay(one.model, one.target)
    row, _, _ = nearest_further(aim, best_supports(search(aim), 64))
    return solve(with_pigments(one.model, FURTHER[[row]]), one.target).proposals[0].worst_delta_e00


def main() -> None:
    """Print the figures."""
    targets = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else REPORTED_FROM
    found: list[Held] = []
    named, seed = 0, first
    while named < targets:
        one = held(case(seed))
        seed += 1
        if one is not None:
            found.append(one)
            named += one.reached is not None
            if (
                one.reached is False
                or one.fewer
                or one.beyond
                or max(one.nearer, default=0) > 0.05
                or (one.missing or 0) > 0.05
            ):
                print(f"seed {seed - 1}: {one}", file=sys.stderr)
    nearer = [off for one in found for off in one.nearer]
    missing = [one.missing for one in found if one.missing is not None]
    print(f"{len(found)} targets short, from seed {first} to {seed - 1}; {named} name limits as the cause")
    print(f"lifting exactly these reaches: {sum(one.reached is True for one in found)} of {named} (asked: 95 %)")
    print(f"fewer would do: {sum(one.fewer for one in found)} of {named}")
    print(f"no limit named, yet reached without all: {sum(one.beyond for one in found)} of {len(found) - named}")
    print(f"nearer: {sum(off <= 0.05 for off in nearer)} of {len(nearer)} come as near as told, to 0.05 ΔE00")
    print(
        f"a further pigment: {sum(off <= 0.05 for off in missing)} of {len(missing)} come as near as told, to 0.05 ΔE00"
    )
    print("named:", dict(Counter(key for one in found for key in one.binding).most_common()))


if __name__ == "__main__":
    main()
