"""Whether the advice of `fit` is true: its cup poured and fitted too, and the uncertainty that came against the one promised.

`python -m tests.accuracy.advice_rows [MODELS A ROW]` prints the table. Each model is a ladder (0.02, 0.06 and 0.2 phr of each
pigment at 3 and 12 mm, blanks; 2 % dose error of each pigment in each cup, 0.05 mm), read as the row says. The cup advised, or
the best there is where the advice is that none would help, is poured of the true pigments with errors of its own, read by the
same instrument, and the set is fitted again. Both figures are `typical` of the same mixtures; off: |came/promised − 1|, its
median. "chips read": where the advice is to read three chips with a colorimeter, these are read. "plan": two cups (three where
an untinted block is needed) as planned for sections of 8 and 60 mm by the same model, chips of 3, 6, 12 and 25 mm; at 60 mm.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests import simulation
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, read_again, to_chipset
from tintmix.desk.plan.plan import instrument_of
from tintmix.pigments.design import cups
from tintmix.pigments.design.advice import probes
from tintmix.pigments.design.belief import model_known, part_dose_of
from tintmix.pigments.design.forecast import typical
from tintmix.pigments.design.wish import Wish
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel

SECTIONS_MM, CAST_MM = (8.0, 60.0), (3.0, 6.0, 12.0, 25.0)
WITHIN = 0.25
"""The issue's: what came lies within a quarter of what was promised, in the median."""
ROWS: Mapping[str, dict[str, Any]] = {
    "colours, mixed": {"kind": "colour"},
    "colours, films": {"kind": "colour", "family": "new film"},
    "colours, glasses": {"kind": "colour", "family": "glass"},
    "colours, narrow dyes": {"kind": "colour", "family": "narrow"},
    "colours, one pigment, one cup and a blank": {"kind": "colour", "pigments": 1, "doses": (0.06,)},
    "camera known": {"kind": "camera"},
    "camera and panel unknown": {"kind": "camera", "camera": "drawn", "panel_known": False},
    "spectra": {"kind": "spectrum"},
    "spectra, narrow dyes": {"kind": "spectrum", "family": "narrow", "slit_nm": 10.0},
}


@dataclass(frozen=True, slots=True)
class Followed:
    """ΔE00: the typical uncertainty as it was, as promised, and as it came; the same of reading chips with a colorimeter, and of
    a plan."""

    now: float
    promised: float
    came: float
    read_promised: float | None = None
    read_came: float | None = None
    plan: tuple[float, float, float] = (0.0, 0.0, 0.0)


def follow(sim: SimSet, plan: bool = True) -> Followed | None:
    """The advice of one set's fit, followed; and a plan on it. None where nothing is advised, since chips seem to contradict one
    another."""
    chips = to_chipset(sim)
    model = fit(chips)
    told = model.report["forecast"]
    if told is None:
        return None
    doses = np.array([told["doses_phr"].get(name, 0.0) for name in sim.pigments])
    more = poured(sim, doses, told["thicknesses_mm"])
    after = fit(to_chipset(more))
    read = next((then for way, then in told["instead"].items() if "colorimeter" in way), None)
    came = None
    if read is not None:
        rows = [sim.names.index(f"{name}-0.06-12mm") for name in sim.pigments]
        came = judged(fit([chips, to_chipset(read_again(sim, "colour", rows))]), model)
    came_of_cup = judged(after, model)
    planned = plan_followed(sim, model) if plan else (0.0, 0.0, 0.0)
    return Followed(told["typical_delta_e00"], told["then_delta_e00"], came_of_cup, read, came, planned)


def plan_followed(sim: SimSet, model: TintModel) -> tuple[float, float, float]:
    """A plan made on the model, poured, read and fitted with its chips: now, promised and come, at the thickest section."""
    part = np.array([part_dose_of(model, name, len(model.pigments), SECTIONS_MM[-1]) for name in model.pigments])
    belief = model_known(model, model.pigments, part, SECTIONS_MM[-1])
    light = "unknown" if sim.panel == "unknown" else sim.light
    instrument = instrument_of(sim.kind, light, sim.observer, "unknown", None, model)  # type: ignore[arg-type]
    chips = 1 if sim.kind == "spectrum" else 2
    wish = Wish(part, SECTIONS_MM, CAST_MM, 2 + int(belief.resin_unknown), chips, instrument)
    found = cups.plan(belief, wish)
    for cup in found.cups:
        sim = poured(sim, np.array(cup.doses_phr), list(cup.thicknesses_mm))
    after = fit(to_chipset(sim))
    assert belief.model is not None
    came = typical(after.lab_draws(cups.wanted_of_model(belief.model, wish), SECTIONS_MM[-1]))
    told = found.forecasts[-1]
    assert told.before is not None
    return told.before, told.after, came


def judged(after: TintModel, before: TintModel) -> float:
    """The typical uncertainty of the same mixtures as before."""
    return typical(after.lab_draws(*probes(before)))


def poured(sim: SimSet, doses_phr: Array, thicknesses_mm: list[float]) -> SimSet:
    """The set with one cup more, poured and read as its others were."""
    rng = np.random.default_rng([sim.seed, 9, len(sim.names)])
    mm = np.array(thicknesses_mm)
    factors = np.exp(rng.normal(0, simulation.SHARED_ERROR) + rng.normal(0, sim.dose_error, len(doses_phr)))
    cup, each = f"more{len(sim.names)}", np.tile(doses_phr, (len(mm), 1))
    new = dataclasses.replace(
        sim,
        names=tuple(f"{cup}-{one:g}mm" for one in mm),
        cups=(cup,) * len(mm),
        doses_phr=each,
        thickness_mm=mm,
        true_doses=each * factors,
        true_thickness=mm + rng.normal(0, sim.thickness_error, len(mm)),
    )
    new = simulation._read(new, sim.noise, rng)
    both: dict[str, Any] = {
        part: np.concatenate([getattr(sim, part), getattr(new, part)]) for part in (*simulation._BY_CHIP, "readings")
    }
    return dataclasses.replace(sim, names=sim.names + new.names, cups=sim.cups + new.cups, **both)


def sweep(name: str, seeds: range) -> list[Followed]:
    """One row's models, but those that advise nothing."""
    found = [follow(make_set(seed, **{"dose_error": 0.02, "thickness_error": 0.05} | ROWS[name])) for seed in seeds]
    return [one for one in found if one is not None]


def off(pairs: list[tuple[float, float]]) -> float:
    """Median of |came/promised − 1|."""
    return float(np.median([abs(came / promised - 1) for promised, came in pairs]))


def lines(count: int) -> Iterator[str]:
    """The table, and the row of all models together."""
    every: list[Followed] = []
    thrice = ["now", "promised", "came", "off"]
    heads = ["chips", "models", *thrice, "chips read: promised", "came", "off", "plan: now", *thrice[1:]]
    yield f"| {' | '.join(heads)} |"
    yield "| --- |" + " --- |" * (len(heads) - 1)
    for name in (*ROWS, "all"):
        found = every if name == "all" else sweep(name, REPORTING_SEEDS[:count])
        every += [] if name == "all" else found
        now, promised, came = np.median([(one.now, one.promised, one.came) for one in found], axis=0)
        by = off([(one.promised, one.came) for one in found])
        read = [(one.read_promised, one.read_came) for one in found if one.read_promised and one.read_came]
        told = [f"{x:.2f}" for x in (*np.median(read, axis=0), off(read))] if read else ["", "", ""]
        told += [
            f"{x:.2f}" for x in (*np.median([one.plan for one in found], axis=0), off([one.plan[1:] for one in found]))
        ]
        yield f"| {name} | {len(found)} | {now:.2f} | {promised:.2f} | {came:.2f} | {by:.2f} | {' | '.join(told)} |"


if __name__ == "__main__":
    for line in lines(int(sys.argv[1]) if len(sys.argv) > 1 else 5):
        print(line, flush=True)
