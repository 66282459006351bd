"""What another value of a constant would change: where the reasons that stand beside constants were measured.

`python -m tests.accuracy.constants fits|spectra|cups|cameras|solves|adjusts|plans MODULE.NAME=VALUE ...`

prints the figures as the constants are, and with each of the others in its place, one at a time: time (ratio), the largest
change of any figure, the sum. A VALUE of several fields, such as a Damping, is written NAME.field=VALUE. Seeds are those for
tuning (`tests.simulation`). Example:

    python -m tests.accuracy.constants plans tintmix.pigments.design.belief._WORLDS=24
"""

from __future__ import annotations

import ast
import dataclasses
import functools
import importlib
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.accuracy import adjust_rows
from tests.accuracy.scoring import Score, score, table
from tests.recipes.shelf import known_problem
from tests.simulation import SimSet, make_set, one_cup, to_chipset
from tintmix.pigments.design import belief, cups, sight
from tintmix.pigments.design.fedorov_exchange import Pool, doubt
from tintmix.pigments.fit import fit
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Limits

Figures = tuple[str, NDArray[np.float64]]
SEEDS = range(700, 710)
"""Of the sets for tuning."""
ERRORS = {"dose_error": 0.02, "thickness_error": 0.05}
QUESTIONS = 60
PART_PHR, PLACES_MM = 0.005, (8.0, 60.0)
PLANS = (
    (("p1", "p2", "p3"), (3.0, 6.0, 12.0, 25.0), 8, 1),
    (("p1", "p2", "p3"), (3.0, 6.0, 12.0), 8, 1),
    (("p1", "p2"), (3.0, 6.0, 12.0), 5, 2),
    (("p1", "p2", "p3", "p4", "p5"), (3.0, 6.0, 12.0, 25.0), 10, 1),
)
"""Pigments, moulds, cups, chips a cup."""
JUDGED_IN, JUDGED_SEED = 144, 99
"""Worlds that no plan is made in."""


def _scored(sims: list[SimSet], beyond: float = 1.0) -> Figures:
    scores: list[Score] = [score(fit(to_chipset(sim)), sim, QUESTIONS, beyond) for sim in sims]
    t = table(scores)
    said = f"{t.median:.3f} / {t.p95:.2f} worst {t.worst:.2f} covers {100 * t.ellipsoid:.1f} / {100 * t.band:.1f} %"
    return said, np.concatenate([one.errors for one in scores])


def fits() -> Figures:
    """Ladders of L*a*b*, seen to three times their thickness."""
    return _scored([make_set(seed, "colour", **ERRORS) for seed in SEEDS], 3.0)  # type: ignore[arg-type]


def spectra() -> Figures:
    """The same ladders read as spectra."""
    return _scored([make_set(seed, "spectrum", **ERRORS) for seed in SEEDS[:8]])  # type: ignore[arg-type]


def single_cups() -> Figures:
    """One cup, two chips."""
    return _scored([one_cup(seed, (3.0, 12.0)) for seed in SEEDS], 3.0)


def cameras() -> Figures:
    """Ladders and pairs in photos of a camera that is not known."""
    return _scored([make_set(seed, "camera", pairs=3, camera="drawn", **ERRORS) for seed in SEEDS[:8]])  # type: ignore[arg-type]


@functools.cache
def _problems(count: int = 20) -> list[tuple[Any, Any]]:
    """Targets that doses are known for, and as many that none meets, under a floor."""
    known = [known_problem(seed) for seed in range(count)]
    out: list[tuple[Any, Any]] = [(one.model, one.target) for one in known]
    for seed in range(count, 2 * count):
        one = known_problem(seed)
        moved = []
        for i, place in enumerate(one.target.sections):
            assert place.lab is not None
            lightness, a, b = place.lab
            moved.append(replace(place, lab=(min(lightness + 4, 99.0), a + (-1) ** i * 6, b - 5)))
        limits = Limits(pigments=3, luminous_transmittance=0.15)
        out.append((one.model, replace(one.target, sections=tuple(moved), limits=limits)))
    return out


def solves() -> Figures:
    """The worst ΔE00 of the best proposal."""
    found = np.array([solve(model, target).proposals[0].worst_delta_e00 for model, target in _problems()])
    return f"sum {found.sum():.6f}", found


def adjusts() -> Figures:
    """The worst ΔE00 after the adjustment, and the chance that was told."""
    done = [one for row in adjust_rows.ROWS[:2] for seed in SEEDS[:3] for one in adjust_rows.one_set(row, seed, 4)]
    after, chance = np.array([one.after for one in done]), np.array([one.chance for one in done])
    said = f"after {after.mean():.4f}, chance {chance.mean():.4f}, {''.join(one.outcome[0] for one in done)}"
    return said, np.concatenate([after, chance])


def plans() -> Figures:
    """The typical error that the planned cups leave, in worlds that the planner did not see."""
    asked = []
    for names, moulds, count, chips in PLANS:
        part = np.full(len(names), PART_PHR)
        wish = cups.Wish(part, PLACES_MM, moulds, cups=count, chips_per_cup=chips)
        asked.append((names, wish, cups.plan(belief.nothing_known(names, part, max(PLACES_MM)), wish)))
    told = [forecast.after for *_, found in asked for forecast in found.forecasts]
    with _as_they_are():
        real = np.concatenate([_judged(*one) for one in asked])
    return f"told {np.round(told, 3).tolist()} real {np.round(real, 3).tolist()}", real


def _judged(names: tuple[str, ...], wish: cups.Wish, found: cups.Plan) -> NDArray[np.float64]:
    with changed(belief, "_WORLDS", JUDGED_IN), changed(belief, "_SEED", JUDGED_SEED):
        others = belief.nothing_known(names, wish.part_phr, max(PLACES_MM))
    doses = np.array([cup.doses_phr for cup in found.cups])
    mm = np.array([cup.thicknesses_mm for cup in found.cups])
    each = np.repeat(doses, mm.shape[1], axis=0)
    seen = sight.look_ahead(wish.instrument, others, each, mm.ravel(), wish.refractive_index)
    pool = Pool(doses, mm, cups._told(seen, mm, wish))
    return cups._typical(doubt(pool, cups._aim(others, wish), list(range(len(doses)))))


KINDS: dict[str, Callable[[], Figures]] = {
    "fits": fits, "spectra": spectra, "cups": single_cups, "cameras": cameras, "solves": solves, "adjusts": adjusts,
    "plans": plans,
}  # fmt: skip
_CHANGED: list[tuple[Any, str, Any, Any]] = []


@contextmanager
def changed(module: Any, name: str, value: Any) -> Iterator[None]:
    """A constant with another value, and nothing remembered that was worked out with the old one."""
    old = getattr(module, name)
    _CHANGED.append((module, name, old, value))
    setattr(module, name, value)
    _forget()
    try:
        yield
    finally:
        setattr(module, name, old)
        _CHANGED.pop()
        _forget()


@contextmanager
def _as_they_are() -> Iterator[None]:
    """What is judged by is never changed itself."""
    held = list(_CHANGED)
    for module, name, old, _ in held:
        setattr(module, name, old)
    _forget()
    try:
        yield
    finally:
        for module, name, _, value in held:
            setattr(module, name, value)
        _forget()


def _forget() -> None:
    for name, module in list(sys.modules.items()):
        if name.startswith("tintmix"):
            for value in vars(module).values():
                if isinstance(value, functools._lru_cache_wrapper):
                    value.cache_clear()


def asked(text: str) -> tuple[Any, str, Any]:
    """Module, name and value of MODULE.NAME[.field]=VALUE."""
    path, _, value = text.partition("=")
    words, read = path.split("."), ast.literal_eval(value)
    try:
        module = importlib.import_module(".".join(words[:-1]))
    except ModuleNotFoundError:
        module = importlib.import_module(".".join(words[:-2]))
        whole = getattr(module, words[-2])
        assert dataclasses.is_dataclass(whole), path
        assert not isinstance(whole, type), path
        return module, words[-2], replace(whole, **{words[-1]: read})
    assert hasattr(module, words[-1]), path
    return module, words[-1], read


def main() -> None:
    """Print the figures, as they are and with each of the other values."""
    kind = KINDS[sys.argv[1]]
    kind()
    start = time.process_time()
    said, base = kind()
    spent = time.process_time() - start
    print(f"as it is: {said}")
    for text in sys.argv[2:]:
        with changed(*asked(text)):
            start = time.process_time()
            said, found = kind()
            ratio = (time.process_time() - start) / spent
        apart = f"{np.abs(found - base).max():.2g}" if found.shape == base.shape else "other numbers"
        print(f"{text}: {ratio:.2f} times the time, differs by {apart}: {said}")


if __name__ == "__main__":
    main()
