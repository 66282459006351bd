"""Sets that were read, or written down, otherwise than they say: how often `fit` names the set-up, and how often it does so
of sound sets. `python -m tests.accuracy.set_up_rows [sets [PAGE]]` prints them, and puts them into a page.

Ladders with pairs, 2 % dose error of each pigment in each cup, 0.05 mm; families and seeds that nothing was tuned on.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable

import numpy as np

from tests.accuracy.pages import put_into
from tests.reference import batched
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, seen, to_chipset
from tintmix.errors import FileProblem
from tintmix.optics.detector import SHIPPED_LIGHTS
from tintmix.pigments.fit import fit

PROGRAM = "python -m tests.accuracy.set_up_rows 20 PAGE"
FAMILIES = ("new film", "glass", "dye", "mixed")


def sound(seed: int, kind: str, **how: object) -> SimSet:
    """A set that is what it says."""
    told = {"pairs": 3, "dose_error": 0.02, "thickness_error": 0.05, "family": FAMILIES[seed % len(FAMILIES)]} | how
    return make_set(seed, kind, **told)  # type: ignore[arg-type]


def columns(seed: int, kind: str) -> SimSet:
    """Two dose columns exchanged in 30 to 70 % of the cups that hold one of the two pigments."""
    sim, rng = sound(seed, kind), np.random.default_rng([seed, 41])
    a, b = (int(p) for p in rng.choice(len(sim.pigments), 2, replace=False))
    holding = list(dict.fromkeys(c for c, d in zip(sim.cups, sim.doses_phr, strict=True) if d[a] != d[b]))
    count = round(float(rng.uniform(0.3, 0.7)) * len(holding))
    chosen = {holding[i] for i in rng.choice(len(holding), count, replace=False)}
    doses, rows = sim.doses_phr.copy(), [r for r, cup in enumerate(sim.cups) if cup in chosen]
    doses[np.ix_(rows, [a, b])] = doses[np.ix_(rows, [b, a])]
    return dataclasses.replace(sim, doses_phr=doses)


def readings(seed: int, kind: str) -> SimSet:
    """All readings shuffled."""
    sim = sound(seed, kind)
    order = np.random.default_rng([seed, 42]).permutation(len(sim.readings))
    return dataclasses.replace(sim, readings=sim.readings[order])


def light(seed: int, kind: str) -> SimSet:
    """Read under one light and observer, declared another, any two of those that ship."""
    ways = [(one, eye) for one in SHIPPED_LIGHTS for eye in (2, 10)]
    if kind == "camera":
        ways = [(one, 10) for one in SHIPPED_LIGHTS]
    true, told = np.random.default_rng([seed, 43]).choice(len(ways), 2, replace=False)
    if kind == "camera":
        return dataclasses.replace(sound(seed, kind, panel=ways[true][0]), panel=ways[told][0], light=ways[told][0])
    sim = sound(seed, kind, light=ways[true][0], observer=ways[true][1])
    return dataclasses.replace(sim, light=ways[told][0], observer=ways[told][1])


def observer(seed: int, kind: str) -> SimSet:
    """Read for one observer, declared the other."""
    sim = sound(seed, kind, observer=2 if seed % 2 else 10)
    return dataclasses.replace(sim, observer=12 - sim.observer)


def diffuse(seed: int, kind: str) -> SimSet:
    """Lit and gathered from everywhere: each angle by Fresnel and Beer, summed by the trapezium over 400 angles."""
    sim, rng = sound(seed, kind), np.random.default_rng([seed, 44])
    absorbance = -np.log(
        batched.internal(sim.true_doses, sim.true_thickness, sim.base, sim.absorptivity, sim.volume_per_phr)
    )
    outside = np.linspace(0.0, np.pi / 2, 401)
    share: Array = np.sin(2 * outside)
    share /= share.sum()
    factor = np.zeros_like(absorbance)
    for angle, part in zip(outside[1:-1], share[1:-1], strict=True):
        inside = np.arcsin(np.sin(angle) / sim.refractive_index)
        tau = np.exp(-absorbance / np.cos(inside))
        across = (np.sin(angle - inside) / np.sin(angle + inside)) ** 2
        along = (np.tan(angle - inside) / np.tan(angle + inside)) ** 2
        for face in (across, along):
            factor += 0.5 * part * (1 - face) ** 2 * tau / (1 - (face * tau) ** 2)
    clean, unit = seen(sim, factor), rng.normal(0, 1, sim.readings.shape)
    read = clean * (1 + sim.noise * unit) if kind == "camera" else clean + sim.noise * unit
    return dataclasses.replace(sim, readings=np.round(np.maximum(read, 0.0) if kind != "colour" else read, 5))


def percent(seed: int, kind: str) -> SimSet:
    """Percent, declared fractions."""
    sim = sound(seed, kind)
    return dataclasses.replace(sim, readings=100 * sim.readings)


ROWS: tuple[tuple[str, Callable[[int, str], SimSet], tuple[str, ...], tuple[str, ...]], ...] = (
    ("two dose columns exchanged in 30–70 % of the cups", columns, ("colour", "spectrum", "camera"), ("columns",)),
    ("all readings shuffled", readings, ("colour", "spectrum", "camera"), ("readings",)),
    ("another light or observer than declared", light, ("colour",), ("light", "observer")),
    ("the other observer alone", observer, ("colour",), ("light", "observer")),
    ("diffuse light declared straight", diffuse, ("colour", "spectrum"), ("geometry",)),
    ("percent declared as fractions", percent, ("spectrum", "camera"), ("unit",)),
)
"""What is wrong, the sets, the kinds of reading, and what names it. A camera's panel is not asked: only large differences
of panels show."""


def named(sim: SimSet) -> str:
    """What `fit` names first as the set-up, "" for nothing; "unit" where the reader refuses the set and says percent."""
    try:
        chips = to_chipset(sim)
    except FileProblem as problem:
        return "unit" if "percent" in str(problem) else ""
    found = fit(chips).report["health"]["set_up"]
    return str(found[0]["what"]) if found else ""


def count(make: Callable[[int, str], SimSet], kind: str, seeds: range, names: tuple[str, ...]) -> int:
    """Of the seeds' sets, how many are so named."""
    return sum(named(make(seed, kind)) in names for seed in seeds)


def markdown(seeds: range) -> str:
    """The table."""
    lines = ["| what is wrong | read as | named as the set-up |", "| --- | --- | --- |"]
    for name, make, kinds, names in ROWS:
        for kind in kinds:
            lines.append(f"| {name} | {kind} | {count(make, kind, seeds, names)} of {len(seeds)} |")
            print(lines[-1], flush=True)
    for kind in ("colour", "spectrum", "camera"):
        many = range(seeds.start, seeds.start + 2 * len(seeds))
        wrong = sum(bool(named(sound(seed, kind))) for seed in many)
        lines.append(f"| nothing | {kind} | {wrong} of {len(many)} |")
        print(lines[-1], flush=True)
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    told = markdown(range(REPORTING_SEEDS.start + 300, REPORTING_SEEDS.start + 300 + sets))
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
