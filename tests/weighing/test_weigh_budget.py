"""What weighing does to the colour: GUM by hand, Monte Carlo of the weighings themselves, and rounding together."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from tests.authorities.compared import compared
from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.budget import COVERS_95, delta_e00_95
from tintmix.weighing.rounding import rounded_together
from tintmix.weighing.scales import Bench, Scale, scale_spread_g, scales_from_text
from tintmix.weighing.weigh import weigh_out
from tintmix.weighing.weighed import WeighOut

RESIN = Resin(parts=(Part("A", 100), Part("B", 90)), takes_pigment="B")
MOVES = np.array([[[8, 5, 2.0], [6, -4, 0], [3, 1, 9.0]], [[20, 10, 2.0], [16, -9, 0], [3, 5, 19.0]]])
DOSES = {"azure": 0.021, "emerald": 0.010, "rose": 0.15}


def test_check_values() -> None:
    # Physics §12, from GUM (JCGM 100:2008): 4.3.7 (a uniform readability, d²/12) and 5.1.2 (independent parts add in squares).
    bottle = StockBottle("b", "azure", "B", 0.4, 20.0, 20.4)
    portion = scale_spread_g(0.01) / 4.82
    found = (scale_spread_g(0.01, 0.01), math.hypot(bottle.spread(scale_spread_g(0.01)), portion))
    source = "GUM (JCGM 100:2008), 4.3.7 and 5.1.2, by hand (design notes, physics §12)"
    compared("two readings of a scale; a stock bottle", found, (0.0147196, 0.0362137), within=1e-7, source=source)


def test_the_published_standard_solution() -> None:
    """EURACHEM/CITAC, Quantifying Uncertainty, example A1: 100.28 mg weighed to 0.05 mg, a volume known to 0.0007 of itself, and
    of 1002.7 mg/l 0.9 mg/l, as rounded there. A carrier so heavy that its weighing does not count stands for the flask."""
    spread = StockBottle("b", "x", "B", 100.28, 1e6, 9.0).spread(0.05)
    source = "EURACHEM/CITAC guide, example A1, http://www.measurementuncertainty.org/guide/app_a_example1.html"
    compared("weighed and made up, mg/l", 1002.7 * math.hypot(spread, 0.0007), 0.9, within=0.05, source=source)


def test_the_published_resolution_of_a_display() -> None:
    # GUM F.2.2.1: u = 0.29 times the step (from memory). A difference has two readings.
    alone = scale_spread_g(0.01, 0.0) / math.sqrt(2)
    compared(
        "a display's step, one reading, in steps", alone / 0.01, 0.29, within=0.005, source="GUM F.2.2.1 (from memory)"
    )


def test_products_add_relative_spreads() -> None:
    # GUM 5.1.6, equation 12: of y = c·x₁^p₁·x₂^p₂ … the relative variances add, each by p². The mass fraction p/(p + c) of a
    # bottle has the relative derivatives (1 − w) by ln p and −(1 − w) by ln c.
    u, p, c, m = 0.0147196, 2.0, 100.0, 3.0
    w = p / (p + c)
    by_hand = math.sqrt(((1 - w) * u / p) ** 2 + ((1 - w) * u / c) ** 2 + (u / m) ** 2)
    assert math.hypot(StockBottle("b", "x", "B", p, c, 9.0).spread(u), u / m) == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_the_quantile_by_drawing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pigments = int(rng.integers(1, 6))
    moves = rng.normal(0.0, 8.0, (3, 3, pigments))
    spreads = 10 ** rng.uniform(-3, -1.5, pigments)
    bias = spreads * rng.normal(0.0, 0.7, pigments)
    common = float(10 ** rng.uniform(-4, -2))
    drawn = bias + spreads * rng.standard_normal((200_000, pigments)) + common * rng.standard_normal((200_000, 1))
    moved = np.linalg.norm(np.einsum("skp,np->nsk", moves, drawn), axis=2)
    assert delta_e00_95(moves, bias, np.column_stack([np.diag(spreads), np.full(pigments, common)])) == pytest.approx(
        np.quantile(moved, 0.95, axis=0), rel=0.02
    )


def test_the_quantile_by_a_table() -> None:
    # One direction: 1.96 σ. Three alike: the square root of chi-square's 95 % point at 3 degrees of freedom, 7.815 (NIST/SEMATECH
    # e-Handbook, 1.3.6.7.4).
    one = np.zeros((1, 3, 1))
    one[0, 1, 0] = 10.0
    assert delta_e00_95(one, np.zeros(1), np.array([[0.01]]))[0] == pytest.approx(0.196, rel=0.01)
    alike = 10.0 * np.eye(3)[None]
    assert delta_e00_95(alike, np.zeros(3), 0.01 * np.eye(3))[0] == pytest.approx(0.1 * math.sqrt(7.815), rel=0.015)
    assert delta_e00_95(one, np.array([0.03]), np.zeros((1, 1)))[0] == pytest.approx(0.3, rel=1e-12)


def pour(out: WeighOut, scales: Bench, rng: np.random.Generator, count: int) -> np.ndarray:
    """The doses (count, pigments) when every instruction is followed on scales that err as they are said to: each weight is the
    difference of two readings, each reading off by its repeatability and by rounding to a step."""

    def put(grams: float, name: str) -> np.ndarray:
        scale = scales.resin if name == "resin" else scales.pigment
        step, repeats = scale.readability_g, scale.repeatability_g or scale.readability_g
        errors = repeats * rng.standard_normal((count, 2)) + step * rng.uniform(-0.5, 0.5, (count, 2))
        return grams + errors[:, 1] - errors[:, 0]

    shares: dict[str | None, np.ndarray] = {None: np.ones(count)}
    for letdown in out.letdowns:
        first = put(letdown.first_g, "pigment")
        carrier = put(letdown.carrier_g, letdown.carrier_scale)
        shares[letdown.name] = shares[letdown.from_letdown] * first / (first + carrier)
    used = [put(pigment.weigh_g, pigment.scale) for pigment in out.pigments]
    pigment = [grams * shares[one.letdown] for grams, one in zip(used, out.pigments, strict=True)]
    resin = sum(put(part.grams_to_weigh, part.scale) for part in out.parts)
    resin = resin + sum(grams - neat for grams, neat in zip(used, pigment, strict=True))
    return 100.0 * np.array(pigment).T / np.asarray(resin)[:, None]


@pytest.mark.parametrize(
    ("scales", "batch"),
    [
        (scales_from_text(["0.01"]), 450.0),
        (scales_from_text(["resin=0.1:0.1:2000", "pigment=0.001"]), 450.0),
        (scales_from_text(["resin=1", "pigment=0.01"]), 120.0),
        (scales_from_text(["0.1"]), 2000.0),
        (scales_from_text(["0.01:0.02:200"]), 60.0),
    ],
)
def test_monte_carlo_of_the_weighing(scales: Bench, batch: float) -> None:
    out = weigh_out(DOSES, RESIN, batch, scales, moves=MOVES)
    doses = pour(out, scales, np.random.default_rng(5), 60_000)
    errors = doses / np.array(list(DOSES.values())) - 1.0
    moved = np.quantile(np.linalg.norm(np.einsum("skp,np->nsk", MOVES, errors), axis=2), 0.95, axis=0)
    assert out.delta_e00_95 == pytest.approx(moved, rel=0.03)
    achieved = np.array(list(out.achieved_phr.values()))
    assert np.mean(doses, axis=0) == pytest.approx(achieved, rel=3e-3)
    # Each dose by itself, where its portion is a small part of the batch (physics §12 leaves out that the portion adds carrier).
    common = next(line.relative_spread for line in out.budget if line.what == "weighing the resin")
    for pigment, found in zip(out.pigments, np.std(doses, axis=0) / achieved, strict=True):
        if pigment.weigh_g < 0.02 * batch:
            assert math.hypot(pigment.spread, common) == pytest.approx(found, rel=0.03)


def test_the_budget_adds_up() -> None:
    out = weigh_out(DOSES, RESIN, 450.0, scales_from_text(["0.01"]), moves=MOVES)
    largest = np.linalg.norm(MOVES, axis=1).max(axis=0)
    for pigment, most in zip(out.pigments, largest, strict=True):
        own = [
            line.relative_spread
            for line in out.budget
            if pigment.pigment in line.what and line.what != "weighing the resin"
        ]
        assert math.sqrt(math.fsum(spread**2 for spread in own)) == pytest.approx(pigment.spread, rel=1e-3)
        for line in out.budget:
            if pigment.pigment in line.what:
                assert line.delta_e00 == pytest.approx(COVERS_95 * line.relative_spread * most, rel=1e-9)


def test_rounding_together_is_never_worse_than_digit_by_digit() -> None:
    rng = np.random.default_rng(11)
    better = 0
    for _ in range(300):
        count = int(rng.integers(1, 6))
        targets, steps = rng.uniform(0.1, 0.5, count), np.full(count, 0.01)
        # Pigments that look alike: what one has too much of, another can have too little of.
        moves = rng.normal(0.0, 10.0, (2, 3, 1)) + rng.normal(0.0, 2.0, (2, 3, count))

        def worst(weights: object, targets: np.ndarray = targets, moves: np.ndarray = moves) -> float:
            return float(np.linalg.norm(moves @ np.log(np.asarray(weights) / targets), axis=1).max())

        ours = worst(rounded_together(list(targets), list(steps), moves))
        nearest = worst(np.round(targets / 0.01) * 0.01)
        every = min(
            worst(np.array(choice) * 0.01)
            for choice in itertools.product(*[(math.floor(t / 0.01), math.ceil(t / 0.01)) for t in targets])
        )
        assert ours <= nearest * 1.003 + 1e-12
        assert ours <= every * 1.003 + 1e-12
        better += ours < 0.9 * nearest
    assert better > 100


def test_rounding_of_many_pigments() -> None:
    rng = np.random.default_rng(2)
    targets = list(rng.uniform(0.1, 0.5, 14))
    moves = rng.normal(0.0, 10.0, (2, 3, 14))
    weights = rounded_together(targets, [0.01] * 14, moves)
    nearest = np.round(np.array(targets) / 0.01) * 0.01

    def worst(given: object) -> float:
        return float(np.linalg.norm(moves @ np.log(np.asarray(given) / np.array(targets)), axis=1).max())

    assert worst(weights) <= worst(nearest)
    assert all(abs(weight - target) < 0.01 for weight, target in zip(weights, targets, strict=True))


def test_weights_that_are_whole_steps_stay() -> None:
    assert rounded_together([0.3, 0.7], [0.1, 0.01], np.ones((1, 3, 2))) == (0.3, 0.7)


def test_the_same_every_time() -> None:
    scales = Bench(Scale(0.1), Scale(0.01))
    assert weigh_out(DOSES, RESIN, 450.0, scales, moves=MOVES) == weigh_out(DOSES, RESIN, 450.0, scales, moves=MOVES)
