"""Sets that were read, or written down, otherwise than they say: how often `fit` names the set-up, and how often it does so
of sound sets. `python -m tests.accuracy.set_up_rows [sets [PAGE]]` prints them, and puts them into a page.

Ladders with pairs, 2 % dose error of each pigment in each cup, 0.05 mm; families and seeds that nothing was tuned on.
"""

from __future__ import annotations

import dataclasses
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.accuracy.pages import put_into
from tests.accuracy.scoring import of_draws
from tests.accuracy.truth_rows import castings
from tests.reference import batched
from tests.reference.slow import Array
from tests.simulation import PANELS, REPORTING_SEEDS, SimSet, make_set, seen, to_chipset, write_folder
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.errors import TintmixError
from tintmix.pigments.fit import fit

PROGRAM = "python -m tests.accuracy.set_up_rows 20 PAGE"
LIGHTS = ("A", "D50", "D65", "FL2", "FL7", "FL11", "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5")
DECLARED = ("A", "D50", "D65", "FL2", "FL11")
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


def heads(seed: int, kind: str) -> SimSet:
    """a* and b* under one another's heads."""
    sim = sound(seed, kind)
    return dataclasses.replace(sim, readings=sim.readings[:, [0, 2, 1]])


def readings(seed: int, kind: str) -> SimSet:
    """All readings shuffled."""
    sim = sound(seed, kind)
    order = np.random.default_rng([seed, 42]).permutation(len(sim.readings))
    return dataclasses.replace(sim, readings=sim.readings[order])


def light(seed: int, kind: str) -> SimSet:
    """Read under one light and observer, declared another, one that instruments offer."""
    rng = np.random.default_rng([seed, 43])
    told = DECLARED[rng.integers(len(DECLARED))], (2, 10)[rng.integers(2)]
    ways = [(one, eye) for one in LIGHTS for eye in (2, 10) if (one, eye) != told]
    true = ways[rng.integers(len(ways))]
    sim = sound(seed, kind, light=true[0], observer=true[1])
    return dataclasses.replace(sim, light=told[0], observer=told[1])


def panel(seed: int, kind: str) -> SimSet:
    """Photographed on one of CIE's white LEDs, declared another."""
    true, told = np.random.default_rng([seed, 46]).choice(PANELS, 2, replace=False)
    return dataclasses.replace(sound(seed, kind, panel=str(true)), panel=str(told), light=str(told))


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
    return _read_as(sim, factor, rng)


def _read_as(sim: SimSet, factor: Array, rng: np.random.Generator) -> SimSet:
    """The set with readings of these factors (N, 421)."""
    clean, unit = seen(sim, factor), rng.normal(0, 1, sim.readings.shape)
    read = clean * (1 + sim.noise * unit) if sim.kind == "camera" else clean + sim.noise * unit
    return dataclasses.replace(sim, readings=np.round(np.maximum(read, 0.0) if sim.kind != "colour" else read, 5))


def faces(seed: int, kind: str) -> ChipSet:
    """Read against the untinted chip, declared against air, or the reverse."""
    sim = sound(seed, kind)
    if seed % 2:
        return _declared(sim, relative_to="untinted")
    clear = sim.truth_factor(0 * sim.true_doses, sim.true_thickness)
    factor = sim.truth_factor(sim.true_doses, sim.true_thickness) / clear
    return to_chipset(_read_as(sim, factor, np.random.default_rng([seed, 47])))


def percent(seed: int, kind: str) -> SimSet:
    """Percent, declared fractions."""
    sim = sound(seed, kind)
    return dataclasses.replace(sim, readings=100 * sim.readings)


def fractions(seed: int, kind: str) -> ChipSet:
    """Fractions, declared percent."""
    return _declared(sound(seed, kind), unit="percent")


def _declared(sim: SimSet, **keys: str) -> ChipSet:
    """The set with these keys of [reading]."""
    with tempfile.TemporaryDirectory() as folder:
        path = write_folder(sim, Path(folder)) / "set.toml"
        text = [line for line in path.read_text("utf-8").splitlines() if line.split(" =")[0] not in keys]
        told = "".join(f'{key} = "{value}"\n' for key, value in keys.items())
        path.write_text("\n".join(text).replace("[reading]\n", f"[reading]\n{told}") + "\n", encoding="utf-8")
        return read_chips(folder)


Make = Callable[[int, str], SimSet | ChipSet]
ROWS: tuple[tuple[str, Make, tuple[str, ...], tuple[str, ...]], ...] = (
    ("two dose columns exchanged in 30–70 % of the cups", columns, ("colour", "spectrum", "camera"), ("columns",)),
    ("the columns a and b exchanged", heads, ("colour",), ("columns",)),
    ("all readings shuffled", readings, ("colour", "spectrum", "camera"), ("readings",)),
    ("another light or observer than declared", light, ("colour",), ("light", "observer")),
    ("the other observer alone", observer, ("colour",), ("light", "observer")),
    ("another panel than declared", panel, ("camera",), ("light",)),
    ("diffuse light declared straight", diffuse, ("colour", "spectrum"), ("geometry",)),
    ("faces in, declared out, or the reverse", faces, ("colour", "spectrum", "camera"), ("relative_to",)),
    ("percent declared as fractions", percent, ("spectrum", "camera"), ("unit",)),
    ("fractions declared as percent", fractions, ("spectrum", "camera"), ("unit",)),
)
"""What is wrong, the sets, the kinds of reading, and what names it."""
_SAID = {"unit": ("percent",), "relative_to": ("relative",)}
"""What a refusal says that names the cause."""


@dataclasses.dataclass(frozen=True, slots=True)
class Found:
    """what: what `fit` names first as the set-up, "" for nothing. sure: or only as what may be. error, covered: of castings told
    by a fit that is not sure of anything, the median ΔE00, and how many of them lie in their bands."""

    what: str
    sure: bool = True
    error: float = np.nan
    covered: float = np.nan


def found(make: Make, seed: int, kind: str) -> Found:
    """What is said of one set."""
    try:
        sim = make(seed, kind)
        chips = sim if isinstance(sim, ChipSet) else to_chipset(sim)
    except TintmixError as problem:
        told = [what for what, words in _SAID.items() if all(word in str(problem) for word in words)]
        return Found(told[0] if told else "")
    model = fit(chips)
    first = next(iter(model.report["health"]["set_up"]), {"what": "", "sure": False})
    what, is_sure = str(first["what"]), bool(first["sure"])
    if is_sure or make in (sound, percent, fractions):
        return Found(what, is_sure)
    truth = sound(seed, kind)
    doses, thickness = castings(truth)
    asked = of_draws(model.lab_draws(doses, thickness), truth.truth_lab(doses, thickness))
    return Found(what, False, float(np.median(asked.errors)), float(asked.in_band.mean()))


def named(make: Make, seed: int, kind: str) -> str:
    """What is named, alone."""
    return found(make, seed, kind).what


def row(name: str, make: Make, kind: str, names: tuple[str, ...], seeds: range) -> str:
    """A line of the table: how often it is named, and what castings are told where it is not."""
    every = [found(make, seed, kind) for seed in seeds]
    may = sum(one.what in names and not one.sure for one in every)
    as_may_be = f", {may} of them as what may be" if may else ""
    told = f"| {name} | {kind} | {sum(one.what in names for one in every)} of {len(seeds)}{as_may_be} |"
    silent = [one for one in every if not one.sure]
    if not silent:
        return told + "  |"
    error, covered = (float(np.mean([getattr(one, key) for one in silent])) for key in ("error", "covered"))
    return told + ("  |" if np.isnan(error) else f" {error:.1f} off, {100 * covered:.0f} % within their bands |")


def markdown(seeds: range, only: str = "") -> str:
    """The table, or the rows whose names hold a word."""
    lines = [
        "| what is wrong | read as | named as the set-up | castings, where nothing is named, or only as what may be |",
        "| --- | --- | --- | --- |",
    ]
    for name, make, kinds, names in ROWS:
        for kind in kinds if only in name else ():
            lines.append(row(name, make, kind, names, seeds))
            print(lines[-1], flush=True)
    for kind in ("colour", "spectrum", "camera") if only in "nothing" else ():
        many = range(seeds.start, seeds.start + 4 * len(seeds))
        wrong = sum(bool(named(sound, seed, kind)) for seed in many)
        lines.append(f"| nothing | {kind} | {wrong} of {len(many)} | |")
        print(lines[-1], flush=True)
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    told = markdown(range(REPORTING_SEEDS.start + 400, REPORTING_SEEDS.start + 400 + sets))
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
