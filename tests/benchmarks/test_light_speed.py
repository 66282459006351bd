"""What the two functions gain that do not go through `optics.light.light`: ratios to it, in the same run.

    OPENBLAS_NUM_THREADS=1 python -m pytest tests/benchmarks/test_light_speed.py -s --benchmark-enable

Processor time, the least of several runs. A gain that is gone is a reason to take the fast function out.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye, luminous
from tintmix.optics.light import light, through
from tintmix.pigments.thickness_strip import strip_colours


def seconds(work: Callable[[], object], times: int = 7) -> float:
    taken = []
    for _ in range(times):
        started = time.process_time()
        work()
        taken.append(time.process_time() - started)
    return min(taken)


def test_many_plates(benchmark):
    """`TintModel.predict_lab`, 200 000 pairs, against the general way in chunks of the same size."""
    model = make_model(3, seed=3, draws=1)
    rng = np.random.default_rng(0)
    doses, mm = rng.uniform(0, 0.2, (200_000, 3)), rng.uniform(1, 60, 200_000)
    detector = eye("D65", 10)

    def general() -> None:
        for at in range(0, len(doses), 4096):
            part = slice(at, at + 4096)
            lab(light(model.mean_resin, doses[part], mm[part]) @ detector.weights, detector.bare)

    benchmark.pedantic(model.predict_lab, (doses, mm), rounds=3)
    ratio = seconds(general) / seconds(lambda: model.predict_lab(doses, mm))
    benchmark.extra_info["times as fast"] = ratio
    print(f"\npredict_lab: {ratio:.2f} times as fast as light()")
    assert ratio > 1


@pytest.mark.parametrize("every", [1, 4])
def test_a_strip(benchmark, every):
    """`strip_colours`, 160 thicknesses of 300 draws, against the general way."""
    model = make_model(3, seed=3, draws=300)
    doses = dict.fromkeys(model.pigments, 0.02)
    mm = np.linspace(1, 60, 160)
    detector, photopic = eye("D65", 10), luminous("D65")
    vector = model.dose_vector(doses)

    def general() -> None:
        per_mm = model.drawn_resins(every).per_mm(vector)
        seen = through(per_mm, mm[:, None], model.refractive_index)
        lab(seen @ detector.weights, detector.bare).mean(axis=1)
        (seen @ photopic).mean(axis=1)

    benchmark.pedantic(strip_colours, (model, doses, mm, "D65", 10, every), rounds=3)
    ratio = seconds(general) / seconds(lambda: strip_colours(model, doses, mm, "D65", 10, every))
    benchmark.extra_info["times as fast"] = ratio
    print(f"\nstrip_colours, each {every}: {ratio:.2f} times as fast as light()")
    assert ratio > 1
