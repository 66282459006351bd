"""Doses in other words. Worked by hand from the definitions; the command too."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.faces.conftest import Call, Refused, call, refused  # noqa: F401
from tintmix.errors import NotThere, ValueProblem
from tintmix.resin import Part, Resin
from tintmix.weighing.convert import Measures, all_bases, drops_for, from_phr, to_phr
from tintmix.weighing.errors import MeasureMissing

RESIN = Resin("clear, invented", density_g_per_cm3=1.06, parts=(Part("A", 100), Part("B", 90)), takes_pigment="B")
KNOWN = Measures(pigment_density_g_per_cm3=1.2, drop_g=0.025)
URETHANE = Path(__file__).parents[2] / "swatches" / "resins" / "urethane.toml"


@pytest.mark.parametrize(
    ("basis", "value", "phr"),
    [
        ("phr", 0.02, 0.02),
        # 1 g per 100 g of B: 190 g of mix hold 90 g of B, hence 0.9 g of pigment; 0.9/190 × 100.
        ("part B", 1.0, 0.4736842105),
        ("part A", 1.0, 0.5263157895),
        # 2 % of the whole: 2 g in 98 g of resin.
        ("percent of the whole", 2.0, 2.0408163265),
        # 100 cm³ are 106 g: 1.06 g in them are 1 phr.
        ("g per 100 cm3", 1.06, 1.0),
        # 1 cm³ of pigment, 1.2 g, in 106 g.
        ("percent by volume", 1.0, 1.1320754717),
        ("drops", 4.0, 0.1),
    ],
)
def test_by_hand(basis: str, value: float, phr: float) -> None:
    assert to_phr(value, basis, RESIN, KNOWN) == pytest.approx(phr, abs=1e-10)
    assert from_phr(phr, basis, RESIN, KNOWN) == pytest.approx(value, rel=1e-9)


def test_drops_for_a_batch() -> None:
    # 0.02 phr of 450 g are 0.09 g, 3.6 drops of 0.025 g.
    assert drops_for(0.02, 450.0, 0.025) == pytest.approx(3.6)


@given(
    st.floats(0, 50),
    st.sampled_from(["part A", "part B", "percent of the whole", "g per 100 cm3", "percent by volume", "drops"]),
)
def test_there_and_back(dose: float, basis: str) -> None:
    assert to_phr(from_phr(dose, basis, RESIN, KNOWN), basis, RESIN, KNOWN) == pytest.approx(
        dose, rel=1e-12, abs=1e-300
    )


def test_all_that_can_be_told() -> None:
    assert list(all_bases(0.02, RESIN, KNOWN)) == [
        "phr", "part A", "part B", "percent of the whole", "g per 100 cm3", "percent by volume", "drops",
    ]  # fmt: skip
    assert list(all_bases(0.02, Resin(), Measures())) == ["phr", "percent of the whole"]


@pytest.mark.parametrize(
    ("value", "basis", "resin", "cause"),
    [
        (1.0, "phrr", RESIN, ValueProblem),
        (1.0, "part", RESIN, ValueProblem),
        (1.0, "part C", RESIN, NotThere),
        (1.0, "part A", Resin(), NotThere),
        (1.0, "drops", RESIN, MeasureMissing),
        (1.0, "percent by volume", RESIN, MeasureMissing),
        (1.0, "g per 100 cm3", Resin(), MeasureMissing),
        (100.0, "percent of the whole", RESIN, ValueProblem),
        (-1.0, "phr", RESIN, ValueProblem),
        (float("nan"), "phr", RESIN, ValueProblem),
    ],
)
def test_bad_conversions(value: float, basis: str, resin: Resin, cause: type[Exception]) -> None:
    with pytest.raises(cause):
        to_phr(value, basis, resin)


@pytest.mark.parametrize(("density", "drop"), [(0.0, None), (None, -0.1), (float("inf"), None), (None, 2.0)])
def test_bad_measures(density: float | None, drop: float | None) -> None:
    with pytest.raises(ValueProblem, match="must be from"):
        Measures(density, drop)


def test_the_command(call: Call) -> None:  # noqa: F811
    said = call("convert", "0,02", "--resin", URETHANE, "--drop", "0.025", "--batch", "450")
    assert said.status == 0
    for words in ("0.02  g per 100 g of mixed resin (phr)", "g per 100 g of part B", "0.8", "0.09 g, 3.6 drops"):
        assert words in said.out
    body = call("convert", "2", "--from", "part B", "--to", "phr", "--resin", URETHANE, "--json").json
    assert body["asked"]["value"] == pytest.approx(0.947368, abs=1e-6)
    assert body["dose_phr"] == body["asked"]["value"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["x"], "not a number"),
        (["1", "--to", "drops"], "the mass of a drop"),
        (["1", "--to", "party"], "no dose basis"),
        (["1", "--to", "part C", "--resin", URETHANE], "has no part 'C'"),
        (["1", "--to", "g per 100 cm3"], "density"),
        (["1", "--batch", "-4"], "the batch is -4"),
        (["1", "--resin", "none.toml"], "no such file"),
    ],
)
def test_the_command_refuses(refused: Refused, arguments: list[object], said: str) -> None:  # noqa: F811
    assert said in refused("convert", *arguments)
