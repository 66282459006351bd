"""docs/weigh-a-tint-too-small-to-weigh.md: its worked example, number by number, and against the program."""

from __future__ import annotations

import numpy as np
import pytest

from tests.faces.docs.sums import is_right, page, worked
from tests.weighing.letdown import letdown_spread
from tintmix.resin import Part, Resin
from tintmix.sheet.looks import stronger
from tintmix.weighing.scales import scale_spread_g, scales_from_text
from tintmix.weighing.weigh import weigh_out

SUMS = [line for block in page("weigh-a-tint-too-small-to-weigh.md")[1] for line in block.splitlines()]
RESIN = Resin(parts=(Part("A", 100), Part("B", 90)), takes_pigment="B")


def test_there_is_an_example() -> None:
    assert len(SUMS) > 20


@pytest.mark.parametrize("line", SUMS)
def test_every_sum_is_right_to_its_last_digit(line: str) -> None:
    assert is_right(line)


def test_the_numbers_are_those_of_the_program() -> None:
    """Physics §12: d = s = 0.01 g gives u = 0.0147196 g; 0.4 + 20 g, 4.82 g used: 0.0362137 (GUM, JCGM 100:2008)."""
    values = {line.split(" = ")[0]: float(line.split(" = ")[1]) for line in SUMS}
    u = scale_spread_g(0.01)
    assert values["√2 × √(0.01² / 12 + 0.01²)"] == pytest.approx(u, abs=5e-6)
    assert values["√(0.0361² + 0.00072² + 0.00305²)"] == pytest.approx(letdown_spread(0.4, 20.0, 4.82, u), abs=5e-5)
    assert values["√(0.0111² + 0.00305²)"] == pytest.approx(letdown_spread(1.3, 65.0, 4.82, u), abs=5e-5)
    assert values["190 / 90"] == pytest.approx(stronger(RESIN, "B"), abs=0.005)


def test_the_program_comes_to_the_same() -> None:
    """A tint that moves by ΔE00 0.4 for 5 % of azure: the parts of the page, and a bottle at least as good as its larger one."""
    moves = np.array([[[0.4 / 0.05], [0.0], [0.0]]])
    weighed = weigh_out({"azure": 0.021}, RESIN, 450.0, scales_from_text(["0.01"]), moves=moves)
    parts = {part.name: part for part in weighed.parts}
    assert f"{parts['A'].grams_total:.2f}" == "236.84"
    assert f"{parts['B'].grams_total:.2f}" == "213.16"
    assert f"{weighed.pigments[0].grams:.4f}" == "0.0945"
    made = weighed.letdowns[0]
    assert made.total_g >= 15.0
    assert parts["B"].grams_to_weigh == pytest.approx(213.16 - made.used_g * made.n / (1 + made.n), abs=0.01)
    assert weighed.meets_aim
    assert weighed.delta_e00_95_worst <= 0.5


def test_the_small_bottle_would_not_do() -> None:
    assert worked("0.4 × 2 × 3.6 / 5") > 0.5 > worked("0.4 × 2 × 1.15 / 5")
