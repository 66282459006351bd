"""Mass balance, and no instruction outside a scale's range, over many random recipes, resins and scales (issue: "What it must
reach")."""

from __future__ import annotations

import math

import numpy as np

from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.errors import CannotBeWeighed
from tintmix.weighing.scales import LEAST_STEPS, Bench, Scale
from tintmix.weighing.weigh import weigh_out
from tintmix.weighing.weighed import WeighOut

COUNT = 1_000
"""A short form; `python -m tests.accuracy.weigh_rows` draws ten thousand."""
EXACT_G = 1e-9
ROUNDING = 1e-9


def draw(rng: np.random.Generator) -> tuple[dict[str, float], Resin, float, Bench, np.ndarray, list[StockBottle]]:
    count = int(rng.integers(1, 21)) if rng.random() < 0.1 else int(rng.integers(1, 4))
    parts = tuple(Part(f"P{i}", float(10 ** rng.uniform(0, 2))) for i in range(count))
    resin = Resin(parts=parts, takes_pigment=f"P{rng.integers(count)}" if count > 1 else None)
    doses = {f"c{i}": float(10 ** rng.uniform(-3, 0.3)) for i in range(int(rng.integers(0, 5)))}
    batch = float(10 ** rng.uniform(0.5, 3.7))
    kitchen = a_scale(rng, [1.0, 0.5, 0.1, 0.01])
    scales = Bench(kitchen, kitchen if rng.random() < 0.3 else a_scale(rng, [0.1, 0.05, 0.01, 0.001]))
    moves = rng.normal(0.0, 10 ** rng.uniform(-0.5, 0.8), (int(rng.integers(0, 4)), 3, len(doses)))
    shelf = []
    if doses and rng.random() < 0.3:
        pigment_g, n = float(rng.uniform(0.2, 3)), float(rng.integers(2, 100))
        left = float(rng.uniform(0, 1)) * pigment_g * (1 + n)
        shelf.append(StockBottle("stood", "c0", resin.takes_pigment or "P0", pigment_g, pigment_g * n, left))
    return doses, resin, batch, scales, moves, shelf


def a_scale(rng: np.random.Generator, steps: list[float]) -> Scale:
    step = float(rng.choice(steps))
    capacity = float(step * 10 ** rng.uniform(3.3, 5)) if rng.random() < 0.7 else None
    return Scale(step, None if rng.random() < 0.5 else step / 2, capacity)


def is_whole_steps(grams: float, step: float) -> bool:
    return abs(grams / step - round(grams / step)) < 1e-6


def check(out: WeighOut, resin: Resin, batch: float, scales: Bench, doses: dict[str, float]) -> None:
    whole = math.fsum(part.parts_by_weight for part in resin.parts)
    # Before rounding: every part its exact share, and together the batch.
    assert abs(math.fsum(part.grams_total for part in out.parts) - batch) <= EXACT_G
    made = {letdown.name: letdown for letdown in out.letdowns}
    carrier = math.fsum(
        pigment.weigh_g * (1 - made[pigment.letdown].share) for pigment in out.pigments if pigment.letdown is not None
    )
    for part, given in zip(out.parts, resin.parts, strict=True):
        step = out.scale(part.scale).readability_g
        assert abs(part.grams_total - batch * given.parts_by_weight / whole) <= EXACT_G
        # After it: what is weighed and what comes with the letdowns are the share, within half a step.
        assert abs(part.carrier_g - (carrier if part.takes_pigment else 0.0)) <= EXACT_G
        assert abs(part.grams_to_weigh + part.carrier_g - part.grams_total) <= step / 2 + ROUNDING
        on_scale(part.portions, part.grams_to_weigh, part.scale, scales)
    assert sum(part.takes_pigment for part in out.parts) == 1
    weighed = math.fsum(part.grams_to_weigh + part.carrier_g for part in out.parts)
    for pigment in out.pigments:
        step = out.scale(pigment.scale).readability_g
        share = 1.0 if pigment.letdown is None else made[pigment.letdown].share
        # Rounded to one of the two nearest steps.
        assert abs(pigment.weigh_g - pigment.grams / share) < step * (1 + 1e-6)
        on_scale(pigment.portions, pigment.weigh_g, pigment.scale, scales)
        achieved = 100 * pigment.weigh_g * share * pigment.strength / weighed
        assert abs(out.achieved_phr[pigment.pigment] - achieved) <= 1e-9 * achieved
        assert pigment.dose_phr == doses[pigment.pigment]
    for letdown in out.letdowns:
        assert letdown.used_g <= (letdown.total_g if letdown.held_g is None else letdown.held_g) + ROUNDING
        if letdown.existing:
            continue
        assert letdown.total_g >= 15
        on_scale((letdown.first_g,), letdown.first_g, "pigment", scales)
        on_scale(letdown.carrier_portions, letdown.carrier_g, letdown.carrier_scale, scales)
    assert out.meets_aim == (out.delta_e00_95_worst <= out.aim_delta_e00)


def on_scale(portions: tuple[float, ...], grams: float, name: str, scales: Bench) -> None:
    """Whole steps, not below the least and not above the capacity of the scale that is named."""
    scale = scales.resin if name == "resin" else scales.pigment
    assert abs(math.fsum(portions) - grams) <= ROUNDING
    for portion in portions:
        assert is_whole_steps(portion, scale.readability_g)
        assert portion >= (LEAST_STEPS - 0.5) * scale.readability_g
        assert scale.capacity_g is None or portion <= scale.capacity_g


def balance(count: int) -> tuple[int, int, int]:
    """So many random batches weighed out and checked; how many were weighed, how many of them with a bottle, and how
    many refused.
    """
    rng = np.random.default_rng(20261102)
    weighed = bottled = refused = 0
    for _ in range(count):
        doses, resin, batch, scales, moves, shelf = draw(rng)
        try:
            out = weigh_out(doses, resin, batch, scales, moves=moves, shelf=shelf)
        except CannotBeWeighed:
            refused += 1
            continue
        check(out, resin, batch, scales, doses)
        weighed += 1
        bottled += bool(out.letdowns)
    return weighed, bottled, refused


def test_mass_balance() -> None:
    weighed, bottled, refused = balance(COUNT)
    assert weighed > 0.7 * COUNT
    assert bottled > 0.2 * COUNT
    assert refused
